/* The step screen: what to do, what can hurt, and the answer asked for. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/frame.h"
#include "walk/step.h"

struct place {
	const struct walk_state *state;
	const struct session *session;
	const struct pm_step *step;
	struct canvas *canvas;
	struct frame area;
	int row;        /* next free row of the answer part */
	int end;        /* one past its last row */
};

static void line(struct place *p, enum canvas_style style, const char *text)
{
	if (p->row < p->end)
		canvas_put(p->canvas, p->row++, 2, p->area.columns - 3, style, text);
}

static void field(struct place *p, const char *label)
{
	if (p->row >= p->end)
		return;
	int used = canvas_print(p->canvas, p->row, 2, p->area.columns / 2, STYLE_STRONG, "%s: ", label);
	int width = p->area.columns - used - 4;
	field_draw(&p->state->field, p->canvas, p->row++, 2 + used, width > 60 ? 60 : width, true);
}

/* --- the parts, by what the step asks for --- */

static void draw_choices(struct place *p)
{
	size_t count = step_choices(p->step);
	for (size_t i = 0; i < count && p->row < p->end; i++) {
		bool halts, chosen = p->state->choice == (int)i;
		const char *text = step_choice_text(p->step, i, &halts);
		canvas_print(p->canvas, p->row, 2, p->area.columns - 3, chosen ? STYLE_CHOSEN : STYLE_PLAIN,
		             "%s %c  %s%s", chosen ? ">" : " ", (char)('a' + (int)i), text,
		             halts ? "   (the job stops here)" : "");
		if (chosen) {
			p->canvas->cursor_row = p->row;
			p->canvas->cursor_column = 2;
		}
		p->row++;
	}
	if (p->state->noting)
		field(p, p->step->ask == PM_ASK_DECISION ? "reference or reason"
		         : step_is_skip(p->step, (size_t)p->state->choice) ? "why it does not apply" : "note");
}

static void draw_last(struct place *p, enum pm_progress progress)
{
	char of[200], shown[300], at[PM_WHEN_TEXT];
	struct pm_text text;
	pm_text_fixed(&text, of, sizeof of);
	pm_text_add(&text, "step/%s", p->step->id.text);
	const char *key = p->step->ask == PM_ASK_SENT ? "desk/sent" : p->step->ask == PM_ASK_DECISION ? "desk/decision"
	                : p->step->ask == PM_ASK_APPOINTMENT ? "desk/appointment" : of;
	const struct pm_reading *last = pm_fact_last(&p->session->job.job, key);
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
	pm_text_add(&text, ", %s, %s", last->by.text ? last->by.text : "-", pm_when_write(last->when, at));
	line(p, progress == PM_TODO ? STYLE_DIM : progress == PM_HALTED ? STYLE_BAD : STYLE_GOOD, shown);
}

static void draw_number(struct place *p)
{
	char shown[300];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	if (p->step->least.word.text || p->step->most.word.text) {
		const char *least = p->step->least.word.text, *most = p->step->most.word.text;
		if (least && most)
			pm_text_add(&text, "limits: %s to %s", least, most);
		else
			pm_text_add(&text, "limit: at %s %s", least ? "least" : "most", least ? least : most);
		pm_text_add(&text, " %s; source: %s", p->step->unit.text, p->step->limit_source.text);
		p->row += canvas_wrap(p->canvas, p->row, 2, p->end - p->row, p->area.columns - 4, STYLE_DIM, shown, 0);
	}
	field(p, p->step->unit.text);
}

