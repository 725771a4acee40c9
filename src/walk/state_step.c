/* The step screen: what its keys do. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/step.h"

static void step_by(struct walk_state *state, const struct session *session, bool forward)
{
	const struct pm_plan *plan = &session->plan.plan;
	size_t phase = state->phase, step = state->step;
	if (forward) {
		if (++step == plan->phases[phase].step_count) {
			if (phase + 1 == plan->phase_count)
				return;
			phase++;
			step = 0;
		}
	} else {
		if (step == 0) {
			if (phase == 0)
				return;
			step = plan->phases[--phase].step_count;
		}
		step--;
	}
	walk_show_step(state, session, phase, step);
}

void step_open(struct walk_state *state, const struct session *session)
{
	const struct pm_step *step = walk_step(state, session);
	if (step->ask != PM_ASK_KIT)
		return;
	/* begin at the first item that was not counted */
	const struct pm_plan *plan = &session->plan.plan;
	for (size_t i = 0; i < plan->kit_count; i++) {
		char of[200];
		step_fact(step, session, i, of);
		if (!pm_fact_last(&session->job.job, of)) {
			state->row = i;
			return;
		}
	}
}

void step_take_back(struct walk_state *state, const struct session *session)
{
	const struct pm_step *step = walk_step(state, session);
	if (step->ask == PM_ASK_ADDRESSES) {
		walk_go(state, session, WALK_PORTS);
		walk_say(state, STYLE_WAIT, "move to the port whose reading is wrong, then press t");
		return;
	}
	struct pm_text text;
	pm_text_fixed(&text, state->of, sizeof state->of);
	pm_text_add(&text, "step/%s", step->id.text);
	/* the word that it does not apply is taken back first */
	const struct pm_reading *own = pm_fact_last(&session->job.job, state->of);
	if (!own || own->source != PM_SOURCE_SKIPPED)
		step_fact(step, session, step->ask == PM_ASK_KIT ? state->row : 0, state->of);
	walk_go(state, session, WALK_TAKE_BACK);
}

static bool choice_event(struct walk_state *state, const struct pm_step *step, const struct screen_event *event)
{
	size_t count = step_choices(step);
	if (event->kind == EVENT_CHARACTER && !event->burst) {
		uint32_t at = event->point - 'a';
		if (event->point >= 'A' && event->point <= 'Z')
			at = event->point - 'A';
		if (at < count) {
			state->choice = (int)at;
			return true;
		}
	}
	return false;
}

void step_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	const struct pm_step *step = walk_step(state, session);
	bool field = step_has_field(step) || state->noting;
	int most = step_scroll_most(state, session);
	if (state->scroll > most)   /* the screen has grown since */
		state->scroll = most;
	const struct walk_screen_row *row = &walk_screens[WALK_STEP];
	if (field && (event->kind == EVENT_PASTE || event->kind == EVENT_CHARACTER ||
	              event->key == KEYS_ERASE || event->key == KEYS_DELETE || event->key == KEYS_LEFT ||
	              event->key == KEYS_RIGHT || event->key == KEYS_HOME || event->key == KEYS_END ||
	              (event->key == KEYS_CTRL && event->point == 'u'))) {
		field_key(&state->field, event);
		return;
	}
	if (!field && choice_event(state, step, event))
		return;
	int request = keytable_request(row->keys, row->key_count, event);
	bool leaves = request == ASK_NEXT || request == ASK_PREVIOUS ||
	              (step->ask == PM_ASK_KIT && (request == ASK_UP || request == ASK_DOWN));
	if (leaves && field && state->field.length) {
		walk_say(state, STYLE_WAIT, "typed, but not accepted yet: Enter accepts it, Ctrl-U empties the field");
		return;
	}
	switch (request) {
	case ASK_ENTER:
		if (!event->burst)
			step_enter(state, session);
		break;
	case ASK_BACK:
		if (state->noting || state->choice >= 0) {
			state->noting = false;
			state->choice = -1;
			break;
		}
		/* fall through */
	case ASK_MENU:
		walk_over(state, WALK_MENU);
		break;
	case ASK_UP:
		if (step->ask == PM_ASK_KIT)
			walk_move_row(&state->row, ASK_UP, session->plan.plan.kit_count);
		else
			state->scroll -= state->scroll > 0;
		break;
	case ASK_DOWN:
		if (step->ask == PM_ASK_KIT)
			walk_move_row(&state->row, ASK_DOWN, session->plan.plan.kit_count);
		else
			state->scroll += state->scroll < most;
		break;
	case ASK_PAGE_UP: state->scroll = state->scroll > 6 ? state->scroll - 6 : 0; break;
	case ASK_PAGE_DOWN: state->scroll = state->scroll + 6 < most ? state->scroll + 6 : most; break;
	case ASK_NEXT: step_by(state, session, true); break;
	case ASK_PREVIOUS: step_by(state, session, false); break;
	case ASK_NOTE:
		if (step->ask == PM_ASK_ANSWER && state->choice >= 0) {
			state->noting = true;
			walk_say(state, STYLE_WAIT, "type the note, then Enter");
		}
		break;
	case ASK_HELP:
		walk_over(state, WALK_HELP);
		break;
	}
}
