#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/resource.h>
#include <signal.h>

#include <cmocka.h>

#include "scratch.h"
#include "sheet_fixture.h"
#include "store/csv.h"

/* The finding about a cell, or null; `index` (if given) receives its index. */
static const struct pm_finding *about(const struct grid *grid, const char *cell, size_t *index)
{
	for (size_t i = 0; i < grid->trouble.list.count; i++)
		if (pm_same(grid->trouble.list.item[i].field, cell)) {
			if (index)
				*index = i;
			return &grid->trouble.list.item[i];
		}
	return NULL;
}

static void test_csv(void **state)
{
	(void)state;
	struct sheet_fixture f;
	sheet_fixture_init(&f);
	const char *csv = sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena);
	static const char head[] =
		"Part A,,,,\r\nSite,Name,Unit,Parent,Desk\r\nTB-01,\"Weir, \"\"upper\"\"\",GS-0417,GP-02,\r\n"
		"Site,Serial,,,\r\nTB-01,EG12-26-00417,,,\r\nPart C,,,,\r\nSite,Interface,Address,Check,\r\n"
		"TB-01,mgmt,00-00-5E-00-53-10,3,\r\nTB-01,port1,00-00-5E-00-53-11,1,\r\n";
	static const char tail[] = "Site,Name,Kind,Serial,Address\r\nTB-01,north camera,camera,K-1,0000.5e00.53a1\r\n"
	                           "TB-01,cabinet,telephone,,\r\n";
	assert_int_equal(strncmp(csv, head, sizeof head - 1), 0);
	assert_string_equal(csv + strlen(csv) - (sizeof tail - 1), tail);
	assert_int_equal(f.grid.trouble.list.count, 0);
	/* read back: as many records as there are rows, all of one width, in the places the grid says */
	struct csv_reader reader;
	struct pm_words fields;
	struct pm_fault fault = { 0 };
	uint32_t row = 0;
	csv_open(&reader, csv, strlen(csv), "sheet.csv", &f.arena);
	for (; csv_next(&reader, &fields, &fault) > 0; row++) {
		assert_int_equal(fields.count, f.grid.width);
		for (size_t s = 0; s < f.layout.section_count; s++) {
			const struct grid_section *section = &f.grid.sections[s];
			if (row >= section->first && row < section->first + section->count)
				for (size_t i = 0; i < section->section->column_count; i++)
					assert_string_equal(fields.item[i].text, section->rows[row - section->first].cells[i].shown);
		}
	}
	assert_int_equal(row, f.grid.sections[3].first + 2);
	sheet_fixture_free(&f);
}

/* A record whose one field is empty is written so that a reader finds it. */
static void test_narrow(void **state)
{
	(void)state;
	struct sheet_fixture f;
	sheet_fixture_init(&f);
	f.layout.section_count = 1;
	f.sections[0].column_count = 1;
	f.sections[0].heading = word(NULL);
	f.columns[0][0].fill = word("site/crew");
	assert_string_equal(sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena), "Site\r\n\"\"\r\n");
	f.sections[0].titles = PM_TITLES_NONE;
	f.core.job.crew = word("north");
	assert_string_equal(sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena), "north\r\n");
	sheet_fixture_free(&f);
}

