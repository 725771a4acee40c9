/* Route, findings, waivers and readings to take back, as drawn. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/frame.h"
#include "walk/lists.h"

static void focus(struct canvas *canvas, int row)
{
	if (canvas->cursor_shown)
		return;
	canvas->cursor_row = row;
	canvas->cursor_column = 1;
}

/* --- route --- */

static void route_phase(const struct session *session, struct canvas *canvas, size_t p, int row, bool focused)
{
	const struct pm_phase *phase = &session->plan.plan.phases[p];
	const struct pm_result *result = &session->result;
	bool closed = result->gates.closed[p], now = p == result->phase, open = result->gates.open[p];
	const char *word = closed ? "= closed" : !now ? ". later" : open ? "> open" : "# shut";
	enum canvas_style style = closed ? STYLE_GOOD : !now ? STYLE_DIM : open ? STYLE_WAIT : STYLE_BAD;
	canvas_print(canvas, row, 1, canvas->columns - 2, focused ? STYLE_CHOSEN : STYLE_STRONG, "%s",
	             phase->title.text);
	canvas_put(canvas, row, canvas->columns - 12, 10, style, word);
}

static void route_step(const struct session *session, struct canvas *canvas, struct route_row at, int row, bool focused)
{
	const struct pm_step *step = &session->plan.plan.phases[at.phase].steps[at.step];
	enum canvas_style style;
	enum pm_progress progress = walk_progress(session, step, NULL, NULL);
	const char *mark = progress_mark(progress, &style);
	canvas_print(canvas, row, 3, canvas->columns - 22, focused ? STYLE_CHOSEN : STYLE_PLAIN, "[%s] %s%s", mark,
	             step->title.text, step->critical ? "  (critical)" : "");
	canvas_put(canvas, row, canvas->columns - 18, 16, style, progress_word(progress));
}

void route_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(canvas->rows, canvas->columns);
	size_t count = route_rows(session), room = (size_t)(area.rows - 3);
	size_t first = frame_first(state->row, count, room);
	for (size_t i = first; i < count && i < first + room; i++) {
		struct route_row at = route_at(session, i);
		int row = area.row + (int)(i - first);
		if (at.step == ROUTE_PHASE)
			route_phase(session, canvas, at.phase, row, i == state->row);
		else
			route_step(session, canvas, at, row, i == state->row);
		if (i == state->row)
			focus(canvas, row);
	}
	size_t phase = route_at(session, state->row).phase;
	const struct pm_gate_line *line = walk_unmet(session, phase, false);
	if (!line)
		line = walk_unmet(session, phase, true);
	int row = area.row + area.rows - 2;
	canvas_rule(canvas, row - 1, 1, canvas->columns - 2);
	char why[500];
	struct pm_text text;
	pm_text_fixed(&text, why, sizeof why);
	if (line)
		pm_text_add(&text, "%s %s: %s (%s)", session->plan.plan.phases[phase].id.text,
		            line->closing ? "does not close" : "does not open", line->why, line->who);
	else
		pm_text_add(&text, "%s: both gates are met", session->plan.plan.phases[phase].id.text);
	canvas_wrap(canvas, row, 2, 2, canvas->columns - 4, line ? STYLE_WAIT : STYLE_GOOD, why, 0);
}

/* --- findings --- */

static enum canvas_style severity_style(const struct pm_finding *finding)
{
	if (finding->waived)
		return STYLE_DIM;
	switch (finding->severity) {
	case PM_NOTE: return STYLE_DIM;
	case PM_WARN: return STYLE_WAIT;
	case PM_STOP: return STYLE_BAD;
	}
	return STYLE_PLAIN;
}

static void finding_detail(const struct pm_finding *finding, struct canvas *canvas, int row, int rows)
{
	int width = canvas->columns - 4, end = row + rows;
	char text[900];
	struct pm_text into;
	canvas_rule(canvas, row - 1, 1, canvas->columns - 2);
	row += canvas_wrap(canvas, row, 2, end - row, width, STYLE_STRONG, finding->message, 0);
	pm_text_fixed(&into, text, sizeof text);
	pm_text_add(&into, "Why it matters: %s", pm_code_row(finding->code)->why);
	if (row < end)
		row += canvas_wrap(canvas, row, 2, end - row, width, STYLE_PLAIN, text, 0);
	pm_text_fixed(&into, text, sizeof text);
	pm_text_add(&into, "Do: %s%s%s", finding->remedy, finding->suggestion ? ". Look for " : "",
	            finding->suggestion ? finding->suggestion : "");
	if (row < end)
		canvas_wrap(canvas, row, 2, end - row, width, STYLE_GOOD, text, 0);
}

