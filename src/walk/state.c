#include "walk/state.h"

#include <string.h>

#include "portmuster/text.h"

void walk_say(struct walk_state *state, enum canvas_style style, const char *format, ...)
{
	struct pm_text text;
	va_list args;
	pm_text_fixed(&text, state->message, sizeof state->message);
	va_start(args, format);
	pm_text_addv(&text, format, args);
	va_end(args);
	state->message_style = style;
}

const struct pm_phase *walk_phase(const struct walk_state *state, const struct session *session)
{
	return &session->plan.plan.phases[state->phase];
}

const struct pm_step *walk_step(const struct walk_state *state, const struct session *session)
{
	return &walk_phase(state, session)->steps[state->step];
}

enum pm_progress walk_progress(const struct session *session, const struct pm_step *step,
                               int64_t *remaining, struct pm_text *why)
{
	struct pm_case c = session_case(session);
	return pm_step_progress(&c, &session->result.roster, step, remaining, why);
}

static bool settled(const struct session *session, const struct pm_step *step)
{
	enum pm_progress progress = walk_progress(session, step, NULL, NULL);
	return progress == PM_DONE || progress == PM_DOES_NOT_APPLY;
}

void walk_find_open(const struct session *session, size_t *phase, size_t *step)
{
	const struct pm_plan *plan = &session->plan.plan;
	for (size_t p = session->result.phase; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			if (!settled(session, &plan->phases[p].steps[s])) {
				*phase = p;
				*step = s;
				return;
			}
	/* all answered: stay with the phase whose gate is still shut, or the last */
	*phase = session->result.phase < plan->phase_count ? session->result.phase : plan->phase_count - 1;
	*step = plan->phases[*phase].step_count - 1;
}

void walk_go(struct walk_state *state, const struct session *session, enum walk_screen screen)
{
	state->screen = screen;
	state->row = 0;
	state->scroll = 0;
	state->typing = state->noting = state->asking_path = false;
	state->choice = -1;
	state->warned[0] = '\0';
	field_clear(&state->field);
	if (walk_screens[screen].open)
		walk_screens[screen].open(state, session);
}

void walk_show_step(struct walk_state *state, const struct session *session, size_t phase, size_t step)
{
	state->phase = phase;
	state->step = step;
	walk_go(state, session, WALK_STEP);
}

void walk_begin(struct walk_state *state, const struct session *session, const char *name)
{
	const struct pm_job *job = &session->job.job;
	memset(state, 0, sizeof *state);
	walk_find_open(session, &state->phase, &state->step);
	walk_go(state, session, WALK_HELLO);
	if (!name && job->reading_count)
		name = job->readings[job->reading_count - 1].by.text;
	field_set(&state->field, name);
}

bool walk_held(struct walk_state *state, const struct session *session)
{
	if (session->read_only) {
		walk_say(state, STYLE_BAD, "read-only: %s", session->held_by);
		return true;
	}
	if (session->result.gates.open[state->phase])
		return false;
	const struct pm_gates *gates = &session->result.gates;
	for (size_t i = 0; i < gates->count; i++) {
		const struct pm_gate_line *line = &gates->line[i];
		if (line->phase != state->phase || line->closing || line->met)
			continue;
		walk_say(state, STYLE_BAD, "this phase is shut: %s (%s)", line->why, line->who);
		break;
	}
	return true;
}

bool walk_move_row(struct walk_state *state, int request, size_t count)
{
	switch (request) {
	case ASK_UP:
		state->row -= state->row > 0;
		return true;
	case ASK_DOWN:
		state->row += state->row + 1 < count;
		return true;
	case ASK_PAGE_UP:
		state->row -= state->row < 8 ? state->row : 8;
		return true;
	case ASK_PAGE_DOWN:
		state->row = count == 0 ? 0 : state->row + 8 < count ? state->row + 8 : count - 1;
		return true;
	}
	return false;
}

static void copy(char *out, size_t room, const char *text)
{
	struct pm_text into;
	pm_text_fixed(&into, out, room);
	pm_text_str(&into, text);
}

void walk_fill_entry(struct walk_state *state, const char *of, const char *value, enum pm_source source, const char *note)
{
	struct session_entry *entry = &state->entry;
	copy(entry->of, sizeof entry->of, of);
	copy(entry->value, sizeof entry->value, value);
	copy(entry->note, sizeof entry->note, note);
	entry->capture[0] = '\0';
	entry->source = source;
}

/* What holds on every screen, whatever else it does with keys. */
static bool common_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	switch (event->kind) {
	case EVENT_STOP:
		state->want = WANT_LEAVE;
		return true;
	case EVENT_INTERRUPT:
		if (state->screen == WALK_LEAVE)
			return true;
		if (state->screen != WALK_MENU && state->screen != WALK_HELP)
			state->under = state->screen;
		state->screen = WALK_LEAVE;
		return true;
	case EVENT_RESIZE:
		state->rows = event->rows;
		state->columns = event->columns;
		return true;
	case EVENT_TICK:
		return true;
	case EVENT_KEY:
		if (event->key == KEYS_CTRL && event->point == 'z') {
			state->want = WANT_SUSPEND;
			return true;
		}
		break;
	case EVENT_CHARACTER:
	case EVENT_PASTE:
		break;
	}
	(void)session;
	return false;
}

