#include "board/frame.h"

#include <string.h>

#include "portmuster/text.h"

#define LOW_ROWS       18   /* a lower window has a shorter detail */
#define NARROW_COLUMNS 70
#define KEYS_MOST      32
#define BAR_AFTER      500  /* milliseconds of reading before the bar shows */

static int message_rows(const struct board_state *state)
{
	int lines = canvas_wrap(NULL, 0, 0, 0, state->columns - 2, STYLE_PLAIN, state->message, 0);
	return lines < 1 ? 1 : lines > 3 ? 3 : lines;
}

bool board_fits(const struct board_state *state)
{
	return state->rows >= FRAME_ROWS && state->columns >= FRAME_COLUMNS;
}

struct frame board_area(const struct board_state *state)
{
	struct frame area = { .low = state->rows < LOW_ROWS, .narrow = state->columns < NARROW_COLUMNS,
		.row = 2, .columns = state->columns };
	area.rows = state->rows - area.row - message_rows(state) - 1;
	return area;
}

/* Rows more for the detail where the list needs them not: a message of 80 columns and more. */
#define DETAIL_MORE 3

size_t frame_list_rows(const struct board_state *state)
{
	struct frame area = board_area(state);
	int rows = area.rows - 1 - (area.low ? 2 : 4);   /* headings above, detail below */
	int spare = rows - (int)state->order.count;
	/* what a short list leaves over serves the detail: the finding that stops the site */
	if (!area.low && spare > 0)
		rows -= spare < DETAIL_MORE ? spare : DETAIL_MORE;
	return rows < 1 ? 1 : (size_t)rows;
}

size_t frame_finding_rows(const struct board_state *state)
{
	struct frame area = board_area(state);
	int rows = area.rows - (area.low ? area.rows - 2 : area.rows / 2 > 9 ? 9 : area.rows / 2);
	return rows < 1 ? 1 : (size_t)rows;
}

void frame_cursor(struct canvas *canvas, int row, int column)
{
	if (canvas->cursor_shown)
		return;
	canvas->cursor_row = row;
	canvas->cursor_column = column;
}

enum canvas_style frame_severity(enum pm_severity severity)
{
	switch (severity) {
	case PM_NOTE: return STYLE_DIM;
	case PM_WARN: return STYLE_WAIT;
	case PM_STOP: return STYLE_BAD;
	}
	return STYLE_PLAIN;
}

const char *frame_phase_mark(enum pm_phase_state state, enum canvas_style *style)
{
	switch (state) {
	case PM_PHASE_LATER: *style = STYLE_DIM; return ".";
	case PM_PHASE_SHUT: *style = STYLE_BAD; return "#";
	case PM_PHASE_OPEN: *style = STYLE_WAIT; return ">";
	case PM_PHASE_CLOSED: *style = STYLE_GOOD; return "=";
	}
	*style = STYLE_PLAIN;
	return "?";
}

void frame_day(int64_t second, char out[static PM_WHEN_TEXT])
{
	pm_day_write(second / 86400 - (second % 86400 < 0), out);
}

void frame_chance(size_t hits, size_t runs, char out[static 16])
{
	struct pm_text text;
	pm_text_fixed(&text, out, 16);
	size_t percent = runs ? (hits * 100 + runs / 2) / runs : 0;
	if (hits && percent == 0)
		pm_text_str(&text, "<1 %");
	else if (hits < runs && percent == 100)
		pm_text_str(&text, ">99 %");
	else
		pm_text_add(&text, "%zu %%", percent);
}

/* --- the two rows on top --- */

static void add_counts(const struct board_model *model, bool narrow, struct pm_text *text)
{
	const struct pm_fleet_counts *c = &model->counts;
	const char *gap = narrow ? " " : "  ";
	if (narrow)
		pm_text_add(text, "%zu:", c->sites);
	else
		pm_text_add(text, "%zu site%s", c->sites, c->sites == 1 ? "" : "s");
	pm_text_add(text, "%s%zu ready%s%zu stopped%s%zu done%s%zu unread", gap, c->ready, gap, c->stopped, gap, c->done,
	            gap, c->unread);
	if (c->practice && !narrow)
		pm_text_add(text, "  +%zu practice", c->practice);
}

