/* Rules about the answers to the plan's steps, and facts that nothing asks for. */
#include <string.h>

#include "portmuster/text.h"

#include "core/judge.h"

struct step_check {
	const struct pm_case *c;
	struct pm_result *result;
	struct pm_arena *arena;
	size_t phase;
};

static struct pm_finding *about(const struct step_check *s, enum pm_code code,
                                const struct pm_reading *reading, const char *message)
{
	struct pm_finding *finding = pm_findings_add(&s->result->findings, code, s->c->gear->training,
		judge_place(s->c->job, reading->value), "%s", message);
	if (finding) {
		finding->field = reading->of.text;
		finding->phase = s->phase;
	}
	return finding;
}

static void kit(const struct step_check *s)
{
	const struct pm_plan *plan = s->c->plan;
	for (size_t i = 0; i < plan->kit_count; i++) {
		const struct pm_kit_item *item = &plan->kit[i];
		const char *of = pm_say(s->arena, "kit/%s", item->id.text);
		const struct pm_reading *reading = of ? pm_fact_last(s->c->job, of) : NULL;
		uint64_t count;
		if (!reading)
			continue;
		if (!judge_kit_count(s->c->job, item, &count))
			about(s, PM_ANSWER_UNKNOWN, reading, pm_say(s->arena, "%s: %s is no count",
				item->name.text, pm_quoted(s->arena, reading->value.text)));
		else if (count < (uint64_t)item->need)
			about(s, PM_KIT_SHORT, reading, pm_say(s->arena, "%s: %llu at hand, %lld needed",
				item->name.text, (unsigned long long)count, (long long)item->need));
	}
}

static void step(const struct step_check *s, const struct pm_step *step)
{
	const struct pm_reading *reading = judge_answer(s->c, step->id.text);
	char words[200];
	struct pm_text text;
	if (step->ask == PM_ASK_KIT)
		kit(s);
	if (!reading || reading->source == PM_SOURCE_SKIPPED)
		return;
	pm_text_fixed(&text, words, sizeof words);
	enum pm_progress progress = pm_step_progress(s->c, &s->result->roster, step, NULL, &text);
	const char *title = pm_quoted(s->arena, step->title.text);
	if (step->ask == PM_ASK_NUMBER && progress == PM_HALTED) {
		about(s, PM_MEASURE_OUTSIDE, reading, pm_say(s->arena, "%s: %s (limit: %s)", title, words,
			pm_given(step->limit_source) ? step->limit_source.text : "none named"));
	} else if (progress == PM_HALTED) {
		about(s, PM_STEP_HALTED, reading, pm_say(s->arena, "%s was answered %s", title,
			pm_quoted(s->arena, reading->value.text)));
	} else if (step->ask == PM_ASK_ANSWER && progress == PM_TODO) {
		bool known = judge_listed(&step->proceed, reading->value.text);
		about(s, PM_ANSWER_UNKNOWN, reading, pm_say(s->arena, "%s was answered %s%s", title,
			pm_quoted(s->arena, reading->value.text), !known ? ", which is none of its answers"
			: pm_say(s->arena, " without its note, %s", pm_quoted(s->arena, step->note.text))));
	}
}

static bool kit_known(const struct pm_plan *plan, const char *id)
{
	for (size_t i = 0; i < plan->kit_count; i++)
		if (pm_same(plan->kit[i].id.text, id))
			return true;
	return false;
}

bool judge_named_fact(const char *of)
{
	static const char *const fixed[] = {
		"router/serial", "old/serial", "site/unit", "site/parent",
		"desk/sent", "desk/decision", "desk/appointment",
	};
	for (size_t i = 0; i < sizeof fixed / sizeof *fixed; i++)
		if (pm_same(of, fixed[i]))
			return true;
	return false;
}

/* Is this a fact that the plan, the gear or the sheet has a use for? Ports are
 * judged with the roster. */
static bool fact_known(const struct pm_plan *plan, const char *of)
{
	if (judge_named_fact(of))
		return true;
	if (strncmp(of, "step/", 5) == 0)
		return pm_plan_step(plan, of + 5, NULL) != NULL;
	if (strncmp(of, "kit/", 4) == 0)
		return kit_known(plan, of + 4);
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			if (pm_same(plan->phases[p].steps[s].fact.text, of))
				return true;
	return judge_is_port(of);
}

static void unknown_facts(struct step_check *s)
{
	const struct pm_job *job = s->c->job;
	s->phase = 0;
	for (size_t i = 0; i < job->reading_count; i++) {
		const struct pm_reading *reading = &job->readings[i];
		if (!reading->of.text || fact_known(s->c->plan, reading->of.text))
			continue;
		struct pm_finding *finding = about(s, PM_FACT_UNKNOWN, reading,
			pm_say(s->arena, "nothing asks for %s", pm_quoted(s->arena, reading->of.text)));
		if (finding)
			finding->place = judge_place(job, reading->of);
	}
}

void judge_steps(const struct pm_case *c, struct pm_result *result)
{
	struct step_check s = { c, result, result->findings.arena, 0 };
	for (; s.phase < c->plan->phase_count; s.phase++)
		for (size_t i = 0; i < c->plan->phases[s.phase].step_count; i++)
			step(&s, &c->plan->phases[s.phase].steps[i]);
	unknown_facts(&s);
}
