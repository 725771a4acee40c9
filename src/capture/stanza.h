/* stanza.h - what has been read of one interface until the next one begins. */
#ifndef CAPTURE_STANZA_H
#define CAPTURE_STANZA_H

#include "capture/addresses.h"
#include "capture/collect.h"
#include "capture/names.h"

#define STANZA_MOST_NAME 128
#define STANZA_MOST_SLIPS 4

struct kept_address {
	struct pm_eui48 address;
	enum rank rank;
	uint32_t line, column;
};

struct kept_slip {
	uint32_t line, column;
	enum pm_eui48_reason reason;
	char text[80];
	size_t length;
};

struct stanza {
	bool active;
	bool bare;           /* headed by a word that only may be a name */
	bool row;            /* its heading had an address */
	bool indented;       /* it has had a line deeper than its heading */
	bool blank;          /* and an empty line */
	bool after_blank;    /* one stands before its heading, or nothing does */
	bool unsure;         /* its heading may as well be the end of a wrapped line */
	size_t indent;
	char name[STANZA_MOST_NAME];
	size_t name_length, port;
	struct kept_address address[CANDIDATES_MOST];
	size_t addresses;
	struct kept_slip slip[STANZA_MOST_SLIPS];
	size_t slips;
};

void stanza_begin(struct stanza *stanza, const char *text, const struct name *name, size_t indent);

/* Is the name the stanza's own? */
bool stanza_is(const struct stanza *stanza, const char *text, const struct name *name);

void stanza_keep(struct stanza *stanza, const struct row *row, const struct candidate *candidate);
void stanza_slip(struct stanza *stanza, const struct row *row, const struct malformed *malformed);

/* Choose among its addresses, hand over what there is, and end it. */
void stanza_finish(struct stanza *stanza, struct collect *collect);

/* The line and the 1-based column of a byte of the row. */
void row_place(const struct row *row, size_t at, uint32_t *line, uint32_t *column);

#endif
