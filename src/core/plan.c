#include "portmuster/plan.h"

#include <string.h>

#include "portmuster/finding.h"
#include "portmuster/gate.h"
#include "portmuster/text.h"

#include "core/judge.h"

static const char *const ask_words[PM_ASKS] = {
	[PM_ASK_ANSWER] = "answer", [PM_ASK_TEXT] = "text", [PM_ASK_NUMBER] = "number",
	[PM_ASK_KIT] = "kit", [PM_ASK_SERIAL] = "serial", [PM_ASK_CODE] = "code",
	[PM_ASK_ADDRESSES] = "addresses", [PM_ASK_WAIT] = "wait", [PM_ASK_SENT] = "sent",
	[PM_ASK_DECISION] = "decision", [PM_ASK_APPOINTMENT] = "appointment",
};

const char *pm_ask_word(enum pm_ask ask)
{
	return ask < PM_ASKS ? ask_words[ask] : "unknown";
}

bool pm_ask_find(const char *word, enum pm_ask *ask)
{
	for (int i = 0; i < PM_ASKS; i++)
		if (pm_same(word, ask_words[i])) {
			*ask = (enum pm_ask)i;
			return true;
		}
	return false;
}

const struct pm_step *pm_plan_step(const struct pm_plan *plan, const char *id, size_t *phase)
{
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			if (pm_same(plan->phases[p].steps[s].id.text, id)) {
				if (phase)
					*phase = p;
				return &plan->phases[p].steps[s];
			}
	return NULL;
}

const struct pm_phase *pm_plan_phase(const struct pm_plan *plan, const char *id)
{
	for (size_t p = 0; p < plan->phase_count; p++)
		if (pm_same(plan->phases[p].id.text, id))
			return &plan->phases[p];
	return NULL;
}

const char *pm_step_fact(const struct pm_step *step, struct pm_arena *arena)
{
	switch (step->ask) {
	case PM_ASK_SENT: return "desk/sent";
	case PM_ASK_DECISION: return "desk/decision";
	case PM_ASK_APPOINTMENT: return "desk/appointment";
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: return step->fact.text;
	case PM_ASK_ANSWER:
	case PM_ASK_TEXT:
	case PM_ASK_NUMBER:
	case PM_ASK_KIT:
	case PM_ASK_ADDRESSES:
	case PM_ASK_WAIT:
	case PM_ASKS:
		break;
	}
	return pm_say(arena, "step/%s", step->id.text);
}

/* --- validity --- */

struct validity {
	const struct pm_plan *plan;
	struct pm_fault *fault;
	char quoted[200];
};

static struct pm_place place_of(const struct validity *v, struct pm_word word)
{
	return (struct pm_place){ v->plan->file, word.line, word.column };
}

static const char *quote(struct validity *v, struct pm_word word)
{
	struct pm_text text;
	pm_text_fixed(&text, v->quoted, sizeof v->quoted);
	pm_text_quote(&text, word.text);
	return v->quoted;
}

static bool argument_known(struct validity *v, const struct pm_condition *row, const char *argument)
{
	enum pm_code code;
	if (!row->argument)
		return true;
	if (pm_same(row->argument, "PHASE"))
		return pm_plan_phase(v->plan, argument) != NULL;
	if (pm_same(row->argument, "STEP"))
		return pm_plan_step(v->plan, argument, NULL) != NULL;
	if (pm_same(row->argument, "CODE"))
		return pm_code_find(argument, &code);
	return true;
}

