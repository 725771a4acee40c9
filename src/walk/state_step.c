/* The step screen: what each kind of question does with what is typed. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/step.h"

static const char *const decisions[] = { "accepted", "rejected" };

size_t step_choices(const struct pm_step *step)
{
	switch (step->ask) {
	case PM_ASK_ANSWER: return step->proceed.count + step->halt.count + step->skippable;
	case PM_ASK_DECISION: return 2;
	case PM_ASK_WAIT: return 1;
	default: return step->skippable;
	}
}

bool step_is_skip(const struct pm_step *step, size_t choice)
{
	return step->skippable && choice + 1 == step_choices(step);
}

const char *step_choice_text(const struct pm_step *step, size_t choice, bool *halts)
{
	*halts = false;
	if (step_is_skip(step, choice))
		return "does not apply here (say why)";
	if (step->ask == PM_ASK_DECISION) {
		*halts = choice == 1;
		return decisions[choice];
	}
	if (step->ask == PM_ASK_WAIT)
		return "the wait begins now";
	*halts = choice >= step->proceed.count;
	return *halts ? step->halt.item[choice - step->proceed.count].text : step->proceed.item[choice].text;
}

bool step_has_field(const struct pm_step *step)
{
	switch (step->ask) {
	case PM_ASK_TEXT:
	case PM_ASK_NUMBER:
	case PM_ASK_KIT:
	case PM_ASK_SERIAL:
	case PM_ASK_CODE:
	case PM_ASK_SENT:
	case PM_ASK_APPOINTMENT:
		return true;
	case PM_ASK_ANSWER:
	case PM_ASK_ADDRESSES:
	case PM_ASK_WAIT:
	case PM_ASK_DECISION:
	case PM_ASKS:
		break;
	}
	return false;
}

static void fact_of(const struct pm_step *step, char out[static 200])
{
	struct pm_text text;
	pm_text_fixed(&text, out, 200);
	pm_text_add(&text, "step/%s", step->id.text);
}

/* --- choices --- */

static void record_choice(struct walk_state *state, const struct pm_step *step)
{
	char of[200];
	bool halts;
	size_t choice = (size_t)state->choice;
	const char *value = step_choice_text(step, choice, &halts);
	fact_of(step, of);
	if (step_is_skip(step, choice))
		walk_fill_entry(state, of, "", PM_SOURCE_SKIPPED, state->field.text);
	else if (step->ask == PM_ASK_DECISION)
		walk_fill_entry(state, "desk/decision", value, PM_SOURCE_DESK, state->field.text);
	else if (step->ask == PM_ASK_WAIT)
		walk_fill_entry(state, of, "begun", PM_SOURCE_STATED, NULL);
	else
		walk_fill_entry(state, of, value, PM_SOURCE_STATED, state->noting ? state->field.text : NULL);
	state->want = WANT_RECORD;
}

static bool note_needed(const struct pm_step *step, int choice)
{
	return step->ask == PM_ASK_DECISION || step_is_skip(step, (size_t)choice);
}

