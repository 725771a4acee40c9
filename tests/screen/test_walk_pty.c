/* The real program on a pseudo terminal. PROGRAM names it. */
#include "pty.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <sys/resource.h>

#include "shell.h"
#include "site_console.h"

static const char *const plain[] = { "TERM=xterm-256color", "LC_ALL=C.UTF-8", "PORTMUSTER_DATA=data", "PORTMUSTER_CACHE=no", NULL };

static int set_up(void **state)
{
	(void)state;
	size_t length = 0;
	if (!scratch_make(folder, sizeof folder))
		return 1;
	snprintf(job, sizeof job, "%s/site.yaml", folder);
	char *bytes = scratch_read("data/demo/site.yaml", &length);
	bool good = bytes && scratch_write(job, bytes, length);
	free(bytes);
	return !good;
}

static int tear_down(void **state)
{
	(void)state;
	scratch_remove(folder);
	return 0;
}

static int run_program(void *argument)
{
	char program[4096], walk[] = "walk", by[] = "--by", name[] = "tech 1", now[] = "--now=2026-09-14T09:30:00Z";
	const char *given = getenv("PROGRAM");
	char *argv[] = { program, walk, by, name, now, job, NULL };
	(void)argument;
	snprintf(program, sizeof program, "%s", given ? given : "");
	setrlimit(RLIMIT_CORE, &(struct rlimit){ 0, 0 });
	return pty_exec_child(argv);
}

static void begin(struct pty *pty, const char *const *environment)
{
	assert_non_null(getenv("PROGRAM"));
	assert_true(pty_fork(pty, 24, 80, environment, run_program, NULL));
}

static void sign_in(struct pty *pty)
{
	assert_true(pty_wait_text(pty, "Who is at the rack?"));
	pty_key(pty, "\r");
	assert_true(pty_wait_text(pty, "May the mains go off today?"));
}

static bool job_holds(const char *text)
{
	size_t length = 0;
	char *bytes = scratch_read(job, &length);
	bool found = bytes && strstr(bytes, text);
	free(bytes);
	return found;
}

/* Killed right after the screen said saved: the entry is there. */
static void a_kill_loses_nothing_accepted(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain);
	sign_in(&pty);
	pty_key(&pty, "a");
	assert_true(pty_wait_text(&pty, "> a"));
	pty_key(&pty, "\r");
	assert_true(pty_wait_text(&pty, "saved"));
	pty_signal(&pty, SIGKILL);
	pty_wait_exit(&pty);
	pty_end(&pty);
	assert_true(job_holds("agreed by the operations centre"));
	begin(&pty, plain);
	assert_true(pty_wait_text(&pty, "Last entry: \"May the mains go off today?\""));
	pty_signal(&pty, SIGTERM);
	assert_int_equal(pty_wait_exit(&pty), 128 + SIGTERM);
	pty_end(&pty);
}

static void signals_leave_in_time(void **state)
{
	(void)state;
	static const int numbers[] = { SIGTERM, SIGHUP, SIGQUIT };
	for (size_t i = 0; i < 3; i++) {
		struct pty pty;
		begin(&pty, plain);
		sign_in(&pty);
		int64_t sent = pty_now_ms();
		pty_signal(&pty, numbers[i]);
		assert_int_equal(pty_wait_exit(&pty), 128 + numbers[i]);
		assert_true(pty_now_ms() - sent < 300);
		/* it left; it was not struck down */
		assert_true(WIFEXITED(pty.status));
		pty_end(&pty);
	}
}

/* A terminal that goes sends its hang-up more than once, the shell's beside the
 * kernel's: what is being saved on the way out is saved all the same. */
static void a_second_signal_does_not_cut_the_way_out(void **state)
{
	(void)state;
	for (int round = 0; round < 21; round++) {
		int number = (int[]){ SIGHUP, SIGTERM, SIGQUIT }[round % 3];
		struct pty pty;
		begin(&pty, plain);
		sign_in(&pty);
		int64_t deadline = pty_now_ms() + PTY_DEADLINE_MS;
		while (waitpid(pty.pid, &pty.status, WNOHANG) == 0) {
			pty_signal(&pty, number);
			assert_true(pty_now_ms() < deadline);
		}
		pty.reaped = true;
		assert_true(WIFEXITED(pty.status));
		assert_int_equal(WEXITSTATUS(pty.status), 128 + number);
		pty_end(&pty);
	}
}

static void ascii_in_the_c_locale(void **state)
{
	(void)state;
	static const char *const c[] = { "TERM=xterm", "LC_ALL=C", "NO_COLOR=1", "PORTMUSTER_DATA=data", "PORTMUSTER_CACHE=no", NULL };
	struct pty pty;
	begin(&pty, c);
	sign_in(&pty);
	for (size_t i = 0; i < pty.log_length; i++)
		assert_true((unsigned char)pty.log[i] < 0x80);
	/* no colour was asked for: no SGR 30..37 */
	assert_false(pty_log_has(&pty, "[31m"));
	pty_signal(&pty, SIGTERM);
	pty_wait_exit(&pty);
	pty_end(&pty);
}

