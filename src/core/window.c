/* The booked window: was the work begun in it, or was it missed? */
#include <string.h>

#include "portmuster/fact.h"
#include "portmuster/plan.h"
#include "portmuster/text.h"

#include "core/judge.h"

bool judge_window(const struct pm_job *job, struct pm_when *from, struct pm_when *until, const char **why)
{
	const struct pm_reading *reading = pm_fact_last(job, "desk/appointment");
	if (reading)
		return pm_window_read(reading->value.text, from, until, why);
	*why = "no appointment";
	return false;
}

/* Does this answer stop the job? Then nothing was begun by it. */
static bool halts(const struct pm_step *step, const struct pm_reading *reading)
{
	for (size_t i = 0; i < step->halt.count; i++)
		if (pm_same(step->halt.item[i].text, reading->value.text))
			return true;
	return false;
}

/* Was a step of this phase answered inside the window, in a way that let the
 * work go on, and does the answer stand? Then the work began in time, and the
 * gate must not shut behind the technician. */
bool judge_window_begun(const struct pm_case *c, const struct pm_phase *phase,
                        struct pm_when from, struct pm_when until)
{
	for (size_t i = 0; i < c->job->reading_count; i++) {
		const struct pm_reading *reading = &c->job->readings[i];
		if (!reading->when.known || reading->when.second < from.second || reading->when.second > until.second ||
		    !reading->of.text || strncmp(reading->of.text, "step/", 5) != 0)
			continue;
		size_t at;
		const struct pm_step *step = pm_plan_step(c->plan, reading->of.text + 5, &at);
		if (step && &c->plan->phases[at] == phase && !halts(step, reading) &&
		    pm_fact_stands(c->job, reading))
			return true;
	}
	return false;
}

static bool books(const struct pm_phase *phase)
{
	for (size_t i = 0; i < phase->step_count; i++)
		if (phase->steps[i].ask == PM_ASK_APPOINTMENT)
			return true;
	return false;
}

bool judge_window_kept(const struct pm_case *c, const struct pm_phase *from_phase, struct pm_when from,
                       struct pm_when until)
{
	bool kept = c->now.second <= until.second;
	const struct pm_phase *end = c->plan->phases + c->plan->phase_count;
	for (const struct pm_phase *p = from_phase; !kept && p < end; p++)
		/* the steps of booking are no beginning of the work, unless all is one phase */
		kept = (!books(p) || p + 1 == end) && judge_window_begun(c, p, from, until);
	return kept;
}
