#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <sys/wait.h>
#include <time.h>

#include "scratch.h"
#include "store/lock.h"
#include "store/save.h"

#define JOB "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: RG-07\n"

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

/* A path in the folder; `slot` lets two be held at once. */
static const char *path_of(int slot, const char *name)
{
	static char paths[4][600];
	snprintf(paths[slot], sizeof paths[slot], "%s/%s", folder, name);
	return paths[slot];
}

static void assert_file(const char *path, const char *text)
{
	size_t length;
	char *bytes = scratch_read(path, &length);
	if (!bytes || strcmp(bytes, text) || length != strlen(text))
		fail_msg("%s holds \"%s\", not \"%s\"", path, bytes ? bytes : "nothing", text);
	free(bytes);
}

/* --- rights --- */

/* As somebody without rights; the child says by its exit what went wrong. */
static int without_rights(void)
{
	struct pm_fault fault = { 0 };
	struct store_lock lock;
	if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
		return 1;
	if (store_write_file(path_of(0, "shut/f"), "x", 1, &fault) || fault.kind != PM_FAULT_FORBIDDEN)
		return 2;
	if (store_write_file(path_of(0, "open/guarded"), "x", 1, &fault) || fault.kind != PM_FAULT_FORBIDDEN)
		return 3;
	if (store_lock_take(&lock, path_of(0, "shut/f"), &fault) || fault.kind != PM_FAULT_FORBIDDEN)
		return 4;
	struct store_job job;
	if (store_job_load(path_of(0, "open/secret"), &job, &fault) || fault.kind != PM_FAULT_FORBIDDEN)
		return 5;
	return 0;
}

static void test_rights(void **state)
{
	(void)state;
	assert_int_equal(chmod(folder, 0755), 0);
	assert_int_equal(mkdir(path_of(0, "shut"), 0755), 0);
	assert_int_equal(mkdir(path_of(0, "open"), 0777), 0);
	assert_int_equal(chmod(path_of(0, "open"), 0777), 0);
	assert_true(scratch_write(path_of(0, "shut/f"), "old", 3));
	assert_true(scratch_write(path_of(0, "open/guarded"), "old", 3));
	assert_true(scratch_write(path_of(0, "open/secret"), JOB, strlen(JOB)));
	assert_int_equal(chmod(path_of(0, "open/guarded"), 0444), 0);
	assert_int_equal(chmod(path_of(0, "open/secret"), 0), 0);
	assert_int_equal(chmod(path_of(0, "shut"), 0555), 0);
	fflush(NULL);
	pid_t child = fork();
	assert_true(child >= 0);
	if (child == 0)
		_exit(without_rights());
	int status;
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(chmod(path_of(0, "shut"), 0755), 0);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), 0);
	assert_file(path_of(0, "shut/f"), "old");
	assert_file(path_of(0, "open/guarded"), "old");
}

/* --- jobs --- */

static void load(struct store_job *job, const char *path)
{
	struct pm_fault fault = { 0 };
	assert_true(scratch_write(path, JOB, strlen(JOB)));
	if (!store_job_load(path, job, &fault))
		fail_msg("%s", fault.message);
}

static void test_job_save(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	const char *path = path_of(0, "a.yaml");
	load(&job, path);
	assert_false(store_job_changed(&job));
	assert_true(store_job_set(&job, "site.code", "RG-08", &fault));
	assert_false(store_job_changed(&job));
	assert_true(store_job_save(&job, &fault));
	assert_file(path, job.text);
	assert_non_null(strstr(job.text, "\"RG-08\""));
	assert_false(store_job_changed(&job));
	assert_true(store_job_set(&job, "site.name", "N", &fault));
	assert_true(store_job_save(&job, &fault));
	assert_true(store_job_save(&job, &fault));
	assert_file(path, job.text);
	assert_int_equal(scratch_count(folder), 1);
	store_job_free(&job);
}

