#include "walk/state.h"

#include <string.h>

#include "portmuster/text.h"
#include "walk/frame.h"
#include "walk/held.h"
#include "walk/live_screen.h"
#include "walk/step.h"

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

enum pm_outlived walk_outlived(const struct session *session, const struct pm_step *step)
{
	struct pm_case c = session_case(session);
	return walk_progress(session, step, NULL, NULL) == PM_TODO ? pm_step_outlived(&c, step) : PM_NOT_OUTLIVED;
}

/* Is nothing left to do at this step? */
static bool settled(const struct session *session, const struct pm_step *step)
{
	enum pm_progress progress = walk_progress(session, step, NULL, NULL);
	return progress == PM_DONE || progress == PM_DOES_NOT_APPLY;
}

void walk_find_open(const struct session *session, size_t *phase, size_t *step)
{
	const struct pm_plan *plan = &session->plan.plan;
	/* all closed: the last step; all answered but the gate still shut: the step that
	 * supplies what it lacks, for the next phase could not be worked on */
	*phase = session->result.phase < plan->phase_count ? session->result.phase : plan->phase_count - 1;
	*step = plan->phases[*phase].step_count - 1;
	size_t at;
	const struct pm_gate_line *line = walk_finished(session) ? NULL : held_unmet(session, *phase, true);
	const struct pm_step *supplier = line ? held_supplier(session, line, &at) : NULL;
	if (supplier && at == *phase)
		*step = (size_t)(supplier - plan->phases[at].steps);
	for (size_t s = 0; s < plan->phases[*phase].step_count; s++)
		if (!settled(session, &plan->phases[*phase].steps[s])) {
			*step = s;
			return;
		}
}

const struct pm_gate_line *walk_window_line(const struct session *session, size_t phase)
{
	const struct pm_gates *gates = &session->result.gates;
	for (size_t i = 0; i < gates->count; i++)
		if (gates->line[i].phase == phase && !gates->line[i].closing &&
		    pm_same(gates->line[i].need->condition.text, "appointment-open"))
			return &gates->line[i];
	return NULL;
}

const struct pm_gate_line *walk_unmet(const struct session *session, size_t phase, bool closing)
{
	return held_unmet(session, phase, closing);
}

bool walk_is_over(enum walk_screen screen)
{
	return screen == WALK_MENU || screen == WALK_HELP || screen == WALK_LEAVE;
}

void walk_over(struct walk_state *state, enum walk_screen screen)
{
	if (!walk_is_over(state->screen))
		state->under = state->screen;
	state->screen = screen;
	state->over = 0;
	state->message[0] = '\0';
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
	state->proposed = state->field.length > 0;
}

bool walk_held(struct walk_state *state, const struct session *session)
{
	char why[sizeof state->message];
	struct pm_text text;
	pm_text_fixed(&text, why, sizeof why);
	if (!held_phase(session, state->phase, &text))
		return false;
	walk_say(state, STYLE_BAD, "%s", why);
	return true;
}

bool walk_move_row(size_t *row, int request, size_t count)
{
	switch (request) {
	case ASK_UP:
		*row -= *row > 0;
		return true;
	case ASK_DOWN:
		*row += *row + 1 < count;
		return true;
	case ASK_TOP:
		*row = 0;
		return true;
	case ASK_BOTTOM:
		*row = count ? count - 1 : 0;
		return true;
	case ASK_PAGE_UP:
		*row -= *row < 8 ? *row : 8;
		return true;
	case ASK_PAGE_DOWN:
		*row = count == 0 ? 0 : *row + 8 < count ? *row + 8 : count - 1;
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

/* In a window too small to show anything no key does anything unseen, but leave. */
static bool unseen(const struct walk_state *state, const struct screen_event *event)
{
	return !frame_fits(state->rows, state->columns) && (event_common(event) == COMMON_NOTHING || event_common(event) == COMMON_HELP) &&
	       state->screen != WALK_LEAVE;
}

static void resize(struct walk_state *state, const struct screen_event *event)
{
	state->rows = event->rows;
	state->columns = event->columns;
	/* its lines are other ones now: what was not read to the end begins anew */
	enum walk_screen below = walk_is_over(state->screen) ? state->under : state->screen;
	if (below == WALK_STEP && !step_read(state))
		state->scroll = state->seen = 0;
}

/* What holds on every screen, whatever else it does with keys. */
static bool common_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	if (frame_fits(state->rows, state->columns) && live_takes(state, session, event))
		return false;
	switch (event_common(event)) {
	case COMMON_NOTHING: return false;
	case COMMON_TICK: break;
	case COMMON_STOP: state->want = WANT_LEAVE; break;
	case COMMON_SUSPEND: state->want = WANT_SUSPEND; break;
	case COMMON_LEAVE:
		if (state->screen != WALK_LEAVE)
			walk_over(state, WALK_LEAVE);
		break;
	case COMMON_SIZE: resize(state, event); break;
	case COMMON_HELP:
		if (!walk_is_over(state->screen))
			walk_over(state, WALK_HELP);
		break;
	}
	return true;
}

void walk_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	state->want = WANT_NOTHING;
	if (state->screen == WALK_STEP)
		step_look(state, session);
	if (unseen(state, event) || common_event(state, session, event))
		return;
	state->message[0] = '\0';
	if (event->kind == EVENT_KEY && event->key == KEYS_ENTER && event->burst) {
		walk_say(state, STYLE_WAIT, "these keys came all at once, as a paste does: press Enter by itself to accept");
		return;
	}
	walk_screens[state->screen].event(state, session, event);
}

bool walk_either_way(const struct walk_state *state, const struct session *session)
{
	return held_outcome(session, state->phase, walk_step(state, session)) != HELD_NO_OUTCOME;
}

