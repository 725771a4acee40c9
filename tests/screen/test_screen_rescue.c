/* Which signals have something put back before they end the program, and what. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <signal.h>
#include <stdbool.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "screen/curses_rescue.h"

static int said[2];

static void say(const void *of)
{
	ssize_t ignored = write(said[1], of, 1);
	(void)ignored;
}

static void answer(int number)
{
	(void)number;
	say("a");
}

static void both(void)
{
	rescue_set(RESCUE_SCREEN, say, "s");
	rescue_set(RESCUE_LINE, say, "l");
}

static void no_more(void)
{
	both();
	rescue_clear(RESCUE_LINE);
	rescue_clear(RESCUE_SCREEN);
}

static void once_more(void)
{
	no_more();
	both();
	rescue_clear(RESCUE_SCREEN);
}

static void in_a_child(void)
{
	both();
	if (fork() != 0)
		_exit(wait(NULL) < 0);
}

static void ignored(void)
{
	signal(SIGUSR1, SIG_IGN);
	both();
}

static void answered(void)
{
	signal(SIGUSR1, answer);
	both();
}

static void answered_later(void)
{
	both();
	signal(SIGUSR1, answer);
	rescue_clear(RESCUE_LINE);
	rescue_clear(RESCUE_SCREEN);
}

static void a_fault_answered(void)
{
	signal(SIGABRT, answer);
	both();
	raise(SIGABRT);
}

static void who_is_rescued_and_when(void **state)
{
	(void)state;
	static const struct {
		void (*prepare)(void);
		const char *says;
		bool lives;
	} cases[] = {
		{ both, "ls", false }, { no_more, "", false }, { once_more, "l", false }, { in_a_child, "", true },
		{ ignored, "", true }, { answered, "a", true }, { answered_later, "a", true }, { a_fault_answered, "lsals", false },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		char got[16] = "";
		int status;
		assert_int_equal(pipe(said), 0);
		pid_t child = fork();
		if (child == 0) {
			setrlimit(RLIMIT_CORE, &(struct rlimit){ 0, 0 });
			signal(SIGUSR1, SIG_DFL);
			cases[i].prepare();
			raise(SIGUSR1);
			_exit(0);
		}
		assert_int_equal(waitpid(child, &status, 0), child);
		close(said[1]);
		assert_true(read(said[0], got, sizeof got - 1) >= 0);
		close(said[0]);
		assert_string_equal(got, cases[i].says);
		assert_int_equal(WIFEXITED(status), cases[i].lives);
		assert_true(cases[i].lives ? WEXITSTATUS(status) == 0 : WTERMSIG(status) == SIGUSR1);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(who_is_rescued_and_when) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
