/* clean.h - console bytes as lines of text, as the reader's eye saw them.
 *
 * Undoes what a terminal would have done: carriage returns, backspaces, tabs,
 * erase and cursor sequences, pager prompts and their answers. Works on a
 * stream: bytes may be fed in pieces of any size, memory stays bounded. What
 * comes out holds no control characters; bytes that are not UTF-8 come out as
 * U+FFFD.
 */
#ifndef CAPTURE_CLEAN_H
#define CAPTURE_CLEAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CLEAN_MOST_COLUMNS 4096   /* a longer line is cut, or comes in pieces */
#define CLEAN_OVERLAP 256         /* columns that two pieces share */

struct clean_line {
	const char *text;      /* UTF-8, terminated, without line end or trailing blanks */
	size_t length;
	uint32_t line;         /* 1-based, counting line feeds in the raw bytes */
	size_t columns;        /* display columns before trailing blanks were taken off */
	bool cut;              /* it was longer than CLEAN_MOST_COLUMNS */
	bool inside, goes_on;  /* the line begins before this piece of it, goes on behind it */
	size_t before;         /* columns of the line before the piece */
	bool noise;            /* it held NUL or other bytes that no listing has: so many, up to here */
	size_t unreadable;
};

struct clean;

/* `line` is called for each complete line. Extra pager texts may be given. */
struct clean *clean_new(void (*line)(void *context, const struct clean_line *line), void *context);
bool clean_pager(struct clean *clean, const char *text);
/* From now on a line that is too long comes in pieces, each with the end of the
 * one before it; what a terminal would write back into an earlier one is lost. */
void clean_pieces(struct clean *clean);
bool clean_feed(struct clean *clean, const void *bytes, size_t length);   /* false: out of memory */
/* The line at hand up to the cursor: a byte a column, 0x80 for what is not
 * ASCII; not terminated, valid until the next call. Empty before the first
 * line feed. */
const char *clean_unfinished(const struct clean *clean, size_t *length);
/* Is it at the start of a line, and known that line feeds end the lines? */
bool clean_rests(const struct clean *clean);
/* The line at hand. */
uint32_t clean_number(const struct clean *clean);
/* Where it rests: `lines` lines that are not fed. */
void clean_pass(struct clean *clean, size_t lines);
bool clean_end(struct clean *clean);   /* the last line, when it has no line end */
void clean_free(struct clean *clean);

#endif
