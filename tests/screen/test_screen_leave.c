/* Leaving the terminal, for good or for a while, and terminals of other kinds. */
#include <sys/resource.h>

#include "echo.h"
#include "shell.h"

/* --- the end --------------------------------------------------------------------------- */

static void check_restored(struct pty *pty)
{
	struct termios modes;
	assert_true(pty_modes(pty, &modes));
	assert_true(modes.c_lflag & ICANON);
	assert_true(modes.c_lflag & ECHO);
	assert_true(modes.c_lflag & ISIG);
	assert_true(modes.c_iflag & IXON);
	assert_false(pty->alternate);
	assert_true(pty->cursor_visible);
	assert_false(pty_brackets(pty));
}

static void the_terminal_is_as_before(void **state)
{
	(void)state;
	static const int ways[] = { 0, SIGTERM, SIGHUP, SIGQUIT };
	for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
		struct pty pty;
		struct echo echo = usual();
		start(&pty, &echo, 24, 80, xterm);
		assert_true(pty.alternate);
		assert_true(pty_brackets(&pty));
		/* held open, or its modes would go with its last user */
		int side = open(pty.name, O_RDWR | O_NOCTTY);
		if (ways[i])
			pty_signal(&pty, ways[i]);
		else
			pty_key(&pty, "Q");
		assert_int_equal(pty_wait_exit(&pty), ways[i] ? 128 + ways[i] : 0);
		assert_true(WIFEXITED(pty.status));
		check_restored(&pty);
		close(side);
		pty_end(&pty);
	}
}

/* --- the end by a signal that nobody answers ------------------------------------------------ */

#ifdef __SANITIZE_ADDRESS__
#define FAULTS                     /* the sanitizer reports them, and ends the program in its own way */
#else
#define FAULTS SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGSYS, SIGTRAP,
#endif

/* Without the test's own handlers, which cmocka has for faults, and without a core. */
static void be_mortal(void)
{
	for (int number = 1; number < NSIG; number++)
		if (number != SIGINT && number != SIGQUIT)
			signal(number, SIG_DFL);
	setrlimit(RLIMIT_CORE, &(struct rlimit){ 0, 0 });
}

/* On a terminal that has settings of its own. */
static int run_mortal(void *argument)
{
	struct termios modes;
	be_mortal();
	tcgetattr(STDIN_FILENO, &modes);
	modes.c_iflag = (modes.c_iflag | IXANY) & ~(tcflag_t)IMAXBEL;
	modes.c_lflag &= ~(tcflag_t)(ECHOE | ECHOCTL);
	modes.c_cc[VERASE] = 'H';
	cfsetospeed(&modes, B4800);
	cfsetispeed(&modes, B4800);
	tcsetattr(STDIN_FILENO, TCSANOW, &modes);
	return run_echo(argument);
}

static void check_killed(struct pty *pty, int number)
{
	struct termios modes;
	pty_wait_exit(pty);
	assert_true(WIFSIGNALED(pty->status));
	assert_int_equal(WTERMSIG(pty->status), number);
	check_restored(pty);
	assert_true(pty_modes(pty, &modes));
	assert_int_equal(modes.c_iflag & (IXANY | IMAXBEL), IXANY);
	assert_int_equal(modes.c_lflag & (ECHOE | ECHOCTL), 0);
	assert_int_equal(modes.c_cc[VERASE], 'H');
	assert_int_equal(cfgetospeed(&modes), B4800);
}

static void a_signal_that_ends_it_gives_the_terminal_back(void **state)
{
	(void)state;
	const int numbers[] = { FAULTS SIGABRT, SIGALRM, SIGUSR1, SIGUSR2, SIGXCPU, SIGVTALRM, SIGPROF, SIGPIPE, SIGRTMIN, SIGRTMAX };
	for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
		struct pty pty;
		struct echo echo = usual();
		echo.restless = i % 2;   /* in the middle of a frame too */
		assert_true(pty_fork(&pty, 24, 80, xterm, run_mortal, &echo));
		assert_true(pty_wait_text(&pty, "events 0"));
		assert_true(pty.alternate);
		int side = open(pty.name, O_RDWR | O_NOCTTY);
		pty_signal(&pty, numbers[i]);
		check_killed(&pty, numbers[i]);
		close(side);
		pty_end(&pty);
	}
}

