/* returned.h - a sheet that came back, as it stands: CSV or workbook.
 *
 * Nothing is judged here but whether it can be read at all. A CSV sheet is read
 * whatever was done to it as a whole: another separator, a byte order mark, other
 * line ends, UTF-16, bytes that are not UTF-8 (taken as Windows-1252), saved as a
 * workbook; what was found is noted.
 */
#ifndef SHEET_RETURNED_H
#define SHEET_RETURNED_H

#include "portmuster/layout.h"
#include "sheet/workbook.h"

#define RETURNED_MOST_BYTES (16u << 20)    /* a larger CSV sheet is refused */
#define RETURNED_MOST_ROWS 50000u          /* as is a page with more */
#define RETURNED_MOST_COLUMNS 1000u
#define RETURNED_MOST_CELLS 2000000u       /* rows times columns, of all pages of a workbook that are read */
#define RETURNED_MOST_TEXT (64u << 20)     /* and the bytes of what stands in them */

struct returned_cell {
	enum workbook_kind kind;    /* in a CSV sheet text or empty */
	const char *text;           /* never null */
	bool covered;               /* lies under a merged cell and is not its first */
};

struct returned_row {
	struct returned_cell *cells;
	uint32_t count;             /* cells behind are empty */
};

struct returned_page {
	const char *name;           /* null in a CSV sheet */
	struct returned_row *rows;
	uint32_t count;
};

struct returned {
	const char *file;
	bool workbook;
	struct returned_page *pages;
	size_t count;
	size_t cells, bytes;        /* of a workbook: how many there are, and the texts in them */
	const struct returned *own; /* the desk's own workbook before anybody filled it; null: not known */
	/* of a CSV sheet: */
	const char *saved_on;       /* the page on which it was saved as a workbook, or null */
	char separator;             /* ',', ';' or TAB */
	bool mark;                  /* a byte order mark stood in front */
	bool wide;                  /* it was UTF-16, with a mark or without */
	bool latin;                 /* it held bytes that are not UTF-8 */
	bool bare_ends;             /* a line ended without a carriage return */
	bool lone_returns;          /* a line ended with nothing but one */
	bool uneven;                /* records with different numbers of fields */
};

/* Read the sheet at `path` ("-": standard input, CSV only) for a layout. Of a
 * workbook, the pages that the layout names; when one of them is not there, the
 * others behind them, for a section may stand there. A workbook without any of them,
 * on one page of which the sections stand as in a CSV sheet, is one. Everything lives
 * in `arena`. */
bool returned_read(const char *path, const struct pm_layout *layout, struct pm_arena *arena,
                   struct returned *sheet, struct pm_fault *fault);

/* The same of a CSV sheet in memory; `file` names it in faults. */
bool returned_parse(const char *text, size_t length, const char *file, const struct pm_layout *layout,
                    struct pm_arena *arena, struct returned *sheet, struct pm_fault *fault);

/* The cell at a place; an empty one where there is none. Never null. */
const struct returned_cell *returned_at(const struct returned_page *page, uint32_t row, uint32_t column);

#endif
