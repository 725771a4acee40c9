#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "sheet/causes.h"
#include "sheet/fold.h"
#include "sheet/locate.h"
#include "sheet/numbers.h"
#include "sheet/verify.h"
#include "sheet_fixture.h"

#define NBSP "\xC2\xA0"
#define ZWSP "\xE2\x80\x8B"
#define EN_DASH "\xE2\x80\x93"

static void test_numbers(void **state)
{
	(void)state;
	/* same and whole: is the second the first as a number? */
	static const struct { const char *right, *seen; bool same, whole, lost, date; } cases[] = {
		{ "1.10", "1.1", true, false, false, false },   { "1.10", "1,1", true, false, false, false },
		{ "+49", "49", true, false, false, false },     { "-5", "5", false, false, false, false },
		{ "0.50", ".5", true, false, false, false },    { "10", "1", false, false, false, false },
		{ "0", "0.00", true, false, false, false },     { "0.01", "0.1", false, false, false, false },
		{ "1122334455", "1,122,334,455", false, true, false, false }, { "1122", "1 122", false, true, false, false },
		{ "1122", "1" NBSP "122", false, true, false, false },        { "1122", "1.122", false, true, false, false },
		{ "1122", "1,123", false, false, false, false },              { "", "0", false, true, false, false },
		{ "12345678901234567", "12345678901234600", false, false, true, false },
		{ "12345678901234567", "12345678901234567", true, false, false, false },
		{ "12345678901234567", "12345578901234600", false, false, false, false },
		{ "12345678901234567", "12345678901234500", false, false, true, false },   /* cut */
		{ "12345678901234567", "12345678901234700", false, false, false, false },  /* another digit */
		{ "12345678901234500", "12345678901234600", false, false, false, false },
		{ "9999999999999999", "10000000000000000", false, false, true, false },
		{ "1234567890123456", "1234567890123460", false, false, true, false },
		{ "123456789012345", "123456789012340", false, false, false, false },      /* fifteen are kept */
		{ "001122334455", "01122334455", false, false, false, false },   /* a digit dropped: no program writes zeros in front */
		{ "001122334455", "0001122334455", false, false, false, false },
		{ "49", "+49", false, false, false, false },    { "1E3", "1000", false, false, false, false },
		{ "07-12", "12-Jul", false, false, false, true },  { "07-12", "07-13", false, false, false, false },
		{ "MAR-07", "Mar 07", false, false, false, true }, { "1/2", "01.02.2026", false, false, false, true },
		{ "GU-0417-K", "12-Jul", false, false, false, false }, { "12-12-12", "2012-12-12", false, false, false, true },
		{ "port1", "port1", false, false, false, false },  { "may-be", "1-May", false, false, false, false },
		{ "07-12", "13-Jul", false, false, false, false }, { "07-12", "12.7.2026", false, false, false, true },
		{ "MAR-07", "2007-04-01", false, false, false, false }, { "1/2", "1/3/2026", false, false, false, false },
		{ "2026-07-12", "12/07", false, false, false, true }, { "1-1", "2026-01-02", false, false, false, false },
	};
	for (size_t i = 0; i < COUNT(cases); i++)
		if (numbers_same(cases[i].right, cases[i].seen) != cases[i].same ||
		    numbers_same_whole(cases[i].right, cases[i].seen) != cases[i].whole ||
		    numbers_digits_lost(cases[i].right, cases[i].seen) != cases[i].lost ||
		    numbers_became_date(cases[i].right, cases[i].seen) != cases[i].date)
			fail_msg("%s and %s", cases[i].right, cases[i].seen);
	static const struct { const char *text; bool alike, scientific; } shapes[] = {
		{ "00005E000110", true, true }, { "5E+110", true, true }, { "1,23E12", true, true }, { "1.2e-7", true, true },
		{ "0417733", true, false },     { "-1.5", true, false },  { "E12", false, false },   { "12E", false, false },
		{ "00005E00532B", false, false }, { "", false, false },   { "1E2E3", false, false }, { ".", false, false },
	};
	for (size_t i = 0; i < COUNT(shapes); i++)
		if (numbers_alike(shapes[i].text) != shapes[i].alike || numbers_scientific(shapes[i].text) != shapes[i].scientific)
			fail_msg("%s", shapes[i].text);
}

