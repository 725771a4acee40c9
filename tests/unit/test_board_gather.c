/* Gathering a fleet: which files, in which order, and what becomes of bad ones. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>

#include "gather_fixture.h"

static void test_order_and_names(void **state)
{
	(void)state;
	static const char *const others[] = {
		"f/notes.txt", "f/fleet.yaml", "f/.hidden.yaml", "f/plans/p.yaml", "f/gear/g.yaml", "f/sheets/s.yaml",
		"f/evidence/e.yaml", "f/.git/config.yaml", "f/north/plans/q.yaml", "f/.yaml", "f/yaml", "f/a.yaml.bak", "f/ayaml",
	};
	static const char *const jobs[] = { "f/b.yaml", "f/a.yml", "f/north/c.yaml", "f/north/deep/d.yaml", "f/south/e.yaml", "e/z.yaml" };
	for (size_t i = 0; i < sizeof others / sizeof *others; i++)
		put_text(others[i], "format: \"1\"\n");
	for (unsigned i = 0; i < sizeof jobs / sizeof *jobs; i++)
		put_job(jobs[i], i);
	const char *folders[] = { at_path("f"), at_path("e") };
	struct gather *gather = begin_of(folders, 2, NULL, 0, NULL);
	wait_for(gather);
	/* by folder as given, then by path */
	assert_string_equal(names_of(gather), "f/a.yml f/b.yaml f/north/c.yaml f/north/deep/d.yaml f/south/e.yaml e/z.yaml");
	assert_int_equal(gather_total(gather), 6);
	const struct pm_site_summary *row = row_of(gather, "f/b.yaml");
	assert_null(row->fault);
	assert_string_equal(row->code, "TB-00000");
	assert_string_equal(row->plan, "router-swap");
	assert_int_equal(row->expected, 13);
	assert_true(gather_poll(gather, 0));
	gather_free(gather);
	gather_free(NULL);
}

static void test_nothing_there(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	mkdir(at_path("f"), 0700);
	struct gather *gather = gather_all("f");
	assert_int_equal(gather_fleet(gather)->count, 0);
	assert_false(gather_changed(gather));
	gather_free(gather);
	assert_null(begin_of(NULL, 0, NULL, 0, &fault));
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	const char *gone[] = { at_path("gone"), at_path("gone too") };
	assert_null(begin_of(gone, 2, NULL, 0, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_string_equal(fault.file, gone[0]);
}

static void test_one_of_several_is_unreadable(void **state)
{
	(void)state;
	put_job("f/a.yaml", 0);
	const char *folders[] = { at_path("gone"), at_path("f"), at_path("f/a.yaml/below") };
	struct gather *gather = begin_of(folders, 3, NULL, 0, NULL);
	wait_for(gather);
	const struct pm_site_summary *row = row_of(gather, "gone");
	assert_non_null(row);
	assert_non_null(strstr(row->fault, "no such file or folder"));
	assert_non_null(strstr(row_of(gather, "f/a.yaml/below")->fault, "no folder"));
	assert_null(row_of(gather, "f/a.yaml")->fault);
	assert_int_equal(gather_fleet(gather)->count, 3);
	gather_free(gather);
}

/* As somebody without rights; the child says by its exit what went wrong. */
static int without_rights(void)
{
	struct pm_fault fault = { 0 };
	const char *folder = at_path("f"), *locked = at_path("f/locked");
	if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
		return 1;
	struct gather *gather = begin_of(&folder, 1, NULL, 2, &fault);
	if (!gather)
		return 2;
	while (!gather_poll(gather, 1000))
		continue;
	const struct pm_site_summary *row = row_of(gather, "f/locked"), *secret = row_of(gather, "f/secret.yaml");
	const struct pm_site_summary *good = row_of(gather, "f/a.yaml");
	if (gather_fleet(gather)->count != 3 || !good || good->fault)
		return 3;
	if (!row || !row->fault || !strstr(row->fault, "permission denied") || !row->fault_remedy)
		return 4;
	if (!secret || !secret->fault || !strstr(secret->fault, "permission denied") || !secret->fault_remedy)
		return 5;
	gather_free(gather);
	if (begin_of(&locked, 1, NULL, 1, &fault) || fault.kind != PM_FAULT_FORBIDDEN)
		return 6;
	return 0;
}

static void put_copy(const char *name, const char *from)
{
	size_t length = 0;
	char *text = scratch_read(from, &length);
	assert_non_null(text);
	put_text(name, text);
	free(text);
}

static void test_locked(void **state)
{
	(void)state;
	int status;
	put_job("f/a.yaml", 0);
	put_job("f/secret.yaml", 1);
	put_job("f/locked/b.yaml", 2);
	static const struct { const char *name; unsigned mode; } modes[] = {
		{ "", 0755 }, { "f", 0755 }, { "f/plans", 0755 }, { "f/plans/router-swap.yaml", 0644 }, { "f/gear", 0755 },
		{ "f/gear/eg-12.yaml", 0644 }, { "f/a.yaml", 0644 }, { "f/secret.yaml", 0 }, { "f/locked", 0 },
	};
	/* where the project lies that somebody may not be let in */
	put_copy("f/plans/router-swap.yaml", "data/plans/router-swap.yaml");
	put_copy("f/gear/eg-12.yaml", "data/gear/eg-12.yaml");
	for (size_t i = 0; i < sizeof modes / sizeof *modes; i++)
		assert_int_equal(chmod(at_path(modes[i].name), modes[i].mode), 0);
	fflush(NULL);
	pid_t child = fork();
	assert_true(child >= 0);
	if (child == 0)
		_exit(without_rights());
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(chmod(at_path("f/locked"), 0700), 0);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), 0);
}

