/* How far a site is, phase by phase: when each was worked on, what holds the next,
 * and whose move it is. */
#include "core/fleet_parts.h"

enum pm_holder fleet_holder(const char *who)
{
	for (int i = PM_HOLDER_TECHNICIAN; i < PM_HOLDERS; i++)
		if (pm_same_nocase(who, pm_holder_word((enum pm_holder)i)))
			return (enum pm_holder)i;
	return PM_HOLDER_TECHNICIAN;
}

static bool window_opens(const struct pm_phase *phase)
{
	for (size_t i = 0; i < phase->open_count; i++)
		if (pm_same(phase->open[i].condition.text, "appointment-open"))
			return true;
	return false;
}

/* The times between which a phase was worked on. */
struct stretch {
	const struct pm_job *job;
	const struct pm_reading *after;   /* readings up to this one do not count, or null */
	struct pm_arena *arena;
	int64_t first, last;
};

static void stretch_to(struct stretch *s, const struct pm_reading *reading)
{
	if (!reading || !reading->when.known || (s->after && reading <= s->after))
		return;
	if (!s->first || reading->when.second < s->first)
		s->first = reading->when.second;
	if (reading->when.second > s->last)
		s->last = reading->when.second;
}

/* Every standing answer. */
static void stretch_over_answers(struct stretch *s, const char *of)
{
	const struct pm_reading *reading;
	size_t at = 0;
	while ((reading = pm_fact_next(s->job, of, &at)))
		stretch_to(s, reading);
}

/* A fact that is read twice: the two readings that settled it. It may be read
 * again in a later phase. */
static void stretch_over_fact(struct stretch *s, const char *of, enum pm_compare compare)
{
	struct pm_fact fact = pm_fact_find(s->job, of, compare);
	stretch_to(s, fact.first);
	stretch_to(s, fact.second);
	if (fact.standing == PM_SKIPPED)
		stretch_to(s, fact.last);
}

/* "step/ID"; an id beyond any use makes an empty key, which nothing bears. */
static const char *key_of(char key[static 160], const char *kind, const char *id)
{
	struct pm_text text;
	pm_text_fixed(&text, key, 160);
	pm_text_add(&text, "%s/%s", kind, id);
	return text.cut ? "" : key;
}

static void stretch_over_step(struct stretch *s, const struct pm_case *c, const struct pm_step *step)
{
	char key[160];
	stretch_over_answers(s, key_of(key, "step", step->id.text));
	switch (step->ask) {
	case PM_ASK_KIT:
		for (size_t i = 0; i < c->plan->kit_count; i++)
			stretch_over_answers(s, key_of(key, "kit", c->plan->kit[i].id.text));
		break;
	case PM_ASK_ADDRESSES:
		for (size_t i = 0; i < c->gear->port_count; i++)
			stretch_over_fact(s, key_of(key, "port", c->gear->ports[i].name.text), PM_AS_ADDRESS);
		break;
	case PM_ASK_SERIAL:
	case PM_ASK_CODE:
		if (pm_given(step->fact))
			stretch_over_fact(s, step->fact.text, PM_AS_TEXT);
		break;
	case PM_ASK_SENT:
	case PM_ASK_DECISION:
	case PM_ASK_APPOINTMENT:
		stretch_over_answers(s, pm_step_fact(step, s->arena));
		break;
	case PM_ASK_ANSWER:
	case PM_ASK_TEXT:
	case PM_ASK_NUMBER:
	case PM_ASK_WAIT:
	case PM_ASKS:
		break;
	}
}

static enum pm_phase_state state_of(const struct pm_result *result, size_t phase)
{
	if (result->gates.closed[phase])
		return PM_PHASE_CLOSED;
	if (phase != result->phase)
		return PM_PHASE_LATER;
	return result->gates.open[phase] ? PM_PHASE_OPEN : PM_PHASE_SHUT;
}

bool fleet_keep_phases(const struct pm_case *c, const struct pm_result *result, struct pm_arena *arena,
                       struct pm_site_summary *out)
{
	const struct pm_plan *plan = c->plan;
	out->phases = pm_arena_array(arena, plan->phase_count, sizeof *out->phases);
	if (!out->phases)
		return false;
	out->phase = result->phase;
	out->phase_count = plan->phase_count;
	for (size_t i = 0; i < plan->phase_count; i++) {
		const struct pm_phase *phase = &plan->phases[i];
		bool by_window = c->job->live && window_opens(phase);
		/* as with its answers, what came before the latest window belongs to another attempt */
		struct stretch s = { c->job, by_window ? pm_fact_last(c->job, "desk/appointment") : NULL, arena, 0, 0 };
		for (size_t k = 0; k < phase->step_count; k++)
			stretch_over_step(&s, c, &phase->steps[k]);
		out->phases[i] = (struct pm_phase_summary){
			.id = fleet_keep(arena, phase->id.text), .state = state_of(result, i), .by_window = by_window,
			.who = fleet_holder(phase->who.text),
			.minutes = phase->minutes > 0 && phase->minutes <= INT32_MAX ? (int32_t)phase->minutes : 0,
			.begun = s.first, .closed = result->gates.closed[i] ? s.last : 0,
		};
	}
	return true;
}

/* --- what holds it, and who --- */

bool fleet_keep_wait(const struct pm_case *c, const struct pm_result *result, struct pm_arena *arena,
                     struct pm_site_summary *out)
{
	const struct pm_gate_line *line = NULL;
	out->waits_in = out->waits_why = out->waits_who = "";
	/* opening lines come before closing ones */
	for (size_t i = 0; i < result->gates.count && !line; i++)
		if (result->gates.line[i].phase == result->phase && !result->gates.line[i].met)
			line = &result->gates.line[i];
	if (!line)
		return true;
	const struct pm_phase *phase = &c->plan->phases[line->phase];
	out->holder = fleet_holder(line->who);
	out->waits_in = fleet_keep(arena, phase->title.text);
	out->waits_why = fleet_keep(arena, line->why);
	out->waits_who = pm_holder_word(out->holder);
	return out->waits_in && out->waits_why;
}

/* --- the window --- */

bool fleet_set(const struct pm_result *result, const struct pm_site_summary *site)
{
	size_t phase = 0;
	while (phase < site->phase_count && !site->phases[phase].by_window)
		phase++;
	if (phase == site->phase_count || site->phases[phase].state == PM_PHASE_CLOSED)
		return true;
	if (phase != site->phase)
		return false;
	for (size_t i = 0; i < result->gates.count; i++) {
		const struct pm_gate_line *line = &result->gates.line[i];
		if (line->phase == phase && !line->closing && !line->met &&
		    !pm_same(line->need->condition.text, "appointment-open"))
			return false;
	}
	return true;
}
