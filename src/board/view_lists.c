/* Findings across the fleet, the conditions that may be waived, help and leave. */
#include "board/frame.h"

#include <string.h>

#include "portmuster/text.h"
#include "report/review.h"

/* --- findings across the fleet --- */

static void add_files(const struct board_model *model, const struct pm_fleet_finding *finding, struct pm_text *text)
{
	pm_text_str(text, "Files:");
	for (size_t i = 0; i < finding->count && i < 12; i++) {
		const char *file = model->fleet->site[finding->site[i]].file;
		pm_text_str(text, i ? ", " : " ");
		pm_text_visible(text, file, strlen(file));
	}
	if (finding->count > 12)
		pm_text_add(text, " and %zu more", finding->count - 12);
}

static void finding_detail(const struct board_model *model, const struct pm_fleet_finding *finding,
                           const struct frame *area, struct canvas *canvas, int row)
{
	char files[1500] = "";
	struct pm_text text;
	int told = model->fleet->left_out_count > 0;
	struct page page = { canvas, row + 1, area->row + area->rows - row - 1 - told, 1, canvas->columns - 2, 0, 0 };
	canvas_rule(canvas, row, 0, canvas->columns);
	/* the message names the first four; a low window may not show all of it */
	if (area->low)
		page_add(&page, 0, STYLE_GOOD, "Do: %s", finding->remedy);
	page_text(&page, 0, STYLE_STRONG, finding->message);
	if (!area->low)
		page_add(&page, 0, STYLE_GOOD, "Do: %s", finding->remedy);
	pm_text_fixed(&text, files, sizeof files);
	if (finding->count > 4)
		add_files(model, finding, &text);
	page_text(&page, 0, STYLE_PLAIN, files);
	page_add(&page, 0, STYLE_DIM, "Why it matters: %s", pm_code_row(finding->code)->why);
}

/* "TB-11, TB-18 and 3 more" */
static void add_sites(const struct board_model *model, const struct pm_fleet_finding *finding, struct pm_text *text)
{
	for (size_t i = 0; i < finding->count && i < 3; i++)
		pm_text_add(text, "%s%s", i ? ", " : "", board_site_name(&model->fleet->site[finding->site[i]]));
	if (finding->count > 3)
		pm_text_add(text, " and %zu more", finding->count - 3);
}

static void finding_row(const struct board_model *model, const struct pm_fleet_finding *finding,
                        struct canvas *canvas, int row)
{
	char sites[400] = "";
	struct pm_text text;
	pm_text_fixed(&text, sites, sizeof sites);
	add_sites(model, finding, &text);
	canvas_put(canvas, row, 1, 4, frame_severity(finding->severity), pm_severity_word(finding->severity));
	canvas_print(canvas, row, 6, canvas->columns - 7, STYLE_PLAIN, "%s: %s%s%s", pm_code_row(finding->code)->name, sites,
	             sites[0] ? ": " : "", finding->message);
}

/* What lies among the job files and is none, in the last row. */
static void left_out(const struct board_model *model, const struct frame *area, struct canvas *canvas)
{
	const struct pm_fleet *fleet = model->fleet;
	char line[600];
	struct pm_text text;
	if (!fleet->left_out_count)
		return;
	pm_text_fixed(&text, line, sizeof line);
	pm_text_add(&text, "%zu " REVIEW_LEFT_OUT, fleet->left_out_count);
	review_put_left_out(&text, fleet);
	canvas_put(canvas, area->row + area->rows - 1, 1, canvas->columns - 2, STYLE_DIM, line);
}

void board_findings_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	const struct pm_fleet_findings *list = &model->findings;
	struct frame area = board_area(state);
	size_t room = frame_finding_rows(state), first = list_first(state->finding, list->count, room);
	left_out(model, &area, canvas);
	if (!list->count) {
		canvas_put(canvas, area.row + 1, 1, canvas->columns - 2, model->held_together ? STYLE_GOOD : STYLE_DIM,
		           model->held_together ? "nothing clashes between sites" : "the files are being read");
		frame_cursor(canvas, area.row + 1, 1);
		return;
	}
	for (size_t i = first; i < list->count && i < first + room; i++) {
		int row = area.row + (int)(i - first);
		finding_row(model, &list->item[i], canvas, row);
		if (i != state->finding)
			continue;
		canvas_put(canvas, row, 0, 1, STYLE_CHOSEN, "*");
		canvas_restyle(canvas, row, 0, canvas->columns, STYLE_CHOSEN);
		frame_cursor(canvas, row, 0);
	}
	if (state->finding < list->count)
		finding_detail(model, &list->item[state->finding], &area, canvas, area.row + (int)room);
}

/* --- waivers --- */

static void waive_rows(const struct board_state *state, const struct board_model *model, struct canvas *canvas,
                       int row, int end)
{
	size_t count = board_need_count(model), room = end > row ? (size_t)(end - row) : 1;
	size_t first = list_first(state->need, count, room);
	for (size_t i = first; i < count && i < first + room; i++, row++) {
		const struct pm_gate_line *line = board_need(model, i);
		canvas_print(canvas, row, 1, canvas->columns - 2, STYLE_PLAIN, "to %s %s: %s", line->closing ? "close" : "open",
		             model->detail.the_case.plan->phases[line->phase].id.text, line->need->condition.text);
		if (i != state->need)
			continue;
		canvas_put(canvas, row, 0, 1, STYLE_CHOSEN, "*");
		canvas_restyle(canvas, row, 0, canvas->columns, STYLE_CHOSEN);
		frame_cursor(canvas, row, 0);
	}
}

