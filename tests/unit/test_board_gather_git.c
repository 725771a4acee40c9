/* The job files of a git revision, in a repository made for it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "gather_git_fixture.h"

static int repo_setup(void **state)
{
	if (gather_setup(state) != 0)
		return -1;
	git_begin();
	put_job("repo/fleet/a.yaml", 0);
	put_job("repo/fleet/north/b.yaml", 1);
	put_job("repo/fleet/plans/p.yaml", 1);
	put_job("repo/fleet/.hidden/h.yaml", 1);
	put_job("repo/fleet/\xC3\xBC \"x\"\n.yaml", 2);
	put_job("repo/elsewhere.yaml", 3);
	put_text("repo/fleet/fleet.yaml", "format: \"1\"\n");
	put_text("repo/fleet/torn.yaml", "format: [\n");
	put_text("repo/fleet/empty.yaml", "");
	assert_int_equal(symlink("a.yaml", at_path("repo/fleet/link.yaml")), 0);
	GIT("add", ".");
	GIT("commit", "-q", "-m", "first");
	GIT("tag", "start");
	put_job("repo/fleet/a.yaml", 100);
	unlink(at_path("repo/fleet/torn.yaml"));
	put_job("repo/fleet/c.yaml", 101);
	GIT("add", "-A", ".");
	GIT("commit", "-q", "-m", "second");
	return 0;
}

static struct gather *at_revision(const char *name, const char *revision)
{
	const char *path = at_path(name);
	struct pm_fault fault = { 0 };
	struct gather *gather = begin_of(&path, 1, revision, 0, &fault);
	if (!gather)
		fail_msg("%s", fault.message);
	wait_for(gather);
	return gather;
}

static void test_revisions(void **state)
{
	(void)state;
	static const char *const names[] = { "start", "HEAD~1", "main~1", "HEAD^" };
	for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
		struct gather *gather = at_revision("repo/fleet", names[i]);
		assert_int_equal(gather_fleet(gather)->count, 5);
		assert_string_equal(row_of(gather, "repo/fleet/a.yaml")->code, "TB-00000");
		assert_string_equal(row_of(gather, "repo/fleet/north/b.yaml")->code, "TB-00001");
		assert_string_equal(row_of(gather, "repo/fleet/\xC3\xBC \"x\"\n.yaml")->code, "TB-00002");
		assert_int_equal(row_of(gather, "repo/fleet/torn.yaml")->fault_line, 2);
		assert_non_null(strstr(row_of(gather, "repo/fleet/empty.yaml")->fault, "no document"));
		assert_null(row_of(gather, "repo/fleet/c.yaml"));
		assert_false(gather_changed(gather));
		assert_false(gather_again(gather, pm_when_utc(GATHER_NOW + 100000)));
		gather_free(gather);
	}
	struct gather *gather = at_revision("repo/fleet", "HEAD");
	assert_string_equal(row_of(gather, "repo/fleet/a.yaml")->code, "TB-00100");
	assert_null(row_of(gather, "repo/fleet/torn.yaml"));
	assert_non_null(row_of(gather, "repo/fleet/c.yaml"));
	gather_free(gather);
}

/* What lies in the folder and was never committed is of no revision. */
static void test_not_committed(void **state)
{
	(void)state;
	put_job("repo/fleet/a.yaml", 200);
	put_job("repo/fleet/new.yaml", 201);
	struct gather *gather = at_revision("repo/fleet", "HEAD");
	assert_string_equal(row_of(gather, "repo/fleet/a.yaml")->code, "TB-00100");
	assert_null(row_of(gather, "repo/fleet/new.yaml"));
	gather_free(gather);
}

static void test_open_at_revision(void **state)
{
	(void)state;
	struct gather *gather = at_revision("repo/fleet", "start");
	struct gather_detail detail;
	struct pm_fault fault;
	for (size_t i = 0; i < gather_fleet(gather)->count; i++) {
		const struct pm_site_summary *site = &gather_fleet(gather)->site[i];
		bool good = gather_open(gather, i, &detail, &fault);
		assert_int_equal(good, !site->fault);
		if (good) {
			assert_string_equal(detail.job.job.code.text, site->code);
			gather_close(&detail);
		}
	}
	gather_free(gather);
}

