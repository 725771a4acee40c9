#include "capture/talk.h"

#include <stdlib.h>
#include <string.h>

#include "capture/talk_parts.h"
#include "portmuster/roster.h"
#include "portmuster/text.h"

#define PATIENCE 5000
#define RETRIES 3
#define PASSES 2

/* --- lines, as they become complete ---------------------------------------------- */

static bool has_text(const char *text, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if (text[i] != ' ') return true;
	return false;
}

static void take_line(void *context, const struct clean_line *line)
{
	struct talk *talk = context;
	if (!has_text(line->text, line->length)) return;
	talk->lines++;
	if (talk->stage == TALK_WAKING && talk->done_count == 0 && talk->restarts == 0)
		signs_learn(&talk->signs, talk->options.gear, line->text, line->length);
	else if (signs_tell(&talk->signs, line->text, line->length))
		talk->told++;
}

/* --- life ------------------------------------------------------------------------------ */

static bool sendable(struct pm_word command)
{
	if (!command.text) return true;
	for (const char *c = command.text; *c; c++)
		if ((unsigned char)*c < 0x20 || *c == 0x7F) return false;
	return strlen(command.text) <= TALK_COMMAND_MOST;
}

/* What makes it pointless to begin. */
static void look_over(struct talk *talk)
{
	const struct pm_console *console = talk->options.gear ? &talk->options.gear->console : NULL;
	if (!tails_begin(&talk->tails, talk->options.gear, talk->why, sizeof talk->why)) {
		talk->stage = TALK_FAILED;
		return;
	}
	if (talk->options.watch) return;
	if (!console || !pm_given(console->listing))
		talk_fail(talk, "the gear profile names no command that lists the interfaces");
	else if (!sendable(console->listing) || !sendable(console->identity))
		talk_fail(talk, "a command of the gear profile holds a control character or is longer than %d bytes",
		          TALK_COMMAND_MOST);
}

struct talk *talk_begin(const struct talk_options *options, int64_t now)
{
	struct talk *talk = calloc(1, sizeof *talk);
	if (!talk) return NULL;
	talk->options = *options;
	if (talk->options.patience <= 0) talk->options.patience = PATIENCE;
	if (talk->options.retries == 0) talk->options.retries = RETRIES;
	if (talk->options.passes == 0) talk->options.passes = PASSES;
	if (talk->options.passes > TALK_PASSES_MOST) talk->options.passes = TALK_PASSES_MOST;
	talk->now = talk->stage_at = talk->last_byte = talk->last_sent = talk->last_line = now;
	talk->signs.stamp = -1;
	talk->clean = clean_new(take_line, talk);
	/* A first line feed, so that nothing is held back to find out how lines end. */
	if (!talk->clean || !clean_feed(talk->clean, "\n", 1)) {
		talk_free(talk);
		return NULL;
	}
	talk->stage = options->watch ? TALK_WATCHING : TALK_WAKING;
	look_over(talk);
	if (talk->stage == TALK_WATCHING && !(talk->running = pass_begin(options->gear))) {
		talk_free(talk);
		return NULL;
	}
	if (talk->stage == TALK_WAKING) {
		talk->out[talk->out_length++] = '\r';
		talk->tries = 1;
	}
	talk_say(talk);
	return talk;
}

void talk_free(struct talk *talk)
{
	if (!talk) return;
	for (size_t i = 0; i < talk->done_count; i++) pass_free(talk->done[i]);
	pass_free(talk->running);
	pass_free(talk->spare);
	clean_free(talk->clean);
	tails_free(&talk->tails);
	free(talk);
}

/* --- what comes in --------------------------------------------------------------------------- */

/* Keep the unfinished line as it was received: it begins the next pass. */
static void keep_raw(struct talk *talk, const char *bytes, size_t length)
{
	for (size_t i = length; i > 0; i--) {
		if (bytes[i - 1] != '\n') continue;
		bytes += i, length -= i;
		talk->raw_length = 0;
		break;
	}
	size_t room = sizeof talk->raw - talk->raw_length;
	if (length > room) length = room;
	memcpy(talk->raw + talk->raw_length, bytes, length);
	talk->raw_length += length;
}

