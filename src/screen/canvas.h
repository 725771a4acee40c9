/* canvas.h - a grid of cells that views draw on and tests compare as text.
 *
 * A canvas knows no terminal. Text put on it is made safe first: a control
 * character never becomes a cell. Wide characters take two cells; what does
 * not fit is clipped, and never wraps.
 */
#ifndef SCREEN_CANVAS_H
#define SCREEN_CANVAS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What a cell means; curses.c alone decides how it looks. Every style is
 * told apart by words or marks too, never by colour alone. */
enum canvas_style {
	STYLE_PLAIN,
	STYLE_DIM,        /* less important */
	STYLE_STRONG,     /* headings */
	STYLE_CHOSEN,     /* the focused row or field */
	STYLE_GOOD, STYLE_WAIT, STYLE_BAD,
	STYLE_CAUTION,    /* a safety caution */
	STYLE_BAR,        /* title and key bars */
	STYLES
};

struct canvas_cell {
	uint32_t point;      /* 0: the right half of a wide character */
	uint8_t style;
	uint32_t mark[2];    /* combining marks on the character; 0: none */
};

struct canvas {
	int rows, columns;
	struct canvas_cell *cell;    /* rows * columns */
	bool ascii;                  /* only characters below 0x80 may be put */
	int cursor_row, cursor_column;   /* where the hardware cursor rests */
	bool cursor_shown;           /* a text field has it */
};

/* Rows or columns: keeps products far from overflow. */
#define CANVAS_MOST_SIDE 4096

/* False when memory ran out or a side is longer than that. */
bool canvas_init(struct canvas *canvas, int rows, int columns, bool ascii);
bool canvas_resize(struct canvas *canvas, int rows, int columns);
void canvas_free(struct canvas *canvas);
void canvas_clear(struct canvas *canvas);

/* Put UTF-8 text at (row, column), at most `width` cells; returns the cells
 * used, those clipped at the canvas's edges included. In an ASCII canvas a
 * character without an ASCII stand-in becomes `?`; a stand-in takes as many
 * cells as the character. */
int canvas_put(struct canvas *canvas, int row, int column, int width, enum canvas_style style, const char *text);
/* printf into a canvas_put (vsnprintf subset of the C library). */
int canvas_print(struct canvas *canvas, int row, int column, int width, enum canvas_style style, const char *format, ...)
	__attribute__((format(printf, 6, 7)));
/* Put text wrapped at blanks in a box of `rows` x `width`; skips the first
 * `skip` lines (scrolling) and returns how many lines the whole text takes.
 * A line feed ends a line; blanks that begin a line of the text stay; a word
 * wider than the box is broken. With a null canvas it only counts. */
int canvas_wrap(struct canvas *canvas, int row, int column, int rows, int width, enum canvas_style style,
                const char *text, int skip);
void canvas_fill(struct canvas *canvas, int row, int column, int rows, int columns, enum canvas_style style, uint32_t point);
void canvas_restyle(struct canvas *canvas, int row, int column, int columns, enum canvas_style style);

/* Lines: drawn with box characters, or - | + in ASCII. */
void canvas_rule(struct canvas *canvas, int row, int column, int columns);
void canvas_wall(struct canvas *canvas, int row, int column, int rows);
void canvas_box(struct canvas *canvas, int row, int column, int rows, int columns, enum canvas_style style);

/* Display width of UTF-8 text in cells, as canvas_put would use. */
int canvas_width(const char *text);

/* Lay one glyph on the canvas as canvas_put does; returns its cells, or 0
 * (and does nothing) when it is wider than `width`. */
struct glyph;
int canvas_glyph(struct canvas *canvas, int row, int column, int width, enum canvas_style style,
                 const struct glyph *glyph);

/* The canvas as text, trailing blanks of each row dropped, LF after each row;
 * malloc'd: free it. With `styles`, an empty line and a second block with a
 * letter a cell, trailing plain cells dropped: `.` plain, d dim, s strong,
 * c chosen, g good, w wait, b bad, ! caution, = bar. */
char *canvas_dump(const struct canvas *canvas, bool styles);

#endif
