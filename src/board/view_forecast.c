/* The forecast: the chance, the dates of each open site, and what they stand on. */
#include "board/frame.h"

#include <string.h>

#include "portmuster/text.h"

/* The chance of one folder's deadline by itself. */
static void one_deadline(struct page *page, const struct board_model *model, const struct pm_deadline_forecast *one)
{
	const struct pm_fleet_options *o = pm_fleet_options_at(model->fleet, one->folder);
	char day[PM_WHEN_TEXT], shown[16], line[600];
	struct pm_text text;
	frame_chance(one->hits, model->forecast.runs, shown);
	pm_text_fixed(&text, line, sizeof line);
	pm_text_add(&text, "%s in %s%s: %zu open site%s of ", pm_day_write(o->deadline_day, day), model->forecast.at_most && one->hits ? "at most " : "",
	            shown, one->open, one->open == 1 ? "" : "s");
	pm_text_visible(&text, o->file ? o->file : "", o->file ? strlen(o->file) : 0);
	page_text(page, 2, STYLE_PLAIN, line);
}

/* The chance with its method, in one sentence. */
static void chance(struct page *page, const struct board_model *model)
{
	const struct pm_forecast *f = &model->forecast;
	char day[PM_WHEN_TEXT], shown[16];
	static const char method[] = "of %zu simulated runs, in each of which every open phase takes a duration drawn "
		"from what closed jobs took, or from a triangle around the plan's estimate where fewer than %zu were seen";
	size_t least = model->options.forecast.least_observed;
	char how[400];
	struct pm_text text;
	pm_text_fixed(&text, how, sizeof how);
	pm_text_add(&text, method, f->runs, least ? least : PM_LEAST_OBSERVED);
	int64_t first, last;
	if (!f->has_deadline || !pm_fleet_deadlines(model->fleet, &first, &last)) {
		page_add(page, 0, STYLE_STRONG, "The fleet has no deadline; the dates come %s.", how);
		return;
	}
	pm_day_write(first, day);
	frame_chance(f->hits, f->runs, shown);
	page_add(page, 0, STYLE_STRONG, "Every open site is finished by %s in %s%s %s.", first == last ? day : "its folder's deadline",
	         f->at_most && f->hits ? "at most " : "", shown, how);
	for (size_t i = 0; first != last && i < f->deadline_count; i++)
		one_deadline(page, model, &f->deadline[i]);
}

static void last_site(struct page *page, const struct board_model *model)
{
	const struct pm_forecast *f = &model->forecast;
	char median[PM_WHEN_TEXT], late[PM_WHEN_TEXT];
	if (f->count) {
		frame_day(f->median, median);
		frame_day(f->late, late);
		page_add(page, 0, STYLE_PLAIN, "The last one: half of the runs by %s, nine tenths by %s.", median, late);
	}
	if (f->unread)
		page_add(page, 0, STYLE_BAD, "%zu file%s could not be read and %s not in it.", f->unread, f->unread == 1 ? "" : "s",
		         f->unread == 1 ? "is" : "are");
	if (f->at_most)
		page_text(page, 0, STYLE_WAIT, "Something ahead is not known: dates after >= are no earlier than that.");
}

static void pad(struct pm_text *text, const char *line, int width)
{
	for (int used = canvas_width(line); used < width; used++)
		pm_text_char(text, ' ');
}

static int name_width(const struct board_model *model, int columns)
{
	int widest = 4, most = columns < 60 ? 10 : 18;
	for (size_t i = 0; i < model->forecast.count; i++) {
		int width = canvas_width(board_site_name(&model->fleet->site[model->forecast.site[i].site]));
		widest = width > widest ? width : widest;
	}
	return widest > most ? most : widest;
}

/* A row of fixed columns: drawn whole or not at all, never wrapped. */
static void row_of(struct page *page, int name, enum canvas_style style, const char *site, const char *rest)
{
	int shown = page->line++ - page->skip;
	if (!page_sees(page, shown))
		return;
	canvas_put(page->canvas, page->row + shown, page->column, name, STYLE_STRONG, site);
	canvas_put(page->canvas, page->row + shown, page->column + name + 1, page->columns - name - 1, style, rest);
}

