/* The router's console inside the wizard: the practice console is played by a
 * process of its own on a pseudo terminal, as in the demonstration. Each wait is
 * for a condition and has a limit; nothing sleeps. */
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include "walk/live.h"
#define CASE_BEGINS at_the_ports
#include "walk_case.h"

#define LIMIT_MS 60000

static int at_the_ports(void **state)
{
	at_first_step(state);
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	return 0;
}

static void key(char letter)
{
	walk_send(&f, (struct screen_event){ .kind = EVENT_CHARACTER, .point = (unsigned char)letter });
}

static void connect_practice(void)
{
	key('c');
	assert_int_equal(f.state.screen, WALK_LINES);
	assert_shows(&f, "practice console");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_LIVE);
	assert_non_null(f.session.live);
}

/* Let the console talk until `reached`, or fail with the screen. */
static void listen_until(bool (*reached)(void))
{
	int64_t end = live_clock() + LIMIT_MS;
	while (!reached()) {
		struct pollfd line = { .fd = live_fd(f.session.live), .events = POLLIN };
		int wait = live_wait(f.session.live, live_clock());
		if (live_clock() > end) {
			char *dump = canvas_dump(&f.canvas, false);
			fail_msg("not within the limit:\n%s", dump);
		}
		if (live_sending(f.session.live))
			line.events |= POLLOUT;
		poll(&line, 1, wait < 0 || wait > 100 ? 100 : wait);
		drive_listen(&f.state, &f.session);
		walk_draw(&f.state, &f.session, &f.canvas);
	}
}

static bool over(void)
{
	return live_over(f.session.live);
}

static bool four_read(void)
{
	return talk_running(live_talk(f.session.live))->count >= 4;
}

static bool first_pass_recorded(void)
{
	return live_sum(f.session.live)->complete == 1;
}

static bool prompt_is_there(void)
{
	char line[80];
	live_cursor_line(f.session.live, line, sizeof line);
	return strncmp(line, "eg-12> ", 7) == 0;
}

static bool typed_is_there(void)
{
	char line[80];
	live_cursor_line(f.session.live, line, sizeof line);
	return strcmp(line, "eg-12> rol") == 0;
}

static bool pager_or_over(void)
{
	static size_t answered;    /* lines there were at the last pager */
	char line[80];
	if (over())
		return true;
	live_cursor_line(f.session.live, line, sizeof line);
	if (!strstr(line, "space for more") || live_lines(f.session.live) == answered)
		return false;
	answered = live_lines(f.session.live);
	return true;
}

static void two_passes_without_typing(void **state)
{
	(void)state;
	connect_practice();
	listen_until(four_read);
	assert_shows(&f, "pass 1: ");
	assert_shows(&f, "mgmt   ~ 53-10");
	assert_shows(&f, "port12 .");
	listen_until(first_pass_recorded);
	assert_int_equal(f.session.result.roster.held, 13);
	listen_until(over);
	assert_int_equal(f.session.result.roster.confirmed, 13);
	assert_shows(&f, "28 readings in 2 passes; 13 of 13 interfaces confirmed");
	assert_shows(&f, "port12 = 53-1C");
	/* the help has the keys of this moment, and the mark that only this map has */
	walk_type(&f, "?");
	assert_shows(&f, "Choose a line again and list once more.");
	assert_shows(&f, "Back to the port map");
	assert_shows(&f, "~ read in the pass that runs");
	walk_key(&f, KEYS_ESCAPE);
	/* the label and the console say the same serial number */
	struct pm_fact serial = pm_fact_find(&f.session.job.job, "router/serial", PM_AS_TEXT);
	assert_int_equal(serial.standing, PM_CONFIRMED);
	assert_int_equal(serial.last->source, PM_SOURCE_CONSOLE);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_PORTS);
	assert_null(f.session.live);
	assert_int_equal(f.session.player, 0);
	/* on disk, not only in memory */
	walk_reopen(&f);
	assert_int_equal(f.session.result.roster.confirmed, 13);
}

