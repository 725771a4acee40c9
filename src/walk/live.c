#include "walk/live.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "capture/clean.h"
#include "capture/line.h"
#include "capture/redact.h"
#include "portmuster/text.h"
#include "screen/curses_rescue.h"

#define LINE_ROOM 256      /* of a line in the pane; a longer one is cut */
#define TRY_AGAIN 1000     /* milliseconds after a pass could not be recorded */

struct live {
	struct session *session;
	struct line line;
	bool paused;               /* it is left to others for a while */
	struct talk *talk;
	char where[PATH_MAX + 40];    /* device, speed and framing */
	struct live_sum sum;
	size_t recorded;           /* passes of the talk that are dealt with */
	char *evidence;            /* of the pass that is to be recorded next, or null */
	size_t evidence_length;
	int64_t try_at;            /* when to try again to record it; 0: at once */
	bool cut;
	char typed[LIVE_TYPED];       /* by a person, not sent yet */
	size_t typed_length;
	char ending[PM_FAULT_TEXT];   /* why it ended, or empty */

	/* for the pane */
	struct redact *redact;
	struct clean *clean;
	char (*lines)[LINE_ROOM];
	size_t first, count;
};

static bool no_memory(struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
}

/* --- the pane --- */

static void take_line(void *context, const struct clean_line *line)
{
	struct live *live = context;
	struct pm_text text;
	size_t at = (live->first + live->count) % LIVE_LINES;
	if (live->count == LIVE_LINES)
		live->first = (live->first + 1) % LIVE_LINES;
	else
		live->count++;
	pm_text_fixed(&text, live->lines[at], LINE_ROOM);
	pm_text_visible(&text, line->text, line->length);
}

static bool pane_open(struct live *live)
{
	const struct pm_words *pagers = &live->session->gear.gear.console.pagers;
	live->lines = calloc(LIVE_LINES, sizeof *live->lines);
	live->redact = redact_begin();
	live->clean = clean_new(take_line, live);
	if (!live->lines || !live->redact || !live->clean)
		return false;
	for (size_t i = 0; i < pagers->count; i++)
		clean_pager(live->clean, pagers->item[i].text);
	return true;
}

static bool pane_feed(struct live *live, const char *bytes, size_t length)
{
	const char *kept;
	size_t kept_length;
	return redact_feed(live->redact, bytes, length, &kept, &kept_length) && clean_feed(live->clean, kept, kept_length);
}

void live_cursor_line(const struct live *live, char *out, size_t room)
{
	struct pm_text text;
	size_t length;
	const char *line = talk_unfinished(live->talk, &length);
	pm_text_fixed(&text, out, room);
	for (size_t i = 0; i < length; i++)   /* a byte a column, see clean.h */
		pm_text_char(&text, (unsigned char)line[i] < 0x80 ? line[i] : '?');
}

size_t live_lines(const struct live *live)
{
	return live->count;
}

const char *live_line(const struct live *live, size_t index)
{
	return index < live->count ? live->lines[(live->first + index) % LIVE_LINES] : NULL;
}

/* --- recording --- */

/* The bytes that are kept of a pass: where they come from, then the pass. Of one
 * that was cut the last line goes unless it is whole: half an address can look
 * like another one. */
static bool make_evidence(struct live *live, const struct talk_pass *pass, size_t index)
{
	char head[sizeof live->where + 120], at[PM_WHEN_TEXT];
	struct pm_text text;
	size_t length = pass->length;
	while (!pass->complete && length && pass->bytes[length - 1] != '\n')
		length--;
	pm_text_fixed(&text, head, sizeof head);
	pm_text_add(&text, "# portmuster capture %s pass %zu%s %s\n", pm_when_write(live->session->now, at), index + 1,
	            pass->complete ? "" : " cut short", live->where);
	live->evidence = malloc(text.length + length + 1);
	if (!live->evidence)
		return false;
	memcpy(live->evidence, head, text.length);
	if (length)
		memcpy(live->evidence + text.length, pass->bytes, length);
	live->evidence_length = text.length + length;
	return true;
}

static void add_up(struct live_sum *sum, const struct session_taken *taken, bool complete)
{
	*(complete ? &sum->complete : &sum->cut) += complete || taken->readings;
	sum->readings += taken->readings;
	sum->ports += taken->ports;
	sum->differing += taken->differing;
	sum->serials = taken->serials > sum->serials ? taken->serials : sum->serials;
	sum->strangers += taken->strangers;
	sum->problems += taken->problems;
	sum->secrets += taken->secrets;
}