/* What an office program of Debian 12 was seen to make of such texts is marked so; the others
 * are common practice, no source. */
static void test_turned(void **state)
{
	(void)state;
	static const struct { const char *right, *seen; enum numbers_turn turn; } cases[] = {
		{ "00005E000110", "5E+110", NUMBERS_TURNED } /* seen */, { "00005E000301", "5E+301", NUMBERS_TURNED } /* seen */,
		{ "0417E12", "417000000000000", NUMBERS_TURNED } /* seen */, { "0E0417", "0", NUMBERS_TURNED } /* seen */,
		{ "12345678901234567890", "1.23456789012346E+019", NUMBERS_TURNED } /* seen */,
		{ "00005E000110", "5.00E+110", NUMBERS_TURNED }, { "00005E000110", "5,00E+110", NUMBERS_TURNED },
		{ "00005E000110", "5e110", NUMBERS_TURNED }, { "00005E000110", "500E+108", NUMBERS_TURNED },
		{ "5.49E12", "5E+12", NUMBERS_TURNED }, { "9.99E12", "1E+13", NUMBERS_TURNED }, { "12E456", "1.2E+457", NUMBERS_TURNED },
		{ "00005E-000110", "5E-110", NUMBERS_TURNED }, { "00005E-005301", "0", NUMBERS_TURNED },
		{ "00005E005301", "0E+00", NUMBERS_TURNED }, { "00005E005301", "0.00E+00", NUMBERS_TURNED },
		{ "00005E005301", "0", NUMBERS_TURNED }, { "00005E005301", "5E+301", NUMBERS_TURNED },
		{ "00005E005301", "1.79769313486232E+308", NUMBERS_TURNED }, { "00005E005301", "5E+5301", NUMBERS_TURNED },
		{ "00005E000110", "5E+111", NUMBERS_TURNED_OTHERWISE }, { "417", "4.18E+02", NUMBERS_TURNED_OTHERWISE },
		/* beyond all bounds both, and yet not the same */
		{ "00005E005329", "00005E005339", NUMBERS_NOT_TURNED }, { "00005E005329", "00005E005392", NUMBERS_NOT_TURNED },
		{ "00005E005329", "00005E00532", NUMBERS_NOT_TURNED }, { "00005E005329", "00005E0053299", NUMBERS_NOT_TURNED },
		{ "00005E005329", "00005e005329", NUMBERS_NOT_TURNED }, { "00005E005329", "00000E005329", NUMBERS_NOT_TURNED },
		{ "00005E005329", "5E5392", NUMBERS_NOT_TURNED }, { "1E9999999", "1E9999998", NUMBERS_NOT_TURNED },
		{ "12E457", "12E456", NUMBERS_NOT_TURNED }, { "00005E-005329", "00005E-005339", NUMBERS_NOT_TURNED },
		/* the same number, but no program writes it so */
		{ "00005E000110", "000005E000110", NUMBERS_NOT_TURNED }, { "00005E000110", "00005E00110", NUMBERS_NOT_TURNED },
		{ "00005E000110", "1", NUMBERS_NOT_TURNED }, { "00005E000110", "0", NUMBERS_NOT_TURNED }, { "417", "418", NUMBERS_NOT_TURNED },
		{ "417", "417", NUMBERS_NOT_TURNED }, { "K-1", "5E+110", NUMBERS_NOT_TURNED }, { "00005E000110", "", NUMBERS_NOT_TURNED },
		{ "00005E000110", "K-1", NUMBERS_NOT_TURNED },
	};
	for (size_t i = 0; i < COUNT(cases); i++)
		if (numbers_turned(cases[i].right, cases[i].seen) != cases[i].turn)
			fail_msg("%s and %s", cases[i].right, cases[i].seen);
	static const struct { const char *right, *seen; bool same; } stored[] = {
		{ "12345678901234567890", "12345678901234567168", true }, { "12345678901234567890", "1.2345678901234567e+19", true },
		{ "12345678901234567890", "12345678901235567168", false }, { "417", "4.17E2", true }, { "417", "418", false },
		{ "00005E005329", "00005E005339", false }, { "1E9999999", "1E99999999", false }, { "0", "0E+00", true }, { "0", "1", false },
		{ "-1", "1", false }, { "x", "x", false },
	};
	for (size_t i = 0; i < COUNT(stored); i++)
		if (numbers_stored(stored[i].right, stored[i].seen) != stored[i].same)
			fail_msg("stored: %s and %s", stored[i].right, stored[i].seen);
}

