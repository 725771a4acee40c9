/* titles.h - which rows of a page hold the titles of which sections. */
#ifndef SHEET_TITLES_H
#define SHEET_TITLES_H

#include "sheet/returned.h"

#define TITLES_NOWHERE UINT32_MAX

/* A section whose titles are looked for. */
struct titles_want {
	const struct pm_section *section;
	uint32_t hint;          /* the row where they should be, or TITLES_NOWHERE */
	uint32_t left, right;   /* its columns, when sections stand beside each other */
	uint32_t at;            /* the row that was found, or TITLES_NOWHERE */
};

/* Does a cell of the row hold this text? Blanks and line breaks as in titles. */
bool titles_hold(const struct returned_page *page, uint32_t row, const char *text);

/* How many cells of the row hold a text. */
size_t titles_texts(const struct returned_page *page, uint32_t row);

/* Find the titles of `count` sections on a page: rows with just a section's titles
 * first, then with all of them, then with at least half; below the section before where
 * there are such, else anywhere, for sections may have changed places. Two sections
 * share a row only when their columns do not overlap. */
void titles_assign(const struct returned_page *page, struct titles_want *want, size_t count);

/* On which page do they stand? Of equals the first; null when none has half of them. */
struct returned_page *titles_page(const struct pm_section *section, const struct returned *sheet);

/* The page of a workbook on which the sections stand as in a CSV sheet, at least half
 * of them and not all where the layout puts them in a workbook; or null. */
struct returned_page *titles_poured(const struct pm_layout *layout, const struct returned *sheet);

#endif
