/* The lower part of the step screen: what was answered, and the answer asked for. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/answer.h"
#include "walk/frame.h"
#include "walk/step.h"

void answer_say(struct answer_place *p, enum canvas_style style, const char *text, int keep)
{
	int rows = p->end - p->row - keep;
	if (rows <= 0)
		return;
	int lines = canvas_wrap(p->canvas, p->row, 2, rows, p->columns - 3, style, text, 0);
	p->row += lines < rows ? lines : rows;
}

void answer_put(struct answer_place *p, int row, int column, int width, enum canvas_style style, const char *text)
{
	if (p->canvas)
		canvas_put(p->canvas, row, column, width, style, text);
}

void answer_field(struct answer_place *p, const char *label)
{
	char words[200];
	struct pm_text text;
	if (p->row >= p->end)
		return;
	pm_text_fixed(&text, words, sizeof words);
	pm_text_add(&text, "%s: ", label);
	int used = canvas_width(words);
	bool above = used > p->columns / 2 && p->row + 1 < p->end;
	if (above)
		answer_say(p, STYLE_STRONG, words, 1);
	else
		answer_put(p, p->row, 2, p->columns / 2, STYLE_STRONG, words);
	used = above ? 0 : used < p->columns / 2 ? used : p->columns / 2;
	int width = p->columns - used - 4;
	if (p->canvas)
		field_draw(&p->state->field, p->canvas, p->row, 2 + used, width > 60 ? 60 : width, true);
	p->row++;
}

/* --- typed values --- */

static void draw_number(struct answer_place *p)
{
	char shown[300];
	struct pm_text text;
	const char *least = p->step->least.word.text, *most = p->step->most.word.text;
	pm_text_fixed(&text, shown, sizeof shown);
	if (least || most) {
		if (least && most)
			pm_text_add(&text, "limits: %s to %s", least, most);
		else
			pm_text_add(&text, "limit: at %s %s", least ? "least" : "most", least ? least : most);
		pm_text_add(&text, " %s; source: %s", p->step->unit.text, p->step->limit_source.text);
		answer_say(p, STYLE_DIM, shown, 1);
	}
	char label[60];
	pm_text_fixed(&text, label, sizeof label);
	pm_text_add(&text, "in %s", p->step->unit.text);
	answer_field(p, label);
}

/* A practice site has its labels on a page. */
static void draw_labels(struct answer_place *p)
{
	char shown[600];
	struct pm_text text;
	if (!p->session->job.job.practice || p->low)
		return;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_str(&text, "practice: it stands in ");
	frame_labels(p->session, &text);
	answer_say(p, STYLE_DIM, shown, 1);
}

/* What was read stays out of sight while it is read again. */
static void draw_fact(struct answer_place *p)
{
	struct pm_fact fact = pm_fact_find(&p->session->job.job, p->step->fact.text, PM_AS_TEXT);
	const struct pm_finding *conflict = step_conflict(p->session, p->step);
	bool typing = p->state->field.length > 0;
	char shown[300];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	if (typing && fact.first) {
		answer_say(p, STYLE_WAIT, "what was read before is hidden while you type", 1);
	} else if (conflict) {
		answer_say(p, STYLE_BAD, p->low ? "the readings differ" : conflict->message, 2);
		answer_say(p, STYLE_PLAIN, p->low ? "empty Enter: take a wrong one back"
		           : "Look at the unit again. Enter with nothing typed: take a wrong reading back.", 1);
		if (fact.standing != PM_CONFLICT && !p->low)
			answer_say(p, STYLE_PLAIN, "If the site list is wrong, the lead corrects it at the head of the job file; then Esc, l.", 1);
	} else if (walk_progress(p->session, p->step, NULL, NULL) == PM_DONE && fact.first) {
		pm_text_str(&text, "confirmed: ");
		pm_text_quote(&text, fact.first->value.text);
		answer_say(p, STYLE_GOOD, shown, 1);
	} else if (fact.standing == PM_HELD) {
		answer_say(p, STYLE_WAIT, "first reading recorded, and hidden until the second one is typed", 1);
		answer_say(p, STYLE_PLAIN, "Look away from the screen and read it again from the source, not from notes.", 1);
	}
	draw_labels(p);
	answer_field(p, fact.first ? "read again" : "reading");
}

