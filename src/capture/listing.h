/* listing.h - interface addresses and serial numbers in console text.
 *
 * Reads stanza listings (an interface's line, then indented lines of which one
 * bears its address) and one-line-per-interface listings, whatever the case,
 * notation and order, with line wraps undone. Says what it could not read.
 *
 * Takes a log of any size: memory is bounded (collect.h), and what matters to
 * nobody in the large pieces of a long one is passed over, with one bound that
 * skim.h names.
 */
#ifndef CAPTURE_LISTING_H
#define CAPTURE_LISTING_H

#include "portmuster/arena.h"
#include "portmuster/eui48.h"
#include "portmuster/gear.h"
#include "portmuster/word.h"

struct listing_reading {
	const char *interface;      /* the roster's name when a gear is given and it
	                               matches, else as the listing has it */
	size_t port;                /* roster index, or PM_NO_PORT */
	struct pm_eui48 address;
	uint32_t line;              /* of the address */
};

struct listing_problem {
	uint32_t line, column;
	const char *reason;         /* lower case phrase, safe to show */
	const char *text;           /* the offending text, safe to show */
};

struct listing {
	struct listing_reading *reading;
	size_t count, room;
	struct pm_word *serial;     /* text and line of each serial number seen */
	size_t serial_count, serial_room;
	struct listing_problem *problem;
	size_t problem_count, problem_room;
	uint32_t lines;
	size_t noise;               /* bytes that no text has, and the line of the first */
	uint32_t noise_line;
};

struct listing_reader;

/* Begin reading into `*listing`, whose parts live in `arena`. `gear` may be
 * null: then anything that looks like an interface name counts as one. */
struct listing_reader *listing_begin(struct listing *listing, const struct pm_gear *gear,
                                     struct pm_arena *arena);
/* Feed raw console bytes. False when memory ran out. */
bool listing_feed(struct listing_reader *reader, const void *bytes, size_t length);
/* The line that the next byte belongs to. False when memory ran out. */
bool listing_line(struct listing_reader *reader, uint32_t *line);
/* No more bytes: completes the listing and frees the reader. A second address
 * for one interface that equals the first is dropped; one that differs stays,
 * and is a problem too. */
bool listing_end(struct listing_reader *reader);

/* All at once from memory. */
bool listing_read(const void *bytes, size_t length, const struct pm_gear *gear,
                  struct pm_arena *arena, struct listing *listing);

#endif
