#include "portmuster/check.h"

#include "core/judge.h"

#define STALLED_AFTER (14 * 86400)   /* seconds without a reading; this project's rule */

static bool finished(const struct pm_case *c, const struct pm_result *result)
{
	return result->phase == c->plan->phase_count;
}

static void judge_stalled(const struct pm_case *c, struct pm_result *result)
{
	int64_t latest = 0;
	for (size_t i = 0; i < c->job->reading_count; i++)
		if (c->job->readings[i].when.known && c->job->readings[i].when.second > latest)
			latest = c->job->readings[i].when.second;
	if (!latest || c->now.second - latest <= STALLED_AFTER)
		return;
	char span[PM_WHEN_TEXT];
	struct pm_finding *finding = pm_findings_add(&result->findings, PM_JOB_STALLED, false,
		(struct pm_place){ c->job->file, 0, 0 }, "the last reading is %s old",
		pm_when_span(c->now.second - latest, span));
	if (finding)
		finding->phase = result->phase;
}

static void judge_due(const struct pm_case *c, struct pm_result *result)
{
	struct pm_when due;
	char end[48];
	struct pm_text text;
	if (!pm_given(c->job->due))
		return;
	pm_text_fixed(&text, end, sizeof end);
	pm_text_add(&text, "%sT23:59:59Z", c->job->due.text);
	struct pm_place place = judge_place(c->job, c->job->due);
	struct pm_finding *finding = NULL;
	const char *why = "";
	if (!pm_when_read(end, &due, &why)) {
		finding = pm_findings_add(&result->findings, PM_TIME_MALFORMED, false, place,
		                          "due date %s: %s", pm_quoted(result->findings.arena, c->job->due.text), why);
		if (finding)
			finding->remedy = "write it as a full date, such as 2026-03-02";
	} else if (c->now.second > due.second) {
		finding = pm_findings_add(&result->findings, PM_JOB_OVERDUE, false, place,
		                          "was due on %s", c->job->due.text);
	}
	if (finding) {
		finding->field = "site.due";
		finding->phase = result->phase;
	}
}

/* Which phase can mend what a rule found about an address or a fact: the one
 * whose step reads it. Rules that know better have said so already. */
static void place_in_plan(const struct pm_case *c, struct pm_finding *finding)
{
	for (size_t p = 0; p < c->plan->phase_count && !finding->phase; p++)
		for (size_t s = 0; s < c->plan->phases[p].step_count; s++) {
			const struct pm_step *step = &c->plan->phases[p].steps[s];
			bool reads = finding->interface ? step->ask == PM_ASK_ADDRESSES
			                                : step->fact.text && pm_same(step->fact.text, finding->field);
			if (reads) {
				finding->phase = p;
				return;
			}
		}
}

bool pm_check(const struct pm_case *c, struct pm_arena *arena, struct pm_result *result)
{
	*result = (struct pm_result){ 0 };
	pm_findings_init(&result->findings, arena);
	if (!pm_roster_call(c->job, c->gear, arena, &result->roster) ||
	    !pm_pattern_find(&result->roster, c->gear, arena, &result->pattern))
		return false;
	judge_head(c, result);
	judge_addresses(c, result);
	judge_attached(c, result);
	judge_prefixes(c, result);
	judge_pattern(c, result);
	judge_steps(c, result);
	judge_desk(c, result);
	judge_times(c, result);
	judge_zone(c, result);
	judge_waivers(c, result);
	for (size_t i = 0; i < result->findings.count; i++)
		place_in_plan(c, &result->findings.item[i]);
	pm_findings_sort(&result->findings);
	if (!pm_gates_judge(c, &result->roster, &result->findings, arena, &result->gates))
		return false;
	while (result->phase < c->plan->phase_count && result->gates.closed[result->phase])
		result->phase++;
	if (!finished(c, result)) {
		judge_stalled(c, result);
		judge_due(c, result);
		pm_findings_sort(&result->findings);
	}
	result->ready = pm_findings_count(&result->findings, PM_STOP) == 0 &&
	                (finished(c, result) || result->gates.open[result->phase]);
	return !arena->failed;
}