static void test_bad_files(void **state)
{
	(void)state;
	static const struct { const char *name, *text, *fault; unsigned line, column; } bad[] = {
		{ "f/torn.yaml", "format: \"1\"\nplan: \"router-swap\n", "not YAML", 3, 1 },
		{ "f/empty.yaml", "", "no document", 1, 1 },
		{ "f/lacks.yaml", "format: \"1\"\ngear: \"eg-12\"\nreadings: []\n", "lacks the key plan", 1, 1 },
		{ "f/newer.yaml", "format: \"9\"\n", "written in format 9", 1, 9 },
		{ "f/bytes.yaml", "format: \"1\"\nplan: \"\xFF\"\n", "byte FF", 2, 8 },
		{ "f/noplan.yaml", "format: \"1\"\nplan: \"other\"\ngear: \"eg-12\"\nsite:\n  code: \"X\"\n", "no plan \"other\"", 0, 0 },
		{ "f/badplan.yaml", "format: \"1\"\nplan: \"bad\"\ngear: \"eg-12\"\nsite:\n  code: \"X\"\n", "plans/bad.yaml:2:1: ", 0, 0 },
		{ "f/nogear.yaml", "format: \"1\"\nplan: \"router-swap\"\ngear: \"none\"\nsite:\n  code: \"X\"\n", "no gear profile \"none\"", 0, 0 },
	};
	put_text("f/plans/bad.yaml", "format: \"1\"\n\xC3(\n");
	put_job("f/good.yaml", 3);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		put_text(bad[i].name, bad[i].text);
	/* one byte too many, and it need not be read */
	put_text("f/large.yaml", "format: \"1\"\n");
	assert_int_equal(truncate(at_path("f/large.yaml"), STORE_MOST_BYTES + 1), 0);
	struct gather *gather = gather_all("f");
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		const struct pm_site_summary *row = row_of(gather, bad[i].name);
		if (!row || !row->fault || !strstr(row->fault, bad[i].fault) || row->fault_line != bad[i].line || row->fault_column != bad[i].column)
			fail_msg("%s: %s at %u:%u", bad[i].name, row && row->fault ? row->fault : "no fault", row ? row->fault_line : 0,
			         row ? row->fault_column : 0);
	}
	assert_non_null(strstr(row_of(gather, "f/large.yaml")->fault, "larger than"));
	assert_non_null(strstr(row_of(gather, "f/noplan.yaml")->fault_remedy, "looked for other.yaml in"));
	assert_null(row_of(gather, "f/good.yaml")->fault);
	assert_int_equal(gather_fleet(gather)->count, sizeof bad / sizeof *bad + 2);
	gather_free(gather);
}

