#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "store/csv.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))
#define MOST_FIELDS 8

/* Records as their fields joined by "|", each record ended by "/". */
static const struct { const char *name, *text, *records; } good[] = {
	{ "empty", "", "" },
	{ "one record, no line end", "a,b,c", "a|b|c/" },
	{ "CRLF", "a,b\r\nc,d\r\n", "a|b/c|d/" },
	{ "LF", "a,b\nc,d\n", "a|b/c|d/" },
	{ "both", "a\r\nb\nc", "a/b/c/" },
	{ "empty fields", ",,\r\n", "||/" },
	{ "an empty quoted field", "\"\"\r\n", "/" },
	{ "spaces are kept", " a , b \n", " a | b /" },
	{ "quotes", "\"a\",\"b\"\n", "a|b/" },
	{ "a comma in quotes", "\"a,b\",c\n", "a,b|c/" },
	{ "doubled quotes", "\"a \"\"b\"\" c\"\n", "a \"b\" c/" },
	{ "quotes alone", "\"\"\"\"\n", "\"/" },
	{ "line breaks in quotes", "\"a\r\nb\nc\",d\r\ne\n", "a\r\nb\nc|d/e/" },
	{ "a carriage return in quotes", "\"a\rb\"\n", "a\rb/" },
	{ "blank lines are passed over", "\r\n\na\n\n\r\nb\n\n", "a/b/" },
	{ "a byte order mark", "\xEF\xBB\xBF" "a,b\n", "a|b/" },
	{ "a byte order mark before a quote", "\xEF\xBB\xBF\"a\",b\n", "a|b/" },
	{ "not ASCII", "\xC3\xA9,\xE2\x80\x93\n", "\xC3\xA9|\xE2\x80\x93/" },
	{ "unequal counts are the caller's affair", "a,b\nc\n", "a|b/c/" },
	{ "a quoted field at the very end", "a,\"b\"", "a|b/" },
	{ "a comma at the very end", "a,", "a|/" },
};

static void test_good(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(good); i++) {
		struct pm_arena arena;
		struct csv_reader reader;
		struct pm_words fields;
		struct pm_fault fault = { 0 };
		char got[256] = "";
		int more;
		pm_arena_init(&arena);
		/* memory of its own, so that a read past the end is seen */
		size_t length = strlen(good[i].text);
		char *text = malloc(length ? length : 1);
		assert_non_null(text);
		memcpy(text, good[i].text, length);
		csv_open(&reader, text, length, "list.csv", &arena);
		while ((more = csv_next(&reader, &fields, &fault)) > 0) {
			for (size_t f = 0; f < fields.count; f++) {
				strcat(got, f ? "|" : "");
				strcat(got, fields.item[f].text);
			}
			strcat(got, "/");
		}
		if (more < 0 || strcmp(got, good[i].records) != 0)
			fail_msg("%s: \"%s\" %s", good[i].name, got, fault.message);
		assert_int_equal(csv_next(&reader, &fields, &fault), 0);
		free(text);
		pm_arena_free(&arena);
	}
}

static const struct { const char *text; size_t length; unsigned records; uint32_t line, column; const char *says; } bad[] = {
	{ "a,\"b", 4, 0, 1, 3, "not closed" },
	{ "a,b\nc,\"d\n\ne", 11, 1, 2, 3, "not closed" },
	{ "\"", 1, 0, 1, 1, "not closed" },
	{ "\"a\"b,c\n", 7, 0, 1, 4, "after a closing quote" },
	{ "\"a\" ,c\n", 7, 0, 1, 4, "after a closing quote" },
	{ "\"a\n\xC3\xA9\" x\n", 9, 0, 2, 3, "after a closing quote" },
	{ "\"a\"\rb", 5, 0, 1, 4, "after a closing quote" },
	{ "a\"b\n", 4, 0, 1, 2, "a quote inside" },
	{ "\xC3\xA9\"b\n", 5, 0, 1, 2, "a quote inside" },
	{ "a\rb\n", 4, 0, 1, 2, "carriage return" },
	{ "a\r", 2, 0, 1, 2, "carriage return" },
	{ "ok\r\n\r\na,b\0c\n", 11, 1, 3, 4, "zero byte" },
	{ "\"b\0c\"\n", 6, 0, 1, 3, "zero byte" },
};

