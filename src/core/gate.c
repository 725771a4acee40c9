#include "portmuster/gate.h"

#include "portmuster/check.h"
#include "portmuster/text.h"

#include "core/fleet_parts.h"
#include "core/judge.h"

bool judge_waives(const struct pm_waiver *waiver, const struct pm_phase *phase, bool closing,
                  const struct pm_need *need)
{
	return need->waiver && pm_given(waiver->by) && pm_given(waiver->reason) &&
	       pm_same(waiver->phase.text, phase->id.text) &&
	       pm_same(waiver->gate.text, closing ? "close" : "open") &&
	       pm_same(waiver->condition.text, need->condition.text);
}

static const struct pm_waiver *waiver_for(const struct pm_job *job, const struct pm_phase *phase,
                                          bool closing, const struct pm_need *need)
{
	for (size_t i = 0; i < job->waiver_count; i++)
		if (judge_waives(&job->waivers[i], phase, closing, need))
			return &job->waivers[i];
	return NULL;
}

/* Steps are with whom the plan names for the phase. But up to the sending of the sheet
 * the lead has the job, and then whoever decides. */
static enum pm_holder holder_of_steps(const struct pm_gate_view *view)
{
	const struct pm_phase *phase = view->phase;
	const struct pm_step *open = NULL;
	for (size_t i = 0; i < phase->step_count; i++) {
		const struct pm_step *step = &phase->steps[i];
		enum pm_progress progress = pm_step_progress(view->the_case, view->roster, step, NULL, NULL);
		if (progress == PM_DONE || progress == PM_DOES_NOT_APPLY)
			continue;
		open = open ? open : step;
		if (step->ask == PM_ASK_SENT)
			return PM_HOLDER_LEAD;
		/* a rejected sheet has to be put right and sent again */
		if (step->ask == PM_ASK_DECISION && progress == PM_HALTED)
			return PM_HOLDER_LEAD;
	}
	if (open && (open->ask == PM_ASK_DECISION || open->ask == PM_ASK_APPOINTMENT))
		return PM_HOLDER_CENTRE;
	return fleet_holder(phase->who.text);
}

/* The table's word, but for what depends on the plan. */
static const char *who_of(const struct pm_gate_view *view, const struct pm_gate_line *line, const char *table)
{
	if (line->met)
		return table;
	if (pm_same(line->need->condition.text, "steps-done"))
		return pm_holder_word(holder_of_steps(view));
	/* time alone opens it: nobody has to be asked */
	return line->opens_in ? pm_holder_word(fleet_holder(view->phase->who.text)) : table;
}

static bool judge_line(struct pm_gate_view *view, struct pm_gate_line *line)
{
	const struct pm_condition *row = pm_condition_find(line->need->condition.text, &view->argument);
	struct pm_text why;
	pm_text_grow(&why, view->arena);
	pm_text_str(&why, "");
	view->why = &why;
	view->opens_in = 0;
	view->closing = line->closing;
	line->met = row && row->met(view);
	line->opens_in = line->met ? 0 : view->opens_in;
	line->who = who_of(view, line, row ? row->who : "lead");
	if (!row)
		pm_text_str(&why, "the plan names a condition that does not exist");
	const struct pm_waiver *waiver = waiver_for(view->the_case->job, view->phase, line->closing, line->need);
	if (!line->met && waiver) {
		line->met = line->waived = true;
		pm_text_str(&why, "; waived by ");
		pm_text_quote(&why, waiver->by.text);
		pm_text_str(&why, ": ");
		pm_text_quote(&why, waiver->reason.text);
		if (pm_given(waiver->note)) {
			pm_text_str(&why, ", ");
			pm_text_quote(&why, waiver->note.text);
		}
	}
	/* names from the plan and the gear are text from outside too */
	struct pm_text safe;
	pm_text_grow(&safe, view->arena);
	pm_text_visible(&safe, why.data, why.length);
	line->why = safe.data;
	return line->met;
}

static bool judge_gate(struct pm_gate_view *view, struct pm_gates *gates, size_t phase, bool closing)
{
	const struct pm_phase *p = view->phase;
	const struct pm_need *needs = closing ? p->close : p->open;
	size_t count = closing ? p->close_count : p->open_count;
	bool all = true;
	for (size_t i = 0; i < count; i++) {
		struct pm_gate_line *line = &gates->line[gates->count++];
		*line = (struct pm_gate_line){ .phase = phase, .closing = closing, .need = &needs[i] };
		if (!judge_line(view, line))
			all = false;
	}
	return all;
}

bool pm_gates_judge(const struct pm_case *the_case, const struct pm_roster *roster,
                    const struct pm_findings *findings, struct pm_arena *arena,
                    struct pm_gates *gates)
{
	const struct pm_plan *plan = the_case->plan;
	size_t lines = 0;
	for (size_t i = 0; i < plan->phase_count; i++)
		lines += plan->phases[i].open_count + plan->phases[i].close_count;
	*gates = (struct pm_gates){ .phases = plan->phase_count };
	gates->line = pm_arena_array(arena, lines, sizeof *gates->line);
	gates->open = pm_arena_array(arena, plan->phase_count, sizeof *gates->open);
	gates->closed = pm_arena_array(arena, plan->phase_count, sizeof *gates->closed);
	if (!gates->line || !gates->open || !gates->closed)
		return false;
	struct pm_gate_view view = {
		.the_case = the_case, .roster = roster, .findings = findings,
		.closed = gates->closed, .arena = arena,
	};
	for (size_t i = 0; i < plan->phase_count; i++) {
		view.phase = &plan->phases[i];
		gates->open[i] = judge_gate(&view, gates, i, false);
		gates->closed[i] = judge_gate(&view, gates, i, true);
	}
	return !arena->failed;
}