/* Record the passes that are there and not recorded yet. The evidence of one that
 * failed stays as it is, its time included: it is one capture, however often it
 * is tried. */
static bool record(struct live *live, struct pm_fault *fault)
{
	for (; live->recorded < talk_passes(live->talk); live->recorded++) {
		const struct talk_pass *pass = talk_pass(live->talk, live->recorded);
		struct session_taken taken;
		if (!live->evidence && !make_evidence(live, pass, live->recorded))
			return no_memory(fault);
		if (!session_take_bytes(live->session, live->evidence, live->evidence_length, &taken, fault))
			return false;
		add_up(&live->sum, &taken, pass->complete);
		live->sum.lacking += pass->complete && talk_lacks(live->talk, live->recorded) > 0;
		free(live->evidence);
		live->evidence = NULL;
	}
	return true;
}

/* --- the line --- */

/* The stable names are links; they hold words that could be read as a serial
 * number, and the evidence shall not. */
static void put_where(struct live *live, const char *device, int64_t speed, const char *framing)
{
	struct pm_text text;
	char *real = realpath(device, NULL);
	const char *name = real ? real : device;
	pm_text_fixed(&text, live->where, sizeof live->where);
	pm_text_visible(&text, name, strlen(name));
	pm_text_add(&text, " %lld %s", (long long)speed, framing);
	free(real);
}

static void put_back(const void *of)
{
	const struct live *live = of;
	line_rescue(&live->line);
}

static void close_line(struct live *live)
{
	line_close(&live->line);
	rescue_clear(RESCUE_LINE);
}

static bool open_line(struct live *live, const char *device, struct pm_fault *fault)
{
	const struct pm_console *console = &live->session->gear.gear.console;
	int64_t speed = console->speed ? console->speed : 9600;
	const char *framing = pm_given(console->framing) ? console->framing.text : "8N1";
	rescue_set(RESCUE_LINE, put_back, live);
	if (!line_open(&live->line, device, speed, framing, fault)) {
		rescue_clear(RESCUE_LINE);
		return false;
	}
	put_where(live, device, speed, framing);
	return true;
}

struct live *live_open(struct session *session, const char *device, const struct live_options *options,
                       int64_t now_ms, struct pm_fault *fault)
{
	struct talk_options talk = { .gear = &session->gear.gear, .passes = options->passes, .watch = options->watch,
	                             .attended = options->attended };
	struct live *live = calloc(1, sizeof *live);
	if (!live) {
		no_memory(fault);
		return NULL;
	}
	live->session = session;
	live->line.fd = -1;
	bool good = open_line(live, device, fault);
	if (good) {
		live->talk = talk_begin(&talk, now_ms);
		good = (live->talk && pane_open(live)) || no_memory(fault);
	}
	if (!good) {
		live_close(live);
		return NULL;
	}
	return live;
}

static void put_ending(struct live *live, const char *why)
{
	struct pm_text text;
	pm_text_fixed(&text, live->ending, sizeof live->ending);
	pm_text_str(&text, why);
}

/* The line closes first, so that whatever recording runs into finds it as it was
 * before. */
static void end(struct live *live, const char *why)
{
	close_line(live);
	talk_cut(live->talk);
	live->paused = false;
	live->cut = true;
	put_ending(live, why);
}

/* The line went: say what is kept. */
static bool lost(struct live *live, struct pm_fault *fault)
{
	struct pm_fault why = *fault;
	size_t before = live->sum.readings;
	end(live, why.message);
	if (!record(live, fault))
		return false;
	*fault = why;
	if (live->sum.readings > before)
		return pm_fail_remedy(fault, "%s; nothing is lost: the %zu readings of the pass that was cut short are recorded",
		                      why.remedy, live->sum.readings - before);
	return pm_fail_remedy(fault, "%s; %s", why.remedy,
	                      live->sum.readings ? "what was read before is recorded" : "nothing had been read");
}

void live_pause(struct live *live)
{
	if (live->line.fd < 0)
		return;
	close_line(live);
	live->paused = true;
	live->typed_length = 0;
}

static bool resume(struct live *live, int64_t now_ms, struct pm_fault *fault)
{
	char device[sizeof live->line.device];
	memcpy(device, live->line.device, sizeof device);
	live->paused = false;
	if (!open_line(live, device, fault))
		return lost(live, fault);
	/* what is left of the time between is of no use */
	tcflush(live->line.fd, TCIFLUSH);
	return (talk_missed(live->talk, now_ms) && pane_feed(live, "\n", 1)) || no_memory(fault);
}

