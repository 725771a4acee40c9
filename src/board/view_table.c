/* The table of sites: one row of `columns` a column; as many as the window is wide
 * enough for. */
#include "board/frame.h"

#include <string.h>

#include "portmuster/text.h"

#define COLUMNS 9
#define MOST_PHASES 16
#define SITE_LEAST 12
#define WINDOW_MOST 22

/* Where one cell is drawn, and of which site. */
struct cell {
	const struct board_model *model;
	const struct pm_site_summary *site;
	size_t index;
	struct canvas *canvas;
	int row, column, width;
};

struct column {
	const char *title;
	int least, most;      /* cells; 0: of what is listed */
	int rank;             /* the lower, the sooner it has a place */
	int grows;            /* the lower, the sooner it gets what is left over; 0: never */
	bool right;           /* stands at the right edge */
	void (*draw)(const struct cell *cell);
};

static void put(const struct cell *at, enum canvas_style style, const char *text)
{
	canvas_put(at->canvas, at->row, at->column, at->width, style, text);
}

static void draw_site(const struct cell *at)
{
	put(at, STYLE_STRONG, board_site_name(at->site));
}

static void draw_name(const struct cell *at)
{
	put(at, STYLE_PLAIN, at->site->name);
}

static void draw_phases(const struct cell *at)
{
	for (size_t i = 0; i < at->site->phase_count && (int)i < at->width; i++) {
		enum canvas_style style;
		const char *mark = frame_phase_mark(at->site->phases[i].state, &style);
		canvas_put(at->canvas, at->row, at->column + (int)i, 1, style, mark);
	}
}

static void draw_addresses(const struct cell *at)
{
	const struct pm_site_summary *s = at->site;
	canvas_print(at->canvas, at->row, at->column, at->width, s->confirmed == s->expected ? STYLE_GOOD : STYLE_PLAIN,
	             "%zu/%zu", s->confirmed, s->expected);
}

static void draw_worst(const struct cell *at)
{
	struct board_worst worst = board_worst(at->model, at->index);
	if (worst.code)
		canvas_print(at->canvas, at->row, at->column, at->width, frame_severity(worst.severity), "%s %s",
		             pm_severity_word(worst.severity), worst.code);
	else
		put(at, STYLE_GOOD, "-");
}

static void draw_holder(const struct cell *at)
{
	const char *word = pm_holder_word(at->site->holder);
	bool done = pm_site_done(at->site);
	/* the operations centre is the only word that may not fit */
	if (at->site->holder == PM_HOLDER_CENTRE && canvas_width(word) > at->width)
		word = "centre";
	put(at, done ? STYLE_DIM : STYLE_PLAIN, done ? "-" : word);
}

static void draw_window(const struct cell *at)
{
	char shown[32] = "-";
	/* all of one form: the long one where any fits */
	if (at->site->has_window)
		board_when(at->site->from, at->width < WINDOW_MOST, shown);
	put(at, at->site->has_window ? STYLE_PLAIN : STYLE_DIM, shown);
}

static void draw_slack(const struct cell *at)
{
	char shown[24] = "-";
	int64_t days;
	struct pm_text text;
	bool due = board_slack(at->model, at->index, &days);
	if (due) {
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_add(&text, "%lld d", (long long)days);
	}
	int gap = at->width - canvas_width(shown);
	enum canvas_style style = !due ? STYLE_DIM : days < 0 ? STYLE_BAD : days < 7 ? STYLE_WAIT : STYLE_PLAIN;
	canvas_put(at->canvas, at->row, at->column + (gap > 0 ? gap : 0), at->width, style, shown);
}

static void draw_waits(const struct cell *at)
{
	put(at, STYLE_PLAIN, pm_site_done(at->site) ? "-" : at->site->waits_why);
}

/* In the order in which they stand. */
static const struct column columns[COLUMNS] = {
	{ "site", 0, 18, 0, 5, false, draw_site },
	{ "name", 14, 18, 7, 2, false, draw_name },
	{ "phases", 0, 0, 1, 0, false, draw_phases },
	{ "read", 5, 7, 5, 6, false, draw_addresses },
	{ "worst finding", 14, 26, 2, 1, false, draw_worst },
	{ "next move", 10, 17, 4, 7, false, draw_holder },
	{ "appointment", 0, WINDOW_MOST, 6, 8, false, draw_window },
	{ "slack", 6, 6, 3, 0, true, draw_slack },
	{ "what blocks it", 20, 200, 8, 3, false, draw_waits },
};