static void test_odd_names(void **state)
{
	(void)state;
	static const char *const names[] = { "f/\x1b[31m.yaml", "f/a\nb.yaml", "f/\xff\xfe.yaml", "f/two  blanks .yaml", "f/-C.yaml", "f/-.yaml" };
	for (unsigned i = 0; i < sizeof names / sizeof *names; i++)
		put_job(names[i], i);
	put_text("f/\x1b]0;x\x07.yaml", "format: [\n");
	struct gather *gather = gather_all("f");
	for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
		const struct pm_site_summary *row = row_of(gather, names[i]);
		assert_non_null(row);
		assert_null(row->fault);
	}
	const char *fault = row_of(gather, "f/\x1b]0;x\x07.yaml")->fault;
	assert_non_null(fault);
	for (const char *at = fault; *at; at++)
		assert_true((unsigned char)*at >= 0x20);
	gather_free(gather);
}

static void test_links(void **state)
{
	(void)state;
	put_job("f/north/a.yaml", 0);
	put_job("f/south/b.yaml", 1);
	put_job("other/c.yaml", 2);
	put_job("other/plans/d.yaml", 3);
	static const struct { const char *to, *from; } links[] = {
		{ "..", "f/north/up" }, { ".", "f/self" }, { "../south", "f/north/sideways" },   /* loops */
		{ "../other", "f/zother" }, { "../other", "f/aother" },                          /* out, twice */
		{ "north/a.yaml", "f/again.yaml" },                                              /* a file that is there */
		{ "../../other/c.yaml", "f/north/c.yaml" },                                      /* and one that comes by a folder */
		{ "nowhere", "f/lost.yaml" }, { "ring.yaml", "f/ring.yaml" }, { "nowhere", "f/lost" },
		{ "/dev/zero", "f/zero.yaml" },
	};
	for (size_t i = 0; i < sizeof links / sizeof *links; i++)
		assert_int_equal(symlink(links[i].to, at_path(links[i].from)), 0);
	for (int i = 0; i < 3; i++) {
		struct gather *gather = gather_all("f");
		assert_string_equal(names_of(gather), "f/aother/c.yaml f/lost.yaml f/north/a.yaml f/ring.yaml f/south/b.yaml");
		assert_non_null(strstr(row_of(gather, "f/lost.yaml")->fault, "no such file"));
		assert_non_null(strstr(row_of(gather, "f/ring.yaml")->fault, "in a circle"));
		gather_free(gather);
	}
}

static void test_each_file_once(void **state)
{
	(void)state;
	put_job("f/a.yaml", 0);
	put_job("f/in/b.yaml", 1);
	put_job("g/c.yaml", 2);
	put_job("g/job.txt", 3);
	char dotted[600], slashed[600];
	snprintf(dotted, sizeof dotted, "%s/./in", at_path("f"));
	snprintf(slashed, sizeof slashed, "%s/f/", gather_root);
	const char *given[] = { at_path("f/a.yaml"), dotted, slashed, at_path("f"), at_path("g/c.yaml"), at_path("g/c.yaml"), at_path("g/job.txt") };
	struct gather *gather = begin_of(given, 7, NULL, 0, NULL);
	wait_for(gather);
	assert_int_equal(gather_fleet(gather)->count, 4);
	assert_string_equal(names_of(gather), "f/./in/b.yaml f/a.yaml g/c.yaml g/job.txt");
	for (size_t i = 0; i < 4; i++)
		assert_null(gather_fleet(gather)->site[i].fault);
	gather_free(gather);
}