static bool need_valid(struct validity *v, const struct pm_phase *phase, const struct pm_need *need)
{
	struct pm_place place = place_of(v, need->condition);
	const char *argument;
	const struct pm_condition *row = pm_condition_find(need->condition.text, &argument);
	if (!row) {
		pm_fail(v->fault, PM_FAULT_VALUE, place, "unknown condition %s", quote(v, need->condition));
		return pm_fail_remedy(v->fault, "use one of the conditions listed in docs/plan.md");
	}
	if (!row->argument != !argument) {
		pm_fail(v->fault, PM_FAULT_VALUE, place, "condition %s %s", quote(v, need->condition),
		        row->argument ? "lacks what it is about" : "takes nothing after its name");
		return pm_fail_remedy(v->fault, "write \"%s%s%s\"", row->name, row->argument ? " " : "",
		                      row->argument ? row->argument : "");
	}
	if (!argument_known(v, row, argument)) {
		pm_fail(v->fault, PM_FAULT_VALUE, place, "condition %s names no known %s",
		        quote(v, need->condition), row->argument);
		return pm_fail_remedy(v->fault, "correct the word after %s", row->name);
	}
	/* gates are judged in the plan's order: one that waits for itself or for a
	 * later phase could never be met */
	if (row->argument && pm_same(row->argument, "PHASE") && pm_plan_phase(v->plan, argument) >= phase) {
		pm_fail(v->fault, PM_FAULT_VALUE, place, "condition %s waits for a phase that does not come before",
		        quote(v, need->condition));
		return pm_fail_remedy(v->fault, "name a phase before this one");
	}
	if (need->waiver && row->never_waived) {
		pm_fail(v->fault, PM_FAULT_VALUE, place, "condition %s can't be waived", quote(v, need->condition));
		return pm_fail_remedy(v->fault, "write waiver: \"no\"");
	}
	return true;
}

static bool has_word(const struct pm_words *list, const char *word)
{
	for (size_t i = 0; i < list->count; i++)
		if (pm_same(list->item[i].text, word))
			return true;
	return false;
}

static bool wait_valid(const char *wait)
{
	int64_t least, most;
	return pm_same(wait, "boot") || pm_wait_read(wait, &least, &most);
}

static bool fact_shown(const struct validity *v, const char *of)
{
	if (pm_same(of, "seal") || judge_named_fact(of))
		return true;
	return of && strncmp(of, "step/", 5) == 0 && pm_plan_step(v->plan, of + 5, NULL);
}

/* Keys that only some kinds of step have a use for. */
static bool step_fitting(struct validity *v, const struct pm_step *step)
{
	const struct { bool given; enum pm_ask ask; const char *key; } only[] = {
		{ pm_given(step->note), PM_ASK_ANSWER, "note" },     { step->sheet, PM_ASK_ANSWER, "sheet" },
		{ step->words, PM_ASK_TEXT, "words" },               { step->contact, PM_ASK_TEXT, "contact" },
		{ step->least_minutes > 0, PM_ASK_APPOINTMENT, "least-minutes" },
	};
	for (size_t i = 0; i < sizeof only / sizeof *only; i++)
		if (only[i].given && step->ask != only[i].ask)
			return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, step->id), "step %s asks for no %s and has no use for %s",
			               quote(v, step->id), pm_ask_word(only[i].ask), only[i].key);
	for (size_t i = 0; i < step->show.count; i++)
		if (!fact_shown(v, step->show.item[i].text))
			return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, step->show.item[i]), "show names no fact of the job: %s",
			               quote(v, step->show.item[i]));
	return true;
}

/* What a step needs for what it asks. */
static bool step_complete(struct validity *v, const struct pm_step *step)
{
	struct pm_place place = place_of(v, step->id);
	const char *lacks = NULL;
	switch (step->ask) {
	case PM_ASK_ANSWER:
		if (step->proceed.count == 0)
			lacks = "proceed, the answers that let the job go on";
		break;
	case PM_ASK_NUMBER:
		if (!pm_given(step->unit))
			lacks = "unit";
		else if ((step->least.word.text || step->most.word.text) && !pm_given(step->limit_source))
			lacks = "limit-source, where its limits come from";
		else if (step->least.word.text && step->most.word.text &&
		         step->least.millionths > step->most.millionths)
			lacks = "limits in order: least is above most";
		break;
	case PM_ASK_SERIAL:
	case PM_ASK_CODE:
		if (!pm_given(step->fact))
			lacks = "fact, what it reads";
		break;
	case PM_ASK_WAIT:
		if (!pm_given(step->wait) || !wait_valid(step->wait.text))
			lacks = "wait: \"boot\", or the least and the most seconds as in \"300 420\"";
		break;
	case PM_ASK_KIT:
		if (v->plan->kit_count == 0)
			lacks = "a kit list in the plan";
		break;
	case PM_ASK_TEXT:
	case PM_ASK_ADDRESSES:
	case PM_ASK_SENT:
	case PM_ASK_DECISION:
	case PM_ASK_APPOINTMENT:
	case PM_ASKS:
		break;
	}
	if (lacks)
		return pm_fail(v->fault, PM_FAULT_VALUE, place, "step %s lacks %s", quote(v, step->id), lacks);
	if (step->critical && step->skippable)
		return pm_fail(v->fault, PM_FAULT_VALUE, place, "step %s is critical and can't be skippable", quote(v, step->id));
	for (size_t i = 0; i < step->halt.count; i++)
		if (has_word(&step->proceed, step->halt.item[i].text))
			return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, step->halt.item[i]),
			               "answer %s both proceeds and halts", quote(v, step->halt.item[i]));
	return true;
}