static void draw_kit(struct place *p)
{
	const struct pm_plan *plan = &p->session->plan.plan;
	size_t room = (size_t)(p->end - p->row), first = frame_first(p->state->row, plan->kit_count, room);
	for (size_t i = first; i < plan->kit_count && p->row < p->end; i++) {
		const struct pm_kit_item *item = &plan->kit[i];
		char of[200];
		struct pm_text text;
		uint64_t count = 0;
		pm_text_fixed(&text, of, sizeof of);
		pm_text_add(&text, "kit/%s", item->id.text);
		const struct pm_reading *reading = pm_fact_last(&p->session->job.job, of);
		bool counted = reading && pm_read_number(reading->value.text, 9999, &count);
		bool short_of = counted && count < (uint64_t)item->need;
		bool focused = i == p->state->row;
		canvas_print(p->canvas, p->row, 2, 44, focused ? STYLE_CHOSEN : short_of ? STYLE_BAD : STYLE_PLAIN,
		             "%s %-40.40s", focused ? ">" : " ", item->name.text);
		canvas_print(p->canvas, p->row, 47, 10, STYLE_PLAIN, "need %lld", (long long)item->need);
		if (focused)
			field_draw(&p->state->field, p->canvas, p->row, 57, 6, true);
		if (counted)
			canvas_print(p->canvas, p->row, 64, p->area.columns - 65, short_of ? STYLE_BAD : STYLE_GOOD,
			             "%llu %s", (unsigned long long)count, short_of ? "SHORT" : "here");
		p->row++;
	}
}

static void draw_fact(struct place *p)
{
	struct pm_fact fact = pm_fact_find(&p->session->job.job, p->step->fact.text, PM_AS_TEXT);
	enum pm_progress progress = walk_progress(p->session, p->step, NULL, NULL);
	char shown[200];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	if (progress == PM_DONE && fact.first) {
		pm_text_str(&text, "confirmed: ");
		pm_text_quote(&text, fact.first->value.text);
		line(p, STYLE_GOOD, shown);
		return;
	}
	if (fact.standing == PM_CONFLICT) {
		pm_text_str(&text, "two readings that differ: ");
		pm_text_quote(&text, fact.first->value.text);
		pm_text_str(&text, " and ");
		pm_text_quote(&text, fact.second->value.text);
		line(p, STYLE_BAD, shown);
		line(p, STYLE_PLAIN, "Look at the unit again. Enter with nothing typed: take the wrong one back.");
	} else if (fact.standing == PM_HELD && progress == PM_TODO) {
		line(p, STYLE_WAIT, "first reading recorded, and hidden until the second one is typed");
		line(p, STYLE_PLAIN, "Look away from the screen and read it again from the source, not from notes.");
	}
	field(p, fact.standing == PM_OPEN ? "first reading" : "read again");
}

static void draw_wait(struct place *p)
{
	struct pm_case c = session_case(p->session);
	int64_t left, least, most;
	enum pm_progress progress = walk_progress(p->session, p->step, &left, NULL);
	char span[PM_WHEN_TEXT], longest[PM_WHEN_TEXT];
	pm_step_wait(&c, p->step, &least, &most);
	if (progress == PM_RUNNING) {
		int width = p->area.columns - 8 < 60 ? p->area.columns - 8 : 60;
		int full = least > 0 ? (int)((least - left) * width / least) : width;
		canvas_put(p->canvas, p->row, 2, 1, STYLE_WAIT, "[");
		canvas_fill(p->canvas, p->row, 3, 1, full, STYLE_WAIT, '#');
		canvas_fill(p->canvas, p->row, 3 + full, 1, width - full, STYLE_DIM, '.');
		canvas_put(p->canvas, p->row++, 3 + width, 1, STYLE_WAIT, "]");
		canvas_print(p->canvas, p->row++, 2, p->area.columns - 4, STYLE_STRONG,
		             "%s left; do not touch the power", pm_when_span(left, span));
		line(p, STYLE_PLAIN, "You may leave the program: the time goes on, and is shown when you come back.");
	} else if (progress == PM_DONE) {
		line(p, STYLE_GOOD, "the least time has passed");
		canvas_print(p->canvas, p->row++, 2, p->area.columns - 4, STYLE_PLAIN,
		             "If the lamps are not steady after %s from the start, stop and say so.",
		             pm_when_span(most, longest));
	} else {
		canvas_print(p->canvas, p->row++, 2, p->area.columns - 4, STYLE_PLAIN, "this takes %s to %s",
		             pm_when_span(least, span), pm_when_span(most, longest));
	}
	draw_choices(p);
}