static void test_titles(void **state)
{
	(void)state;
	static const struct { const char *a, *b; bool same; } cases[] = {
		{ "Hardware address", "Hardware address", true }, { "Hardware address", "Hardware\naddress", true },
		{ "Hardware address", " Hardware   address ", true }, { "Hardware address", "Hardwareaddress", false },
		{ "Hardware address", "hardware address", false }, { "", "", true }, { "", " ", true }, { "A", "", false },
		{ "A", "A B", false }, { "A B", "A", false },
	};
	for (size_t i = 0; i < COUNT(cases); i++)
		if (fold_title_same(cases[i].a, cases[i].b) != cases[i].same || fold_title_same(cases[i].b, cases[i].a) != cases[i].same)
			fail_msg("\"%s\" and \"%s\"", cases[i].a, cases[i].b);
	assert_non_null(cause_of_title("Address", "address"));
	assert_non_null(cause_of_title("Address", "Adress"));
	assert_non_null(cause_of_title("Stra\xC3\x9F" "e \xC3\xBC", "Stra\xC3\x9F" "e u\xCC\x88"));
	assert_null(cause_of_title("Address", "Serial"));
	assert_null(cause_of_title("No.", "No,"));   /* too short for a slip to mean anything */
}

/* One row a difference, in the manner of a cell; near misses beside each. */
static const struct {
	const char *right, *seen;
	enum workbook_kind kind;
	bool address;
	const char *cause;
} differences[] = {
	{ "EG12", "EG12", WORKBOOK_FORMULA, false, "formula" },
	{ "EG12", "#REF!", WORKBOOK_TEXT, false, "formula" },
	{ "EG12", "####", WORKBOOK_TEXT, false, "formula" },
	{ "EG12", "=1+1", WORKBOOK_TEXT, false, "formula" },
	{ "EG12", "=\"EG12\"", WORKBOOK_TEXT, false, "formula" },
	{ "'=1+1", "=1+1", WORKBOOK_TEXT, false, "apostrophe" },
	{ "Weir", "'Weir", WORKBOOK_TEXT, false, "apostrophe" },
	{ "EG12", "", WORKBOOK_EMPTY, false, "emptied" },
	{ "", "EG12", WORKBOOK_TEXT, false, "added" },
	{ "001122334455", "1122334455", WORKBOOK_TEXT, true, "leading-zeros" },
	{ "001122334455", "1,122,334,455", WORKBOOK_TEXT, true, "leading-zeros" },
	{ "0417", "417", WORKBOOK_NUMBER, false, "leading-zeros" },
	{ "000", "0", WORKBOOK_TEXT, false, "leading-zeros" },
	{ "0417-K", "417-K", WORKBOOK_TEXT, false, "slip" },          /* no number: a digit was dropped */
	{ "00005E000110", "5E+110", WORKBOOK_TEXT, true, "scientific" },
	{ "00005E000110", "5.00E+110", WORKBOOK_TEXT, true, "scientific" },
	{ "0E0417", "0E+00", WORKBOOK_TEXT, false, "scientific" },
	{ "12E456", "1.2E+457", WORKBOOK_NUMBER, false, "scientific" },
	{ "12345678901234567890", "1.23457E+19", WORKBOOK_TEXT, false, "scientific" },
	{ "00005E005329", "0", WORKBOOK_NUMBER, true, "scientific" },
	{ "00005E005329", "00005E005339", WORKBOOK_TEXT, true, "slip" },   /* both too large for any number */
	{ "00005E005329", "00005E005392", WORKBOOK_TEXT, true, "slip" },
	{ "00005E005329", "00005E00532", WORKBOOK_TEXT, true, "slip" },
	{ "00005E005329", "00005E0053229", WORKBOOK_TEXT, true, "slip" },
	{ "00005E005329", "00005e005329", WORKBOOK_TEXT, true, "notation" },
	{ "001122334455", "01122334455", WORKBOOK_TEXT, true, "slip" },
	{ "12345678901234567890", "12345678901234567168", WORKBOOK_NUMBER, false, "number" },
	{ "12345678901234567890", "12345678901234567899", WORKBOOK_TEXT, false, "slip" },
	{ "K-1", "5E+110", WORKBOOK_TEXT, false, "other" },
	{ "07-12", "12-Jul", WORKBOOK_TEXT, false, "date" },
	{ "07-12", "46215", WORKBOOK_DATE, false, "date" },
	{ "1.10", "1.1", WORKBOOK_TEXT, false, "number" },
	{ "7", "7", WORKBOOK_NUMBER, false, "number" }, { "0", "0", WORKBOOK_NUMBER, false, "number" },
	{ "12345678901234567890", "12345678901234500000", WORKBOOK_TEXT, false, "number" },
	{ "00-00-5E-00-53-01", "O0-00-5E-00-53-01", WORKBOOK_TEXT, true, "look-alike" },
	{ "00-00-5E-00-53-01", "OO-OO-5E-OO-53-O1", WORKBOOK_TEXT, true, "look-alike" },
	{ "00-00-5E-00-53-01", "00-00-5E-00-53-0I", WORKBOOK_TEXT, true, "look-alike" },
	{ "00-00-5E-00-53-0B", "00-00-5E-00-53-08", WORKBOOK_TEXT, true, "look-alike" },
	{ "CAP", "\xD0\xA1\xD0\x90\xD0\xA0", WORKBOOK_TEXT, false, "look-alike" },      /* Cyrillic */
	{ "KOB", "\xCE\x9A\xCE\x9F\xCE\x92", WORKBOOK_TEXT, false, "look-alike" },      /* Greek */
	{ "A1", "\xEF\xBC\xA1\xEF\xBC\x91", WORKBOOK_TEXT, false, "look-alike" },       /* full width */
	{ "K-1", " K-1", WORKBOOK_TEXT, false, "blanks" },
	{ "K-1", "K-1\t", WORKBOOK_TEXT, false, "blanks" },
	{ "north camera", "north  camera", WORKBOOK_TEXT, false, "blanks" },
	{ "north camera", "north" NBSP "camera", WORKBOOK_TEXT, false, "invisible" },
	{ "K-1", "K-" ZWSP "1", WORKBOOK_TEXT, false, "invisible" },
	{ "K-1", "\xEF\xBB\xBFK-1", WORKBOOK_TEXT, false, "invisible" },
	{ "K-1-2", "K" EN_DASH "1" EN_DASH "2", WORKBOOK_TEXT, false, "typography" },
	{ "00-00-5E-00-53-01", "00" EN_DASH "00-5E-00-53-01", WORKBOOK_TEXT, true, "typography" },
	{ "\"upper\"", "\xE2\x80\x9Cupper\xE2\x80\x9D", WORKBOOK_TEXT, false, "typography" },
	{ "Gr\xC3\xBCn", "Gru\xCC\x88n", WORKBOOK_TEXT, false, "composition" },
	{ "Gru\xCC\x88n", "Gr\xC3\xBCn", WORKBOOK_TEXT, false, "composition" },
	{ "Gr\xC3\xBCn", "Gru\xCC\x81n", WORKBOOK_TEXT, false, "other" },
	{ "GU-0417-K", "gu-0417-k", WORKBOOK_TEXT, false, "case" },
	{ "00-00-5E-00-53-01", "00-00-5e-00-53-01", WORKBOOK_TEXT, true, "notation" },
	{ "00-00-5E-00-53-01", "0000.5e00.5301", WORKBOOK_TEXT, true, "notation" },
	{ "00-00-5E-00-53-01", "0:0:5e:0:53:1", WORKBOOK_TEXT, true, "notation" },
	{ "00-00-5E-00-53-01", "00:00:5e:00:53:11", WORKBOOK_TEXT, true, "slip" },       /* another address */
	{ "00-00-5E-00-53-01", "00-00-5E-00-53-31", WORKBOOK_TEXT, true, "slip" },
	{ "00-00-5E-00-53-12", "00-00-5E-00-51-32", WORKBOOK_TEXT, true, "slip" },       /* swapped across a separator */
	{ "EG12-26-00417", "EG12-26-0417", WORKBOOK_TEXT, false, "slip" },
	{ "north camera", "north cam", WORKBOOK_TEXT, false, "truncated" },
	{ "north camera", "camera", WORKBOOK_TEXT, false, "truncated" },
	{ "Gr\xC3\xBCn", "Gr\xC3\x83\xC2\xBCn", WORKBOOK_TEXT, false, "character-set" },
	{ "Gr\xC3\xBCn", "Gr?n", WORKBOOK_TEXT, false, "character-set" },
	{ "Gr\xC3\xBCn", "Gr\xEF\xBF\xBDn", WORKBOOK_TEXT, false, "character-set" },
	{ "Green", "Gr?en", WORKBOOK_TEXT, false, "slip" },
	{ "EG12-26-00417", "see label", WORKBOOK_TEXT, false, "other" },
	{ "00-00-5E-00-53-01", "00-11-5E-00-53-99", WORKBOOK_TEXT, true, "other" },
};