static void test_folders_and_files(void **state)
{
	(void)state;
	const char *given[] = { at_path("repo/fleet/north"), at_path("repo/fleet/a.yaml"), at_path("repo"), at_path("repo/fleet"), at_path("none") };
	struct gather *gather = begin_of(given, 5, "start", 0, NULL);
	wait_for(gather);
	const struct pm_fleet *fleet = gather_fleet(gather);
	/* each once: north's, the single one, the rest of the repository, nothing more, and a fault */
	assert_int_equal(fleet->count, 7);
	assert_string_equal(fleet->site[0].code, "TB-00001");
	assert_string_equal(fleet->site[1].code, "TB-00000");
	assert_string_equal(fleet->site[2].code, "TB-00003");
	assert_non_null(fleet->site[6].fault);
	gather_free(gather);
	/* a file that came later */
	gather = at_revision("repo/fleet/c.yaml", "start");
	assert_int_equal(gather_fleet(gather)->count, 1);
	assert_non_null(strstr(gather_fleet(gather)->site[0].fault, "no such file or folder at this revision"));
	gather_free(gather);
}

/* A file or a folder that was deleted since then: it is there at the revision. */
static void test_deleted_since(void **state)
{
	(void)state;
	static const struct { const char *given, *row; size_t rows; } cases[] = {
		{ "repo/fleet/torn.yaml", "repo/fleet/torn.yaml", 1 },
		{ "repo/fleet/north/b.yaml", "repo/fleet/north/b.yaml", 1 },
		{ "repo/fleet/north", "repo/fleet/north/b.yaml", 1 },
		{ "repo/fleet/north/", "repo/fleet/north/b.yaml", 1 },
		{ "repo/fleet/plans", "repo/fleet/plans/p.yaml", 1 },   /* named itself, as on disk */
		{ "repo/fleet", "repo/fleet/torn.yaml", 5 },
	};
	char before[600];
	put_text("repo/fleet/north/fleet.yaml", "format: \"1\"\n");
	put_text("repo/fleet/plans/q.yaml", "format: \"1\"\n");
	GIT("rm", "-r", "-q", "fleet/north", "fleet/plans");
	GIT("commit", "-q", "-m", "gone");
	unlink(at_path("repo/fleet/north/fleet.yaml"));
	unlink(at_path("repo/fleet/plans/q.yaml"));
	rmdir(at_path("repo/fleet/north"));
	rmdir(at_path("repo/fleet/plans"));
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct gather *gather = at_revision(cases[i].given, "start");
		struct gather_detail detail;
		struct pm_fault fault = { 0 };
		if (gather_fleet(gather)->count != cases[i].rows || !row_of(gather, cases[i].row))
			fail_msg("%s: %s", cases[i].given, names_of(gather));
		for (size_t k = 0; k < cases[i].rows; k++)
			if (!gather_fleet(gather)->site[k].fault) {
				assert_true(gather_open(gather, k, &detail, &fault));
				gather_close(&detail);
			}
		gather_free(gather);
	}
	/* the same from within */
	assert_non_null(getcwd(before, sizeof before));
	char data[700];
	snprintf(data, sizeof data, "%s/data", before);
	setenv("PORTMUSTER_DATA", data, 1);
	assert_int_equal(chdir(at_path("repo")), 0);
	static const char *const near[] = { "fleet/north/b.yaml", "./fleet/north/b.yaml", "fleet/north" };
	for (size_t i = 0; i < sizeof near / sizeof *near; i++) {
		struct gather *gather = begin_of(&near[i], 1, "start", 0, NULL);
		assert_non_null(gather);
		wait_for(gather);
		assert_int_equal(gather_fleet(gather)->count, 1);
		assert_string_equal(gather_fleet(gather)->site[0].code, "TB-00001");
		gather_free(gather);
	}
	assert_int_equal(chdir(before), 0);
	/* what was never there is refused at once */
	const char *never = at_path("repo/fleet/never.yaml");
	struct pm_fault fault = { 0 };
	assert_null(begin_of(&never, 1, "start", 0, &fault));
	assert_string_equal(fault.message, "no such file or folder at this revision");
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
}

static void test_refused(void **state)
{
	(void)state;
	static const struct { const char *folder, *revision, *fault; } cases[] = {
		{ "repo/fleet", "nosuch", "\"nosuch\" is not known to this repository" },
		{ "repo/fleet", "HEAD~9", "is not known to this repository" },
		{ "repo/fleet", "start:fleet/a.yaml", "is not known to this repository" },
		{ "repo/fleet", "--help", "\"--help\" is no git revision" },
		{ "repo/fleet", "-", "is no git revision" },
		{ "repo/fleet", "", "is no git revision" },
		{ "repo/fleet", "$(touch x);`touch x`", "is not known to this repository" },
		{ "repo/fleet", "a\x1b[2Jb", "\\x1B" },
		{ "bare", "HEAD", "not a git repository" },
		{ "gone", "HEAD", "no such file or folder" },
	};
	mkdir(at_path("bare"), 0700);
	setenv("GIT_CEILING_DIRECTORIES", gather_root, 1);
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		const char *path = at_path(cases[i].folder);
		struct pm_fault fault = { 0 };
		assert_null(begin_of(&path, 1, cases[i].revision, 0, &fault));
		if (!strstr(fault.message, cases[i].fault))
			fail_msg("%s: %s", cases[i].revision, fault.message);
		assert_true(i == 9 || fault.remedy[0]);
	}
	unsetenv("GIT_CEILING_DIRECTORIES");
}

