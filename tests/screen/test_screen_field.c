/* The text field: editing, pasting, bounds, scrolling. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "screen/field.h"

/* Each character of `keys` is an event: < > left and right, [ ] home and end,
 * { backspace, } delete, ^ Ctrl-U; anything else types itself. */
static void press(struct field *field, const char *keys)
{
	static const struct { char sign; enum screen_key key; uint32_t point; } meaning[] = {
		{ '<', KEYS_LEFT, 0 }, { '>', KEYS_RIGHT, 0 }, { '[', KEYS_HOME, 0 }, { ']', KEYS_END, 0 },
		{ '{', KEYS_ERASE, 0 }, { '}', KEYS_DELETE, 0 }, { '^', KEYS_CTRL, 'u' },
	};
	for (; *keys; keys++) {
		struct screen_event event = { .kind = EVENT_CHARACTER, .point = (unsigned char)*keys };
		for (size_t i = 0; i < sizeof meaning / sizeof *meaning; i++)
			if (meaning[i].sign == *keys)
				event = (struct screen_event){ .kind = EVENT_KEY, .key = meaning[i].key, .point = meaning[i].point };
		assert_true(field_key(field, &event));
		assert_int_equal(strlen(field->text), field->length);
		assert_in_range(field->caret, 0, field->length);
	}
}

static void edits(void **state)
{
	(void)state;
	static const struct { const char *begin, *keys, *text; size_t caret; } cases[] = {
		{ "", "53-0A", "53-0A", 5 },
		{ "53-A", "<0", "53-0A", 4 },
		{ "53-0A", "{", "53-0", 4 },
		{ "53-0A", "[}", "3-0A", 0 },
		{ "53-0A", "[{", "53-0A", 0 },      /* nothing before */
		{ "53-0A", "}", "53-0A", 5 },        /* nothing behind */
		{ "53-0A", "<<^", "0A", 0 },
		{ "53-0A", "[^", "53-0A", 0 },
		{ "53-0A", "^", "", 0 },
		{ "53-0A", "[>>x", "53x-0A", 3 },
		{ "53", "[<<<x", "x53", 1 },
		{ "53", ">>>x", "53x", 3 },
		{ "53", "[]x", "53x", 3 },
		{ "水位", "<x", "水x位", 4 },
		{ "水位", "{", "水", 3 },
		{ "水位", "[}", "位", 0 },
		{ "水位", "<<{", "水位", 0 },
		/* a character and its mark are one */
		{ "ae\xCC\x81", "{", "a", 1 },
		{ "ae\xCC\x81", "<x", "axe\xCC\x81", 2 },
		{ "e\xCC\x81z", "[}", "z", 0 },
		{ "e\xCC\x81z", "[>x", "e\xCC\x81xz", 4 },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct field field;
		field_set(&field, cases[i].begin);
		press(&field, cases[i].keys);
		assert_string_equal(field.text, cases[i].text);
		assert_int_equal(field.caret, cases[i].caret);
	}
}

static void leaves_other_keys(void **state)
{
	(void)state;
	struct field field, before;
	field_set(&field, "eg-12");
	before = field;
	static const enum screen_key others[] = {
		KEYS_NONE, KEYS_ENTER, KEYS_ESCAPE, KEYS_TAB, KEYS_BACK_TAB, KEYS_UP, KEYS_DOWN, KEYS_PAGE_UP, KEYS_PAGE_DOWN,
	};
	for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
		struct screen_event event = { .kind = EVENT_KEY, .key = others[i] };
		assert_false(field_key(&field, &event));
	}
	struct screen_event control = { .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 'r' };
	assert_false(field_key(&field, &control));
	static const enum screen_event_kind kinds[] = { EVENT_RESIZE, EVENT_TICK, EVENT_STOP, EVENT_INTERRUPT };
	for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
		struct screen_event event = { .kind = kinds[i] };
		assert_false(field_key(&field, &event));
	}
	assert_memory_equal(&field, &before, sizeof field);
}

static void refuses_what_is_no_text(void **state)
{
	(void)state;
	static const uint32_t points[] = { 0, '\033', '\n', 0x7F, 0x9B, 0x202E, 0x200B, 0xFEFF, 0xD800, 0x110000, 0xFFFF };
	struct field field;
	field_set(&field, "a");
	for (size_t i = 0; i < sizeof points / sizeof *points; i++)
		assert_false(field_insert(&field, points[i]));
	assert_string_equal(field.text, "a");
	assert_true(field_insert(&field, 0xE9));
	assert_true(field_insert(&field, 0x6C34));
	assert_true(field_insert(&field, 0x301));
	assert_string_equal(field.text, "a\xC3\xA9\xE6\xB0\xB4\xCC\x81");
}

