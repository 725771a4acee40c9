#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <errno.h>

#include "scratch.h"
#include "store/ops.h"
#include "store/save.h"

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

static mode_t mode_of(const char *path)
{
	struct stat about;
	assert_int_equal(lstat(path, &about), 0);
	return about.st_mode & 07777;
}

/* --- file operations that fail on request --- */

static struct {
	int countdown;      /* the operation that fails; 0: none */
	int error;
	size_t most;        /* bytes one write takes; 0: all */
	int calls, opened, closed;
	const char *failed;
} rig;

static bool fails(const char *name)
{
	rig.calls++;
	if (rig.countdown == 0 || rig.calls != rig.countdown)
		return false;
	rig.failed = name;
	errno = rig.error;
	return true;
}

static int rig_open(const char *path, int flags, mode_t mode)
{
	if (fails("open"))
		return -1;
	int file = open(path, flags, mode);
	rig.opened += file >= 0;
	return file;
}

static ssize_t rig_write(int file, const void *bytes, size_t length)
{
	if (fails("write"))
		return -1;
	return write(file, bytes, rig.most && rig.most < length ? rig.most : length);
}

static int rig_fchmod(int file, mode_t mode)
{
	return fails("fchmod") ? -1 : fchmod(file, mode);
}

static int rig_fsync(int file)
{
	return fails("fsync") ? -1 : fsync(file);
}

static int rig_close(int file)
{
	bool failing = fails("close");
	int error = errno, result = close(file);
	rig.closed++;
	errno = error;
	return failing ? -1 : result;
}

static int rig_link(const char *from, const char *to)
{
	return fails("link") ? -1 : link(from, to);
}

static int rig_rename(const char *from, const char *to)
{
	return fails("rename") ? -1 : rename(from, to);
}

/* Not counted: a failing removal is a second failure. */
static int rig_unlink(const char *path)
{
	return unlink(path);
}

static const struct store_ops rigged = {
	rig_open, rig_write, rig_fchmod, rig_fsync, rig_close, rig_link, rig_rename, rig_unlink,
};

/* The operations of one replacement, in order; a write a byte at a time. */
static const char *const replacing[] = { "open", "open", "write", "write", "write", "fchmod", "fsync", "close", "rename", "fsync", "close" };
static const char *const creating[] = { "open", "open", "write", "write", "write", "fsync", "close", "link", "fsync", "close" };

static void fail_each(bool fresh, const char *const *names, int count, int error)
{
	const char *path = path_of(0, "f");
	int stands = count - 2;   /* operations from here on come after the new file stands */
	for (int n = 1; n <= count; n++) {
		struct pm_fault fault = { 0 };
		unlink(path);
		if (!fresh) {
			assert_true(scratch_write(path, "old", 3));
			assert_int_equal(chmod(path, 0640), 0);
		}
		memset(&rig, 0, sizeof rig);
		rig.countdown = n;
		rig.error = error;
		rig.most = 1;
		bool good = store_replace_file(&rigged, path, "new", 3, fresh, &fault);
		if (!rig.failed || strcmp(rig.failed, names[n - 1]))
			fail_msg("operation %d is %s, not %s", n, rig.failed ? rig.failed : "none", names[n - 1]);
		assert_int_equal(rig.opened, rig.closed);
		assert_int_equal(good, n == count);   /* only the folder's close does not count */
		if (!good)
			assert_true(fault.kind == PM_FAULT_UNREADABLE || fault.kind == PM_FAULT_FULL || fault.kind == PM_FAULT_FORBIDDEN);
		if (n > stands)
			assert_file(path, "new");
		else if (!fresh)
			assert_file(path, "old");
		assert_int_equal(scratch_count(folder), n > stands || !fresh ? 1 : 0);
		if (!fresh)
			assert_int_equal(mode_of(path), 0640);
	}
	/* One more than there are operations: nothing fails. */
	unlink(path);
	if (!fresh) {
		assert_true(scratch_write(path, "old", 3));
		assert_int_equal(chmod(path, 0640), 0);
	}
	memset(&rig, 0, sizeof rig);
	rig.countdown = count + 1;
	rig.most = 1;
	assert_true(store_replace_file(&rigged, path, "new", 3, fresh, NULL));
	assert_null(rig.failed);
	assert_int_equal(rig.calls, count);
	assert_file(path, "new");
}

static void test_every_operation_fails(void **state)
{
	(void)state;
	static const int errors[] = { EIO, ENOSPC, EDQUOT, EACCES };
	for (size_t i = 0; i < sizeof errors / sizeof *errors; i++) {
		fail_each(false, replacing, (int)(sizeof replacing / sizeof *replacing), errors[i]);
		fail_each(true, creating, (int)(sizeof creating / sizeof *creating), errors[i]);
	}
}

