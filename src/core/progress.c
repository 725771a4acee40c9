/* How far each step of the plan is, from the readings alone. */
#include <string.h>

#include "portmuster/check.h"
#include "portmuster/gate.h"
#include "portmuster/text.h"

#include "core/judge.h"

struct look {
	const struct pm_case *c;
	const struct pm_roster *roster;
	const struct pm_step *step;
	struct pm_text *why;      /* may be null */
	int64_t *remaining;       /* may be null */
};

static void say(const struct look *look, const char *reason)
{
	if (look->why)
		pm_text_str(look->why, reason);
}

static const struct pm_reading *last_answer(const struct pm_job *job, const char *step)
{
	char key[160];
	struct pm_text text;
	pm_text_fixed(&text, key, sizeof key);
	pm_text_add(&text, "step/%s", step);
	return pm_fact_last(job, key);
}

/* Does the phase of this step open by the booked window, or one before it? What comes
 * after a cutover is about that one. */
static bool needs_window(const struct pm_plan *plan, const char *step)
{
	size_t phase;
	if (!pm_plan_step(plan, step, &phase))
		return false;
	for (size_t p = 0; p <= phase; p++)
		for (size_t i = 0; i < plan->phases[p].open_count; i++)
			if (pm_same(plan->phases[p].open[i].condition.text, "appointment-open"))
				return true;
	return false;
}

/* Does this step come behind one of its phase that asks so? */
static bool behind(const struct pm_plan *plan, const char *id, enum pm_ask ask)
{
	size_t phase;
	const struct pm_step *step = pm_plan_step(plan, id, &phase);
	for (const struct pm_step *s = step ? plan->phases[phase].steps : NULL; s && s < step; s++)
		if (s->ask == ask)
			return true;
	return false;
}

/* What belongs to a window, or to a sheet, begins again with a new one. */
static enum pm_outlived outlived(const struct pm_case *c, const struct pm_reading *reading, const char *step)
{
	const struct pm_reading *window = reading ? pm_fact_last(c->job, "desk/appointment") : NULL;
	const struct pm_reading *sent = reading ? pm_fact_last(c->job, "desk/sent") : NULL;
	if (window && reading < window && (needs_window(c->plan, step) || behind(c->plan, step, PM_ASK_APPOINTMENT)))
		return PM_OUTLIVED_WINDOW;
	if (sent && reading < sent && behind(c->plan, step, PM_ASK_SENT))
		return PM_OUTLIVED_SHEET;
	return PM_NOT_OUTLIVED;
}

enum pm_outlived pm_step_outlived(const struct pm_case *the_case, const struct pm_step *step)
{
	const struct pm_reading *last = step->ask == PM_ASK_DECISION ? pm_fact_last(the_case->job, "desk/decision")
	                              : last_answer(the_case->job, step->id.text);
	return outlived(the_case, last, step->id.text);
}

const struct pm_reading *judge_answer(const struct pm_case *c, const char *step)
{
	const struct pm_reading *reading = last_answer(c->job, step);
	return outlived(c, reading, step) == PM_NOT_OUTLIVED ? reading : NULL;
}

static const struct pm_reading *answer(const struct look *look)
{
	return judge_answer(look->c, look->step->id.text);
}

bool judge_listed(const struct pm_words *list, const char *value)
{
	for (size_t i = 0; i < list->count; i++)
		if (pm_same(list->item[i].text, value))
			return true;
	return false;
}

static enum pm_progress of_answer(const struct look *look)
{
	const struct pm_reading *reading = answer(look);
	if (!reading) {
		say(look, "not answered");
		return PM_TODO;
	}
	if (judge_listed(&look->step->proceed, reading->value.text)) {
		if (!pm_given(look->step->note) || pm_given(reading->note))
			return PM_DONE;
		if (look->why) {
			pm_text_str(look->why, "answered without its note: ");
			pm_text_visible(look->why, look->step->note.text, strlen(look->step->note.text));
		}
		return PM_TODO;
	}
	if (judge_listed(&look->step->halt, reading->value.text)) {
		if (look->why) {
			pm_text_str(look->why, "answered ");
			pm_text_quote(look->why, reading->value.text);
		}
		return PM_HALTED;
	}
	say(look, "the recorded answer is none that the plan knows");
	return PM_TODO;
}

/* A letter of any alphabet: what lies above ASCII is taken for one. */
bool pm_step_words(const char *text)
{
	for (; *text; text++)
		if (pm_is_alpha(*text) || (unsigned char)*text >= 0x80)
			return true;
	return false;
}

static enum pm_progress of_text(const struct look *look)
{
	const struct pm_reading *reading = answer(look);
	if (!reading || !pm_given(reading->value)) {
		say(look, "nothing written");
		return PM_TODO;
	}
	if (!look->step->words || pm_step_words(reading->value.text))
		return PM_DONE;
	say(look, "a number alone names nobody");
	return PM_TODO;
}

