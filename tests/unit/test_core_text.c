#include <limits.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/fault.h"
#include "portmuster/text.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* The formatter must agree with the C library's on all that it takes. */
static void test_format(void **state)
{
	(void)state;
	char mine[200], theirs[200];
	struct pm_text text;
#define SAME(...) do { \
		pm_text_fixed(&text, mine, sizeof mine); \
		pm_text_add(&text, __VA_ARGS__); \
		snprintf(theirs, sizeof theirs, __VA_ARGS__); \
		assert_string_equal(mine, theirs); \
		assert_int_equal(text.length, strlen(theirs)); \
		assert_false(text.cut); \
	} while (0)
	SAME("plain");
	SAME("%%|%c|%s|", 'x', "string");
	SAME("%8s|%3s|%4c", "right", "longer", 'c');
	SAME("%d %d %d %d", 0, -1, INT_MAX, INT_MIN);
	SAME("%u %u", 0u, UINT_MAX);
	SAME("%x %X %02X %08x", 0xBEEFu, 0xBEEFu, 7u, 0xBEEFu);
	SAME("%5d|%05d|%5d|%05d", 42, 42, -42, -42);
	SAME("%02u|%04d|%010u", 7u, 2026, 123u);
	SAME("%ld %lu %lld %llu", LONG_MIN, ULONG_MAX, LLONG_MIN, ULLONG_MAX);
	SAME("%zu %zx", (size_t)12345, SIZE_MAX);
	SAME("%s%s%s", "", "a", "");
#undef SAME
	pm_text_fixed(&text, mine, sizeof mine);
	const char *none = NULL;
	pm_text_str(&text, none);
	assert_string_equal(mine, "");
}

/* A cut text is the longest run of whole characters that fits, and nothing
 * that comes later slips in behind the gap. */
static void test_cut(void **state)
{
	(void)state;
	static const char whole[] = "a\xC3\xA9" "b\xE2\x82\xAC" "c\xF0\x9F\x8C\x8A" "d";   /* 1 to 4 bytes each */
	for (size_t room = 1; room <= sizeof whole; room++) {
		char array[sizeof whole + 4];
		memset(array, 0x55, sizeof array);
		struct pm_text text;
		pm_text_fixed(&text, array, room);
		pm_text_str(&text, whole);
		assert_int_equal(text.cut, room < sizeof whole);
		assert_true(text.length < room);
		assert_int_equal(array[text.length], 0);
		assert_int_equal((unsigned char)array[room], 0x55);
		assert_memory_equal(array, whole, text.length);
		for (size_t at = 0; at < text.length;) {
			uint32_t point;
			at += pm_utf8_next(array + at, text.length - at, &point);
			assert_true(point != UINT32_MAX);
		}
		/* one character more would not have fitted */
		uint32_t point;
		if (room < sizeof whole)
			assert_true(text.length + pm_utf8_next(whole + text.length, sizeof whole - 1 - text.length, &point) >= room);
		size_t length = text.length;
		if (text.cut) {
			pm_text_char(&text, '!');
			pm_text_add(&text, "%d", 1);
			assert_int_equal(text.length, length);
		}
	}
}

static const struct { const char *bytes; size_t length; const char *shown; } visible[] = {
	{ "plain", 5, "plain" },
	{ "\x00", 1, "\\x00" },
	{ "a\tb\r\n", 5, "a\\x09b\\x0D\\x0A" },
	{ "\x1B[31m", 5, "\\x1B[31m" },
	{ "\x7F", 1, "\\x7F" },
	{ "\xC2\x9B" "1m", 4, "\\u{9B}1m" },                    /* C1, a control sequence introducer */
	{ "\xE2\x80\xAE" "abc", 6, "\\u{202E}abc" },            /* right-to-left override */
	{ "\xE2\x81\xA6" "x", 4, "\\u{2066}x" },                /* isolate */
	{ "\xE2\x80\x8B", 3, "\\u{200B}" },                     /* zero-width space */
	{ "\xEF\xBB\xBF", 3, "\\u{FEFF}" },
	{ "\xE2\x80\xA8", 3, "\\u{2028}" },
	{ "\xF3\xA0\x81\x81", 4, "\\u{E0041}" },                /* tag */
	{ "\xF0\x9D\x85\xB3", 4, "\\u{1D173}" },                /* invisible musical control */
	{ "\xEF\xBF\xBF", 3, "\\u{FFFF}" },                     /* noncharacter */
	{ "\xC3\xA9\xE2\x82\xAC", 5, "\xC3\xA9\xE2\x82\xAC" },  /* letters stay */
	{ "\xC0\xAF", 2, "\\xC0\\xAF" },                        /* overlong, RFC 3629 */
	{ "\xED\xA0\x80", 3, "\\xED\\xA0\\x80" },               /* surrogate, RFC 3629 */
	{ "\xF4\x90\x80\x80", 4, "\\xF4\\x90\\x80\\x80" },      /* beyond 10FFFF */
	{ "\xE2\x82", 2, "\\xE2\\x82" },                        /* cut short */
	{ "\xFF\x80", 2, "\\xFF\\x80" },
	{ "\xC3(", 2, "\\xC3(" },
};

