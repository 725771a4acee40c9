/* Route, findings, waivers and readings to take back, as drawn. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/frame.h"
#include "walk/lists.h"

/* --- route --- */

static void route_phase(const struct session *session, struct canvas *canvas, size_t p, int row, bool focused, bool narrow)
{
	const struct pm_phase *phase = &session->plan.plan.phases[p];
	const struct pm_result *result = &session->result;
	bool closed = result->gates.closed[p], now = p == result->phase, open = result->gates.open[p];
	const char *word = closed ? "= closed" : !now ? ". later" : open ? "> open" : "# shut";
	enum canvas_style style = closed ? STYLE_GOOD : !now ? STYLE_DIM : open ? STYLE_WAIT : STYLE_BAD;
	canvas_put(canvas, row, 1, canvas->columns - (narrow ? 12 : 18), focused ? STYLE_CHOSEN : STYLE_STRONG, phase->title.text);
	canvas_put(canvas, row, canvas->columns - (narrow ? 10 : 16), 9, style, word);
}

/* A narrow screen has room for the mark alone; the word stands below. */
static void route_step(const struct session *session, struct canvas *canvas, struct route_row at, int row, bool focused, bool narrow)
{
	const struct pm_step *step = &session->plan.plan.phases[at.phase].steps[at.step];
	enum canvas_style style;
	enum pm_progress progress = walk_progress(session, step, NULL, NULL);
	const char *mark = progress_mark(progress, &style);
	int room = canvas->columns - (narrow ? 4 : 20);
	const char *critical = step->critical && canvas_width(step->title.text) + 16 <= room ? "  (critical)" : "";
	canvas_print(canvas, row, 3, room, focused ? STYLE_CHOSEN : STYLE_PLAIN, "[%s] %s%s", mark, step->title.text, critical);
	if (!narrow)
		canvas_put(canvas, row, canvas->columns - 16, 15, style, progress_word(progress));
}

void route_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	size_t count = route_rows(session), room = (size_t)(area.rows - 3);
	size_t first = frame_first(state->row, count, room);
	for (size_t i = first; i < count && i < first + room; i++) {
		struct route_row at = route_at(session, i);
		int row = area.row + (int)(i - first);
		if (at.step == ROUTE_PHASE)
			route_phase(session, canvas, at.phase, row, i == state->row, area.narrow);
		else
			route_step(session, canvas, at, row, i == state->row, area.narrow);
		if (i == state->row)
			frame_choose(canvas, row, 0);
	}
	struct route_row chosen = route_at(session, state->row);
	size_t phase = chosen.phase;
	const struct pm_gate_line *line = walk_unmet(session, phase, false);
	if (!line)
		line = walk_unmet(session, phase, true);
	int row = area.row + area.rows - 2;
	canvas_rule(canvas, row - 1, 1, canvas->columns - 2);
	char why[500];
	struct pm_text text;
	pm_text_fixed(&text, why, sizeof why);
	if (area.narrow && chosen.step != ROUTE_PHASE) {
		const struct pm_step *step = &session->plan.plan.phases[phase].steps[chosen.step];
		pm_text_add(&text, "%s: %s%s", step->title.text, progress_word(walk_progress(session, step, NULL, NULL)),
		            step->critical ? ", CRITICAL" : "");
	} else if (line) {
		pm_text_add(&text, "%s %s: %s (%s)", session->plan.plan.phases[phase].id.text,
		            line->closing ? "does not close" : "does not open", line->why, line->who);
	} else {
		pm_text_add(&text, "%s: both gates are met", session->plan.plan.phases[phase].id.text);
	}
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

static void finding_detail(const struct pm_finding *finding, struct canvas *canvas, int row, int rows, bool low)
{
	int width = canvas->columns - 4, end = row + rows;
	char text[900];
	struct pm_text into;
	canvas_rule(canvas, row - 1, 1, canvas->columns - 2);
	row += canvas_wrap(canvas, row, 2, end - row, width, STYLE_STRONG, finding->message, 0);
	pm_text_fixed(&into, text, sizeof text);
	pm_text_add(&into, "Why it matters: %s", pm_code_row(finding->code)->why);
	if (row < end && !low)
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
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	int detail = area.low ? area.rows - 3 : area.rows / 2 > 8 ? 8 : area.rows / 2;
	size_t room = (size_t)(area.rows - detail - 1), first = frame_first(state->row, list->count, room);
	if (list->count == 0) {
		canvas_wrap(canvas, area.row + 1, 2, 2, area.columns - 4, STYLE_GOOD, "nothing wrong or doubtful was found so far", 0);
		frame_rest(canvas, area.row + 1);
		return;
	}
	for (size_t i = first; i < list->count && i < first + room; i++) {
		const struct pm_finding *finding = &list->item[i];
		int row = area.row + (int)(i - first);
		canvas_print(canvas, row, 1, 7, severity_style(finding), "%-5s", pm_severity_word(finding->severity));
		canvas_print(canvas, row, 7, area.columns - 8, i == state->row ? STYLE_CHOSEN : STYLE_PLAIN, "%s%s: %s",
		             finding->waived ? "(waived) " : "", pm_code_row(finding->code)->name, finding->message);
		if (i == state->row)
			frame_choose(canvas, row, 0);
	}
	if (state->row < list->count)
		finding_detail(&list->item[state->row], canvas, area.row + area.rows - detail, detail, area.low);
}