static void one_site(struct page *page, const struct board_model *model, const struct pm_site_forecast *one, int name)
{
	const struct pm_site_summary *site = &model->fleet->site[one->site];
	size_t runs = model->forecast.runs;
	char line[240], median[PM_WHEN_TEXT], late[PM_WHEN_TEXT], due[16] = "-";
	struct pm_text text;
	frame_day(one->median, median);
	frame_day(one->late, late);
	if (one->has_due)
		frame_chance(one->due_hits, runs, due);
	pm_text_fixed(&text, line, sizeof line);
	pm_text_add(&text, "%s%s  %s%s", one->least ? ">=" : "  ", median, one->least ? ">=" : "  ", late);
	pad(&text, line, 28);
	pm_text_str(&text, due);
	if (page->columns >= 60 && site->name[0]) {
		pad(&text, line, 37);
		pm_text_str(&text, site->name);
	}
	bool unlikely = one->has_due && one->due_hits * 2 < runs;
	row_of(page, name, unlikely ? STYLE_BAD : STYLE_PLAIN, board_site_name(site), line);
}

static void sites(struct page *page, const struct board_model *model)
{
	const struct pm_forecast *f = &model->forecast;
	int name = name_width(model, page->columns);
	page_heading(page, "Open sites: finished by then in half and in nine tenths of the runs, and the chance "
	             "of the due day");
	row_of(page, name, STYLE_DIM, "site", "  median        90 %          in time");
	/* of thousands only those that show are written out */
	for (size_t i = 0; i < f->count; i++)
		if (page_sees(page, page->line - page->skip))
			one_site(page, model, &f->site[i], name);
		else
			page->line++;
	if (!f->count)
		page_text(page, 0, STYLE_GOOD, "no site is open");
}

static void bases(struct page *page, const struct board_model *model)
{
	const struct pm_forecast *f = &model->forecast;
	if (f->phase_count)
		page_heading(page, "What it stands on");
	for (size_t i = 0; i < f->phase_count; i++) {
		const struct pm_phase_basis *basis = &f->phase[i];
		char line[400];
		struct pm_text text;
		pm_text_fixed(&text, line, sizeof line);
		pm_text_add(&text, "%s: %s", basis->phase, pm_basis_word(basis->basis));
		pm_text_add(&text, basis->observed ? ", seen in %zu closed job%s" : ", never seen", basis->observed,
		            basis->observed == 1 ? "" : "s");
		if (basis->by_window)
			pm_text_add(&text, "; the wait for its appointment is %s (seen %zu time%s)",
			            basis->waits_known ? "observed" : "not known", basis->waits_observed,
			            basis->waits_observed == 1 ? "" : "s");
		pm_text_add(&text, "  [%s]", basis->plan);
		page_text(page, 0, basis->basis == PM_BASIS_NONE ? STYLE_WAIT : STYLE_PLAIN, line);
	}
}

static void draw(struct page *page, const struct board_model *model)
{
	chance(page, model);
	last_site(page, model);
	sites(page, model);
	bases(page, model);
}

int forecast_lines(const struct board_state *state, const struct board_model *model)
{
	struct page page = { .columns = state->columns - 2 };
	if (!model->foreseen)
		return 1;
	draw(&page, model);
	return page.line;
}

void board_forecast_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	struct frame area = board_area(state);
	struct page page = { canvas, area.row, area.rows, 1, area.columns - 2, 0, 0 };
	frame_cursor(canvas, area.row, 1);
	if (!model->foreseen) {
		page_text(&page, 0, STYLE_DIM, model->reading ? "the files are being read" : "the forecast is being made");
		return;
	}
	int most = page_most(forecast_lines(state, model), area.rows);
	page.skip = state->line > most ? most : state->line;
	draw(&page, model);
	frame_more(state, canvas, &page);
}
