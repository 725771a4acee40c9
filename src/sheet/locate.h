/* locate.h - where a layout's sections and columns stand in a sheet that came back. */
#ifndef SHEET_LOCATE_H
#define SHEET_LOCATE_H

#include "sheet/grid.h"
#include "sheet/returned.h"

#define LOCATE_NOWHERE UINT32_MAX

struct located {
	const struct pm_section *section;
	const struct returned_page *page;   /* null: the section was not found */
	uint32_t titles_at;                 /* row of its titles, or LOCATE_NOWHERE */
	uint32_t first, end;                /* rows that can be its records */
	uint32_t *column;                   /* where each of its columns stands, or LOCATE_NOWHERE */
};

/* Find every section of the layout: by its titles, which may have moved; a section
 * without titles by its heading, or where `expected` puts it (may be null: then it
 * is not found). Adds a finding for each difference in structure: a page or titles
 * that are not there, columns moved, missing, too many, titles changed. One located
 * a section of the layout, in `arena`; null when memory ran out. */
struct located *locate_sections(const struct pm_layout *layout, const struct grid *expected,
                                const struct returned *sheet, struct pm_arena *arena, struct trouble *trouble);

/* Is there anything to hold a column's cells against? */
bool locate_compared(const struct located *located, size_t column);

/* The longest run of numbers that rise, among `count` of which LOCATE_NOWHERE do
 * not count: `in` is set for those that belong to it. What does not belong has
 * changed its place. False when memory ran out. */
bool locate_rising(const uint32_t *number, size_t count, bool *in, struct pm_arena *arena);

#endif