static void a_dumb_terminal_is_refused(void **state)
{
	(void)state;
	static const char *const dumb[] = { "TERM=dumb", "LC_ALL=C", "PORTMUSTER_DATA=data", "PORTMUSTER_CACHE=no", NULL };
	struct pty pty;
	begin(&pty, dumb);
	assert_int_equal(pty_wait_exit(&pty), 2);
	pty_end(&pty);
}

static void control_c_asks(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain);
	sign_in(&pty);
	pty_key(&pty, "\003");
	assert_true(pty_wait_text(&pty, "Leave the wizard?"));
	pty_key(&pty, "n");
	assert_true(pty_wait_text(&pty, "May the mains go off today?"));
	pty_key(&pty, "\003");
	assert_true(pty_wait_text(&pty, "Leave the wizard?"));
	pty_key(&pty, "y");
	assert_int_equal(pty_wait_exit(&pty), 0);
	pty_end(&pty);
}

static void resizes_land(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain);
	sign_in(&pty);
	for (int i = 0; i < 50; i++)
		pty_resize(&pty, 12 + i % 30, 40 + i * 3 % 90);
	pty_resize(&pty, 10, 30);
	assert_true(pty_wait_text(&pty, "window too small"));
	pty_resize(&pty, 43, 132);
	assert_true(pty_wait_text(&pty, "May the mains go off today?"));
	pty_signal(&pty, SIGTERM);
	pty_wait_exit(&pty);
	pty_end(&pty);
}

/* Escape sequences in a job's own words never reach the terminal. */
static void hostile_words_stay_words(void **state)
{
	(void)state;
	static const char text[] = "format: 1\nplan: router-swap\ngear: eg-12\nsite:\n  code: \"X\\e]0;owned\\a\"\n  name: \"\\e[2J\\e[31mred\"\n";
	struct pty pty;
	assert_true(scratch_write(job, text, sizeof text - 1));
	begin(&pty, plain);
	assert_true(pty_wait_text(&pty, "Who is at the rack?"));
	assert_false(pty_log_has(&pty, "owned\a"));
	assert_false(pty_log_has(&pty, "\033[31mred"));
	pty_signal(&pty, SIGTERM);
	pty_wait_exit(&pty);
	pty_end(&pty);
}

/* --- while a console is read -------------------------------------------------------- */

static void assert_terminal_put_back(struct pty *pty)
{
	struct termios modes;
	assert_true(pty_modes(pty, &modes));
	assert_int_equal(modes.c_lflag & (ICANON | ECHO | ISIG), ICANON | ECHO | ISIG);
	assert_false(pty->alternate);
	assert_true(pty->cursor_visible);
	assert_false(pty_brackets(pty));
}

/* Connect by the device's path, and wait until some interfaces are read. */
static void connect_console(struct pty *pty)
{
	assert_true(pty_wait_text(pty, "Who is at the rack?"));
	pty_key(pty, "\r");
	assert_true(pty_wait_gone(pty, "Who is at the rack?"));
	pty_key(pty, "\r");
	assert_true(pty_wait_text(pty, "port12 ."));
	pty_key(pty, "c");
	assert_true(pty_wait_text(pty, "another device: type its path"));
	for (int i = 0; i < 16; i++)
		pty_key(pty, PTY_DOWN);
	pty_key(pty, "\r");
	pty_type(pty, console.name);
	pty_key(pty, "\r");
	assert_true(pty_wait_text(pty, "port1  ~"));
	assert_true(is_raw());
	assert_true(is_taken());
}

static bool evidence_has(const char *text)
{
	char path[600];
	bool found = false;
	snprintf(path, sizeof path, "%s/evidence", folder);
	DIR *listing = opendir(path);
	for (const struct dirent *entry; listing && (entry = readdir(listing));) {
		char file[900];
		size_t length = 0;
		snprintf(file, sizeof file, "%s/%s", path, entry->d_name);
		char *bytes = entry->d_name[0] == '.' ? NULL : scratch_read(file, &length);
		found = found || (bytes && strstr(bytes, text));
		free(bytes);
	}
	if (listing)
		closedir(listing);
	return found;
}

static void assert_pass_kept(void)
{
	assert_true(job_holds("of: \"port/mgmt\""));
	assert_false(job_holds("of: \"port/port12\""));
	assert_true(evidence_has(" pass 1 cut short "));
}

