/* words.h - what the words of a console listing mean, as a table.
 *
 * Words match without regard to case, `-` and `_`: "phys-address", "PhysAddress"
 * and "phys_address" are one word.
 */
#ifndef CAPTURE_WORDS_H
#define CAPTURE_WORDS_H

#include <stddef.h>

enum {
	WORD_HARDWARE = 1u << 0,  /* what follows is a hardware address */
	WORD_ADDRESS = 1u << 1,   /* an address, of whatever kind */
	WORD_OTHER = 1u << 2,     /* an address after this is somebody else's */
	WORD_NETWORK = 1u << 3,   /* an address after this is a network one */
	WORD_NAME = 1u << 4,      /* the name of an interface may follow, or stand below */
	WORD_PAIR = 1u << 5,      /* with a number behind it, an interface: "port 7" */
	WORD_BODY = 1u << 6,      /* the unit as a whole, never one interface */
	WORD_PLAIN = 1u << 7,     /* no interface is called so */
	WORD_SERIAL = 1u << 8,    /* a serial number may follow */
	WORD_NUMBER = 1u << 9,    /* "number", "no", "id" behind such a word */
	WORD_PART = 1u << 10,     /* a part whose serial number is not the unit's */
	WORD_IDENT = 1u << 11,    /* bare digits after this are no address */
	WORD_PLACE = 1u << 12,    /* "on", "via": the address before was only seen there */
	WORD_LINE = 1u << 13,     /* with "serial" before it, a console line */
	WORD_UNKNOWN = 1u << 14,  /* stands where a value is not known */
	WORD_TABLE = 1u << 15,    /* the title of a table ends so */
};

struct word_row {
	const char *word;   /* lower case, no `-` or `_` */
	unsigned kind;
};

/* Sorted by word; ends with a null one. */
extern const struct word_row word_table[];

#define WORD_MOST 24   /* bytes of the longest that is looked up */

/* The kinds of a word; 0 when it is not in the table. */
unsigned word_kind(const char *text, size_t length);

#endif