static void test_changed_on_disk(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	const char *path = path_of(0, "a.yaml");
	load(&job, path);
	assert_true(store_job_set(&job, "site.name", "N", &fault));
	assert_true(scratch_write(path, JOB "x: 1\n", strlen(JOB "x: 1\n")));
	assert_true(store_job_changed(&job));
	assert_false(store_job_save(&job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_CHANGED);
	assert_file(path, JOB "x: 1\n");
	/* The time does not count, the content does. */
	assert_true(scratch_write(path, JOB, strlen(JOB)));
	struct timespec times[2] = { { .tv_sec = 1 }, { .tv_sec = 1 } };
	assert_int_equal(utimensat(AT_FDCWD, path, times, 0), 0);
	assert_false(store_job_changed(&job));
	/* Our own text that got there before a failure was reported is no change. */
	assert_true(scratch_write(path, job.text, job.length));
	assert_true(store_job_save(&job, &fault));
	assert_false(store_job_changed(&job));

	assert_int_equal(unlink(path), 0);
	assert_true(store_job_changed(&job));
	assert_false(store_job_save(&job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_CHANGED);
	assert_non_null(strstr(fault.message, "gone"));
	assert_int_equal(scratch_count(folder), 0);
	assert_int_equal(mkdir(path, 0700), 0);
	assert_false(store_job_changed(&job));
	assert_false(store_job_save(&job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
	store_job_free(&job);
}

static void test_never_on_disk(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	const char *path = path_of(0, "a.yaml");
	assert_true(scratch_write(path, "other", 5));
	assert_true(store_job_parse(JOB, strlen(JOB), path, &job, &fault));
	assert_false(store_job_changed(&job));
	assert_false(store_job_save(&job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_VALUE);
	assert_file(path, "other");
	assert_int_equal(unlink(path), 0);
	assert_true(store_job_save(&job, &fault));
	assert_file(path, JOB);
	assert_int_equal(strlen(job.disk_digest), 64);
	store_job_free(&job);
	assert_true(store_job_parse(JOB, strlen(JOB), "-", &job, &fault));
	assert_false(store_job_save(&job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	store_job_free(&job);
}

/* --- reading and evidence --- */

static void test_read_file(void **state)
{
	(void)state;
	struct pm_arena arena;
	struct pm_fault fault = { 0 };
	char *text;
	size_t length;
	const char *path = path_of(0, "f");
	pm_arena_init(&arena);
	assert_true(scratch_write(path, "a\0b", 3));
	assert_true(store_read_file(path, 3, &arena, &text, &length, &fault));
	assert_int_equal(length, 3);
	assert_memory_equal(text, "a\0b", 4);
	assert_false(store_read_file(path, 2, &arena, &text, &length, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LIMIT);
	assert_true(scratch_write(path, "", 0));
	assert_true(store_read_file(path, 0, &arena, &text, &length, &fault));
	assert_int_equal(length, 0);

	/* Standard input, longer than the first guess. */
	char *much = malloc(200000);
	assert_non_null(much);
	memset(much, 'm', 200000);
	assert_true(scratch_write(path, much, 200000));
	int saved = dup(STDIN_FILENO), file = open(path, O_RDONLY);
	assert_true(saved >= 0 && file >= 0);
	assert_int_equal(dup2(file, STDIN_FILENO), STDIN_FILENO);
	assert_true(store_read_file("-", 200000, &arena, &text, &length, &fault));
	assert_int_equal(length, 200000);
	assert_memory_equal(text, much, 200000);
	assert_int_equal(lseek(STDIN_FILENO, 0, SEEK_SET), 0);
	assert_false(store_read_file("-", 199999, &arena, &text, &length, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LIMIT);
	dup2(saved, STDIN_FILENO);
	close(saved);
	close(file);
	free(much);
	pm_arena_free(&arena);
}

static void test_evidence(void **state)
{
	(void)state;
	/* SHA-256 of "abc", FIPS 180-4 example */
	const char *abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
	struct pm_fault fault = { 0 };
	char digest[65];
	const char *job = path_of(0, "a.yaml"), *log;
	char name[100];
	snprintf(name, sizeof name, "evidence/%s.log", abc);
	log = path_of(1, name);
	assert_true(store_keep_evidence(job, "abc", 3, digest, &fault));
	assert_string_equal(digest, abc);
	assert_file(log, "abc");
	assert_true(store_keep_evidence(job, "abc", 3, digest, &fault));
	assert_int_equal(scratch_count(path_of(2, "evidence")), 1);
	assert_true(store_keep_evidence(job, "", 0, digest, &fault));
	assert_int_equal(scratch_count(path_of(2, "evidence")), 2);
	/* Somebody changed it: that is said, and nothing is overwritten. */
	assert_true(scratch_write(log, "abd", 3));
	assert_false(store_keep_evidence(job, "abc", 3, digest, &fault));
	assert_int_equal(fault.kind, PM_FAULT_CHANGED);
	assert_file(log, "abd");
	assert_true(scratch_write(path_of(2, "file"), "x", 1));
	assert_false(store_keep_evidence(path_of(2, "file/a.yaml"), "abc", 3, digest, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_rights, setup, teardown),
		cmocka_unit_test_setup_teardown(test_job_save, setup, teardown),
		cmocka_unit_test_setup_teardown(test_changed_on_disk, setup, teardown),
		cmocka_unit_test_setup_teardown(test_never_on_disk, setup, teardown),
		cmocka_unit_test_setup_teardown(test_read_file, setup, teardown),
		cmocka_unit_test_setup_teardown(test_evidence, setup, teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
