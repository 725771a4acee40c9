/* Rules about serial numbers, codes, digests, times and waivers. */
#include <string.h>

#include "portmuster/differ.h"
#include "portmuster/seal.h"
#include "portmuster/text.h"

#include "core/judge.h"

#define CLOCK_TOLERANCE 120   /* seconds a reading may lie ahead; this project's rule */

static struct pm_finding *about(const struct pm_case *c, struct pm_result *result, enum pm_code code,
                                struct pm_word word, const char *field, const char *message)
{
	struct pm_finding *finding = pm_findings_add(&result->findings, code, c->gear->training,
	                                             judge_place(c->job, word), "%s", message);
	if (finding)
		finding->field = field;
	return finding;
}

static void form(const struct pm_case *c, struct pm_result *result, enum pm_code code,
                 const char *mask, struct pm_word value, const char *field)
{
	unsigned column;
	if (!pm_given(value) || pm_form_match(mask, value.text, &column))
		return;
	struct pm_arena *arena = result->findings.arena;
	about(c, result, code, value, field,
	      pm_say(arena, "%s reads %s: character %u does not fit the form %s", field,
	             pm_quoted(arena, value.text), column, pm_quoted(arena, mask)));
}

/* The first standing reading that contradicts another, or the site list. */
static void agreement(const struct pm_case *c, struct pm_result *result, enum pm_code code,
                      const char *of, struct pm_word listed)
{
	struct pm_fact fact = pm_fact_find(c->job, of, PM_AS_TEXT);
	struct pm_word a, b;
	const char *a_source;
	if (!fact.first || fact.standing == PM_SKIPPED)
		return;
	if (fact.standing == PM_CONFLICT) {
		a = fact.first->value;
		b = fact.second->value;
		a_source = pm_source_word(fact.first->source);
	} else if (pm_given(listed) && !pm_fact_same(listed.text, fact.first->value.text, PM_AS_TEXT)) {
		a = listed;
		b = fact.first->value;
		a_source = "site list";
	} else {
		return;
	}
	struct pm_arena *arena = result->findings.arena;
	char said[400];
	struct pm_text text;
	struct pm_differ differ;
	pm_text_fixed(&text, said, sizeof said);
	pm_differ_say(a.text, b.text, PM_AS_TEXT, &text);
	pm_differ_find(c->job, of, PM_AS_TEXT, NULL, &differ);
	/* what the site list says is in none of the readings */
	if (fact.standing == PM_CONFLICT && differ.favoured) {
		pm_text_str(&text, "; ");
		pm_differ_say_favoured(&differ, &text);
	}
	about(c, result, code, b, of,
	      pm_say(arena, "%s was read as %s (%s) and as %s: %s", of,
	             pm_quoted(arena, a.text), a_source, pm_quoted(arena, b.text), said));
}

static void digests(const struct pm_case *c, struct pm_result *result)
{
	const struct { struct pm_word recorded; const char *now, *what, *key; } both[] = {
		{ c->job->plan_digest, c->plan->digest, "plan", "plan-digest" },
		{ c->job->gear_digest, c->gear->digest, "gear profile", "gear-digest" },
		{ c->job->layout_digest, c->layout_digest, "sheet layout", "layout-digest" },
	};
	for (size_t i = 0; i < sizeof both / sizeof *both; i++)
		if (pm_given(both[i].recorded) && both[i].now && !pm_same(both[i].recorded.text, both[i].now))
			about(c, result, PM_PROFILE_CHANGED, both[i].recorded, both[i].key,
			      pm_say(result->findings.arena, "the %s in use is not the one that the job recorded", both[i].what));
}