static void test_causes(void **state)
{
	(void)state;
	bool met[64] = { false };
	size_t count;
	const struct cause *table = cause_table(&count);
	for (size_t i = 0; i < COUNT(differences); i++) {
		struct cause_view view = { .right = differences[i].right, .seen = differences[i].seen, .kind = differences[i].kind,
		                           .address = differences[i].address };
		char said[400];
		struct pm_text say;
		pm_text_fixed(&say, said, sizeof said);
		const struct cause *cause = cause_find(&view, &say);
		if (strcmp(cause->word, differences[i].cause) != 0)
			fail_msg("\"%s\" for \"%s\" is %s (%s), not %s", view.seen, view.right, cause->word, said, differences[i].cause);
		assert_true(said[0] && !pm_is_upper(said[0]));
		assert_int_equal(cause->harmless, strcmp(cause->word, "notation") == 0);
		met[cause - table] = true;
	}
	/* what the surroundings tell */
	static const struct { const char *cause; struct cause_view view; } around[] = {
		{ "covered", { .right = "A1B2", .seen = "A1B2", .kind = WORKBOOK_TEXT, .covered = true } },
		{ "emptied", { .right = "A1B2", .seen = "", .covered = true } },
		{ "rows-swapped", { .right = "A1B2", .seen = "C3D4", .kind = WORKBOOK_TEXT, .swapped_with = "\"port2\"", .row_of = "\"port2\"" } },
		{ "columns-shifted", { .right = "A1B2", .seen = "C3D4", .kind = WORKBOOK_TEXT, .column_of = "Serial" } },
		{ "another-row", { .right = "A1B2", .seen = "C3D4", .kind = WORKBOOK_TEXT, .row_of = "\"port2\"" } },
	};
	for (size_t i = 0; i < COUNT(around); i++) {
		char said[400];
		struct pm_text say;
		pm_text_fixed(&say, said, sizeof said);
		const struct cause *cause = cause_find(&around[i].view, &say);
		assert_string_equal(cause->word, around[i].cause);
		met[cause - table] = true;
	}
	for (size_t i = 0; i < count; i++)
		if (!met[i])
			fail_msg("no case for %s", table[i].word);
	/* the page tells every cause */
	FILE *page = fopen("docs/sheet.md", "r");
	assert_non_null(page);
	static char text[1 << 16];
	text[fread(text, 1, sizeof text - 1, page)] = '\0';
	fclose(page);
	for (size_t i = 0; i < count; i++) {
		char row[64];
		snprintf(row, sizeof row, "| `%s` |", table[i].word);
		if (!strstr(text, row))
			fail_msg("docs/sheet.md lacks %s", row);
	}
	const struct pm_fill *fills = pm_fill_table(&count);
	for (size_t i = 0; i < count; i++) {
		char row[200];
		snprintf(row, sizeof row, "| `%s%s` | ", fills[i].name, fills[i].argument ? fills[i].argument : "");
		const char *found = strstr(text, row);
		if (!found || !strstr(found, fills[i].meaning) || strstr(found, fills[i].meaning) > strchr(found, '\n'))
			fail_msg("docs/sheet.md lacks %s%s", row, fills[i].meaning);
	}
}