static void leaving_in_the_middle_keeps_what_was_read(void **state)
{
	(void)state;
	connect_practice();
	listen_until(four_read);
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(f.state.screen, WALK_PORTS);
	assert_true(f.session.result.roster.held >= 3);
	assert_int_equal(f.session.result.roster.confirmed, 0);
	size_t held = f.session.result.roster.held;
	walk_reopen(&f);
	assert_int_equal(f.session.result.roster.held, held);
	/* taken up again, it is confirmed by the next two passes */
	walk_key(&f, KEYS_ENTER);
	walk_go(&f.state, &f.session, WALK_PORTS);
	connect_practice();
	listen_until(over);
	assert_int_equal(f.session.result.roster.confirmed, 13);
}

static void an_unplugged_line_loses_nothing_and_says_so(void **state)
{
	(void)state;
	connect_practice();
	listen_until(four_read);
	kill(f.session.player, SIGKILL);
	listen_until(over);
	assert_shows(&f, "the line is gone");
	assert_shows(&f, "nothing is lost");
	assert_hides(&f, "NOT SAVED");
	assert_shows(&f, "THE LINE WENT");
	assert_true(f.session.result.roster.held >= 3);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_PORTS);
}

static void keys_pass_through(void **state)
{
	(void)state;
	connect_practice();
	listen_until(first_pass_recorded);
	key('k');
	assert_true(f.state.hands);
	assert_shows(&f, "YOUR KEYS GO TO THE CONSOLE");
	assert_shows(&f, "[Esc] keyboard back to the tool");
	/* to the tool these would mean something else */
	walk_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	walk_ctrl(&f, 'g');
	walk_type(&f, "?");
	assert_int_equal(f.state.screen, WALK_LIVE);
	walk_key(&f, KEYS_ENTER);
	listen_until(prompt_is_there);
	walk_type(&f, "rolx");
	walk_key(&f, KEYS_ERASE);
	listen_until(typed_is_there);
	walk_key(&f, KEYS_ESCAPE);
	assert_false(f.state.hands);
	assert_int_equal(f.state.screen, WALK_LIVE);
	key('k');
	walk_type(&f, "l");
	walk_key(&f, KEYS_ENTER);
	/* the pager is answered by hand; a second whole listing is the second pass */
	while (!live_over(f.session.live)) {
		listen_until(pager_or_over);
		if (!live_over(f.session.live))
			walk_type(&f, " ");
	}
	assert_int_equal(f.session.result.roster.confirmed, 13);
	assert_false(f.state.hands);
}

static void the_tool_takes_over_again(void **state)
{
	(void)state;
	connect_practice();
	listen_until(four_read);
	key('k');
	assert_shows(&f, "reads along");
	walk_key(&f, KEYS_ESCAPE);
	key('a');
	listen_until(over);
	assert_int_equal(f.session.result.roster.confirmed, 13);
}

static void a_paste_of_several_lines_is_not_sent(void **state)
{
	(void)state;
	connect_practice();
	key('k');
	walk_paste(&f, "roll\rroll\r", 10);
	assert_shows(&f, "not sent");
	assert_false(live_sending(f.session.live));
}

static void a_missing_line_is_explained(void **state)
{
	(void)state;
	key('c');
	f.state.row = f.session.line_count + 1;
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "/dev/no-such-line");
	assert_int_equal(f.state.screen, WALK_LINES);
	assert_shows(&f, "there is no such device");
	assert_null(f.session.live);
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(f.state.screen, WALK_PORTS);
}

/* The player goes when the wizard goes, however that ends. */
static void nobody_plays_on(void **state)
{
	(void)state;
	connect_practice();
	pid_t player = f.session.player;
	close(f.session.player_alive);
	f.session.player_alive = -1;
	int status;
	assert_int_equal(waitpid(player, &status, 0), player);
	assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
	f.session.player = 0;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(two_passes_without_typing), CASE(leaving_in_the_middle_keeps_what_was_read),
		CASE(an_unplugged_line_loses_nothing_and_says_so), CASE(keys_pass_through), CASE(the_tool_takes_over_again),
		CASE(a_paste_of_several_lines_is_not_sent), CASE(a_missing_line_is_explained), CASE(nobody_plays_on),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
