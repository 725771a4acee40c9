/* source_parts.h - one text whose lines belong to several readers.
 *
 * Each reader is begun when the first line comes that is its own. For every line
 * that is another's it gets an empty one, so that its lines keep their numbers.
 */
#ifndef CAPTURE_SOURCE_PARTS_H
#define CAPTURE_SOURCE_PARTS_H

#include "capture/open_parts.h"
#include "capture/source.h"

struct part {
	void *state;               /* of the reader; null: not begun */
	struct listing own;        /* where it reads to, unless it was the first */
	struct listing *listing;
	uint32_t line;             /* where it is */
};

struct parts {
	struct part part[SOURCE_KINDS];
	struct source_parts order;
	struct listing *listing;
	const struct pm_gear *gear;
	struct pm_arena *arena;
};

void parts_init(struct parts *parts, struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena);

bool parts_begun(const struct parts *parts, enum source_kind kind);

/* Give the reader of a kind bytes that begin in line `line` and end in line `to`.
 * False when memory ran out. The console's counts the lines itself: for it they
 * may be the same, until it is asked. */
bool parts_feed(struct parts *parts, enum source_kind kind, const void *bytes, size_t length, uint32_t line, uint32_t to);

/* The line that the console's reader has come to. */
bool parts_line(struct parts *parts, uint32_t *line);

/* Does the line go on with what the reader was fed? */
bool parts_own(struct parts *parts, enum source_kind kind, const char *text, size_t length);

/* A problem that is none of a reader's. */
bool parts_problem(struct parts *parts, uint32_t line, const char *reason, const char *text, size_t length);

/* No more lines: complete the listing from all of them. */
bool parts_end(struct parts *parts);

/* The reader of each kind. */
const struct source_reader *source_reader_of(enum source_kind kind);

#endif