static void enter_choice(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	if (state->choice < 0) {
		walk_say(state, STYLE_WAIT, "press the letter of the answer that is true, then Enter");
		return;
	}
	if (walk_held(state, session))
		return;
	if (note_needed(step, state->choice) && !state->noting) {
		state->noting = true;
		walk_say(state, STYLE_WAIT, step->ask != PM_ASK_DECISION ? "type the reason, then Enter"
		         : state->choice == 0 ? "type the desk's reference, then Enter"
		                              : "type the desk's reason, then Enter");
		return;
	}
	if (note_needed(step, state->choice) && state->field.length == 0) {
		walk_say(state, STYLE_BAD, "this answer needs the words behind it");
		return;
	}
	record_choice(state, step);
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

/* --- typed values --- */

static bool doubtful(struct walk_state *state, const char *value)
{
	if (strcmp(state->warned, value) == 0)
		return false;
	memcpy(state->warned, state->field.text, sizeof state->warned);
	return true;
}

static void enter_number(struct walk_state *state, const struct pm_step *step, const char *of)
{
	int64_t millionths;
	if (!pm_read_decimal(state->field.text, &millionths)) {
		walk_say(state, STYLE_BAD, "type a number such as 230 or 0.5, without its unit (%s)", step->unit.text);
		return;
	}
	bool low = step->least.word.text && millionths < step->least.millionths;
	bool high = step->most.word.text && millionths > step->most.millionths;
	if ((low || high) && doubtful(state, state->field.text)) {
		walk_say(state, STYLE_BAD, "%s the limit of %s %s; Enter again records it as measured",
		         low ? "below" : "above", low ? step->least.word.text : step->most.word.text, step->unit.text);
		return;
	}
	walk_fill_entry(state, of, state->field.text, PM_SOURCE_MEASURED, NULL);
	state->want = WANT_RECORD;
}

static void enter_fact(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	const char *form = step->ask == PM_ASK_SERIAL && strcmp(step->fact.text, "router/serial") == 0
	                 ? session->gear.gear.serial_form.text : step->form.text;
	unsigned column;
	if (!pm_form_match(form, state->field.text, &column) && doubtful(state, state->field.text)) {
		walk_say(state, STYLE_BAD, "character %u does not fit the form %s; Enter again records it as it is read",
		         column, form);
		return;
	}
	walk_fill_entry(state, step->fact.text, state->field.text,
	                step->ask == PM_ASK_SERIAL ? PM_SOURCE_LABEL : PM_SOURCE_TYPED, NULL);
	session_typed_capture(session, step->fact.text, state->entry.capture);
	state->want = WANT_RECORD;
}

static void enter_kit(struct walk_state *state, const struct session *session)
{
	const struct pm_plan *plan = &session->plan.plan;
	char of[200];
	uint64_t count;
	struct pm_text text;
	if (!pm_read_number(state->field.text, 9999, &count)) {
		walk_say(state, STYLE_BAD, "type how many are in front of you, 0 when there is none");
		return;
	}
	pm_text_fixed(&text, of, sizeof of);
	pm_text_add(&text, "kit/%s", plan->kit[state->row].id.text);
	walk_fill_entry(state, of, state->field.text, PM_SOURCE_STATED, NULL);
	if (state->row + 1 < plan->kit_count)
		state->row++;
	state->want = WANT_RECORD;
}

static void enter_sent(struct walk_state *state, const struct session *session)
{
	if (!session->seal.complete) {
		walk_say(state, STYLE_BAD, "the sheet is not complete: every address, the serial number and both codes are needed first");
		return;
	}
	walk_fill_entry(state, "desk/sent", session->seal.text, PM_SOURCE_STATED, state->field.text);
	state->want = WANT_RECORD;
}

static void enter_window(struct walk_state *state, const struct session *session)
{
	char window[80];
	struct pm_when from, until;
	const char *why = "";
	if (!walk_window(state->field.text, window, &why)) {
		walk_say(state, STYLE_BAD, "%s; write it like 2026-03-09 09:00 +01:00 to 11:00", why);
		return;
	}
	if (pm_window_read(window, &from, &until, &why) && until.second < session->now.second &&
	    doubtful(state, state->field.text)) {
		walk_say(state, STYLE_BAD, "that window is over already; Enter again records it");
		return;
	}
	walk_fill_entry(state, "desk/appointment", window, PM_SOURCE_DESK, NULL);
	state->want = WANT_RECORD;
}

static void enter_field(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	char of[200];
	if (state->field.length == 0) {
		walk_say(state, STYLE_WAIT, "nothing typed yet");
		return;
	}
	if (walk_held(state, session))
		return;
	fact_of(step, of);
	switch (step->ask) {
	case PM_ASK_NUMBER: enter_number(state, step, of); break;
	case PM_ASK_KIT: enter_kit(state, session); break;
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: enter_fact(state, session, step); break;
	case PM_ASK_SENT: enter_sent(state, session); break;
	case PM_ASK_APPOINTMENT: enter_window(state, session); break;
	case PM_ASK_TEXT:
		walk_fill_entry(state, of, state->field.text, PM_SOURCE_STATED, NULL);
		state->want = WANT_RECORD;
		break;
	case PM_ASK_ANSWER:
	case PM_ASK_ADDRESSES:
	case PM_ASK_WAIT:
	case PM_ASK_DECISION:
	case PM_ASKS:
		break;
	}
}

/* --- moving --- */

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
		struct pm_text text;
		pm_text_fixed(&text, of, sizeof of);
		pm_text_add(&text, "kit/%s", plan->kit[i].id.text);
		if (!pm_fact_last(&session->job.job, of)) {
			state->row = i;
			return;
		}
	}
}