static void title_bar(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	char left[300], right[48] = "";
	struct frame area = board_area(state);
	struct pm_text text;
	enum board_screen at = state->screen;
	pm_text_fixed(&text, left, sizeof left);
	if ((at == BOARD_SITE || at == BOARD_WAIVE) && model->opened) {
		const struct pm_job *job = model->detail.the_case.job;
		pm_text_str(&text, at == BOARD_WAIVE ? "waivers: " : "");
		pm_text_visible(&text, job->code.text, strlen(job->code.text));
		pm_text_str(&text, "  ");
		pm_text_visible(&text, pm_given(job->name) ? job->name.text : "", pm_given(job->name) ? strlen(job->name.text) : 0);
	} else if (at == BOARD_FLEET) {
		add_counts(model, area.narrow, &text);
	} else {
		pm_text_str(&text, board_screens[at].title);
	}
	if (!area.narrow)
		board_when(pm_when_utc(model->now.second), false, right);
	int wide = canvas_width(right), room = canvas->columns - 2 - (wide ? wide + 2 : 0);
	/* a number that is cut would be another one */
	if (at == BOARD_FLEET && canvas_width(left) > room) {
		pm_text_fixed(&text, left, sizeof left);
		add_counts(model, true, &text);
	}
	canvas_fill(canvas, 0, 0, 1, canvas->columns, STYLE_BAR, ' ');
	canvas_put(canvas, 0, canvas->columns - wide - 1, wide, STYLE_BAR, right);
	canvas_put(canvas, 0, 1, room, STYLE_BAR, left);
}

static void progress_bar(const struct board_model *model, struct canvas *canvas)
{
	char words[80];
	struct pm_text text;
	size_t done = model->fleet->count, total = model->total > done ? model->total : done;
	pm_text_fixed(&text, words, sizeof words);
	pm_text_add(&text, "reading %zu of %zu ", done, total);
	int used = canvas_put(canvas, 1, 1, canvas->columns - 2, STYLE_WAIT, words), room = canvas->columns - used - 4;
	if (room < 4 || !total)
		return;
	int full = (int)(done * (uint64_t)room / total);
	canvas_put(canvas, 1, 1 + used, 1, STYLE_PLAIN, "[");
	canvas_fill(canvas, 1, 2 + used, 1, full, STYLE_GOOD, '#');
	canvas_fill(canvas, 1, 2 + used + full, 1, room - full, STYLE_DIM, '.');
	canvas_put(canvas, 1, 2 + used + room, 1, STYLE_PLAIN, "]");
}

static void add_day(int64_t day, bool narrow, struct pm_text *text)
{
	char written[PM_WHEN_TEXT];
	pm_day_write(day, written);
	pm_text_str(text, narrow && strlen(written) == 10 ? written + 5 : written);
}

static void add_deadline(const struct board_model *model, bool narrow, struct pm_text *text)
{
	char chance[16];
	int64_t first, last;
	if (!pm_fleet_deadlines(model->fleet, &first, &last)) {
		pm_text_str(text, narrow ? "" : "no deadline");
		return;
	}
	pm_text_str(text, narrow ? "by " : first == last ? "deadline " : "deadlines ");
	add_day(first, narrow, text);
	if (last != first) {
		pm_text_str(text, narrow ? ".." : " to ");
		add_day(last, narrow, text);
	}
	if (model->foreseen && model->forecast.hits == 0 && last < model->now.second / 86400) {
		pm_text_str(text, narrow ? " passed" : ": passed");
	} else if (model->foreseen) {
		frame_chance(model->forecast.hits, model->forecast.runs, chance);
		bool most = model->forecast.at_most && model->forecast.hits;
		pm_text_str(text, narrow ? most ? " max " : " " : most ? ": chance at most " : ": chance ");
		pm_text_str(text, chance);
	}
}

static void add_across(const struct board_model *model, bool narrow, struct pm_text *text)
{
	static const enum pm_severity all[] = { PM_STOP, PM_WARN, PM_NOTE };
	bool first = true;
	if (!model->held_together)
		return;
	/* a narrow window has the key that shows them */
	pm_text_str(text, narrow ? "  f:" : "   across the fleet: ");
	for (size_t i = 0; i < 3; i++) {
		size_t count = board_across(model, all[i]);
		if (!count)
			continue;
		if (narrow)
			pm_text_add(text, " %zu %s", count, pm_severity_word(all[i]));
		else
			pm_text_add(text, "%s%zu %s", first ? "" : ", ", count, pm_severity_word(all[i]));
		first = false;
	}
	if (first)
		pm_text_str(text, narrow ? " none" : "no finding");
}

/* The deadline with its chance, what there is across the fleet, and by what the list is
 * sorted: as many words as there is room for. */