bool judge_measure(const struct pm_step *step, const char *value, struct pm_text *why)
{
	int64_t millionths;
	if (!pm_read_decimal(value, &millionths)) {
		pm_text_str(why, "not a number: ");
		pm_text_quote(why, value);
		return false;
	}
	bool low = step->least.word.text && millionths < step->least.millionths;
	bool high = step->most.word.text && millionths > step->most.millionths;
	if (low || high)
		pm_text_add(why, "%s %s is %s %s %s", value, step->unit.text, low ? "below" : "above",
		            low ? step->least.word.text : step->most.word.text, step->unit.text);
	return !low && !high;
}

static enum pm_progress of_number(const struct look *look)
{
	const struct pm_reading *reading = answer(look);
	char words[200];
	struct pm_text text;
	pm_text_fixed(&text, words, sizeof words);
	if (!reading) {
		say(look, "not measured");
		return PM_TODO;
	}
	if (judge_measure(look->step, reading->value.text, &text))
		return PM_DONE;
	say(look, words);
	return PM_HALTED;
}

bool judge_kit_count(const struct pm_job *job, const struct pm_kit_item *item, uint64_t *count)
{
	char key[160];
	struct pm_text text;
	pm_text_fixed(&text, key, sizeof key);
	pm_text_add(&text, "kit/%s", item->id.text);
	const struct pm_reading *reading = pm_fact_last(job, key);
	*count = 0;
	return reading && pm_read_number(reading->value.text, 9999, count);
}

static enum pm_progress of_kit(const struct look *look)
{
	const struct pm_plan *plan = look->c->plan;
	size_t open = 0;
	uint64_t count;
	for (size_t i = 0; i < plan->kit_count; i++)
		open += !judge_kit_count(look->c->job, &plan->kit[i], &count);
	if (!open)
		return PM_DONE;
	if (look->why)
		pm_text_add(look->why, "%zu of %zu kit items not counted", open, plan->kit_count);
	return PM_TODO;
}

/* The value of a fact that the site list gave with the job, or null. */
static const char *listed_value(const struct pm_job *job, const char *of)
{
	if (pm_same(of, "site/unit"))
		return job->unit.text;
	if (pm_same(of, "site/parent"))
		return job->parent.text;
	if (pm_same(of, "old/serial"))
		return job->old_serial.text;
	return NULL;
}

enum pm_standing judge_fact(const struct pm_job *job, const char *of, struct pm_fact *fact)
{
	*fact = pm_fact_find(job, of, judge_is_port(of) ? PM_AS_ADDRESS : PM_AS_TEXT);
	const char *list = listed_value(job, of);
	if (!list || !*list || !fact->first || fact->standing == PM_SKIPPED)
		return fact->standing;
	/* the site list counts as a reading of its own */
	if (!pm_fact_same(list, fact->first->value.text, PM_AS_TEXT))
		return PM_CONFLICT;
	return fact->standing == PM_HELD ? PM_CONFIRMED : fact->standing;
}

bool judge_is_port(const char *of)
{
	return of[0] == 'p' && of[1] == 'o' && of[2] == 'r' && of[3] == 't' && of[4] == '/';
}

/* A skip holds only where the plan allows one, and with a reason. */
static enum pm_progress of_skip(const struct look *look, const struct pm_reading *skip)
{
	if (look->step->skippable && pm_given(skip->note)) {
		say(look, "skipped with a reason");
		return PM_DOES_NOT_APPLY;
	}
	say(look, look->step->skippable ? "skipped without a reason" : "this step can't be skipped");
	return PM_TODO;
}

static enum pm_progress of_fact(const struct look *look)
{
	struct pm_fact fact;
	switch (judge_fact(look->c->job, look->step->fact.text, &fact)) {
	case PM_CONFIRMED: return PM_DONE;
	case PM_SKIPPED: return of_skip(look, fact.last);
	case PM_OPEN: say(look, "not read"); break;
	case PM_HELD: say(look, "read once; a second reading must confirm it"); break;
	case PM_CONFLICT: say(look, "readings that differ"); break;
	}
	return PM_TODO;
}

static enum pm_progress of_addresses(const struct look *look)
{
	const struct pm_roster *roster = look->roster;
	if (roster->count && roster->confirmed == roster->count)
		return PM_DONE;
	if (look->why)
		pm_text_add(look->why, "%zu of %zu addresses confirmed", roster->confirmed, roster->count);
	return PM_TODO;
}

void pm_step_wait(const struct pm_case *the_case, const struct pm_step *step, int64_t *least, int64_t *most)
{
	*least = *most = 0;
	if (!pm_wait_read(step->wait.text, least, most)) {
		*least = the_case->gear->boot_least;
		*most = the_case->gear->boot_most;
	}
	if (the_case->job->practice && the_case->job->practice_wait > 0) {
		*least = the_case->job->practice_wait;
		*most = *least * 2;
	}
}

static enum pm_progress of_wait(const struct look *look)
{
	const struct pm_reading *begun = answer(look);
	int64_t least, most;
	if (!begun || !begun->when.known) {
		say(look, "not begun");
		return PM_TODO;
	}
	pm_step_wait(look->c, look->step, &least, &most);
	int64_t left = begun->when.second + least - look->c->now.second;
	if (left <= 0)
		return PM_DONE;
	if (look->remaining)
		*look->remaining = left;
	char span[PM_WHEN_TEXT];
	if (look->why)
		pm_text_add(look->why, "%s to wait", pm_when_span(left, span));
	return PM_RUNNING;
}

