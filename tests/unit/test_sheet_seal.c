#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "sheet/sheet_seal.h"
#include "sheet_fixture.h"

/* The seals of a CSV text; false with the fault. */
static bool seals_of(const struct pm_layout *layout, const char *csv, struct pm_arena *arena, struct sheet_seals *seals,
                     struct pm_fault *fault)
{
	struct returned sheet;
	struct trouble trouble;
	trouble_init(&trouble, arena);
	return returned_parse(csv, strlen(csv), "back.csv", layout, arena, &sheet, fault) &&
	       sheet_seals(layout, &sheet, arena, &trouble, seals, fault);
}

static void test_same(void **state)
{
	(void)state;
	struct sheet_fixture f;
	struct sheet_seals seals;
	struct pm_seal seal;
	struct pm_fault fault = { 0 };
	sheet_fixture_init(&f);
	assert_true(pm_seal_job(&f.core.job, &f.core.gear, &f.arena, &seal));
	const char *csv = sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena);
	assert_true(seals_of(&f.layout, csv, &f.arena, &seals, &fault));
	assert_int_equal(seals.count, 1);
	assert_string_equal(seals.item[0].site, "TB-01");
	assert_string_equal(seals.item[0].seal.canonical, seal.canonical);
	assert_string_equal(seals.item[0].seal.text, seal.text);
	assert_true(seals.item[0].seal.complete);
	/* a value that had to be guarded is sealed as it is */
	f.core.job.attached[0].serial = word("=K-1");
	f.core.job.attached[1].serial = word("'-K");
	assert_true(pm_seal_job(&f.core.job, &f.core.gear, &f.arena, &seal));
	csv = sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena);
	assert_non_null(strstr(csv, ",'=K-1,"));
	assert_true(seals_of(&f.layout, csv, &f.arena, &seals, &fault));
	assert_string_equal(seals.item[0].seal.canonical, seal.canonical);
	sheet_fixture_free(&f);
}

/* A draft gives the seal of what there is, not complete. */
static void test_incomplete(void **state)
{
	(void)state;
	struct sheet_fixture f;
	struct sheet_seals seals;
	struct pm_seal seal;
	struct pm_fault fault = { 0 };
	sheet_fixture_init(&f);
	fixture_withdraw(&f.core, "port/port4", "");
	f.core.job.parent = word(NULL);
	fixture_withdraw(&f.core, "site/parent", "");
	assert_true(pm_seal_job(&f.core.job, &f.core.gear, &f.arena, &seal));
	assert_false(seal.complete);
	const char *csv = sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena);
	assert_true(seals_of(&f.layout, csv, &f.arena, &seals, &fault));
	assert_string_equal(seals.item[0].seal.canonical, seal.canonical);
	assert_false(seals.item[0].seal.complete);
	sheet_fixture_free(&f);
}

static void test_batch(void **state)
{
	(void)state;
	struct sheet_fixture f;
	struct fixture other;
	struct sheet_seals seals;
	struct pm_seal a, b;
	struct pm_fault fault = { 0 };
	sheet_fixture_init(&f);
	fixture_init(&other);
	fixture_reach(&other, REGISTER);
	other.job.code = word("TA-77");
	other.readings[0].value = word("1");
	const struct grid_job jobs[2] = { { .job = &f.core.job, .gear = &f.core.gear }, { .job = &other.job, .gear = &other.gear } };
	assert_true(grid_build(&f.layout, GRID_CSV, jobs, 2, &f.arena, &f.grid));
	assert_true(pm_seal_job(&f.core.job, &f.core.gear, &f.arena, &a) && pm_seal_job(&other.job, &other.gear, &f.arena, &b));
	assert_true(seals_of(&f.layout, sheet_csv(&f.grid, &f.arena), &f.arena, &seals, &fault));
	assert_int_equal(seals.count, 2);
	assert_string_equal(seals.item[0].seal.canonical, b.canonical);
	assert_string_equal(seals.item[1].seal.canonical, a.canonical);
	/* rows that do not say whose they are can't be shared out */
	f.columns[2][0].fill = word("row/number");
	assert_true(grid_build(&f.layout, GRID_CSV, jobs, 2, &f.arena, &f.grid));
	assert_false(seals_of(&f.layout, sheet_csv(&f.grid, &f.arena), &f.arena, &seals, &fault));
	assert_non_null(strstr(fault.message, "section ports does not say whose its rows are"));
	assert_true(grid_build(&f.layout, GRID_CSV, jobs, 1, &f.arena, &f.grid));
	assert_true(seals_of(&f.layout, sheet_csv(&f.grid, &f.arena), &f.arena, &seals, &fault));
	assert_string_equal(seals.item[0].seal.canonical, a.canonical);
	fixture_forget(&other);
	sheet_fixture_free(&f);
}

