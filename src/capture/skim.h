/* skim.h - the first stage of reading a long log: hands on the stretches that
 * may matter, and passes over the rest.
 *
 * What is read is what would be read of the whole log, with one bound: where
 * nothing that may matter and no prompt stands between, an interface's own
 * line, the heading of a table and a title count for 16 KiB before the address
 * that they are about. (And see sieve.h for words.)
 *
 * A line may matter when it has an address in any notation, or what would be
 * reported as a bad one; a serial number; a heading with a column of addresses;
 * or when it is too long. Or when it reaches the terminal's edge and one of
 * these goes across. With each the lines from the last prompt on go along, or
 * 16 KiB of them, and a few behind. A line that is not plain text is judged
 * by what a terminal makes of it.
 *
 * Small pieces go straight through: what comes from a live console is not kept
 * back.
 */
#ifndef CAPTURE_SKIM_H
#define CAPTURE_SKIM_H

#include <stdbool.h>
#include <stddef.h>

#include "portmuster/gear.h"

struct skim_sizes {
	size_t least;      /* a smaller piece goes straight through */
	size_t context;    /* what goes along, at most SKIM_MOST_CONTEXT */
	size_t slice;      /* what is looked at together, at most SKIM_MOST_SLICE */
};

#define SKIM_MOST_CONTEXT (16u << 10)
#define SKIM_MOST_SLICE (64u << 10)

extern const struct skim_sizes skim_usual;

/* Where the bytes go, and what is asked of who reads them. */
struct skim_reader {
	void *context;
	/* More bytes. False when memory ran out. */
	bool (*feed)(void *context, const void *bytes, size_t length);
	/* The next bytes are `lines` lines further on; no line passed over is of more
	 * than `longest` columns. What was before counts no more. */
	void (*pass)(void *context, size_t lines, size_t longest);
	/* Is it at the start of a line, and are line feeds what ends one? */
	bool (*rests)(void *context);
	/* Is it below the heading of a table? Then it needs every line. */
	bool (*in_table)(void *context);
	/* The line `lines` lines further on has so many bytes that no text has. */
	void (*noise)(void *context, size_t lines, size_t bytes);
	/* The most columns that a line has had. */
	size_t (*longest)(void *context);
};

struct skim;

/* Null when memory ran out or when the gear's words can't be skimmed for: then
 * feed the reader itself. */
struct skim *skim_new(const struct pm_gear *gear, const struct skim_sizes *sizes, const struct skim_reader *reader);
bool skim_feed(struct skim *skim, const void *bytes, size_t length);
/* Nothing is kept back: the reader has all that counts. */
bool skim_flush(struct skim *skim);
void skim_free(struct skim *skim);

#endif
