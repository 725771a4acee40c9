/* The conditions that gates are made of: one table, one function a row. */
#include <string.h>

#include "portmuster/check.h"
#include "portmuster/seal.h"

#include "core/judge.h"

static bool steps_done(struct pm_gate_view *v)
{
	size_t open = 0;
	const struct pm_phase *phase = v->phase;
	for (size_t i = 0; i < phase->step_count; i++) {
		int64_t left;
		char reason[160];
		struct pm_text text;
		pm_text_fixed(&text, reason, sizeof reason);
		enum pm_progress progress = pm_step_progress(v->the_case, v->roster, &phase->steps[i], &left, &text);
		if (progress == PM_DONE || progress == PM_DOES_NOT_APPLY)
			continue;
		if (open++ == 0) {
			pm_text_quote(v->why, phase->steps[i].title.text);
			pm_text_add(v->why, ": %s", reason);
			v->opens_in = progress == PM_RUNNING ? left : 0;
		}
	}
	if (open > 1) {
		pm_text_add(v->why, ", and %zu more step%s", open - 1, open == 2 ? "" : "s");
		v->opens_in = 0;
	}
	if (!open)
		pm_text_str(v->why, "every step is answered");
	return open == 0;
}

static bool phase_closed(struct pm_gate_view *v)
{
	const struct pm_plan *plan = v->the_case->plan;
	const struct pm_phase *phase = pm_plan_phase(plan, v->argument);
	bool met = phase && v->closed[phase - plan->phases];
	pm_text_quote(v->why, phase ? phase->title.text : v->argument);
	pm_text_str(v->why, met ? " is closed" : " is not closed");
	return met;
}

static bool kit_complete(struct pm_gate_view *v)
{
	const struct pm_plan *plan = v->the_case->plan;
	size_t short_items = 0;
	for (size_t i = 0; i < plan->kit_count; i++) {
		uint64_t count = 0;
		bool counted = judge_kit_count(v->the_case->job, &plan->kit[i], &count);
		if (counted && count >= (uint64_t)plan->kit[i].need)
			continue;
		pm_text_str(v->why, short_items++ ? ", " : "short of ");
		pm_text_visible(v->why, plan->kit[i].name.text, strlen(plan->kit[i].name.text));
		if (!counted)
			pm_text_str(v->why, " (not counted)");
	}
	if (!short_items)
		pm_text_str(v->why, "every kit item is at hand");
	return short_items == 0;
}

static bool fact_confirmed(struct pm_gate_view *v)
{
	struct pm_fact fact;
	if (!v->argument) {
		pm_text_str(v->why, "the plan names no fact");
		return false;
	}
	enum pm_standing standing = judge_fact(v->the_case->job, v->argument, &fact);
	pm_text_add(v->why, "%s is %s", v->argument, pm_standing_word(standing));
	return standing == PM_CONFIRMED;
}

/* Name the first interfaces that lack something: "port3, port7 and 2 more". */
static bool roster_lacks(struct pm_gate_view *v, const char *what, bool confirmed)
{
	size_t lacking = 0;
	for (size_t i = 0; i < v->roster->count; i++) {
		const struct pm_call *call = &v->roster->call[i];
		enum pm_standing standing = call->fact.standing;
		bool good = call->valid && (standing == PM_CONFIRMED || (!confirmed && standing == PM_HELD));
		if (good)
			continue;
		if (lacking < 3) {
			pm_text_str(v->why, lacking ? ", " : what);
			pm_text_visible(v->why, call->port->name.text, strlen(call->port->name.text));
		}
		lacking++;
	}
	if (lacking > 3)
		pm_text_add(v->why, " and %zu more", lacking - 3);
	if (!lacking)
		pm_text_add(v->why, "all %zu addresses %s", v->roster->count, confirmed ? "confirmed" : "read");
	return lacking == 0;
}

static bool roster_confirmed(struct pm_gate_view *v)
{
	return roster_lacks(v, "not confirmed: ", true);
}

static bool roster_held(struct pm_gate_view *v)
{
	return roster_lacks(v, "not read: ", false);
}

/* Does this finding hold this gate? One that only a later phase can mend does
 * not: else no phase could ever be reopened and closed again. Nor does one that
 * this very phase can mend hold it shut. */
static bool holds_gate(const struct pm_gate_view *v, const struct pm_finding *finding)
{
	size_t phase = (size_t)(v->phase - v->the_case->plan->phases);
	return finding->severity == PM_STOP && !finding->waived && finding->phase < phase + v->closing;
}

static bool no_stops(struct pm_gate_view *v)
{
	size_t stops = 0;
	for (size_t i = 0; i < v->findings->count; i++)
		stops += holds_gate(v, &v->findings->item[i]);
	if (!stops) {
		pm_text_str(v->why, "no stop finding stands");
		return true;
	}
	pm_text_add(v->why, "%zu stop finding%s", stops, stops == 1 ? "" : "s");
	for (size_t i = 0; i < v->findings->count; i++) {
		const struct pm_finding *finding = &v->findings->item[i];
		if (!holds_gate(v, finding))
			continue;
		const char *what = finding->interface ? finding->interface : finding->field;
		pm_text_add(v->why, ": %s", pm_code_row(finding->code)->name);
		if (what) {
			pm_text_str(v->why, " (");
			pm_text_visible(v->why, what, strlen(what));
			pm_text_char(v->why, ')');
		}
		break;
	}
	return false;
}

