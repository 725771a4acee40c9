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

void answer_field(struct answer_place *p, const char *label)
{
	int used = canvas_width(label) + 2;
	if (p->row >= p->end)
		return;
	if (used > p->columns / 2 && p->row + 1 < p->end) {
		canvas_print(p->canvas, p->row++, 2, p->columns - 3, STYLE_STRONG, "%s:", label);
		used = 0;
	} else {
		used = canvas_print(p->canvas, p->row, 2, p->columns / 2, STYLE_STRONG, "%s: ", label);
	}
	int width = p->columns - used - 4;
	field_draw(&p->state->field, p->canvas, p->row++, 2 + used, width > 60 ? 60 : width, true);
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
	answer_field(p, fact.first ? "read again" : "reading");
}

static void draw_sent(struct answer_place *p)
{
	const struct pm_seal *seal = &p->session->seal;
	char words[160];
	struct pm_text text;
	pm_text_fixed(&text, words, sizeof words);
	for (const char *c = seal->text; *c; c++)
		if (pm_spell(*c))
			pm_text_add(&text, "%s%s", text.length ? " " : "", pm_spell(*c));
	if (!seal->complete) {
		answer_say(p, STYLE_BAD, "the facts are not complete yet: there is no seal to send", 0);
		return;
	}
	if (p->row < p->end - 1)
		canvas_print(p->canvas, p->row++, 2, p->columns - 4, STYLE_STRONG, "seal  %s", seal->text);
	answer_say(p, STYLE_PLAIN, words, 1);
	answer_field(p, "sent to");
}

static void draw_window(struct answer_place *p)
{
	char window[80], a[PM_WHEN_TEXT], b[PM_WHEN_TEXT], span[PM_WHEN_TEXT], shown[200];
	struct pm_when from, until;
	struct pm_text text;
	const char *why = "";
	answer_say(p, STYLE_DIM, "like 2026-03-09 09:00 +01:00 to 11:00", 1);
	answer_field(p, "window");
	if (!p->state->field.length || !walk_window(p->state->field.text, window, &why) ||
	    !pm_window_read(window, &from, &until, &why))
		return;
	int64_t ahead = from.second - p->session->now.second;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "%s to %s, %s %s", pm_when_write(from, a), pm_when_write(until, b),
	            pm_when_span(ahead < 0 ? -ahead : ahead, span), ahead >= 0 ? "from now" : "ago");
	answer_say(p, STYLE_DIM, shown, 0);
}

/* --- waits and addresses --- */

static void draw_wait(struct answer_place *p)
{
	struct pm_case c = session_case(p->session);
	int64_t left, least, most;
	int choices = (int)step_choices(p->step);
	enum pm_progress progress = walk_progress(p->session, p->step, &left, NULL);
	char span[PM_WHEN_TEXT], longest[PM_WHEN_TEXT], shown[200];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_step_wait(&c, p->step, &least, &most);
	if (progress == PM_RUNNING) {
		int width = p->columns - 8 < 60 ? p->columns - 8 : 60;
		int full = least > 0 ? (int)((least - left) * width / least) : width;
		canvas_put(p->canvas, p->row, 2, 1, STYLE_WAIT, "[");
		canvas_fill(p->canvas, p->row, 3, 1, full, STYLE_WAIT, '#');
		canvas_fill(p->canvas, p->row, 3 + full, 1, width - full, STYLE_DIM, '.');
		canvas_put(p->canvas, p->row++, 3 + width, 1, STYLE_WAIT, "]");
		pm_text_add(&text, "%s left; do not touch the power", pm_when_span(left, span));
		answer_say(p, STYLE_STRONG, shown, choices);
		answer_say(p, STYLE_PLAIN, "You may leave the program: the time goes on, and is shown when you come back.", choices);
	} else if (progress == PM_DONE) {
		answer_say(p, STYLE_GOOD, "the least time has passed; Enter goes on", choices);
		pm_text_add(&text, "If the lamps are not steady %s after the start, stop and say so.", pm_when_span(most, longest));
		answer_say(p, STYLE_PLAIN, shown, choices);
	} else if (progress == PM_TODO) {
		pm_text_add(&text, "this takes %s to %s", pm_when_span(least, span), pm_when_span(most, longest));
		answer_say(p, STYLE_PLAIN, shown, choices);
	}
	answer_choices(p);
}

static void draw_addresses(struct answer_place *p)
{
	const struct pm_roster *roster = &p->session->result.roster;
	char shown[120];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "%zu of %zu read, %zu confirmed", roster->held, roster->count, roster->confirmed);
	answer_say(p, STYLE_STRONG, shown, 0);
	answer_say(p, STYLE_PLAIN, "Enter opens the port map: c there reads the console itself, r a saved log; an address may be typed.", 0);
}

/* --- what stands already --- */

