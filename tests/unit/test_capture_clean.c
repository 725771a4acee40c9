/* What a reader's eye saw of console bytes, however they come in pieces. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "capture/clean.h"
#include "portmuster/arena.h"
#include "portmuster/text.h"

/* Lines as "number:text|", an asterisk behind the number for a cut line, a
 * tilde for one with noise. */
static void take(void *context, const struct clean_line *line)
{
	struct pm_text *out = context;
	assert_int_equal(line->text[line->length], '\0');
	assert_int_equal(strlen(line->text), line->length);
	assert_true(line->columns <= CLEAN_MOST_COLUMNS);
	if (line->length) assert_true(line->text[line->length - 1] != ' ');
	for (size_t i = 0; i < line->length;) {
		uint32_t point;
		i += pm_utf8_next(line->text + i, line->length - i, &point);
		assert_true(point != UINT32_MAX && point >= 0x20 && !(point >= 0x7F && point < 0xA0));
	}
	pm_text_add(out, "%u%s%s:", line->line, line->cut ? "*" : "", line->noise ? "~" : "");
	pm_text_put(out, line->text, line->length);
	pm_text_char(out, '|');
}

static const char *cleaned(const char *bytes, size_t length, size_t split, size_t piece,
                           const char *pager, struct pm_arena *arena)
{
	struct pm_text out;
	pm_text_grow(&out, arena);
	struct clean *clean = clean_new(take, &out);
	assert_non_null(clean);
	if (pager) assert_true(clean_pager(clean, pager));
	assert_true(clean_feed(clean, bytes, split));
	for (size_t at = split; at < length;) {
		size_t take_now = length - at < piece ? length - at : piece;
		assert_true(clean_feed(clean, bytes + at, take_now));
		at += take_now;
	}
	assert_true(clean_end(clean));
	clean_free(clean);
	return out.data ? out.data : "";
}

struct shown {
	const char *bytes, *lines;
};

