/* The board's driver on a pseudo terminal. */
#include <locale.h>

#include "board_fixture.h"
#include "pty.h"

static struct board_fixture f;   /* for its folder; the board runs in the child */
static const char *const plain[] = { "TERM=xterm-256color", "LC_ALL=C.UTF-8", NULL };

static int set_up(void **state)
{
	(void)state;
	board_start(&f);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	board_stop(&f);
	return 0;
}

/* Exit status: 128 and the signal, or 2 with a fault. */
static int run_board(void *argument)
{
	static const char *const folder[] = { "fleet" };
	struct board_options options = {
		.colour = true, .name = argument, .clock_ahead = BOARD_START - (int64_t)time(NULL),
		.forecast = { .seed = 1, .runs = 200 },
	};
	struct gather_options how = { .folder = folder, .folder_count = 1, .now = pm_when_utc(BOARD_START) };
	struct pm_fault fault = { 0 };
	int signal = 0;
	setlocale(LC_CTYPE, "");
	struct gather *gather = gather_begin(&how, &fault);
	bool good = gather && board_run(gather, &options, &signal, &fault);
	if (!good)
		fprintf(stderr, "%s\n", fault.message);
	gather_free(gather);
	return !good ? 2 : signal ? 128 + signal : 0;
}

static void begin(struct pty *pty, const char *const *environment, char *name)
{
	assert_true(pty_fork(pty, 24, 80, environment, run_board, name));
}

static void ended(struct pty *pty, int status)
{
	assert_int_equal(pty_wait_exit(pty), status);
	pty_end(pty);
}

static void the_lead_looks_around(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain, NULL);
	assert_true(pty_wait_text(&pty, "TB-11"));
	assert_true(pty_wait_text(&pty, "chance"));
	pty_key(&pty, "\033[B");
	assert_true(pty_wait_text_cursor(&pty, "TB-12", 4, 0));
	pty_key(&pty, "\r");
	assert_true(pty_wait_text(&pty, "Phases"));
	pty_key(&pty, "\033");
	assert_true(pty_wait_text(&pty, "[q] leave"));
	pty_key(&pty, "c");
	assert_true(pty_wait_text(&pty, "The last one: half of the runs"));
	pty_key(&pty, "\033");
	assert_true(pty_wait_text(&pty, "[f] clashes"));
	pty_key(&pty, "q");
	ended(&pty, 0);
}

static bool job_holds(const char *text)
{
	char *bytes = scratch_read("fleet/tb-12-vintrow-ford.yaml", NULL);
	bool found = bytes && strstr(bytes, text);
	free(bytes);
	return found;
}

static void a_waiver_is_on_disk_when_the_screen_says_so(void **state)
{
	(void)state;
	struct pty pty;
	char name[] = "lead 1";
	begin(&pty, plain, name);
	assert_true(pty_wait_text(&pty, "TB-12"));
	pty_type(&pty, "/TB-12");
	pty_key(&pty, "\r");
	pty_key(&pty, "\r");
	assert_true(pty_wait_text(&pty, "Phases"));
	pty_key(&pty, "w");
	assert_true(pty_wait_text(&pty, "[Enter] waive"));
	pty_key(&pty, "\r");
	assert_true(pty_wait_text(&pty, "reason:"));
	pty_type(&pty, "a spare lies at the store");
	pty_key(&pty, "\r");
	assert_true(pty_wait_text(&pty, "waiver saved"));
	pty_signal(&pty, SIGKILL);
	pty_wait_exit(&pty);
	pty_end(&pty);
	assert_true(job_holds("a spare lies at the store"));
}

/* A file that somebody changes shows within a few seconds, with no key pressed. */
static void changes_on_disk_show(void **state)
{
	(void)state;
	static const char job[] = "format: \"1\"\nplan: \"router-swap\"\ngear: \"eg-12\"\nsite: { code: \"TB-09\" }\n";
	struct pty pty;
	begin(&pty, plain, NULL);
	assert_true(pty_wait_text(&pty, "chance"));
	board_put("fleet/new.yaml", job, sizeof job - 1);
	assert_true(pty_wait_text(&pty, "TB-09"));
	pty_key(&pty, "q");
	ended(&pty, 0);
}

static void signals_leave_in_time(void **state)
{
	(void)state;
	static const int numbers[] = { SIGTERM, SIGHUP };
	for (size_t i = 0; i < 2; i++) {
		struct pty pty;
		begin(&pty, plain, NULL);
		assert_true(pty_wait_text(&pty, "chance"));
		int64_t sent = pty_now_ms();
		pty_signal(&pty, numbers[i]);
		assert_int_equal(pty_wait_exit(&pty), 128 + numbers[i]);
		assert_true(pty_now_ms() - sent < 300);
		pty_end(&pty);
	}
}

