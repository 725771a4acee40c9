/* Hello, menu, help and leave: the screens around the work. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/lists.h"
#include "walk/step.h"

static int request_of(const struct walk_state *state, const struct screen_event *event)
{
	const struct walk_screen_row *row = &walk_screens[state->screen];
	return keytable_request(row->keys, row->key_count, event);
}

void hello_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	if (state->proposed && (event->kind == EVENT_CHARACTER || event->kind == EVENT_PASTE))
		field_clear(&state->field);
	if (field_key(&state->field, event)) {
		state->proposed = false;
		return;
	}
	int request = request_of(state, event);
	if (request == ASK_BACK) {
		walk_over(state, WALK_LEAVE);
	}
	if (request != ASK_ENTER || event->burst)
		return;
	if (state->field.length < 2 || state->field.length >= sizeof session->by) {
		walk_say(state, STYLE_BAD, "type your name or role, 2 to %zu characters: every entry is signed with it",
		         sizeof session->by - 1);
		return;
	}
	state->want = WANT_NAME;
}

const struct menu_row menu_rows[] = {
	{ 's', "the step where you are", ASK_BACK },
	{ 'o', "the first open step", ASK_NEXT },
	{ 'r', "route: phases, steps and gates", ASK_ROUTE },
	{ 'p', "ports: map of the interfaces", ASK_PORTS },
	{ 'f', "findings: wrong or doubtful", ASK_FINDINGS },
	{ 'x', "write the registration sheet", ASK_SHEET },
	{ 'e', "the seal: speak it, compare it", ASK_SEAL },
	{ 't', "take back a reading of this step", ASK_TAKE_BACK },
	{ 'n', "this step does not apply here", ASK_NO },
	{ 'w', "waive a condition (lead)", ASK_WAIVE },
	{ 'l', "load the job file again", ASK_RELOAD },
	{ 'h', "help: the keys", ASK_HELP },
	{ 'q', "leave; all accepted is saved", ASK_LEAVE },
};
const size_t menu_row_count = sizeof menu_rows / sizeof *menu_rows;

static void does_not_apply(struct walk_state *state, const struct session *session)
{
	const struct pm_step *step = walk_step(state, session);
	walk_show_step(state, session, state->phase, state->step);
	if (!step->skippable) {
		walk_say(state, STYLE_BAD, "%s", step->critical ? "a critical step always applies"
		                                                : "the plan lets nobody skip this step");
		return;
	}
	state->choice = (int)step_choices(step) - 1;
	state->noting = true;
	walk_say(state, STYLE_WAIT, "type why it does not apply here, then Enter");
}

static void choose_menu(struct walk_state *state, const struct session *session, int request)
{
	size_t phase, step;
	switch (request) {
	case ASK_BACK:
		/* what was typed or chosen there is still there */
		if (state->under == WALK_STEP)
			state->screen = WALK_STEP;
		else
			walk_show_step(state, session, state->phase, state->step);
		break;
	case ASK_NEXT:
		walk_find_open(session, &phase, &step);
		walk_show_step(state, session, phase, step);
		if (walk_finished(session))
			walk_say(state, STYLE_GOOD, "every phase is closed: this job is done");
		break;
	case ASK_ROUTE: walk_go(state, session, WALK_ROUTE); break;
	case ASK_PORTS: walk_go(state, session, WALK_PORTS); break;
	case ASK_FINDINGS: walk_go(state, session, WALK_FINDINGS); break;
	case ASK_SHEET:
		state->screen = state->under;
		state->want = WANT_SHEET;
		break;
	case ASK_SEAL: walk_go(state, session, WALK_SEAL); break;
	case ASK_TAKE_BACK:
		/* the row in focus is a kit item only on the step itself */
		if (state->under != WALK_STEP)
			walk_show_step(state, session, state->phase, state->step);
		step_take_back(state, session);
		break;
	case ASK_NO: does_not_apply(state, session); break;
	case ASK_WAIVE: walk_go(state, session, WALK_WAIVE); break;
	case ASK_RELOAD: state->want = WANT_RELOAD; break;
	case ASK_HELP: walk_over(state, WALK_HELP); break;
	case ASK_LEAVE: walk_over(state, WALK_LEAVE); break;
	}
}

void menu_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	int request = request_of(state, event);
	if (walk_move_row(&state->over, request, menu_row_count) || event->burst)
		return;
	if (request == ASK_BACK) {
		/* nothing is lost: the screen below is as it was */
		state->screen = state->under;
		return;
	}
	if (request == ASK_ENTER) {
		choose_menu(state, session, menu_rows[state->over].request);
		return;
	}
	for (size_t i = 0; event->kind == EVENT_CHARACTER && i < menu_row_count; i++)
		if (event->point == (uint32_t)menu_rows[i].letter) {
			choose_menu(state, session, menu_rows[i].request);
			return;
		}
}

void help_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	int request = request_of(state, event);
	(void)session;
	if (request == ASK_BACK || request == ASK_ENTER)
		state->screen = state->under;
	else
		walk_move_row(&state->over, request, help_lines(state));
}

void leave_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	int request = request_of(state, event);
	(void)session;
	if (event->burst)
		return;
	if (request == ASK_YES)
		state->want = WANT_LEAVE;
	else if (request == ASK_NO || request == ASK_BACK)
		state->screen = state->under;
}
