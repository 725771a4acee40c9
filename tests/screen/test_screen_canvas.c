/* The canvas: clipping, wide and combining characters, unsafe text, ASCII,
 * wrapping. */
#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>

#include <cmocka.h>

#include "screen/canvas.h"
#include "screen/glyph.h"

static void expect(const struct canvas *canvas, bool styles, const char *wanted)
{
	char *dump = canvas_dump(canvas, styles);
	assert_non_null(dump);
	assert_string_equal(dump, wanted);
	free(dump);
}

static void puts_and_clips(void **state)
{
	(void)state;
	static const struct { int row, column, width; const char *text; int used; const char *wanted; } cases[] = {
		{ 0, 0, 10, "gauge", 5, "gauge\n\n" },
		{ 0, 0, 3, "gauge", 3, "gau\n\n" },
		{ 0, 0, 0, "gauge", 0, "\n\n" },
		{ 0, 0, -4, "gauge", 0, "\n\n" },
		{ 1, 5, 10, "gauge", 5, "\n     gau\n" },
		{ 1, -2, 10, "gauge", 5, "\nuge\n" },
		{ -1, 0, 10, "gauge", 5, "\n\n" },
		{ 2, 0, 10, "gauge", 5, "\n\n" },
		{ 0, 8, 10, "gauge", 5, "\n\n" },
		{ 0, 7, 10, "gauge", 5, "       g\n\n" },
		{ 0, 0, 10, "", 0, "\n\n" },
		{ 0, 0, 10, NULL, 0, "\n\n" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct canvas canvas;
		assert_true(canvas_init(&canvas, 2, 8, false));
		assert_int_equal(canvas_put(&canvas, cases[i].row, cases[i].column, cases[i].width, STYLE_PLAIN, cases[i].text),
		                 cases[i].used);
		expect(&canvas, false, cases[i].wanted);
		canvas_free(&canvas);
	}
}

static void keeps_wide_characters_whole(void **state)
{
	(void)state;
	static const struct { int column, width; const char *text; int used; const char *wanted; } cases[] = {
		{ 0, 8, "水位", 4, "水位\n" },
		{ 0, 3, "水位", 2, "水\n" },           /* half a character has no room */
		{ 3, 8, "水位", 4, "   水\n" },        /* the edge of the canvas cuts the second */
		{ -1, 8, "水位", 4, " 位\n" },
		{ 4, 8, "水", 2, "\n" },               /* a blank for the half that fits */
		{ 0, 1, "水", 0, "\n" },
		{ 0, 8, "a水b", 4, "a水b\n" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct canvas canvas;
		assert_true(canvas_init(&canvas, 1, 5, false));
		assert_int_equal(canvas_put(&canvas, 0, cases[i].column, cases[i].width, STYLE_PLAIN, cases[i].text),
		                 cases[i].used);
		expect(&canvas, false, cases[i].wanted);
		canvas_free(&canvas);
	}
}

static void overwrites_half_a_wide_character(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 1, 6, false));
	canvas_put(&canvas, 0, 0, 6, STYLE_PLAIN, "水位雨");
	canvas_put(&canvas, 0, 1, 1, STYLE_PLAIN, "x");
	expect(&canvas, false, " x位雨\n");
	canvas_put(&canvas, 0, 4, 1, STYLE_PLAIN, "y");
	expect(&canvas, false, " x位y\n");
	canvas_put(&canvas, 0, 1, 2, STYLE_PLAIN, "雨");
	expect(&canvas, false, " 雨 y\n");
	for (int i = 0; i < 6; i++)   /* no right half without its left */
		if (canvas.cell[i].point == 0)
			assert_int_equal(glyph_width(canvas.cell[i - 1].point), 2);
	canvas_free(&canvas);
}