static void control_c_asks(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain, NULL);
	assert_true(pty_wait_text(&pty, "chance"));
	pty_key(&pty, "\003");
	assert_true(pty_wait_text(&pty, "Leave the board?"));
	pty_key(&pty, "n");
	assert_true(pty_wait_text(&pty, "[f] clashes"));
	pty_key(&pty, "\003");
	assert_true(pty_wait_text(&pty, "Leave the board?"));
	pty_key(&pty, "y");
	ended(&pty, 0);
}

static void resizes_land(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain, NULL);
	assert_true(pty_wait_text(&pty, "chance"));
	for (int i = 0; i < 50; i++)
		pty_resize(&pty, 12 + i % 30, 40 + i * 3 % 90);
	pty_resize(&pty, 10, 30);
	assert_true(pty_wait_text(&pty, "window too small"));
	pty_resize(&pty, 43, 132);
	assert_true(pty_wait_text(&pty, "what blocks it"));
	pty_key(&pty, "q");
	ended(&pty, 0);
}

/* Escape sequences in a job's own words never reach the terminal. */
static void hostile_words_stay_words(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain, NULL);
	assert_true(pty_wait_text(&pty, "chance"));
	pty_key(&pty, "\033[F");
	pty_key(&pty, "\r");
	assert_true(pty_wait_text(&pty, "Phases"));
	pty_key(&pty, "\033[F");
	assert_true(pty_wait_text(&pty, "Waivers"));
	assert_false(pty_log_has(&pty, "owned\a"));
	assert_false(pty_log_has(&pty, "\033[31mread"));
	assert_false(pty_log_has(&pty, "\033[5mcentre"));
	pty_signal(&pty, SIGTERM);
	ended(&pty, 128 + SIGTERM);
}

static void ascii_in_the_c_locale(void **state)
{
	(void)state;
	static const char *const c[] = { "TERM=xterm", "LC_ALL=C", NULL };
	struct pty pty;
	begin(&pty, c, NULL);
	assert_true(pty_wait_text(&pty, "chance"));
	for (size_t i = 0; i < pty.log_length; i++)
		assert_true((unsigned char)pty.log[i] < 0x80);
	pty_key(&pty, "q");
	ended(&pty, 0);
}

static void a_dumb_terminal_is_refused(void **state)
{
	(void)state;
	static const char *const dumb[] = { "TERM=dumb", "LC_ALL=C", NULL };
	struct pty pty;
	begin(&pty, dumb, NULL);
	ended(&pty, 2);
}

/* Left alone it waits: no key, no work. */
static void an_idle_board_uses_no_processor(void **state)
{
	(void)state;
	struct pty pty;
	begin(&pty, plain, NULL);
	assert_true(pty_wait_text(&pty, "chance"));
	long before = pty_processor(&pty);
	int64_t until = pty_now_ms() + 1500;
	while (pty_now_ms() < until)
		pty_pump(&pty, 100);
	/* clock ticks of a hundredth of a second */
	assert_true(pty_processor(&pty) - before <= 10);
	pty_key(&pty, "q");
	ended(&pty, 0);
}

/* --- through the program ------------------------------------------------------------------- */

static void review(struct pty *pty, const char *const *environment)
{
	static char program[PATH_MAX * 2], command[] = "review", now[] = "--now=2026-10-08T08:00:00Z", folder[] = "fleet";
	static char *argv[] = { program, command, now, folder, NULL };
	const char *given = getenv("PROGRAM");
	assert_non_null(given);
	snprintf(program, sizeof program, "%s%s%s", given[0] == '/' ? "" : f.home, given[0] == '/' ? "" : "/", given);
	assert_true(pty_exec(pty, 24, 80, argv, environment));
}

static void the_command_opens_the_board(void **state)
{
	(void)state;
	struct pty pty;
	review(&pty, plain);
	assert_true(pty_wait_text(&pty, "next move"));
	assert_true(pty_wait_text(&pty, "chance"));
	assert_true(pty.alternate);
	pty_key(&pty, "q");
	assert_int_equal(pty_wait_exit(&pty), 0);
	assert_false(pty.alternate);
	pty_end(&pty);
}

static void a_dumb_terminal_gets_plain_text(void **state)
{
	(void)state;
	static const char *const dumb[] = { "TERM=dumb", "LC_ALL=C", NULL };
	struct pty pty;
	review(&pty, dumb);
	assert_int_equal(pty_wait_exit(&pty), 1);
	assert_true(pty_log_has(&pty, "TB-11"));
	for (size_t i = 0; i < pty.log_length; i++)
		assert_true(pty.log[i] != '\033');
	pty_end(&pty);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(the_lead_looks_around), CASE(a_waiver_is_on_disk_when_the_screen_says_so), CASE(changes_on_disk_show),
		CASE(signals_leave_in_time), CASE(control_c_asks), CASE(resizes_land), CASE(hostile_words_stay_words),
		CASE(ascii_in_the_c_locale), CASE(a_dumb_terminal_is_refused), CASE(an_idle_board_uses_no_processor),
		CASE(the_command_opens_the_board), CASE(a_dumb_terminal_gets_plain_text),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
