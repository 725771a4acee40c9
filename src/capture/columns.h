/* columns.h - the heading of a table: which column holds what. */
#ifndef CAPTURE_COLUMNS_H
#define CAPTURE_COLUMNS_H

#include "capture/tokens.h"

#define COLUMNS_MOST 24

struct column {
	uint32_t from, to;     /* characters that the heading's words take */
	uint32_t field;        /* which one, where marks part them */
	unsigned kind;         /* of all its words together */
};

struct columns {
	struct column item[COLUMNS_MOST];
	size_t count;
	bool fields;           /* parted by commas or strokes, not by place */
	char name_word[24];    /* what heads the column of the names, as in "port" */
};

/* Is the line a heading? Then fills `columns`. A heading has no digit and no
 * colon, and one of its columns is an address. */
bool columns_read(const char *text, const struct token *token, size_t count, struct columns *columns);

/* The kind of the column that `token` stands under; 0 for none. */
unsigned columns_kind(const struct columns *columns, const struct token *token);

#endif