static void test_interrupted(void **state)
{
	(void)state;
	const char *path = path_of(0, "f");
	/* open of the temporary file, write, fsync and close go on after a signal */
	static const int again[] = { 2, 3, 7, 8, 10 };
	for (size_t i = 0; i < sizeof again / sizeof *again; i++) {
		assert_true(scratch_write(path, "old", 3));
		assert_int_equal(chmod(path, 0640), 0);
		memset(&rig, 0, sizeof rig);
		rig.countdown = again[i];
		rig.error = EINTR;
		rig.most = i == 1 ? 0 : 1;
		assert_true(store_replace_file(&rigged, path, "new", 3, false, NULL));
		assert_non_null(rig.failed);
		assert_file(path, "new");
		assert_int_equal(scratch_count(folder), 1);
	}
}

/* Without hard links the new name is taken by a rename; never over a file. */
static void test_create_without_links(void **state)
{
	(void)state;
	const char *path = path_of(0, "f");
	memset(&rig, 0, sizeof rig);
	rig.countdown = 6;
	rig.error = EPERM;
	assert_true(store_replace_file(&rigged, path, "new", 3, true, NULL));
	assert_string_equal(rig.failed, "link");
	assert_file(path, "new");
	assert_int_equal(scratch_count(folder), 1);
}

/* --- plain replacing and creating --- */

static void test_write(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	const char *path = path_of(0, "f");
	mode_t mask = umask(027);
	assert_true(store_write_file(path, "one", 3, &fault));
	umask(mask);
	assert_int_equal(mode_of(path), 0640);
	static const mode_t modes[] = { 0600, 0644, 0664, 0666, 0755 };
	for (size_t i = 0; i < sizeof modes / sizeof *modes; i++) {
		assert_int_equal(chmod(path, modes[i]), 0);
		assert_true(store_write_file(path, "two", 3, &fault));
		assert_int_equal(mode_of(path), modes[i]);
	}
	assert_file(path, "two");
	assert_true(store_write_file(path, "", 0, &fault));
	assert_file(path, "");
	assert_int_equal(scratch_count(folder), 1);

	assert_false(store_write_file(path_of(1, "no/f"), "x", 1, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_false(store_write_file(path_of(1, "f/f"), "x", 1, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_false(store_write_file(folder, "x", 1, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
	assert_int_equal(mkfifo(path_of(1, "pipe"), 0600), 0);
	assert_false(store_write_file(path_of(1, "pipe"), "x", 1, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
	char name[300];
	memset(name, 'n', 250);
	name[250] = '\0';
	assert_false(store_write_file(path_of(1, name), "x", 1, &fault));
	assert_int_equal(fault.kind, PM_FAULT_VALUE);
	assert_non_null(strstr(fault.message, "too long"));
}

static void test_create(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	const char *path = path_of(0, "f");
	assert_true(store_create_file(path, "one", 3, &fault));
	assert_false(store_create_file(path, "two", 3, &fault));
	assert_int_equal(fault.kind, PM_FAULT_VALUE);
	assert_non_null(strstr(fault.message, "exists already"));
	assert_file(path, "one");
	/* A link that leads nowhere takes the name as well. */
	assert_int_equal(symlink("nowhere", path_of(1, "link")), 0);
	assert_false(store_create_file(path_of(1, "link"), "two", 3, &fault));
	assert_int_equal(fault.kind, PM_FAULT_VALUE);
	assert_int_equal(scratch_count(folder), 2);
}

static void test_links_are_followed(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	struct stat about;
	assert_int_equal(mkdir(path_of(0, "deep"), 0700), 0);
	assert_true(scratch_write(path_of(0, "deep/real"), "old", 3));
	assert_int_equal(chmod(path_of(0, "deep/real"), 0604), 0);
	assert_int_equal(symlink("real", path_of(0, "deep/second")), 0);
	assert_int_equal(symlink("deep/second", path_of(0, "first")), 0);
	assert_true(store_write_file(path_of(0, "first"), "new", 3, &fault));
	assert_file(path_of(0, "deep/real"), "new");
	assert_int_equal(mode_of(path_of(0, "deep/real")), 0604);
	assert_int_equal(lstat(path_of(0, "first"), &about), 0);
	assert_true(S_ISLNK(about.st_mode));
	assert_int_equal(scratch_count(path_of(0, "deep")), 2);

	assert_int_equal(symlink(path_of(1, "deep/made"), path_of(0, "absolute")), 0);
	assert_true(store_write_file(path_of(0, "absolute"), "made", 4, &fault));
	assert_file(path_of(0, "deep/made"), "made");

	assert_int_equal(symlink("round", path_of(0, "round")), 0);
	assert_false(store_write_file(path_of(0, "round"), "x", 1, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_every_operation_fails, setup, teardown),
		cmocka_unit_test_setup_teardown(test_interrupted, setup, teardown),
		cmocka_unit_test_setup_teardown(test_create_without_links, setup, teardown),
		cmocka_unit_test_setup_teardown(test_write, setup, teardown),
		cmocka_unit_test_setup_teardown(test_create, setup, teardown),
		cmocka_unit_test_setup_teardown(test_links_are_followed, setup, teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
