/* Route, findings, waivers and readings to take back: what keys do there. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/lists.h"
#include "walk/step.h"

static int request_of(const struct walk_state *state, const struct screen_event *event)
{
	const struct walk_screen_row *row = &walk_screens[state->screen];
	return keytable_request(row->keys, row->key_count, event);
}

/* What all lists do with Escape, help and the menu. */
static bool list_common(struct walk_state *state, const struct session *session, int request)
{
	switch (request) {
	case ASK_BACK:
		walk_show_step(state, session, state->phase, state->step);
		return true;
	case ASK_HELP:
		walk_over(state, WALK_HELP);
		return true;
	case ASK_PORTS:
		walk_go(state, session, WALK_PORTS);
		return true;
	case ASK_MENU:
		walk_over(state, WALK_MENU);
		return true;
	}
	return false;
}

/* --- route --- */

size_t route_rows(const struct session *session)
{
	const struct pm_plan *plan = &session->plan.plan;
	size_t rows = plan->phase_count;
	for (size_t p = 0; p < plan->phase_count; p++)
		rows += plan->phases[p].step_count;
	return rows;
}

struct route_row route_at(const struct session *session, size_t row)
{
	const struct pm_plan *plan = &session->plan.plan;
	for (size_t p = 0; p < plan->phase_count; p++) {
		if (row == 0)
			return (struct route_row){ p, ROUTE_PHASE };
		row--;
		if (row < plan->phases[p].step_count)
			return (struct route_row){ p, row };
		row -= plan->phases[p].step_count;
	}
	return (struct route_row){ plan->phase_count - 1, ROUTE_PHASE };
}

void route_open(struct walk_state *state, const struct session *session)
{
	size_t rows = route_rows(session);
	for (state->row = 0; state->row < rows; state->row++) {
		struct route_row at = route_at(session, state->row);
		if (at.phase == state->phase && at.step == state->step)
			return;
	}
	state->row = 0;
}

void route_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	int request = request_of(state, event);
	if (walk_move_row(&state->row, request, route_rows(session)) || list_common(state, session, request))
		return;
	struct route_row at = route_at(session, state->row);
	if (request == ASK_ENTER)
		walk_show_step(state, session, at.phase, at.step == ROUTE_PHASE ? 0 : at.step);
	else if (request == ASK_WAIVE)
		walk_go(state, session, WALK_WAIVE);
}

/* --- findings --- */

static void go_to_finding(struct walk_state *state, const struct session *session)
{
	if (state->row >= session->result.findings.count)
		return;
	const struct pm_finding *finding = &session->result.findings.item[state->row];
	const struct pm_plan *plan = &session->plan.plan;
	if (finding->interface) {
		size_t port = pm_roster_find(&session->gear.gear, finding->interface, strlen(finding->interface));
		walk_go(state, session, WALK_PORTS);
		if (port != PM_NO_PORT)
			state->row = port;
		return;
	}
	for (size_t p = 0; finding->field && p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++) {
			const struct pm_step *step = &plan->phases[p].steps[s];
			size_t items = step->ask == PM_ASK_KIT ? plan->kit_count : 1;
			for (size_t i = 0; i < items; i++) {
				char of[200];
				step_fact(step, session, i, of);
				if (!pm_same(of, finding->field))
					continue;
				walk_show_step(state, session, p, s);
				if (step->ask == PM_ASK_KIT)
					state->row = i;
				return;
			}
		}
	walk_say(state, STYLE_WAIT, "this one is mended in the job file, not on a step");
}

void findings_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	int request = request_of(state, event);
	if (walk_move_row(&state->row, request, session->result.findings.count) || list_common(state, session, request))
		return;
	if (request == ASK_ENTER)
		go_to_finding(state, session);
	else if (request == ASK_WAIVE)
		walk_go(state, session, WALK_WAIVE);
}

/* --- waivers --- */

static bool may_be_waived(const struct pm_gate_line *line)
{
	return line->need->waiver && !line->met;
}

size_t waive_count(const struct session *session)
{
	size_t count = 0;
	for (size_t i = 0; i < session->result.gates.count; i++)
		count += may_be_waived(&session->result.gates.line[i]);
	return count;
}

size_t waive_line(const struct session *session, size_t row)
{
	for (size_t i = 0; i < session->result.gates.count; i++)
		if (may_be_waived(&session->result.gates.line[i]) && row-- == 0)
			return i;
	return session->result.gates.count;
}

static void ask_stage(struct walk_state *state, enum waive_stage stage)
{
	static const char *const asked[] = {
		[WAIVE_LEAD] = "which lead decided it? Type the name, then Enter",
		[WAIVE_HOW] = "how did the lead say so? By telephone, in writing, at the rack: type it, then Enter",
		[WAIVE_REASON] = "the lead's reason, eight characters at least, then Enter",
	};
	state->stage = stage;
	state->typing = true;
	state->warned[0] = '\0';
	field_clear(&state->field);
	walk_say(state, STYLE_WAIT, "%s", asked[stage]);
}

/* The name is asked for, never taken from the sign-in: whoever stands at the rack
 * is seldom the lead, and says so once more when it is. */
