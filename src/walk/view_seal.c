/* The seal on the screen. */
#include <string.h>

#include "portmuster/seal.h"
#include "portmuster/text.h"
#include "report/qr.h"
#include "screen/large.h"
#include "walk/frame.h"
#include "walk/seal_screen.h"

#define QUIET 2      /* modules of white around a code on a screen, where the frame is dark */

static void put_words(struct pm_text *text, const char *characters, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		const char *word = pm_spell(characters[i]);
		pm_text_add(text, "%s%s", i ? " " : "", word ? word : "");
	}
}

static void draw_words(const struct session *session, struct canvas *canvas, int row, int end, int width)
{
	static const struct { size_t from, count; } groups[] = { { 0, 4 }, { 4, 4 }, { 8, 1 } };
	char characters[10], words[120];
	struct pm_text text;
	seal_typed(session->seal.text, characters);
	for (size_t i = 0; i < sizeof groups / sizeof *groups && row < end; i++) {
		pm_text_fixed(&text, words, sizeof words);
		put_words(&text, characters + groups[i].from, groups[i].count);
		canvas_put(canvas, row++, 4, width, STYLE_STRONG, words);
	}
}

static void draw_large(const struct session *session, struct canvas *canvas, struct frame area)
{
	int row = area.row, end = area.row + area.rows, width = area.columns - 4;
	const struct pm_seal *seal = &session->seal;
	if (!seal->complete) {
		canvas_wrap(canvas, row, 2, end - row, width, STYLE_BAD,
		            "There is no seal yet: not every registered fact has a value. The findings say which.", 0);
		return;
	}
	if (area.rows >= LARGE_ROWS + 5 && area.columns >= (int)strlen(seal->text) * LARGE_COLUMNS + 3) {
		large_put(canvas, row + 1, 3, STYLE_STRONG, seal->text);
		row += LARGE_ROWS + 3;
	} else {
		canvas_put(canvas, row++, 2, width, STYLE_STRONG, seal->text);
	}
	draw_words(session, canvas, row, end, width);
	row += 4;
	if (row < end)
		canvas_wrap(canvas, row, 2, end - row, width, STYLE_PLAIN,
		            "Both ends compute it from the registered facts. Let the other end read first, then Enter "
		            "and type what you hear: people hear what they expect.", 0);
}

static void draw_back(const struct walk_state *state, struct canvas *canvas, struct frame area)
{
	int row = area.row, width = area.columns - 4;
	row += canvas_wrap(canvas, row, 2, 3, width, STYLE_PLAIN,
	                   "The other end reads its seal, character by character in spelling words. Yours is hidden meanwhile.", 0) + 1;
	int used = canvas_put(canvas, row, 2, 20, STYLE_STRONG, "they read: ");
	field_draw(&state->field, canvas, row, 2 + used, width - used, true);
	char heard[40], words[400];
	struct pm_text text;
	size_t count = seal_heard(state->field.text, heard, sizeof heard);
	pm_text_fixed(&text, words, sizeof words);
	put_words(&text, heard, count);
	canvas_wrap(canvas, row + 2, 2, 3, width, STYLE_STRONG, words, 0);
}

static void draw_rows(const struct walk_state *state, const struct session *session, struct canvas *canvas, struct frame area)
{
	const struct pm_roster *roster = &session->result.roster;
	size_t room = area.rows > 2 ? (size_t)area.rows - 1 : 1, first = frame_first(state->row, roster->count, room);
	canvas_put(canvas, area.row, 2, area.columns - 4, STYLE_STRONG, "port    address            check character");
	for (size_t i = first; i < roster->count && i < first + room; i++) {
		const struct pm_call *call = &roster->call[i];
		int row = area.row + 1 + (int)(i - first);
		char address[PM_EUI48_TEXT] = "--";
		char check = call->valid ? pm_eui48_check(&call->address) : '-';
		if (call->valid)
			pm_eui48_text(&call->address, address);
		canvas_print(canvas, row, 2, area.columns - 4, i == state->row ? STYLE_CHOSEN : STYLE_PLAIN, "%-7s %-17s  %c  %s",
		             call->port->name.text, address, check, call->valid ? pm_spell(check) : "");
		if (i == state->row)
			frame_choose(canvas, row, 1);
	}
}

/* --- the code --- */

/* A code of `size` modules takes half as many rows, quiet zone included. */
static bool fits(const char *text, int rows, struct pm_arena *arena)
{
	struct qr qr;
	struct pm_fault none;
	return qr_matrix(text, arena, &qr, &none) && (int)(qr.size + 2 * QUIET + 1) / 2 <= rows;
}