static void waive_field(const struct board_state *state, struct canvas *canvas, int row, int end)
{
	const struct board_picked *picked = &state->picked;
	canvas_print(canvas, row, 1, canvas->columns - 2, STYLE_STRONG, "to %s %s: %s", picked->closing ? "close" : "open",
	             picked->phase, picked->condition);
	const char *label = state->naming ? "your name: " : "reason: ";
	int used = canvas_put(canvas, end - 1, 1, 14, STYLE_STRONG, label);
	field_draw(&state->field, canvas, end - 1, 1 + used, canvas->columns - used - 2, true);
}

void board_waive_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	static const char words[] = "A waiver is a lead's decision: it lets a condition pass that is not met, with name and "
		"reason, and stays in the job file. Only what the plan lets a lead waive is listed.";
	struct frame area = board_area(state);
	int row = area.row, end = area.row + area.rows, width = canvas->columns - 2;
	if (!area.low)
		row += canvas_wrap(canvas, row, 1, 3, width, STYLE_PLAIN, words, 0) + 1;
	if (state->typing) {
		waive_field(state, canvas, row, end);
		return;
	}
	const struct pm_gate_line *line = board_need(model, state->need);
	if (!line) {
		canvas_put(canvas, row, 1, width, STYLE_GOOD, model->opened ? "nothing that may be waived is open"
		                                                            : "the files are being read again");
		frame_cursor(canvas, row, 1);
		return;
	}
	int below = area.low ? 2 : 3;
	waive_rows(state, model, canvas, row, end - below);
	canvas_print(canvas, end - below, 1, width, STYLE_DIM, "who can supply it: %s", line->who);
	canvas_wrap(canvas, end - below + 1, 1, below - 1, width, STYLE_WAIT, line->why, 0);
}

/* --- help and leave --- */

static int help_keys(const struct keytable_row *keys, size_t count, struct canvas *canvas, const struct frame *area,
                     int rows, int skip, int line)
{
	int shown = line - skip, hidden = shown < 0 ? -shown : 0, first = shown < 0 ? 0 : shown;
	bool seen = canvas && first < rows;
	return line + keytable_help(keys, count, seen ? canvas : NULL, area->row + 1 + first, 1, rows - first,
	                            area->columns - 2, hidden);
}

static int help_page(const struct board_state *state, struct canvas *canvas, const struct frame *area, int rows, int skip)
{
	static const char *const words[] = {
		"Phases: = closed, > open, # its opening gate is shut, . an earlier one is not closed. One mark a phase, "
		"in the plan's order.",
		"Addresses: = confirmed, - one reading, . none, ! readings that differ, x breaks the numbering, ? no address, "
		"/ does not apply.",
		"Read: interfaces that are confirmed of those that the gear has. Appointments are in their own offset. Slack: "
		"days to the site's due day or its folder's deadline, whichever is earlier; days end at midnight UTC.",
		"Ready: the next move can be made now. Stopped: a stop finding stands, the site's own or one across the fleet; "
		"such a site is not ready.",
		"The * at the edge and the cursor stand on the row in focus. Files are looked at again every two seconds.",
	};
	const struct board_screen_row *under = &board_screens[state->under];
	int line = 0;
	if (state->typing && state->under == BOARD_FLEET)
		line = help_keys(board_filter_keys, board_filter_key_count, canvas, area, rows, skip, line);
	else if (state->typing)
		line = help_keys(board_field_keys, board_field_key_count, canvas, area, rows, skip, line);
	line = help_keys(under->keys, under->key_count, canvas, area, rows, skip, line);
	struct page page = { canvas, area->row + 1, rows, 1, area->columns - 2, skip, line + 1 };
	for (size_t i = 0; i < sizeof words / sizeof *words; i++)
		page_text(&page, 0, STYLE_PLAIN, words[i]);
	return page.line;
}

int help_page_lines(const struct board_state *state)
{
	struct frame area = board_area(state);
	return help_page(state, NULL, &area, 0, 0);
}

void board_help_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	struct frame area = board_area(state);
	int rows = area.rows - 1, lines = help_page_lines(state), most = page_most(lines, rows);
	int skip = state->over > most ? most : state->over;
	(void)model;
	int used = canvas_print(canvas, area.row, 1, area.columns - 2, STYLE_STRONG, "Keys on this screen: %s",
	                        board_screens[state->under].title);
	help_page(state, canvas, &area, rows, skip);
	if (lines - skip > rows)
		canvas_put(canvas, area.row, 3 + used, area.columns - 4 - used, STYLE_STRONG, "more: Down");
	canvas->cursor_shown = false;
	frame_cursor(canvas, area.row, 1);
}

void board_leave_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	struct frame area = board_area(state);
	int row = area.row + !area.low;
	(void)model;
	canvas_put(canvas, row, 1, area.columns - 2, STYLE_STRONG, "Leave the board?");
	if (state->typing && state->field.length && state->under == BOARD_WAIVE)
		canvas_wrap(canvas, row + 1, 1, 3, area.columns - 2, STYLE_WAIT,
		            "What stands in the field was not accepted yet and would be lost: n goes back to it.", 0);
	frame_cursor(canvas, row, 1);
}
