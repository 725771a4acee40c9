#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "sheet/compose.h"
#include "sheet/decode.h"
#include "sheet/trouble.h"

#define COUNT(a) (sizeof (a) / sizeof *(a))
#define ACUTE "\xCC\x81"
#define DIAERESIS "\xCC\x88"
#define CIRCUMFLEX "\xCC\x82"
#define DOT_BELOW "\xCC\xA3"
#define U_DIAERESIS "\xC3\xBC"

/* The composed and the parted forms after the charts of UAX #15, figures 3 to 6, the rest
 * from the definition of canonical equivalence there. */
static void test_same(void **state)
{
	(void)state;
	static const struct { const char *a, *b; bool same; } cases[] = {
		{ "", "", true }, { "weir", "weir", true }, { "weir", "weirs", false }, { "weir", "wier", false },
		{ U_DIAERESIS, "u" DIAERESIS, true }, { U_DIAERESIS, "u", false }, { U_DIAERESIS, "u" ACUTE, false },
		{ "Gr" U_DIAERESIS "n", "Gru" DIAERESIS "n", true }, { "Gr" U_DIAERESIS "n", "Grun" DIAERESIS, false },
		{ "\xE1\xBB\x87", "e" DOT_BELOW CIRCUMFLEX, true },             /* two marks, in their order */
		{ "\xE1\xBB\x87", "e" CIRCUMFLEX DOT_BELOW, true },             /* and in the other */
		{ "\xE1\xBB\x87", "\xC3\xAA" DOT_BELOW, true },                 /* one of them joined */
		{ "e" ACUTE CIRCUMFLEX, "e" CIRCUMFLEX ACUTE, false },          /* both above: their order shows */
		{ "\xC3\x85", "A\xCC\x8A", true }, { "\xD0\xB9", "\xD0\xB8\xCC\x86", true }, { "\xCE\xAC", "\xCE\xB1" ACUTE, true },
		{ "\xE3\x81\x8C", "\xE3\x81\x8B\xE3\x82\x99", true },           /* kana ga */
		{ "\xEA\xB0\x80", "\xE1\x84\x80\xE1\x85\xA1", true },           /* Hangul ga, gag */
		{ "\xEA\xB0\x81", "\xE1\x84\x80\xE1\x85\xA1\xE1\x86\xA8", true }, { "\xEA\xB0\x81", "\xEA\xB0\x80\xE1\x86\xA8", true },
		{ "\xEA\xB0\x81", "\xEA\xB0\x80", false },
		{ "\xFF", "\xFF", true }, { "\xFF", "\xFE", false }, { ACUTE "a", "\xC3\xA1", false },
		/* more marks than are looked at are never taken for the same */
		{ U_DIAERESIS ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE,
		  "u" DIAERESIS ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE, false },
	};
	for (size_t i = 0; i < COUNT(cases); i++)
		if (compose_same(cases[i].a, cases[i].b) != cases[i].same || compose_same(cases[i].b, cases[i].a) != cases[i].same)
			fail_msg("case %zu: \"%s\" and \"%s\"", i, cases[i].a, cases[i].b);
	uint32_t point;
	assert_int_equal(compose_first("Gru" DIAERESIS "n", &point), 4);
	assert_int_equal(point, 0x308);
	assert_int_equal(compose_first("Gr" U_DIAERESIS "n", &point), 0);
}

static void test_quotes(void **state)
{
	(void)state;
	static const struct { const char *text, *quoted; } cases[] = {
		{ "Pellarn Weir", "\"Pellarn Weir\"" }, { "Pellarn\xC2\xA0Weir", "\"Pellarn\\u{A0}Weir\"" },
		{ "a\xE2\x80\xAF" "b", "\"a\\u{202F}b\"" }, { "a\xE3\x80\x80", "\"a\\u{3000}\"" }, { "a\xE2\x80\x8B", "\"a\\u{200B}\"" },
		{ "Gru" DIAERESIS "n", "\"Gru\\u{308}n\"" }, { "Gr" U_DIAERESIS "n", "\"Gr" U_DIAERESIS "n\"" },
		{ "a\tb", "\"a\\x09b\"" }, { "\xFF", "\"\\xFF\"" }, { "", "\"\"" }, { NULL, "nothing" },
		{ "123456789 123456789 123456789 123456789 123456789 1234567890", "\"123456789 123456789 123456789 123456789 123456789 1234567890\"" },
		{ "123456789 123456789 123456789 123456789 123456789 123456789\xC2\xA0x", "\"123456789 123456789 123456789 123456789 123456789 123456789\\u{A0}...\"" },
	};
	struct pm_arena arena;
	pm_arena_init(&arena);
	for (size_t i = 0; i < COUNT(cases); i++)
		assert_string_equal(trouble_quoted(&arena, cases[i].text), cases[i].quoted);
	pm_arena_free(&arena);
}

