/* causes.h - why a cell differs from what was written into it: the likely cause,
 * from a table that is gone through in order. */
#ifndef SHEET_CAUSES_H
#define SHEET_CAUSES_H

#include <stdbool.h>

#include "portmuster/text.h"
#include "sheet/workbook.h"

/* A cell that differs, and what is known of its surroundings. */
struct cause_view {
	const char *right;          /* what was written; empty: nothing */
	const char *seen;           /* what stands there; empty: nothing */
	enum workbook_kind kind;
	bool covered;               /* it lies under merged cells */
	bool address;               /* the column holds addresses */
	const char *swapped_with;   /* the row that holds this value, while this one holds its; or null */
	const char *row_of;         /* the row whose value this is, or null */
	const char *column_of;      /* the column of this row whose value it is, or null */
};

struct cause {
	const char *word;           /* "leading-zeros": stable, for programs */
	bool harmless;              /* the same value all the same: a warning */
	const char *remedy;
	/* Does it explain the difference? Then `say` receives a phrase. */
	bool (*explains)(const struct cause_view *view, struct pm_text *say);
};

/* The first cause that explains the difference; never null, for the last row of
 * the table explains everything. `say` (empty) receives its phrase. */
const struct cause *cause_find(const struct cause_view *view, struct pm_text *say);

/* The table; `*count` rows, static. */
const struct cause *cause_table(size_t *count);

/* Why a title reads otherwise, when it is still recognisable: a phrase, else null. */
const char *cause_of_title(const char *right, const char *seen);

#endif
