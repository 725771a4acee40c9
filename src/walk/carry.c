/* What the state machine wants, done. */
#include <string.h>

#include "portmuster/differ.h"
#include "portmuster/text.h"
#include "walk/drive.h"
#include "walk/frame.h"
#include "walk/live.h"
#include "walk/step.h"

/* Addresses, codes and serial numbers are read twice; all else is said once. */
static bool read_twice(const char *of)
{
	return strncmp(of, "port/", 5) == 0 || strncmp(of, "site/", 5) == 0 || strstr(of, "/serial") != NULL;
}

/* The readings differ: in what, and what else there is to say which is right. */
static void say_differing(const struct session *session, const struct pm_fact *fact, enum pm_compare compare,
                          struct pm_text *text)
{
	const char *of = fact->first->of.text;
	const struct pm_eui48 *expect = NULL;
	struct pm_differ differ;
	for (size_t i = 0; compare == PM_AS_ADDRESS && i < session->result.roster.count; i++) {
		const struct pm_expect *at = &session->result.pattern.expect[i];
		if (strcmp(session->result.roster.call[i].port->name.text, of + 5) == 0 && at->group != PM_NO_GROUP)
			expect = &at->address;
	}
	pm_differ_find(&session->job.job, of, compare, expect, &differ);
	pm_text_add(text, "; %zu readings DIFFER: ", fact->readings);
	if (differ.count > 2 || differ.more)
		pm_text_str(text, "more than two values");
	else
		pm_differ_say(fact->first->value.text, fact->second->value.text, compare, text);
	if (differ.favoured) {
		pm_text_str(text, "; ");
		pm_differ_say_favoured(&differ, text);
	}
	pm_text_str(text, ". Read it again at the source");
}

/* What the readings of a fact have come to, the site list's value included. */
static bool say_standing(const struct walk_state *state, const struct session *session, struct pm_text *text)
{
	const char *of = state->entry.of;
	bool port = strncmp(of, "port/", 5) == 0;
	enum pm_compare compare = port ? PM_AS_ADDRESS : PM_AS_TEXT;
	struct pm_fact fact = pm_fact_find(&session->job.job, of, compare);
	bool on_step = state->screen == WALK_STEP;
	if (fact.standing == PM_CONFLICT) {
		say_differing(session, &fact, compare, text);
		return true;
	}
	if (on_step && step_conflict(session, walk_step(state, session))) {
		pm_text_str(text, "; DIFFERS from the site list. Read it again at the source");
		return true;
	}
	bool confirmed = on_step && walk_progress(session, walk_step(state, session), NULL, NULL) == PM_DONE;
	pm_text_add(text, "; %s %s", port ? of + 5 : frame_fact(of), pm_standing_word(confirmed ? PM_CONFIRMED : fact.standing));
	return false;
}

static void record(struct walk_state *state, struct session *session)
{
	struct pm_fault fault;
	char message[sizeof state->message], now[PM_WHEN_TEXT];
	struct pm_text text;
	if (!session_record(session, &state->entry, &fault)) {
		walk_failed(state, &fault);
		return;
	}
	pm_text_fixed(&text, message, sizeof message);
	pm_when_write(session->now, now);
	pm_text_str(&text, "saved ");
	pm_text_put(&text, now + (strlen(now) > 19 ? 11 : 0), strlen(now) > 19 ? 8 : strlen(now));
	bool conflict = read_twice(state->entry.of) && state->entry.source != PM_SOURCE_SKIPPED &&
	                say_standing(state, session, &text);
	walk_done(state, session, message);
	if (conflict)
		state->message_style = STYLE_BAD;
}

static void take_log(struct walk_state *state, struct session *session)
{
	struct pm_fault fault;
	char message[160];
	struct pm_text text;
	size_t taken, differing = session->log ? session->log->differing : 0;
	if (!session_take_log(session, &taken, &fault)) {
		walk_failed(state, &fault);
		return;
	}
	pm_text_fixed(&text, message, sizeof message);
	pm_text_add(&text, "saved: %zu reading%s taken from the log", taken, taken == 1 ? "" : "s");
	if (differing)
		pm_text_add(&text, ", %zu of them DIFFERING from what was held", differing);
	pm_text_add(&text, "; %zu of %zu interfaces confirmed", session->result.roster.confirmed, session->result.roster.count);
	walk_done(state, session, message);
	if (differing)
		state->message_style = STYLE_BAD;
}