void step_take_back(struct walk_state *state, const struct session *session)
{
	const struct pm_step *step = walk_step(state, session);
	char of[200];
	if (step->ask == PM_ASK_SERIAL || step->ask == PM_ASK_CODE) {
		struct pm_text text;
		pm_text_fixed(&text, of, sizeof of);
		pm_text_str(&text, step->fact.text);
	} else {
		fact_of(step, of);
	}
	memcpy(state->of, of, sizeof state->of);
	walk_go(state, session, WALK_TAKE_BACK);
}

static void enter(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	struct pm_fact fact;
	if (step->ask == PM_ASK_ADDRESSES) {
		walk_go(state, session, WALK_PORTS);
		return;
	}
	if (step->ask == PM_ASK_SERIAL || step->ask == PM_ASK_CODE) {
		fact = pm_fact_find(&session->job.job, step->fact.text, PM_AS_TEXT);
		if (fact.standing == PM_CONFLICT && state->field.length == 0) {
			step_take_back(state, session);
			return;
		}
	}
	if (step_has_field(step) && state->choice < 0)
		enter_field(state, session, step);
	else
		enter_choice(state, session, step);
}

void step_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	const struct pm_step *step = walk_step(state, session);
	bool field = step_has_field(step) || state->noting;
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
	switch (keytable_request(row->keys, row->key_count, event)) {
	case ASK_ENTER:
		if (!event->burst)
			enter(state, session, step);
		break;
	case ASK_BACK:
		if (state->noting || state->choice >= 0) {
			state->noting = false;
			state->choice = -1;
			break;
		}
		/* fall through */
	case ASK_MENU:
		state->under = WALK_STEP;
		state->screen = WALK_MENU;
		break;
	case ASK_UP:
		if (step->ask == PM_ASK_KIT)
			walk_move_row(state, ASK_UP, session->plan.plan.kit_count);
		else
			state->scroll -= state->scroll > 0;
		break;
	case ASK_DOWN:
		if (step->ask == PM_ASK_KIT)
			walk_move_row(state, ASK_DOWN, session->plan.plan.kit_count);
		else
			state->scroll += state->scroll < step_scroll_most(state, session);
		break;
	case ASK_PAGE_UP: state->scroll = state->scroll > 6 ? state->scroll - 6 : 0; break;
	case ASK_PAGE_DOWN: {
		int most = step_scroll_most(state, session);
		state->scroll = state->scroll + 6 < most ? state->scroll + 6 : most;
		break;
	}
	case ASK_NEXT: step_by(state, session, true); break;
	case ASK_PREVIOUS: step_by(state, session, false); break;
	case ASK_NOTE:
		if (step->ask == PM_ASK_ANSWER && state->choice >= 0) {
			state->noting = true;
			walk_say(state, STYLE_WAIT, "type the note, then Enter");
		}
		break;
	case ASK_HELP:
		state->under = WALK_STEP;
		walk_go(state, session, WALK_HELP);
		break;
	}
}
