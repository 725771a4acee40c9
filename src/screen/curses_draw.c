/* A canvas on the screen of ncurses. */
#include "screen/curses_parts.h"

#include <wchar.h>

#include <curses.h>

#include "screen/glyph.h"

/* Each style has attributes of its own, so that none needs colour. */
static attr_t look(uint8_t style, bool colour, short *pair)
{
	static const struct { attr_t plain, coloured; short pair; } looks[STYLES] = {
		[STYLE_PLAIN]   = { A_NORMAL, A_NORMAL, 0 },
		[STYLE_DIM]     = { A_DIM, A_DIM, 0 },
		[STYLE_STRONG]  = { A_BOLD, A_BOLD, 0 },
		[STYLE_CHOSEN]  = { A_REVERSE, A_REVERSE, 0 },
		[STYLE_GOOD]    = { A_UNDERLINE, A_NORMAL, 1 },
		[STYLE_WAIT]    = { A_BOLD | A_UNDERLINE, A_BOLD, 2 },
		[STYLE_BAD]     = { A_REVERSE | A_UNDERLINE, A_BOLD, 3 },
		[STYLE_CAUTION] = { A_REVERSE | A_BOLD | A_UNDERLINE, A_REVERSE | A_BOLD, 3 },
		[STYLE_BAR]     = { A_REVERSE | A_BOLD, A_REVERSE | A_BOLD, 0 },
	};
	if (style >= STYLES)
		style = STYLE_PLAIN;
	*pair = colour ? looks[style].pair : 0;
	return colour ? looks[style].coloured : looks[style].plain;
}

bool draw_colours(void)
{
	if (!has_colors() || start_color() == ERR || COLORS < 8)
		return false;
	short ground = use_default_colors() == OK ? -1 : COLOR_BLACK;
	init_pair(1, COLOR_GREEN, ground);
	init_pair(2, COLOR_CYAN, ground);
	init_pair(3, COLOR_RED, ground);
	return true;
}

static void put_cell(int row, int column, const wchar_t *text, attr_t attributes, short pair)
{
	cchar_t cell;
	if (setcchar(&cell, text, attributes, pair, NULL) == OK)
		mvadd_wch(row, column, &cell);   /* the last corner answers ERR and is drawn */
}

static void draw_row(const struct canvas *canvas, int row, int columns, bool unicode, bool colour)
{
	const struct canvas_cell *cell = canvas->cell + (size_t)row * (size_t)canvas->columns;
	for (int column = 0; column < columns; column++) {
		bool wide = column + 1 < columns && cell[column + 1].point == 0;
		short pair;
		attr_t attributes = look(cell[column].style, colour, &pair);
		wchar_t text[4] = { L'?' };
		if (!unicode) {
			text[0] = (wchar_t)glyph_ascii(cell[column].point);
			wide = false;   /* its right half is drawn as a character too */
		} else if (cell[column].point && wcwidth((wchar_t)cell[column].point) == (wide ? 2 : 1)) {
			text[0] = (wchar_t)cell[column].point;
			for (int i = 0; i < 2 && cell[column].mark[i] && wcwidth((wchar_t)cell[column].mark[i]) == 0; i++)
				text[i + 1] = (wchar_t)cell[column].mark[i];
		} else {
			wide = false;   /* the C library sees another width, which would shift the row */
		}
		put_cell(row, column, text, attributes, pair);
		column += wide;
	}
}

void draw_canvas(const struct canvas *canvas, bool unicode, bool colour)
{
	int rows, columns;
	getmaxyx(stdscr, rows, columns);
	rows = canvas->rows < rows ? canvas->rows : rows;
	columns = canvas->columns < columns ? canvas->columns : columns;
	erase();
	for (int row = 0; row < rows; row++)
		draw_row(canvas, row, columns, unicode, colour);
	/* placed even when hidden: screen readers and braille displays follow it */
	move(canvas->cursor_row, canvas->cursor_column);
	wnoutrefresh(stdscr);
}