static void pastes(void **state)
{
	(void)state;
	static const struct { const char *pasted; size_t length; const char *text; } cases[] = {
		{ "00-00-5E-00-53-01", 17, "00-00-5E-00-53-01" },
		{ "  00-00-5E-00-53-01 \r\n", 22, "00-00-5E-00-53-01" },
		{ "one\ntwo", 7, "one two" },
		{ "one\r\n\r\ntwo", 10, "one two" },
		{ "one\ttwo", 7, "one two" },
		{ "one  two", 8, "one  two" },
		{ "\n\n", 2, "" },
		{ "", 0, "" },
		{ "a\033[31mb\x07", 8, "a[31mb" },
		{ "a\0b", 3, "ab" },
		{ "a\xFF\xC3" "b", 4, "ab" },
		{ "a\xE2\x80\xAE" "b", 5, "ab" },
		{ "\xEF\xBB\xBF" "eg-12", 8, "eg-12" },
		{ "水\n位", 7, "水 位" },
		{ "q", 1, "q" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct field field;
		field_clear(&field);
		struct screen_event event = { .kind = EVENT_PASTE, .text = cases[i].pasted, .length = cases[i].length };
		assert_true(field_key(&field, &event));
		assert_string_equal(field.text, cases[i].text);
		assert_int_equal(field.caret, field.length);
		assert_false(field.cut);
		/* in the middle of text, the rest stays where it is */
		field_set(&field, "[]");
		field.caret = 1;
		field_paste(&field, cases[i].pasted, cases[i].length);
		assert_int_equal(field.length, strlen(cases[i].text) + 2);
		assert_memory_equal(field.text + 1, cases[i].text, strlen(cases[i].text));
		assert_int_equal(field.text[field.length - 1], ']');
		assert_int_equal(field.caret, field.length - 1);
	}
}

static void stays_in_bounds(void **state)
{
	(void)state;
	struct field field;
	field_clear(&field);
	for (int i = 0; i < FIELD_ROOM - 1; i++)
		assert_true(field_insert(&field, 'x'));
	assert_false(field.cut);
	assert_false(field_insert(&field, 'y'));
	assert_true(field.cut);
	assert_int_equal(field.length, FIELD_ROOM - 1);
	press(&field, "{");
	assert_false(field.cut);
	assert_false(field_insert(&field, 0xE9));   /* two bytes, one left */
	assert_true(field_insert(&field, 'y'));

	/* a huge paste is cut between characters */
	size_t size = 200000;
	char *big = malloc(size);
	for (size_t i = 0; i + 3 <= size; i += 3)
		memcpy(big + i, "水", 3);
	field_clear(&field);
	field_paste(&field, big, size - size % 3);
	assert_true(field.cut);
	assert_int_equal(field.length, 510);
	assert_int_equal(strlen(field.text), 510);
	free(big);
}

static void draws(void **state)
{
	(void)state;
	static const struct { const char *text; size_t caret; int width; bool focused; const char *wanted; int cursor; } cases[] = {
		{ "eg-12", 5, 8, true, "eg-12", 5 },
		{ "eg-12", 0, 8, true, "eg-12", 0 },
		{ "eg-12", 5, 8, false, "eg-12___", -1 },
		{ "", 0, 4, true, "", 0 },
		{ "", 0, 4, false, "____", -1 },
		/* text as wide as the field: the caret needs one cell more at the end */
		{ "12345678", 0, 8, true, "12345678", 0 },
		{ "12345678", 6, 8, true, "12345678", 6 },
		{ "12345678", 8, 8, true, "<678", 4 },
		{ "123456789", 0, 8, true, "1234567>", 0 },
		{ "123456789", 0, 8, false, "1234567>", -1 },
		{ "123456789", 9, 8, false, "1234567>", -1 },
		{ "abcdefghijklmnop", 8, 8, true, "<fghijk>", 4 },
		{ "abcdefghijklmnop", 16, 8, true, "<nop", 4 },
		{ "水位水位水位", 18, 8, true, "< 位", 4 },
		{ "ab", 2, 1, true, "", 0 },
		{ "ab", 1, 1, true, "b", 0 },
		{ "abc", 3, 2, true, "", 0 },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct field field;
		field_set(&field, cases[i].text);
		field.caret = cases[i].caret;
		struct canvas canvas;
		assert_true(canvas_init(&canvas, 3, 12, false));
		field_draw(&field, &canvas, 1, 2, cases[i].width, cases[i].focused);
		char *dump = canvas_dump(&canvas, false), wanted[80] = "\n";
		if (*cases[i].wanted)
			strcat(strcat(wanted, "  "), cases[i].wanted);
		assert_string_equal(dump, strcat(wanted, "\n\n"));
		free(dump);
		assert_int_equal(canvas.cursor_shown, cases[i].focused);
		if (cases[i].focused) {
			assert_int_equal(canvas.cursor_row, 1);
			assert_int_equal(canvas.cursor_column, 2 + cases[i].cursor);
		}
		canvas_free(&canvas);
	}
}

/* For every width and caret the cursor stays in the field and the character
 * under it is the one at the caret. */
static void always_shows_the_caret(void **state)
{
	(void)state;
	static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJ";
	struct field field;
	field_set(&field, letters);
	for (int width = 1; width <= 40; width++) {
		for (size_t caret = 0; caret <= strlen(letters); caret++) {
			struct canvas canvas;
			assert_true(canvas_init(&canvas, 1, 40, false));
			field.caret = caret;
			field_draw(&field, &canvas, 0, 0, width, true);
			assert_in_range(canvas.cursor_column, 0, width - 1);
			uint32_t under = canvas.cell[canvas.cursor_column].point;
			assert_int_equal(under, letters[caret] ? (unsigned char)letters[caret] : ' ');
			canvas_free(&canvas);
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(edits),
		cmocka_unit_test(leaves_other_keys),
		cmocka_unit_test(refuses_what_is_no_text),
		cmocka_unit_test(pastes),
		cmocka_unit_test(stays_in_bounds),
		cmocka_unit_test(draws),
		cmocka_unit_test(always_shows_the_caret),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
