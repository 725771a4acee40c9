/* redact_view.h - one raw console line as text in which words can be looked
 * for, with the way back to the raw bytes. */
#ifndef CAPTURE_REDACT_VIEW_H
#define CAPTURE_REDACT_VIEW_H

#include <stdbool.h>
#include <stddef.h>

#define VIEW_MOST_COLUMNS 4096

struct view {
	char *text;
	size_t *at;        /* where in the raw bytes each character begins */
	size_t length, room;
	size_t raw;        /* length of the raw bytes */
	bool edited;       /* the cursor was moved back: it may have looked otherwise */
};

/* Everything printable in the order in which it came, escape sequences and
 * control characters left out; tabs and carriage returns stay. False when
 * memory ran out. */
bool view_of(struct view *view, const char *raw, size_t length);

/* The line as it stood on a screen at the end, between two carriage returns:
 * raw bytes `from` to `to`. `at` says for each column when something first
 * stood there. A longer line is cut. */
bool view_screen(struct view *view, const char *raw, size_t from, size_t to);

/* Columns that the text takes since its last carriage return. */
size_t view_columns(const struct view *view);

/* Where in the raw bytes character `i` begins; the end of the line for the last. */
size_t view_raw(const struct view *view, size_t i);

void view_free(struct view *view);

#endif