static void keeps_combining_marks(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 1, 8, false));
	assert_int_equal(canvas_put(&canvas, 0, 0, 8, STYLE_PLAIN, "e\xCC\x81ta\xCC\x82\xCC\x81ge"), 5);
	expect(&canvas, false, "e\xCC\x81ta\xCC\x82\xCC\x81ge\n");
	assert_int_equal(canvas.cell[0].point, 'e');
	assert_int_equal(canvas.cell[0].mark[0], 0x301);
	canvas_clear(&canvas);
	/* one without a character of its own still shows */
	assert_int_equal(canvas_put(&canvas, 0, 0, 8, STYLE_PLAIN, "\xCC\x81"), 1);
	assert_int_equal(canvas.cell[0].point, 0x25CC);
	/* a mark goes with its character */
	canvas_put(&canvas, 0, 0, 8, STYLE_PLAIN, "x");
	assert_int_equal(canvas.cell[0].mark[0], 0);
	canvas_free(&canvas);
}

static void no_unsafe_character_becomes_a_cell(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 1, 40, false));
	/* every byte but NUL, each alone and together with ESC before it */
	for (int byte = 1; byte < 256; byte++) {
		char text[4] = { '\033', (char)byte, 'z', '\0' };
		canvas_clear(&canvas);
		canvas_put(&canvas, 0, 0, 40, STYLE_PLAIN, text);
		for (int i = 0; i < 40; i++)
			assert_true(glyph_printable(canvas.cell[i].point));
	}
	/* C1 controls, direction marks, zero-width characters, a lone surrogate */
	static const struct { const char *text, *wanted; } cases[] = {
		{ "a\033[31mb", "a\\x1B[31mb\n" },
		{ "a\xC2\x9B" "31mb", "a\\u{9B}31mb\n" },
		{ "a\xE2\x80\xAE" "b", "a\\u{202E}b\n" },
		{ "a\xE2\x80\x8B" "b", "a\\u{200B}b\n" },
		{ "a\xED\xA0\x80" "b", "a\\xED\\xA0\\x80b\n" },
		{ "a\xFF" "b", "a\\xFFb\n" },
		{ "a\tb\nc", "a\\x09b\\x0Ac\n" },
		{ "a\x7F", "a\\x7F\n" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		canvas_clear(&canvas);
		assert_int_equal(canvas_put(&canvas, 0, 0, 40, STYLE_PLAIN, cases[i].text), canvas_width(cases[i].text));
		expect(&canvas, false, cases[i].wanted);
	}
	canvas_free(&canvas);
}

static void stands_in_with_ascii(void **state)
{
	(void)state;
	static const struct { const char *text, *wanted; } cases[] = {
		{ "┌─┐│└┘├┤╔═╝║", "+-+|+++++-+|" },
		{ "←↑→↓▲▼▶◀▸", "<^>v^v><>" },
		{ "•‣◦●○", "*>o*o" },
		{ "a–b—c‑d−e", "a-b-c-d-e" },
		{ "more…", "more~" },
		{ "✓✔☑ ✗✘☒ ☐", "+++ xxx _" },
		{ "“low” ‘high’", "\"low\" 'high'" },
		{ "Größe café Łódź", "Grose cafe Lodz" },
		{ "cafe\xCC\x81", "cafe" },
		{ "3 × 4", "3 x 4" },
		{ "水", "??" },
		{ "Ω", "?" },
		{ "⚠ mains", "! mains" },
		{ "plain ~!@#", "plain ~!@#" },
	};
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 1, 20, true));
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		canvas_clear(&canvas);
		int used = canvas_put(&canvas, 0, 0, 20, STYLE_PLAIN, cases[i].text);
		char *dump = canvas_dump(&canvas, false);
		dump[strcspn(dump, "\n")] = '\0';
		assert_string_equal(dump, cases[i].wanted);
		/* a view lays out the same with both sets of characters */
		assert_int_equal(used, canvas_width(cases[i].text));
		assert_int_equal(used, (int)strlen(dump));
		free(dump);
	}
	canvas_free(&canvas);
}