static void test_layout_lacks(void **state)
{
	(void)state;
	static const struct { size_t section, column; const char *says; } cases[] = {
		{ 0, 2, "the unit code" }, { 0, 3, "the parent's unit code" }, { 1, 1, "the router's serial number" },
		{ 2, 1, "the names of interfaces" }, { 2, 2, "the addresses of interfaces" },
		{ 3, 1, "the names of attached" }, { 3, 3, "the serial numbers of attached" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct sheet_fixture f;
		struct sheet_seals seals;
		struct pm_fault fault = { 0 };
		sheet_fixture_init(&f);
		f.columns[cases[i].section][cases[i].column].fill = word("site/zone");
		const char *csv = sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena);
		if (seals_of(&f.layout, csv, &f.arena, &seals, &fault) || !strstr(fault.message, cases[i].says))
			fail_msg("%s: %s", cases[i].says, fault.message);
		sheet_fixture_free(&f);
	}
	struct sheet_fixture f;
	struct sheet_seals seals;
	struct pm_fault fault = { 0 };
	sheet_fixture_init(&f);
	f.sections[2].titles = PM_TITLES_NONE;
	assert_false(seals_of(&f.layout, sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena), &f.arena, &seals, &fault));
	assert_non_null(strstr(fault.message, "no titles"));
	sheet_fixture_free(&f);
}

/* Is the cell sealed? */
static bool sealed(const char *fill)
{
	static const char *const fills[] = { "site/code", "site/unit", "site/parent", "router/serial", "row/name", "row/address",
	                                     "row/kind", "row/serial" };
	for (size_t i = 0; i < COUNT(fills); i++)
		if (strcmp(fills[i], fill) == 0)
			return true;
	return false;
}

/* Every single-character change of every sealed cell of the sheet changes the
 * seal of its site, or the site itself; of every other cell it does not. */
static void test_every_change(void **state)
{
	(void)state;
	struct sheet_fixture f;
	struct pm_seal right;
	struct pm_arena arena;
	size_t tried = 0, cells = 0;
	sheet_fixture_init(&f);
	f.core.job.name = word("Weir");   /* plain, so that cells can be found in the text */
	struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	assert_true(pm_seal_job(&f.core.job, &f.core.gear, &f.arena, &right));
	for (size_t s = 0; s < grid->layout->section_count; s++)
		for (size_t r = 0; r < grid->sections[s].count; r++)
			for (size_t c = 0; c < grid->sections[s].section->column_count; c++) {
				struct grid_cell *cell = &grid->sections[s].rows[r].cells[c];
				const char *shown = cell->shown;
				bool counts = sealed(grid->sections[s].section->columns[c].fill.text);
				char changed[64];
				cells += *shown != '\0';
				for (size_t at = 0; shown[at]; at++)
					for (int other = '!'; other < 0x7F; other++) {
						struct sheet_seals seals;
						struct pm_fault fault = { 0 };
						bool address = strstr(grid->sections[s].section->columns[c].fill.text, "address") != NULL;
						if (other == shown[at] || (address && pm_lower(other) == pm_lower(shown[at])))
							continue;
						snprintf(changed, sizeof changed, "%s", shown);
						changed[at] = (char)other;
						cell->shown = changed;
						pm_arena_init(&arena);
						const char *csv = sheet_csv(grid, &arena);
						assert_true(seals_of(grid->layout, csv, &arena, &seals, &fault));
						bool same = seals.count == 1 && strcmp(seals.item[0].seal.sha256, right.sha256) == 0;
						if (same == counts)
							fail_msg("\"%s\" for \"%s\" %s the seal", changed, shown, same ? "keeps" : "changes");
						pm_arena_free(&arena);
						tried++;
					}
				cell->shown = shown;
			}
	printf("# figure %zu single-character changes of %zu cells of a sheet: the seal changes with every sealed one\n", tried, cells);
	sheet_fixture_free(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_same), cmocka_unit_test(test_incomplete), cmocka_unit_test(test_batch),
		cmocka_unit_test(test_layout_lacks), cmocka_unit_test(test_every_change),
	};
	return cmocka_run_group_tests_name("sheet seal", tests, NULL, NULL);
}
