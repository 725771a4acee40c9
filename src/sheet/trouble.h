/* trouble.h - what is wrong with a sheet, finding by finding, each with the cell
 * that it is about. */
#ifndef SHEET_TROUBLE_H
#define SHEET_TROUBLE_H

#include "portmuster/finding.h"
#include "portmuster/layout.h"
#include "portmuster/text.h"

/* What a finding on a sheet knows beyond any other finding; all may be null. */
struct trouble_detail {
	const char *site;       /* whose row it is */
	const char *page;       /* of a workbook */
	const char *cell;       /* "B7" */
	const char *column;     /* its title */
	const char *seen;       /* what stands there */
	const char *expected;   /* what should */
	const char *cause;      /* the likely cause in one word, see causes.h */
};

/* Findings and details bear the same index; the findings are not to be sorted. */
struct trouble {
	struct pm_findings list;
	struct trouble_detail *detail;
	size_t detail_count, detail_room;
};

void trouble_init(struct trouble *trouble, struct pm_arena *arena);

/* Where a finding belongs. */
struct trouble_at {
	const char *file;       /* of the sheet or the job */
	const char *site, *interface;
	const char *page;       /* null in a CSV sheet */
	const char *column;
	uint32_t row, place;    /* of the cell; TROUBLE_NO_CELL: none */
};
#define TROUBLE_NO_CELL UINT32_MAX

/* Add a finding; the message is begun with the cell's name and its column's
 * title when there are such. Returns its detail for further filling, or null when
 * memory ran out. `trouble_last` is the finding itself. */
struct trouble_detail *trouble_add(struct trouble *trouble, enum pm_code code, enum pm_severity severity,
                                   const struct trouble_at *at, const char *format, ...)
	__attribute__((format(printf, 5, 6)));
struct pm_finding *trouble_last(struct trouble *trouble);

/* Say of a finding of structure just added what it comes from, in one word, and what
 * to do about it; `detail` as trouble_add gave it, may be null. */
void trouble_because(struct trouble *trouble, struct trouble_detail *detail, const char *cause);

/* Text from a sheet, made safe as pm_text_visible does it; what looks like a plain
 * blank or like nothing, and marks that stand apart from their letter, become \u{N}
 * too: two texts that differ must not look the same. */
void trouble_visible(struct pm_text *text, const char *bytes, size_t length);

/* The same in double quotes, of a long text the beginning: see pm_text_quote, pm_quoted. */
void trouble_quote(struct pm_text *text, const char *string);
char *trouble_quoted(struct pm_arena *arena, const char *string);

#endif
