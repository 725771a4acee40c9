/* The conversation's turns: what happens when time passes. turn_due tells the
 * next one and its time, turn_take does it; so whoever waits and whoever acts
 * go by the same rule. */
#include <string.h>

#include "capture/talk_parts.h"
#include "portmuster/text.h"

/* Milliseconds of quiet after which the unfinished line is what it looks like. */
#define PROMPT_QUIET 100     /* the gear profile knows it */
#define LIKELY_QUIET 300     /* only its shape tells */
#define UNLIKELY_QUIET 1500  /* and the gear profile knows another */
#define PAGER_QUIET 50
#define LOGIN_QUIET 300

#define PAUSE 500            /* between passes */
#define BUSY 12              /* patiences, while bytes come but no line of a listing ends */
#define REMINDERS 10         /* retries of one command, all told */
#define START_LINES 3        /* so many lines before a prompt are a start's */
#define START_CALM 4         /* patiences between reminders then: Enter may stop a start */

/* --- when ------------------------------------------------------------------------ */

static void sooner(struct turn_due *due, int64_t at, enum turn turn)
{
	if (due->turn == TURN_NONE || at < due->at) *due = (struct turn_due){ at, turn };
}

static bool is_prompt(const struct talk *talk)
{
	return talk->tail == TAIL_PROMPT || talk->tail == TAIL_LIKELY;
}

static int64_t prompt_quiet(const struct talk *talk)
{
	if (talk->tail == TAIL_PROMPT) return PROMPT_QUIET;
	return talk->tails.pattern ? UNLIKELY_QUIET : LIKELY_QUIET;
}

/* A prompt answers only when something came since the command: else it is the
 * one at which the command stands. */
static bool prompt_counts(const struct talk *talk)
{
	if (!is_prompt(talk)) return false;
	if (talk->stage == TALK_WATCHING) return talk->fresh;
	if (talk->stage == TALK_WAKING && talk->tail == TAIL_PROMPT) return talk->heard > 0;
	return talk->ends > talk->ends_at_command;
}

static bool pager_waits(const struct talk *talk)
{
	return talk->tail == TAIL_PAGER && !(talk->answered && talk->ends == talk->ends_at_answer);
}

static int64_t later(int64_t a, int64_t b)
{
	return a > b ? a : b;
}

struct turn_due turn_due(const struct talk *talk)
{
	struct turn_due due = { 0, TURN_NONE };
	int64_t patience = talk->options.patience, quiet = later(talk->last_byte, talk->last_sent);
	if (talk->stage == TALK_DONE || talk->stage == TALK_FAILED) return due;
	if (prompt_counts(talk)) sooner(&due, talk->last_byte + prompt_quiet(talk), TURN_PROMPT);
	if (talk->stage == TALK_WATCHING) return due;
	if (talk->tail == TAIL_LOGIN) {
		sooner(&due, talk->last_byte + LOGIN_QUIET, TURN_LOGIN);
		return due;
	}
	if (talk->stage == TALK_PAUSE) {
		due = (struct turn_due){ later(quiet, talk->stage_at) + PAUSE, TURN_NEXT };
		return due;
	}
	if (pager_waits(talk)) sooner(&due, talk->last_byte + PAGER_QUIET, TURN_PAGER);
	if (talk->stage == TALK_WAKING) {
		sooner(&due, quiet + patience * (talk->lines >= START_LINES ? START_CALM : 1), TURN_STALL);
		if (talk->text) sooner(&due, talk->stage_at + talk_boot_limit(talk), TURN_LIMIT);
	} else {
		sooner(&due, quiet + patience, TURN_STALL);
		sooner(&due, later(talk->last_line, talk->last_sent) + BUSY * patience, TURN_STALL);
	}
	return due;
}

/* --- sending ----------------------------------------------------------------------- */

static void send_bytes(struct talk *talk, const char *text, size_t length)
{
	if (length <= sizeof talk->out - talk->out_length) {
		memcpy(talk->out + talk->out_length, text, length);
		talk->out_length += length;
	}
	talk->last_sent = talk->last_line = talk->now;
	talk->bytes_since_sent = 0;
}

/* Enter or a blank; what was not taken yet is not said twice. */
static void send_key(struct talk *talk, char key)
{
	if (talk->out_length == 0) send_bytes(talk, &key, 1);
	else talk->last_sent = talk->now;
}

static void send_command(struct talk *talk, struct pm_word command)
{
	talk->ends_at_command = talk->ends;
	talk->stalls = talk->reminders = 0;
	talk->told = 0;
	talk->lost = false;
	send_bytes(talk, command.text, strlen(command.text));
	send_bytes(talk, "\r", 1);
}

static void send_blank(struct talk *talk)
{
	talk->answered = true;
	talk->ends_at_answer = talk->ends;
	send_key(talk, ' ');
}

/* --- stages --------------------------------------------------------------------------- */

static void enter_stage(struct talk *talk, enum talk_stage stage)
{
	talk->stage = stage;
	talk->stage_at = talk->now;
	talk->tries = 1;
	talk->stalls = talk->strange = 0;
}