static void stray_keys(const struct pm_case *c, struct pm_result *result)
{
	const struct { const struct pm_stray_keys *keys; const char *file; } documents[] = {
		{ &c->job->strays, c->job->file }, { &c->plan->strays, c->plan->file }, { &c->gear->strays, c->gear->file },
	};
	for (size_t d = 0; d < sizeof documents / sizeof *documents; d++)
		for (size_t i = 0; i < documents[d].keys->count; i++) {
			const struct pm_stray_key *stray = &documents[d].keys->item[i];
			struct pm_finding *finding = pm_findings_add(&result->findings, PM_KEY_UNKNOWN, c->gear->training,
				(struct pm_place){ documents[d].file, stray->key.line, stray->key.column }, "a %s has no key %s",
				stray->inside, pm_quoted(result->findings.arena, stray->key.text));
			if (finding)
				finding->suggestion = stray->meant;
		}
}

/* The form that the plan gives a code fact, or null. */
static const char *code_form(const struct pm_plan *plan, const char *of)
{
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++) {
			const struct pm_step *step = &plan->phases[p].steps[s];
			if (step->ask == PM_ASK_CODE && pm_same(step->fact.text, of))
				return step->form.text;
		}
	return NULL;
}

void judge_head(const struct pm_case *c, struct pm_result *result)
{
	static const struct pm_word none;
	const struct { const char *of; struct pm_word listed; enum pm_code malformed, differing; const char *mask; } facts[] = {
		{ "router/serial", none, PM_SERIAL_MALFORMED, PM_SERIAL_CONFLICT, c->gear->serial_form.text },
		{ "old/serial", c->job->old_serial, PM_SERIAL_MALFORMED, PM_SERIAL_CONFLICT, NULL },
		{ "site/unit", c->job->unit, PM_UNIT_CODE_MALFORMED, PM_UNIT_CODE_CONFLICT, code_form(c->plan, "site/unit") },
		{ "site/parent", c->job->parent, PM_UNIT_CODE_MALFORMED, PM_UNIT_CODE_CONFLICT, code_form(c->plan, "site/parent") },
	};
	for (size_t i = 0; i < sizeof facts / sizeof *facts; i++) {
		size_t at = 0;
		const struct pm_reading *reading;
		form(c, result, facts[i].malformed, facts[i].mask, facts[i].listed, facts[i].of);
		while ((reading = pm_fact_next(c->job, facts[i].of, &at)))
			form(c, result, facts[i].malformed, facts[i].mask, reading->value, facts[i].of);
		agreement(c, result, facts[i].differing, facts[i].of, facts[i].listed);
	}
	digests(c, result);
	stray_keys(c, result);
}

static size_t phase_of_sending(const struct pm_plan *plan)
{
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			if (plan->phases[p].steps[s].ask == PM_ASK_SENT)
				return p;
	return plan->phase_count;
}

void judge_desk(const struct pm_case *c, struct pm_result *result)
{
	const struct pm_reading *sent = pm_fact_last(c->job, "desk/sent");
	const struct pm_reading *decision = judge_decision(c->job);
	struct pm_arena *arena = result->findings.arena;
	struct pm_seal seal;
	/* after a rejection the facts are meant to change */
	if (sent && !(decision && pm_same(decision->value.text, "rejected")) &&
	    pm_seal_job(c->job, c->gear, arena, &seal) && !pm_same(sent->value.text, seal.text)) {
		struct pm_finding *finding = about(c, result, PM_SEAL_CHANGED, sent->value, "desk/sent",
			pm_say(arena, "the sheet was sent under seal %s; the facts now give %s",
			       pm_quoted(arena, sent->value.text), seal.text));
		if (finding)
			finding->phase = phase_of_sending(c->plan);
	}
	if (sent && decision && pm_same(decision->value.text, "rejected")) {
		struct pm_finding *finding = about(c, result, PM_STEP_HALTED, decision->value, "desk/decision",
			pm_say(arena, "the sheet was rejected: %s", pm_quoted(arena, pm_given(decision->note)
			       ? decision->note.text : "no reason given")));
		if (finding) {
			finding->phase = phase_of_sending(c->plan);
			finding->remedy = "correct what the desk names, then send the sheet again";
		}
	}
	const struct pm_reading *last = pm_fact_last(c->job, "desk/decision");
	if (last && !pm_same(last->value.text, "accepted") && !pm_same(last->value.text, "rejected")) {
		struct pm_finding *finding = about(c, result, PM_ANSWER_UNKNOWN, last->value, "desk/decision",
			pm_say(arena, "a decision is \"accepted\" or \"rejected\", not %s", pm_quoted(arena, last->value.text)));
		if (finding)
			finding->phase = phase_of_sending(c->plan);
	}
}

