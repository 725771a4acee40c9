#include "walk/held.h"

const struct pm_gate_line *held_unmet(const struct session *session, size_t phase, bool closing)
{
	const struct pm_gates *gates = &session->result.gates;
	for (size_t i = 0; i < gates->count; i++)
		if (gates->line[i].phase == phase && gates->line[i].closing == closing && !gates->line[i].met)
			return &gates->line[i];
	return NULL;
}

/* The phase that a "phase-closed" condition waits for, or the count. */
static size_t waits_for(const struct session *session, const struct pm_gate_line *line)
{
	const char *argument;
	const struct pm_condition *row = pm_condition_find(line->need->condition.text, &argument);
	const struct pm_plan *plan = &session->plan.plan;
	const struct pm_phase *phase = row && pm_same(row->argument, "PHASE") ? pm_plan_phase(plan, argument) : NULL;
	return phase ? (size_t)(phase - plan->phases) : plan->phase_count;
}

bool held_phase(const struct session *session, size_t phase, struct pm_text *why)
{
	const struct pm_gate_line *line, *cause = NULL;
	if (session->read_only) {
		if (why)
			pm_text_add(why, "read-only: %s", session->held_by);
		return true;
	}
	if (phase >= session->plan.plan.phase_count || session->result.gates.open[phase])
		return false;
	line = held_unmet(session, phase, false);
	/* an earlier phase that is not closed: what it lacks tells more */
	size_t earlier = line ? waits_for(session, line) : session->plan.plan.phase_count;
	if (earlier < session->plan.plan.phase_count)
		cause = held_unmet(session, earlier, true);
	if (cause && why)
		pm_text_add(why, "this phase is shut: %s is not closed: %s (%s)",
		            session->plan.plan.phases[earlier].id.text, cause->why, cause->who);
	else if (line && why)
		pm_text_add(why, "this phase is shut: %s (%s)", line->why, line->who);
	return true;
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
