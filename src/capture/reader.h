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

/* In one row there may be many. */
#define ROW_MOST_CANDIDATES 512

/* A part of the listing that is about others: neighbours, learned addresses. */
struct others {
	bool active;
	bool titled;      /* begun by a title: lasts to the next blank line after content */
	bool content;
	size_t indent;
};

/* A line that is too long comes in pieces: what is known of it so far. */
struct long_line {
	bool dead;            /* of a line that says nothing of interfaces */
	bool indented;
	bool owned;           /* the stanza at hand is that of the last address, or of the line's head */
	size_t read;          /* columns */
	size_t names;         /* different names since the last address; more than one is two */
	struct stanza next;   /* the first of them */
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
	struct long_line pieces;
	uint32_t noise_line;      /* the last with bytes that are no text, */
	size_t noise;             /* and how many they are */
	size_t longest;
	size_t texts, blanks;     /* while every line of text has been followed by a blank one: how many,
	                             and blank ones since the last */
	bool single;              /* that is no longer so: line breaks are not doubled */
	bool blank_before, failed;
	bool ending;              /* what comes now has no line end */
	struct row scratch;
	struct candidate candidate[ROW_MOST_CANDIDATES];
	struct token token[ROW_MOST_TOKENS], token_first[ROW_MOST_TOKENS], token_second[ROW_MOST_TOKENS];
};

/* One line on its way: what is known of it. */
struct reading_line {
	const struct row *row;
	const struct token *token;
	size_t count, indent;
	const struct candidate *candidate;
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

/* The row that ends the log: what of an address may be cut off there goes. */
void reader_cut_short(struct listing_reader *reader, struct row *row);

/* A serial number at or behind byte `from` of the row. */
void reader_serial(struct listing_reader *reader, const struct row *row, const struct token *token, size_t count, size_t from);

/* --- pieces of a line that is too long (pieces.c) --- */

/* Take off the end of a piece what its cut touches. */
void pieces_trim(struct listing_reader *reader, struct row *row);

/* The first piece: read as any row when a name is at its head, else as the others. */
void pieces_begin(struct listing_reader *reader, struct reading_line *line);

/* One of the others. An address in it belongs to the name right before it, or to
 * the only one that it can belong to; else it is a problem. */
void pieces_read(struct listing_reader *reader, struct row *row);

#endif