/* No sequence for a kind of terminal that has no other screen: an empty one. */
static void a_plain_terminal_is_left_empty(void **state)
{
	(void)state;
	static const char *const vt100[] = { "TERM=vt100", "LC_ALL=C", NULL };
	struct pty pty;
	struct echo echo = usual();
	assert_true(pty_fork(&pty, 24, 80, vt100, run_mortal, &echo));
	assert_true(pty_wait_text_cursor(&pty, "events 0", 1, 6));
	int side = open(pty.name, O_RDWR | O_NOCTTY);
	pty_signal(&pty, SIGUSR1);
	check_killed(&pty, SIGUSR1);
	assert_int_equal(pty_find(&pty, "events"), -1);
	assert_int_equal(pty_find(&pty, "$<"), -1);   /* pauses are no text */
	close(side);
	pty_end(&pty);
}

static void a_suspended_one_that_is_ended_writes_nothing(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	struct shell shell = { run_mortal, &echo };
	assert_true(pty_fork(&pty, 24, 80, xterm, shell_run, &shell));
	assert_true(pty_wait_text(&pty, "events 0"));
	assert_true(pty_key(&pty, PTY_CTRL('z')));
	assert_true(pty_wait_text(&pty, "stop 1 of the job"));
	size_t before = pty.log_length;
	int side = open(pty.name, O_RDWR | O_NOCTTY);
	pid_t job = -1;
	char path[64];
	snprintf(path, sizeof path, "/proc/%d/task/%d/children", (int)pty.pid, (int)pty.pid);
	FILE *children = fopen(path, "r");
	assert_non_null(children);
	assert_int_equal(fscanf(children, "%d", &job), 1);
	fclose(children);
	kill(job, SIGUSR1);
	kill(job, SIGCONT);
	assert_true(pty_send(&pty, "\n", 1));
	assert_int_equal(pty_wait_exit(&pty), 98);   /* the shell saw it killed */
	assert_null(strchr(pty.log + before, '\033'));
	check_restored(&pty);
	close(side);
	pty_end(&pty);
}

#ifndef __SANITIZE_ADDRESS__
static int overflow(volatile int depth)
{
	volatile char room[4096];
	room[0] = (char)depth;
	return depth < 0 ? 0 : overflow(depth + 1) + room[0];
}

static int run_overflow(void *argument)
{
	struct pm_fault fault;
	(void)argument;
	be_mortal();
	struct curses *curses = curses_open(&(struct curses_options){ false, false }, &fault);
	char key;
	return curses && read(STDIN_FILENO, &key, 1) == 1 ? overflow(0) : 1;
}

/* A handler needs a stack too. */
static void no_stack_left(void **state)
{
	(void)state;
	struct pty pty;
	struct termios modes;
	assert_true(pty_fork(&pty, 24, 80, xterm, run_overflow, NULL));
	int side = open(pty.name, O_RDWR | O_NOCTTY);
	do
		pty_pump(&pty, 5);
	while (pty_modes(&pty, &modes) && (modes.c_lflag & ICANON));
	assert_true(pty_send(&pty, "x", 1));
	pty_wait_exit(&pty);
	assert_true(WIFSIGNALED(pty.status));
	assert_int_equal(WTERMSIG(pty.status), SIGSEGV);
	check_restored(&pty);
	close(side);
	pty_end(&pty);
}
#endif

static void stops_at_any_moment(void **state)
{
	(void)state;
	int64_t longest = 0;
	for (int i = 0; i < 40; i++) {
		struct pty pty;
		struct echo echo = usual();
		echo.restless = true;
		int number = (int[]){ SIGHUP, SIGTERM, SIGQUIT }[i % 3];
		assert_true(pty_fork(&pty, 24, 80, xterm, run_echo, &echo));
		assert_true(pty_wait_text(&pty, "events 0"));
		pty_pump(&pty, 0);
		nanosleep(&(struct timespec){ .tv_nsec = i * 130000L }, NULL);
		int64_t sent = pty_now_ms();
		pty_signal(&pty, number);
		assert_int_equal(pty_wait_exit(&pty), 128 + number);
		int64_t took = pty_now_ms() - sent;
		longest = took > longest ? took : longest;
		assert_true(WIFEXITED(pty.status));   /* by itself, not killed */
		pty_end(&pty);
	}
	printf("# figure screen: longest of 40 stops took %d ms\n", (int)longest);
	assert_in_range(longest, 0, 300);
}