static void test_not_files(void **state)
{
	(void)state;
	put_job("f/a.yaml", 0);
	assert_int_equal(mkfifo(at_path("f/pipe.yaml"), 0600), 0);
	struct sockaddr_un address = { .sun_family = AF_UNIX };
	snprintf(address.sun_path, sizeof address.sun_path, "%.80s/f/s.yaml", gather_root);
	int file = socket(AF_UNIX, SOCK_STREAM, 0);
	assert_int_equal(bind(file, (struct sockaddr *)&address, sizeof address), 0);
	assert_int_equal(symlink("pipe.yaml", at_path("f/to-pipe.yaml")), 0);
	mkdir(at_path("f/folder.yaml"), 0700);
	struct gather *gather = gather_all("f");
	assert_string_equal(names_of(gather), "f/a.yaml");
	gather_free(gather);
	/* named itself, it is a row, and nothing waits for its other end */
	gather = gather_all("f/pipe.yaml");
	assert_non_null(strstr(row_of(gather, "f/pipe.yaml")->fault, "not an ordinary file"));
	gather_free(gather);
	close(file);
}

static void test_depth(void **state)
{
	(void)state;
	char path[400] = "f";
	for (int i = 0; i < 40; i++) {
		char job[420];
		strcat(path, "/d");
		snprintf(job, sizeof job, "%s/j.yaml", path);
		put_job(job, (unsigned)i);
	}
	struct gather *gather = gather_all("f");
	/* 32 folders below the one that was named, and a row for the first of the rest */
	assert_int_equal(gather_fleet(gather)->count, 33);
	size_t faults = 0;
	for (size_t i = 0; i < 33; i++)
		if (gather_fleet(gather)->site[i].fault) {
			assert_non_null(strstr(gather_fleet(gather)->site[i].fault, "more than 32 folders"));
			faults++;
		}
	assert_int_equal(faults, 1);
	gather_free(gather);
}

/* --- a file that changes while it is read --- */

static atomic_bool writing;

static void *write_on(void *path)
{
	int file = open(path, O_WRONLY | O_APPEND);
	while (file >= 0 && atomic_load(&writing))
		if (write(file, "# more\n", 7) != 7 || lseek(file, 0, SEEK_END) > 1 << 20)
			break;
	close(file);
	return NULL;
}

static void test_changes_meanwhile(void **state)
{
	(void)state;
	bool told = false;
	for (int i = 0; i < 200 && !told; i++) {
		pthread_t thread;
		char path[600];
		put_job("f/a.yaml", 3);
		snprintf(path, sizeof path, "%s", at_path("f/a.yaml"));
		atomic_store(&writing, true);
		assert_int_equal(pthread_create(&thread, NULL, write_on, path), 0);
		struct gather *gather = gather_all("f");
		atomic_store(&writing, false);
		pthread_join(thread, NULL);
		const struct pm_site_summary *row = row_of(gather, "f/a.yaml");
		/* half a line may be a fault of its own only when it stood so for a while, which it never does */
		told = row->fault && strstr(row->fault, "changed again and again");
		assert_true(told || !row->fault);
		if (told) {
			assert_true(gather_changed(gather));
			rest();
			assert_true(gather_again(gather, pm_when_utc(GATHER_NOW)));
			wait_for(gather);
			assert_null(row_of(gather, "f/a.yaml")->fault);
		}
		gather_free(gather);
	}
	assert_true(told);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_order_and_names, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_nothing_there, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_one_of_several_is_unreadable, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_locked, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_bad_files, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_odd_names, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_links, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_each_file_once, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_not_files, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_depth, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_changes_meanwhile, gather_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
