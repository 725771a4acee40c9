/* eui48.h - hardware addresses: reading every notation in use, writing any,
 * and what the bits say.
 *
 * Bit order is the ordinary one of RFC 9542: the first octet of the text is
 * the first octet of the address. Old IEEE 802 text that used colons for the
 * bit-reversed order is not told apart and is read as ordinary.
 */
#ifndef PORTMUSTER_EUI48_H
#define PORTMUSTER_EUI48_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_eui48 {
	uint8_t octet[6];
};

enum pm_notation {
	PM_HYPHEN,       /* 00-00-5E-00-53-01, IEEE 802; the canonical one */
	PM_COLON,        /* 00:00:5e:00:53:01, RFC 6991 */
	PM_COLON_SHORT,  /* 0:0:5e:0:53:1, RFC 2579 display hint 1x: */
	PM_DOT_FOUR,     /* 0000.5e00.5301 */
	PM_DOT_TWO,      /* 00.00.5e.00.53.01 */
	PM_BARE,         /* 00005E005301 */
	PM_SPACED,       /* 00 00 5E 00 53 01, as some walks print octets */
	PM_NOTATIONS
};

enum pm_eui48_reason {
	PM_EUI48_OK,
	PM_EUI48_EMPTY,          /* nothing there */
	PM_EUI48_NOT_HEX,        /* a character that is no hex digit and no separator */
	PM_EUI48_LOOK_ALIKE,     /* a letter that is copied for a digit: O I L S Z G and others */
	PM_EUI48_MIXED,          /* separators of two kinds */
	PM_EUI48_UNEVEN,         /* a separator where no notation has one */
	PM_EUI48_OCTET_LONG,     /* more than two digits between separators */
	PM_EUI48_OCTET_EMPTY,    /* no digit between separators */
	PM_EUI48_SHORT,          /* too few digits */
	PM_EUI48_LONG,           /* too many digits */
	PM_EUI48_EUI64,          /* eight octets: an EUI-64, never cut down */
	PM_EUI48_REASONS
};

struct pm_eui48_fault {
	enum pm_eui48_reason reason;
	unsigned column;   /* 1-based, in characters; the first that is wrong */
};

/* Read an address from `length` bytes of UTF-8. Accepted: the notations above
 * in either case, blanks around it and between groups, and the typographic
 * dashes U+2010..U+2015 and U+2212 for a hyphen. Rejected: everything else,
 * a line break included. Leading zeros are dropped in every octet or in none:
 * 00:00:5e:00:5:01 has lost a digit and is PM_EUI48_SHORT. On failure `*fault` (if given) says where and why and
 * `*address` is unchanged. `notation` may be null. */
bool pm_eui48_read(const char *text, size_t length, struct pm_eui48 *address,
                   enum pm_notation *notation, struct pm_eui48_fault *fault);

/* As pm_eui48_read for a whole string. */
bool pm_eui48_parse(const char *string, struct pm_eui48 *address);

/* The reason in words, e.g. "letter O where a digit belongs" is built by the
 * caller from this phrase: lower case, no full stop, never null. */
const char *pm_eui48_reason_text(enum pm_eui48_reason reason);

#define PM_EUI48_TEXT 18

/* Write `address` in `notation`, upper case or lower; `out` is terminated.
 * Returns the length. */
size_t pm_eui48_write(const struct pm_eui48 *address, enum pm_notation notation,
                      bool lower, char out[static PM_EUI48_TEXT]);

/* The canonical text: hyphens, upper case. Returns `out`. */
const char *pm_eui48_text(const struct pm_eui48 *address, char out[static PM_EUI48_TEXT]);

/* Valid addresses that a faulty text may have meant, likeliest first: look-alike
 * letters put right, one extra character left out. Returns how many were
 * stored, at most `room`. Never more than a suggestion: nothing is guessed
 * where a digit is missing. */
size_t pm_eui48_near(const char *text, size_t length, struct pm_eui48 *near, size_t room);

uint64_t pm_eui48_number(const struct pm_eui48 *address);          /* 48 bits */
struct pm_eui48 pm_eui48_from(uint64_t number);                   /* low 48 bits */
int pm_eui48_compare(const struct pm_eui48 *a, const struct pm_eui48 *b);

/* RFC 9542 figure 1: M bit of the first octet, group; X bit, local. */
bool pm_eui48_is_group(const struct pm_eui48 *address);
bool pm_eui48_is_local(const struct pm_eui48 *address);

/* The SLAP quadrant of a local address by its Y and Z bits (RFC 9542 table 2):
 * "AAI", "ELI", "SAI" or "reserved"; null for a universal address. A quadrant
 * tells what the bits say, not who assigned the address: SLAP is optional. */
const char *pm_eui48_quadrant(const struct pm_eui48 *address);

/* Modified EUI-64 (RFC 2464 section 4): FF-FE in the middle, X bit inverted. */
void pm_eui48_modified_eui64(const struct pm_eui48 *address, uint8_t out[static 8]);

#endif
