#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <signal.h>
#include <sys/wait.h>
#include <time.h>

#include "portmuster/text.h"
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

static void test_lock(void **state)
{
	(void)state;
	struct store_lock first, second;
	struct pm_fault fault = { 0 };
	char process[60];
	const char *path = path_of(0, "a.yaml");
	assert_true(scratch_write(path, JOB, strlen(JOB)));
	assert_true(store_lock_take(&first, path, &fault));
	assert_int_equal(access(path_of(1, ".a.yaml.lock"), F_OK), 0);
	assert_false(store_lock_take(&second, path, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LOCKED);
	assert_int_equal(second.fd, -1);
	snprintf(process, sizeof process, "(process %ld)", (long)getpid());
	assert_non_null(strstr(fault.message, "held by "));
	assert_non_null(strstr(fault.message, process));
	assert_non_null(strstr(fault.message, "Z"));
	/* Another name for the same job. */
	assert_int_equal(mkdir(path_of(1, "other"), 0700), 0);
	assert_int_equal(symlink("../a.yaml", path_of(1, "other/b.yaml")), 0);
	assert_false(store_lock_take(&second, path_of(1, "other/b.yaml"), &fault));
	assert_int_equal(fault.kind, PM_FAULT_LOCKED);
	/* Another job. */
	assert_true(store_lock_take(&second, path_of(1, "c.yaml"), &fault));
	store_lock_drop(&second);
	store_lock_drop(&first);
	store_lock_drop(&first);
	assert_int_equal(access(path_of(1, ".a.yaml.lock"), F_OK), -1);
	assert_true(store_lock_take(&second, path, &fault));
	store_lock_drop(&second);
	assert_false(store_lock_take(&second, path_of(1, "none/a.yaml"), &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
}

static void test_stale_lock(void **state)
{
	(void)state;
	struct store_lock lock;
	struct pm_fault fault = { 0 };
	const char *path = path_of(0, "a.yaml"), *held = path_of(1, ".a.yaml.lock");
	assert_true(scratch_write(held, "somebody on elsewhere since long ago (process 1)\n", 49));
	assert_true(store_lock_take(&lock, path, &fault));
	char *line = scratch_read(held, NULL);
	assert_non_null(line);
	assert_null(strstr(line, "somebody"));
	free(line);
	store_lock_drop(&lock);

	/* A holder that dies frees it, and what a stranger wrote is shown harmlessly. */
	int ready[2];
	assert_int_equal(pipe(ready), 0);
	fflush(NULL);
	pid_t child = fork();
	assert_true(child >= 0);
	if (child == 0) {
		bool good = store_lock_take(&lock, path, &fault) && pwrite(lock.fd, "\x1b[2Jeve\n", 8, 0) == 8 &&
		            ftruncate(lock.fd, 8) == 0 && write(ready[1], "x", 1) == 1;
		if (good)
			pause();
		_exit(1);
	}
	char byte;
	assert_int_equal(read(ready[0], &byte, 1), 1);
	assert_false(store_lock_take(&lock, path, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LOCKED);
	assert_null(strchr(fault.message, 0x1b));
	assert_non_null(strstr(fault.message, "eve"));
	assert_int_equal(kill(child, SIGKILL), 0);
	assert_int_equal(waitpid(child, NULL, 0), child);
	assert_int_equal(access(held, F_OK), 0);
	assert_true(store_lock_take(&lock, path, &fault));
	store_lock_drop(&lock);
	close(ready[0]);
	close(ready[1]);
}

/* Many processes, one lock: what it guards is never seen half done. */
static void contend(const char *path, const char *counter)
{
	for (int done = 0; done < 20;) {
		struct store_lock lock;
		struct pm_fault fault;
		if (!store_lock_take(&lock, path, &fault)) {
			if (fault.kind != PM_FAULT_LOCKED)
				_exit(2);
			nanosleep(&(struct timespec){ .tv_nsec = 50000 }, NULL);
			continue;
		}
		FILE *file = fopen(counter, "r+");
		long value = 0;
		if (!file || fscanf(file, "%ld", &value) != 1)
			_exit(3);
		rewind(file);
		fprintf(file, "%ld\n", value + 1);
		fclose(file);
		store_lock_drop(&lock);
		done++;
	}
	_exit(0);
}

static void test_contention(void **state)
{
	(void)state;
	const char *path = path_of(0, "a.yaml"), *counter = path_of(1, "counter");
	pid_t child[4];
	assert_true(scratch_write(counter, "0\n", 2));
	fflush(NULL);
	for (int i = 0; i < 4; i++) {
		child[i] = fork();
		assert_true(child[i] >= 0);
		if (child[i] == 0)
			contend(path, counter);
	}
	for (int i = 0; i < 4; i++) {
		int status;
		assert_int_equal(waitpid(child[i], &status, 0), child[i]);
		assert_int_equal(status, 0);
	}
	assert_file(counter, "80\n");
}

static void test_sweep(void **state)
{
	(void)state;
	static const struct { const char *name; bool stays; } rows[] = {
		{ ".a.yaml.save-4711-0.tmp", false }, { ".a.yaml.save-1-99.tmp", false },
		{ ".a.yaml.save-x-0.tmp", true }, { ".a.yaml.save-4711.tmp", true }, { ".a.yaml.save--.tmp", true },
		{ ".a.yaml.save-1-2.tmp~", true }, { ".a.yaml.tmp", true }, { "a.yaml.save-1-2.tmp", true },
		{ ".b.yaml.save-1-2.tmp", true }, { ".aa.yaml.save-1-2.tmp", true }, { "a.yaml", true },
	};
	struct store_lock lock, second;
	struct pm_fault fault = { 0 };
	const char *path = path_of(0, "a.yaml");
	assert_int_equal(mkdir(path_of(1, ".a.yaml.save-5-5.tmp"), 0700), 0);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_true(scratch_write(path_of(1, rows[i].name), "x", 1));
	assert_true(store_lock_take(&lock, path, &fault));
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		if ((access(path_of(1, rows[i].name), F_OK) == 0) != rows[i].stays)
			fail_msg("%s", rows[i].name);
	assert_int_equal(access(path_of(1, ".a.yaml.save-5-5.tmp"), F_OK), 0);
	/* Whoever does not get the lock sweeps nothing: it may be in use. */
	assert_true(scratch_write(path_of(1, rows[0].name), "x", 1));
	assert_false(store_lock_take(&second, path, &fault));
	assert_int_equal(access(path_of(1, rows[0].name), F_OK), 0);
	store_lock_drop(&lock);
}

/* A child that saves without a pause, killed at some moment, many times over. */
static void save_forever(const char *path)
{
	struct store_job job;
	struct pm_fault fault;
	if (!store_job_load(path, &job, &fault))
		_exit(2);
	for (unsigned i = 0;; i++) {
		char name[40];
		snprintf(name, sizeof name, "name %u", i);
		if (!store_job_set(&job, "site.name", name, &fault) || !store_job_save(&job, &fault))
			_exit(3);
	}
}

static void test_killed_saves(void **state)
{
	(void)state;
	const char *path = path_of(0, "a.yaml");
	struct pm_fault fault = { 0 };
	struct store_job job;
	int saved = 0;
	assert_true(scratch_write(path, JOB, strlen(JOB)));
	fflush(NULL);
	for (int round = 0; round < 40; round++) {
		pid_t child = fork();
		assert_true(child >= 0);
		if (child == 0)
			save_forever(path);
		nanosleep(&(struct timespec){ .tv_nsec = 2000000 + round * 137000 }, NULL);
		assert_int_equal(kill(child, SIGKILL), 0);
		int status;
		assert_int_equal(waitpid(child, &status, 0), child);
		assert_true(WIFSIGNALED(status));
		if (!store_job_load(path, &job, &fault))
			fail_msg("torn in round %d: %s", round, fault.message);
		saved += pm_given(job.job.name);
		store_job_free(&job);
	}
	assert_true(saved > 0);
	struct store_lock lock;
	assert_true(store_lock_take(&lock, path, &fault));
	assert_int_equal(scratch_count(folder), 2);   /* the job and the lock */
	store_lock_drop(&lock);
	assert_int_equal(scratch_count(folder), 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_lock, setup, teardown),
		cmocka_unit_test_setup_teardown(test_stale_lock, setup, teardown),
		cmocka_unit_test_setup_teardown(test_contention, setup, teardown),
		cmocka_unit_test_setup_teardown(test_sweep, setup, teardown),
		cmocka_unit_test_setup_teardown(test_killed_saves, setup, teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