static void look_at_bytes(struct talk *talk, const char *bytes, size_t length)
{
	for (size_t i = 0; i < length; i++) {
		uint32_t point;
		unsigned char c = (unsigned char)bytes[i];
		talk->ends += c == '\n' || c == '\r';
		if (c >= 0x80) {
			size_t used = pm_utf8_next(bytes + i, length - i, &point);
			talk->unreadable += used == 1;
			i += used - 1;
		} else if (c == 0 || c == 0x7F || (c < 0x20 && !strchr("\r\n\t\b\a\x1B", c))) {
			talk->unreadable++;
		}
		if (c > 0x20) {
			talk->text = true;
			if (talk->stalls > 1) talk->lost = true;
			talk->stalls = 0;
		}
	}
	talk->heard += length;
	talk->bytes_since_sent += length;
}

static bool out_of_memory(struct talk *talk)
{
	talk->failed = true;
	talk->stage = TALK_FAILED;
	talk->out_length = 0;
	struct pm_text why;
	pm_text_fixed(&why, talk->why, sizeof talk->why);
	pm_text_str(&why, "out of memory");
	talk_say(talk);
	return false;
}

/* Watching: the running pass is cut where it stands, and another begins. */
static bool cut_watched(struct talk *talk)
{
	if (!pass_finish(talk->running, false)) return false;
	if (talk->running->seen.listing.count == 0) pass_free(talk->running);
	else talk->done[talk->done_count++] = talk->running;
	talk->running = NULL;
	if (talk->done_count == TALK_PASSES_MOST) {
		talk_fail(talk, "more than %d passes", TALK_PASSES_MOST);
		return !talk->failed;
	}
	talk->interfaces = talk->readings = 0;
	return (talk->running = pass_begin(talk->options.gear)) != NULL;
}

/* More than is kept of one pass. */
static bool overflow(struct talk *talk)
{
	unsigned most = (unsigned)(TALK_PASS_BYTES >> 20);
	if (talk->stage != TALK_WATCHING) {
		talk_fail(talk, "pass %zu was cut: more than %u MiB without a prompt", talk->done_count + 1, most);
		return !talk->failed;
	}
	talk->cut = true;
	return cut_watched(talk);
}

bool talk_feed(struct talk *talk, const void *bytes, size_t length, int64_t now)
{
	if (talk->failed) return false;
	if (length == 0 || talk->stage == TALK_DONE || talk->stage == TALK_FAILED) return true;
	size_t lines = talk->lines;
	bool over = false;
	if (now > talk->now) talk->now = now;
	talk->last_byte = talk->now;
	talk->fresh = true;
	look_at_bytes(talk, bytes, length);
	keep_raw(talk, bytes, length);
	if (!clean_feed(talk->clean, bytes, length)) return out_of_memory(talk);
	if (talk->lines != lines) talk->last_line = talk->now;
	size_t tail_length;
	const char *tail = clean_unfinished(talk->clean, &tail_length);
	talk->tail = tail_of(&talk->tails, tail, tail_length);

	if (talk->running) {
		if (!pass_add(talk->running, bytes, length, &over)) return out_of_memory(talk);
		if (talk->readings != talk->running->seen.listing.count) {
			talk->readings = talk->running->seen.listing.count;
			talk->interfaces = pass_interfaces(talk->running, talk->options.gear);
		}
	}
	if (over && !overflow(talk)) return out_of_memory(talk);
	/* One sign may be noise; two are none. */
	if (talk->told >= 2) turn_restart(talk);
	talk_say(talk);
	return !talk->failed || out_of_memory(talk);
}

void talk_tick(struct talk *talk, int64_t now)
{
	if (now > talk->now) talk->now = now;
	/* A turn may make another one due at once. */
	for (int i = 0; i < 4; i++) {
		struct turn_due due = turn_due(talk);
		if (due.turn == TURN_NONE || due.at > talk->now) break;
		turn_take(talk, due.turn);
	}
	if (talk->failed) out_of_memory(talk);
	talk_say(talk);
}

int talk_wait(const struct talk *talk, int64_t now)
{
	struct turn_due due = turn_due(talk);
	if (due.turn == TURN_NONE) return -1;
	if (due.at <= now) return 0;
	return due.at - now > 3600000 ? 3600000 : (int)(due.at - now);
}

