#include "walk/held.h"

const struct pm_gate_line *held_unmet(const struct session *session, size_t phase, bool closing)
{
	const struct pm_gates *gates = &session->result.gates;
	for (size_t i = 0; i < gates->count; i++)
		if (gates->line[i].phase == phase && gates->line[i].closing == closing && !gates->line[i].met)
			return &gates->line[i];
	return NULL;
}

/* The earlier phase that a condition waits for, itself or one of its steps; the
 * count when it waits for none. */
static size_t waits_for(const struct session *session, const struct pm_gate_line *line)
{
	const struct pm_plan *plan = &session->plan.plan;
	const char *argument;
	const struct pm_condition *row = pm_condition_find(line->need->condition.text, &argument);
	const struct pm_phase *phase = row && pm_same(row->argument, "PHASE") ? pm_plan_phase(plan, argument) : NULL;
	size_t at = phase ? (size_t)(phase - plan->phases) : plan->phase_count;
	if (row && pm_same(row->argument, "STEP"))
		pm_plan_step(plan, argument, &at);
	return at < line->phase ? at : plan->phase_count;
}

static bool waits_for_closing(const struct pm_gate_line *line)
{
	const struct pm_condition *row = pm_condition_find(line->need->condition.text, NULL);
	return row && pm_same(row->argument, "PHASE");
}

/* The first gate on the way to this phase that is not met says more than those
 * behind it, which wait for it. */
static void say_shut(const struct session *session, size_t phase, struct pm_text *why)
{
	size_t count = session->plan.plan.phase_count;
	const struct pm_gate_line *line = held_unmet(session, phase, false), *cause = NULL;
	size_t earlier = line ? waits_for(session, line) : count;
	while (earlier < count && !session->result.gates.open[earlier]) {
		line = held_unmet(session, earlier, false);
		earlier = line ? waits_for(session, line) : count;
	}
	if (earlier < count && waits_for_closing(line))
		cause = held_unmet(session, earlier, true);
	if (cause)
		pm_text_add(why, "this phase is shut: %s is not closed: %s (%s)",
		            session->plan.plan.phases[earlier].id.text, cause->why, cause->who);
	else if (line)
		pm_text_add(why, "this phase is shut: %s (%s)", line->why, line->who);
}

bool held_phase(const struct session *session, size_t phase, struct pm_text *why)
{
	if (session->read_only) {
		if (why)
			pm_text_add(why, "read-only: %s", session->held_by);
		return true;
	}
	if (phase >= session->plan.plan.phase_count || session->result.gates.open[phase])
		return false;
	if (why)
		say_shut(session, phase, why);
	return true;
}

/* The step that supplies what a condition lacks, in its own phase or another. */
static bool supplies(const struct pm_condition *row, const char *argument, const struct pm_step *step)
{
	static const struct { const char *condition; enum pm_ask ask; } asks[] = {
		{ "kit-complete", PM_ASK_KIT },              { "roster-held", PM_ASK_ADDRESSES },
		{ "roster-confirmed", PM_ASK_ADDRESSES },    { "sheet-sent", PM_ASK_SENT },
		{ "registration-accepted", PM_ASK_DECISION }, { "appointment-set", PM_ASK_APPOINTMENT },
	};
	for (size_t i = 0; i < sizeof asks / sizeof *asks; i++)
		if (pm_same(row->name, asks[i].condition))
			return step->ask == asks[i].ask;
	if (pm_same(row->argument, "STEP"))
		return pm_same(step->id.text, argument);
	return pm_same(row->argument, "FACT") && pm_same(step->fact.text, argument);
}

const struct pm_step *held_supplier(const struct session *session, const struct pm_gate_line *line, size_t *phase)
{
	const struct pm_plan *plan = &session->plan.plan;
	const char *argument;
	const struct pm_condition *row = pm_condition_find(line->need->condition.text, &argument);
	for (size_t p = 0; row && p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			if (supplies(row, argument, &plan->phases[p].steps[s])) {
				*phase = p;
				return &plan->phases[p].steps[s];
			}
	return NULL;
}

void held_say(const struct session *session, const struct pm_gate_line *line, const struct pm_step *here, struct pm_text *text)
{
	const struct pm_plan *plan = &session->plan.plan;
	size_t phase = 0;
	const struct pm_step *supplier = held_supplier(session, line, &phase);
	pm_text_add(text, "%s (%s)", line->why, line->who);
	bool near = supplier && phase == line->phase;
	if (near && supplier != here)
		pm_text_add(text, "; go to step %zu", (size_t)(supplier - plan->phases[phase].steps) + 1);
	else if (near)
		pm_text_str(text, "; mend it here");
	if (line->need->waiver)
		pm_text_add(text, "%s Esc, w: a lead may waive it", near ? ", or" : ";");
}

enum held_outcome held_outcome(const struct session *session, size_t phase, const struct pm_step *step)
{
	const struct pm_phase *p = &session->plan.plan.phases[phase];
	for (size_t i = 0; i < p->close_count; i++) {
		const char *argument;
		const struct pm_condition *row = pm_condition_find(p->close[i].condition.text, &argument);
		if (!row || !pm_same(argument, step->id.text))
			continue;
		if (pm_same(row->name, "outcome-known"))
			return HELD_EITHER_WAY;
		if (pm_same(row->name, "outcome-founded"))
			return HELD_FOUNDED;
	}
	return HELD_NO_OUTCOME;
}

size_t held_muster(const struct session *session)
{
	const struct pm_plan *plan = &session->plan.plan;
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			if (plan->phases[p].steps[s].ask == PM_ASK_ADDRESSES)
				return p;
	return plan->phase_count;
}

bool held_from_mustering(const struct session *session, struct pm_text *why)
{
	return held_phase(session, held_muster(session), why);
}
