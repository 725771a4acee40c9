#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"
#include "portmuster/layout.h"

static void test_cells(void **state)
{
	(void)state;
	/* ECMA-376 part 1, 18.17.2: columns A to XFD, rows 1 to 1048576 */
	static const struct { const char *name; uint32_t row, column; } cells[] = {
		{ "A1", 0, 0 }, { "Z1", 0, 25 }, { "AA1", 0, 26 }, { "AZ10", 9, 51 }, { "BA10", 9, 52 }, { "ZZ2", 1, 701 },
		{ "AAA2", 1, 702 }, { "XFD1048576", 1048575, 16383 }, { "B7", 6, 1 },
	};
	static const char *const bad[] = {
		"", "A", "7", "A0", "A01", "a1", "A-1", "A1 ", " A1", "XFE1", "A1048577", "AAAA1", "A1B", "$A$1", "A1:B2", "A99999999999",
	};
	char name[PM_CELL_TEXT];
	uint32_t row = 0, column = 0;
	for (size_t i = 0; i < COUNT(cells); i++) {
		assert_string_equal(pm_cell_name(cells[i].row, cells[i].column, name), cells[i].name);
		assert_true(pm_cell_place(cells[i].name, &row, &column));
		assert_int_equal(row, cells[i].row);
		assert_int_equal(column, cells[i].column);
	}
	for (size_t i = 0; i < COUNT(bad); i++)
		if (pm_cell_place(bad[i], &row, &column))
			fail_msg("%s is read as a cell", bad[i]);
	assert_false(pm_cell_place(NULL, &row, &column));
	for (uint32_t c = 0; c < PM_MOST_SHEET_COLUMNS; c++) {
		assert_true(pm_cell_place(pm_cell_name(c, c, name), &row, &column));
		assert_true(row == c && column == c);
	}
}

static void test_runs(void **state)
{
	(void)state;
	/* first characters: OWASP ASVS 1.2.10; CR is common practice, no source */
	static const char *const run[] = { "=1+1", "+49", "-5", "@cmd", "\tx", "\rx", "=", "'=1", "''-x" };
	static const char *const rest[] = { "", "a=1", "0-1", " =1", "'a", "'", "\"=1\"", ("\xE2\x88\x92" "5"), "#N/A" };
	for (size_t i = 0; i < COUNT(run); i++)
		assert_true(pm_cell_runs(run[i]));
	for (size_t i = 0; i < COUNT(rest); i++)
		assert_false(pm_cell_runs(rest[i]));
}

static void test_notation(void **state)
{
	(void)state;
	static const struct { const char *example; bool good; enum pm_notation notation; bool lower; } cases[] = {
		{ "00-00-5E-00-53-01", true, PM_HYPHEN, false },  { "00-00-5e-00-53-01", true, PM_HYPHEN, true },
		{ "00:00:5e:00:53:01", true, PM_COLON, true },    { "00:00:5E:00:53:01", true, PM_COLON, false },
		{ "0:0:5e:0:53:1", true, PM_COLON_SHORT, true },  { "0000.5e00.5301", true, PM_DOT_FOUR, true },
		{ "0000.5E00.5301", true, PM_DOT_FOUR, false },   { "00.00.5e.00.53.01", true, PM_DOT_TWO, true },
		{ "00005E005301", true, PM_BARE, false },         { "00005e005301", true, PM_BARE, true },
		/* without a letter: the usual case */
		{ "00-00-11-22-33-44", true, PM_HYPHEN, false },  { "000011223344", true, PM_BARE, false },
		{ "00:00:11:22:33:44", true, PM_COLON, true },    { "0000.1122.3344", true, PM_DOT_FOUR, true },
		{ "00-00-5E-00-53", false, 0, false },            { "", false, 0, false }, { NULL, false, 0, false },
		{ "an address", false, 0, false },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_column column = { .example = word(cases[i].example) };
		enum pm_notation notation = PM_NOTATIONS;
		bool lower = false;
		assert_int_equal(pm_column_notation(&column, &notation, &lower), cases[i].good);
		if (cases[i].good && (notation != cases[i].notation || lower != cases[i].lower))
			fail_msg("%s", cases[i].example);
	}
}