const char *walk_contact(const struct session *session)
{
	const struct pm_plan *plan = &session->plan.plan;
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++) {
			char of[200];
			const struct pm_step *step = &plan->phases[p].steps[s];
			if (!step->contact)
				continue;
			step_fact(step, session, 0, of);
			const struct pm_reading *last = pm_fact_last(&session->job.job, of);
			return last && pm_given(last->value) ? last->value.text : NULL;
		}
	return NULL;
}

bool walk_finished(const struct session *session)
{
	return session->result.phase >= session->plan.plan.phase_count;
}

void walk_go_on(struct walk_state *state, const struct session *session)
{
	const struct pm_phase *here = walk_phase(state, session);
	size_t phase, step;
	for (step = state->step + 1; step < here->step_count; step++)
		if (!settled(session, &here->steps[step])) {
			walk_show_step(state, session, state->phase, step);
			return;
		}
	walk_find_open(session, &phase, &step);
	walk_show_step(state, session, phase, step);
}

/* Count on: the next item, or once all are counted the next that is short, until
 * none is or a lead has waived it. False: nothing keeps here. */
static bool count_on(struct walk_state *state, const struct session *session)
{
	const struct pm_step *step = walk_step(state, session);
	const struct pm_gate_line *line = NULL;
	const struct pm_gates *gates = &session->result.gates;
	size_t count = session->plan.plan.kit_count, row = state->row, at;
	char why[sizeof state->message];
	struct pm_text text;
	for (size_t i = 0; i < gates->count && !line; i++)
		if (gates->line[i].phase == state->phase && gates->line[i].closing && !gates->line[i].met &&
		    held_supplier(session, &gates->line[i], &at) == step)
			line = &gates->line[i];
	bool counted = settled(session, step);
	if (counted && !line)
		return false;
	walk_go(state, session, WALK_STEP);
	for (size_t i = 1; counted && i <= count; i++)
		if (step_kit_short(session, (row + i) % count)) {
			state->row = (row + i) % count;
			break;
		}
	if (counted) {
		pm_text_fixed(&text, why, sizeof why);
		held_say(session, line, step, &text);
		walk_say(state, STYLE_BAD, "saved; %s. Tab goes on", why);
	} else {
		state->row = row + (row + 1 < count);
	}
	return true;
}

/* A step was answered: go on, and say when that is in another phase. */
static void advance(struct walk_state *state, const struct session *session)
{
	size_t before = state->phase;
	char why[sizeof state->message];
	struct pm_text text;
	const struct pm_step *answered = walk_step(state, session);
	if (answered->ask == PM_ASK_KIT && count_on(state, session))
		return;
	if (!settled(session, answered) &&
	    !(walk_progress(session, answered, NULL, NULL) == PM_HALTED && walk_either_way(state, session))) {
		walk_go(state, session, WALK_STEP);   /* it waits for more */
		return;
	}
	walk_go_on(state, session);
	const struct pm_gate_line *line = walk_unmet(session, state->phase, true);
	if (walk_finished(session)) {
		walk_say(state, STYLE_GOOD, "saved; every phase is closed: this job is done");
	} else if (state->phase > before && session->result.gates.closed[before]) {
		walk_say(state, STYLE_GOOD, "saved; %s is closed; next: %s", session->plan.plan.phases[before].id.text,
		         walk_phase(state, session)->title.text);
	} else if (line && settled(session, walk_step(state, session))) {
		pm_text_fixed(&text, why, sizeof why);
		held_say(session, line, walk_step(state, session), &text);
		walk_say(state, STYLE_WAIT, "saved; every step here is answered, but the phase does not close: %s", why);
	}
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
		if (session->result.gates.closed[state->phase] && !walk_finished(session)) {
			walk_find_open(session, &state->phase, &state->step);
			walk_say(state, STYLE_GOOD, "%s. Esc goes on to the next open step", message ? message : "waived");
		}
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
	case WANT_CONNECT:
		walk_go(state, session, WALK_LIVE);
		break;
	case WANT_DISCONNECT:
		walk_go(state, session, WALK_PORTS);
		break;
	case WANT_RELOAD:
		walk_find_open(session, &state->phase, &state->step);
		walk_go(state, session, WALK_STEP);
		break;
	case WANT_LIST_LOGS:
	case WANT_LIST_LINES:
	case WANT_TYPE:
	case WANT_HANDS:
	case WANT_SHEET:
	case WANT_NOTHING:
	case WANT_SUSPEND:
	case WANT_LEAVE:
		break;
	}
}

void walk_failed(struct walk_state *state, const struct pm_fault *fault)
{
	char line[PM_FAULT_TEXT * 3];
	struct pm_text text;
	enum walk_want wanted = state->want;
	state->want = WANT_NOTHING;
	/* the cause before the path: two rows may be all there is to show it in */
	pm_text_fixed(&text, line, sizeof line);
	pm_text_add(&text, "%s%s%s", fault->message, fault->remedy[0] ? "; " : "", fault->remedy);
	if (fault->file[0])
		pm_text_add(&text, " (%s)", fault->file);
	if (wanted == WANT_READ_LOG || wanted == WANT_READ_PASTE)
		walk_say(state, STYLE_BAD, "NOT READ: %s", line);
	else if (wanted == WANT_RELOAD)
		walk_say(state, STYLE_BAD, "NOT LOADED: %s", line);
	else if (fault->kind == PM_FAULT_CHANGED && wanted != WANT_TAKE_LOG)
		walk_say(state, STYLE_BAD, "NOT SAVED: the file was changed by somebody else. Esc, then l, loads it; "
		         "then enter this again");
	else
		walk_say(state, STYLE_BAD, "NOT SAVED: %s", line);
}