/* A terminal that takes no more output (a dead connection not yet given up)
 * must not hold up a stop. */
static void stops_while_the_terminal_is_stuck(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	echo.restless = true;
	assert_true(pty_fork(&pty, 50, 160, xterm, run_echo, &echo));
	assert_true(pty_wait_text(&pty, "events 0"));
	/* nobody reads: wait until nothing more comes */
	int before = -1, now = 0;
	int64_t quiet = pty_now_ms();
	while (pty_now_ms() - quiet < 100) {
		ioctl(pty.fd, FIONREAD, &now);
		if (now != before)
			quiet = pty_now_ms();
		before = now;
		nanosleep(&(struct timespec){ .tv_nsec = 5000000 }, NULL);
	}
	int64_t sent = pty_now_ms();
	pty_signal(&pty, SIGTERM);
	while (waitpid(pty.pid, &pty.status, WNOHANG) == 0 && pty_now_ms() - sent < PTY_DEADLINE_MS)
		nanosleep(&(struct timespec){ .tv_nsec = 1000000 }, NULL);
	int64_t took = pty_now_ms() - sent;
	printf("# figure screen: a stop with a stuck terminal took %d ms\n", (int)took);
	assert_in_range(took, 0, 300);
	pty.reaped = true;
	assert_true(WIFEXITED(pty.status));
	assert_int_equal(WEXITSTATUS(pty.status), 128 + SIGTERM);
	pty_end(&pty);
}

static void a_closed_terminal_costs_no_processor_time(void **state)
{
	(void)state;
	int report[2];
	assert_int_equal(pipe(report), 0);
	struct pty pty;
	struct echo echo = usual();
	echo.ignore_hangup = echo.never_stops = true;
	echo.report = report[1];
	start(&pty, &echo, 24, 80, xterm);
	pty_hang_up(&pty);
	char byte = 0;
	struct pollfd told = { .fd = report[0], .events = POLLIN };
	assert_int_equal(poll(&told, 1, 300), 1);
	assert_int_equal(read(report[0], &byte, 1), 1);
	assert_int_equal(byte, 'S');
	/* and again each second, for whoever missed it */
	long before = pty_processor(&pty);
	assert_true(before >= 0);
	int64_t begun = pty_now_ms();
	assert_int_equal(poll(&told, 1, 5000), 1);
	assert_in_range(pty_now_ms() - begun, 700, 5000);
	assert_in_range(pty_processor(&pty) - before, 0, 2);
	pty_end(&pty);
	close(report[0]);
	close(report[1]);
}

/* --- kinds of terminal ------------------------------------------------------------------ */

