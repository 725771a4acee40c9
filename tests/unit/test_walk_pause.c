/* A line that is left to others for a while, in the middle of a pass. */
#include "live_fixture.h"

/* Somebody else at the line: what the console says meanwhile is lost to us. */
static void somebody_else(int64_t milliseconds)
{
	char lost[512];
	struct line line;
	struct pm_fault fault = { 0 };
	if (!line_open(&line, console.name, 9600, "8N1", &fault))
		fail_msg("%s", fault.message);
	for (int64_t end = console.now + milliseconds; console.now < end;) {
		console_turn();
		while (line_read(&line, lost, sizeof lost, &fault) > 0)
			;
	}
	line_close(&line);
}

static void assert_all_right(void)
{
	assert_int_equal(session.result.roster.confirmed, 13);
	for (size_t i = 0; i < session.result.roster.count; i++) {
		struct pm_eui48 real = standin_address(console.standin, i);
		assert_int_equal(pm_eui48_compare(&session.result.roster.call[i].address, &real), 0);
	}
}

/* At every point of the listing; what has a gap is not taken for whole. */
static void the_pass_begins_anew(void **state)
{
	for (size_t readings = 0; readings < 12; readings += 3) {
		if (readings) {
			tear_down(state);
			set_up(state);
		}
		console_begin();
		struct live *live = must_open(&(struct live_options){ 0 });
		serve_until(live, 0, readings);
		live_pause(live);
		assert_int_equal(live_fd(live), -1);
		assert_false(live_over(live));
		assert_int_equal(live_wait(live, console.now), 0);
		assert_false(live_type(live, "x", 1));
		assert_put_back();
		somebody_else(200);
		live_pause(live);   /* a second time is the same time */
		serve_to_the_end(live);
		assert_int_equal(live_sum(live)->complete, 2);
		assert_int_equal(live_sum(live)->cut, 0);
		assert_int_equal(live_sum(live)->problems, 0);
		assert_all_right();
		live_pause(live);   /* it is over */
		assert_true(live_over(live));
		live_close(live);
		assert_put_back();
	}
}

/* Somebody lists the interfaces by hand, until so many are read in the running pass
 * or another pass is recorded. */
static void somebody_lists(struct live *live, size_t readings)
{
	size_t passes = talk_passes(live_talk(live));
	standin_feed(console.standin, "\rroll\r", 6, console.now);
	for (int i = 0; i < 3000; i++) {
		must_serve(live);
		if (live_over(live) || talk_passes(live_talk(live)) > passes || talk_running(live_talk(live))->count >= readings)
			return;
		if (i % 100 == 99)
			standin_feed(console.standin, " ", 1, console.now);
	}
	fail_msg("nothing was listed");
}

/* Who reads along keeps what was read before the gap, as a pass that is not whole. */
static void reading_along_keeps_the_part(void **state)
{
	(void)state;
	console_begin();
	struct live *live = must_open(&(struct live_options){ .watch = true });
	somebody_lists(live, 5);
	live_pause(live);
	somebody_else(200);
	must_serve(live);
	assert_int_equal(live_sum(live)->cut, 1);
	assert_int_equal(live_sum(live)->complete, 0);
	size_t held = session.result.roster.held;
	assert_true(held >= 4 && held < 13);
	/* somebody sees the rest out, and lists twice more */
	while (!live_over(live))
		somebody_lists(live, 100);
	assert_int_equal(console.heard, 0);
	assert_int_equal(live_sum(live)->cut, 1);
	assert_all_right();
	assert_int_equal(live_sum(live)->differing, 0);
	live_close(live);
}

static void not_to_be_had_again(void **state)
{
	for (int gone = 0; gone < 2; gone++) {
		struct pm_fault fault = { 0 };
		struct line line = { .fd = -1 };
		if (gone) {
			tear_down(state);
			set_up(state);
		}
		console_begin();
		struct live *live = must_open(&(struct live_options){ 0 });
		serve_until(live, 0, 5);
		live_pause(live);
		if (gone) {
			close(console.master);
			console.master = -1;
		} else {
			assert_true(line_open(&line, console.name, 9600, "8N1", &fault));
		}
		assert_false(live_service(live, console.now, &fault));
		assert_string_equal(fault.message, gone ? "there is no such device" : "another program uses this line");
		assert_non_null(strstr(fault.remedy, "nothing is lost"));
		assert_string_equal(live_saying(live), fault.message);
		assert_true(live_over(live));
		assert_int_equal(live_sum(live)->cut, 1);
		assert_true(session.result.roster.held >= 4);
		assert_int_equal(session.result.roster.confirmed, 0);
		live_close(live);
		line_close(&line);
	}
}

static void left_while_it_is_away(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	console_begin();
	struct live *live = must_open(&(struct live_options){ 0 });
	serve_until(live, 0, 5);
	live_pause(live);
	assert_true(live_cut(live, &fault));
	assert_true(live_over(live));
	assert_int_equal(live_fd(live), -1);
	assert_int_equal(live_wait(live, console.now), -1);
	assert_int_equal(live_sum(live)->cut, 1);
	assert_put_back();
	live_close(live);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(the_pass_begins_anew), CASE(reading_along_keeps_the_part), CASE(not_to_be_had_again), CASE(left_while_it_is_away),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
