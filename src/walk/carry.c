/* What the state machine wants, done. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/drive.h"
#include "walk/state.h"

/* Addresses, codes and serial numbers are read twice; all else is said once. */
static bool read_twice(const char *of)
{
	return strncmp(of, "port/", 5) == 0 || strncmp(of, "site/", 5) == 0 || strstr(of, "/serial") != NULL;
}

static void record(struct walk_state *state, struct session *session)
{
	struct pm_fault fault;
	char message[240], now[PM_WHEN_TEXT];
	struct pm_text text;
	if (!session_record(session, &state->entry, &fault)) {
		walk_failed(state, &fault);
		return;
	}
	pm_text_fixed(&text, message, sizeof message);
	pm_when_write(session->now, now);
	pm_text_str(&text, "saved ");
	pm_text_put(&text, now + (strlen(now) > 19 ? 11 : 0), strlen(now) > 19 ? 8 : strlen(now));
	bool twice = read_twice(state->entry.of);
	struct pm_fact fact = pm_fact_find(&session->job.job, state->entry.of,
	                                   strncmp(state->entry.of, "port/", 5) == 0 ? PM_AS_ADDRESS : PM_AS_TEXT);
	bool conflict = twice && fact.standing == PM_CONFLICT;
	if (conflict) {
		char slip[120];
		pm_slip_say(pm_slip_between(fact.first->value.text, fact.second->value.text), slip, sizeof slip);
		pm_text_add(&text, "; DIFFERS from the other reading: %s. Read it again at the source", slip);
	} else if (twice) {
		pm_text_add(&text, "; %s %s", state->entry.of, pm_standing_word(fact.standing));
	}
	walk_done(state, session, message);
	if (conflict)
		state->message_style = STYLE_BAD;
}

static void take_log(struct walk_state *state, struct session *session)
{
	struct pm_fault fault;
	char message[120];
	struct pm_text text;
	size_t taken;
	if (!session_take_log(session, &taken, &fault)) {
		walk_failed(state, &fault);
		return;
	}
	pm_text_fixed(&text, message, sizeof message);
	pm_text_add(&text, "saved: %zu readings taken from the log; %zu of %zu interfaces confirmed", taken,
	            session->result.roster.confirmed, session->result.roster.count);
	walk_done(state, session, message);
}

static void done_or_failed(struct walk_state *state, struct session *session, bool good,
                           const char *message, const struct pm_fault *fault)
{
	if (good)
		walk_done(state, session, message);
	else
		walk_failed(state, fault);
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
		done_or_failed(state, session, session_waive(session, state->line, state->field.text, &fault),
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
	case WANT_RELOAD:
		done_or_failed(state, session, session_reload(session, &fault), "loaded again", &fault);
		break;
	case WANT_LEAVE:
		return true;
	}
	state->want = WANT_NOTHING;
	return false;
}
