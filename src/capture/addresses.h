/* addresses.h - the hardware addresses in one line, and what tried to be one. */
#ifndef CAPTURE_ADDRESSES_H
#define CAPTURE_ADDRESSES_H

#include "capture/columns.h"
#include "capture/tokens.h"
#include "portmuster/eui48.h"

/* How well an address is vouched for. */
enum rank {
	RANK_NONE,        /* it is somebody else's, or no address at all */
	RANK_BARE,        /* twelve digits in a row, nothing around says what they are */
	RANK_PLAIN,       /* it has the form of one */
	RANK_ADDRESS,     /* "address" stands before it or above it */
	RANK_HARDWARE,    /* "hardware address", "mac" or the like does */
	RANK_PATTERN,     /* a pattern of the gear's profile picked it */
};

struct candidate {
	struct pm_eui48 address;
	enum rank rank;
	size_t first, after;       /* tokens */
	size_t start, length;      /* bytes of the row */
};

#define CANDIDATES_MOST 8

/* Addresses in the line, those of RANK_NONE included. */
size_t addresses_find(const struct row *row, const struct token *token, size_t count,
                      const struct columns *columns, struct candidate *out, size_t room);

struct malformed {
	size_t start, length;      /* bytes of the row */
	enum pm_eui48_reason reason;
	uint32_t column;           /* characters into it, 0-based */
	bool vouched;              /* a word or a column says that it should be an address */
};

/* The first thing at or after token `*from` that looks like an address and is
 * none; moves `*from` behind it. */
bool addresses_malformed(const struct row *row, const struct token *token, size_t count,
                         const struct columns *columns, const struct candidate *candidate,
                         size_t candidates, size_t *from, struct malformed *out);

/* Are the bytes the beginning of an address, cut off? `bare` also takes digits
 * without separators. */
bool addresses_cut(const char *text, size_t length, bool bare);

/* The kinds of the words that lead to token `i`. */
unsigned addresses_phrase(const struct token *token, size_t i);

/* Do words in the line itself, not only a heading, say that it is an address? */
bool addresses_spoken(const struct token *token, const struct candidate *candidate);

/* A last octet of one digit where others have a leading zero: the form with
 * dropped zeros it is not, so a digit is missing. */
bool addresses_lacks_digit(const char *text, size_t length);

#endif
