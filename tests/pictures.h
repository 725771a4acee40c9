/* pictures.h - screens as saved pictures. Each case leaves its pictures one below
 * the other and is held against tests/screen/expected/CASE.txt.
 * PM_WRITE_EXPECTED=1 writes those files instead; then read what has changed. */
#ifndef TESTS_PICTURES_H
#define TESTS_PICTURES_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "scratch.h"
#include "screen/canvas.h"

static char *seen;             /* the pictures of this case so far */
static size_t seen_length;

/* The canvas as text, and where the cursor rests: screen readers follow it. */
static inline void picture_add(const struct canvas *canvas, const char *name)
{
	char *dump = canvas_dump(canvas, false);
	assert_non_null(dump);
	size_t room = seen_length + strlen(dump) + strlen(name) + 100;
	char *longer = realloc(seen, room);
	assert_non_null(longer);
	seen = longer;
	seen_length += (size_t)snprintf(seen + seen_length, room - seen_length,
		"#### %s, %dx%d%s\n%s#### cursor at %d,%d%s\n\n", name, canvas->columns, canvas->rows,
		canvas->ascii ? "" : ", not only ASCII", dump, canvas->cursor_row, canvas->cursor_column,
		canvas->cursor_shown ? ", in a field" : "");
	free(dump);
}

/* Where the picture begins that holds the first difference. */
static inline size_t first_difference(const char *a, const char *b)
{
	size_t at = 0, begin = 0;
	for (; a[at] && a[at] == b[at]; at++)
		if (strncmp(a + at, "\n\n#### ", 7) == 0)
			begin = at + 2;
	return begin;
}

static inline void settle(const char *case_name)
{
	char path[200];
	snprintf(path, sizeof path, "tests/screen/expected/%s.txt", case_name);
	if (getenv("PM_WRITE_EXPECTED")) {
		assert_true(scratch_write(path, seen, seen_length));
		return;
	}
	char *expected = scratch_read(path, NULL);
	if (!expected)
		fail_msg("there is no %s", path);
	if (strcmp(expected, seen) != 0) {
		size_t from = first_difference(expected, seen);
		fail_msg("%s: expected\n%.3000s\nbut saw\n%.3000s", path, expected + from, seen + from);
	}
	free(expected);
}

static inline void picture_forget(void)
{
	free(seen);
	seen = NULL;
	seen_length = 0;
}

#endif
