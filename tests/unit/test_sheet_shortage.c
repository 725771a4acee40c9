/* Opening, filling and composing a workbook in which the Nth allocation fails, for
 * every N: it ends with a fault, leaks nothing, and never composes something wrong.
 * Our callers of malloc are compiled in here with one that can be told to fail;
 * libxml2 is given the same one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <libxml/parser.h>
#include <libxml/xmlmemory.h>

static size_t asked, held, fail_at;   /* fail_at: from 1; 0: none fails */

static bool refused(void)
{
	return ++asked == fail_at;
}

static void *counting_malloc(size_t size)
{
	void *block = refused() ? NULL : malloc(size);
	held += block != NULL;
	return block;
}

static void *counting_calloc(size_t count, size_t size)
{
	void *block = refused() ? NULL : calloc(count, size);
	held += block != NULL;
	return block;
}

static void *counting_realloc(void *old, size_t size)
{
	void *block = refused() ? NULL : realloc(old, size);
	held += block != NULL && old == NULL;
	return block;
}

static void counting_free(void *block)
{
	held -= block != NULL;
	free(block);
}

static char *counting_strdup(const char *text)
{
	char *copy = counting_malloc(strlen(text) + 1);
	return copy ? strcpy(copy, text) : NULL;
}

#define malloc counting_malloc
#define calloc counting_calloc
#define realloc counting_realloc
#define free counting_free
#include "core/arena.c"
#include "sheet/workbook.c"
#undef malloc
#undef calloc
#undef realloc
#undef free

#include "book_pieces.h"

static bool compose(const char *bytes, size_t length, struct pm_arena *arena, const char **out, size_t *out_length, struct pm_fault *fault)
{
	struct workbook *workbook = book_open_bytes("f", bytes, length, fault);
	bool good = workbook && workbook_put(workbook, 0, 0, 0, "one", fault) && workbook_put(workbook, 0, 8, 3, "two", fault) &&
	            book_compose(workbook, arena, out, out_length, fault);
	workbook_close(workbook);
	return good;
}

static void test_shortage(void **state)
{
	(void)state;
	size_t length, good_length = 0, memory = 0, failed = 0;
	char *bytes = book_with_sheet(BOOK_SHEET("<dimension ref=\"A1\"/><sheetData><row r=\"1\"><c r=\"A1\" t=\"s\"><v>1</v></c></row></sheetData>"), 0, &length);
	char *good = NULL;
	assert_non_null(bytes);
	for (fail_at = 0;; fail_at++) {
		struct pm_arena arena;
		struct pm_fault fault = { 0 };
		const char *out;
		size_t out_length;
		xmlResetLastError();
		size_t before = held;
		asked = 0;
		pm_arena_init(&arena);
		bool composed = compose(bytes, length, &arena, &out, &out_length, &fault);
		if (composed && !good) {
			good_length = out_length;
			good = malloc(out_length);
			assert_non_null(good);
			memcpy(good, out, out_length);
		}
		if (composed) {
			assert_int_equal(out_length, good_length);
			assert_memory_equal(out, good, good_length);
		} else {
			assert_true(fault.kind != PM_FAULT_NONE && fault.message[0]);
			memory += fault.kind == PM_FAULT_MEMORY;
			failed++;
		}
		pm_arena_free(&arena);
		xmlResetLastError();
		if (held != before)
			fail_msg("allocation %zu of %zu failed, and %zu are still held", fail_at, asked, held - before);
		if (fail_at > asked)
			break;
	}
	assert_true(failed > 100);
	assert_true(memory > failed / 2);
	free(good);
	free(bytes);
}

/* Behind a byte that is not UTF-8 the reader hears of nothing any more, not of a document
 * type either, and libxml2 keeps what is declared there in a document of its own. */
static void test_left_behind(void **state)
{
	(void)state;
	static const char *const parts[] = {
		"<!DOCTYPE \xff[<!ENTITY b \"c\" ", "<!--\xff--><!DOCTYPE a [<!ENTITY b \"c\"<", "<!DOCTYPE a [<!ENTITY \xff \"c\"<!ENTITY % d \"e\" ",
		"<!--\xff--><!DOCTYPE a [<!ENTITY b \"c\">]>" BOOK_SHEET("<sheetData/>"), "<!--\xc3\xa9--><!DOCTYPE a [<!ENTITY b \"c\" ",
		"\xff[<!ENTITY b \"c\" ", "<a>\xff<!ENTITY b \"c\" </a>",
	};
	const struct book_words words = { .string_count = 0 };
	fail_at = 0;
	for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
		struct book_page page = { .name = "page", .part = "part", .xml = parts[i], .length = strlen(parts[i]) };
		struct pm_arena arena;
		struct pm_fault fault = { 0 };
		xmlResetLastError();
		size_t before = held;
		pm_arena_init(&arena);
		assert_false(book_page_read(&page, &words, &arena, "f", &fault));
		assert_int_equal(fault.kind, PM_FAULT_SYNTAX);
		pm_arena_free(&arena);
		xmlResetLastError();
		if (held != before)
			fail_msg("part %zu: %zu blocks are still held", i, held - before);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_shortage), cmocka_unit_test(test_left_behind) };
	xmlMemSetup(counting_free, counting_malloc, counting_realloc, counting_strdup);
	xmlInitParser();
	int result = cmocka_run_group_tests(tests, NULL, NULL);
	xmlCleanupParser();
	return result;
}