static void test_no_git(void **state)
{
	(void)state;
	char path[4000];
	struct pm_fault fault = { 0 };
	const char *given = at_path("repo/fleet");
	snprintf(path, sizeof path, "%s", getenv("PATH"));
	setenv("PATH", at_path("nowhere"), 1);
	assert_null(begin_of(&given, 1, "HEAD", 0, &fault));
	setenv("PATH", path, 1);
	assert_non_null(strstr(fault.message, "git can't be run"));
	assert_non_null(strstr(fault.remedy, "install git"));
}

/* A hook sets these; the folder's repository is meant all the same. */
static void test_another_repository_around(void **state)
{
	(void)state;
	setenv("GIT_DIR", "/nonexistent", 1);
	setenv("GIT_WORK_TREE", "/nonexistent", 1);
	struct gather *gather = at_revision("repo/fleet", "start");
	unsetenv("GIT_DIR");
	unsetenv("GIT_WORK_TREE");
	assert_int_equal(gather_fleet(gather)->count, 5);
	gather_free(gather);
}

/* What was no job file then is left out, unless it was named itself. */
static void test_left_out_at_revision(void **state)
{
	(void)state;
	put_text("repo/fleet/answers.yaml", "format: \"1\"\npace: \"5\"\n");
	put_text("repo/fleet/north/p.yaml", "id: \"p\"\n");
	GIT("add", ".");
	GIT("commit", "-q", "-m", "others");
	put_job("repo/fleet/answers.yaml", 7);
	struct gather *gather = at_revision("repo/fleet", "HEAD");
	assert_string_equal(left_out_of(gather), "repo/fleet/answers.yaml repo/fleet/north/p.yaml");
	assert_null(row_of(gather, "repo/fleet/answers.yaml"));
	assert_int_equal(gather_fleet(gather)->count, 5);
	gather_free(gather);
	struct gather_detail detail;
	struct pm_fault fault = { 0 };
	gather = at_revision("repo/fleet/answers.yaml", "HEAD");
	assert_int_equal(gather_fleet(gather)->left_out_count, 0);
	assert_string_equal(row_of(gather, "repo/fleet/answers.yaml")->fault, "no job file: it has neither site nor readings");
	assert_false(gather_open(gather, 0, &detail, &fault));
	assert_string_equal(fault.message, row_of(gather, "repo/fleet/answers.yaml")->fault);
	gather_free(gather);
}

/* More than one pipe takes, both ways; and one that is too large. */
static void test_many_at_revision(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 600; i++) {
		char name[60];
		snprintf(name, sizeof name, "repo/many/%03u.yaml", i);
		put_job(name, i);
	}
	put_text("repo/many/large.yaml", "x");
	assert_int_equal(truncate(at_path("repo/many/large.yaml"), STORE_MOST_BYTES + 1), 0);
	GIT("add", ".");
	GIT("commit", "-q", "-m", "many");
	struct gather *gather = at_revision("repo/many", "HEAD"), *now = gather_all("repo/many");
	assert_int_equal(gather_fleet(gather)->count, 601);
	assert_int_equal(gather_fleet(now)->count, 601);
	for (size_t i = 0; i < 601; i++) {
		const struct pm_site_summary *a = &gather_fleet(gather)->site[i], *b = &gather_fleet(now)->site[i];
		assert_string_equal(a->file, b->file);
		assert_true(pm_same(a->fault, b->fault));
		assert_int_equal(a->body, b->body);
		assert_int_equal(a->stops, b->stops);
	}
	gather_free(gather);
	/* left in the middle */
	const char *path = at_path("repo/many");
	for (int i = 0; i < 5; i++)
		gather_free(begin_of(&path, 1, "HEAD", 0, NULL));
	gather_free(now);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_revisions, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_not_committed, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_open_at_revision, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_folders_and_files, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_deleted_since, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_refused, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_no_git, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_another_repository_around, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_left_out_at_revision, repo_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_many_at_revision, repo_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