static void ascii_canvas_holds_only_ascii(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 4, 12, true));
	canvas_box(&canvas, 0, 0, 4, 12, STYLE_PLAIN);
	canvas_rule(&canvas, 1, 1, 10);
	canvas_wall(&canvas, 1, 5, 2);
	canvas_fill(&canvas, 2, 1, 1, 2, STYLE_DIM, 0x2591);
	canvas_put(&canvas, 2, 6, 4, STYLE_PLAIN, "位\xC3\xA9");
	expect(&canvas, false, "+----------+\n|----|-----|\n|..  |??e  |\n+----------+\n");
	for (int i = 0; i < 48; i++)
		assert_in_range(canvas.cell[i].point, 0x20, 0x7E);
	canvas_free(&canvas);
}

static void draws_lines(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 3, 6, false));
	canvas_box(&canvas, 0, 0, 3, 6, STYLE_STRONG);
	canvas_put(&canvas, 1, 1, 4, STYLE_BAD, "stop");
	expect(&canvas, true, "┌────┐\n│stop│\n└────┘\n\nssssss\nsbbbbs\nssssss\n");
	/* partly or wholly outside, upside down, too small: clipped or nothing */
	canvas_clear(&canvas);
	canvas_box(&canvas, 1, 3, 9, 9, STYLE_PLAIN);
	canvas_box(&canvas, -5, -5, 3, 3, STYLE_PLAIN);
	canvas_box(&canvas, 0, 0, 1, 4, STYLE_PLAIN);
	canvas_fill(&canvas, 0, 0, -1, 3, STYLE_PLAIN, 'x');
	canvas_fill(&canvas, 0, 0, 1, 2, STYLE_PLAIN, '\n');
	expect(&canvas, false, "\n   ┌──\n   │\n");
	canvas_free(&canvas);
}

static void shows_styles(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 1, 10, false));
	for (int style = 0; style < STYLES; style++)
		canvas_put(&canvas, 0, style, 1, (enum canvas_style)style, "x");
	expect(&canvas, true, "xxxxxxxxx\n\n.dscgwb!=\n");
	canvas_restyle(&canvas, 0, -3, 5, STYLE_CHOSEN);
	canvas_restyle(&canvas, 0, 8, 500, STYLE_PLAIN);
	canvas_restyle(&canvas, 7, 0, 5, STYLE_BAD);
	expect(&canvas, true, "xxxxxxxxx\n\nccscgwb!\n");
	canvas_free(&canvas);
}

static void wraps(void **state)
{
	(void)state;
	static const struct { const char *text; int width, lines; const char *wanted; } cases[] = {
		{ "", 5, 0, "\n\n\n\n" },
		{ NULL, 5, 0, "\n\n\n\n" },
		{ "mains off", 0, 0, "\n\n\n\n" },
		{ "mains off", 9, 1, "mains off\n\n\n\n" },
		{ "mains off", 8, 2, "mains\noff\n\n\n" },
		{ "mains   off  ", 8, 2, "mains\noff\n\n\n" },
		{ "a b c d e f", 3, 3, "a b\nc d\ne f\n\n" },
		{ "registration", 5, 3, "regis\ntrati\non\n\n" },
		{ "a registration", 5, 4, "a\nregis\ntrati\non\n" },
		{ "one\ntwo", 9, 2, "one\ntwo\n\n\n" },
		{ "one\n", 9, 1, "one\n\n\n\n" },
		{ "\n", 9, 1, "\n\n\n\n" },
		{ "one\n\ntwo", 9, 3, "one\n\ntwo\n\n" },
		{ "  - item", 9, 1, "  - item\n\n\n\n" },
		{ "水位 雨量", 5, 2, "水位\n雨量\n\n\n" },
		{ "水位雨量", 5, 2, "水位\n雨量\n\n\n" },
		{ "1 2 3 4 5 6", 1, 6, "1\n2\n3\n4\n" },
		{ "       x", 3, 2, "\nx\n\n\n" },
		{ "ab\033", 4, 2, "ab\n\\x1B\n\n\n" },
		{ "位", 1, 1, "\n\n\n\n" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct canvas canvas;
		assert_true(canvas_init(&canvas, 4, 10, false));
		assert_int_equal(canvas_wrap(NULL, 0, 0, 0, cases[i].width, STYLE_PLAIN, cases[i].text, 0), cases[i].lines);
		assert_int_equal(canvas_wrap(&canvas, 0, 0, 4, cases[i].width, STYLE_PLAIN, cases[i].text, 0),
		                 cases[i].lines);
		expect(&canvas, false, cases[i].wanted);
		canvas_free(&canvas);
	}
}

static void wraps_scrolled(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 4, 6, false));
	assert_int_equal(canvas_wrap(&canvas, 1, 2, 2, 2, STYLE_PLAIN, "1 2 3 4 5", 2), 5);
	expect(&canvas, false, "\n  3\n  4\n\n");
	canvas_clear(&canvas);
	assert_int_equal(canvas_wrap(&canvas, 0, 0, 4, 2, STYLE_PLAIN, "1 2 3", 7), 3);
	expect(&canvas, false, "\n\n\n\n");
	canvas_free(&canvas);
}

