/* align.h - which row of a sheet that came back is which. Private to verify.c. */
#ifndef SHEET_ALIGN_H
#define SHEET_ALIGN_H

#include "sheet/grid.h"
#include "sheet/locate.h"

#define ALIGN_NONE SIZE_MAX

/* One section, row by row. */
struct aligned {
	const struct grid *grid;
	const struct grid_section *section;
	const struct located *located;
	uint32_t *row;          /* the rows that came back and are not blank: where each stands */
	size_t count;
	uint32_t blank;         /* the first blank row between them, or LOCATE_NOWHERE */
	size_t *match;          /* for each expected row the index in `row`, or ALIGN_NONE */
	size_t *source;         /* the reverse */
};

/* Pair the rows by what they hold: whole rows that agree first, in place before
 * elsewhere, then those that agree in most cells. False when memory ran out. */
bool align_rows(struct aligned *a, struct pm_arena *arena);

/* The cell of the expected row `e` and column `i` as it should stand. */
const char *align_right(const struct aligned *a, size_t e, size_t i);

/* The cell of the returned row `r` (an index in `row`) and column `i`. */
const struct returned_cell *align_seen(const struct aligned *a, size_t r, size_t i);

/* Is the column compared at all? */
bool align_compared(const struct aligned *a, size_t i);

#endif