static void wake(struct talk *talk)
{
	enter_stage(talk, TALK_WAKING);
	talk->heard = talk->unreadable = talk->lines = 0;
	talk->text = false;
	talk->strange_text[0] = '\0';
}

/* A new pass begins with the line of the prompt. */
static bool begin_pass(struct talk *talk)
{
	bool over = false;
	talk->interfaces = talk->readings = 0;
	talk->running = pass_begin(talk->options.gear);
	if (talk->running && pass_add(talk->running, talk->raw, talk->raw_length, &over)) return true;
	talk->failed = true;
	return false;
}

static void ask_listing(struct talk *talk)
{
	enter_stage(talk, TALK_LISTING);
	send_command(talk, talk->options.gear->console.listing);
}

static void ask(struct talk *talk)
{
	if (!talk->running && !begin_pass(talk)) return;
	if (pm_given(talk->options.gear->console.identity)) {
		enter_stage(talk, TALK_IDENTITY);
		send_command(talk, talk->options.gear->console.identity);
	} else {
		ask_listing(talk);
	}
}

/* The running pass begins anew. What told of a start may have been wrong: the
 * lines learned do not tell again. */
static void give_up_pass(struct talk *talk)
{
	struct pass *pass = talk->running;
	talk->running = NULL;
	if (pass && !pass_finish(pass, false)) talk->failed = true;
	if (pass && (!talk->spare || pass->seen.listing.count > talk->spare->seen.listing.count)) {
		pass_free(talk->spare);
		talk->spare = pass;
	} else {
		pass_free(pass);
	}
	talk->interfaces = talk->readings = 0;
	talk->restarts++;
	talk->restarted = true;
	talk->signs.count = 0;
}

/* May the pass begin anew? Signs can be wrong: not for ever, and not when all
 * is read. */
static bool may_restart(const struct talk *talk)
{
	return talk_missing(talk) > 0 && talk->restarts < talk->options.retries;
}

void turn_restart(struct talk *talk)
{
	bool mid = talk->stage == TALK_IDENTITY || talk->stage == TALK_LISTING;
	talk->told = 0;
	if ((!mid && talk->stage != TALK_PAUSE) || (mid && !may_restart(talk))) return;
	give_up_pass(talk);
	size_t lines = talk->lines;
	wake(talk);
	talk->text = true;
	talk->lines = lines < START_LINES ? lines : START_LINES;   /* it is starting, as is known */
}

bool turn_hand_over(struct talk *talk, bool person)
{
	talk->options.watch = person;
	talk->out_length = 0;
	if (!person) {
		give_up_pass(talk);
		wake(talk);
		talk->restarted = false;   /* the router did not */
		talk->restarts = 0;
		send_key(talk, '\r');
		return !talk->failed;
	}
	enter_stage(talk, TALK_WATCHING);
	talk->fresh = false;
	if (!talk->running)
		talk->running = pass_begin(talk->options.gear);
	return talk->running != NULL;
}

/* --- a prompt --------------------------------------------------------------------------- */

static void keep_pass(struct talk *talk)
{
	talk->whole += talk->interfaces > 0 && talk->interfaces >= talk_roster(talk);
	talk->done[talk->done_count++] = talk->running;
	talk->running = NULL;
	pass_free(talk->spare);
	talk->spare = NULL;
	talk->restarted = false;
	talk->restarts = 0;
}

/* Complete the running pass and count what it has. */
static bool count_pass(struct talk *talk)
{
	if (!pass_finish(talk->running, true)) {
		talk->failed = true;
		return false;
	}
	talk->interfaces = pass_interfaces(talk->running, talk->options.gear);
	talk->readings = talk->running->seen.listing.count;
	return true;
}

static void listing_ends(struct talk *talk)
{
	if (!count_pass(talk)) return;
	if (talk->interfaces && (talk->told || talk->lost) && may_restart(talk)) {
		give_up_pass(talk);
		ask(talk);
		return;
	}
	if (talk->interfaces == 0) {
		if (talk->tries >= talk->options.retries) {
			struct pm_text command;
			char quoted[100];
			pm_text_fixed(&command, quoted, sizeof quoted);
			pm_text_quote(&command, talk->options.gear->console.listing.text);
			talk_fail(talk, "%s lists no interface of this gear (asked %u times): is the gear profile the right one?",
			          quoted, talk->tries);
			return;
		}
		talk->tries++;
		talk->lost = false;
		if (pass_reopen(talk->running, talk->options.gear)) send_command(talk, talk->options.gear->console.listing);
		else talk->failed = true;
		return;
	}
	keep_pass(talk);
	if (talk->done_count < talk->options.passes) {
		enter_stage(talk, TALK_PAUSE);
		begin_pass(talk);
	} else {
		enter_stage(talk, TALK_DONE);
	}
}