/* Line ends, quotes and encodings of a sheet of two columns. */
static void test_decode(void **state)
{
	(void)state;
#define TEXT(string) string, sizeof string - 1
	static const struct { const char *text; size_t length; const char *decoded; char separator; bool bare, lone, wide, latin, mark; } cases[] = {
		{ TEXT("a,b\r\nc,d\r\n"), "a,b\r\nc,d\r\n", ',', .bare = false },
		{ TEXT("a,b\nc,d\n"), "a,b\nc,d\n", ',', .bare = true },
		{ TEXT("a,b\rc,d\r"), "a,b\nc,d\n", ',', .lone = true },
		{ TEXT("a,b\r\nc,d\re,f\r\n"), "a,b\r\nc,d\ne,f\r\n", ',', .lone = true },
		{ TEXT("\"a\rb\",c\r\n"), "\"a\rb\",c\r\n", ',', .bare = false },       /* within a field it is part of it */
		{ TEXT("\"a\nb\",c\r\n"), "\"a\nb\",c\r\n", ',', .bare = false },
		{ TEXT("a,=\"00\"\r\n"), "a,\"=\"\"00\"\"\"\r\n", ',', .bare = false },
		{ TEXT("=\"a,b\";c"), "\"=\"\"a,b\"\"\";c", ';', .bare = false },
		{ TEXT("=\"a;b\";c"), "\"=\"\"a;b\"\"\";c", ';', .bare = false },
		{ TEXT("=\"a\"\"b\",c"), "\"=\"\"a\"\"\"\"b\"\"\",c", ',', .bare = false },
		{ TEXT("=\"a,b"), "\"=\"\"a\",b", ',', .bare = false },                  /* no formula: its quote is not closed */
		{ TEXT("=\"a\r\nb\",c"), "\"=\"\"a\"\r\n\"b\"\"\",c", ',', .bare = false },
		{ TEXT("5\",b"), "\"5\"\"\",b", ',', .bare = false },
		{ TEXT("\"a,b"), "\"a,b", ',', .bare = false },                          /* for the reader to refuse */
		{ TEXT("\"a\"x,b"), "\"a\"x,b", ',', .bare = false },
		{ TEXT("\xEF\xBB\xBF\"a\",b"), "\xEF\xBB\xBF\"a\",b", ',', .mark = true },
		{ TEXT("\xFF\xFE" "a\0\t\0b\0"), "a\tb", '\t', .wide = true },
		{ TEXT("\xFE\xFF\0a\0\t\0b"), "a\tb", '\t', .wide = true },
		{ TEXT("a\0,\0b\0\r\0\n\0"), "a,b\r\n", ',', .wide = true },
		{ TEXT("\0a\0,\0b\0\r\0\n"), "a,b\r\n", ',', .wide = true },
		{ TEXT("\0a\0,\1\x31\0b\0x"), "a,\xC4\xB1" "bx", ',', .wide = true },
		{ TEXT("a,\xFC"), "a,\xC3\xBC", ',', .latin = true },
		{ TEXT(""), "", ',', .bare = false },
	};
	struct pm_arena arena;
	pm_arena_init(&arena);
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct returned sheet = { .file = "x" };
		struct decoded text = { cases[i].text, cases[i].length };
		assert_true(decode_sheet(&text, 2, &arena, &sheet));
		if (text.length != strlen(cases[i].decoded) || memcmp(text.text, cases[i].decoded, text.length) != 0)
			fail_msg("case %zu: %.*s", i, (int)text.length, text.text);
		if (sheet.separator != cases[i].separator || sheet.bare_ends != cases[i].bare || sheet.lone_returns != cases[i].lone ||
		    sheet.wide != cases[i].wide || sheet.latin != cases[i].latin || sheet.mark != cases[i].mark)
			fail_msg("case %zu is not told right", i);
	}
	/* a zero byte here and there makes no UTF-16 */
	struct returned sheet = { .file = "x" };
	struct decoded text = { "a,b\0c,d", 7 };
	assert_true(decode_sheet(&text, 2, &arena, &sheet));
	assert_false(sheet.wide);
	pm_arena_free(&arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_same), cmocka_unit_test(test_quotes), cmocka_unit_test(test_decode),
	};
	return cmocka_run_group_tests_name("compose", tests, NULL, NULL);
}