static void status_row(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	static const struct { bool deadline, across; } narrower[] = { { false, false }, { false, true }, { true, true } };
	char left[240], middle[240], right[64] = "";
	struct frame area = board_area(state);
	struct pm_text text;
	int wide = 0, used = 0, more = 0;
	if (model->reading && model->waited >= BAR_AFTER) {
		progress_bar(model, canvas);
		return;
	}
	if (state->screen == BOARD_FLEET && state->sort != SORT_SITE) {
		pm_text_fixed(&text, right, sizeof right);
		pm_text_add(&text, "by %s", order_sort_word(state->sort));
		wide = canvas_width(right);
	}
	for (size_t i = area.narrow ? 2 : 0; i < 3; i++) {
		pm_text_fixed(&text, left, sizeof left);
		add_deadline(model, narrower[i].deadline, &text);
		pm_text_fixed(&text, middle, sizeof middle);
		add_across(model, narrower[i].across, &text);
		used = canvas_width(left), more = canvas_width(middle);
		if (used + more + (wide ? wide + 3 : 2) <= canvas->columns)
			break;
	}
	used = canvas_put(canvas, 1, 1, canvas->columns - 2, STYLE_PLAIN, left);
	enum canvas_style style = board_across(model, PM_STOP) ? STYLE_BAD : STYLE_PLAIN;
	used += canvas_put(canvas, 1, 1 + used, canvas->columns - 2 - used, style, middle);
	if (wide && used + wide + 3 <= canvas->columns)
		canvas_put(canvas, 1, canvas->columns - wide - 1, wide, STYLE_STRONG, right);
}

/* A list that leaves sites out says so as long as it does. */
static void message(const struct board_state *state, const struct board_model *model, struct canvas *canvas, int row)
{
	char line[ORDER_TEXT * 3], block[ORDER_TEXT + 16];
	struct pm_text text;
	canvas_wrap(canvas, row, 1, canvas->rows - 1 - row, canvas->columns - 2, state->message_style, state->message, 0);
	bool filtered = state->filter.block != BLOCK_ANY || state->filter.text[0];
	if (state->message[0] || state->screen != BOARD_FLEET || !filtered)
		return;
	order_block_say(&state->filter, block);
	pm_text_fixed(&text, line, sizeof line);
	pm_text_add(&text, "%zu of %zu listed: %s", state->order.count, model->fleet->count, block);
	if (state->filter.text[0])
		pm_text_add(&text, "%s\"%s\"", block[0] ? ", with " : "with ", state->filter.text);
	canvas_put(canvas, row, 1, canvas->columns - 2, STYLE_WAIT, line);
}

void frame_more(const struct board_state *state, struct canvas *canvas, const struct page *page)
{
	static const char words[] = "more: Down";
	if (page->line - page->skip > page->rows && !state->message[0])
		canvas_put(canvas, page->row + page->rows, canvas->columns - (int)sizeof words, (int)sizeof words, STYLE_STRONG,
		           words);
}

void board_frame_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	const struct board_screen_row *row = &board_screens[state->screen];
	struct frame area = board_area(state);
	int edge = area.narrow ? 0 : 1;
	title_bar(state, model, canvas);
	status_row(state, model, canvas);
	message(state, model, canvas, area.row + area.rows);
	const struct keytable_row *keys = row->keys;
	size_t count = row->key_count;
	if (state->typing && (state->screen == BOARD_FLEET || state->screen == BOARD_WAIVE)) {
		keys = state->screen == BOARD_FLEET ? board_filter_keys : board_field_keys;
		count = state->screen == BOARD_FLEET ? board_filter_key_count : board_field_key_count;
	}
	/* at a revision nothing can be waived: that key is not offered */
	struct keytable_row fewer[KEYS_MOST];
	if (state->screen == BOARD_SITE && model->opened && !model->detail.job.from_disk) {
		size_t kept = 0;
		for (size_t i = 0; i < count && kept < KEYS_MOST; i++)
			if (keys[i].request != ASK_WAIVE)
				fewer[kept++] = keys[i];
		keys = fewer;
		count = kept;
	}
	canvas_fill(canvas, canvas->rows - 1, 0, 1, canvas->columns, STYLE_BAR, ' ');
	keytable_bar(keys, count, canvas, canvas->rows - 1, edge, canvas->columns - 2 * edge);
}

void board_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	canvas_clear(canvas);
	canvas->cursor_shown = false;
	if (!board_fits(state)) {
		canvas_print(canvas, 0, 0, canvas->columns, STYLE_BAD, "window too small: %dx%d needed",
		             FRAME_COLUMNS, FRAME_ROWS);
		canvas_put(canvas, 1, 0, canvas->columns, STYLE_PLAIN, "make it larger; no key acts here");
		canvas_put(canvas, 2, 0, canvas->columns, STYLE_PLAIN,
		           state->screen == BOARD_LEAVE ? "leave? y leaves, n stays" : "Ctrl-C asks whether to leave");
		return;
	}
	board_frame_draw(state, model, canvas);
	board_screens[state->screen].draw(state, model, canvas);
}