static int least_of(size_t i, const struct order *order)
{
	if (columns[i].draw == draw_site)
		return order->code_width < 4 ? 4 : order->code_width > SITE_LEAST ? SITE_LEAST : order->code_width;
	if (columns[i].draw == draw_phases)
		return order->phases < 6 ? 6 : order->phases > MOST_PHASES ? MOST_PHASES : (int)order->phases;
	if (columns[i].draw == draw_window)
		return order->window_width < 12 ? 12 : order->window_width;
	return columns[i].least;
}

static int most_of(size_t i, const struct order *order)
{
	if (columns[i].draw == draw_site && order->code_width < columns[i].most)
		return order->code_width;
	return columns[i].most;
}

/* The width of each column, 0 for one that has no place. */
static void lay_out(const struct order *order, int room, int widths[COLUMNS])
{
	int used = 0;
	memset(widths, 0, COLUMNS * sizeof *widths);
	for (int rank = 0; rank < COLUMNS; rank++)
		for (size_t i = 0; i < COLUMNS; i++) {
			int width = least_of(i, order) + (rank > 0);
			if (columns[i].rank != rank || used + width > room)
				continue;
			widths[i] = least_of(i, order);
			used += width;
		}
	for (int turn = 1; turn < COLUMNS; turn++)
		for (size_t i = 0; i < COLUMNS; i++) {
			int more = most_of(i, order) - widths[i];
			if (columns[i].grows != turn || !widths[i] || more <= 0)
				continue;
			more = more > room - used ? room - used : more;
			widths[i] += more;
			used += more;
		}
}

static void draw_titles(struct canvas *canvas, int row, const int widths[COLUMNS])
{
	int column = 1;
	for (size_t i = 0; i < COLUMNS; i++) {
		if (!widths[i])
			continue;
		int gap = columns[i].right ? widths[i] - canvas_width(columns[i].title) : 0;
		canvas_put(canvas, row, column + (gap > 0 ? gap : 0), widths[i], STYLE_DIM, columns[i].title);
		column += widths[i] + 1;
	}
}

static void draw_unread(const struct cell *at)
{
	struct canvas *canvas = at->canvas;
	int width = canvas_put(canvas, at->row, at->column, canvas->columns / 2, STYLE_STRONG, board_site_name(at->site));
	int column = at->column + width + 1;
	canvas_print(canvas, at->row, column, canvas->columns - column - 1, STYLE_BAD, "UNREAD: %s", at->site->fault);
}

static void draw_row(const struct board_model *model, size_t site, struct canvas *canvas, int row,
                     const int widths[COLUMNS])
{
	struct cell at = { model, &model->fleet->site[site], site, canvas, row, 1, 0 };
	if (at.site->fault) {
		draw_unread(&at);
		return;
	}
	for (size_t i = 0; i < COLUMNS; i++) {
		if (!widths[i])
			continue;
		at.width = widths[i];
		columns[i].draw(&at);
		at.column += widths[i] + 1;
	}
}

void table_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas,
                int row, int rows)
{
	const struct order *order = &state->order;
	int widths[COLUMNS];
	size_t room = rows < 1 ? 1 : (size_t)rows, first = list_first(state->row, order->count, room);
	lay_out(order, canvas->columns - 2, widths);
	draw_titles(canvas, row++, widths);
	for (size_t i = first; i < order->count && i < first + room; i++, row++) {
		draw_row(model, order->row[i], canvas, row, widths);
		if (i != state->row)
			continue;
		/* a mark of its own, so that it shows without any attribute */
		canvas_put(canvas, row, 0, 1, STYLE_CHOSEN, "*");
		canvas_restyle(canvas, row, 0, canvas->columns, STYLE_CHOSEN);
		frame_cursor(canvas, row, 0);
	}
}