void judge_times(const struct pm_case *c, struct pm_result *result)
{
	const struct pm_reading *ahead = NULL;
	struct pm_arena *arena = result->findings.arena;
	for (size_t i = 0; i < c->job->reading_count; i++) {
		const struct pm_reading *reading = &c->job->readings[i];
		const char *why = "";
		struct pm_when when;
		if (!reading->when.known) {
			pm_when_read(reading->at.text, &when, &why);
			about(c, result, PM_TIME_MALFORMED, reading->at, reading->of.text,
			      pm_say(arena, "time %s: %s", pm_quoted(arena, reading->at.text), why));
		} else if (reading->when.second > c->now.second + CLOCK_TOLERANCE &&
		           (!ahead || reading->when.second > ahead->when.second)) {
			ahead = reading;
		}
	}
	if (ahead) {
		char span[PM_WHEN_TEXT];
		about(c, result, PM_CLOCK_BEHIND, ahead->at, ahead->of.text,
		      pm_say(arena, "a reading bears a time %s ahead of the clock",
		             pm_when_span(ahead->when.second - c->now.second, span)));
	}
	const struct pm_reading *window = pm_fact_last(c->job, "desk/appointment");
	struct pm_when from, until;
	const char *why = "";
	if (window && !pm_window_read(window->value.text, &from, &until, &why)) {
		struct pm_finding *finding = about(c, result, PM_TIME_MALFORMED, window->value, "desk/appointment",
			pm_say(arena, "appointment %s: %s", pm_quoted(arena, window->value.text), why));
		if (finding)
			finding->remedy = "write two times joined by /, such as 2026-03-02T09:00:00Z/2026-03-02T11:00:00Z";
	}
}

/* A waiver of `free-of CODE` takes the force from the findings of that code. */
static void take_force(struct pm_findings *findings, const struct pm_need *need)
{
	const char *argument;
	const struct pm_condition *row = pm_condition_find(need->condition.text, &argument);
	if (!row || !pm_same(row->name, "free-of"))
		return;
	for (size_t i = 0; i < findings->count; i++)
		if (pm_same(pm_code_row(findings->item[i].code)->name, argument))
			findings->item[i].waived = true;
}

static bool apply_waiver(const struct pm_case *c, struct pm_result *result, const struct pm_waiver *waiver)
{
	for (size_t p = 0; p < c->plan->phase_count; p++) {
		const struct pm_phase *phase = &c->plan->phases[p];
		for (size_t i = 0; i < phase->open_count + phase->close_count; i++) {
			bool closing = i >= phase->open_count;
			const struct pm_need *need = closing ? &phase->close[i - phase->open_count] : &phase->open[i];
			if (!judge_waives(waiver, phase, closing, need))
				continue;
			take_force(&result->findings, need);
			return true;
		}
	}
	return false;
}

void judge_waivers(const struct pm_case *c, struct pm_result *result)
{
	struct pm_arena *arena = result->findings.arena;
	for (size_t i = 0; i < c->job->waiver_count; i++) {
		const struct pm_waiver *waiver = &c->job->waivers[i];
		if (apply_waiver(c, result, waiver))
			continue;
		bool unsigned_ = !pm_given(waiver->by) || !pm_given(waiver->reason);
		about(c, result, PM_WAIVER_VOID, waiver->condition, "waivers",
		      pm_say(arena, "waiver of %s: %s", pm_quoted(arena, waiver->condition.text),
		             unsigned_ ? "it lacks a name or a reason"
		                       : "the plan allows no such waiver at that gate"));
	}
}
