/* Sheets as large as they may be, and small files that would be read as larger ones:
 * how much time and memory they take. Time is the processor's, and is held against that
 * of a quarter of the same, or against many times what it should be. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <time.h>

#include <cmocka.h>

#include "book_pieces.h"
#include "scratch.h"
#include "sheet/fold.h"
#include "sheet/names.h"
#include "sheet/sheet_seal.h"
#include "sheet/verify.h"
#include "sheet_fixture.h"

#define CELL(name) "<c r=\"" name "\" t=\"inlineStr\"><is><t>x</t></is></c>"

static double seconds(void)
{
	return (double)clock() / CLOCKS_PER_SEC;
}

/* Four times as much may take eight times as long: twice what it should, half of what
 * it takes when each is held against all before it. */
static void expect_growth(const char *what, double (*take)(size_t count), size_t count)
{
	double quarter = take(count / 4), whole = take(count);
	if (whole > 8 * quarter + 0.05)
		fail_msg("%s: %zu took %f s, %zu took %f s", what, count / 4, quarter, count, whole);
}

/* --- long texts --- */

static char *repeated(struct pm_arena *arena, const char *piece, size_t count)
{
	struct pm_text text;
	pm_text_grow(&text, arena);
	for (size_t i = 0; i < count; i++)
		pm_text_str(&text, piece);
	if (text.cut)
		abort();
	return text.data;
}

static void test_long(void **state)
{
	(void)state;
	const size_t count = 1000000;
	struct pm_arena arena;
	pm_arena_init(&arena);
	const char *blanks = repeated(&arena, " ", count), *marks = repeated(&arena, "?", count);
	const char *letters = repeated(&arena, "\xc4\x8d", count), *taken = repeated(&arena, "\xc3\x84\xc2\x8d", count);
	double start = seconds();
	assert_true(fold_same(blanks, "", fold_blanks));
	assert_true(fold_same(letters, letters, fold_alphabets));
	assert_false(fold_same(blanks, marks, fold_invisible));
	assert_true(fold_misread(letters, marks));
	assert_true(fold_misread(letters, taken));
	assert_false(fold_misread(letters, blanks));
	double took = seconds() - start;
	if (took > 3)
		fail_msg("%f s for texts of %zu characters", took, count);
	pm_arena_free(&arena);
}

/* --- many sites --- */

/* The sheet of so many sites: of each the code and the unit. */
static char *many_sites(const struct sheet_fixture *f, struct pm_arena *arena, size_t count, size_t *length)
{
	struct pm_text text;
	pm_text_grow(&text, arena);
	for (size_t s = 0; s < f->layout.section_count; s++) {
		const struct pm_section *section = &f->sections[s];
		if (pm_given(section->heading))
			pm_text_add(&text, "%s,,,,\r\n", section->heading.text);
		for (size_t i = 0; i < 5; i++)
			pm_text_add(&text, "%s%s", i < section->column_count ? section->columns[i].title.text : "", i < 4 ? "," : "\r\n");
		for (size_t i = 0; s == 0 && i < count; i++)
			pm_text_add(&text, "TB-%06zu,,GU-%06zu,,\r\n", i, i);
	}
	if (text.cut)
		abort();
	*length = text.length;
	return text.data;
}

static double seal_many(size_t count)
{
	struct sheet_fixture f;
	struct returned sheet;
	struct trouble trouble;
	struct sheet_seals seals;
	struct pm_fault fault = { 0 };
	size_t length;
	sheet_fixture_init(&f);
	trouble_init(&trouble, &f.arena);
	const char *csv = many_sites(&f, &f.arena, count, &length);
	assert_true(returned_parse(csv, length, "back.csv", &f.layout, &f.arena, &sheet, &fault));
	double start = seconds();
	assert_true(sheet_seals(&f.layout, &sheet, &f.arena, &trouble, &seals, &fault));
	double took = seconds() - start;
	assert_int_equal(seals.count, count);
	assert_string_equal(seals.item[0].site, "TB-000000");
	assert_non_null(strstr(seals.item[count - 1].seal.canonical, "TB-0"));
	sheet_fixture_free(&f);
	return took;
}

/* None of the sites is one of the jobs: each is told of once. */
static double verify_many(size_t count)
{
	struct sheet_fixture f;
	struct returned sheet;
	struct trouble trouble;
	struct pm_fault fault = { 0 };
	size_t length, unknown = 0;
	sheet_fixture_init(&f);
	trouble_init(&trouble, &f.arena);
	const char *csv = many_sites(&f, &f.arena, count, &length);
	struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	assert_true(returned_parse(csv, length, "back.csv", &f.layout, &f.arena, &sheet, &fault));
	double start = seconds();
	assert_true(verify_sheet(grid, &sheet, &f.arena, &trouble));
	double took = seconds() - start;
	for (size_t i = 0; i < trouble.list.count; i++)
		unknown += pm_same(trouble.detail[i].cause, "site-unknown");
	/* one row is paired with the job's own */
	assert_true(unknown == count || unknown + 1 == count);
	sheet_fixture_free(&f);
	return took;
}