static void draw_sent(struct answer_place *p)
{
	if (!p->session->seal.complete) {
		answer_say(p, STYLE_BAD, "the facts are not complete yet: there is no seal to send", 0);
		return;
	}
	answer_seal(p);
	answer_field(p, "sent to");
}

static void draw_window(struct answer_place *p)
{
	char window[80], span[PM_WHEN_TEXT], shown[300];
	struct pm_when from, until;
	struct pm_text text;
	const struct pm_zone *zone = p->session->zone.look.zone;
	pm_text_fixed(&text, shown, sizeof shown);
	if (zone)
		pm_text_add(&text, "like 2026-03-09 09:00 to 11:00 in %s%s", zone->name, p->low ? "" : ", or 09:00 +01:00 to 11:00");
	else
		pm_text_str(&text, "like 2026-03-09 09:00 +01:00 to 11:00");
	answer_say(p, STYLE_DIM, shown, 1);
	answer_field(p, "window");
	pm_text_fixed(&text, shown, sizeof shown);
	if (!p->state->field.length || !walk_window(p->session, p->state->field.text, window, &text) ||
	    !pm_window_read(window, &from, &until, NULL))
		return;
	int64_t ahead = from.second - p->session->now.second;
	pm_zone_say_window(&text, zone, from, until);
	pm_text_add(&text, "; %s %s", pm_when_span(ahead < 0 ? -ahead : ahead, span), ahead >= 0 ? "from now" : "ago");
	answer_say(p, STYLE_DIM, shown, 0);
}

/* --- waits and addresses --- */

static void draw_bar(struct answer_place *p, int64_t least, int64_t left)
{
	int width = p->columns - 8 < 60 ? p->columns - 8 : 60;
	int full = least > 0 ? (int)((least - left) * width / least) : width;
	answer_put(p, p->row, 2, 1, STYLE_WAIT, "[");
	if (p->canvas) {
		canvas_fill(p->canvas, p->row, 3, 1, full, STYLE_WAIT, '#');
		canvas_fill(p->canvas, p->row, 3 + full, 1, width - full, STYLE_DIM, '.');
	}
	answer_put(p, p->row++, 3 + width, 1, STYLE_WAIT, "]");
}

/* How long the wait takes, here or at a site that is no practice. */
static void wait_times(const struct answer_place *p, bool practice, int64_t *least, int64_t *most)
{
	struct pm_case c = session_case(p->session);
	struct pm_job job = *c.job;
	job.practice = practice;
	c.job = &job;
	pm_step_wait(&c, p->step, least, most);
}

static void draw_wait(struct answer_place *p)
{
	int64_t left, least, most;
	int choices = (int)step_choices(p->step);
	enum pm_progress progress = walk_progress(p->session, p->step, &left, NULL);
	char span[PM_WHEN_TEXT], longest[PM_WHEN_TEXT], shown[200];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	wait_times(p, p->session->job.job.practice, &least, &most);
	if (progress == PM_RUNNING) {
		draw_bar(p, least, left);
		pm_text_add(&text, "%s left; do not touch the power", pm_when_span(left, span));
		answer_say(p, STYLE_STRONG, shown, choices);
		answer_say(p, STYLE_PLAIN, "You may leave the program: the time goes on, and is shown when you come back.", choices);
	} else if (progress == PM_DONE) {
		answer_say(p, STYLE_GOOD, "the least time has passed; Enter goes on", choices);
		pm_text_add(&text, "If the lamps are not steady %s after the start, stop and say so.", pm_when_span(most, longest));
		answer_say(p, STYLE_PLAIN, shown, choices);
	} else if (progress == PM_TODO) {
		pm_text_add(&text, "this takes %s to %s", pm_when_span(least, span), pm_when_span(most, longest));
		int64_t real_least, real_most;
		wait_times(p, false, &real_least, &real_most);
		if (real_least != least)
			pm_text_add(&text, " (practice; elsewhere %s to %s)", pm_when_span(real_least, span),
			            pm_when_span(real_most, longest));
		answer_say(p, STYLE_PLAIN, shown, choices);
	}
	answer_choices(p);
}

