/* Whose options hold for which job, whatever folders are given in whatever order. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <limits.h>
#include <stdlib.h>

#include "gather_fixture.h"

/* A folder's options, told apart by their days. */
static void put_options(const char *name, int days)
{
	char text[120];
	snprintf(text, sizeof text, "format: \"1\"\ndeadline: \"2026-12-%02d\"\nstall-days: \"%d\"\n", days, days);
	put_text(name, text);
}

static const struct pm_fleet_options *options_of(const struct gather *gather, const char *name)
{
	const struct pm_fleet *fleet = gather_fleet(gather);
	char wanted[PATH_MAX], real[PATH_MAX];
	assert_non_null(realpath(at_path(name), wanted));
	for (size_t i = 0; i < fleet->count; i++)
		if (realpath(fleet->site[i].file, real) && strcmp(real, wanted) == 0) {
			assert_in_range(fleet->site[i].folder, 0, fleet->folder_count);
			return pm_fleet_options_at(fleet, fleet->site[i].folder);
		}
	fail_msg("%s has no row", name);
	return NULL;
}

static struct gather *gather_of(size_t count, const char *const *names, bool turned)
{
	const char *given[8];
	struct pm_fault fault = { 0 };
	for (size_t i = 0; i < count; i++)
		given[turned ? count - 1 - i : i] = at_path(names[i]);
	struct gather *gather = begin_of(given, count, NULL, 0, &fault);
	if (!gather)
		fail_msg("%s", fault.message);
	wait_for(gather);
	return gather;
}

struct held {
	const char *name;
	int64_t days;   /* 14: nobody's */
};

static void holds(size_t count, const char *const *names, const struct held *held, size_t rows)
{
	for (int turned = 0; turned < 2; turned++) {
		struct gather *gather = gather_of(count, names, turned);
		assert_int_equal(gather_fleet(gather)->count, rows);
		for (size_t i = 0; i < rows; i++) {
			const struct pm_fleet_options *o = options_of(gather, held[i].name);
			if (o->stall_days != held[i].days || o->has_deadline != (held[i].days != PM_STALL_DAYS))
				fail_msg("%s, %s: %d days", names[turned ? count - 1 : 0], held[i].name, (int)o->stall_days);
		}
		assert_false(gather_changed(gather));
		gather_free(gather);
	}
}

#define HOLDS(rows, ...) do { \
	static const char *const given[] = { __VA_ARGS__ }; \
	holds(sizeof given / sizeof *given, given, rows, sizeof rows / sizeof *rows); \
} while (0)

static void fill(void)
{
	static const char *const jobs[] = {
		"north/a.yaml", "north/upper/b.yaml", "north/upper/deep/c.yaml", "north/lower/d.yaml", "south/e.yaml", "bare/f.yaml",
	};
	for (unsigned i = 0; i < sizeof jobs / sizeof *jobs; i++)
		put_job(jobs[i], i);
	put_options("north/fleet.yaml", 3);
	put_options("north/upper/fleet.yaml", 4);
	put_options("south/fleet.yaml", 5);
	put_options("fleet.yaml", 9);   /* above all that is given: never looked at */
}

static void test_nearest(void **state)
{
	(void)state;
	static const struct held all[] = {
		{ "north/a.yaml", 3 }, { "north/upper/b.yaml", 4 }, { "north/upper/deep/c.yaml", 4 }, { "north/lower/d.yaml", 3 },
		{ "south/e.yaml", 5 }, { "bare/f.yaml", 14 },
	};
	static const struct held lower[] = { { "north/lower/d.yaml", 14 }, { "south/e.yaml", 5 } };
	fill();
	rest();
	HOLDS(all, "north", "south", "bare");
	HOLDS(all, "south/", "bare", "north//");
	/* a folder given within another that is: the outer one's hold in either order */
	HOLDS(all, "north/lower", "north", "south", "bare");
	HOLDS(all, "north/upper/deep", "north/./lower", "north", "south", "bare");
	/* and by itself it is all there is */
	HOLDS(lower, "north/lower", "south");
}

static void test_single_files(void **state)
{
	(void)state;
	static const struct held some[] = { { "north/a.yaml", 3 }, { "north/lower/d.yaml", 14 }, { "south/e.yaml", 5 } };
	static const struct held inside[] = {
		{ "north/a.yaml", 3 }, { "north/upper/b.yaml", 4 }, { "north/upper/deep/c.yaml", 4 }, { "north/lower/d.yaml", 3 },
	};
	fill();
	rest();
	HOLDS(some, "north/a.yaml", "north/lower/d.yaml", "south");
	HOLDS(inside, "north/lower/d.yaml", "north");
	/* of files that were named one by one it is not known what else there is */
	static const char *const names[] = { "north/a.yaml", "south" };
	struct gather *gather = gather_of(2, names, false);
	assert_true(options_of(gather, "north/a.yaml")->partial);
	assert_false(options_of(gather, "south/e.yaml")->partial);
	gather_free(gather);
	static const char *const both[] = { "north/a.yaml", "north" };
	gather = gather_of(2, both, false);
	assert_false(options_of(gather, "north/a.yaml")->partial);
	gather_free(gather);
}

