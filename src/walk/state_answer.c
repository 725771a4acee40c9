/* The step screen: the answers that a step offers, and what accepting does. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/held.h"
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

bool step_kit_count(const struct session *session, size_t row, uint64_t *count)
{
	char of[200];
	struct pm_text text;
	pm_text_fixed(&text, of, sizeof of);
	pm_text_add(&text, "kit/%s", session->plan.plan.kit[row].id.text);
	const struct pm_reading *reading = pm_fact_last(&session->job.job, of);
	return reading && pm_read_number(reading->value.text, 9999, count);
}

bool step_kit_short(const struct session *session, size_t row)
{
	uint64_t count;
	return step_kit_count(session, row, &count) && count < (uint64_t)session->plan.plan.kit[row].need;
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

bool step_note_needed(const struct pm_step *step, int choice)
{
	return step->ask == PM_ASK_DECISION || (choice >= 0 && step_is_skip(step, (size_t)choice)) ||
	       (pm_given(step->note) && choice >= 0 && (size_t)choice < step->proceed.count);
}

static void ask_note(struct walk_state *state, const struct pm_step *step)
{
	char wanted[200];
	struct pm_text text;
	pm_text_fixed(&text, wanted, sizeof wanted);
	if (step_is_skip(step, (size_t)state->choice))
		pm_text_str(&text, "the reason");
	else if (step->ask == PM_ASK_DECISION)
		pm_text_str(&text, state->choice == 0 ? "the reference of the centre's decision" : "the reason, in the centre's own words");
	else
		pm_text_visible(&text, step->note.text, strlen(step->note.text));
	state->noting = true;
	walk_say(state, STYLE_WAIT, "type %s, then Enter", wanted);
}

/* That it goes on is not to be said while a step before it is open or has stopped. */
static bool unfounded(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	char why[240];
	struct pm_text text;
	struct pm_case c = session_case(session);
	pm_text_fixed(&text, why, sizeof why);
	if (step->ask != PM_ASK_ANSWER || (size_t)state->choice >= step->proceed.count ||
	    held_outcome(session, state->phase, step) != HELD_FOUNDED ||
	    pm_step_founded(&c, &session->result.roster, step, &text))
		return false;
	walk_say(state, STYLE_BAD, "not yet, for %s. That comes first; that it fails can be said at any time", why);
	return true;
}

