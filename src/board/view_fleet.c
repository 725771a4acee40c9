/* The board: the table, and below it what blocks the site in focus. */
#include "board/frame.h"

#include <string.h>

#include "portmuster/text.h"

/* Who and where, in one line. */
static void say_head(const struct pm_site_summary *site, struct pm_text *text)
{
	if (!site->fault)
		pm_text_str(text, board_site_name(site));
	if (site->name[0])
		pm_text_add(text, "  %s", site->name);
	if (site->crew[0])
		pm_text_add(text, "  (%s)", site->crew);
	if (site->practice)
		pm_text_str(text, "  practice site");
	if (!site->fault)
		pm_text_str(text, "  ");
	pm_text_visible(text, site->file, strlen(site->file));
}

/* What blocks it, and who can supply it. */
static enum canvas_style say_block(const struct pm_site_summary *site, bool narrow, struct pm_text *text)
{
	if (site->fault) {
		if (site->fault_line)
			pm_text_add(text, "line %lu, column %lu: ", (unsigned long)site->fault_line,
			            (unsigned long)site->fault_column);
		pm_text_str(text, site->fault);
		if (site->fault_remedy)
			pm_text_add(text, "; %s", site->fault_remedy);
		return STYLE_BAD;
	}
	if (pm_site_done(site)) {
		pm_text_str(text, "every phase is closed");
		return STYLE_GOOD;
	}
	/* where not all of it may show, who comes first */
	if (narrow)
		pm_text_add(text, "%s, %s: %s", site->waits_who, site->phases[site->phase].id, site->waits_why);
	else
		pm_text_add(text, "%s: %s (%s)", site->waits_in, site->waits_why, site->waits_who);
	return STYLE_WAIT;
}

static void draw_detail(const struct board_state *state, const struct board_model *model, struct canvas *canvas,
                        int row, int rows)
{
	size_t index = board_at(state, model);
	char line[900];
	struct pm_text text;
	int width = canvas->columns - 2, end = row + rows;
	if (index >= model->fleet->count)
		return;
	const struct pm_site_summary *site = &model->fleet->site[index];
	if (rows > 2) {
		pm_text_fixed(&text, line, sizeof line);
		say_head(site, &text);
		canvas_put(canvas, row++, 1, width, STYLE_STRONG, line);
	}
	pm_text_fixed(&text, line, sizeof line);
	enum canvas_style style = say_block(site, rows <= 2, &text);
	row += canvas_wrap(canvas, row, 1, end - row, width, style, line, 0);
	struct board_worst worst = board_worst(model, index);
	if (row < end && worst.message && !site->fault) {
		pm_text_fixed(&text, line, sizeof line);
		pm_text_add(&text, "%s: %s", pm_severity_word(worst.severity), worst.message);
		canvas_wrap(canvas, row, 1, end - row, width, frame_severity(worst.severity), line, 0);
	}
}

static const char *nothing_listed(const struct board_state *state, const struct board_model *model)
{
	if (model->reading)
		return "the files are being read";
	if (state->filter.block != BLOCK_ANY || state->filter.text[0])
		return "no site is like that; Esc lists every site";
	return "there is no job file here; portmuster new makes them from a site list";
}

void board_fleet_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	struct frame area = board_area(state);
	int list = (int)frame_list_rows(state), row = area.row + 1 + list, end = area.row + area.rows;
	table_draw(state, model, canvas, area.row, list);
	if (!state->order.count) {
		canvas_put(canvas, area.row + 1, 1, canvas->columns - 2, STYLE_DIM, nothing_listed(state, model));
		frame_cursor(canvas, area.row + 1, 1);
	}
	if (!area.low)
		canvas_rule(canvas, row++, 0, canvas->columns);
	draw_detail(state, model, canvas, row, end - row);
	if (state->typing) {
		int used = canvas_put(canvas, end, 1, 10, STYLE_STRONG, "filter: ");
		field_draw(&state->field, canvas, end, 1 + used, canvas->columns - used - 2, true);
	}
}
