/* page.h - a text longer than its place on the screen, drawn line by line from
 * wherever it is scrolled to. */
#ifndef BOARD_PAGE_H
#define BOARD_PAGE_H

#include "screen/canvas.h"

struct page {
	struct canvas *canvas;   /* null: lines are only counted */
	int row, rows;           /* its place on the canvas */
	int column, columns;
	int skip;                /* lines that are scrolled away */
	int line;                /* lines so far */
};

/* One text, wrapped, `indent` cells from the left. */
void page_text(struct page *page, int indent, enum canvas_style style, const char *text);
__attribute__((format(printf, 4, 5)))
void page_add(struct page *page, int indent, enum canvas_style style, const char *format, ...);

/* A short word at `indent`, and a text wrapped beside it from `beside` on. */
void page_pair(struct page *page, int indent, enum canvas_style word_style, const char *word, int beside,
               enum canvas_style style, const char *text);

/* A blank line and a heading; no blank one at the top. */
void page_heading(struct page *page, const char *text);

/* Does a line so far below the top of its place show? */
static inline bool page_sees(const struct page *page, int line)
{
	return page->canvas && line >= 0 && line < page->rows;
}

/* How far a page of so many lines can be scrolled in so many rows. */
static inline int page_most(int lines, int rows) { return lines > rows ? lines - rows : 0; }

#endif