static void test_problems(void **state)
{
	(void)state;
	static const struct {
		const char *name, *value;
		enum pm_severity severity;
		const char *says, *shown;
	} cases[] = {
		{ "fits", "Weir", PM_NOTE, NULL, "Weir" },
		{ "blanks at the ends", " Weir\t", PM_NOTE, NULL, "Weir" },
		{ "missing", NULL, PM_STOP, "no value", "" },
		{ "blank", "  ", PM_STOP, "no value", "" },
		{ "as wide as can be", "123456789012", PM_NOTE, NULL, "123456789012" },
		{ "as wide, not ASCII", "\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9", PM_NOTE, NULL,
		  "\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9" },
		{ "too wide", "1234567890123", PM_STOP, "13 characters where the desk takes 12", "1234567890123" },
		{ "control character", "We\x07ir", PM_STOP, "does not show", "We\\x07ir" },
		{ "line break", "We\nir", PM_STOP, "does not show", "We\\x0Air" },
		{ "not UTF-8", "We\xFFir", PM_STOP, "not UTF-8", "We\\xFFir" },
		{ "direction turned", "We\xE2\x80\xAEir", PM_STOP, "does not show", "We\\u{202E}ir" },
		{ "formula", "=A1", PM_WARN, "apostrophe", "'=A1" },
		{ "plus", "+49", PM_WARN, "apostrophe", "'+49" },
		{ "minus", "-5", PM_WARN, "apostrophe", "'-5" },
		{ "at", "@x", PM_WARN, "apostrophe", "'@x" },
		{ "an apostrophe of its own", "'=A1", PM_WARN, "apostrophe", "''=A1" },
		{ "an apostrophe in front of nothing that runs", "'Weir", PM_NOTE, NULL, "'Weir" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct sheet_fixture f;
		sheet_fixture_init(&f);
		f.core.job.name = word(cases[i].value);
		f.columns[0][1].required = true;
		f.columns[0][1].widest = 12;
		struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
		const struct pm_finding *finding = about(grid, "B3", NULL);
		if (!pm_same(grid->sections[0].rows[0].cells[1].shown, cases[i].shown))
			fail_msg("%s: shows \"%s\"", cases[i].name, grid->sections[0].rows[0].cells[1].shown);
		if (!cases[i].says != !finding || (finding && (finding->severity != cases[i].severity || finding->code != PM_SHEET_CELL ||
		                                               !strstr(finding->message, cases[i].says))))
			fail_msg("%s: %s", cases[i].name, finding ? finding->message : "no finding");
		assert_int_equal(grid->trouble.list.count, finding != NULL);
		/* no control character reaches the file, problem or not */
		for (const char *c = sheet_csv(grid, &f.arena); *c; c++)
			assert_true((unsigned char)*c >= ' ' || *c == '\r' || *c == '\n');
		sheet_fixture_free(&f);
	}
}

/* A key that a layout does not have is told; it holds nothing up. */
static void test_stray_key(void **state)
{
	(void)state;
	struct sheet_fixture f;
	struct pm_stray_key strays[] = { { { "wideste", 7, 9 }, "column", "widest" }, { { "colour\x1B", 8, 3 }, "section", NULL } };
	sheet_fixture_init(&f);
	f.layout.strays = (struct pm_stray_keys){ strays, 2 };
	const struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	assert_int_equal(grid->trouble.list.count, 2);
	const struct pm_finding *finding = grid->trouble.list.item;
	assert_int_equal(finding[0].code, PM_KEY_UNKNOWN);
	assert_int_equal(finding[0].severity, PM_WARN);
	assert_string_equal(finding[0].message, "line 7 of the layout: a column has no key \"wideste\"");
	assert_string_equal(finding[0].remedy, "write widest if that is meant");
	assert_int_equal(finding[0].place.line, 7);
	assert_int_equal(finding[0].place.column, 9);
	assert_string_equal(finding[1].message, "line 8 of the layout: a section has no key \"colour\\x1B\"");
	sheet_fixture_free(&f);
}

static void test_formula_refused(void **state)
{
	(void)state;
	struct sheet_fixture f;
	sheet_fixture_init(&f);
	f.core.job.name = word("=1+1");
	f.layout.apostrophe = false;
	struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	assert_int_equal(about(grid, "B3", NULL)->severity, PM_STOP);
	assert_null(strstr(sheet_csv(grid, &f.arena), "=1+1"));
	/* too wide as well: a draft must not run it either */
	f.layout.apostrophe = true;
	f.columns[0][1].widest = 2;
	grid = sheet_fixture_grid(&f, GRID_CSV);
	assert_int_equal(about(grid, "B3", NULL)->severity, PM_STOP);
	assert_null(strstr(sheet_csv(grid, &f.arena), "=1+1"));
	/* a workbook keeps it as text */
	f.columns[0][1].widest = 0;
	grid = sheet_fixture_grid(&f, GRID_WORKBOOK);
	assert_int_equal(grid->trouble.list.count, 0);
	assert_string_equal(grid->sections[0].rows[0].cells[1].shown, "=1+1");
	sheet_fixture_free(&f);
}

static void test_address_cells(void **state)
{
	(void)state;
	static const struct { const char *example, *written; } cases[] = {
		{ "00-00-5E-00-53-01", "00-00-5E-00-53-1C" }, { "00-00-5e-00-53-01", "00-00-5e-00-53-1c" },
		{ "00:00:5e:00:53:01", "00:00:5e:00:53:1c" }, { "0:0:5e:0:53:1", "0:0:5e:0:53:1c" },
		{ "0000.5e00.5301", "0000.5e00.531c" },       { "00.00.5E.00.53.01", "00.00.5E.00.53.1C" },
		{ "00005E005301", "00005E00531C" },           { "00 00 5E 00 53 01", "00 00 5E 00 53 1C" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct sheet_fixture f;
		sheet_fixture_init(&f);
		f.columns[2][2].example = word(cases[i].example);
		struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
		assert_string_equal(grid->sections[2].rows[12].cells[2].text, cases[i].written);
		sheet_fixture_free(&f);
	}
	struct sheet_fixture f;
	sheet_fixture_init(&f);
	f.attached[0].address = word("no address");
	f.columns[3][4].form = word("HHHH.HHHH.HHHH");
	struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	assert_non_null(strstr(about(grid, "E23", NULL)->message, "is no hardware address"));
	f.attached[0].address = word("00-00-5E-00-53-A1");
	grid = sheet_fixture_grid(&f, GRID_CSV);   /* the form wants upper case, the example lower */
	assert_non_null(strstr(about(grid, "E23", NULL)->message, "does not fit the desk's form"));
	sheet_fixture_free(&f);
}

/* Readings that differ are no empty cell. */
static void test_conflict(void **state)
{
	(void)state;
	struct sheet_fixture f;
	size_t index;
	sheet_fixture_init(&f);
	fixture_say(&f.core, "port/port3", "00-00-5E-00-53-FF");
	struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	const struct pm_finding *finding = about(grid, "C11", &index);
	assert_non_null(finding);
	assert_int_equal(finding->severity, PM_STOP);
	assert_string_equal(finding->interface, "port3");
	assert_non_null(strstr(finding->message, "C11 \"Address\": its readings differ"));
	assert_string_equal(grid->trouble.detail[index].site, "TB-01");
	assert_string_equal(grid->trouble.detail[index].column, "Address");
	grid = sheet_fixture_grid(&f, GRID_WORKBOOK);
	assert_non_null(about(grid, "Ports!D5", NULL));
	sheet_fixture_free(&f);
}

/* Whatever the order the jobs are named in, the sheet is the same. */
static void test_batch(void **state)
{
	(void)state;
	struct sheet_fixture f;
	struct fixture other[2];
	sheet_fixture_init(&f);
	for (int i = 0; i < 2; i++) {
		fixture_init(&other[i]);
		fixture_reach(&other[i], REGISTER);
		other[i].job.code = word(i ? "TA-99" : "TB-010");
		other[i].job.file = i ? "a.yaml" : "b.yaml";
	}
	const struct grid_job jobs[3] = { { .job = &f.core.job, .gear = &f.core.gear }, { .job = &other[0].job, .gear = &other[0].gear },
	                                  { .job = &other[1].job, .gear = &other[1].gear } };
	const char *first = NULL;
	static const int orders[6][3] = { { 0, 1, 2 }, { 0, 2, 1 }, { 1, 0, 2 }, { 1, 2, 0 }, { 2, 0, 1 }, { 2, 1, 0 } };
	for (size_t i = 0; i < COUNT(orders); i++) {
		const struct grid_job order[3] = { jobs[orders[i][0]], jobs[orders[i][1]], jobs[orders[i][2]] };
		assert_true(grid_build(&f.layout, GRID_CSV, order, 3, &f.arena, &f.grid));
		const char *csv = sheet_csv(&f.grid, &f.arena);
		if (!first)
			first = csv;
		assert_string_equal(csv, first);
	}
	assert_int_equal(f.grid.trouble.list.count, 0);
	assert_int_equal(f.grid.sections[0].count, 3);
	assert_int_equal(f.grid.sections[2].count, 3 * FIXTURE_PORTS);
	assert_string_equal(f.grid.sections[0].rows[0].cells[0].text, "TA-99");
	assert_string_equal(f.grid.sections[0].rows[1].cells[0].text, "TB-01");
	assert_string_equal(f.grid.sections[2].rows[39 - 1].cells[0].text, "TB-010");
	/* one site code twice can't be told apart */
	other[0].job.code = word("TB-01");
	assert_true(grid_build(&f.layout, GRID_CSV, jobs, 3, &f.arena, &f.grid));
	assert_int_equal(f.grid.trouble.list.item[0].code, PM_SHEET_STRUCTURE);
	other[0].job.code = word("TB-010");
	/* in the workbook six rows of sites have no room above the next section's titles */
	f.sections[1].first = word("A6");
	assert_true(grid_build(&f.layout, GRID_WORKBOOK, jobs, 3, &f.arena, &f.grid));
	assert_int_equal(f.grid.trouble.list.count, 1);
	assert_non_null(strstr(f.grid.trouble.list.item[0].message, "has 3 rows and room for 2 before section router"));
	f.sections[1].first = word("A7");
	assert_true(grid_build(&f.layout, GRID_WORKBOOK, jobs, 3, &f.arena, &f.grid));
	assert_int_equal(f.grid.trouble.list.count, 0);
	for (int i = 0; i < 2; i++)
		fixture_forget(&other[i]);
	sheet_fixture_free(&f);
}

/* A device that takes no more bytes: the earlier sheet stays, nothing else is left. */
static void test_full_disk(void **state)
{
	(void)state;
	struct sheet_fixture f;
	char folder[200], path[300];
	struct pm_fault fault = { 0 };
	struct rlimit before, none;
	sheet_fixture_init(&f);
	struct grid *grid = sheet_fixture_grid(&f, GRID_CSV);
	assert_true(scratch_make(folder, sizeof folder));
	snprintf(path, sizeof path, "%s/sheet.csv", folder);
	assert_true(csv_save(grid, path, &fault));
	char *earlier = scratch_read(path, NULL);
	assert_string_equal(earlier, sheet_csv(grid, &f.arena));
	f.core.job.name = word("another name");
	grid = sheet_fixture_grid(&f, GRID_CSV);
	/* the limit on a file's size stands for the full device: both fail a write in the middle */
	void (*handler)(int) = signal(SIGXFSZ, SIG_IGN);
	assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
	for (rlim_t most = 0; most < 600; most += 37) {
		none = (struct rlimit){ most, before.rlim_max };
		assert_int_equal(setrlimit(RLIMIT_FSIZE, &none), 0);
		bool saved = csv_save(grid, path, &fault);
		assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
		assert_false(saved);
		assert_true(fault.message[0]);
		char *now = scratch_read(path, NULL);
		assert_string_equal(now, earlier);
		free(now);
		assert_int_equal(scratch_count(folder), 1);
	}
	signal(SIGXFSZ, handler);
	assert_true(csv_save(grid, path, &fault));
	free(earlier);
	scratch_remove(folder);
	sheet_fixture_free(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_csv), cmocka_unit_test(test_narrow), cmocka_unit_test(test_stray_key), cmocka_unit_test(test_problems),
		cmocka_unit_test(test_formula_refused), cmocka_unit_test(test_address_cells), cmocka_unit_test(test_conflict),
		cmocka_unit_test(test_batch), cmocka_unit_test(test_full_disk),
	};
	return cmocka_run_group_tests_name("grid", tests, NULL, NULL);
}