static void prints(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 1, 12, false));
	assert_int_equal(canvas_print(&canvas, 0, 0, 12, STYLE_PLAIN, "%d of %d", 3, 13), 7);
	expect(&canvas, false, "3 of 13\n");
	char big[2000];
	memset(big, 'k', sizeof big - 1);
	big[sizeof big - 1] = '\0';
	assert_int_equal(canvas_print(&canvas, 0, 0, 3000, STYLE_PLAIN, "%s", big), 1999);
	expect(&canvas, false, "kkkkkkkkkkkk\n");
	canvas_free(&canvas);
}

static void resizes(void **state)
{
	(void)state;
	struct canvas canvas;
	assert_true(canvas_init(&canvas, 0, 0, false));
	expect(&canvas, false, "");
	assert_int_equal(canvas_put(&canvas, 0, 0, 9, STYLE_PLAIN, "x"), 1);
	assert_true(canvas_resize(&canvas, 2, 3));
	canvas.cursor_shown = true;
	canvas_put(&canvas, 1, 0, 9, STYLE_PLAIN, "xyz");
	/* refused sizes leave it as it was */
	assert_false(canvas_resize(&canvas, -1, 3));
	assert_false(canvas_resize(&canvas, 3, 100000000));
	expect(&canvas, false, "\nxyz\n");
	assert_true(canvas_resize(&canvas, 1, 2));
	expect(&canvas, false, "\n");
	assert_false(canvas.cursor_shown);
	canvas_free(&canvas);
}

/* The width table against the C library's own, which the terminal side uses. */
static void widths_agree_with_the_c_library(void **state)
{
	(void)state;
	assert_true(setlocale(LC_CTYPE, "C.UTF-8") || setlocale(LC_CTYPE, "C.utf8"));
	long same = 0, other = 0;
	for (uint32_t point = 0x20; point < 0x30000; point++) {
		int wanted = wcwidth((wchar_t)point);
		if (wanted < 0 || !glyph_printable(point))
			continue;
		if (glyph_width(point) == wanted)
			same++;
		else
			other++;
	}
	assert_true(same > 100000);
	/* newer Unicode versions differ in a few; curses.c shows those as `?` */
	assert_true(other < same / 1000);
	setlocale(LC_CTYPE, "C");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(puts_and_clips),
		cmocka_unit_test(keeps_wide_characters_whole),
		cmocka_unit_test(overwrites_half_a_wide_character),
		cmocka_unit_test(keeps_combining_marks),
		cmocka_unit_test(no_unsafe_character_becomes_a_cell),
		cmocka_unit_test(stands_in_with_ascii),
		cmocka_unit_test(ascii_canvas_holds_only_ascii),
		cmocka_unit_test(draws_lines),
		cmocka_unit_test(shows_styles),
		cmocka_unit_test(wraps),
		cmocka_unit_test(wraps_scrolled),
		cmocka_unit_test(prints),
		cmocka_unit_test(resizes),
		cmocka_unit_test(widths_agree_with_the_c_library),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
