/* cells.h - one line as it stands on a terminal's screen, with its cursor.
 *
 * It lives as bytes while it is ASCII, as code points from the first character
 * that is not. Every code point takes one column.
 */
#ifndef CAPTURE_CELLS_H
#define CAPTURE_CELLS_H

#include <stdint.h>

#include "capture/clean.h"
#include "capture/pager.h"

struct cells {
	char text[CLEAN_MOST_COLUMNS + 1];      /* a byte a column; 0x80 for what is not ASCII */
	uint32_t point[CLEAN_MOST_COLUMNS];     /* the code points, when `wide` */
	char out[4 * CLEAN_MOST_COLUMNS + 1];
	size_t length, at;                      /* columns in use, cursor */
	bool wide, cut;
	bool vanished;                          /* a pager prompt was taken away */
	bool pieces;                            /* a line that is too long comes in pieces */
	bool inside;                            /* this is one, and not the first */
	bool lost, dropped;                     /* the cursor left it: what comes has no place; something came */
	size_t base;                            /* columns of the line before it */
	char kept[CLEAN_OVERLAP];               /* its end, while it is told */
	struct pager pager;
};

void cells_put(struct cells *cells, uint32_t point);

/* Blanks from the end of the line up to `column`. */
void cells_extend(struct cells *cells, size_t column);

/* The cursor goes back to `column`; a prompt at the end has had its answer. */
void cells_back(struct cells *cells, size_t column);

/* The cursor goes to a column of the whole line, or forward by `count`. */
void cells_go(struct cells *cells, size_t column);
void cells_forward(struct cells *cells, size_t count);

/* Erase as CSI K does: 0 to the end, 1 from the start, 2 everything. */
void cells_erase(struct cells *cells, uint32_t how);
void cells_blank(struct cells *cells, size_t count);

/* A prompt at the end is taken away. */
void cells_take_prompt(struct cells *cells);

/* The line's text, prompts taken away; false when it was nothing but a prompt.
 * Fills text, length, columns and cut, valid until the line is used again. */
bool cells_line(struct cells *cells, struct clean_line *line);

/* The same for a line that goes on, and make room for that: false when there is
 * nothing to tell. The text is whole until cells_roll. */
bool cells_piece(struct cells *cells, struct clean_line *line);
void cells_roll(struct cells *cells);

/* An empty line. */
void cells_reset(struct cells *cells);

#endif