void findings_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_findings *list = &session->result.findings;
	struct frame area = frame_area(canvas->rows, canvas->columns);
	int detail = area.rows / 2 > 8 ? 8 : area.rows / 2;
	size_t room = (size_t)(area.rows - detail - 1), first = frame_first(state->row, list->count, room);
	if (list->count == 0) {
		canvas_put(canvas, area.row + 1, 2, area.columns - 4, STYLE_GOOD, "nothing wrong or doubtful was found so far");
		return;
	}
	for (size_t i = first; i < list->count && i < first + room; i++) {
		const struct pm_finding *finding = &list->item[i];
		int row = area.row + (int)(i - first);
		canvas_print(canvas, row, 1, 7, severity_style(finding), "%-5s", pm_severity_word(finding->severity));
		canvas_print(canvas, row, 7, area.columns - 8, i == state->row ? STYLE_CHOSEN : STYLE_PLAIN, "%s%s: %s",
		             finding->waived ? "(waived) " : "", pm_code_row(finding->code)->name, finding->message);
		if (i == state->row)
			focus(canvas, row);
	}
	if (state->row < list->count)
		finding_detail(&list->item[state->row], canvas, area.row + area.rows - detail, detail);
}

/* --- waivers --- */

void waive_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(canvas->rows, canvas->columns);
	size_t count = waive_count(session), room = (size_t)(area.rows - 7), first = frame_first(state->row, count, room);
	canvas_wrap(canvas, area.row, 2, 2, area.columns - 4, STYLE_PLAIN,
	            "A waiver is a lead's decision. These conditions are not met, and the plan lets a lead "
	            "waive them with name and reason. It stays in the file.", 0);
	if (!count)
		canvas_put(canvas, area.row + 3, 2, area.columns - 4, STYLE_GOOD, "nothing that may be waived is open");
	for (size_t i = first; i < count && i < first + room; i++) {
		const struct pm_gate_line *line = &session->result.gates.line[waive_line(session, i)];
		int row = area.row + 3 + (int)(i - first);
		canvas_print(canvas, row, 2, area.columns - 4, i == state->row ? STYLE_CHOSEN : STYLE_PLAIN, "%s, %s: %s: %s",
		             session->plan.plan.phases[line->phase].id.text, line->closing ? "to close" : "to open",
		             line->need->condition.text, line->why);
		if (i == state->row) {
			focus(canvas, row);
			canvas_wrap(canvas, area.row + area.rows - 4, 2, 2, area.columns - 4, STYLE_WAIT, line->why, 0);
		}
	}
	if (state->typing) {
		int row = area.row + area.rows - 2;
		int used = canvas_put(canvas, row, 2, 20, STYLE_STRONG, "reason: ");
		field_draw(&state->field, canvas, row, 2 + used, area.columns - used - 4, true);
	}
}

/* --- readings to take back --- */

void take_back_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(canvas->rows, canvas->columns);
	const struct pm_reading *reading;
	int row = area.row + 3;
	canvas_print(canvas, area.row, 2, area.columns - 4, STYLE_STRONG, "readings of %s", state->of);
	canvas_put(canvas, area.row + 1, 2, area.columns - 4, STYLE_PLAIN,
	           "A wrong one is taken back with a reason; it stays in the file's history.");
	for (size_t i = 0; (reading = take_back_at(state, session, i)) && row < area.row + area.rows - 3; i++, row++) {
		char shown[300], at[PM_WHEN_TEXT];
		struct pm_text text;
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_quote(&text, reading->value.text);
		pm_text_add(&text, "  %s, %s, %s", pm_source_word(reading->source),
		            reading->by.text ? reading->by.text : "-", pm_when_write(reading->when, at));
		canvas_put(canvas, row, 2, area.columns - 4, i == state->row ? STYLE_CHOSEN : STYLE_PLAIN, shown);
		if (i == state->row)
			focus(canvas, row);
	}
	if (row == area.row + 3)
		canvas_put(canvas, row, 2, area.columns - 4, STYLE_DIM, "none stands");
	if (state->typing) {
		int used = canvas_put(canvas, area.row + area.rows - 2, 2, 20, STYLE_STRONG, "why: ");
		field_draw(&state->field, canvas, area.row + area.rows - 2, 2 + used, area.columns - used - 4, true);
	}
}