static void done_or_failed(struct walk_state *state, struct session *session, bool good,
                           const char *message, const struct pm_fault *fault)
{
	if (good)
		walk_done(state, session, message);
	else
		walk_failed(state, fault);
}

static void write_sheet(struct walk_state *state, struct session *session)
{
	struct pm_fault fault = { 0 };
	char path[1024], shown[1100];
	struct pm_text text;
	if (!session_write_sheet(session, path, sizeof path, &fault)) {
		walk_failed(state, &fault);
		return;
	}
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, path, strlen(path));
	walk_say(state, session->sheet_note[0] ? STYLE_WAIT : STYLE_GOOD, "written: %s, seal %s. %s", shown, session->seal.text,
	         session->sheet_note[0] ? session->sheet_note : "Check a returned one with: portmuster sheet --verify");
}

static void disconnect(struct walk_state *state, struct session *session)
{
	struct pm_fault fault = { 0 };
	bool good = session_disconnect(session, &fault);
	walk_done(state, session, NULL);
	if (!good)
		walk_failed(state, &fault);
	else
		walk_say(state, STYLE_GOOD, "%zu of %zu interfaces confirmed, %zu read once", session->result.roster.confirmed,
		         session->result.roster.count, session->result.roster.held - session->result.roster.confirmed);
}

void drive_listen(struct walk_state *state, struct session *session)
{
	struct pm_fault fault = { 0 };
	if (!session->live)
		return;
	bool good = session_listen(session, &fault);
	walk_heard(state, session);
	if (!good && live_over(session->live))   /* the line went, and what was read is recorded */
		walk_say(state, STYLE_BAD, "THE LINE WENT: %s; %s", fault.message, fault.remedy);
	else if (!good)
		walk_failed(state, &fault);
}

bool drive_carry_out(struct walk_state *state, struct session *session)
{
	struct pm_fault fault = { 0 };
	struct pm_text name;
	switch (state->want) {
	case WANT_NOTHING:
	case WANT_SUSPEND:
		break;
	case WANT_NAME:
		pm_text_fixed(&name, session->by, sizeof session->by);
		pm_text_str(&name, state->field.text);
		walk_done(state, session, NULL);
		break;
	case WANT_RECORD:
		record(state, session);
		break;
	case WANT_WAIVE:
		state->waiver.reason = state->field.text;
		done_or_failed(state, session, session_waive(session, state->line, &state->waiver, &fault),
		               "waiver saved", &fault);
		break;
	case WANT_LIST_LOGS:
		session_list_logs(session);
		walk_done(state, session, NULL);
		break;
	case WANT_READ_LOG:
		done_or_failed(state, session, session_read_log(session, state->field.text, &fault), NULL, &fault);
		break;
	case WANT_READ_PASTE:
		done_or_failed(state, session, session_read_paste(session, state->paste, state->paste_length, &fault), NULL, &fault);
		break;
	case WANT_TAKE_LOG:
		take_log(state, session);
		break;
	case WANT_DROP_LOG:
		session_drop_log(session);
		walk_done(state, session, "the log was dropped; nothing was recorded");
		break;
	case WANT_LIST_LINES:
		session_list_lines(session);
		walk_done(state, session, NULL);
		break;
	case WANT_CONNECT:
		done_or_failed(state, session, session_connect(session, state->device[0] ? state->device : NULL, &fault),
		               NULL, &fault);
		break;
	case WANT_TYPE:
		if (!live_type(session->live, state->keys, state->key_count))
			walk_say(state, STYLE_BAD, "the line takes nothing now: that key was not sent");
		break;
	case WANT_HANDS:
		done_or_failed(state, session, live_hand_over(session->live, state->hands, live_clock(), &fault), NULL, &fault);
		break;
	case WANT_SHEET:
		write_sheet(state, session);
		break;
	case WANT_DISCONNECT:
		disconnect(state, session);
		break;
	case WANT_RELOAD:
		done_or_failed(state, session, session_reload(session, &fault), "loaded again", &fault);
		break;
	case WANT_LEAVE:
		return true;
	}
	state->want = WANT_NOTHING;
	return false;
}