static void a_signal_gives_the_line_back_and_keeps_the_pass(void **state)
{
	static const int numbers[] = { SIGTERM, SIGHUP, SIGQUIT };
	for (size_t i = 0; i < 3; i++) {
		struct pty pty;
		if (i) {
			tear_down_console(state);
			set_up_console(state);
		}
		begin(&pty, plain);
		int side = open(pty.name, O_RDWR | O_NOCTTY);
		connect_console(&pty);
		pty_signal(&pty, numbers[i]);
		pty_signal(&pty, numbers[i]);
		assert_int_equal(pty_wait_exit(&pty), 128 + numbers[i]);
		assert_true(WIFEXITED(pty.status));
		assert_line_put_back();
		assert_terminal_put_back(&pty);
		assert_pass_kept();
		close(side);
		pty_end(&pty);
	}
}

static void a_closed_terminal_gives_the_line_back(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain);
	connect_console(&pty);
	pty_hang_up(&pty);
	assert_int_equal(pty_wait_exit(&pty), 128 + SIGHUP);
	assert_line_put_back();
	assert_pass_kept();
	pty_end(&pty);
}

/* Those that nobody answers: nothing is saved in haste, all is put back. */
static void a_deadly_signal_gives_line_and_terminal_back(void **state)
{
	(void)state;
	static const int numbers[] = {
#ifndef __SANITIZE_ADDRESS__
		SIGSEGV,
#endif
		SIGABRT, SIGALRM, SIGUSR1,
	};
	for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
		struct pty pty;
		begin(&pty, plain);
		int side = open(pty.name, O_RDWR | O_NOCTTY);
		connect_console(&pty);
		pty_signal(&pty, numbers[i]);
		pty_wait_exit(&pty);
		assert_true(WIFSIGNALED(pty.status));
		assert_int_equal(WTERMSIG(pty.status), numbers[i]);
		assert_line_put_back();
		assert_terminal_put_back(&pty);
		close(side);
		pty_end(&pty);
	}
}

/* It must not hold a line that is to go. */
static int run_shell(void *argument)
{
	close(console.master);
	close(console.side);
	return shell_run(argument);
}

static void suspend_console(struct pty *pty)
{
	static struct shell shell = { run_program, NULL };
	assert_true(pty_fork(pty, 24, 80, plain, run_shell, &shell));
	connect_console(pty);
	pty_key(pty, PTY_CTRL('z'));
	assert_true(pty_wait_text(pty, "stop 1 of the job"));
	assert_line_put_back();
	assert_terminal_put_back(pty);
}

static void suspended_it_leaves_the_line_and_takes_it_again(void **state)
{
	(void)state;
	struct pm_fault fault;
	struct line line;
	struct pty pty;
	suspend_console(&pty);
	/* somebody else may have it meanwhile */
	assert_true(line_open(&line, console.name, 1200, "8N1", &fault));
	line_close(&line);
	assert_line_put_back();
	pty_send(&pty, "\n", 1);
	assert_true(pty_wait_text(&pty, "the pass that ran begins anew"));
	assert_true(pty_wait_text(&pty, "13 of 13 interfaces confirmed"));
	assert_false(evidence_has("cut short"));
	assert_line_put_back();
	pty_send(&pty, "\n", 1);
	assert_true(pty_wait_text(&pty, "port12 ="));
	pty_end(&pty);
}

static void a_line_that_cannot_be_had_again(void **state)
{
	for (int gone = 0; gone < 2; gone++) {
		struct pm_fault fault;
		struct line line = { .fd = -1 };
		struct pty pty;
		if (gone) {
			tear_down_console(state);
			set_up_console(state);
		}
		suspend_console(&pty);
		if (gone)
			unplug();
		else
			assert_true(line_open(&line, console.name, 1200, "8N1", &fault));
		pty_send(&pty, "\n", 1);
		assert_true(pty_wait_text(&pty, gone ? "there is no such device" : "another program uses this line"));
		assert_true(pty_wait_text(&pty, "port1  -"));
		assert_pass_kept();
		if (!gone)
			assert_true(is_taken());
		line_close(&line);
		pty_end(&pty);
	}
}

static void ended_while_suspended(void **state)
{
	(void)state;
	struct pty pty;
	suspend_console(&pty);
	pty_send(&pty, "k\n", 2);
	assert_int_equal(pty_wait_exit(&pty), 128 + SIGTERM);
	assert_line_put_back();
	assert_pass_kept();
	pty_end(&pty);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
#define CONSOLE(name) cmocka_unit_test_setup_teardown(name, set_up_console, tear_down_console)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(a_kill_loses_nothing_accepted), CASE(signals_leave_in_time), CASE(a_second_signal_does_not_cut_the_way_out), CASE(ascii_in_the_c_locale),
		CASE(a_dumb_terminal_is_refused), CASE(control_c_asks), CASE(resizes_land), CASE(hostile_words_stay_words),
		CONSOLE(a_signal_gives_the_line_back_and_keeps_the_pass), CONSOLE(a_closed_terminal_gives_the_line_back),
		CONSOLE(a_deadly_signal_gives_line_and_terminal_back), CONSOLE(suspended_it_leaves_the_line_and_takes_it_again),
		CONSOLE(a_line_that_cannot_be_had_again), CONSOLE(ended_while_suspended),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
