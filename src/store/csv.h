/* csv.h - reading RFC 4180: quoted fields, line breaks inside quotes, either
 * line ending. Works on a text in memory and allocates in an arena. */
#ifndef STORE_CSV_H
#define STORE_CSV_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"
#include "portmuster/word.h"

struct csv_reader {
	const char *at, *end;
	const char *file;
	uint32_t line;          /* of the next record */
	struct pm_arena *arena; /* fields are copied here */
	char separator;         /* a comma; another one may be set before the first record */
};

/* Begin; a byte order mark in front is dropped. */
void csv_open(struct csv_reader *reader, const char *text, size_t length,
              const char *file, struct pm_arena *arena);

/* Next record: 1 with its fields (line and column of each filled), 0 at the
 * end, -1 with a fault (a quote that is not closed, text after a closing
 * quote). Blank lines are passed over. */
int csv_next(struct csv_reader *reader, struct pm_words *fields, struct pm_fault *fault);

#endif