static void test_many_sites(void **state)
{
	(void)state;
	expect_growth("seals", seal_many, 40000);
	expect_growth("unknown sites", verify_many, 40000);
}

static void test_names(void **state)
{
	(void)state;
	struct pm_arena arena;
	struct names names;
	pm_arena_init(&arena);
	names_init(&names, &arena);
	assert_int_equal(names_find(&names, ""), NAMES_NONE);
	for (size_t i = 0; i < 1000; i++) {
		const char *name = pm_say(&arena, "%zu", i);
		assert_int_equal(names_find(&names, name), NAMES_NONE);
		assert_true(names_add(&names, name));
		assert_int_equal(names_find(&names, name), i);
	}
	assert_true(names_add(&names, ""));
	for (size_t i = 0; i < 1000; i++)
		assert_int_equal(names_find(&names, pm_say(&arena, "%zu", i)), i);
	assert_int_equal(names_find(&names, ""), 1000);
	assert_int_equal(names_find(&names, "1000"), NAMES_NONE);
	assert_int_equal(names_find(&names, "99 "), NAMES_NONE);
	pm_arena_free(&arena);
}

/* --- workbooks --- */

static char folder[200];

static int setup(void **state)
{
	(void)state;
	return scratch_make(folder, sizeof folder) ? 0 : -1;
}

static int teardown(void **state)
{
	(void)state;
	scratch_remove(folder);
	return 0;
}

static const char station[] = "<sheet name=\"Station\" sheetId=\"1\" r:id=\"s1\"/>";

/* A workbook with these two pages, and the first shared string so long, written and read back. */
static bool read_book(const char *first, const char *second, const char *strings, struct sheet_fixture *f, struct returned *sheet,
                      struct pm_fault *fault)
{
	struct book_piece pieces[PIECES + 1];
	char path[300], book[600];
	size_t length;
	memcpy(pieces, book_pieces, sizeof book_pieces);
	snprintf(book, sizeof book, "<workbook xmlns=\"" BOOK_MAIN "\" xmlns:r=\"" BOOK_REL "\"><sheets>%s"
	         "<sheet name=\"Ports\" sheetId=\"2\" r:id=\"s4\"/></sheets></workbook>", station);
	pieces[PIECE_BOOK].bytes = book;
	pieces[PIECE_RELATIONS].bytes = BOOK_RELATIONS(BOOK_RELATION("s1", "worksheet", "worksheets/sheet1.xml")
		BOOK_RELATION("s2", "sharedStrings", "sharedStrings.xml") BOOK_RELATION("s4", "worksheet", "worksheets/sheet2.xml"));
	pieces[PIECE_SHEET].bytes = first;
	if (strings)
		pieces[PIECE_STRINGS].bytes = strings;
	pieces[PIECES] = (struct book_piece){ "xl/worksheets/sheet2.xml", second, 0 };
	char *bytes = book_zip(pieces, PIECES + 1, &length);
	snprintf(path, sizeof path, "%s/back.xlsx", folder);
	assert_non_null(bytes);
	assert_true(scratch_write(path, bytes, length));
	free(bytes);
	*fault = (struct pm_fault){ 0 };
	return returned_read(path, &f->layout, &f->arena, sheet, fault);
}

#define EMPTY BOOK_SHEET("<sheetData/>")
#define ONE(row, name) BOOK_SHEET("<sheetData><row r=\"" row "\">" CELL(name) "</row></sheetData>")