static bool free_of(struct pm_gate_view *v)
{
	size_t count = 0;
	for (size_t i = 0; i < v->findings->count; i++)
		count += pm_same(pm_code_row(v->findings->item[i].code)->name, v->argument);
	if (count)
		pm_text_add(v->why, "%zu finding%s of %s", count, count == 1 ? "" : "s", v->argument);
	else
		pm_text_add(v->why, "no %s", v->argument);
	return count == 0;
}

static enum pm_progress progress_of(struct pm_gate_view *v, int64_t *left, struct pm_text *reason)
{
	const struct pm_step *step = pm_plan_step(v->the_case->plan, v->argument, NULL);
	pm_text_quote(v->why, step ? step->title.text : v->argument);
	if (!step) {
		pm_text_str(reason, "the plan has no such step");
		return PM_TODO;
	}
	return pm_step_progress(v->the_case, v->roster, step, left, reason);
}

static bool answered(struct pm_gate_view *v)
{
	char reason[160];
	struct pm_text text;
	int64_t left = 0;
	pm_text_fixed(&text, reason, sizeof reason);
	enum pm_progress progress = progress_of(v, &left, &text);
	bool met = progress == PM_DONE || progress == PM_DOES_NOT_APPLY;
	pm_text_add(v->why, ": %s", met ? "answered" : reason);
	return met;
}

static bool wait_over(struct pm_gate_view *v)
{
	bool met = answered(v);
	const struct pm_step *step = pm_plan_step(v->the_case->plan, v->argument, NULL);
	if (!met && step)
		pm_step_progress(v->the_case, v->roster, step, &v->opens_in, NULL);
	return met;
}

static bool outcome_known(struct pm_gate_view *v)
{
	char reason[160];
	struct pm_text text;
	int64_t left = 0;
	pm_text_fixed(&text, reason, sizeof reason);
	enum pm_progress progress = progress_of(v, &left, &text);
	bool met = progress == PM_DONE || progress == PM_HALTED || progress == PM_DOES_NOT_APPLY;
	pm_text_add(v->why, ": %s", met ? "known" : reason);
	return met;
}

static bool outcome_founded(struct pm_gate_view *v)
{
	const struct pm_step *step = pm_plan_step(v->the_case->plan, v->argument, NULL);
	if (!outcome_known(v))
		return false;
	enum pm_progress progress = pm_step_progress(v->the_case, v->roster, step, NULL, NULL);
	if (progress == PM_HALTED)
		return true;   /* that it failed can be said at any time */
	char reason[400];
	struct pm_text text;
	pm_text_fixed(&text, reason, sizeof reason);
	if (pm_step_founded(v->the_case, v->roster, step, &text))
		return true;
	pm_text_add(v->why, ", but before it %s", reason);
	return false;
}

static bool sheet_sent(struct pm_gate_view *v)
{
	bool met = pm_fact_last(v->the_case->job, "desk/sent") != NULL;
	pm_text_str(v->why, met ? "the sheet was sent" : "the sheet was not sent");
	return met;
}

/* The seal that went out and the seal of the facts as they stand now. */
static bool seal_holds(struct pm_gate_view *v)
{
	const struct pm_reading *sent = pm_fact_last(v->the_case->job, "desk/sent");
	struct pm_seal seal;
	if (!sent || !pm_seal_job(v->the_case->job, v->the_case->gear, v->arena, &seal))
		return false;
	return pm_same(sent->value.text, seal.text);
}

static bool registration_accepted(struct pm_gate_view *v)
{
	const struct pm_reading *decision = judge_decision(v->the_case->job);
	if (!pm_fact_last(v->the_case->job, "desk/sent")) {
		pm_text_str(v->why, "the sheet was not sent");
		return false;
	}
	if (!decision) {
		pm_text_str(v->why, "the desk has not decided on the latest sheet");
		return false;
	}
	if (!pm_same(decision->value.text, "accepted")) {
		pm_text_str(v->why, "the latest sheet was rejected");
		if (pm_given(decision->note)) {
			pm_text_str(v->why, ": ");
			pm_text_visible(v->why, decision->note.text, strlen(decision->note.text));
		}
		return false;
	}
	if (!seal_holds(v)) {
		pm_text_str(v->why, "registered facts changed after the sheet was sent");
		return false;
	}
	pm_text_str(v->why, "accepted, and the facts are the ones that were sent");
	return true;
}