const char *seal_part(const struct session *session, int rows, size_t index, size_t *count, struct pm_arena *arena)
{
	const char *at = session->seal.canonical, *found = NULL;
	*count = 0;
	while (at && *at) {
		/* as many whole lines as fit; a number stands before them */
		const char *end = at, *next;
		struct pm_text part;
		while (*end) {
			next = strchr(end, '\n');
			next = next ? next + 1 : end + strlen(end);
			pm_text_grow(&part, arena);
			pm_text_add(&part, "99/99 ");
			pm_text_put(&part, at, (size_t)(next - at));
			if (!part.data || !fits(part.data, rows, arena))
				break;
			end = next;
		}
		if (end == at)
			return NULL;
		if (*count == index) {
			pm_text_grow(&part, arena);
			pm_text_put(&part, at, (size_t)(end - at));
			found = part.data;
		}
		++*count;
		at = end;
	}
	return found;
}

static bool dark_at(const struct qr *qr, int x, int y)
{
	return x >= 0 && y >= 0 && x < (int)qr->size && y < (int)qr->size && qr_dark(qr, (unsigned)x, (unsigned)y);
}

/* Two modules a cell, one above the other, drawn light on dark: what is drawn is the
 * white of the code. In ASCII a module is two cells of one row. */
static void put_code(const struct qr *qr, struct canvas *canvas)
{
	static const char *const halves[] = { "\u2588", "\u2580", "\u2584", " " };
	int side = (int)qr->size;
	for (int y = -QUIET, row = 0; y < side + QUIET; y += canvas->ascii ? 1 : 2, row++)
		for (int x = -QUIET; x < side + QUIET; x++) {
			if (canvas->ascii)
				canvas_put(canvas, row, 2 * (x + QUIET), 2, STYLE_PLAIN, dark_at(qr, x, y) ? "  " : "##");
			else
				canvas_put(canvas, row, x + QUIET, 1, STYLE_PLAIN,
				           halves[(dark_at(qr, x, y + 1) ? 1 : 0) + (dark_at(qr, x, y) ? 2 : 0)]);
		}
}

/* It takes the whole window but its last row. */
static void draw_code(const struct walk_state *state, const struct session *session, struct canvas *canvas, struct frame area)
{
	struct pm_arena arena;
	struct pm_fault fault;
	struct qr qr;
	size_t count = 0;
	pm_arena_init(&arena);
	int rows = canvas->ascii ? (canvas->rows - 1) / 2 : canvas->rows - 1;
	seal_part(session, rows, 0, &count, &arena);
	size_t index = count ? state->row % count : 0;
	const char *part = count ? seal_part(session, rows, index, &count, &arena) : NULL;
	struct pm_text text;
	pm_text_grow(&text, &arena);
	pm_text_add(&text, "%zu/%zu ", index + 1, count);
	pm_text_str(&text, part);
	if (!session->seal.complete) {
		canvas_put(canvas, area.row, 2, area.columns - 4, STYLE_BAD, "not every registered fact has a value yet");
	} else if (!part || !text.data || !qr_matrix(text.data, &arena, &qr, &fault)) {
		canvas_wrap(canvas, area.row, 2, 3, area.columns - 4, STYLE_BAD, "this window is too small for a code; 80x24 is enough, in ASCII 90x45", 0);
	} else {
		int column = (canvas->ascii ? 2 : 1) * ((int)qr.size + 2 * QUIET) + 2;
		canvas_fill(canvas, 0, 0, canvas->rows - 1, canvas->columns, STYLE_PLAIN, ' ');
		put_code(&qr, canvas);
		canvas_print(canvas, 1, column, canvas->columns - column, STYLE_STRONG, "code %zu of %zu", index + 1, count);
		canvas_wrap(canvas, 3, column, canvas->rows - 5, canvas->columns - column - 1, STYLE_PLAIN,
		            "The registered facts as text, for a telephone. Enter shows the next one.", 0);
		canvas_print(canvas, canvas->rows - 3, column, canvas->columns - column, STYLE_STRONG, "seal %s", session->seal.text);
	}
	pm_arena_free(&arena);
}

void seal_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	switch ((enum seal_page)state->page) {
	case SEAL_LARGE: draw_large(session, canvas, area); break;
	case SEAL_BACK: draw_back(state, canvas, area); break;
	case SEAL_ROWS: draw_rows(state, session, canvas, area); break;
	case SEAL_CODE: draw_code(state, session, canvas, area); break;
	}
}