static void test_form(void **state)
{
	(void)state;
	static const struct { const char *form, *example; bool fixed; const char *fits, *not; } cases[] = {
		{ NULL, "GU-0417-K", true, "GP-9999-Z", "GU-0417-k" }, { NULL, "GU-0417-K", true, "GU-0000-A", "GU-417-K" },
		{ NULL, "a9", true, "a0", "b9" },                      { NULL, "A?H\\9", true, "Z?Z\\0", "Z?Z9" },
		{ NULL, "H1", true, "A2", "?2" },                      { "99", "AA", false, "12", "A1" },
	};
	struct pm_arena arena;
	pm_arena_init(&arena);
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_column column = { .form = word(cases[i].form), .example = word(cases[i].example), .fixed = cases[i].fixed };
		const char *form = pm_column_form(&column, &arena);
		assert_non_null(form);
		if (!pm_form_match(form, cases[i].fits, NULL) || pm_form_match(form, cases[i].not, NULL))
			fail_msg("%zu: form %s", i, form);
	}
	struct pm_column none = { .example = word("GU-0417-K") };
	assert_null(pm_column_form(&none, &arena));
	pm_arena_free(&arena);
}

/* --- validity --- */

struct made {
	struct pm_layout layout;
	struct pm_section sections[3];
	struct pm_column columns[3][3];
};

/* A good layout of two sections, with a workbook. */
static void make(struct made *m)
{
	memset(m, 0, sizeof *m);
	m->layout = (struct pm_layout){ .file = "desk.yaml", .format = 1, .id = word("desk"), .title = word("Desk"),
	                                .workbook = word("desk.xlsx"), .apostrophe = true, .sections = m->sections, .section_count = 2 };
	for (size_t i = 0; i < 3; i++)
		m->sections[i] = (struct pm_section){ .columns = m->columns[i], .column_count = 2, .page = word("Page") };
	m->sections[0].id = word("site"), m->sections[0].rows = PM_ROWS_SITE, m->sections[0].first = word("A2");
	m->sections[1].id = word("ports"), m->sections[1].rows = PM_ROWS_PORT, m->sections[1].first = word("A4");
	m->sections[2].id = word("more"), m->sections[2].rows = PM_ROWS_ATTACHED, m->sections[2].first = word("D4");
	m->columns[0][0] = (struct pm_column){ .title = word("Site"), .fill = word("site/code") };
	m->columns[0][1] = (struct pm_column){ .title = word("Seal"), .fill = word("seal") };
	m->columns[1][0] = (struct pm_column){ .title = word("Name"), .fill = word("row/name") };
	m->columns[1][1] = (struct pm_column){ .title = word("Address"), .fill = word("row/address"),
	                                       .example = word("00-00-5E-00-53-01") };
	m->columns[2][0] = (struct pm_column){ .title = word("Name"), .fill = word("row/name") };
	m->columns[2][1] = (struct pm_column){ .title = word("Kind"), .fill = word("row/kind") };
}

static void test_valid(void **state)
{
	(void)state;
	struct made m;
	struct pm_fault fault = { 0 };
	make(&m);
	if (!pm_layout_valid(&m.layout, &fault))
		fail_msg("%s", fault.message);
	m.layout.section_count = 3;
	assert_true(pm_layout_valid(&m.layout, &fault));
	/* an empty column may go without a title, and a section without titles needs none */
	m.columns[0][1] = (struct pm_column){ .fill = word("empty") };
	assert_true(pm_layout_valid(&m.layout, &fault));
	m.sections[1].titles = PM_TITLES_NONE;
	m.columns[1][0].title = word(NULL);
	m.columns[1][1].form = word("HH-HH-HH-HH-HH-HH");
	assert_true(pm_layout_valid(&m.layout, &fault));
	/* without a workbook, pages and places do not count */
	m.layout.workbook = word(NULL);
	m.sections[0].first = word("nonsense");
	assert_true(pm_layout_valid(&m.layout, &fault));
}

#define BAD(name, change, says) \
	static const char *name(struct made *m) { change; return says; }

