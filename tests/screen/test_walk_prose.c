/* Running words: lines of a plan joined and wrapped anew, scrolled without a loss. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "walk/prose.h"

#define ROWS 12

static const struct { const char *name, *text, *seen; int width, lines; } cases[] = {
	{ "a paragraph is joined", "one two three\nfour five\nsix", "one two three four\nfive six\n", 20, 2 },
	{ "and fills the line to its end", "one two three\nfour", "one two three four\n", 18, 1 },
	{ "but not beyond it", "one two three\nfour", "one two three\nfour\n", 17, 2 },
	{ "a blank line parts paragraphs", "one two\n\nthree\nfour", "one two\n\nthree four\n", 20, 3 },
	{ "so do several", "one\n\n\ntwo", "one\n\n\ntwo\n", 20, 4 },
	{ "items hang", "Then:\n\n1. one two three\n   four\n2. five", "Then:\n\n1. one two\n   three four\n2. five\n", 13, 5 },
	{ "dashes too", "- one two\n  three\n- four", "- one two\n  three\n- four\n", 11, 3 },
	{ "behind the items all is as before", "- one\n\ntwo\nthree", "- one\n\ntwo three\n", 20, 3 },
	{ "a number is no item without its point", "at 5\n12 volts\n3.5 amperes", "at 5 12 volts 3.5\namperes\n", 18, 2 },
	{ "a line set in stays a line of its own", "type\n    roll short\nthen\nEnter", "type\n    roll short\nthen Enter\n", 20, 3 },
	{ "blanks at a line's end", "one  \n two", "one\n two\n", 20, 2 },
	{ "nothing", "", "", 20, 0 },
	{ "one long word", "abcdefghij", "abcd\nefgh\nij\n", 4, 3 },
};

/* The canvas without the empty rows at its end. */
static char *look(const struct run *run)
{
	char *dump = canvas_dump(run->canvas, false);
	assert_non_null(dump);
	for (size_t length = strlen(dump); length > 1 && dump[length - 2] == '\n'; length--)
		dump[length - 1] = '\0';
	if (strcmp(dump, "\n") == 0)
		dump[0] = '\0';
	return dump;
}

static void lines_are_joined(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct canvas canvas;
		struct run run = { .canvas = &canvas, .rows = ROWS, .width = cases[i].width }, count = { .width = cases[i].width };
		assert_true(canvas_init(&canvas, ROWS, cases[i].width, true));
		run_prose(&run, STYLE_PLAIN, cases[i].text);
		run_prose(&count, STYLE_PLAIN, cases[i].text);
		char *seen = look(&run);
		if (strcmp(seen, cases[i].seen) != 0 || run.line != cases[i].lines || count.line != cases[i].lines)
			fail_msg("%s: %d and %d lines:\n%s", cases[i].name, run.line, count.line, seen);
		free(seen);
		canvas_free(&canvas);
	}
}

/* Whatever is scrolled away, each row shows the line that it showed before. */
static void scrolling_moves_lines(void **state)
{
	(void)state;
	static const char text[] = "one two three four\nfive\n\n1. six seven eight\n   nine ten\n2. eleven\n\n    twelve\n\nthirteen fourteen";
	char *whole[ROWS * 2];
	int lines = 0;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, ROWS * 2, 12, true));
	struct run run = { .canvas = &canvas, .rows = ROWS * 2, .width = 12 };
	run_prose(&run, STYLE_PLAIN, text);
	char *all = canvas_dump(&canvas, false);
	for (char *at = all; *at && lines < ROWS * 2; at += strcspn(at, "\n") + 1)
		whole[lines++] = at;
	for (int skip = 0; skip < run.line; skip++)
		for (int rows = 1; rows < 5; rows++) {
			struct run part = { .canvas = &canvas, .row = 1, .column = 0, .rows = rows, .width = 12, .skip = skip };
			canvas_clear(&canvas);
			run_prose(&part, STYLE_PLAIN, text);
			char *dump = canvas_dump(&canvas, false), *at = dump;
			for (int row = 0; row < ROWS * 2; row++, at += strcspn(at, "\n") + 1) {
				int line = row - 1 + skip;
				bool inside = row >= 1 && row <= rows && line < run.line;
				size_t length = strcspn(at, "\n");
				if (inside ? strncmp(at, whole[line], length) != 0 || length != strcspn(whole[line], "\n") : length != 0)
					fail_msg("skip %d, %d rows, row %d: %.*s", skip, rows, row, (int)length, at);
			}
			free(dump);
		}
	free(all);
	canvas_free(&canvas);
}

/* More than there is room for in one go: not a word is lost. */
static void long_paragraphs_lose_nothing(void **state)
{
	(void)state;
	static char text[40000], seen[200000];
	size_t used = 0, words = 0;
	for (int i = 0; i < 5000; i++)
		used += (size_t)snprintf(text + used, sizeof text - used, "w%d%s", i, i % 7 == 6 ? "\n" : " ");
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 900, 60, true));
	struct run run = { .canvas = &canvas, .rows = 900, .width = 60 };
	run_prose(&run, STYLE_PLAIN, text);
	char *dump = canvas_dump(&canvas, false);
	snprintf(seen, sizeof seen, "%s", dump);
	for (char *word = strtok(seen, " \n"); word; word = strtok(NULL, " \n")) {
		char wanted[20];
		snprintf(wanted, sizeof wanted, "w%zu", words++);
		assert_string_equal(word, wanted);
	}
	assert_int_equal(words, 5000);
	free(dump);
	canvas_free(&canvas);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(lines_are_joined), cmocka_unit_test(scrolling_moves_lines), cmocka_unit_test(long_paragraphs_lose_nothing),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