static const struct shown shown[] = {
	{ "", "" },
	{ "one\ntwo\n", "1:one|2:two|" },
	{ "one\r\ntwo\r\n", "1:one|2:two|" },
	{ "one\r\r\ntwo", "1:one|2:two|" },
	{ "one\n\n  three  \n", "1:one|2:|3:  three|" },
	{ "one\n\rtwo\n\r", "1:one|2:two|" },
	/* the cursor goes back */
	{ "abcdef\rxy\n", "1:xycdef|" },
	{ "abc\r   \rxy\n", "1:xy|" },
	{ "lisp\bt\n", "1:list|" },
	{ "abc\b \b\b \bZ\n", "1:aZ|" },
	{ "\b\b\babc\n", "1:abc|" },
	{ "a\tb\n", "1:a       b|" },
	{ "12345678\tb\n", "1:12345678        b|" },
	{ "abcdef\x1b[3DX\n", "1:abcXef|" },
	{ "ab\x1b[3CX\n", "1:ab   X|" },
	{ "abcdef\x1b[2GX\n", "1:aXcdef|" },
	{ "abcdef\x1b[GX\n", "1:Xbcdef|" },
	/* erasing */
	{ "abcdef\r\x1b[Kxy\n", "1:xy|" },
	{ "abcdef\x1b[3D\x1b[K\n", "1:abc|" },
	{ "abcdef\x1b[3D\x1b[1KX\n", "1:   Xef|" },
	{ "abc\x1b[2K\rxy\n", "1:xy|" },
	{ "abcdef\r\x1b[2X\n", "1:  cdef|" },
	/* sequences that only look good */
	{ "\x1b[1;31mred\x1b[0m\n", "1:red|" },
	{ "\x1b[?25lhid\x1b[?25h\n", "1:hid|" },
	{ "\x1b(B\x1b)0\x1b=\x1b>text\n", "1:text|" },
	{ "\x1b]0;a title\x07text\n", "1:text|" },
	{ "\x1b]0;a title\x1b\\text\n", "1:text|" },
	{ "\x1bPdata\x1b\\text\n", "1:text|" },
	{ "\x1b]0;never ended\nnext\n", "1:|2:next|" },
	{ "\x1b[12\nnext\n", "1:|2:next|" },
	{ "a\x1b", "1:a|" },
	{ "a\x1b[", "1:a|" },
	{ "bell\x07\n", "1:bell|" },
	/* bytes that no listing has */
	{ "a\x01" "b\x7F" "c\n", "1~:abc|" },
	{ "caf\xC3\xA9 \xE2\x80\x93 ok\n", "1:caf\xC3\xA9 \xE2\x80\x93 ok|" },
	{ "a\xFF" "b\n", "1~:a\xEF\xBF\xBD" "b|" },
	{ "a\xC3" "b\n", "1~:a\xEF\xBF\xBD" "b|" },
	{ "a\xE2\x80\n", "1~:a\xEF\xBF\xBD\xEF\xBF\xBD|" },
	{ "a\xC0\x80" "b\n", "1~:a\xEF\xBF\xBD\xEF\xBF\xBD" "b|" },
	{ "a\xED\xA0\x80" "b\n", "1~:a\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD" "b|" },
	{ "a\xC2\x9B" "b\n", "1~:ab|" },
	{ "\xC3\xA9" "bc\rx\n", "1:xbc|" },
	/* pager prompts */
	{ "line 05\n--More--(41%)\rline 06\n", "1:line 05|2:line 06|" },
	{ "--More--\r        \rline\n", "1:line|" },
	{ "--More-- \r\x1b[Kline\n", "1:line|" },
	{ "\x1b[7m--More--\x1b[27m\r\x1b[Kline\n", "1:line|" },
	{ "--More--\b\b\b\b\b\b\b\b        \b\b\b\b\b\b\b\bline\n", "1:line|" },
	{ "--More--\b \b\b \b\b \b\b \b\b \b\b \b\b \b\b \bline\n", "1:line|" },
	{ "--More--\x1b[8Dab\n", "1:ab|" },
	{ "--More--\x1b[2K\x1b[Gline\n", "1:line|" },
	{ "--More--line\n", "1:line|" },
	{ "--More--   indented\n", "1:  indented|" },
	{ "-- More --\rline\n", "1:line|" },
	{ "---- more ----\rline\n", "1:line|" },
	{ "<more>\rline\n", "1:line|" },
	{ "(more 41%)\rline\n", "1:line|" },
	{ "[MORE]\rline\n", "1:line|" },
	{ "-- more -- (7%)\rline\n", "1:line|" },
	{ "Press any key to continue...\rline\n", "1:line|" },
	{ "press SPACE to continue\rline\n", "1:line|" },
	{ "-- Hit <space> for more --\rline\n", "1:line|" },
	{ "(END)\rline\n", "1:line|" },
	{ "one\n--More--\ntwo\n", "1:one|3:two|" },
	{ "one\n--More--q\ntwo\n", "1:one|3:two|" },
	{ "one\n--More----More--two\n", "1:one|2:two|" },
	{ "one\n--More--", "1:one|" },
	{ "two --More--\r\nthree\n", "1:two|2:three|" },
	{ "-- my prompt --\r               \rline\n", "1:line|" },   /* given by the test */
	{ "-- MY PROMPT --line\n", "1:line|" },
	/* and what only resembles one */
	{ "there is more\n", "1:there is more|" },
	{ "more\n", "1:more|" },
	{ "--- more ports below ---\n", "1:--- more ports below ---|" },
	{ "(more or less)\n", "1:(more or less)|" },
	{ "-----\n", "1:-----|" },
	{ "press the button. to continue\n", "1:press the button. to continue|" },
	{ "port7 up, 3 more (see below)\n", "1:port7 up, 3 more (see below)|" },
	/* carriage returns alone */
	{ "one\rtwo\rthree\r", "1:one|2:two|3:three|" },
	{ "one\rtwo\r", "1:one|2:two|" },
	{ "one\rxy", "1:xye|" },
	{ "--More--\r        \rline", "1:line|" },
	{ "10%\r20%\r30%\ndone\n", "1:30%|2:done|" },
};

static void test_shown(void **state)
{
	(void)state;
	size_t failed = 0;
	for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++) {
		struct pm_arena arena;
		pm_arena_init(&arena);
		size_t length = strlen(shown[i].bytes);
		const char *whole = cleaned(shown[i].bytes, length, 0, SIZE_MAX, "-- my prompt --", &arena);
		if (strcmp(whole, shown[i].lines) != 0) {
			print_error("row %zu: %s\nexpected %s\n", i, whole, shown[i].lines);
			failed++;
		}
		assert_string_equal(whole, cleaned(shown[i].bytes, length, 0, 1, "-- my prompt --", &arena));
		for (size_t split = 1; split < length; split++)
			assert_string_equal(whole, cleaned(shown[i].bytes, length, split, SIZE_MAX, "-- my prompt --", &arena));
		pm_arena_free(&arena);
	}
	assert_int_equal(failed, 0);
}

struct counted {
	size_t lines, length, columns;
	bool cut, noise;
};

static void count(void *context, const struct clean_line *line)
{
	struct counted *counted = context;
	counted->lines++;
	counted->length = line->length;
	counted->columns = line->columns;
	counted->cut = line->cut;
	counted->noise = line->noise;
}

