/* The serial line, on pseudo terminals: what is set, what is put back, and what
 * is said when it cannot be had. */
#define _GNU_SOURCE   /* AT_EMPTY_PATH */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/wait.h>
#include <unistd.h>

#include "capture/line.h"
#include "pair.h"
#include "scratch.h"

/* The device that every open one seems to be; 0: its own. */
static dev_t seeming;

int fstat(int fd, struct stat *about)
{
	int got = fstatat(fd, "", about, AT_EMPTY_PATH);
	if (got == 0 && seeming)
		about->st_rdev = seeming;
	return got;
}

static void must_open(struct line *line, const struct pair *pair, int64_t speed, const char *framing)
{
	struct pm_fault fault = { 0 };
	if (!line_open(line, pair->name, speed, framing, &fault))
		fail_msg("%s", fault.message);
}

static void must_fail(const char *device, int64_t speed, const char *framing, enum pm_fault_kind kind, const char *says)
{
	struct pm_fault fault = { 0 };
	struct line line;
	assert_false(line_open(&line, device, speed, framing, &fault));
	assert_int_equal(line.fd, -1);
	assert_int_equal(fault.kind, kind);
	if (!strstr(fault.message, says) && !strstr(fault.remedy, says))
		fail_msg("\"%s; %s\" lacks \"%s\"", fault.message, fault.remedy, says);
}

static void the_line_is_raw(void **state)
{
	(void)state;
	static const struct { int64_t bits; speed_t speed; } speeds[] = {
		{ 1200, B1200 }, { 9600, B9600 }, { 38400, B38400 }, { 115200, B115200 }, { 230400, B230400 },
	};
	struct pair pair;
	struct line line;
	pair_make(&pair);
	for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++) {
		must_open(&line, &pair, speeds[i].bits, "8N1");
		struct termios now = settings(&pair);
		assert_int_equal(now.c_lflag & (ICANON | ECHO | ISIG | IEXTEN), 0);
		assert_int_equal(now.c_iflag & (ICRNL | IXON | IXOFF | ISTRIP), 0);
		assert_int_equal(now.c_oflag & OPOST, 0);
		assert_int_equal(now.c_cflag & (HUPCL | CRTSCTS | CSTOPB | PARENB), 0);
		assert_int_equal(now.c_cflag & (CLOCAL | CREAD | CSIZE), CLOCAL | CREAD | CS8);
		assert_int_equal(cfgetospeed(&now), speeds[i].speed);
		assert_true(fcntl(line.fd, F_GETFL) & O_NONBLOCK);
		assert_true(fcntl(line.fd, F_GETFD) & FD_CLOEXEC);
		line_close(&line);
	}
	must_open(&line, &pair, 9600, "8n2");
	assert_true(settings(&pair).c_cflag & CSTOPB);
	line_close(&line);
	pair_end(&pair);
}

/* Whatever it was before: cooked or raw, with flow control, hanging up or not. */
static void settings_are_put_back(void **state)
{
	(void)state;
	struct pair pair;
	struct line line;
	pair_make(&pair);
	for (int kind = 0; kind < 4; kind++) {
		struct termios before = settings(&pair);
		if (kind & 1)
			cfmakeraw(&before);
		before.c_iflag ^= kind & 2 ? IXON | IXOFF : 0;
		before.c_cflag = (before.c_cflag & ~(tcflag_t)HUPCL) | (kind & 2 ? HUPCL : 0);
		cfsetispeed(&before, B4800);
		cfsetospeed(&before, B4800);
		assert_int_equal(tcsetattr(pair.side, TCSANOW, &before), 0);
		before = settings(&pair);
		must_open(&line, &pair, 9600, "8N1");
		assert_true(cfgetospeed(&before) != B9600);
		line_close(&line);
		struct termios after = settings(&pair);
		assert_same_settings(&before, &after);
		/* a second time does nothing, and another may have the line */
		line_close(&line);
		int taken = 1;
		assert_int_equal(ioctl(pair.side, TIOCGEXCL, &taken), 0);
		assert_int_equal(taken, 0);
		must_open(&line, &pair, 9600, "8N1");
		line_rescue(&line);
		after = settings(&pair);
		assert_same_settings(&before, &after);
		assert_true(line.fd >= 0);
		assert_int_equal(ioctl(pair.side, TIOCGEXCL, &taken), 0);
		assert_int_equal(taken, 0);
		line_close(&line);
	}
	pair_end(&pair);
}