static void draw_sent(struct place *p)
{
	const struct pm_seal *seal = &p->session->seal;
	char words[160];
	struct pm_text text;
	pm_text_fixed(&text, words, sizeof words);
	for (const char *c = seal->text; *c; c++)
		if (pm_spell(*c))
			pm_text_add(&text, "%s%s", text.length ? " " : "", pm_spell(*c));
	if (!seal->complete) {
		line(p, STYLE_BAD, "the facts are not complete yet: there is no seal to send");
		return;
	}
	canvas_print(p->canvas, p->row++, 2, p->area.columns - 4, STYLE_STRONG, "seal  %s", seal->text);
	line(p, STYLE_PLAIN, words);
	field(p, "sent to");
}

static void draw_window(struct place *p)
{
	char window[80], a[PM_WHEN_TEXT], b[PM_WHEN_TEXT], span[PM_WHEN_TEXT];
	struct pm_when from, until;
	const char *why = "";
	line(p, STYLE_DIM, "like 2026-03-09 09:00 +01:00 to 11:00");
	field(p, "window");
	if (p->state->field.length && walk_window(p->state->field.text, window, &why) &&
	    pm_window_read(window, &from, &until, &why) && p->row < p->end) {
		int64_t ahead = from.second - p->session->now.second;
		canvas_print(p->canvas, p->row++, 2, p->area.columns - 4, STYLE_DIM, "%s to %s, %s %s",
		             pm_when_write(from, a), pm_when_write(until, b), pm_when_span(ahead, span),
		             ahead >= 0 ? "from now" : "ago");
	}
}

static void draw_addresses(struct place *p)
{
	const struct pm_roster *roster = &p->session->result.roster;
	canvas_print(p->canvas, p->row++, 2, p->area.columns - 4, STYLE_STRONG,
	             "%zu of %zu read, %zu confirmed", roster->held, roster->count, roster->confirmed);
	line(p, STYLE_PLAIN, "Enter opens the port map: read a console log there, or type an address.");
}

/* Rows that the answer part would like to have. */
static int wanted(const struct pm_step *step, const struct session *session)
{
	switch (step->ask) {
	case PM_ASK_KIT: return (int)session->plan.plan.kit_count + 1 > 9 ? 9 : (int)session->plan.plan.kit_count + 1;
	case PM_ASK_ANSWER: return (int)step_choices(step) + 3;
	case PM_ASK_WAIT: return 6;
	case PM_ASK_NUMBER:
	case PM_ASK_SERIAL:
	case PM_ASK_CODE:
	case PM_ASK_SENT:
	case PM_ASK_APPOINTMENT:
	case PM_ASK_DECISION: return 5;
	case PM_ASK_TEXT:
	case PM_ASK_ADDRESSES:
	case PM_ASKS: break;
	}
	return 4;
}

/* The phase holds for another cause than this step: say which. */
static void draw_shut(struct place *p, enum pm_progress progress)
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
	if (p->row < p->end)
		p->row += canvas_wrap(p->canvas, p->row, 2, 2, p->area.columns - 4, STYLE_BAD, shown, 0);
}

static void draw_answer(struct place *p)
{
	char reason[200];
	struct pm_text why;
	pm_text_fixed(&why, reason, sizeof reason);
	enum pm_progress progress = walk_progress(p->session, p->step, NULL, &why);
	enum canvas_style style;
	progress_mark(progress, &style);
	canvas_rule(p->canvas, p->row, 1, p->area.columns - 2);
	canvas_print(p->canvas, p->row++, 3, p->area.columns - 6, style == STYLE_PLAIN ? STYLE_STRONG : style, " %s%s%s ",
	             progress_word(progress), reason[0] && progress != PM_TODO ? ": " : "",
	             progress != PM_TODO ? reason : "");
	draw_last(p, progress);
	draw_shut(p, progress);
	if (p->state->choice >= 0 && step_has_field(p->step)) {
		field(p, "why it does not apply");
		return;
	}
	switch (p->step->ask) {
	case PM_ASK_ANSWER:
	case PM_ASK_DECISION: draw_choices(p); break;
	case PM_ASK_TEXT: field(p, "type it"); break;
	case PM_ASK_NUMBER: draw_number(p); break;
	case PM_ASK_KIT: draw_kit(p); break;
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: draw_fact(p); break;
	case PM_ASK_WAIT: draw_wait(p); break;
	case PM_ASK_SENT: draw_sent(p); break;
	case PM_ASK_APPOINTMENT: draw_window(p); break;
	case PM_ASK_ADDRESSES: draw_addresses(p); break;
	case PM_ASKS: break;
	}
}

