/* The key table: requests, the bar, the help. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "screen/keytable.h"

enum request { CONFIRM, NEXT, PREVIOUS, REPEAT, MARK, LEAVE, HELP };

static const struct keytable_row table[] = {
	{ KEYS_ENTER, 0, CONFIRM, "confirm", "Confirm the step when its evidence is complete." },
	{ KEYS_DOWN, 0, NEXT, NULL, "Go to the next row." },
	{ KEYS_NONE, 'j', NEXT, NULL, NULL },
	{ KEYS_UP, 0, PREVIOUS, NULL, "Go to the row above." },
	{ KEYS_NONE, 'k', PREVIOUS, NULL, NULL },
	{ KEYS_CTRL, 'r', REPEAT, "read again", "Read the console once more." },
	{ KEYS_NONE, ' ', MARK, "mark", "Mark the row." },
	{ KEYS_ESCAPE, 0, LEAVE, "leave", "Leave; everything is saved." },
	{ KEYS_NONE, '?', HELP, "help", "Show this page." },
};
#define COUNT (sizeof table / sizeof *table)

static void turns_events_into_requests(void **state)
{
	(void)state;
	static const struct { struct screen_event event; int request; } cases[] = {
		{ { .kind = EVENT_KEY, .key = KEYS_ENTER }, CONFIRM },
		{ { .kind = EVENT_KEY, .key = KEYS_DOWN }, NEXT },
		{ { .kind = EVENT_CHARACTER, .point = 'j' }, NEXT },
		{ { .kind = EVENT_CHARACTER, .point = 'J' }, KEYTABLE_NONE },
		{ { .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 'r' }, REPEAT },
		{ { .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 's' }, KEYTABLE_NONE },
		{ { .kind = EVENT_CHARACTER, .point = 'r' }, KEYTABLE_NONE },
		{ { .kind = EVENT_CHARACTER, .point = '?' }, HELP },
		{ { .kind = EVENT_CHARACTER, .point = 0 }, KEYTABLE_NONE },
		{ { .kind = EVENT_KEY, .key = KEYS_NONE, .point = '?' }, KEYTABLE_NONE },
		{ { .kind = EVENT_PASTE, .text = "?", .length = 1 }, KEYTABLE_NONE },
		{ { .kind = EVENT_INTERRUPT }, KEYTABLE_NONE },
		{ { .kind = EVENT_STOP }, KEYTABLE_NONE },
		/* pasted without marks: nothing confirms, leaves or acts */
		{ { .kind = EVENT_KEY, .key = KEYS_ENTER, .burst = true }, KEYTABLE_NONE },
		{ { .kind = EVENT_KEY, .key = KEYS_ESCAPE, .burst = true }, KEYTABLE_NONE },
		{ { .kind = EVENT_CHARACTER, .point = '?', .burst = true }, KEYTABLE_NONE },
		{ { .kind = EVENT_KEY, .key = KEYS_DOWN, .burst = true }, NEXT },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
		assert_int_equal(keytable_request(table, COUNT, &cases[i].event), cases[i].request);
	assert_int_equal(keytable_request(NULL, 0, &cases[0].event), KEYTABLE_NONE);
}