static void test_visible(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(visible); i++) {
		char array[64];
		struct pm_text text;
		pm_text_fixed(&text, array, sizeof array);
		pm_text_visible(&text, visible[i].bytes, visible[i].length);
		assert_string_equal(array, visible[i].shown);
		/* what is safe stays as it is */
		pm_text_fixed(&text, array, sizeof array);
		pm_text_visible(&text, visible[i].shown, strlen(visible[i].shown));
		assert_string_equal(array, visible[i].shown);
	}
	/* no byte at all can bring a control through */
	for (unsigned byte = 0; byte < 256; byte++) {
		char array[64], one = (char)byte;
		struct pm_text text;
		pm_text_fixed(&text, array, sizeof array);
		pm_text_visible(&text, &one, 1);
		for (size_t k = 0; k < text.length; k++)
			assert_in_range((unsigned char)array[k], 0x20, 0x7E);
	}
}

static void test_quote(void **state)
{
	(void)state;
	char array[512], sixty_one[62];
	struct pm_text text;
	pm_text_fixed(&text, array, sizeof array);
	pm_text_quote(&text, NULL);
	assert_string_equal(array, "nothing");
	pm_text_fixed(&text, array, sizeof array);
	pm_text_quote(&text, "a\x1B");
	assert_string_equal(array, "\"a\\x1B\"");
	memset(sixty_one, 'k', 61);
	sixty_one[61] = '\0';
	pm_text_fixed(&text, array, sizeof array);
	pm_text_quote(&text, sixty_one);
	assert_int_equal(text.length, 60 + 3 + 2);
	assert_string_equal(array + 61, "...\"");
	pm_text_fixed(&text, array, sizeof array);
	pm_text_quote(&text, sixty_one + 1);
	assert_int_equal(text.length, 62);
}

/* Every scalar value survives writing and reading; nothing else is written. */
static void test_utf8(void **state)
{
	(void)state;
	for (uint32_t point = 0; point < 0x110400; point++) {
		char bytes[4];
		uint32_t read = 0;
		size_t used = pm_utf8_put(point, bytes);
		bool scalar = point <= 0x10FFFF && !(point >= 0xD800 && point <= 0xDFFF);
		if (!scalar) {
			assert_int_equal(used, 0);
			continue;
		}
		if (pm_utf8_next(bytes, used, &read) != used || read != point)
			fail_msg("U+%04X did not survive", (unsigned)point);
		if (used > 1 && (pm_utf8_next(bytes, used - 1, &read) != 1 || read != UINT32_MAX))
			fail_msg("U+%04X cut short was accepted", (unsigned)point);
	}
}

static void test_numbers(void **state)
{
	(void)state;
	static const struct { const char *text; uint64_t most; bool good; uint64_t value; } numbers[] = {
		{ "0", 9, true, 0 }, { "9", 9, true, 9 }, { "10", 9, false, 0 }, { "007", 9, true, 7 },
		{ "18446744073709551615", UINT64_MAX, true, UINT64_MAX }, { "18446744073709551616", UINT64_MAX, false, 0 },
		{ "", 9, false, 0 }, { NULL, 9, false, 0 }, { "-1", 9, false, 0 }, { "+1", 9, false, 0 },
		{ " 1", 9, false, 0 }, { "1 ", 9, false, 0 }, { "0x1", 99, false, 0 }, { "1\n", 9, false, 0 },
	};
	for (size_t i = 0; i < COUNT(numbers); i++) {
		uint64_t value = 77;
		assert_int_equal(pm_read_number(numbers[i].text, numbers[i].most, &value), numbers[i].good);
		assert_true(value == (numbers[i].good ? numbers[i].value : 77));
	}
	static const struct { const char *text; bool good; int64_t value; } decimals[] = {
		{ "-3.25", true, -3250000 }, { "0", true, 0 }, { "-0", true, 0 }, { "230.5", true, 230500000 },
		{ "999999999.999999", true, 999999999999999 }, { "0.000001", true, 1 }, { "0.0000001", false, 0 },
		{ "1000000000", false, 0 }, { "1e3", false, 0 }, { "+1", false, 0 }, { ".5", false, 0 }, { "5.", false, 0 },
		{ "0x1", false, 0 }, { "", false, 0 }, { NULL, false, 0 }, { "-", false, 0 }, { "1,5", false, 0 }, { "1 ", false, 0 },
		{ "--1", false, 0 }, { "1.-1", false, 0 },
	};
	for (size_t i = 0; i < COUNT(decimals); i++) {
		int64_t value = 77;
		if (pm_read_decimal(decimals[i].text, &value) != decimals[i].good ||
		    value != (decimals[i].good ? decimals[i].value : 77))
			fail_msg("decimal %s", decimals[i].text ? decimals[i].text : "null");
	}
}