static void refuses_terminals_without_addressing(void **state)
{
	(void)state;
	static const struct { const char *term, *said; } cases[] = {
		{ "TERM=dumb", "cannot place its cursor: TERM is \"dumb\"" },
		{ "TERM=dumb-colour", "cannot place its cursor: TERM is \"dumb-colour\"" },
		{ "-TERM", "TERM is not set" },
		{ "TERM=", "TERM is not set" },
		{ "TERM=../../etc/passwd", "not the name of a terminal" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		const char *const environment[] = { cases[i].term, "LC_ALL=C.UTF-8", NULL };
		struct pty pty;
		struct echo echo = usual();
		assert_true(pty_fork(&pty, 24, 80, environment, run_echo, &echo));
		assert_int_equal(pty_wait_exit(&pty), 2);
		assert_true(pty_log_has(&pty, cases[i].said));
		assert_false(pty_log_has(&pty, "\033"));   /* nothing but words */
		pty_end(&pty);
	}
}

static void works_where_the_description_is_missing(void **state)
{
	(void)state;
	static const char *const terms[] = {
		"TERM=nobody-knows-this", "TERM=xterm-nobody", "TERM=vt220-nobody-w", "TERM=screen.nobody-256color",
		"TERM=vt100", "TERM=linux", "TERM=tmux-256color", "TERM=xterm-mono", "TERM=ansi",
	};
	for (size_t i = 0; i < sizeof terms / sizeof *terms; i++) {
		const char *const environment[] = { terms[i], "LC_ALL=C.UTF-8", NULL };
		struct pty pty;
		struct echo echo = usual();
		start(&pty, &echo, 24, 80, environment);
		assert_true(pty_key(&pty, "\033[A"));
		assert_true(pty_wait_text_cursor(&pty, "<up>", 1, 6));
		assert_true(pty_key(&pty, "\r"));
		assert_true(pty_wait_text_cursor(&pty, "<enter>", 1, 6));
		finish(&pty);
	}
}

static int run_redirected(void *argument)
{
	int nowhere = open("/dev/null", O_RDWR);
	dup2(nowhere, *(const int *)argument);
	struct pm_fault fault = { .kind = PM_FAULT_NONE };
	struct curses *curses = curses_open(&(struct curses_options){ false, false }, &fault);
	dprintf(2, "%s", curses ? "opened" : fault.message);
	return curses ? 1 : 0;
}

static void refuses_what_is_no_terminal(void **state)
{
	(void)state;
	static const char *const said[] = { "standard input is not a terminal", "standard output is not a terminal" };
	for (int fd = 0; fd < 2; fd++) {
		struct pty pty;
		assert_true(pty_fork(&pty, 24, 80, xterm, run_redirected, &fd));
		assert_int_equal(pty_wait_exit(&pty), 0);
		assert_true(pty_log_has(&pty, said[fd]));
		pty_end(&pty);
	}
}

/* --- suspending ------------------------------------------------------------------------- */

static void suspends_and_returns(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	struct shell shell = { run_echo, &echo };
	assert_true(pty_fork(&pty, 24, 80, xterm, shell_run, &shell));
	assert_true(pty_wait_text(&pty, "events 0"));
	for (int round = 0; round < 3; round++) {
		assert_true(pty_key(&pty, PTY_CTRL('z')));
		char stop[32];
		snprintf(stop, sizeof stop, "stop %d of the job", round + 1);
		assert_true(pty_wait_text(&pty, stop));
		check_restored(&pty);
		pty_resize(&pty, 30 - round, 90);   /* while it does not look */
		assert_true(pty_send(&pty, "\n", 1));
		char size[32];
		snprintf(size, sizeof size, "size %dx90", 30 - round);
		assert_true(pty_wait_text_cursor(&pty, size, 1, 6));
		assert_int_equal(pty_find(&pty, "of the job"), -1);
		assert_true(pty.alternate);
		assert_true(pty_brackets(&pty));
		assert_true(pty_key(&pty, "x"));
		assert_true(pty_wait_text_cursor(&pty, "<point 0078>", 1, 6));
	}
	finish(&pty);
}

static void a_suspended_program_can_be_ended(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	struct shell shell = { run_echo, &echo };
	assert_true(pty_fork(&pty, 24, 80, xterm, shell_run, &shell));
	assert_true(pty_wait_text(&pty, "events 0"));
	assert_true(pty_key(&pty, PTY_CTRL('z')));
	assert_true(pty_wait_text(&pty, "stop 1 of the job"));
	size_t before = pty.log_length;
	int side = open(pty.name, O_RDWR | O_NOCTTY);
	assert_true(pty_send(&pty, "k\n", 2));
	assert_int_equal(pty_wait_exit(&pty), 128 + SIGTERM);
	/* the terminal is the shell's: nothing is written on it any more */
	assert_null(strchr(pty.log + before, '\033'));
	check_restored(&pty);
	close(side);
	pty_end(&pty);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_terminal_is_as_before),
		cmocka_unit_test(a_signal_that_ends_it_gives_the_terminal_back),
		cmocka_unit_test(a_plain_terminal_is_left_empty),
		cmocka_unit_test(a_suspended_one_that_is_ended_writes_nothing),
#ifndef __SANITIZE_ADDRESS__
		cmocka_unit_test(no_stack_left),
#endif
		cmocka_unit_test(stops_at_any_moment),
		cmocka_unit_test(stops_while_the_terminal_is_stuck),
		cmocka_unit_test(a_closed_terminal_costs_no_processor_time),
		cmocka_unit_test(refuses_terminals_without_addressing),
		cmocka_unit_test(works_where_the_description_is_missing),
		cmocka_unit_test(refuses_what_is_no_terminal),
		cmocka_unit_test(suspends_and_returns),
		cmocka_unit_test(a_suspended_program_can_be_ended),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
