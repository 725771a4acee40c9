/* reader.h - the listing reader's parts: lines become rows (listing.c), rows
 * find their interface (place.c). */
#ifndef CAPTURE_READER_H
#define CAPTURE_READER_H

#include "capture/addresses.h"
#include "capture/clean.h"
#include "capture/collect.h"
#include "capture/columns.h"
#include "capture/dialect.h"
#include "capture/names.h"
#include "capture/skim.h"
#include "capture/stanza.h"
#include "capture/wrap.h"

/* A part of the listing that is about others: neighbours, learned addresses. */
struct others {
	bool active;
	bool titled;      /* begun by a title: lasts to the next blank line after content */
	bool content;
	size_t indent;
};

struct listing_reader {
	struct listing *listing;
	struct names names;
	struct clean *clean;
	struct skim *skim;        /* in front of it, once a large piece has come */
	const struct skim_sizes *sizes;
	bool skims;
	struct collect collect;
	struct wrap wrap;
	struct columns columns;
	bool rows_seen;           /* below the heading */
	struct stanza stanza, nested;
	struct others others;
	struct dialect dialect;
	struct row held;          /* the line that the next one may go on with */
	bool holding;
	size_t before;            /* columns of the line before the held one, when full */
	size_t longest;
	bool blank_before, failed;
	bool ending;              /* what comes now has no line end */
	struct row scratch;
	struct token token[ROW_MOST_TOKENS], token_first[ROW_MOST_TOKENS], token_second[ROW_MOST_TOKENS];
};

/* One line on its way: what is known of it. */
struct reading_line {
	const struct row *row;
	const struct token *token;
	size_t count, indent;
	struct candidate candidate[CANDIDATES_MOST];
	size_t candidates, good;       /* good: those that may be an interface's own */
	enum rank best;
	struct name name;
	bool named, slipped;           /* slipped: something tried to be an address */
	bool blank_before;
	bool said;                     /* the gear's own pattern found the name */
};

/* Put a row that is not about others where it belongs. */
void place_line(struct listing_reader *reader, struct reading_line *line);

/* The interface at hand is complete. */
void place_finish(struct listing_reader *reader);

/* What in the line tried to be an address and is none: sets `slipped`, and
 * reports it when asked to. */
void place_slips(struct listing_reader *reader, struct reading_line *line, bool report);

#endif