static void wrong_words_are_refused(void **state)
{
	(void)state;
	static const char *const framings[] = { "", "8N", "8N11", "9N1", "4N1", "8X1", "8N3", "8N0", "N81", "8 1" };
	static const int64_t speeds[] = { 0, -9600, 9601, 960, 5000000000 };
	struct pair pair;
	pair_make(&pair);
	struct termios before = settings(&pair);
	for (size_t i = 0; i < sizeof framings / sizeof *framings; i++)
		must_fail(pair.name, 9600, framings[i], PM_FAULT_VALUE, "is no framing");
	for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++)
		must_fail(pair.name, speeds[i], "8N1", PM_FAULT_VALUE, "bits a second");
	struct termios after = settings(&pair);
	assert_same_settings(&before, &after);
	pair_end(&pair);
}

/* A pseudo terminal has eight bits and no parity, whatever it is told: it can stand
 * in for any line. A real one that leaves out what was asked for cannot be used. */
static void what_a_line_does_not_do(void **state)
{
	(void)state;
	static const char *const framings[] = { "7E1", "8E1", "8O2", "7N1", "5N2" };
	static const int majors[] = { 4, 188, 166, 135, 144, 0 };   /* ttyS, ttyUSB, ttyACM, either side of the pseudo terminals' */
	char byte = 0;
	struct pm_fault fault = { 0 };
	struct pair pair;
	struct line line;
	pair_make(&pair);
	struct termios before = settings(&pair);
	for (size_t i = 0; i < sizeof framings / sizeof *framings; i++) {
		must_open(&line, &pair, 115200, framings[i]);
		struct termios now = settings(&pair);
		assert_int_equal(cfgetospeed(&now), B115200);
		assert_int_equal(!!(now.c_cflag & CSTOPB), framings[i][2] == '2');
		assert_int_equal(write(pair.master, "\xE9", 1), 1);
		assert_int_equal(line_read(&line, &byte, 1, &fault), 1);
		assert_int_equal((unsigned char)byte, 0xE9);
		line_close(&line);
		for (size_t k = 0; majors[k]; k++) {
			seeming = makedev((unsigned)majors[k], 0);
			must_fail(pair.name, 115200, framings[i], PM_FAULT_VALUE, "does not do 115200 bits a second with");
		}
		seeming = makedev(143, 7);
		must_open(&line, &pair, 115200, framings[i]);
		line_close(&line);
		seeming = 0;
		now = settings(&pair);
		assert_same_settings(&before, &now);
	}
	pair_end(&pair);
}

static void a_busy_line_is_refused(void **state)
{
	(void)state;
	struct pair pair;
	struct line line;
	pair_make(&pair);
	must_open(&line, &pair, 9600, "8N1");
	struct termios during = settings(&pair);
	must_fail(pair.name, 115200, "8N1", PM_FAULT_LOCKED, "another program uses this line");
	struct termios after = settings(&pair);
	assert_same_settings(&during, &after);
	line_close(&line);
	/* marked by a program that takes no lock */
	assert_int_equal(ioctl(pair.side, TIOCEXCL), 0);
	must_fail(pair.name, 9600, "8N1", PM_FAULT_LOCKED, "another program uses this line");
	/* and the mark of the other is left alone */
	int taken = 0;
	assert_int_equal(ioctl(pair.side, TIOCGEXCL, &taken), 0);
	assert_int_equal(taken, 1);
	assert_int_equal(ioctl(pair.side, TIOCNXCL), 0);
	must_open(&line, &pair, 9600, "8N1");
	line_close(&line);
	pair_end(&pair);
}

static void what_is_no_line(void **state)
{
	(void)state;
	char folder[256], path[300], fifo[300], longer[400];
	assert_true(scratch_make(folder, sizeof folder));
	snprintf(path, sizeof path, "%s/plain", folder);
	snprintf(fifo, sizeof fifo, "%s/fifo", folder);
	assert_true(scratch_write(path, "x", 1));
	assert_int_equal(mkfifo(fifo, 0600), 0);
	must_fail("/dev/null", 9600, "8N1", PM_FAULT_VALUE, "not a serial line");
	must_fail(folder, 9600, "8N1", PM_FAULT_VALUE, "not a serial line");
	must_fail(path, 9600, "8N1", PM_FAULT_VALUE, "not a serial line");
	must_fail(fifo, 9600, "8N1", PM_FAULT_VALUE, "not a serial line");
	snprintf(path, sizeof path, "%s/gone", folder);
	must_fail(path, 9600, "8N1", PM_FAULT_MISSING, "no such device");
	snprintf(path, sizeof path, "%s/plain/gone", folder);
	must_fail(path, 9600, "8N1", PM_FAULT_MISSING, "no such device");
	memset(longer, 'x', sizeof longer - 1);
	longer[sizeof longer - 1] = '\0';
	must_fail(longer, 9600, "8N1", PM_FAULT_LIMIT, "too long");
	scratch_remove(folder);
}