void walk_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	state->want = WANT_NOTHING;
	if (common_event(state, session, event))
		return;
	if (event->kind != EVENT_PASTE)
		state->message[0] = '\0';
	walk_screens[state->screen].event(state, session, event);
}

/* A step was answered: go on to the next open one, and say when that is
 * another phase. */
static void advance(struct walk_state *state, const struct session *session)
{
	size_t phase, step, before = state->phase;
	enum pm_progress progress = walk_progress(session, walk_step(state, session), NULL, NULL);
	if (progress != PM_DONE && progress != PM_DOES_NOT_APPLY) {
		size_t row = state->row;
		walk_go(state, session, WALK_STEP);
		state->row = row;
		return;
	}
	/* the next open one after this, else the first open one anywhere */
	const struct pm_phase *here = walk_phase(state, session);
	for (step = state->step + 1; step < here->step_count; step++)
		if (!settled(session, &here->steps[step])) {
			walk_show_step(state, session, state->phase, step);
			return;
		}
	walk_find_open(session, &phase, &step);
	walk_show_step(state, session, phase, step);
	if (phase != before)
		walk_say(state, STYLE_GOOD, "phase closed; next: %s", walk_phase(state, session)->title.text);
}

void walk_done(struct walk_state *state, const struct session *session, const char *message)
{
	enum walk_want did = state->want;
	state->want = WANT_NOTHING;
	if (message)
		walk_say(state, STYLE_GOOD, "%s", message);
	switch (did) {
	case WANT_NAME:
		walk_show_step(state, session, state->phase, state->step);
		break;
	case WANT_RECORD:
		if (state->screen == WALK_STEP)
			advance(state, session);
		else if (state->screen == WALK_TAKE_BACK)
			walk_screens[WALK_TAKE_BACK].open(state, session);
		state->typing = false;
		state->warned[0] = '\0';
		field_clear(&state->field);
		break;
	case WANT_WAIVE:
		walk_go(state, session, WALK_WAIVE);
		break;
	case WANT_READ_LOG:
	case WANT_READ_PASTE:
		walk_go(state, session, WALK_LOG);
		break;
	case WANT_TAKE_LOG:
	case WANT_DROP_LOG:
		walk_go(state, session, WALK_PORTS);
		break;
	case WANT_RELOAD:
		walk_find_open(session, &state->phase, &state->step);
		walk_go(state, session, WALK_STEP);
		break;
	case WANT_LIST_LOGS:
	case WANT_NOTHING:
	case WANT_SUSPEND:
	case WANT_LEAVE:
		break;
	}
}

void walk_failed(struct walk_state *state, const struct pm_fault *fault)
{
	char line[PM_FAULT_TEXT * 3];
	state->want = WANT_NOTHING;
	pm_fault_line(fault, line, sizeof line);
	walk_say(state, STYLE_BAD, "NOT SAVED: %s", line);
	if (fault->kind == PM_FAULT_CHANGED)
		walk_say(state, STYLE_BAD, "NOT SAVED: the file was changed by somebody else; Esc, then reload, and enter this again");
}
