#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <sys/wait.h>

#include "portmuster/text.h"
#include "scratch.h"
#include "store/find.h"
#include "store/path.h"

static char folder[200];

static const char *path_of(int slot, const char *name)
{
	static char paths[4][400];
	snprintf(paths[slot], sizeof paths[slot], "%s/%s", folder, name);
	return paths[slot];
}

static void make(const char *name)
{
	char path[400];
	snprintf(path, sizeof path, "%s", path_of(0, name));
	for (char *at = path + strlen(folder) + 1; (at = strchr(at, '/')); *at++ = '/') {
		*at = '\0';
		mkdir(path, 0700);
	}
	assert_true(scratch_write(path, "x", 1));
}

static int setup(void **state)
{
	(void)state;
	if (!scratch_make(folder, sizeof folder))
		return -1;
	setenv("XDG_DATA_HOME", path_of(0, "user"), 1);
	setenv("PORTMUSTER_DATA", path_of(0, "data"), 1);
	return 0;
}

static int teardown(void **state)
{
	(void)state;
	unsetenv("XDG_DATA_HOME");
	unsetenv("PORTMUSTER_DATA");
	scratch_remove(folder);
	return 0;
}

/* The places for a plan, the one that is looked at last first. */
static void test_order(void **state)
{
	(void)state;
	static const char *const places[] = {
		"data/plans/p.yaml", "user/portmuster/plans/p.yaml", "fleet/plans/p.yaml", "fleet/p.yaml",
		"fleet/site/plans/p.yaml", "fleet/site/p.yaml",
	};
	struct pm_fault fault = { 0 };
	char out[500];
	make("fleet/site/job.yaml");
	assert_false(store_find(STORE_PLAN, "p", path_of(1, "fleet/site/job.yaml"), out, sizeof out, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_non_null(strstr(fault.message, "no plan \"p\""));
	assert_non_null(strstr(fault.remedy, "p.yaml in "));
	for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
		make(places[i]);
		assert_true(store_find(STORE_PLAN, "p", path_of(1, "fleet/site/job.yaml"), out, sizeof out, &fault));
		assert_string_equal(out, path_of(2, places[i]));
	}
	/* Without a job only the data folders count. */
	assert_true(store_find(STORE_PLAN, "p", NULL, out, sizeof out, &fault));
	assert_string_equal(out, path_of(2, places[1]));
	assert_false(store_find(STORE_PLAN, "p", path_of(1, "fleet/site/job.yaml"), out, 10, NULL));
}

/* The only layout: the nearest folder that has any decides. */
static void test_only(void **state)
{
	(void)state;
	struct pm_fault fault;
	char out[500];
	const char *job = path_of(1, "fleet/site/job.yaml");
	make("fleet/site/job.yaml");
	assert_false(store_find_only(STORE_SHEET, job, out, sizeof out, &fault));
	assert_int_equal(fault.kind, PM_FAULT_NONE);
	make("data/sheets/far.yaml");
	assert_true(store_find_only(STORE_SHEET, job, out, sizeof out, &fault));
	assert_string_equal(out, path_of(2, "data/sheets/far.yaml"));
	make("data/sheets/other.yaml");
	assert_false(store_find_only(STORE_SHEET, job, out, sizeof out, &fault));
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	assert_non_null(strstr(fault.message, "there are 2 sheet layouts"));
	assert_true(strstr(fault.remedy, "far") && strstr(fault.remedy, "other"));
	/* what is no document, or lies beside the job where jobs lie, does not count */
	make("fleet/near.yaml");
	make("fleet/sheets/.hidden.yaml");
	make("fleet/sheets/desk.xlsx");
	make("fleet/sheets/.yaml");
	assert_false(store_find_only(STORE_SHEET, job, out, sizeof out, &fault));
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	make("fleet/sheets/near.yaml");
	assert_true(store_find_only(STORE_SHEET, job, out, sizeof out, &fault));
	assert_string_equal(out, path_of(2, "fleet/sheets/near.yaml"));
	assert_false(store_find_only(STORE_SHEET, job, out, 10, &fault));
	/* without a job, only the data folders */
	make("user/portmuster/sheets/mine.yaml");
	assert_true(store_find_only(STORE_SHEET, NULL, out, sizeof out, &fault));
	assert_string_equal(out, path_of(2, "user/portmuster/sheets/mine.yaml"));
}

static void test_kinds(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	char out[500];
	make("data/plans/x.yaml");
	make("data/gear/x.yaml");
	make("data/sheets/x.yaml");
	assert_true(store_find(STORE_PLAN, "x", NULL, out, sizeof out, &fault));
	assert_string_equal(out, path_of(1, "data/plans/x.yaml"));
	assert_true(store_find(STORE_GEAR, "x", NULL, out, sizeof out, &fault));
	assert_string_equal(out, path_of(1, "data/gear/x.yaml"));
	assert_true(store_find(STORE_SHEET, "x", NULL, out, sizeof out, &fault));
	assert_string_equal(out, path_of(1, "data/sheets/x.yaml"));
	/* A folder of that name, and the job itself, are not what was meant. */
	make("jobs/x.yaml");
	assert_int_equal(mkdir(path_of(1, "jobs/gear"), 0700), 0);
	assert_int_equal(mkdir(path_of(1, "jobs/gear/x.yaml"), 0700), 0);
	assert_true(store_find(STORE_GEAR, "x", path_of(1, "jobs/x.yaml"), out, sizeof out, &fault));
	assert_string_equal(out, path_of(1, "data/gear/x.yaml"));
}

static void test_relative_jobs(void **state)
{
	(void)state;
	char out[500], here[4096];
	make("fleet/site/job.yaml");
	make("fleet/gear/g.yaml");
	assert_non_null(getcwd(here, sizeof here));
	assert_int_equal(chdir(path_of(0, "fleet/site")), 0);
	assert_true(store_find(STORE_GEAR, "g", "job.yaml", out, sizeof out, NULL));
	assert_string_equal(out, "../gear/g.yaml");
	assert_int_equal(chdir(path_of(0, "fleet")), 0);
	assert_true(store_find(STORE_GEAR, "g", "site/job.yaml", out, sizeof out, NULL));
	assert_string_equal(out, "gear/g.yaml");
	assert_true(store_find(STORE_GEAR, "g", "-", out, sizeof out, NULL));
	assert_string_equal(out, "gear/g.yaml");
	assert_int_equal(chdir(here), 0);
}

static void test_ids(void **state)
{
	(void)state;
	static const char *const bad[] = { "", "a/b", "../p", ".", "p.yaml", "a\nb", "\x1b[2J", "/etc/passwd",
		"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa" };
	struct pm_fault fault = { 0 };
	char out[500];
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_false(store_find(STORE_PLAN, bad[i], NULL, out, sizeof out, &fault));
		assert_int_equal(fault.kind, PM_FAULT_VALUE);
		assert_null(strchr(fault.message, '\x1b'));
	}
	make("data/plans/fl\xC3\xBCt 1_a-B.yaml");
	assert_true(store_find(STORE_PLAN, "fl\xC3\xBCt 1_a-B", NULL, out, sizeof out, &fault));
}

