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
	/* begin at the first item that was not counted, else at the first that is short */
	const struct pm_plan *plan = &session->plan.plan;
	uint64_t count;
	for (size_t i = plan->kit_count; i > 0; i--)
		if (step_kit_short(session, i - 1))
			state->row = i - 1;
	for (size_t i = 0; i < plan->kit_count; i++)
		if (!step_kit_count(session, i, &count)) {
			state->row = i;
			return;
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

/* --- the words are read before they are answered --- */

static bool same_step(const struct walk_state *state)
{
	return state->read_phase == state->phase && state->read_step == state->step;
}

bool step_read(const struct walk_state *state)
{
	return state->read && same_step(state);
}

/* A long message takes rows from the words while it stands: what counts is what was
 * on the screen. */
void step_look(struct walk_state *state, const struct session *session)
{
	if (step_read(state) || !frame_fits(state->rows, state->columns))
		return;
	if (!same_step(state)) {
		state->read_phase = state->phase;
		state->read_step = state->step;
		state->read = false;
		state->seen = 0;
	}
	struct step_layout l = step_layout(state, session, state->rows, state->columns);
	int from = state->scroll < l.most ? state->scroll : l.most;
	if (from <= state->seen && from + l.room > state->seen)
		state->seen = from + l.room;
	state->read = state->seen >= l.lines && !l.alone;
}

/* A page on; of words that are new to the reader no line is passed over. */
static void page(struct walk_state *state, const struct step_layout *l, bool down)
{
	int by = l->room > 1 ? l->room - 1 : 1, to = down ? state->scroll + by : state->scroll - by;
	if (!step_read(state) && to >= state->seen)
		to = state->seen > 0 ? state->seen - 1 : 0;
	state->scroll = to < 0 ? 0 : to < l->most ? to : l->most;
}

/* An answer to words that were not shown whole is none: it shows more of them. */
static bool read_first(struct walk_state *state, const struct session *session)
{
	if (step_read(state))
		return false;
	struct step_layout l = step_layout(state, session, state->rows, state->columns);
	if (state->seen < l.lines) {
		walk_say(state, STYLE_WAIT, "not answered: its words go on. Read them to the end, then answer");
		l = step_layout(state, session, state->rows, state->columns);   /* with the message */
		page(state, &l, true);
		return true;
	}
	/* all of them were shown, alone: now the answer comes up */
	state->read = true;
	state->scroll = step_layout(state, session, state->rows, state->columns).most;
	return true;
}

/* --- keys --- */

static bool choice_event(struct walk_state *state, const struct session *session, const struct pm_step *step,
                         const struct screen_event *event)
{
	size_t count = step_choices(step);
	if (event->kind == EVENT_CHARACTER && !event->burst) {
		uint32_t at = event->point - 'a';
		if (event->point >= 'A' && event->point <= 'Z')
			at = event->point - 'A';
		if (at < count) {
			if (!read_first(state, session))
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
	struct step_layout l = step_layout(state, session, state->rows, state->columns);
	if (state->scroll > l.most)   /* the screen has grown since */
		state->scroll = l.most;
	const struct walk_screen_row *row = &walk_screens[WALK_STEP];
	if (field && (event->kind == EVENT_PASTE || event->kind == EVENT_CHARACTER ||
	              event->key == KEYS_ERASE || event->key == KEYS_DELETE || event->key == KEYS_LEFT ||
	              event->key == KEYS_RIGHT || event->key == KEYS_HOME || event->key == KEYS_END ||
	              (event->key == KEYS_CTRL && event->point == 'u'))) {
		field_key(&state->field, event);
		return;
	}
	if (!field && choice_event(state, session, step, event))
		return;
	int request = keytable_request(row->keys, row->key_count, event);
	bool leaves = request == ASK_NEXT || request == ASK_PREVIOUS ||
	              (step->ask == PM_ASK_KIT && (request == ASK_UP || request == ASK_DOWN));
	if (leaves && field && state->field.length) {
		walk_say(state, STYLE_WAIT, "not left: what is typed was not accepted yet. Enter accepts it, Ctrl-U empties the field");
		return;
	}
	switch (request) {
	case ASK_ENTER:
		if (!event->burst && !read_first(state, session))
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
			state->scroll += state->scroll < l.most;
		break;
	case ASK_PAGE_UP: page(state, &l, false); break;
	case ASK_PAGE_DOWN: page(state, &l, true); break;
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
