/* The port map and the console log that waits for a yes. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/held.h"
#include "walk/ports.h"

size_t ports_across(int columns)
{
	int across = (columns - 2) / PORTS_CELL;
	return across < 1 ? 1 : (size_t)across;
}

void ports_open(struct walk_state *state, const struct session *session)
{
	/* begin at the first interface that is not confirmed */
	for (size_t i = 0; i < session->result.roster.count; i++) {
		const struct pm_call *call = &session->result.roster.call[i];
		if (!call->valid || call->fact.standing != PM_CONFIRMED) {
			state->row = i;
			return;
		}
	}
}

static void port_fact(const struct session *session, size_t port, char out[static 200])
{
	struct pm_text text;
	pm_text_fixed(&text, out, 200);
	pm_text_add(&text, "port/%s", session->gear.gear.ports[port].name.text);
}

/* Addresses are mustered in the phase whose step asks for them. */
static bool held(struct walk_state *state, const struct session *session)
{
	size_t phase = state->phase, muster = held_muster(session);
	if (muster == session->plan.plan.phase_count)
		return false;
	state->phase = muster;
	bool shut = walk_held(state, session);
	state->phase = phase;
	return shut;
}

/* A valid address that breaks the numbering of the others is taken only at the
 * second Enter, with the difference explained at the first. */
static bool warned_of_break(struct walk_state *state, const struct session *session, struct pm_eui48 typed)
{
	const struct pm_expect *expect = &session->result.pattern.expect[state->row];
	char right[PM_EUI48_TEXT], seen[PM_EUI48_TEXT], words[120];
	if (expect->group == PM_NO_GROUP || pm_eui48_compare(&expect->address, &typed) == 0 ||
	    strcmp(state->warned, state->field.text) == 0)
		return false;
	memcpy(state->warned, state->field.text, sizeof state->warned);
	pm_eui48_write(&expect->address, PM_BARE, false, right);
	pm_eui48_write(&typed, PM_BARE, false, seen);
	pm_slip_say(pm_slip_between(right, seen), "digit", words, sizeof words);
	walk_say(state, STYLE_BAD, "against the numbering: %s. Look at the console again; Enter again records it as read", words);
	return true;
}

static void enter_address(struct walk_state *state, const struct session *session)
{
	struct pm_eui48 typed, near;
	struct pm_eui48_fault fault;
	char text[PM_EUI48_TEXT], of[200];
	const char *value = state->field.text;
	if (!pm_eui48_read(value, strlen(value), &typed, NULL, &fault)) {
		bool close = pm_eui48_near(value, strlen(value), &near, 1);
		walk_say(state, STYLE_BAD, "column %u: %s%s%s", fault.column, pm_eui48_reason_text(fault.reason),
		         close ? "; did you mean " : "", close ? pm_eui48_text(&near, text) : "");
		return;
	}
	if (warned_of_break(state, session, typed))
		return;
	port_fact(session, state->row, of);
	walk_fill_entry(state, of, pm_eui48_text(&typed, text), PM_SOURCE_TYPED, NULL);
	session_typed_capture(session, of, state->entry.capture);
	state->want = WANT_RECORD;
}

static void typing_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	if (field_key(&state->field, event))
		return;
	if (event->kind == EVENT_KEY && event->key == KEYS_ESCAPE) {
		/* a path is no address: only the latter is kept for the next Enter */
		if (state->asking_path)
			field_clear(&state->field);
		state->typing = state->asking_path = false;
		return;
	}
	if (event->kind != EVENT_KEY || event->key != KEYS_ENTER || event->burst)
		return;
	if (state->field.length == 0) {
		walk_say(state, STYLE_WAIT, "nothing typed yet");
		return;
	}
	if (!state->asking_path) {
		enter_address(state, session);
		return;
	}
	/* a digit alone picks from the list of logs beside the job */
	if (state->field.length == 1 && pm_is_digit(state->field.text[0])) {
		size_t pick = (size_t)(state->field.text[0] - '1');
		if (pick < session->log_count)
			field_set(&state->field, session->logs[pick]);
	}
	state->want = WANT_READ_LOG;
}

static void take_paste(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	if (held(state, session))
		return;
	state->paste = event->text;
	state->paste_length = event->length;
	state->want = WANT_READ_PASTE;
}

static void move(struct walk_state *state, const struct session *session, int request)
{
	size_t count = session->result.roster.count, across = ports_across(state->columns), before = state->row;
	switch (request) {
	case ASK_LEFT: state->row -= state->row > 0; break;
	case ASK_RIGHT: state->row += state->row + 1 < count; break;
	case ASK_UP: state->row -= state->row >= across ? across : 0; break;
	case ASK_DOWN: state->row += state->row + across < count ? across : 0; break;
	}
	/* what was typed for one port is not for another */
	if (state->row != before)
		field_clear(&state->field);
}

void ports_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	const struct walk_screen_row *row = &walk_screens[WALK_PORTS];
	if (state->typing) {
		typing_event(state, session, event);
		return;
	}
	if (event->kind == EVENT_PASTE) {
		take_paste(state, session, event);
		return;
	}
	int request = keytable_request(row->keys, row->key_count, event);
	switch (request) {
	case ASK_ENTER:
		if (event->burst || held(state, session))
			break;
		state->typing = true;
		break;
	case ASK_LOG:
		if (held(state, session))
			break;
		state->typing = state->asking_path = true;
		field_clear(&state->field);
		state->want = WANT_LIST_LOGS;
		break;
	case ASK_CONSOLE:
		if (!held(state, session))
			walk_go(state, session, WALK_LINES);
		break;
	case ASK_TAKE_BACK:
		port_fact(session, state->row, state->of);
		walk_go(state, session, WALK_TAKE_BACK);
		break;
	case ASK_BACK:
		walk_show_step(state, session, state->phase, state->step);
		break;
	case ASK_FINDINGS:
		walk_go(state, session, WALK_FINDINGS);
		break;
	case ASK_HELP:
		walk_over(state, WALK_HELP);
		break;
	case ASK_MENU:
		walk_over(state, WALK_MENU);
		break;
	default:
		move(state, session, request);
	}
}

void log_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	const struct walk_screen_row *row = &walk_screens[WALK_LOG];
	int request = keytable_request(row->keys, row->key_count, event);
	size_t rows = session->log ? session->log->listing.count + session->log->listing.problem_count : 0;
	if (walk_move_row(&state->row, request, rows))
		return;
	if (request == ASK_HELP)
		walk_over(state, WALK_HELP);
	if (request == ASK_BACK)
		state->want = WANT_DROP_LOG;
	if (request != ASK_YES || !session->log)
		return;
	if (session->log->fresh + session->log->differing == 0 && !session->log->serial)
		walk_say(state, STYLE_BAD, "there is nothing to take: no address of an interface of this gear was found");
	else
		state->want = WANT_TAKE_LOG;
}