static void names_keys(void **state)
{
	(void)state;
	static const struct { enum screen_key key; uint32_t point; const char *name; } cases[] = {
		{ KEYS_ENTER, 0, "Enter" }, { KEYS_ESCAPE, 0, "Esc" }, { KEYS_TAB, 0, "Tab" },
		{ KEYS_BACK_TAB, 0, "Shift-Tab" }, { KEYS_UP, 0, "Up" }, { KEYS_DOWN, 0, "Down" },
		{ KEYS_LEFT, 0, "Left" }, { KEYS_RIGHT, 0, "Right" }, { KEYS_HOME, 0, "Home" }, { KEYS_END, 0, "End" },
		{ KEYS_PAGE_UP, 0, "PgUp" }, { KEYS_PAGE_DOWN, 0, "PgDn" }, { KEYS_ERASE, 0, "Backspace" },
		{ KEYS_DELETE, 0, "Del" }, { KEYS_CTRL, 'r', "Ctrl-R" }, { KEYS_NONE, '?', "?" },
		{ KEYS_NONE, ' ', "Space" }, { KEYS_NONE, 'q', "q" }, { KEYS_NONE, 'Q', "Q" }, { KEYS_NONE, 0xE9, "é" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct keytable_row row = { cases[i].key, cases[i].point, 0, NULL, NULL };
		char name[16];
		keytable_name(&row, name, sizeof name);
		assert_string_equal(name, cases[i].name);
	}
}

static void draws_the_bar(void **state)
{
	(void)state;
	static const struct { int width, shown; const char *wanted; } cases[] = {
		{ 90, 5, "[Enter] confirm  [Ctrl-R] read again  [Space] mark  [Esc] leave  [?] help\n" },
		{ 73, 5, "[Enter] confirm  [Ctrl-R] read again  [Space] mark  [Esc] leave  [?] help\n" },
		{ 72, 4, "[Enter] confirm  [Ctrl-R] read again  [Space] mark  [?] help\n" },
		{ 40, 2, "[Enter] confirm  [?] help\n" },
		{ 24, 1, "[?] help\n" },
		{ 8, 1, "[?] help\n" },
		{ 5, 1, "[?] h\n" },
		{ 0, 1, "\n" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct canvas canvas;
		assert_true(canvas_init(&canvas, 1, 100, false));
		assert_int_equal(keytable_bar(table, COUNT, &canvas, 0, 0, cases[i].width), cases[i].shown);
		char *dump = canvas_dump(&canvas, false);
		assert_string_equal(dump, cases[i].wanted);
		for (int column = 0; column < 100; column++)
			assert_int_equal(canvas.cell[column].style, column < cases[i].width ? STYLE_BAR : STYLE_PLAIN);
		free(dump);
		canvas_free(&canvas);
	}
}

static void draws_the_help(void **state)
{
	(void)state;
	static const char whole[] =
		"Enter      Confirm the step when\n"
		"           its evidence is\n"
		"           complete.\n"
		"Down or j  Go to the next row.\n"
		"Up or k    Go to the row above.\n"
		"Ctrl-R     Read the console once\n"
		"           more.\n"
		"Space      Mark the row.\n"
		"Esc        Leave; everything is\n"
		"           saved.\n"
		"?          Show this page.\n";
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 11, 33, false));
	assert_int_equal(keytable_help(table, COUNT, NULL, 0, 0, 0, 33, 0), 11);
	assert_int_equal(keytable_help(table, COUNT, &canvas, 0, 0, 11, 33, 0), 11);
	char *dump = canvas_dump(&canvas, false);
	assert_string_equal(dump, whole);
	free(dump);
	/* scrolled by any number of lines, it is the same text from there on */
	const char *rest = whole;
	for (int skip = 0; skip < 11; skip++) {
		canvas_clear(&canvas);
		assert_int_equal(keytable_help(table, COUNT, &canvas, 0, 0, 4, 33, skip), 11);
		dump = canvas_dump(&canvas, false);
		const char *end = rest;
		for (int line = 0; line < 4 && *end; line++)
			end = strchr(end, '\n') + 1;
		assert_memory_equal(dump, rest, (size_t)(end - rest));
		assert_int_equal(strspn(dump + (end - rest), "\n"), strlen(dump + (end - rest)));
		rest = strchr(rest, '\n') + 1;
		free(dump);
	}
	canvas_free(&canvas);
}

static void puts_long_names_on_their_own_line(void **state)
{
	(void)state;
	static const struct keytable_row rows[] = {
		{ KEYS_PAGE_DOWN, 0, 1, NULL, "Go on." },
		{ KEYS_CTRL, 'f', 1, NULL, NULL },
		{ KEYS_NONE, ' ', 1, NULL, NULL },
		{ KEYS_BACK_TAB, 0, 2, NULL, NULL },   /* neither bar nor help */
	};
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 3, 40, false));
	assert_int_equal(keytable_help(rows, 4, &canvas, 0, 0, 3, 40, 0), 2);
	char *dump = canvas_dump(&canvas, false);
	assert_string_equal(dump, "PgDn or Ctrl-F or Space\n                      Go on.\n\n");
	free(dump);
	canvas_free(&canvas);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(turns_events_into_requests),
		cmocka_unit_test(names_keys),
		cmocka_unit_test(draws_the_bar),
		cmocka_unit_test(draws_the_help),
		cmocka_unit_test(puts_long_names_on_their_own_line),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