static void test_rising(void **state)
{
	(void)state;
	static const struct { size_t count; uint32_t number[8]; const char *in; } cases[] = {
		{ 0, { 0 }, "" }, { 1, { 5 }, "1" }, { 3, { 0, 1, 2 }, "111" }, { 4, { 0, 2, 1, 3 }, "1011" },
		{ 4, { 3, 0, 1, 2 }, "0111" }, { 4, { 1, 2, 3, 0 }, "1110" },
		{ 4, { 0, LOCATE_NOWHERE, 5, 6 }, "1011" }, { 2, { LOCATE_NOWHERE, LOCATE_NOWHERE }, "00" },
		{ 5, { 4, 3, 2, 1, 0 }, "00001" },
	};
	struct pm_arena arena;
	pm_arena_init(&arena);
	for (size_t i = 0; i < COUNT(cases); i++) {
		bool in[8];
		assert_true(locate_rising(cases[i].number, cases[i].count, in, &arena));
		for (size_t k = 0; k < cases[i].count; k++)
			if (in[k] != (cases[i].in[k] == '1'))
				fail_msg("case %zu, number %zu", i, k);
	}
	pm_arena_free(&arena);
}

/* --- whole sheets --- */

/* Verify `csv` against the fixture's job; the findings as "cell cause" joined by blanks. */
static const char *judge(struct sheet_fixture *f, const char *csv, size_t length, size_t *stops)
{
	struct returned sheet;
	struct trouble trouble;
	struct pm_fault fault = { 0 };
	struct pm_text text;
	trouble_init(&trouble, &f->arena);
	if (!returned_parse(csv, length, "back.csv", &f->layout, &f->arena, &sheet, &fault))
		return fault.message[0] ? pm_say(&f->arena, "fault: %s", fault.message) : "fault";
	if (!verify_sheet(&f->grid, &sheet, &f->arena, &trouble))
		abort();
	pm_text_grow(&text, &f->arena);
	for (size_t i = 0; i < trouble.list.count; i++)
		pm_text_add(&text, "%s%s %s", i ? " " : "", trouble.detail[i].cell ? trouble.detail[i].cell : "-", trouble.detail[i].cause);
	*stops = pm_findings_count(&trouble.list, PM_STOP);
	return text.data;
}

