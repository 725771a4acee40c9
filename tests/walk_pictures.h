/* walk_pictures.h - the wizard's screens as saved pictures: scripted keys at a
 * fixed time and size. Each case leaves its pictures one below the other and is
 * held against tests/screen/expected/CASE.txt. PM_WRITE_EXPECTED=1 writes those
 * files instead; then read what has changed. */
#ifndef TESTS_WALK_PICTURES_H
#define TESTS_WALK_PICTURES_H

#include "walk_course.h"

static struct walk_fixture f;
static char *seen;             /* the pictures of this case so far */
static size_t seen_length;

/* The canvas as text, and where the cursor rests: screen readers follow it. */
static inline void expect(const char *name)
{
	walk_draw(&f.state, &f.session, &f.canvas);
	char *dump = canvas_dump(&f.canvas, false);
	assert_non_null(dump);
	size_t room = seen_length + strlen(dump) + strlen(name) + 100;
	char *longer = realloc(seen, room);
	assert_non_null(longer);
	seen = longer;
	seen_length += (size_t)snprintf(seen + seen_length, room - seen_length,
		"#### %s, %dx%d%s\n%s#### cursor at %d,%d%s\n\n", name, f.canvas.columns, f.canvas.rows,
		f.canvas.ascii ? "" : ", not only ASCII", dump, f.canvas.cursor_row, f.canvas.cursor_column,
		f.canvas.cursor_shown ? ", in a field" : "");
	free(dump);
}

/* The same state at all sizes that matter; ends at 80x24. */
static inline void expect_sizes(const char *name)
{
	static const struct { int rows, columns; bool ascii; } sizes[] = {
		{ 43, 132, true }, { 12, 40, true }, { 24, 80, false }, { 24, 80, true },
	};
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
		f.canvas.ascii = sizes[i].ascii;
		walk_size(&f, sizes[i].rows, sizes[i].columns);
		expect(name);
	}
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

static inline int set_up(void **state)
{
	(void)state;
	walk_start(&f);
	return 0;
}

static inline int signed_in(void **state)
{
	(void)state;
	walk_start(&f);
	walk_key(&f, KEYS_ENTER);
	return 0;
}

static inline int tear_down(void **state)
{
	(void)state;
	free(seen);
	seen = NULL;
	seen_length = 0;
	walk_end(&f);
	return 0;
}

#define FRESH(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
#define CASE(name) cmocka_unit_test_setup_teardown(name, signed_in, tear_down)

#endif