/* --- the words above the answer --- */

static int words_lines(const struct pm_step *step, int width)
{
	int lines = canvas_wrap(NULL, 0, 0, 0, width, STYLE_PLAIN, step->text.text ? step->text.text : "", 0);
	if (pm_given(step->caution))
		lines += canvas_wrap(NULL, 0, 0, 0, width - 2, STYLE_PLAIN, step->caution.text, 0) + 1;
	return lines;
}

static int words_room(const struct walk_state *state, const struct session *session)
{
	struct frame area = frame_area(state->rows, state->columns);
	int answer = wanted(walk_step(state, session), session);
	int room = area.rows - 2 - answer;
	return room < 4 ? 4 : room;
}

int step_scroll_most(const struct walk_state *state, const struct session *session)
{
	int most = words_lines(walk_step(state, session), state->columns - 4) - words_room(state, session);
	return most > 0 ? most : 0;
}

static void draw_words(struct place *p, int row, int rows)
{
	int width = p->area.columns - 4, skip = p->state->scroll, used = 0;
	int most = step_scroll_most(p->state, p->session);
	if (skip > most)
		skip = most;
	if (pm_given(p->step->caution)) {
		int lines = canvas_wrap(NULL, 0, 0, 0, width - 2, STYLE_CAUTION, p->step->caution.text, 0);
		int shown = lines - skip < rows ? lines - skip : rows;
		if (shown > 0) {
			canvas_wrap(p->canvas, row, 4, shown, width - 2, STYLE_CAUTION, p->step->caution.text, skip);
			for (int i = 0; i < shown; i++)
				canvas_put(p->canvas, row + i, 2, 1, STYLE_CAUTION, "!");
			used = shown + 1;
		}
		skip = skip > lines + 1 ? skip - lines - 1 : 0;
	}
	if (used < rows && p->step->text.text)
		canvas_wrap(p->canvas, row + used, 2, rows - used, width, STYLE_PLAIN, p->step->text.text, skip);
	if (p->state->scroll < most)
		canvas_put(p->canvas, row + rows - 1, p->area.columns - 16, 15, STYLE_STRONG, " more: PgDn ");
}

void step_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_step *step = walk_step(state, session);
	const struct pm_phase *phase = walk_phase(state, session);
	struct place p = { state, session, step, canvas, frame_area(canvas->rows, canvas->columns), 0, 0 };
	canvas_print(canvas, p.area.row, 1, p.area.columns - 18, STYLE_DIM, "%s", phase->title.text);
	canvas_print(canvas, p.area.row, p.area.columns - 16, 15, STYLE_DIM, "step %zu of %zu", state->step + 1, phase->step_count);
	canvas_print(canvas, p.area.row + 1, 1, p.area.columns - 14, STYLE_STRONG, "%s", step->title.text);
	if (step->critical)
		canvas_put(canvas, p.area.row + 1, p.area.columns - 10, 9, STYLE_CAUTION, "CRITICAL");
	int room = words_room(state, session);
	draw_words(&p, p.area.row + 2, room);
	p.row = p.area.row + 2 + room;
	p.end = p.area.row + p.area.rows;
	canvas->cursor_row = p.row + 1;
	canvas->cursor_column = 2;
	draw_answer(&p);
}