static void test_sheets(void **state)
{
	(void)state;
	static const struct { const char *name, *old, *new, *findings; size_t stops; } cases[] = {
		{ "intact", "", "", "", 0 },
		{ "one digit", "00-00-5E-00-53-13", "00-00-5E-00-53-F3", "C11 slip", 1 },
		{ "the value of another row", "00-00-5E-00-53-13", "00-00-5E-00-53-1C", "C11 slip", 1 },
		{ "notation", "0000.5e00.53a1", "00:00:5E:00:53:A1", "E23 notation", 0 },
		{ "heading gone", "Part C,,,,\r\n", "", "A5 heading-changed", 1 },
		{ "row gone", "TB-01,port5,00-00-5E-00-53-15,U,\r\n", "", "A13 row-lost", 1 },
		{ "desk's own column", "GP-02,\r\n", "GP-02,registered\r\n", "", 0 },
		{ "something beside the columns", "00-00-5E-00-53-13,Y,", "00-00-5E-00-53-13,Y,x", "E11 outside", 1 },
		{ "title", "Interface,", "Interfaces,", "B7 title-changed", 1 },
		{ "a formula around a value", ",00-00-5E-00-53-13,", ",=\"00-00-5E-00-53-13\",", "C11 formula", 1 },
		{ "two cells exchanged", "00-00-5E-00-53-13,Y,", "Y,00-00-5E-00-53-13,", "C11 columns-shifted D11 columns-shifted", 2 },
		{ "a row of another site", "Part D,,,,\r\n", "TB-02,port1,00-00-5E-00-53-13,Y,\r\nPart D,,,,\r\n", "A21 site-unknown", 1 },
		{ "one line end", "\r\nPart C", "\rPart C", "- line-ends", 0 },
	};
	struct sheet_fixture f;
	sheet_fixture_init(&f);
	struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	const char *csv = sheet_csv(grid, &f.arena);
	for (size_t i = 0; i < COUNT(cases); i++) {
		const char *at = strstr(csv, cases[i].old);
		struct pm_text text;
		size_t stops = 0;
		if (!at)
			fail_msg("%s: the sheet has no %s in %s", cases[i].name, cases[i].old, csv);
		pm_text_grow(&text, &f.arena);
		pm_text_put(&text, csv, (size_t)(at - csv));
		pm_text_str(&text, cases[i].new);
		pm_text_str(&text, at + strlen(cases[i].old));
		const char *found = judge(&f, text.data, text.length, &stops);
		if (strcmp(found, cases[i].findings) != 0 || stops != cases[i].stops)
			fail_msg("%s: %zu stops: %s", cases[i].name, stops, found);
	}
	sheet_fixture_free(&f);
}

