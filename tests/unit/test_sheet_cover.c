/* Which cells lie in some of many ranges, against going through all of them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "book_pieces.h"
#include "sheet/workbook_parts.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define MOST 40

/* xorshift32 (Marsaglia 2003): the same ranges on every machine. */
static uint32_t seed_state;

static uint32_t below(uint32_t bound)
{
	seed_state ^= seed_state << 13;
	seed_state ^= seed_state >> 17;
	seed_state ^= seed_state << 5;
	return seed_state % bound;
}

static bool naive(const struct book_range *range, size_t count, uint32_t row, uint32_t column)
{
	for (size_t i = 0; i < count; i++)
		if (row >= range[i].row && row <= range[i].last_row && column >= range[i].column && column <= range[i].last_column)
			return true;
	return false;
}

/* In a small square, at the page's far corner, or anywhere. */
static void one_page(struct pm_arena *arena, uint32_t side, uint32_t from_row, uint32_t from_column)
{
	struct book_range range[MOST], copy[MOST];
	struct book_cover cover;
	size_t count = below(MOST + 1);
	for (size_t i = 0; i < count; i++) {
		uint32_t row = below(side), column = below(side);
		range[i] = (struct book_range){ from_row + row, from_column + column, from_row + row + below(side - row),
		                                from_column + column + below(side - column) };
		if (below(3) == 0)
			range[i].last_row = range[i].row;
	}
	memcpy(copy, range, sizeof copy);
	assert_true(book_cover_make(&cover, copy, count, arena));
	for (uint32_t row = 0; row < side; row++)
		for (uint32_t column = 0; column < side; column++)
			if (book_cover_holds(&cover, from_row + row, from_column + column) != naive(range, count, from_row + row, from_column + column))
				fail_msg("row %u, column %u of %zu ranges", (unsigned)row, (unsigned)column, count);
}

static void test_random(void **state)
{
	(void)state;
	for (uint32_t seed = 1; seed <= 400; seed++) {
		struct pm_arena arena;
		uint32_t side = 1 + seed % 24;
		pm_arena_init(&arena);
		seed_state = seed * 2654435761u;
		one_page(&arena, side, 0, 0);
		one_page(&arena, side, WORKBOOK_MOST_ROWS - side, WORKBOOK_MOST_COLUMNS - side);
		one_page(&arena, side, below(WORKBOOK_MOST_ROWS - side), below(WORKBOOK_MOST_COLUMNS - side));
		pm_arena_free(&arena);
	}
}

/* Of merged ranges the first cells are not covered, unless by another range. */
static void test_page(void **state)
{
	(void)state;
	static const char part[] = BOOK_SHEET("<sheetData><row r=\"9\"><c r=\"A9\"><f t=\"array\" ref=\"A9:B10\">X</f></c></row></sheetData>"
		"<mergeCells><mergeCell ref=\"A1:C2\"/><mergeCell ref=\"B2:D3\"/><mergeCell ref=\"F5\"/><mergeCell ref=\"G1:G3\"/>"
		"<mergeCell ref=\"XFC1048576:XFD1048576\"/><mergeCell ref=\"H4:J4\"/></mergeCells>");
	static const char *const covered[] = { "B1", "C1", "A2", "B2", "C2", "D2", "B3", "C3", "D3", "G2", "G3", "XFD1048576", "I4", "J4" };
	static const char *const others[] = { "A1", "D1", "A3", "E2", "F5", "G1", "G4", "XFC1048576", "XFD1048575", "H4", "K4", "I3", "I5" };
	static const struct { const char *name; enum book_formula formula; } formulas[] = {
		{ "A9", BOOK_ARRAY }, { "B9", BOOK_ARRAY }, { "B10", BOOK_ARRAY }, { "C9", BOOK_NO_FORMULA }, { "A8", BOOK_NO_FORMULA },
		{ "A11", BOOK_NO_FORMULA },
	};
	const struct book_words words = { .string_count = 0 };
	struct book_page page = { .name = "page", .part = "part", .xml = part, .length = strlen(part) };
	struct pm_arena arena;
	struct pm_fault fault = { 0 };
	uint32_t row, column;
	pm_arena_init(&arena);
	if (!book_page_read(&page, &words, &arena, "f", &fault))
		fail_msg("%s", fault.message);
	for (size_t i = 0; i < COUNT(covered); i++)
		if (!workbook_place(covered[i], &row, &column) || !book_covered(&page, row, column))
			fail_msg("%s is covered", covered[i]);
	for (size_t i = 0; i < COUNT(others); i++)
		if (!workbook_place(others[i], &row, &column) || book_covered(&page, row, column))
			fail_msg("%s is not covered", others[i]);
	for (size_t i = 0; i < COUNT(formulas); i++)
		if (!workbook_place(formulas[i].name, &row, &column) || book_formula_of(&page, row, column) != formulas[i].formula)
			fail_msg("%s", formulas[i].name);
	pm_arena_free(&arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_random), cmocka_unit_test(test_page) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
