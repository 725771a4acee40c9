#include "screen/canvas.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"
#include "screen/glyph.h"

static struct canvas_cell *cell_at(const struct canvas *canvas, int row, int column)
{
	if (row < 0 || row >= canvas->rows || column < 0 || column >= canvas->columns)
		return NULL;
	return &canvas->cell[(size_t)row * (size_t)canvas->columns + (size_t)column];
}

bool canvas_init(struct canvas *canvas, int rows, int columns, bool ascii)
{
	*canvas = (struct canvas){ .ascii = ascii };
	return canvas_resize(canvas, rows, columns);
}

bool canvas_resize(struct canvas *canvas, int rows, int columns)
{
	if (rows < 0 || columns < 0 || rows > CANVAS_MOST_SIDE || columns > CANVAS_MOST_SIDE)
		return false;
	size_t count = (size_t)rows * (size_t)columns;
	struct canvas_cell *cell = calloc(count ? count : 1, sizeof *cell);
	if (!cell)
		return false;
	free(canvas->cell);
	canvas->cell = cell;
	canvas->rows = rows;
	canvas->columns = columns;
	canvas_clear(canvas);
	return true;
}

void canvas_free(struct canvas *canvas)
{
	free(canvas->cell);
	*canvas = (struct canvas){ 0 };
}

void canvas_clear(struct canvas *canvas)
{
	size_t count = (size_t)canvas->rows * (size_t)canvas->columns;
	for (size_t i = 0; i < count; i++)
		canvas->cell[i] = (struct canvas_cell){ .point = ' ', .style = STYLE_PLAIN };
	canvas->cursor_row = canvas->cursor_column = 0;
	canvas->cursor_shown = false;
}

/* Take the cell for a new character: the other half of a wide character that
 * is cut in two becomes a blank. */
static struct canvas_cell *take(const struct canvas *canvas, int row, int column)
{
	struct canvas_cell *cell = cell_at(canvas, row, column);
	if (!cell)
		return NULL;
	if (cell->point == 0 && column > 0) {
		cell[-1].point = ' ';
		memset(cell[-1].mark, 0, sizeof cell[-1].mark);
	}
	if (column + 1 < canvas->columns && cell[1].point == 0)
		cell[1].point = ' ';
	*cell = (struct canvas_cell){ .point = ' ' };
	return cell;
}

/* One character of one cell, or a blank where a wide one was cut in two. */
static void set(const struct canvas *canvas, int row, int column, enum canvas_style style,
                uint32_t point, const uint32_t *mark)
{
	struct canvas_cell *cell = take(canvas, row, column);
	if (!cell)
		return;
	cell->style = (uint8_t)style;
	cell->point = canvas->ascii ? glyph_ascii(point) : point;
	if (mark && !canvas->ascii)
		memcpy(cell->mark, mark, sizeof cell->mark);
}

static void set_wide(const struct canvas *canvas, int row, int column, enum canvas_style style,
                     const struct glyph *glyph)
{
	struct canvas_cell *left = take(canvas, row, column);
	struct canvas_cell *right = take(canvas, row, column + 1);
	if (left)
		left->style = (uint8_t)style;
	if (right)
		right->style = (uint8_t)style;
	if (canvas->ascii) {
		if (left)
			left->point = '?';
		if (right)
			right->point = '?';
	} else if (left && right) {
		left->point = glyph->point[0];
		memcpy(left->mark, glyph->mark, sizeof left->mark);
		right->point = 0;
	}
}

int canvas_glyph(struct canvas *canvas, int row, int column, int width, enum canvas_style style,
                 const struct glyph *glyph)
{
	if (glyph->points == 1 && glyph->width > width)
		return 0;
	if (glyph->points == 1 && glyph->width == 2) {
		set_wide(canvas, row, column, style, glyph);
		return 2;
	}
	int used = 0;
	for (; used < glyph->points && used < width; used++)
		set(canvas, row, column + used, style, glyph->point[used], glyph->mark);
	return used;
}