/* The four sections in every order: all are found, and no cell differs; the fewest that
 * make the order right again are named. */
static void test_orders(void **state)
{
	(void)state;
	struct sheet_fixture f;
	sheet_fixture_init(&f);
	const char *csv = sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena);
	const char *part[5] = { csv, strstr(csv, "Site,Serial,"), strstr(csv, "Part C"), strstr(csv, "Part D"), csv + strlen(csv) };
	for (int order = 0; order < 256; order++) {
		const int at[4] = { order & 3, order >> 2 & 3, order >> 4 & 3, order >> 6 };
		int longest = 0, stand = 0;
		struct pm_text text;
		pm_text_grow(&text, &f.arena);
		for (int i = 0; i < 4; i++) {
			stand |= 1 << at[i];
			pm_text_put(&text, part[at[i]], (size_t)(part[at[i] + 1] - part[at[i]]));
		}
		if (stand != 15)
			continue;
		for (int some = 1; some < 16; some++) {
			int many = 0, last = -1;
			for (int i = 0; i < 4; i++)
				if (some >> i & 1) {
					many = at[i] > last ? many + 1 : -9;
					last = at[i];
				}
			longest = many > longest ? many : longest;
		}
		size_t stops = 0, moved = 0;
		const char *found = judge(&f, text.data, text.length, &stops);
		for (const char *each = found; (each = strstr(each, "section-moved")); each++)
			moved++;
		if (moved != stops || (int)moved != 4 - longest)
			fail_msg("order %d%d%d%d: %zu stops: %s", at[0], at[1], at[2], at[3], stops, found);
	}
	sheet_fixture_free(&f);
}