BAD(no_section, m->layout.section_count = 0, "at least one section")
BAD(no_column, m->sections[1].column_count = 0, "needs 1 to")
BAD(same_section, m->sections[1].id = word("site"), "stands twice")
BAD(unknown_fill, m->columns[0][0].fill = word("site/cod"), "unknown fill \"site/cod\"")
BAD(no_argument, m->columns[0][0].fill = word("port/"), "unknown fill")
BAD(with_argument, m->columns[0][0].fill = word("seal/x"), "unknown fill")
BAD(wrong_rows, m->columns[0][0].fill = word("row/panel"), "no meaning in rows of kind site")
BAD(same_title, m->columns[0][1].title = word("SITE"), "stands twice")
BAD(no_title, m->columns[0][1].title = word(""), "without a title")
BAD(no_example, m->columns[1][1].example = word(NULL), "no address")
BAD(bad_example, m->columns[1][1].example = word("00-00-5E-00-53"), "no address")
BAD(unfit_example, m->columns[0][0].example = word("TB-0"); m->columns[0][0].form = word("AA-99"), "does not fit")
BAD(wide_example, m->columns[0][0].example = word("TB-00"); m->columns[0][0].widest = 4, "more than 4 characters")
BAD(unfit_text, m->columns[0][0].fill = word("text/swap"); m->columns[0][0].form = word("AAAA"), "does not fit")
BAD(running_text, m->columns[0][0].fill = word("text/=1"); m->columns[0][0].form = word(NULL), NULL)
BAD(running_title, m->columns[0][0].title = word("=Site"), "runs as a formula")
BAD(running_heading, m->sections[0].heading = word("+Part"), "runs as a formula")
BAD(broken_title, m->columns[0][0].title = word("Si\nte"), "does not show")
BAD(fixed_alone, m->columns[0][0].fixed = true, "needs an example and no form")
BAD(fixed_and_form, m->columns[0][0].fixed = true; m->columns[0][0].example = word("A1"); m->columns[0][0].form = word("A9"),
    "needs an example and no form")
BAD(no_page, m->sections[0].page = word(NULL), "no page and first cell")
BAD(no_first, m->sections[0].first = word(NULL), "no page and first cell")
BAD(bad_first, m->sections[0].first = word("2A"), "no page and first cell")
BAD(no_room_for_titles, m->sections[0].first = word("A1"), "no page and first cell")
BAD(over_the_edge, m->sections[0].first = word("XFD2"), "no page and first cell")
BAD(in_the_way, m->sections[1].first = word("B3"), "in each other's way")
BAD(same_place, m->sections[1].first = word("A2"), "in each other's way")
BAD(page_by_case, m->sections[1].page = word("PAGE"); m->sections[1].first = word("A3"), "in each other's way")
BAD(folder, m->layout.workbook = word("../desk.xlsx"), "no file name")
BAD(other_ending, m->layout.workbook = word("desk.xls"), "no file name")

static void test_invalid(void **state)
{
	(void)state;
	static const char *(*const changes[])(struct made *) = {
		no_section, no_column, same_section, unknown_fill, no_argument, with_argument, wrong_rows, same_title, no_title,
		no_example, bad_example, unfit_example, wide_example, unfit_text, running_title, running_heading, broken_title,
		fixed_alone, fixed_and_form, no_page, no_first, bad_first, no_room_for_titles, over_the_edge, in_the_way, same_place,
		page_by_case, folder, other_ending,
	};
	for (size_t i = 0; i < COUNT(changes); i++) {
		struct made m;
		struct pm_fault fault = { 0 };
		make(&m);
		const char *says = changes[i](&m);
		if (pm_layout_valid(&m.layout, &fault) || fault.kind != PM_FAULT_VALUE || !strstr(fault.message, says))
			fail_msg("%zu: \"%s\" lacks \"%s\"", i, fault.message, says);
	}
}

/* A constant that a spreadsheet would run is the cell's affair: it is guarded there. */
static void test_running_text(void **state)
{
	(void)state;
	struct made m;
	struct pm_fault fault = { 0 };
	make(&m);
	running_text(&m);
	assert_true(pm_layout_valid(&m.layout, &fault));
}

/* --- fills --- */

static const char *fill_of(struct fixture *f, const char *written, enum pm_rows rows, size_t index)
{
	const char *argument;
	const struct pm_fill *fill = pm_fill_find(written, &argument);
	struct pm_seal seal;
	assert_non_null(fill);
	assert_true(fill->rows & 1u << rows);
	assert_true(pm_seal_job(&f->job, &f->gear, &f->arena, &seal));
	const struct pm_fill_at at = { &f->job, &f->gear, &seal, rows, index, 7 };
	const char *value = fill->value(&at, argument, &f->arena);
	return value ? fixture_text(f, "%s", value) : NULL;
}