static void test_bad(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(bad); i++) {
		struct pm_arena arena;
		struct csv_reader reader;
		struct pm_words fields;
		struct pm_fault fault = { 0 };
		unsigned records = 0;
		int more;
		pm_arena_init(&arena);
		csv_open(&reader, bad[i].text, bad[i].length, "list.csv", &arena);
		while ((more = csv_next(&reader, &fields, &fault)) > 0)
			records++;
		assert_int_equal(more, -1);
		assert_int_equal(records, bad[i].records);
		assert_int_equal(fault.kind, PM_FAULT_SYNTAX);
		assert_string_equal(fault.file, "list.csv");
		if (!strstr(fault.message, bad[i].says) || fault.line != bad[i].line || fault.column != bad[i].column)
			fail_msg("case %zu: %u:%u %s", i, fault.line, fault.column, fault.message);
		pm_arena_free(&arena);
	}
}

/* Places count lines inside quotes, and characters rather than bytes. */
static void test_places(void **state)
{
	(void)state;
	static const char text[] = "a,\"b\nb\",c\r\n\r\n\xC3\xA9\xC3\xA9,d\n";
	static const struct { const char *text; uint32_t line, column; } expected[] = {
		{ "a", 1, 1 }, { "b\nb", 1, 3 }, { "c", 2, 4 }, { "\xC3\xA9\xC3\xA9", 4, 1 }, { "d", 4, 4 },
	};
	struct pm_arena arena;
	struct csv_reader reader;
	struct pm_words fields;
	size_t at = 0;
	pm_arena_init(&arena);
	csv_open(&reader, text, sizeof text - 1, "list.csv", &arena);
	while (csv_next(&reader, &fields, NULL) > 0)
		for (size_t f = 0; f < fields.count; f++, at++) {
			assert_true(at < COUNT(expected));
			assert_string_equal(fields.item[f].text, expected[at].text);
			assert_int_equal(fields.item[f].line, expected[at].line);
			assert_int_equal(fields.item[f].column, expected[at].column);
		}
	assert_int_equal(at, COUNT(expected));
	assert_int_equal(reader.line, 5);
	pm_arena_free(&arena);
}

/* What is written by the rules of RFC 4180 section 2 comes back unchanged. */
static void test_round_trip(void **state)
{
	(void)state;
	static const char letters[] = "ab\",\r\n \t=";
	uint64_t seed = 12345;
	for (int round = 0; round < 5000; round++) {
		char field[MOST_FIELDS][12], text[MOST_FIELDS * 32];
		size_t length = 0, count = 1 + (size_t)round % MOST_FIELDS;
		for (size_t f = 0; f < count; f++) {
			seed = seed * 6364136223846793005u + 1442695040888963407u;
			size_t size = (seed >> 60) % (sizeof field[f] - 1);
			for (size_t i = 0; i < size; i++)
				field[f][i] = letters[(seed >> (i * 4)) % (sizeof letters - 1)];
			field[f][size] = '\0';
			text[length++] = '"';
			for (size_t i = 0; i < size; i++) {
				if (field[f][i] == '"')
					text[length++] = '"';
				text[length++] = field[f][i];
			}
			text[length++] = '"';
			text[length++] = ',';
		}
		text[length - 1] = '\n';
		struct pm_arena arena;
		struct csv_reader reader;
		struct pm_words fields;
		pm_arena_init(&arena);
		csv_open(&reader, text, length, "list.csv", &arena);
		assert_int_equal(csv_next(&reader, &fields, NULL), 1);
		assert_int_equal(fields.count, count);
		for (size_t f = 0; f < count; f++)
			assert_string_equal(fields.item[f].text, field[f]);
		assert_int_equal(csv_next(&reader, &fields, NULL), 0);
		pm_arena_free(&arena);
	}
}

static void test_separator(void **state)
{
	(void)state;
	static const char text[] = "a,b;\"c;d\";\n;e;f\n";
	struct pm_arena arena;
	struct csv_reader reader;
	struct pm_words fields;
	pm_arena_init(&arena);
	csv_open(&reader, text, sizeof text - 1, "list.csv", &arena);
	reader.separator = ';';
	assert_int_equal(csv_next(&reader, &fields, NULL), 1);
	assert_int_equal(fields.count, 3);
	assert_string_equal(fields.item[0].text, "a,b");
	assert_string_equal(fields.item[1].text, "c;d");
	assert_string_equal(fields.item[2].text, "");
	assert_int_equal(csv_next(&reader, &fields, NULL), 1);
	assert_int_equal(fields.count, 3);
	assert_int_equal(csv_next(&reader, &fields, NULL), 0);
	pm_arena_free(&arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_good),
		cmocka_unit_test(test_bad),
		cmocka_unit_test(test_places),
		cmocka_unit_test(test_round_trip),
		cmocka_unit_test(test_separator),
	};
	return cmocka_run_group_tests_name("CSV", tests, NULL, NULL);
}