/* Watching: what stands between two prompts is a pass when it lists something. */
static void watched_prompt(struct talk *talk)
{
	talk->fresh = false;
	if (!count_pass(talk)) return;
	if (talk->readings == 0) {
		if (!pass_reopen(talk->running, talk->options.gear)) talk->failed = true;
		return;
	}
	keep_pass(talk);
	talk->cut = false;
	if (talk->whole >= talk->options.passes || talk->done_count == TALK_PASSES_MOST) enter_stage(talk, TALK_DONE);
	else begin_pass(talk);
}

/* Is the unfinished line what it was when this was last asked? */
static bool same_tail(struct talk *talk)
{
	size_t length;
	const char *tail = clean_unfinished(talk->clean, &length);
	if (length >= sizeof talk->strange_text) length = sizeof talk->strange_text - 1;
	bool same = strlen(talk->strange_text) == length && memcmp(talk->strange_text, tail, length) == 0;
	memcpy(talk->strange_text, tail, length);
	talk->strange_text[length] = '\0';
	return same;
}

/* A start says much that looks like a prompt; a prompt answers Enter. */
static void woken(struct talk *talk)
{
	if (talk->tail == TAIL_PROMPT || same_tail(talk)) {
		ask(talk);
	} else {
		talk->ends_at_command = talk->ends;
		send_key(talk, '\r');
	}
}

static void at_prompt(struct talk *talk)
{
	switch (talk->stage) {
	case TALK_WATCHING: watched_prompt(talk); break;
	case TALK_WAKING: woken(talk); break;
	case TALK_IDENTITY: ask_listing(talk); break;
	case TALK_LISTING: listing_ends(talk); break;
	case TALK_PAUSE: case TALK_DONE: case TALK_FAILED: break;
	}
}

/* --- nothing more comes -------------------------------------------------------------------- */

static void stalled_waking(struct talk *talk)
{
	const struct pm_console *console = &talk->options.gear->console;
	bool garbage = talk->heard >= 8 && talk->unreadable * 3 > talk->heard;
	if (!talk->text || garbage) {
		if (talk->tries < talk->options.retries) {
			talk->tries++;
			send_key(talk, '\r');
		} else if (garbage) {
			talk_fail(talk, "what comes in is no text: are the speed (%lld) and the framing (%s) right?",
			          console->speed ? (long long)console->speed : 9600LL,
			          pm_given(console->framing) ? console->framing.text : "8N1");
		} else {
			talk_fail(talk, "the console does not answer (Enter was sent %u time%s, %lld s without %s): is the router on"
			          " and the cable in its console socket?", talk->tries,
			          talk->tries == 1 ? "" : "s", (long long)((talk->now - talk->stage_at) / 1000), talk->heard ? "text" : "a byte");
		}
		return;
	}
	/* Something that always answers the same is a prompt, but which? */
	bool same = same_tail(talk);
	if (talk->tail == TAIL_BLANK || talk->bytes_since_sent == 0) talk->strange = 0;
	else talk->strange = same ? talk->strange + 1 : 1;
	if (talk->strange >= talk->options.retries) {
		struct pm_text quote;
		char quoted[120];
		pm_text_fixed(&quote, quoted, sizeof quoted);
		pm_text_quote(&quote, talk->strange_text);
		talk_fail(talk, "the console answers with %s, which is no prompt that the gear profile knows", quoted);
		return;
	}
	send_key(talk, '\r');
}

static void stalled_command(struct talk *talk)
{
	bool identity = talk->stage == TALK_IDENTITY;
	talk->stalls++;
	if (++talk->reminders > REMINDERS * talk->options.retries) {
		talk_fail(talk, "pass %zu does not end: no prompt, however often it is asked for", talk->done_count + 1);
		return;
	}
	if (talk->stalls >= talk->options.retries) {
		talk_fail(talk, "the console went silent in pass %zu%s: no prompt after %u tries", talk->done_count + 1,
		          identity ? ", when asked who it is" : "", talk->stalls);
		return;
	}
	/* The answer to a pager may have been lost, or its prompt come torn. */
	if (talk->tail == TAIL_PAGER || (talk->tail == TAIL_TORN && talk->stalls == 1)) send_blank(talk);
	else send_key(talk, '\r');
}

void turn_take(struct talk *talk, enum turn turn)
{
	switch (turn) {
	case TURN_NONE:
		break;
	case TURN_LOGIN:
		if (talk->options.attended) {
			if (!turn_hand_over(talk, true)) talk->failed = true;
			break;
		}
		talk_fail(talk, "the console asks for a login: log in by hand, then start again");
		break;
	case TURN_PAGER:
		send_blank(talk);
		break;
	case TURN_PROMPT:
		at_prompt(talk);
		break;
	case TURN_NEXT:
		if (is_prompt(talk)) {
			ask(talk);
		} else {
			wake(talk);
			send_key(talk, '\r');
		}
		break;
	case TURN_STALL:
		if (talk->stage == TALK_WAKING) stalled_waking(talk);
		else stalled_command(talk);
		break;
	case TURN_LIMIT:
		talk_fail(talk, "no prompt within %lld s", (long long)(talk_boot_limit(talk) / 1000));
		break;
	}
}