static void test_where_one_stands(void **state)
{
	(void)state;
	static const char *const forms[] = { ".", "./", "north/..", "./north/upper/../.." };
	char before[600];
	assert_non_null(getcwd(before, sizeof before));
	fill();
	char data[700];
	snprintf(data, sizeof data, "%s/data", before);
	setenv("PORTMUSTER_DATA", data, 1);
	assert_int_equal(chdir(gather_root), 0);
	for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
		struct gather *gather = begin_of(&forms[i], 1, NULL, 0, NULL);
		assert_non_null(gather);
		wait_for(gather);
		const struct pm_fleet *fleet = gather_fleet(gather);
		assert_int_equal(fleet->count, 6);
		for (size_t k = 0; k < fleet->count; k++) {
			const char *file = fleet->site[k].file;
			int64_t days = pm_fleet_options_at(fleet, fleet->site[k].folder)->stall_days;
			int64_t expected = strstr(file, "upper/b") || strstr(file, "deep") ? 4 : strstr(file, "e.yaml") ? 5 :
			                   strstr(file, "f.yaml") ? 9 : 3;
			if (days != expected)
				fail_msg("%s: %s: %d", forms[i], file, (int)days);
		}
		gather_free(gather);
	}
	assert_int_equal(chdir(before), 0);
}

/* One that can't be read is a row; its folder's jobs have no options then. */
static void test_bad(void **state)
{
	(void)state;
	static const char *const names[] = { "north" };
	fill();
	put_text("north/upper/fleet.yaml", "format: \"1\"\nstall-days: \"x\"\n");
	rest();
	struct gather *gather = gather_of(1, names, false);
	const struct pm_site_summary *row = row_of(gather, "north/upper/fleet.yaml");
	assert_non_null(row);
	assert_non_null(strstr(row->fault, "stall-days"));
	assert_int_equal(row->fault_line, 2);
	assert_int_equal(gather_fleet(gather)->count, 5);
	assert_int_equal(gather_total(gather), 5);
	assert_int_equal(options_of(gather, "north/upper/deep/c.yaml")->stall_days, PM_STALL_DAYS);
	assert_int_equal(options_of(gather, "north/a.yaml")->stall_days, 3);
	assert_false(gather_changed(gather));
	assert_false(gather_again(gather, pm_when_utc(GATHER_NOW)));
	struct gather_detail detail;
	struct pm_fault fault;
	for (size_t i = 0; i < gather_fleet(gather)->count; i++)
		if (&gather_fleet(gather)->site[i] == row) {
			assert_false(gather_open(gather, i, &detail, &fault));
			assert_int_equal(fault.line, 2);
		}
	gather_free(gather);
}

static void again(struct gather *gather, size_t rows)
{
	rest();
	assert_true(gather_changed(gather));
	assert_true(gather_again(gather, pm_when_utc(GATHER_NOW + 1)));
	wait_for(gather);
	assert_int_equal(gather_fleet(gather)->count, rows);
	assert_false(gather_changed(gather));
}

static void test_again(void **state)
{
	(void)state;
	static const char *const names[] = { "north", "south" };
	fill();
	rest();
	struct gather *gather = gather_of(2, names, false);
	assert_int_equal(options_of(gather, "north/lower/d.yaml")->stall_days, 3);
	put_options("north/lower/fleet.yaml", 6);   /* comes */
	again(gather, 5);
	assert_int_equal(options_of(gather, "north/lower/d.yaml")->stall_days, 6);
	assert_int_equal(options_of(gather, "north/a.yaml")->stall_days, 3);
	put_text("north/upper/fleet.yaml", "format: [\n");   /* breaks */
	again(gather, 6);
	assert_non_null(row_of(gather, "north/upper/fleet.yaml")->fault);
	put_options("north/upper/fleet.yaml", 7);   /* is mended */
	again(gather, 5);
	assert_int_equal(options_of(gather, "north/upper/b.yaml")->stall_days, 7);
	unlink(at_path("north/upper/fleet.yaml"));   /* goes */
	again(gather, 5);
	assert_int_equal(options_of(gather, "north/upper/deep/c.yaml")->stall_days, 3);
	put_job("south/new/g.yaml", 20);   /* a folder that comes with its own */
	put_options("south/new/fleet.yaml", 8);
	again(gather, 6);
	assert_int_equal(options_of(gather, "south/new/g.yaml")->stall_days, 8);
	assert_int_equal(options_of(gather, "south/e.yaml")->stall_days, 5);
	gather_free(gather);
}

static void test_another_deadline(void **state)
{
	(void)state;
	fill();
	const char *given[] = { at_path("north"), at_path("bare") };
	struct gather_options options = { .folder = given, .folder_count = 2, .now = pm_when_utc(GATHER_NOW), .has_deadline = true };
	int64_t first, last;
	assert_true(pm_day_read("2026-11-01", &options.deadline_day, NULL));
	struct gather *gather = gather_begin(&options, NULL);
	wait_for(gather);
	assert_true(pm_fleet_deadlines(gather_fleet(gather), &first, &last));
	assert_true(first == options.deadline_day && last == first);
	assert_true(options_of(gather, "bare/f.yaml")->has_deadline);
	assert_int_equal(options_of(gather, "north/a.yaml")->stall_days, 3);
	gather_free(gather);
}

/* The same file of options, reached by a link, is one. */
static void test_links(void **state)
{
	(void)state;
	static const char *const names[] = { "north", "joined" };
	fill();
	put_job("joined/z.yaml", 9);
	assert_int_equal(symlink("../south", at_path("joined/south")), 0);
	assert_int_equal(symlink("../north/fleet.yaml", at_path("joined/fleet.yaml")), 0);
	struct gather *gather = gather_of(2, names, false);
	assert_int_equal(options_of(gather, "joined/z.yaml")->stall_days, 3);
	assert_int_equal(options_of(gather, "joined/south/e.yaml")->stall_days, 5);
	assert_int_equal(row_of(gather, "joined/z.yaml")->folder, row_of(gather, "north/a.yaml")->folder);
	assert_int_equal(gather_fleet(gather)->folder_count, 3);
	gather_free(gather);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_nearest, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_single_files, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_where_one_stands, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_bad, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_again, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_another_deadline, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_links, gather_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