/* Feed `size` times `byte` and a line end. */
static struct counted repeated(char byte, size_t size, const char *end)
{
	struct counted counted = { 0 };
	struct clean *clean = clean_new(count, &counted);
	char block[4096];
	assert_non_null(clean);
	memset(block, byte, sizeof block);
	for (size_t left = size; left;) {
		size_t now = left < sizeof block ? left : sizeof block;
		assert_true(clean_feed(clean, block, now));
		left -= now;
	}
	assert_true(clean_feed(clean, end, strlen(end)));
	assert_true(clean_end(clean));
	clean_free(clean);
	return counted;
}

static void test_sizes(void **state)
{
	(void)state;
	struct counted c = repeated('x', CLEAN_MOST_COLUMNS, "\n");
	assert_true(c.lines == 1 && c.length == CLEAN_MOST_COLUMNS && !c.cut);
	c = repeated('x', CLEAN_MOST_COLUMNS + 1, "\n");
	assert_true(c.lines == 1 && c.length == CLEAN_MOST_COLUMNS && c.cut);
	c = repeated('x', 1 << 20, "\r\n");
	assert_true(c.lines == 1 && c.length == CLEAN_MOST_COLUMNS && c.cut);
	c = repeated('\0', 1 << 20, "end\n");
	assert_true(c.lines == 1 && c.length == 3 && c.noise && !c.cut);
	c = repeated('\t', 1 << 20, "\n");
	assert_true(c.lines == 1 && c.length == 0);
	c = repeated('\b', 1 << 20, "end\n");
	assert_true(c.lines == 1 && c.length == 3);
	c = repeated('\r', 1 << 20, "end\n");
	assert_true(c.length == 3);
	c = repeated('\n', 1 << 20, "end");
	assert_true(c.lines == (1 << 20) + 1 && c.length == 3);
	c = repeated('\x1b', 1 << 20, "[Kend\n");
	assert_true(c.lines == 1 && c.length == 3);
}

/* Columns count what was there before trailing blanks were taken off. */
static void test_columns(void **state)
{
	(void)state;
	static const struct { const char *bytes; size_t columns, length; } row[] = {
		{ "abc  \n", 5, 3 }, { "abc  \r\n", 5, 3 }, { "abc\n", 3, 3 }, { "   \n", 0, 0 },
		{ "caf\xC3\xA9 \n", 5, 5 }, { "--More--abc \n", 4, 3 }, { "a\t\n", 8, 1 },
		{ "--More--\r                    \rab\n", 2, 2 },
	};
	for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
		struct counted counted = { 0 };
		struct clean *clean = clean_new(count, &counted);
		assert_true(clean_feed(clean, row[i].bytes, strlen(row[i].bytes)));
		assert_true(clean_end(clean));
		clean_free(clean);
		assert_int_equal(counted.columns, row[i].columns);
		assert_int_equal(counted.length, row[i].length);
	}
}

/* Any bytes at all: no control character, and pieces make no difference. */
static void test_garbage(void **state)
{
	(void)state;
	static const char often[] = "\r\n\b\t\x1b[;]K0123DGCmP\\\x07--More--(>) \xE2\x80\x94\xC2\x85";
	uint32_t seed = 88172645u;
	for (int round = 0; round < 4000; round++) {
		char bytes[512];
		size_t length = 0, wanted = seed % sizeof bytes;
		while (length < wanted) {
			seed ^= seed << 13, seed ^= seed >> 17, seed ^= seed << 5;
			bytes[length++] = seed & 0x300 ? often[(seed >> 12) % (sizeof often - 1)] : (char)(seed >> 16);
		}
		seed ^= seed << 13, seed ^= seed >> 17, seed ^= seed << 5;
		struct pm_arena arena;
		pm_arena_init(&arena);
		const char *whole = cleaned(bytes, length, 0, SIZE_MAX, NULL, &arena);
		assert_string_equal(whole, cleaned(bytes, length, 0, 1, NULL, &arena));
		assert_string_equal(whole, cleaned(bytes, length, length / 3, 5, NULL, &arena));
		pm_arena_free(&arena);
	}
}

static void test_pager_texts(void **state)
{
	(void)state;
	char text[200];
	struct counted counted = { 0 };
	struct clean *clean = clean_new(count, &counted);
	memset(text, 'x', sizeof text);
	text[sizeof text - 1] = '\0';
	assert_false(clean_pager(clean, ""));
	assert_false(clean_pager(clean, "   "));
	assert_false(clean_pager(clean, text));
	for (int i = 0; i < 16; i++) assert_true(clean_pager(clean, "next page?"));
	assert_false(clean_pager(clean, "one too many"));
	clean_free(clean);
	clean_free(NULL);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_shown), cmocka_unit_test(test_sizes), cmocka_unit_test(test_columns),
		cmocka_unit_test(test_garbage), cmocka_unit_test(test_pager_texts),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
