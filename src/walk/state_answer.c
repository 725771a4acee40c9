/* The step screen: the answers that a step offers, and what accepting does. */
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

void step_fact(const struct pm_step *step, const struct session *session, size_t row, char out[static 200])
{
	struct pm_text text;
	pm_text_fixed(&text, out, 200);
	switch (step->ask) {
	case PM_ASK_KIT: pm_text_add(&text, "kit/%s", session->plan.plan.kit[row].id.text); break;
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: pm_text_str(&text, step->fact.text); break;
	case PM_ASK_SENT: pm_text_str(&text, "desk/sent"); break;
	case PM_ASK_DECISION: pm_text_str(&text, "desk/decision"); break;
	case PM_ASK_APPOINTMENT: pm_text_str(&text, "desk/appointment"); break;
	case PM_ASK_ANSWER:
	case PM_ASK_TEXT:
	case PM_ASK_NUMBER:
	case PM_ASK_ADDRESSES:
	case PM_ASK_WAIT:
	case PM_ASKS: pm_text_add(&text, "step/%s", step->id.text); break;
	}
}

const struct pm_finding *step_conflict(const struct session *session, const struct pm_step *step)
{
	const struct pm_findings *list = &session->result.findings;
	for (size_t i = 0; i < list->count; i++) {
		const struct pm_finding *finding = &list->item[i];
		if ((finding->code == PM_SERIAL_CONFLICT || finding->code == PM_UNIT_CODE_CONFLICT) &&
		    pm_same(finding->field, step->fact.text))
			return finding;
	}
	return NULL;
}

/* --- choices --- */

/* That a step does not apply is said of the step, whatever it reads. */
static void skip_fact(const struct pm_step *step, char out[static 200])
{
	struct pm_text text;
	pm_text_fixed(&text, out, 200);
	pm_text_add(&text, "step/%s", step->id.text);
}

static void record_choice(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	char of[200];
	bool halts;
	size_t choice = (size_t)state->choice;
	const char *value = step_choice_text(step, choice, &halts);
	step_fact(step, session, state->row, of);
	if (step_is_skip(step, choice)) {
		skip_fact(step, of);
		walk_fill_entry(state, of, "", PM_SOURCE_SKIPPED, state->field.text);
	} else if (step->ask == PM_ASK_DECISION) {
		walk_fill_entry(state, of, value, PM_SOURCE_DESK, state->field.text);
	} else if (step->ask == PM_ASK_WAIT) {
		walk_fill_entry(state, of, "begun", PM_SOURCE_STATED, NULL);
	} else {
		walk_fill_entry(state, of, value, PM_SOURCE_STATED, state->noting ? state->field.text : NULL);
	}
	state->want = WANT_RECORD;
}

static bool note_needed(const struct pm_step *step, int choice)
{
	return step->ask == PM_ASK_DECISION || step_is_skip(step, (size_t)choice);
}

/* Was the latest sheet sent under another seal than the facts have now? */
static bool sent_other_facts(const struct session *session)
{
	const struct pm_reading *sent = pm_fact_last(&session->job.job, "desk/sent");
	return sent && !pm_same(sent->value.text, session->seal.text);
}

static void enter_choice(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	if (state->choice < 0) {
		walk_say(state, STYLE_WAIT, "press the letter of the answer that is true, then Enter");
		return;
	}
	if (walk_held(state, session))
		return;
	if (step->ask == PM_ASK_DECISION && state->choice == 0 && sent_other_facts(session)) {
		walk_say(state, STYLE_BAD, "the facts have changed since the sheet was sent: send the new one first, the desk "
		         "has not seen it");
		return;
	}
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
	record_choice(state, session, step);
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
		char c = column <= state->field.length ? state->field.text[column - 1] : '\0';
		walk_say(state, STYLE_BAD, "character %u%s does not fit the form %s; Enter again records it as it is read",
		         column, c >= 'a' && c <= 'z' ? " is a small letter and" : "", form);
		return;
	}
	walk_fill_entry(state, step->fact.text, state->field.text,
	                step->ask == PM_ASK_SERIAL ? PM_SOURCE_LABEL : PM_SOURCE_TYPED, NULL);
	session_typed_capture(session, step->fact.text, state->entry.capture);
	state->want = WANT_RECORD;
}

static void enter_kit(struct walk_state *state, const char *of)
{
	uint64_t count;
	if (!pm_read_number(state->field.text, 9999, &count)) {
		walk_say(state, STYLE_BAD, "type how many are in front of you, 0 when there is none");
		return;
	}
	walk_fill_entry(state, of, state->field.text, PM_SOURCE_STATED, NULL);
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
	step_fact(step, session, state->row, of);
	switch (step->ask) {
	case PM_ASK_NUMBER: enter_number(state, step, of); break;
	case PM_ASK_KIT: enter_kit(state, of); break;
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: enter_fact(state, session, step); break;
	case PM_ASK_SENT: enter_sent(state, session); break;
	case PM_ASK_APPOINTMENT: enter_window(state, session); break;
	case PM_ASK_TEXT:
		if (state->field.length < 2) {
			walk_say(state, STYLE_BAD, "one character says too little: this step wants words");
			return;
		}
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

/* --- both --- */

bool step_not_asked(const struct session *session, const struct pm_step *step)
{
	char of[200];
	if (walk_progress(session, step, NULL, NULL) != PM_DOES_NOT_APPLY)
		return false;
	/* a skip can be answered after all; a branch that was not taken can not */
	skip_fact(step, of);
	const struct pm_reading *last = pm_fact_last(&session->job.job, of);
	return pm_given(step->only_step) && !(last && last->source == PM_SOURCE_SKIPPED);
}

void step_enter(struct walk_state *state, const struct session *session)
{
	const struct pm_step *step = walk_step(state, session);
	if (step->ask == PM_ASK_ADDRESSES) {
		walk_go(state, session, WALK_PORTS);
		return;
	}
	if (state->field.length == 0 && step_conflict(session, step)) {
		step_take_back(state, session);
		return;
	}
	/* a wait that is over wants no answer; its letter would begin it again */
	if (step->ask == PM_ASK_WAIT && state->choice < 0 && walk_progress(session, step, NULL, NULL) == PM_DONE) {
		walk_go_on(state, session);
		return;
	}
	if (step_not_asked(session, step)) {
		walk_say(state, STYLE_WAIT, "this step does not apply here: Tab goes on");
		return;
	}
	if (step_has_field(step) && state->choice < 0)
		enter_field(state, session, step);
	else
		enter_choice(state, session, step);
}