static void test_fills(void **state)
{
	(void)state;
	struct fixture f;
	struct pm_attached device = { word("camera"), word("north"), word("K-1"), word("0:0:5e:0:53:a1") };
	fixture_init(&f);
	f.job.attached = &device, f.job.attached_count = 1;
	f.job.name = word("Weir"), f.job.zone = word("Etc/UTC"), f.job.crew = word("north"), f.job.old_serial = word("OLD-9");
	f.gear.title = word("EG-12");
	f.ports[2].panel = word("2"), f.ports[2].role = word("gauge");
	assert_null(fill_of(&f, "seal", PM_ROWS_SITE, 0));   /* not complete */
	assert_null(fill_of(&f, "row/address", PM_ROWS_PORT, 2));
	fixture_reach(&f, REGISTER);
	static const struct { const char *fill; enum pm_rows rows; size_t index; const char *value; } cases[] = {
		{ "site/code", PM_ROWS_SITE, 0, "TB-01" },       { "site/name", PM_ROWS_PORT, 3, "Weir" },
		{ "site/unit", PM_ROWS_SITE, 0, "GS-0417" },     { "site/parent", PM_ROWS_ROUTER, 0, "GP-02" },
		{ "site/zone", PM_ROWS_SITE, 0, "Etc/UTC" },     { "site/crew", PM_ROWS_SITE, 0, "north" },
		{ "router/serial", PM_ROWS_ROUTER, 0, "EG12-26-00417" }, { "router/gear", PM_ROWS_ROUTER, 0, "eg-12" },
		{ "router/model", PM_ROWS_ROUTER, 0, "EG-12" },  { "old/serial", PM_ROWS_ROUTER, 0, "OLD-9" },
		{ "port/mgmt", PM_ROWS_SITE, 0, "00-00-5E-00-53-10" }, { "port/Port 2", PM_ROWS_SITE, 0, "00-00-5E-00-53-12" },
		{ "port/port13", PM_ROWS_SITE, 0, NULL },
		{ "row/number", PM_ROWS_PORT, 2, "7" },          { "row/name", PM_ROWS_PORT, 2, "port2" },
		{ "row/name", PM_ROWS_ATTACHED, 0, "north" },    { "row/panel", PM_ROWS_PORT, 2, "2" },
		{ "row/role", PM_ROWS_PORT, 2, "gauge" },        { "row/address", PM_ROWS_PORT, 2, "00-00-5E-00-53-12" },
		{ "row/address", PM_ROWS_ATTACHED, 0, "00-00-5E-00-53-A1" },
		{ "row/check", PM_ROWS_ATTACHED, 0, "2" },
		{ "row/kind", PM_ROWS_ATTACHED, 0, "camera" },   { "row/serial", PM_ROWS_ATTACHED, 0, "K-1" },
		{ "text/a/b c", PM_ROWS_SITE, 0, "a/b c" },      { "empty", PM_ROWS_SITE, 0, NULL },
	};
	for (size_t i = 0; i < COUNT(cases); i++)
		if (!pm_same(fill_of(&f, cases[i].fill, cases[i].rows, cases[i].index), cases[i].value))
			fail_msg("%s", cases[i].fill);
	assert_string_equal(fill_of(&f, "seal", PM_ROWS_SITE, 0), fixture_seal(&f));
	assert_int_equal(strlen(fill_of(&f, "seal/sha256", PM_ROWS_SITE, 0)), 64);
	/* what was read of the old router counts before the list */
	fixture_say(&f, "old/serial", "OLD-8");
	assert_string_equal(fill_of(&f, "old/serial", PM_ROWS_ROUTER, 0), "OLD-8");
	fixture_say(&f, "old/serial", "OLD-7");
	assert_null(fill_of(&f, "old/serial", PM_ROWS_ROUTER, 0));
	/* every row of the table answers whatever rows it says it has */
	size_t count;
	const struct pm_fill *fills = pm_fill_table(&count);
	for (size_t i = 0; i < count; i++) {
		char written[64];
		snprintf(written, sizeof written, "%s%s", fills[i].name, fills[i].argument ? "port1" : "");
		for (int rows = 0; rows < PM_ROWS; rows++)
			if (fills[i].rows & 1u << rows)
				fill_of(&f, written, (enum pm_rows)rows, 0);
	}
	assert_null(pm_fill_find("port/", NULL));
	assert_null(pm_fill_find("", NULL));
	assert_null(pm_fill_find(NULL, NULL));
	fixture_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_cells), cmocka_unit_test(test_runs), cmocka_unit_test(test_notation), cmocka_unit_test(test_form),
		cmocka_unit_test(test_valid), cmocka_unit_test(test_invalid), cmocka_unit_test(test_running_text),
		cmocka_unit_test(test_fills),
	};
	return cmocka_run_group_tests_name("layout", tests, NULL, NULL);
}