static bool receive(struct live *live, int64_t now_ms, struct pm_fault *fault)
{
	char bytes[4096];
	/* a line that never pauses must not keep the driver from its clock */
	for (int round = 0; round < 16; round++) {
		long length = line_read(&live->line, bytes, sizeof bytes, fault);
		if (length < 0)
			return lost(live, fault);
		if (length == 0)
			return true;
		if (!talk_feed(live->talk, bytes, (size_t)length, now_ms) || !pane_feed(live, bytes, (size_t)length))
			return no_memory(fault);
	}
	return true;
}

static bool send(struct live *live, struct pm_fault *fault)
{
	const char *bytes;
	size_t length = talk_pending(live->talk, &bytes);
	bool typed = length == 0;
	if (typed) {
		bytes = live->typed;
		length = live->typed_length;
	}
	if (length == 0)
		return true;
	long taken = line_write(&live->line, bytes, length, fault);
	if (taken < 0)
		return lost(live, fault);
	if (typed) {
		live->typed_length -= (size_t)taken;
		memmove(live->typed, live->typed + taken, live->typed_length);
	} else {
		talk_sent(live->talk, (size_t)taken);
	}
	return true;
}

bool live_type(struct live *live, const char *bytes, size_t length)
{
	if (live->line.fd < 0 || length > sizeof live->typed - live->typed_length)
		return false;
	memcpy(live->typed + live->typed_length, bytes, length);
	live->typed_length += length;
	return true;
}

bool live_hand_over(struct live *live, bool person, int64_t now_ms, struct pm_fault *fault)
{
	return talk_hand_over(live->talk, person, now_ms) || no_memory(fault);
}

bool live_by_hand(const struct live *live)
{
	return talk_stage(live->talk) == TALK_WATCHING;
}

static bool at_its_end(const struct live *live)
{
	enum talk_stage stage = talk_stage(live->talk);
	return stage == TALK_DONE || stage == TALK_FAILED;
}

bool live_service(struct live *live, int64_t now_ms, struct pm_fault *fault)
{
	if (live->paused && !resume(live, now_ms, fault))
		return false;
	if (live->line.fd >= 0) {
		if (!receive(live, now_ms, fault))
			return false;
		talk_tick(live->talk, now_ms);
		if (!send(live, fault))
			return false;
	}
	/* it gave up in the middle of a pass: what there is of it counts */
	if (talk_stage(live->talk) == TALK_FAILED && !live->cut)
		end(live, talk_saying(live->talk));
	if (live->evidence && now_ms < live->try_at)
		return true;
	if (!record(live, fault)) {
		live->try_at = now_ms + TRY_AGAIN;
		return false;
	}
	if (talk_stage(live->talk) == TALK_DONE)
		close_line(live);
	return true;
}

bool live_cut(struct live *live, struct pm_fault *fault)
{
	if (!live->cut && !at_its_end(live))
		end(live, "ended before it was complete");
	close_line(live);
	return record(live, fault);
}

void live_close(struct live *live)
{
	if (!live)
		return;
	close_line(live);
	if (live->talk)
		talk_free(live->talk);
	redact_free(live->redact);
	if (live->clean)
		clean_free(live->clean);
	free(live->lines);
	free(live->evidence);
	free(live);
}

int live_fd(const struct live *live)
{
	return live->line.fd;
}

bool live_sending(const struct live *live)
{
	const char *bytes;
	return live->line.fd >= 0 && (talk_pending(live->talk, &bytes) > 0 || live->typed_length > 0);
}

int live_wait(const struct live *live, int64_t now_ms)
{
	int wait = live->paused ? 0 : live->line.fd >= 0 ? talk_wait(live->talk, now_ms) : -1;
	if (live->evidence) {
		int64_t left = live->try_at > now_ms ? live->try_at - now_ms : 0;
		wait = wait < 0 || left < wait ? (int)left : wait;
	}
	return wait;
}

int64_t live_clock(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

bool live_over(const struct live *live)
{
	return (live->cut || at_its_end(live)) && live->recorded == talk_passes(live->talk);
}

const char *live_saying(const struct live *live)
{
	return live->ending[0] ? live->ending : talk_saying(live->talk);
}

const struct live_sum *live_sum(const struct live *live)
{
	return &live->sum;
}

const struct talk *live_talk(const struct live *live)
{
	return live->talk;
}

const char *live_where(const struct live *live)
{
	return live->where;
}