static bool step_branch_valid(struct validity *v, const struct pm_step *step)
{
	if (!pm_given(step->only_step))
		return true;
	const struct pm_step *on = pm_plan_step(v->plan, step->only_step.text, NULL);
	struct pm_place place = place_of(v, step->only_step);
	if (!on || on == step)
		return pm_fail(v->fault, PM_FAULT_VALUE, place, "only-if names no other step: %s", quote(v, step->only_step));
	if (on->ask == PM_ASK_ANSWER && !has_word(&on->proceed, step->only_answer.text) &&
	    !has_word(&on->halt, step->only_answer.text))
		return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, step->only_answer),
		               "only-if names no answer of that step: %s", quote(v, step->only_answer));
	return true;
}

static bool unique_step(struct validity *v, const struct pm_step *step)
{
	if (!pm_given(step->id))
		return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, step->id), "a step without an id");
	if (pm_plan_step(v->plan, step->id.text, NULL) != step)
		return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, step->id), "step %s stands twice", quote(v, step->id));
	return true;
}

static bool phase_valid(struct validity *v, const struct pm_phase *phase)
{
	if (!pm_given(phase->id))
		return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, phase->title), "a phase without an id");
	if (pm_plan_phase(v->plan, phase->id.text) != phase)
		return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, phase->id), "phase %s stands twice", quote(v, phase->id));
	if (phase->step_count == 0)
		return pm_fail(v->fault, PM_FAULT_VALUE, place_of(v, phase->id), "phase %s has no step", quote(v, phase->id));
	for (size_t i = 0; i < phase->open_count; i++)
		if (!need_valid(v, phase, &phase->open[i]))
			return false;
	for (size_t i = 0; i < phase->close_count; i++)
		if (!need_valid(v, phase, &phase->close[i]))
			return false;
	for (size_t i = 0; i < phase->step_count; i++) {
		const struct pm_step *step = &phase->steps[i];
		if (!unique_step(v, step) || !step_complete(v, step) || !step_fitting(v, step) || !step_branch_valid(v, step))
			return false;
	}
	return true;
}

bool pm_plan_valid(const struct pm_plan *plan, struct pm_fault *fault)
{
	struct validity v = { .plan = plan, .fault = fault };
	if (plan->phase_count == 0)
		return pm_fail(fault, PM_FAULT_VALUE, place_of(&v, plan->id), "a plan needs at least one phase");
	for (size_t i = 0; i < plan->phase_count; i++)
		if (!phase_valid(&v, &plan->phases[i]))
			return false;
	for (size_t i = 0; i < plan->kit_count; i++) {
		if (!pm_given(plan->kit[i].id))
			return pm_fail(fault, PM_FAULT_VALUE, place_of(&v, plan->kit[i].name), "a kit item without an id");
		for (size_t k = 0; k < i; k++)
			if (pm_same(plan->kit[i].id.text, plan->kit[k].id.text))
				return pm_fail(fault, PM_FAULT_VALUE, place_of(&v, plan->kit[i].id),
				               "kit item %s stands twice", quote(&v, plan->kit[i].id));
	}
	return true;
}

bool pm_wait_read(const char *text, int64_t *least, int64_t *most)
{
	char copy[32];
	struct pm_text part;
	uint64_t value[2];
	if (!text)
		return false;
	for (int i = 0; i < 2; i++) {
		pm_text_fixed(&part, copy, sizeof copy);
		while (*text && !pm_is_blank(*text))
			pm_text_char(&part, *text++);
		if (part.cut || !pm_read_number(copy, 86400 * 7, &value[i]))
			return false;
		while (pm_is_blank(*text))
			text++;
	}
	if (*text || value[0] > value[1])
		return false;
	*least = (int64_t)value[0];
	*most = (int64_t)value[1];
	return true;
}
