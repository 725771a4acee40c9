/* wrap.h - undoing the line breaks that a terminal's edge put into a row.
 *
 * The width is not known: it is 80, 132, or that of the longest line. A line
 * that just fills it is joined with the next only when something is cut in two
 * at the seam and whole after it, or when one has a name and lacks an address
 * and the other has the address and lacks a name.
 */
#ifndef CAPTURE_WRAP_H
#define CAPTURE_WRAP_H

#include "capture/collect.h"
#include "capture/columns.h"
#include "capture/names.h"
#include "capture/tokens.h"

struct wrap {
	struct names *names;
	const struct collect *collect;
	const struct columns *columns;
	struct token *first, *second;   /* room for ROW_MOST_TOKENS each */
	struct row *scratch;
};

/* Might a line of so many columns reach the edge? */
bool wrap_full(size_t columns, size_t longest);

/* `row` reaches the edge: does `next` go on with it? */
bool wrap_joins(const struct wrap *wrap, const struct row *row, const struct clean_line *next);

/* Put `next` behind `row`. False when there is no room. */
bool wrap_append(struct row *row, const struct clean_line *next);

/* Where the token that ends the text begins; `length` when a blank ends it. */
size_t wrap_tail(const char *text, size_t length);

#endif