static void draw_last(struct answer_place *p, enum pm_progress progress)
{
	char of[200], shown[1200], at[16];
	struct pm_text text;
	if (p->step->ask == PM_ASK_KIT || p->step->ask == PM_ASK_SERIAL || p->step->ask == PM_ASK_CODE)
		return;   /* these show it themselves */
	step_fact(p->step, p->session, 0, of);
	const struct pm_reading *last = pm_fact_last(&p->session->job.job, of);
	if (!last)
		return;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_str(&text, progress == PM_TODO ? "before: " : "recorded: ");
	pm_text_quote(&text, last->source == PM_SOURCE_SKIPPED ? "does not apply" : last->value.text);
	if (p->step->ask == PM_ASK_NUMBER)
		pm_text_add(&text, " %s", p->step->unit.text);
	if (pm_given(last->note)) {
		pm_text_str(&text, ", ");
		pm_text_quote(&text, last->note.text);
	}
	frame_clock(last->when, at);
	pm_text_add(&text, ", %s, %s", last->by.text ? last->by.text : "-", at);
	enum canvas_style style = progress == PM_TODO ? STYLE_DIM : progress == PM_HALTED ? STYLE_BAD : STYLE_GOOD;
	/* it gives way to the answers where there is no room for both */
	int keep = p->state->noting ? 1 : 0;
	for (size_t i = 0; i < step_choices(p->step); i++)
		keep += answer_choice_lines(p, i);
	if (keep < 2)
		keep = 2;
	if (!p->low || p->end - p->row - keep >= canvas_wrap(NULL, 0, 0, 0, p->columns - 3, style, shown, 0))
		answer_say(p, style, shown, keep);
}

/* The phase holds for another cause than this step: say which. */
static void draw_shut(struct answer_place *p, enum pm_progress progress)
{
	const struct session *session = p->session;
	char shown[400];
	struct pm_text text;
	size_t phase = p->state->phase;
	bool opening = !session->result.gates.open[phase];
	if (!opening && (progress != PM_DONE || phase != session->result.phase ||
	                 p->state->step + 1 < session->plan.plan.phases[phase].step_count))
		return;
	const struct pm_gate_line *line = walk_unmet(session, phase, !opening);
	if (!line)
		return;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "the phase %s: %s (%s)", opening ? "is shut" : "does not close yet", line->why, line->who);
	answer_say(p, STYLE_BAD, shown, 1);
}

/* How long the window of a cutover still is. */
static void draw_window_left(struct answer_place *p)
{
	const struct session *session = p->session;
	const struct pm_gate_line *line = session->job.job.live ? walk_window_line(session, p->state->phase) : NULL;
	if (line && line->met)
		answer_say(p, strstr(line->why, "closed") ? STYLE_BAD : STYLE_WAIT, line->why, 2);
}

/* Where the sheet goes out, the menu has what it takes. */
static void draw_sheet_hint(struct answer_place *p)
{
	const struct pm_phase *phase = walk_phase(p->state, p->session);
	bool sends = false;
	for (size_t i = 0; i < phase->step_count; i++)
		sends = sends || phase->steps[i].ask == PM_ASK_SENT;
	if (sends && !p->low && p->session->result.gates.open[p->state->phase])
		answer_say(p, STYLE_DIM, "Esc, x writes the sheet. Esc, e shows the seal, to compare it.",
		           (int)step_choices(p->step));
}

/* The rule above the answer, with what the step has come to. */
static void draw_progress(struct answer_place *p, enum pm_progress progress, const char *reason)
{
	char shown[300];
	struct pm_text text;
	enum canvas_style style;
	progress_mark(progress, &style);
	int room = p->columns - (p->more ? 18 : 6);
	bool booked = p->step->ask == PM_ASK_APPOINTMENT && pm_fact_last(&p->session->job.job, "desk/appointment");
	bool why = *reason && (progress != PM_TODO || p->step->ask == PM_ASK_KIT || booked);
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, " %s%s", progress_word(progress), p->low && p->step->critical ? ", CRITICAL" : "");
	if (why && canvas_width(shown) + canvas_width(reason) + 3 <= room)
		pm_text_add(&text, ": %s", reason);
	pm_text_char(&text, ' ');
	canvas_rule(p->canvas, p->row, 1, p->columns - 2);
	if (p->more)
		canvas_put(p->canvas, p->row, p->columns - 14, 12, STYLE_STRONG, " more: PgDn ");
	canvas_put(p->canvas, p->row++, 3, room, style == STYLE_PLAIN ? STYLE_STRONG : style, shown);
}

void answer_draw(struct answer_place *p)
{
	char reason[200];
	struct pm_text why;
	pm_text_fixed(&why, reason, sizeof reason);
	enum pm_progress progress = walk_progress(p->session, p->step, NULL, &why);
	draw_progress(p, progress, reason);
	draw_last(p, progress);
	draw_shut(p, progress);
	draw_window_left(p);
	draw_sheet_hint(p);
	if (walk_outlived(p->session, p->state->phase, p->step))
		answer_say(p, STYLE_WAIT, walk_window_line(p->session, p->state->phase)
		           ? "that was for an earlier appointment: answer it again"
		           : "that was for an earlier sheet: answer it again", 1);
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
