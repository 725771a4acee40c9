/* dialect.h - a gear profile's own patterns for the lines of its listing. They
 * come before the usual rules, which read the lines that no pattern matches.
 */
#ifndef CAPTURE_DIALECT_H
#define CAPTURE_DIALECT_H

#include <regex.h>

#include "capture/names.h"
#include "capture/stanza.h"
#include "portmuster/gear.h"

enum dialect_line { DIALECT_INTERFACE, DIALECT_ADDRESS, DIALECT_SERIAL, DIALECT_LINES };

struct dialect {
	bool any, given[DIALECT_LINES];
	regex_t line[DIALECT_LINES];
	struct stanza current;      /* active: the interface that a pattern began last, with nothing read of it */
};

enum dialect_found {
	DIALECT_NOTHING,   /* no pattern matches: the usual rules */
	DIALECT_NAME,      /* an interface begins; the usual rules read the rest of the line */
	DIALECT_ALL,       /* nothing is left to read */
};

struct listing_reader;

/* An expression that is none, or has no group, counts as not given: the profile
 * was refused when it was loaded. False when memory ran out. */
bool dialect_begin(struct dialect *dialect, const struct pm_gear *gear);
void dialect_free(struct dialect *dialect);

enum dialect_found dialect_line(struct listing_reader *reader, const struct row *row, struct name *name);

/* Does an interface begin with this line? Then it goes on with no line before it. */
bool dialect_heads(const struct dialect *dialect, const char *text);

/* A prompt: the listing is over. */
void dialect_prompt(struct dialect *dialect);

#endif