/* Two small pages of which the last cells lie far out. */
static void test_far_out(void **state)
{
	(void)state;
	static const struct { const char *first, *second, *told; } cases[] = {
		{ EMPTY, EMPTY, NULL },
		{ ONE("2000", "ALL2000"), EMPTY, NULL }, { ONE("50000", "AN50000"), EMPTY, NULL },
		{ ONE("1", "ALL1"), ONE("1999", "ALL1999"), NULL },
		{ ONE("2001", "ALL2001"), EMPTY, "page \"Station\" reaches to cell ALL2001: more than 2000000 cells, blank ones counted" },
		{ ONE("50000", "ALL50000"), EMPTY, "page \"Station\" reaches to cell ALL50000: more than 2000000 cells, blank ones counted" },
		{ ONE("50001", "A50001"), EMPTY, "page \"Station\" reaches to cell A50001: more than 50000 rows" },
		{ ONE("1", "ALM1"), EMPTY, "page \"Station\" reaches to cell ALM1: more than 1000 columns" },
		{ ONE("1", "ALL1"), ONE("2000", "ALL2000"),
		  "page \"Ports\" reaches to cell ALL2000: more than 2000000 cells, blank ones counted, with the pages before" },
		/* neither of the two cells stands where the row and the column of both meet */
		{ BOOK_SHEET("<sheetData><row r=\"1\">" CELL("ALL1") "</row><row r=\"50000\">" CELL("A50000") "</row></sheetData>"), EMPTY,
		  "page \"Station\" reaches to cell ALL50000: more than 2000000 cells, blank ones counted" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct sheet_fixture f;
		struct returned sheet;
		struct pm_fault fault;
		sheet_fixture_init(&f);
		double start = seconds();
		bool good = read_book(cases[i].first, cases[i].second, NULL, &f, &sheet, &fault);
		if (good != !cases[i].told || (!good && (fault.kind != PM_FAULT_LIMIT || strcmp(fault.message, cases[i].told) != 0 || !fault.remedy[0])))
			fail_msg("case %zu: %s", i, fault.message);
		if (f.arena.bytes > (80u << 20) || seconds() - start > 4)
			fail_msg("case %zu: %zu bytes, %f s", i, f.arena.bytes, seconds() - start);
		sheet_fixture_free(&f);
	}
}

/* One long text that many cells show is many long texts. */
static void test_much_text(void **state)
{
	(void)state;
	for (size_t rows = 20; rows <= 21; rows++) {
		struct sheet_fixture f;
		struct returned sheet;
		struct pm_fault fault;
		struct pm_text page;
		sheet_fixture_init(&f);
		const char *strings = pm_say(&f.arena, "<sst xmlns=\"" BOOK_MAIN "\"><si><t>%s</t></si></sst>", repeated(&f.arena, "x", 32767));
		pm_text_grow(&page, &f.arena);
		pm_text_str(&page, "<worksheet xmlns=\"" BOOK_MAIN "\"><sheetData>");
		for (size_t i = 0; i < rows; i++)
			pm_text_add(&page, "<row>%s</row>", repeated(&f.arena, "<c t=\"s\"><v>0</v></c>", 100));
		pm_text_str(&page, "</sheetData></worksheet>");
		assert_false(page.cut);
		bool good = read_book(page.data, EMPTY, strings, &f, &sheet, &fault);
		assert_int_equal(good, rows == 20);
		if (!good) {
			assert_int_equal(fault.kind, PM_FAULT_LIMIT);
			assert_string_equal(fault.message, "page \"Station\": up to cell AW21 there are more than 64 MiB of text");
		}
		assert_true(f.arena.bytes < (80u << 20));
		sheet_fixture_free(&f);
	}
}

/* A hundred thousand ranges and few cells. */
static void test_ranges(void **state)
{
	(void)state;
	static const char *const kinds[] = { "side by side", "above each other" };
	for (size_t k = 0; k < COUNT(kinds); k++) {
		struct sheet_fixture f;
		struct returned sheet;
		struct pm_fault fault;
		struct pm_text page;
		sheet_fixture_init(&f);
		pm_text_grow(&page, &f.arena);
		pm_text_str(&page, "<worksheet xmlns=\"" BOOK_MAIN "\"><sheetData><row r=\"20000\">" CELL("J20000")
		            "</row></sheetData><mergeCells>");
		for (unsigned i = 0; i < 100000; i++)
			if (k == 0)
				pm_text_add(&page, "<mergeCell ref=\"A%u:B%u\"/>", i + 1, i + 1);
			else
				pm_text_add(&page, "<mergeCell ref=\"A%u:A%u\"/>", i / 100 + 1, 30000 + i % 100);
		pm_text_str(&page, "</mergeCells></worksheet>");
		assert_false(page.cut);
		double start = seconds();
		assert_true(read_book(page.data, EMPTY, NULL, &f, &sheet, &fault));
		double took = seconds() - start;
		if (took > 5)
			fail_msg("%s: %f s", kinds[k], took);
		sheet_fixture_free(&f);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_long), cmocka_unit_test(test_names), cmocka_unit_test(test_many_sites),
		cmocka_unit_test_setup_teardown(test_far_out, setup, teardown),
		cmocka_unit_test_setup_teardown(test_much_text, setup, teardown),
		cmocka_unit_test_setup_teardown(test_ranges, setup, teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