static bool appointment_set(struct pm_gate_view *v)
{
	const struct pm_case *c = v->the_case;
	struct pm_when from, until;
	const char *reason = "";
	if (!judge_window(c->job, &from, &until, &reason)) {
		pm_text_str(v->why, reason);
		return false;
	}
	bool kept = judge_window_kept(c, v->phase, from, until);
	pm_text_str(v->why, kept ? "" : "the window ");
	pm_zone_say_window(v->why, pm_case_zone(c), from, until);
	pm_text_str(v->why, kept ? "" : " was missed: book again");
	return kept;
}

static void put_left(struct pm_gate_view *v, struct pm_when until)
{
	char span[PM_WHEN_TEXT];
	pm_text_add(v->why, "%s left", pm_when_span(until.second - v->the_case->now.second, span));
	if (pm_case_zone(v->the_case)) {
		pm_text_str(v->why, ", until ");
		pm_zone_say(v->why, pm_case_zone(v->the_case), until);
	}
}

static bool appointment_open(struct pm_gate_view *v)
{
	const struct pm_case *c = v->the_case;
	struct pm_when from, until;
	const char *reason = "";
	char span[PM_WHEN_TEXT];
	if (!c->job->live) {
		pm_text_str(v->why, "no terminal in live service stands here");
		return true;
	}
	if (!judge_window(c->job, &from, &until, &reason)) {
		pm_text_str(v->why, reason);
		return false;
	}
	if (judge_window_begun(c, v->phase, from, until)) {
		int64_t left = until.second - c->now.second;
		pm_text_str(v->why, "begun inside the window, ");
		if (left >= 0)
			put_left(v, until);
		else
			pm_text_add(v->why, "which closed %s ago: finish, or go back", pm_when_span(-left, span));
		return true;
	}
	int64_t now = c->now.second;
	if (now < from.second) {
		v->opens_in = from.second - now;
		pm_text_str(v->why, "the window opens at ");
		pm_zone_say(v->why, pm_case_zone(c), from);
		pm_text_add(v->why, ", in %s", pm_when_span(v->opens_in, span));
		return false;
	}
	if (now > until.second) {
		pm_text_str(v->why, "the window closed at ");
		pm_zone_say(v->why, pm_case_zone(c), until);
		pm_text_str(v->why, ": book again");
		return false;
	}
	pm_text_str(v->why, "inside the window, ");
	put_left(v, until);
	return true;
}

#define T "technician"
#define LEAD "lead"
#define OC "operations centre"

static const struct pm_condition conditions[] = {
	{ "steps-done", NULL, "every step of the phase is answered with something that lets the job go on", T, true, steps_done },
	{ "phase-closed", "PHASE", "the closing gate of that phase is met", T, true, phase_closed },
	{ "kit-complete", NULL, "every item of the plan's kit was counted and is at hand in full", LEAD, false, kit_complete },
	{ "fact-confirmed", "FACT", "two separate readings of that fact agree (the site list counts as one)", T, false, fact_confirmed },
	{ "roster-held", NULL, "every interface has at least one valid reading and none is in conflict", T, false, roster_held },
	{ "roster-confirmed", NULL, "every interface has two agreeing readings from separate captures", T, false, roster_confirmed },
	{ "no-stops", NULL, "no stop finding stands that an earlier phase can mend (to close: this one too) and that is not waived", T, true, no_stops },
	{ "free-of", "CODE", "no finding of that code stands; a waiver here also takes those findings' force", T, false, free_of },
	{ "answered", "STEP", "that step was answered with something that lets the job go on", T, false, answered },
	{ "outcome-known", "STEP", "that step was answered, either way", T, true, outcome_known },
	{ "outcome-founded", "STEP", "that step was answered: so that the job stops, or so that it goes on and every step before it in its phase does too, since the way back was last begun", T, true, outcome_founded },
	{ "wait-over", "STEP", "that waiting time has run out", T, false, wait_over },
	{ "sheet-sent", NULL, "the registration sheet went to the desk", LEAD, true, sheet_sent },
	{ "registration-accepted", NULL, "the latest sheet was accepted and no registered fact has changed since", OC, true, registration_accepted },
	{ "appointment-set", NULL, "a window is booked and was not missed", OC, true, appointment_set },
	{ "appointment-open", NULL, "now is inside the booked window, or the phase was begun inside it; always met where no live terminal stands", OC, true, appointment_open },
};

#define CONDITIONS (sizeof conditions / sizeof *conditions)

const struct pm_condition *pm_condition_table(size_t *count)
{
	*count = CONDITIONS;
	return conditions;
}

const struct pm_condition *pm_condition_find(const char *written, const char **argument)
{
	if (argument)
		*argument = NULL;
	if (!written)
		return NULL;
	const char *space = strchr(written, ' ');
	size_t length = space ? (size_t)(space - written) : strlen(written);
	for (size_t i = 0; i < CONDITIONS; i++) {
		if (strlen(conditions[i].name) != length || memcmp(conditions[i].name, written, length) != 0)
			continue;
		while (space && *space == ' ')
			space++;
		if (argument && space && *space)
			*argument = space;
		return &conditions[i];
	}
	return NULL;
}
