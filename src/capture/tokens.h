/* tokens.h - a line of a listing in pieces. */
#ifndef CAPTURE_TOKENS_H
#define CAPTURE_TOKENS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "capture/clean.h"

#define ROW_MOST_SEAMS 4
#define ROW_MOST_BYTES (4 * CLEAN_MOST_COLUMNS)

/* A line as the reader sees it: wraps undone. */
struct row {
	char text[ROW_MOST_BYTES + 1];
	size_t length, columns;        /* columns of the last physical line */
	uint32_t line;                 /* of its first physical line */
	size_t seam[ROW_MOST_SEAMS];   /* byte offsets where the next physical line begins */
	uint32_t seam_line[ROW_MOST_SEAMS];
	size_t seams;
	size_t before;                 /* columns of the physical line before the first when that was
	                                  as wide as the terminal may be, else 0 */
	bool cut, open_end;            /* too long; the log ends here without a line end */
	bool inside, goes_on;          /* a piece of a line that is too long: see clean.h */
	size_t offset;                 /* columns of the line before it */
};

struct token {
	uint32_t start, length;        /* bytes in the row */
	uint32_t column, width;        /* characters, 0-based */
	uint32_t gap;                  /* blanks before it */
	uint32_t field;                /* commas, semicolons and upright strokes before it in the line */
	bool parted;                   /* a comma or closing bracket stands before it */
	bool value;                    /* a colon or equals sign stands before it */
	bool digit, alpha;             /* holds a digit, a letter */
	bool hex;                      /* holds only hex digits */
	unsigned kind;                 /* see words.h */
};

#define ROW_MOST_TOKENS (CLEAN_MOST_COLUMNS / 2 + 1)

/* Blanks, brackets, quotes, commas, equals signs and rulers part tokens; dots
 * and colons at their ends do not belong to them. Returns the count. */
size_t tokens_of(const char *text, size_t length, struct token *token, size_t room);

/* Does the byte part tokens by itself? */
bool token_parts(char c);

/* Columns that `length` bytes of UTF-8 take. */
uint32_t token_columns(const char *text, size_t length);

#endif