/* Run as somebody who owns nothing, when that takes another user. */
static int as_a_stranger(void (*work)(const char *name), const char *name)
{
	int status = 0;
	pid_t child = fork();
	if (child == 0) {
		bool known = geteuid() != 0 || (setgroups(0, NULL) == 0 && setgid(65534) == 0 && setuid(65534) == 0);
		if (!known)
			_exit(3);
		work(name);
		_exit(4);
	}
	assert_true(child > 0);
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_true(WIFEXITED(status));
	return WEXITSTATUS(status);
}

static void try_forbidden(const char *name)
{
	struct pm_fault fault = { 0 };
	struct stat about;
	struct line line;
	if (stat(name, &about) != 0 || line_open(&line, name, 9600, "8N1", &fault) || fault.kind != PM_FAULT_FORBIDDEN)
		_exit(1);
	const struct group *group = getgrgid(about.st_gid);
	bool open_to_group = (about.st_mode & 060) == 060;
	if (!group)
		_exit(5);
	if (open_to_group != (strstr(fault.remedy, group->gr_name) && strstr(fault.remedy, "log in again")))
		_exit(2);
	_exit(0);
}

static void permission_is_asked_for(void **state)
{
	(void)state;
	struct pair pair;
	pair_make(&pair);
	/* the owner and others may not, the group may */
	assert_int_equal(chmod(pair.name, 0060), 0);
	assert_int_equal(as_a_stranger(try_forbidden, pair.name), 0);
	/* nobody may: then no group helps */
	assert_int_equal(chmod(pair.name, 0), 0);
	assert_int_equal(as_a_stranger(try_forbidden, pair.name), 0);
	pair_end(&pair);
}

static void try_own_terminal(const char *name)
{
	struct pm_fault fault = { 0 };
	struct line line;
	if (setsid() < 0)
		_exit(1);
	int side = open(name, O_RDWR);
	if (side < 0 || dup2(side, 0) < 0)
		_exit(2);
	bool refused = !line_open(&line, name, 9600, "8N1", &fault) && fault.kind == PM_FAULT_USAGE &&
	               !line_open(&line, "/dev/tty", 9600, "8N1", &fault) && fault.kind == PM_FAULT_USAGE;
	_exit(refused ? 0 : 6);
}

static void the_own_terminal_is_refused(void **state)
{
	(void)state;
	struct pair pair;
	int status = 0;
	pair_make(&pair);
	pid_t child = fork();
	if (child == 0)
		try_own_terminal(pair.name);
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(status, 0);
	pair_end(&pair);
}

static void bytes_pass_as_they_are(void **state)
{
	(void)state;
	static const char all[] = "\r\n\x03\x04\x11\x13\x1a\x7f\0\xff" "abc";
	char got[64];
	struct pm_fault fault = { 0 };
	struct pair pair;
	struct line line;
	pair_make(&pair);
	must_open(&line, &pair, 9600, "8N1");
	assert_int_equal(line_read(&line, got, sizeof got, &fault), 0);
	assert_int_equal(line_write(&line, all, sizeof all, &fault), sizeof all);
	assert_int_equal(read(pair.master, got, sizeof got), sizeof all);
	assert_memory_equal(got, all, sizeof all);
	assert_int_equal(write(pair.master, all, sizeof all), sizeof all);
	long length = 0;
	for (long more; length < (long)sizeof all; length += more) {
		more = line_read(&line, got + length, sizeof got - (size_t)length, &fault);
		assert_true(more >= 0);
	}
	assert_memory_equal(got, all, sizeof all);
	/* a line that nobody reads takes what it can, and does not wait */
	char *much = calloc(1, 1 << 20);
	assert_non_null(much);
	long taken = line_write(&line, much, 1 << 20, &fault);
	assert_true(taken > 0 && taken < 1 << 20);
	while (taken > 0)
		taken = line_write(&line, much, 1 << 20, &fault);
	assert_int_equal(taken, 0);
	free(much);
	line_close(&line);
	pair_end(&pair);
}

static void a_line_that_goes(void **state)
{
	(void)state;
	char got[16];
	struct pair pair;
	struct line line;
	pair_make(&pair);
	must_open(&line, &pair, 9600, "8N1");
	close(pair.master);
	pair.master = -1;
	struct pm_fault fault = { 0 };
	assert_int_equal(line_read(&line, got, sizeof got, &fault), -1);
	assert_non_null(strstr(fault.message, "the line is gone"));
	assert_string_equal(fault.file, pair.name);
	fault = (struct pm_fault){ 0 };
	assert_int_equal(line_write(&line, "x", 1, &fault), -1);
	assert_non_null(strstr(fault.message, "the line is gone"));
	line_rescue(&line);
	line_close(&line);
	assert_int_equal(line_read(&line, got, sizeof got, &fault), -1);
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	pair_end(&pair);
}