/* Is the sheet spoken of that nobody has written here? */
static bool no_sheet(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	char answer[8];
	struct pm_text text;
	if (!step->sheet || session->sheet_there || (size_t)state->choice >= step->proceed.count)
		return false;
	pm_text_fixed(&text, answer, sizeof answer);
	pm_text_add(&text, "\r%d", state->choice);   /* no text that is typed begins so */
	if (strcmp(state->warned, answer) == 0)
		return false;
	memcpy(state->warned, answer, sizeof answer);
	state->choice = -1;   /* so that Escape opens the menu */
	walk_say(state, STYLE_BAD, "no sheet lies beside the job file: Esc, x writes it. If it was written elsewhere, answer again");
	return true;
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
	if (unfounded(state, session, step) || no_sheet(state, session, step))
		return;
	if (step_note_needed(step, state->choice) && !state->noting) {
		ask_note(state, step);
		return;
	}
	if (step_note_needed(step, state->choice) && state->field.length == 0) {
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
		walk_say(state, STYLE_BAD, "type a number such as 230 or 0.5, with a point and without its unit (%s)", step->unit.text);
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

/* How many characters a form wants. */
static size_t form_length(const char *form)
{
	size_t length = 0;
	for (; *form; form++, length++)
		form += *form == '\\' && form[1];
	return length;
}

/* One too few or too many says more than the place where that first shows. */
static void say_misfit(struct walk_state *state, const char *form, unsigned column)
{
	static const char *const numbers[] = { "no", "one", "two", "three" };
	size_t wanted = form_length(form), length = state->field.length;
	size_t apart = wanted > length ? wanted - length : length - wanted;
	char c = column <= length ? state->field.text[column - 1] : '\0', words[160], count[24], shown[8] = "";
	struct pm_text text;
	pm_text_fixed(&text, count, sizeof count);
	if (apart < sizeof numbers / sizeof *numbers)
		pm_text_str(&text, numbers[apart]);
	else
		pm_text_add(&text, "%zu", apart);
	pm_text_fixed(&text, shown, sizeof shown);
	if (c > ' ' && c <= '~')
		pm_text_add(&text, " (%c)", c);
	pm_text_fixed(&text, words, sizeof words);
	if (apart)
		pm_text_add(&text, "%s character%s too %s: %zu instead of %zu; ", count, apart == 1 ? "" : "s",
		            wanted > length ? "few" : "many", length, wanted);
	if (!c)
		pm_text_str(&text, "so far as it goes it fits");
	else
		pm_text_add(&text, "character %u%s%s%s does not fit", column, shown, pm_is_lower(c) ? ", a small letter," : "",
		            apart ? " is the first that" : "");
	walk_say(state, STYLE_BAD, "%s the form %s. Look again; Enter again records it as it is read", words, form);
}

static void enter_fact(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	const char *form = step->ask == PM_ASK_SERIAL && strcmp(step->fact.text, "router/serial") == 0
	                 ? session->gear.gear.serial_form.text : step->form.text;
	unsigned column;
	if (!pm_form_match(form, state->field.text, &column) && doubtful(state, state->field.text)) {
		say_misfit(state, form, column);
		return;
	}
	walk_fill_entry(state, step->fact.text, state->field.text,
	                step->ask == PM_ASK_SERIAL ? PM_SOURCE_LABEL : PM_SOURCE_TYPED, NULL);
	session_typed_capture(session, step->fact.text, state->entry.capture);
	state->want = WANT_RECORD;
}

#define KIT_SPARE 9   /* more than so many to spare are a slip of the finger rather */

static void enter_kit(struct walk_state *state, const struct session *session, const char *of)
{
	const struct pm_kit_item *item = &session->plan.plan.kit[state->row];
	uint64_t count;
	if (!pm_read_number(state->field.text, 9999, &count)) {
		walk_say(state, STYLE_BAD, "type how many are in front of you, 0 when there is none");
		return;
	}
	if (count > (uint64_t)item->need + KIT_SPARE && doubtful(state, state->field.text)) {
		walk_say(state, STYLE_BAD, "%u where %d %s needed? Look again; Enter again records it", (unsigned)count,
		         (int)item->need, item->need == 1 ? "is" : "are");
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

static void enter_window(struct walk_state *state, const struct session *session, const struct pm_step *step)
{
	char window[80], reason[sizeof state->message], there[PM_WHEN_TEXT] = "", least[PM_WHEN_TEXT];
	struct pm_when from, until;
	struct pm_text why;
	const struct pm_zone *zone = session->zone.look.zone;
	pm_text_fixed(&why, reason, sizeof reason);
	if (!walk_window(session, state->field.text, window, &why)) {
		walk_say(state, STYLE_BAD, "%s", reason);
		return;
	}
	bool read = pm_window_read(window, &from, &until, NULL);
	pm_text_fixed(&why, reason, sizeof reason);
	if (read && until.second < session->now.second)
		pm_text_str(&why, "that window is over already; ");
	if (read && until.second - from.second < step->least_minutes * 60)
		pm_text_add(&why, "that window is %s long, and the plan asks for %s at least; ",
		            pm_when_span(until.second - from.second, there), pm_when_span(step->least_minutes * 60, least));
	if (read && zone && pm_zone_oddity(zone, from) == PM_OFFSET_SLIPPED)
		pm_text_add(&why, "the clocks of %s have %s then, not what is written; ", zone->name,
		            pm_when_write(pm_zone_when(zone, from.second), there) + 19);
	if (why.length && doubtful(state, state->field.text)) {
		walk_say(state, STYLE_BAD, "%sEnter again records it", reason);
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
	case PM_ASK_KIT: enter_kit(state, session, of); break;
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: enter_fact(state, session, step); break;
	case PM_ASK_SENT: enter_sent(state, session); break;
	case PM_ASK_APPOINTMENT: enter_window(state, session, step); break;
	case PM_ASK_TEXT:
		if (state->field.length < 2) {
			walk_say(state, STYLE_BAD, "one character says too little: this step wants words");
			return;
		}
		if (step->words && !pm_step_words(state->field.text)) {
			walk_say(state, STYLE_BAD, "a number alone names nobody: type the name of a role or a desk");
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
		if (walk_progress(session, step, NULL, NULL) == PM_DONE)
			walk_go_on(state, session);
		else
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