void canvas_fill(struct canvas *canvas, int row, int column, int rows, int columns, enum canvas_style style, uint32_t point)
{
	if (!glyph_printable(point) || glyph_width(point) != 1)
		point = ' ';
	int end_row = rows < canvas->rows - row ? row + rows : canvas->rows;
	int end_column = columns < canvas->columns - column ? column + columns : canvas->columns;
	for (int r = row < 0 ? 0 : row; r < end_row; r++)
		for (int c = column < 0 ? 0 : column; c < end_column; c++)
			set(canvas, r, c, style, point, NULL);
}

void canvas_restyle(struct canvas *canvas, int row, int column, int columns, enum canvas_style style)
{
	int end = columns < canvas->columns - column ? column + columns : canvas->columns;
	for (int c = column < 0 ? 0 : column; c < end; c++) {
		struct canvas_cell *cell = cell_at(canvas, row, c);
		if (cell)
			cell->style = (uint8_t)style;
	}
}

void canvas_rule(struct canvas *canvas, int row, int column, int columns)
{
	canvas_fill(canvas, row, column, 1, columns, STYLE_PLAIN, 0x2500);
}

void canvas_wall(struct canvas *canvas, int row, int column, int rows)
{
	canvas_fill(canvas, row, column, rows, 1, STYLE_PLAIN, 0x2502);
}

void canvas_box(struct canvas *canvas, int row, int column, int rows, int columns, enum canvas_style style)
{
	if (rows < 2 || columns < 2)
		return;
	int bottom = row + rows - 1, right = column + columns - 1;
	canvas_fill(canvas, row, column, 1, columns, style, 0x2500);
	canvas_fill(canvas, bottom, column, 1, columns, style, 0x2500);
	canvas_fill(canvas, row, column, rows, 1, style, 0x2502);
	canvas_fill(canvas, row, right, rows, 1, style, 0x2502);
	set(canvas, row, column, style, 0x250C, NULL);
	set(canvas, row, right, style, 0x2510, NULL);
	set(canvas, bottom, column, style, 0x2514, NULL);
	set(canvas, bottom, right, style, 0x2518, NULL);
}

/* Where the last cell that matters of a row ends. */
static int row_end(const struct canvas *canvas, int row, bool styles)
{
	int end = canvas->columns;
	for (; end > 0; end--) {
		const struct canvas_cell *cell = cell_at(canvas, row, end - 1);
		if (styles ? cell->style != STYLE_PLAIN : cell->point != ' ' || cell->mark[0])
			break;
	}
	return end;
}

static size_t dump_cell(const struct canvas_cell *cell, bool styles, char *out)
{
	static const char letter[STYLES] = {
		[STYLE_PLAIN] = '.', [STYLE_DIM] = 'd', [STYLE_STRONG] = 's', [STYLE_CHOSEN] = 'c',
		[STYLE_GOOD] = 'g', [STYLE_WAIT] = 'w', [STYLE_BAD] = 'b', [STYLE_CAUTION] = '!',
		[STYLE_BAR] = '=',
	};
	if (styles) {
		*out = cell->style < STYLES ? letter[cell->style] : '?';
		return 1;
	}
	size_t length = cell->point ? pm_utf8_put(cell->point, out) : 0;
	for (int i = 0; i < 2 && cell->mark[i]; i++)
		length += pm_utf8_put(cell->mark[i], out + length);
	return length;
}

char *canvas_dump(const struct canvas *canvas, bool styles)
{
	/* at most three characters of four bytes a cell, a letter, two line feeds a row */
	size_t rows = (size_t)canvas->rows, columns = (size_t)canvas->columns;
	char *dump = malloc(rows * (columns * 13 + 2) + 2);
	if (!dump)
		return NULL;
	size_t length = 0;
	for (int block = 0; block <= (int)styles; block++) {
		if (block)
			dump[length++] = '\n';
		for (int row = 0; row < canvas->rows; row++) {
			int end = row_end(canvas, row, block == 1);
			for (int column = 0; column < end; column++)
				length += dump_cell(cell_at(canvas, row, column), block == 1, dump + length);
			dump[length++] = '\n';
		}
	}
	dump[length] = '\0';
	return dump;
}