/* --- the list of devices, in a tree of our own --- */

#define PAIRS 6

static char tree[256], root[280];
static struct pair pairs[PAIRS];

static void link_to(const char *name, const char *target)
{
	char path[400];
	snprintf(path, sizeof path, "%s/%s", root, name);
	assert_int_equal(symlink(target, path), 0);
}

static void chip(const char *name, const char *type)
{
	char path[400];
	snprintf(path, sizeof path, "%s/sys/class/tty/%s", tree, name);
	assert_int_equal(mkdir(path, 0700), 0);
	strcat(path, "/type");
	assert_true(scratch_write(path, type, strlen(type)));
}

static void folder(const char *name)
{
	char path[400];
	snprintf(path, sizeof path, "%s/%s", tree, name);
	assert_int_equal(mkdir(path, 0700), 0);
}

static int tree_make(void **state)
{
	static const char *const folders[] = { "dev", "dev/serial", "dev/serial/by-id", "sys", "sys/class", "sys/class/tty" };
	(void)state;
	assert_true(scratch_make(tree, sizeof tree));
	snprintf(root, sizeof root, "%s/dev", tree);
	for (size_t i = 0; i < sizeof folders / sizeof *folders; i++)
		folder(folders[i]);
	for (size_t i = 0; i < PAIRS; i++)
		pair_make(&pairs[i]);
	return 0;
}

static int tree_end(void **state)
{
	(void)state;
	for (size_t i = 0; i < PAIRS; i++)
		pair_end(&pairs[i]);
	scratch_remove(tree);
	return 0;
}

static void devices_likeliest_first(void **state)
{
	(void)state;
	static const char *const want[] = { "serial/by-id/usb-made-up-b-00", "ttyUSB2", "ttyUSB10", "ttyACM0", "ttyS1" };
	struct line_device found[8], few[2];
	link_to("ttyS0", pairs[0].name);
	link_to("ttyS1", pairs[1].name);
	link_to("ttyACM0", pairs[2].name);
	link_to("ttyUSB10", pairs[3].name);
	link_to("ttyUSB2", pairs[4].name);
	link_to("ttyUSB0", pairs[5].name);
	link_to("ttyUSB", pairs[0].name);        /* no number */
	link_to("ttyUSBx", pairs[0].name);
	link_to("ttyUSB3", "/nowhere/at/all");
	link_to("tty1", pairs[0].name);
	link_to("serial/by-id/usb-made-up-b-00", "../../ttyUSB0");
	link_to("serial/by-id/usb-made-up-a-00", "../../ttyUSB7");   /* unplugged */
	chip("ttyS0", "0\n");
	chip("ttyS1", "4\n");
	size_t count = line_list(root, found, sizeof found / sizeof *found);
	assert_int_equal(count, sizeof want / sizeof *want);
	for (size_t i = 0; i < count; i++) {
		assert_string_equal(found[i].path + strlen(root) + 1, want[i]);
		assert_true(found[i].usable);
		assert_true(found[i].hint[0]);
	}
	assert_int_equal(line_list(root, few, 2), 2);
	assert_int_equal(line_list("/nowhere/at/all", found, 8), 0);
}

static void none_was_named(void **state)
{
	(void)state;
	struct line_device two[] = {
		{ "/dev/ttyUSB0", "USB serial adapter", true }, { "/dev/ttyS0", "on-board port", true }, { "/dev/ttyS1", "on-board port", false },
	};
	struct pm_fault fault = { 0 };
	assert_false(line_none_named(NULL, 0, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_non_null(strstr(fault.remedy, "plug"));
	assert_false(line_none_named(two, 3, &fault));
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	assert_non_null(strstr(fault.message, "2 could be meant"));
	assert_non_null(strstr(fault.remedy, "/dev/ttyUSB0 (USB serial adapter), /dev/ttyS0"));
	assert_null(strstr(fault.remedy, "ttyS1"));
	assert_false(line_none_named(two + 2, 1, &fault));
	assert_int_equal(fault.kind, PM_FAULT_FORBIDDEN);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_line_is_raw),
		cmocka_unit_test(settings_are_put_back),
		cmocka_unit_test(wrong_words_are_refused),
		cmocka_unit_test(what_a_line_does_not_do),
		cmocka_unit_test(a_busy_line_is_refused),
		cmocka_unit_test(what_is_no_line),
		cmocka_unit_test(permission_is_asked_for),
		cmocka_unit_test(the_own_terminal_is_refused),
		cmocka_unit_test(bytes_pass_as_they_are),
		cmocka_unit_test(a_line_that_goes),
		cmocka_unit_test_setup_teardown(devices_likeliest_first, tree_make, tree_end),
		cmocka_unit_test(none_was_named),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