static void enter_lead(struct walk_state *state, const struct session *session)
{
	const char *name = state->field.text;
	if (state->field.length < 2 || state->field.length >= sizeof state->waiver.by) {
		walk_say(state, STYLE_BAD, "type the lead's name, 2 to %zu characters: the waiver is the lead's", sizeof state->waiver.by - 1);
		return;
	}
	if (strcmp(name, session->by) == 0 && strcmp(state->warned, name) != 0) {
		memcpy(state->warned, name, state->field.length + 1);
		walk_say(state, STYLE_BAD, "you signed in with that name. A waiver is a lead's decision: Enter again if you are the lead");
		return;
	}
	memcpy(state->waiver.by, name, state->field.length + 1);
	ask_stage(state, WAIVE_HOW);
}

static void enter_waiver(struct walk_state *state, const struct session *session)
{
	switch ((enum waive_stage)state->stage) {
	case WAIVE_LEAD:
		enter_lead(state, session);
		break;
	case WAIVE_HOW:
		if (state->field.length < 2 || state->field.length >= sizeof state->waiver.how) {
			walk_say(state, STYLE_BAD, "say in a few words how the lead decided: by telephone, in writing, at the rack");
			break;
		}
		memcpy(state->waiver.how, state->field.text, state->field.length + 1);
		ask_stage(state, WAIVE_REASON);
		break;
	case WAIVE_REASON:
		if (state->field.length < 8) {
			walk_say(state, STYLE_BAD, "a waiver needs a reason that somebody else can understand");
			break;
		}
		state->line = waive_line(session, state->row);
		if (state->line < session->result.gates.count)
			state->want = WANT_WAIVE;
		else
			walk_say(state, STYLE_WAIT, "that condition has been met meanwhile: nothing is left to waive");
		break;
	}
}

void waive_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	size_t count = waive_count(session);
	if (state->typing) {
		if (field_key(&state->field, event))
			return;
		if (event->kind == EVENT_KEY && event->key == KEYS_ESCAPE) {
			state->typing = false;
			walk_say(state, STYLE_WAIT, "nothing was waived");
		} else if (event->kind == EVENT_KEY && event->key == KEYS_ENTER && !event->burst) {
			enter_waiver(state, session);
		}
		return;
	}
	int request = request_of(state, event);
	if (walk_move_row(&state->row, request, count) || list_common(state, session, request))
		return;
	if (request == ASK_ENTER && state->row < count) {
		if (session->read_only) {
			walk_say(state, STYLE_BAD, "read-only: %s", session->held_by);
			return;
		}
		ask_stage(state, WAIVE_LEAD);
	}
}

/* --- taking a reading back --- */

const struct pm_reading *take_back_at(const struct walk_state *state, const struct session *session, size_t row)
{
	const struct pm_reading *reading;
	size_t at = 0;
	while ((reading = pm_fact_next(&session->job.job, state->of, &at)))
		if (row-- == 0)
			return reading;
	return NULL;
}

size_t take_back_count(const struct walk_state *state, const struct session *session)
{
	size_t count = 0, at = 0;
	while (pm_fact_next(&session->job.job, state->of, &at))
		count++;
	return count;
}

void take_back_open(struct walk_state *state, const struct session *session)
{
	if (take_back_count(state, session) <= state->row)
		state->row = 0;
	state->typing = false;
}

static void enter_reason(struct walk_state *state, const struct session *session)
{
	char of[sizeof state->of];
	const struct pm_reading *reading = take_back_at(state, session, state->row);
	if (state->field.length == 0 || !reading) {
		walk_say(state, STYLE_BAD, "say why, so that the file tells the story");
		return;
	}
	memcpy(of, state->of, sizeof of);
	walk_fill_entry(state, of, reading->value.text, PM_SOURCE_WITHDRAWN, state->field.text);
	state->want = WANT_RECORD;
}

/* A withdrawal is of a value, not of one reading: how many bear the one in focus? */
static size_t take_back_same(const struct walk_state *state, const struct session *session)
{
	const struct pm_reading *reading, *chosen = take_back_at(state, session, state->row);
	size_t at = 0, same = 0;
	while (chosen && (reading = pm_fact_next(&session->job.job, state->of, &at)))
		same += pm_same(reading->value.text, chosen->value.text);
	return same;
}

void take_back_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	if (state->typing) {
		if (field_key(&state->field, event))
			return;
		if (event->kind == EVENT_KEY && event->key == KEYS_ESCAPE)
			state->typing = false;
		else if (event->kind == EVENT_KEY && event->key == KEYS_ENTER && !event->burst)
			enter_reason(state, session);
		return;
	}
	int request = request_of(state, event);
	size_t count = take_back_count(state, session);
	if (walk_move_row(&state->row, request, count))
		return;
	if (request == ASK_BACK && strncmp(state->of, "port/", 5) == 0) {
		size_t port = pm_roster_find(&session->gear.gear, state->of + 5, strlen(state->of + 5));
		walk_go(state, session, WALK_PORTS);
		if (port != PM_NO_PORT)
			state->row = port;
		return;
	}
	if (list_common(state, session, request))
		return;
	if (request == ASK_ENTER && count) {
		if (session->read_only) {
			walk_say(state, STYLE_BAD, "read-only: %s", session->held_by);
			return;
		}
		size_t same = take_back_same(state, session);
		state->typing = true;
		if (same > 1)
			walk_say(state, STYLE_WAIT, "all %zu readings of that value are taken back: type why, then Enter", same);
		else
			walk_say(state, STYLE_WAIT, "type why this reading is taken back, then Enter");
	}
}