/* --- waivers and readings to take back: words, rows, and a field below --- */

struct choice_list {
	struct frame area;
	int row, end;     /* of the rows */
	size_t first, room;
};

/* A low window leaves the words out: the rows and the field are needed. */
static struct choice_list list_begin(const struct walk_state *state, struct canvas *canvas, const char *heading,
                                     const char *words, size_t count, int below)
{
	struct choice_list list = { .area = frame_area(state, canvas->rows, canvas->columns) };
	int row = list.area.row, width = list.area.columns - 4;
	if (heading)
		canvas_put(canvas, row++, 2, width, STYLE_STRONG, heading);
	if (!list.area.low)
		row += canvas_wrap(canvas, row, 2, 4, width, STYLE_PLAIN, words, 0) + 1;
	list.row = row;
	list.end = list.area.row + list.area.rows - below - (state->typing ? 2 : 0);
	list.room = list.end > row ? (size_t)(list.end - row) : 1;
	list.first = frame_first(state->row, count, list.room);
	return list;
}

static void list_field(const struct walk_state *state, struct canvas *canvas, const struct choice_list *list, const char *label)
{
	int row = list->area.row + list->area.rows - 1;
	int used = canvas_put(canvas, row, 2, 20, STYLE_STRONG, label);
	field_draw(&state->field, canvas, row, 2 + used, list->area.columns - used - 4, true);
}

void waive_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	size_t count = waive_count(session);
	struct choice_list list = list_begin(state, canvas, NULL,
		"A waiver is a lead's decision. These conditions are not met, and the plan lets a lead "
		"waive them with name and reason. It stays in the file, with who decided and who typed it.", count, 4);
	int width = list.area.columns - 4;
	if (!count) {
		canvas_put(canvas, list.row, 2, width, STYLE_GOOD, "nothing that may be waived is open");
		frame_rest(canvas, list.row);
	}
	for (size_t i = list.first; i < count && i < list.first + list.room; i++) {
		const struct pm_gate_line *line = &session->result.gates.line[waive_line(session, i)];
		int row = list.row + (int)(i - list.first);
		canvas_print(canvas, row, 2, width, i == state->row ? STYLE_CHOSEN : STYLE_PLAIN, "%s %s: %s",
		             line->closing ? "to close" : "to open", session->plan.plan.phases[line->phase].id.text,
		             line->need->condition.text);
		if (i == state->row) {
			frame_choose(canvas, row, 0);
			canvas_wrap(canvas, list.end + 1, 2, 3, width, STYLE_WAIT, line->why, 0);
		}
	}
	static const char *const labels[] = { [WAIVE_LEAD] = "lead: ", [WAIVE_HOW] = "said how: ", [WAIVE_REASON] = "reason: " };
	if (state->typing)
		list_field(state, canvas, &list, labels[state->stage]);
}

void take_back_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	char heading[240];
	struct pm_text text;
	size_t count = take_back_count(state, session), at_reading = 0;
	pm_text_fixed(&text, heading, sizeof heading);
	pm_text_add(&text, "readings of %s", state->of);
	struct choice_list list = list_begin(state, canvas, heading,
		"A wrong one is taken back with a reason; it stays in the file's history.", count, 0);
	int width = list.area.columns - 4;
	for (size_t i = 0; i < count && i < list.first + list.room; i++) {
		const struct pm_reading *reading = pm_fact_next(&session->job.job, state->of, &at_reading);
		if (i < list.first)
			continue;
		char shown[300], at[16];
		int row = list.row + (int)(i - list.first);
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_quote(&text, reading->source == PM_SOURCE_SKIPPED ? "does not apply" : reading->value.text);
		frame_clock(reading->when, at);
		pm_text_add(&text, "  %s, %s%s%s", pm_source_word(reading->source), reading->by.text ? reading->by.text : "-",
		            list.area.narrow ? "" : ", ", list.area.narrow ? "" : at);
		canvas_put(canvas, row, 2, width, i == state->row ? STYLE_CHOSEN : STYLE_PLAIN, shown);
		if (i == state->row)
			frame_choose(canvas, row, 0);
	}
	if (!count)
		canvas_put(canvas, list.row, 2, width, STYLE_DIM, "none stands");
	if (state->typing)
		list_field(state, canvas, &list, "why: ");
}