static void test_same(void **state)
{
	(void)state;
	assert_true(pm_same(NULL, NULL));
	assert_false(pm_same(NULL, ""));
	assert_true(pm_same_nocase("Port1", "pORT1"));
	assert_false(pm_same_nocase("port1", "port12"));
	assert_false(pm_same_nocase(NULL, "x"));
	/* ASCII only: the bytes of other letters are compared as they are */
	assert_false(pm_same_nocase("\xC3\x89", "\xC3\xA9"));
}

/* RFC 4180 section 2, rules 5 to 7. */
static void test_csv(void **state)
{
	(void)state;
	static const struct { const char *field, *written; } cases[] = {
		{ "", "" }, { "plain", "plain" }, { " spaces kept ", " spaces kept " }, { "a,b", "\"a,b\"" },
		{ "a\"b", "\"a\"\"b\"" }, { "\"", "\"\"\"\"" }, { "a\nb", "\"a\nb\"" }, { "a\r", "\"a\r\"" },
		{ "semi;colon", "semi;colon" }, { "'=1+1", "'=1+1" }, { "\xC3\xA9,", "\"\xC3\xA9,\"" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		char array[32];
		struct pm_text text;
		pm_text_fixed(&text, array, sizeof array);
		pm_text_csv(&text, cases[i].field);
		assert_string_equal(array, cases[i].written);
	}
}

/* Faults: safe to print whatever was put in; a long path keeps its end. */
static void test_fault(void **state)
{
	(void)state;
	struct pm_fault fault;
	char line[1200], path[600];
	memset(path, 'd', sizeof path - 1);
	memcpy(path + sizeof path - 11, "/job.yaml", 10);
	path[0] = '/';
	assert_false(pm_fail(&fault, PM_FAULT_VALUE, (struct pm_place){ path, 3, 7 }, "unit is %s", "\x1B[2J\xE2\x80\xAE"));
	assert_string_equal(fault.message, "unit is \\x1B[2J\\u{202E}");
	assert_string_equal(fault.remedy, "");
	assert_memory_equal(fault.file, "...d", 4);
	assert_string_equal(fault.file + strlen(fault.file) - 9, "/job.yaml");
	assert_false(pm_fail_remedy(&fault, "write \"%s\"", "\x07"));
	assert_string_equal(fault.remedy, "write \"\\x07\"");
	unsigned long length = pm_fault_line(&fault, line, sizeof line);
	assert_int_equal(length, strlen(line));
	assert_non_null(strstr(line, "/job.yaml:3:7: unit is \\x1B[2J\\u{202E}; write"));
	assert_false(pm_fail(NULL, PM_FAULT_VALUE, (struct pm_place){ 0 }, "nobody listens"));
	assert_false(pm_fail_remedy(NULL, "nobody listens"));
	for (int kind = PM_FAULT_NONE; kind <= PM_FAULT_MEMORY; kind++)
		assert_string_not_equal(pm_fault_word((enum pm_fault_kind)kind), "unknown");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_format),  cmocka_unit_test(test_cut),     cmocka_unit_test(test_visible),
		cmocka_unit_test(test_quote),   cmocka_unit_test(test_utf8),    cmocka_unit_test(test_numbers),
		cmocka_unit_test(test_same),    cmocka_unit_test(test_fault),   cmocka_unit_test(test_csv),
	};
	return cmocka_run_group_tests_name("texts", tests, NULL, NULL);
}