static void test_registry(void **state)
{
	(void)state;
	char out[500];
	assert_false(store_find_registry(out, sizeof out));
	make("data/registry.idx");
	assert_true(store_find_registry(out, sizeof out));
	assert_string_equal(out, path_of(1, "data/registry.idx"));
	make("user/portmuster/registry.idx");
	assert_true(store_find_registry(out, sizeof out));
	assert_string_equal(out, path_of(1, "user/portmuster/registry.idx"));
	/* XDG base directory specification: a relative folder is to be ignored. */
	setenv("XDG_DATA_HOME", "user", 1);
	setenv("HOME", path_of(1, "home"), 1);
	assert_true(store_find_registry(out, sizeof out));
	assert_string_equal(out, path_of(1, "data/registry.idx"));
	make("home/.local/share/portmuster/registry.idx");
	assert_true(store_find_registry(out, sizeof out));
	assert_string_equal(out, path_of(1, "home/.local/share/portmuster/registry.idx"));
}

/* A copy of this program in a folder of its own finds ../share beside it. */
static void test_beside_program(void **state)
{
	(void)state;
	size_t length = 0;
	char *image = scratch_read("/proc/self/exe", &length);
	assert_non_null(image);
	make("opt/bin/program");
	assert_true(scratch_write(path_of(0, "opt/bin/program"), image, length));
	free(image);
	assert_int_equal(chmod(path_of(0, "opt/bin/program"), 0700), 0);
	unsetenv("PORTMUSTER_DATA");
	for (int there = 0; there < 2; there++) {
		char command[1000], expected[500], line[500] = "";
		snprintf(command, sizeof command, "%s --data-folder", path_of(0, "opt/bin/program"));
		snprintf(expected, sizeof expected, "%s/opt/share/portmuster\n", folder);
		if (there)
			make("opt/share/portmuster/registry.idx");
		FILE *child = popen(command, "r");
		assert_non_null(child);
		if (!fgets(line, sizeof line, child))
			line[0] = '\0';
		int status = pclose(child);
		assert_int_equal(WEXITSTATUS(status), there ? 0 : 1);
		assert_string_equal(line, there ? expected : "");
	}
}

static void test_paths(void **state)
{
	(void)state;
	static const struct { const char *path, *folder, *above; } rows[] = {
		{ "a", ".", ".." }, { "a/b", "a", "." }, { "a/b/c", "a/b", "a" }, { "/a", "/", "/" }, { "/a/b", "/a", "/" },
		{ "./a", ".", ".." }, { "../a", "..", "../.." }, { "a/../b", "a/..", "a/../.." }, { "a//b", "a", "." },
		{ "a//b//c", "a//b", "a" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char out[100], above[100];
		assert_true(store_path_folder(rows[i].path, out, sizeof out));
		assert_string_equal(out, rows[i].folder);
		assert_true(store_path_above(out, above, sizeof above));
		assert_string_equal(above, rows[i].above);
	}
	char out[4];
	assert_false(store_path_join("abc", "d", out, sizeof out));
	assert_false(store_path_folder("abcd/e", out, sizeof out));
}

int main(int argc, char **argv)
{
	if (argc == 2 && !strcmp(argv[1], "--data-folder")) {
		char out[500];
		bool told = store_data_folder(out, sizeof out);
		if (told)
			puts(out);
		return told ? 0 : 1;
	}
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_order, setup, teardown),
		cmocka_unit_test_setup_teardown(test_only, setup, teardown),
		cmocka_unit_test_setup_teardown(test_kinds, setup, teardown),
		cmocka_unit_test_setup_teardown(test_relative_jobs, setup, teardown),
		cmocka_unit_test_setup_teardown(test_ids, setup, teardown),
		cmocka_unit_test_setup_teardown(test_registry, setup, teardown),
		cmocka_unit_test_setup_teardown(test_beside_program, setup, teardown),
		cmocka_unit_test(test_paths),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