/* Every kind of structure has a remedy of its own. */
static void test_remedies(void **state)
{
	(void)state;
	static const struct { const char *old, *new, *cause, *remedy; } cases[] = {
		{ "Part C,,,,\r\n", "", "heading-changed", "heading" }, { "TB-01,port5,00-00-5E-00-53-15,U,\r\n", "", "row-lost", "put the row back" },
		{ "Interface,", "Interfaces,", "title-changed", "title" }, { "Part D,,,,\r\n", "TB-01,x,y,,\r\nPart D,,,,\r\n", "row-added", "the row out" },
		{ "Check,", "Check,Sum", "column-added", "the column out" }, { "Check,", ",", "column-missing", "the column up" },
		{ "Interface,Address,", "Address,Interface,", "column-moved", "columns back" }, { "\r\n", "\n", "line-ends", "nothing" },
		{ "Part D,,,,\r\n", "TB-02,x,y,,\r\nPart D,,,,\r\n", "site-unknown", "name the job of that site" },
	};
	struct sheet_fixture f;
	sheet_fixture_init(&f);
	const char *csv = sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena);
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct returned sheet;
		struct trouble trouble;
		struct pm_fault fault;
		struct pm_text text;
		const char *at = strstr(csv, cases[i].old);
		bool told = false;
		assert_non_null(at);
		pm_text_grow(&text, &f.arena);
		pm_text_put(&text, csv, (size_t)(at - csv));
		pm_text_add(&text, "%s%s", cases[i].new, at + strlen(cases[i].old));
		trouble_init(&trouble, &f.arena);
		assert_true(returned_parse(text.data, text.length, "back.csv", &f.layout, &f.arena, &sheet, &fault));
		assert_true(verify_sheet(&f.grid, &sheet, &f.arena, &trouble));
		for (size_t k = 0; k < trouble.list.count; k++) {
			assert_null(strstr(trouble.list.item[k].remedy, "fetch the desk's current layout"));
			told |= strcmp(trouble.detail[k].cause, cases[i].cause) == 0 && strstr(trouble.list.item[k].remedy, cases[i].remedy);
		}
		if (!told)
			fail_msg("%s: %s", cases[i].cause, trouble.list.count ? trouble.list.item[0].remedy : "nothing is found");
	}
	sheet_fixture_free(&f);
}

/* Whatever single byte of the sheet is changed, nothing stays unseen but the
 * desk's own column and what means the same. */
static void test_every_byte(void **state)
{
	(void)state;
	struct sheet_fixture f;
	size_t tried = 0, harmless = 0;
	sheet_fixture_init(&f);
	struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	const char *csv = sheet_csv(grid, &f.arena);
	size_t length = strlen(csv);
	char *changed = malloc(length + 1);
	assert_non_null(changed);
	for (size_t at = 0; at < length; at++) {
		static const char other[] = "0A8,\" x-\n";
		for (size_t k = 0; k < sizeof other - 1; k++) {
			struct sheet_fixture g = { .layout = f.layout, .grid = f.grid };
			size_t stops = 0;
			if (other[k] == csv[at])
				continue;
			memcpy(changed, csv, length + 1);
			changed[at] = other[k];
			pm_arena_init(&g.arena);
			const char *found = judge(&g, changed, length, &stops);
			tried++;
			if (!stops && strncmp(found, "fault", 5) != 0) {
				harmless++;
				/* only line ends, separators at the end of a line, the case of a hex digit */
				bool end = csv[at] == '\r' || csv[at] == '\n' || csv[at] == ',';
				bool digit = pm_hex_value(csv[at]) >= 0 && pm_lower(csv[at]) == pm_lower(other[k]);
				if (!end && !digit)
					fail_msg("byte %zu, %c for %c: \"%s\"", at, other[k], csv[at], found);
			}
			pm_arena_free(&g.arena);
		}
	}
	printf("# figure %zu changes of one byte of a sheet, %zu of them of no consequence\n", tried, harmless);
	free(changed);
	sheet_fixture_free(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_numbers), cmocka_unit_test(test_turned), cmocka_unit_test(test_titles), cmocka_unit_test(test_causes), cmocka_unit_test(test_rising),
		cmocka_unit_test(test_sheets), cmocka_unit_test(test_orders), cmocka_unit_test(test_remedies),
		cmocka_unit_test(test_every_byte),
	};
	return cmocka_run_group_tests_name("verify", tests, NULL, NULL);
}
