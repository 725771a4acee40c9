/* workbook.h - a desk's own workbook file (ECMA-376, .xlsx), read and filled.
 *
 * Filling writes only the cells that are put, and leaves every other part of the
 * package byte for byte as it was: order, names, compressed bytes. Within a page
 * only the cells that are put change. Text stays text: a cell is written as an
 * inline string, its style kept.
 *
 * Life cycle: open, get and put, save, close. Pages, rows and columns count from
 * 0. A file with macros, one that is encrypted, or whose parts pass the bounds
 * (64 MiB a part unpacked, 64 MiB the whole packed, 2000 parts, 1000 pages, 2
 * million cells a page) is refused. A signed file can be read but not filled, for
 * that would break its signature. Protection of a page or of the workbook against
 * changes is no hindrance: it belongs to the desk's layout and stays as it is.
 * Values that formulas left behind, and calcChain, stay as well: whoever fills a
 * workbook has to say so (workbook_formulas).
 */
#ifndef SHEET_WORKBOOK_H
#define SHEET_WORKBOOK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "portmuster/arena.h"
#include "portmuster/fault.h"

#define WORKBOOK_MOST_ROWS 1048576u
#define WORKBOOK_MOST_COLUMNS 16384u

struct workbook;

/* Faults: missing, forbidden, not a workbook (says what it seems to be), bounds. */
struct workbook *workbook_open(const char *path, struct pm_fault *fault);
void workbook_close(struct workbook *workbook);   /* null is allowed */

size_t workbook_pages(const struct workbook *workbook);
const char *workbook_page_name(const struct workbook *workbook, size_t page);   /* UTF-8, raw */
bool workbook_page_hidden(const struct workbook *workbook, size_t page);
/* The page of that name, WORKBOOK_NO_PAGE when there is none. */
#define WORKBOOK_NO_PAGE ((size_t)-1)
size_t workbook_page_find(const struct workbook *workbook, const char *name);

enum workbook_kind {
	WORKBOOK_EMPTY,     /* no such cell, or nothing in it */
	WORKBOOK_TEXT,
	WORKBOOK_NUMBER,    /* `text` is the number as stored: "112233", "1.2E+457" */
	WORKBOOK_DATE,      /* a number that its style shows as a date or time */
	WORKBOOK_TRUTH,     /* "TRUE", "FALSE" */
	WORKBOOK_ERROR,     /* "#N/A" */
	WORKBOOK_FORMULA,   /* `text` is the value stored with it; also any cell of an array formula */
};

struct workbook_cell {
	enum workbook_kind kind;
	const char *text;       /* never null; in the arena given */
	bool covered;           /* lies under a merged cell and is not its first */
};

/* Rows and columns that hold anything. False with a fault when the page cannot be
 * read. */
bool workbook_extent(struct workbook *workbook, size_t page, uint32_t *rows, uint32_t *columns,
                     struct pm_fault *fault);

/* How many formulas of the page keep a result that was computed before anything was
 * put; the first of them is named when there are any. False with a fault when the page
 * cannot be read. */
bool workbook_formulas(struct workbook *workbook, size_t page, size_t *count, uint32_t *row, uint32_t *column,
                       struct pm_fault *fault);

/* Does the workbook ask to be computed anew whenever it is opened (ECMA-376 part 1,
 * 18.2.2, fullCalcOnLoad)? */
bool workbook_recalculates(const struct workbook *workbook);

/* What was put into a cell is what it gives, saved or not. */
bool workbook_get(struct workbook *workbook, size_t page, uint32_t row, uint32_t column,
                  struct pm_arena *arena, struct workbook_cell *cell, struct pm_fault *fault);

/* Put `text` (UTF-8; empty empties the cell, keeping its style) to be written by
 * this and every later save. Refused, with the cell named: a formula cell, a cell
 * covered by a merged one, text that is not UTF-8 or holds control characters, more
 * than 32,767 characters (as UTF-16 counts them). */
bool workbook_put(struct workbook *workbook, size_t page, uint32_t row, uint32_t column,
                  const char *text, struct pm_fault *fault);

/* Write the filled workbook to `path`, atomically: on any failure an earlier file
 * there stays intact. The workbook stays open. */
bool workbook_save(struct workbook *workbook, const char *path, struct pm_fault *fault);

/* "B7" for row 6 column 1, and back; `room` of 12 suffices. The reverse is false
 * for anything else. */
void workbook_name(uint32_t row, uint32_t column, char out[static 12]);
bool workbook_place(const char *name, uint32_t *row, uint32_t *column);

#endif
