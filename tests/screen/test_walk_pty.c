/* The real program on a pseudo terminal. PROGRAM names it. */
#include "pty.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include "scratch.h"

static char folder[256], job[320];
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

static void begin(struct pty *pty, const char *const *environment)
{
	char program[4096], walk[] = "walk", by[] = "--by", name[] = "tech 1";
	const char *given = getenv("PROGRAM");
	assert_non_null(given);
	snprintf(program, sizeof program, "%s", given);
	char *argv[] = { program, walk, by, name, job, NULL };
	assert_true(pty_exec(pty, 24, 80, argv, environment));
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
	static const int numbers[] = { SIGTERM, SIGHUP };
	for (size_t i = 0; i < 2; i++) {
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
	for (int round = 0; round < 20; round++) {
		struct pty pty;
		begin(&pty, plain);
		sign_in(&pty);
		int64_t deadline = pty_now_ms() + PTY_DEADLINE_MS;
		while (waitpid(pty.pid, &pty.status, WNOHANG) == 0) {
			pty_signal(&pty, round % 2 ? SIGTERM : SIGHUP);
			assert_true(pty_now_ms() < deadline);
		}
		pty.reaped = true;
		assert_true(WIFEXITED(pty.status));
		assert_int_equal(WEXITSTATUS(pty.status), 128 + (round % 2 ? SIGTERM : SIGHUP));
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

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(a_kill_loses_nothing_accepted), CASE(signals_leave_in_time), CASE(a_second_signal_does_not_cut_the_way_out), CASE(ascii_in_the_c_locale),
		CASE(a_dumb_terminal_is_refused), CASE(control_c_asks), CASE(resizes_land), CASE(hostile_words_stay_words),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