static void draw_addresses(struct answer_place *p)
{
	const struct pm_roster *roster = &p->session->result.roster;
	char shown[160];
	struct pm_text text;
	size_t conflicts = 0;
	for (size_t i = 0; i < roster->count; i++)
		conflicts += roster->call[i].fact.standing == PM_CONFLICT;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "%zu of %zu read, %zu confirmed", roster->held + conflicts, roster->count, roster->confirmed);
	if (conflicts)
		pm_text_add(&text, ", %zu IN CONFLICT: their readings differ", conflicts);
	answer_say(p, conflicts ? STYLE_BAD : STYLE_STRONG, shown, 0);
	if (roster->confirmed == roster->count)
		answer_say(p, STYLE_GOOD, "Enter goes on to the next step; Esc, then p, opens the port map.", 0);
	else
		answer_say(p, STYLE_PLAIN, "Enter opens the port map: c there reads the console itself, r a saved log; an address may be typed.", 0);
}

/* --- the whole --- */

/* The rule above the answer, with what the step has come to. */
static void draw_progress(struct answer_place *p, enum pm_progress progress, const char *reason)
{
	char shown[300];
	struct pm_text text;
	enum canvas_style style;
	progress_mark(progress, &style);
	char more[40];
	pm_text_fixed(&text, more, sizeof more);
	if (p->more < 0)
		pm_text_str(&text, " Enter: answer ");
	else if (p->more)
		pm_text_add(&text, p->columns < 60 ? " %d line%s: PgDn " : " %d more line%s above: PgDn ", p->more, p->more == 1 ? "" : "s");
	int room = p->columns - 6 - (p->more ? canvas_width(more) + 1 : 0);
	bool booked = p->step->ask == PM_ASK_APPOINTMENT && pm_fact_last(&p->session->job.job, "desk/appointment");
	bool why = *reason && (progress != PM_TODO || p->step->ask == PM_ASK_KIT || booked);
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, " %s%s", progress_word(progress), p->low && p->step->critical ? ", CRITICAL" : "");
	if (why && canvas_width(shown) + canvas_width(reason) + 3 <= room)
		pm_text_add(&text, ": %s", reason);
	pm_text_char(&text, ' ');
	if (p->canvas)
		canvas_rule(p->canvas, p->row, 1, p->columns - 2);
	answer_put(p, p->row, p->columns - 2 - canvas_width(more), canvas_width(more), STYLE_CAUTION, more);
	answer_put(p, p->row++, 3, room, style == STYLE_PLAIN ? STYLE_STRONG : style, shown);
}

void answer_rule(struct answer_place *p)
{
	char reason[200];
	struct pm_text why;
	pm_text_fixed(&why, reason, sizeof reason);
	enum pm_progress progress = walk_progress(p->session, p->step, NULL, &why);
	draw_progress(p, progress, reason);
}

void answer_draw(struct answer_place *p)
{
	enum pm_progress progress = walk_progress(p->session, p->step, NULL, NULL);
	answer_rule(p);
	answer_recorded(p, progress);
	if (p->state->choice >= 0 && step_has_field(p->step)) {
		answer_field(p, "why it does not apply");
		return;
	}
	switch (p->step->ask) {
	case PM_ASK_ANSWER:
	case PM_ASK_DECISION: answer_choices(p); break;
	case PM_ASK_TEXT: answer_field(p, "type it"); break;
	case PM_ASK_NUMBER: draw_number(p); break;
	case PM_ASK_KIT: answer_kit(p); break;
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: draw_fact(p); break;
	case PM_ASK_WAIT: draw_wait(p); break;
	case PM_ASK_SENT: draw_sent(p); break;
	case PM_ASK_APPOINTMENT: draw_window(p); break;
	case PM_ASK_ADDRESSES: draw_addresses(p); break;
	case PM_ASKS: break;
	}
}