/* --- what goes out ------------------------------------------------------------------------------ */

size_t talk_pending(const struct talk *talk, const char **bytes)
{
	*bytes = talk->out;
	return talk->out_length;
}

void talk_sent(struct talk *talk, size_t length)
{
	if (length > talk->out_length) length = talk->out_length;
	memmove(talk->out, talk->out + length, talk->out_length - length);
	talk->out_length -= length;
}

/* --- the end --------------------------------------------------------------------------------------- */

/* What was read so far becomes a last pass: the running one, or one that was
 * given up and has more. */
static void keep_last(struct talk *talk)
{
	struct pass *last = talk->running;
	if (last && !pass_finish(last, false)) talk->failed = true;
	if (talk->spare && (!last || talk->spare->seen.listing.count > last->seen.listing.count)) {
		last = talk->spare;
		talk->spare = talk->running;
	}
	const struct listing *listing = last ? &last->seen.listing : NULL;
	bool worth = listing && (listing->count || listing->serial_count || listing->problem_count);
	if (worth && talk->done_count < TALK_PASSES_MOST) talk->done[talk->done_count++] = last;
	else pass_free(last);
	if (talk->spare == talk->running) talk->running = NULL;
	pass_free(talk->spare);
	talk->spare = talk->running = NULL;
}

void talk_fail(struct talk *talk, const char *format, ...)
{
	struct pm_text why;
	va_list args;
	pm_text_fixed(&why, talk->why, sizeof talk->why);
	va_start(args, format);
	pm_text_addv(&why, format, args);
	va_end(args);
	talk->stage = TALK_FAILED;
	talk->out_length = 0;
	keep_last(talk);
}

void talk_cut(struct talk *talk)
{
	if (talk->stage == TALK_DONE || talk->stage == TALK_FAILED) return;
	if (talk->stage == TALK_LISTING || talk->stage == TALK_IDENTITY)
		talk_fail(talk, "cut off in pass %zu", talk->done_count + 1);
	else
		talk_fail(talk, "cut off after %zu %s", talk->done_count, talk->done_count == 1 ? "pass" : "passes");
	if (talk->failed) out_of_memory(talk);
	talk_say(talk);
}

bool talk_hand_over(struct talk *talk, bool person, int64_t now)
{
	if (talk->failed) return false;
	if (talk->stage == TALK_DONE || talk->stage == TALK_FAILED || person == talk->options.watch) return true;
	if (now > talk->now) talk->now = now;
	if (!turn_hand_over(talk, person)) return out_of_memory(talk);
	talk_say(talk);
	return true;
}

bool talk_missed(struct talk *talk, int64_t now)
{
	if (talk->failed) return false;
	if (talk->stage == TALK_DONE || talk->stage == TALK_FAILED) return true;
	if (now > talk->now) talk->now = now;
	/* nobody knows how the line at the cursor went on */
	bool good = clean_feed(talk->clean, "\n", 1);
	talk->raw_length = 0;
	talk->tail = TAIL_BLANK;
	talk->fresh = false;
	if (!good || !(talk->stage == TALK_WATCHING ? cut_watched(talk) : turn_hand_over(talk, false)))
		return out_of_memory(talk);
	talk_say(talk);
	return true;
}

/* --- asking -------------------------------------------------------------------------------------------- */

enum talk_stage talk_stage(const struct talk *talk)
{
	return talk->stage;
}

const char *talk_saying(const struct talk *talk)
{
	return talk->saying;
}

bool talk_wants_login(const struct talk *talk)
{
	return talk->tail == TAIL_LOGIN;
}

const char *talk_unfinished(const struct talk *talk, size_t *length)
{
	return clean_unfinished(talk->clean, length);
}

size_t talk_passes(const struct talk *talk)
{
	return talk->done_count;
}

const struct talk_pass *talk_pass(const struct talk *talk, size_t index)
{
	return index < talk->done_count ? &talk->done[index]->seen : NULL;
}

const struct listing *talk_running(const struct talk *talk)
{
	static const struct listing none;
	return talk->running ? &talk->running->seen.listing : &none;
}