static enum pm_progress of_sent(const struct look *look)
{
	if (pm_fact_last(look->c->job, "desk/sent"))
		return PM_DONE;
	say(look, "the sheet was not sent");
	return PM_TODO;
}

const struct pm_reading *judge_decision(const struct pm_job *job)
{
	const struct pm_reading *sent = pm_fact_last(job, "desk/sent");
	const struct pm_reading *decision = pm_fact_last(job, "desk/decision");
	/* a decision on an earlier sheet says nothing about the latest */
	return decision && sent && decision > sent ? decision : NULL;
}

static enum pm_progress of_decision(const struct look *look)
{
	const struct pm_reading *decision = judge_decision(look->c->job);
	if (!decision) {
		say(look, "no decision on the latest sheet");
		return PM_TODO;
	}
	if (pm_same(decision->value.text, "accepted"))
		return PM_DONE;
	say(look, "the latest sheet was rejected: correct it and send it again");
	return PM_HALTED;
}

static enum pm_progress of_appointment(const struct look *look)
{
	struct pm_when from, until;
	size_t phase;
	const char *reason = "";
	if (!judge_window(look->c->job, &from, &until, &reason)) {
		say(look, reason);
		return PM_TODO;
	}
	if (pm_plan_step(look->c->plan, look->step->id.text, &phase) &&
	    !judge_window_kept(look->c, &look->c->plan->phases[phase], from, until)) {
		say(look, "the window was missed: book again");
		return PM_TODO;
	}
	return PM_DONE;
}

static bool branch_taken(const struct look *look)
{
	const struct pm_step *step = look->step;
	if (!pm_given(step->only_step))
		return true;
	const struct pm_reading *on = judge_answer(look->c, step->only_step.text);
	return on && pm_same(on->value.text, step->only_answer.text);
}

enum pm_progress pm_step_progress(const struct pm_case *the_case, const struct pm_roster *roster,
                                  const struct pm_step *step, int64_t *remaining, struct pm_text *why)
{
	struct look look = { the_case, roster, step, why, remaining };
	if (remaining)
		*remaining = 0;
	if (!branch_taken(&look)) {
		say(&look, "applies only after another answer");
		return PM_DOES_NOT_APPLY;
	}
	const struct pm_reading *own = answer(&look);
	if (own && own->source == PM_SOURCE_SKIPPED)
		return of_skip(&look, own);
	switch (step->ask) {
	case PM_ASK_ANSWER: return of_answer(&look);
	case PM_ASK_TEXT: return of_text(&look);
	case PM_ASK_NUMBER: return of_number(&look);
	case PM_ASK_KIT: return of_kit(&look);
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: return of_fact(&look);
	case PM_ASK_ADDRESSES: return of_addresses(&look);
	case PM_ASK_WAIT: return of_wait(&look);
	case PM_ASK_SENT: return of_sent(&look);
	case PM_ASK_DECISION: return of_decision(&look);
	case PM_ASK_APPOINTMENT: return of_appointment(&look);
	case PM_ASKS: break;
	}
	return PM_TODO;
}

/* The latest answer to a step that applies only after this one stopped the job: the
 * way back. Readings stand in the order in which they came. */
static const struct pm_reading *way_back(const struct pm_case *c, const struct pm_step *step)
{
	const struct pm_reading *latest = NULL;
	for (size_t p = 0; p < c->plan->phase_count; p++)
		for (size_t i = 0; i < c->plan->phases[p].step_count; i++) {
			const struct pm_step *s = &c->plan->phases[p].steps[i];
			if (!pm_same(s->only_step.text, step->id.text) || !judge_listed(&step->halt, s->only_answer.text))
				continue;
			const struct pm_reading *reading = last_answer(c->job, s->id.text);
			if (reading && (!latest || reading > latest))
				latest = reading;
		}
	return latest;
}

bool pm_step_founded(const struct pm_case *the_case, const struct pm_roster *roster,
                     const struct pm_step *step, struct pm_text *why)
{
	size_t phase;
	if (!pm_plan_step(the_case->plan, step->id.text, &phase))
		return false;
	const struct pm_reading *back = way_back(the_case, step);
	for (const struct pm_step *s = the_case->plan->phases[phase].steps; s < step; s++) {
		char reason[160];
		struct pm_text text;
		pm_text_fixed(&text, reason, sizeof reason);
		enum pm_progress progress = pm_step_progress(the_case, roster, s, NULL, &text);
		const struct pm_reading *own = judge_answer(the_case, s->id.text);
		bool good = progress == PM_DONE || progress == PM_DOES_NOT_APPLY;
		/* what was so before the way back was begun need not be so after it */
		if (good && !(back && own && own < back))
			continue;
		if (good)
			pm_text_str(&text, "answered before the way back was begun");
		if (why) {
			pm_text_quote(why, s->title.text);
			pm_text_add(why, ": %s", reason);
		}
		return false;
	}
	return true;
}
