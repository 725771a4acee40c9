/* The conversation against the stand-in console, and against consoles that
 * are played by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "capture/talk_parts.h"
#include "console_loop.h"
#include "portmuster/text.h"

#define MINUTE 60000

static struct loop_gear shared;

static int set_up(void **state)
{
	(void)state;
	loop_gear_init(&shared);
	return 0;
}

static struct talk_options plain_talk(void)
{
	return (struct talk_options){ .gear = &shared.gear, .passes = 2 };
}

static struct standin_options plain_standin(uint64_t seed)
{
	struct standin_options options = standin_defaults(&shared.gear, seed);
	options.boot = 0;
	options.speed = 0;
	return options;
}

static void assert_all_twice(const struct loop *loop)
{
	assert_true(loop->good);
	assert_int_equal(talk_stage(loop->talk), TALK_DONE);
	assert_int_equal(talk_passes(loop->talk), 2);
	for (size_t p = 0; p < 2; p++) {
		const struct talk_pass *pass = talk_pass(loop->talk, p);
		assert_true(pass->complete);
		assert_int_equal(pass->listing.count, LOOP_PORTS);
		assert_int_equal(loop_right(loop, p), LOOP_PORTS);
		assert_int_equal(pass->listing.serial_count, 1);
		assert_true(pm_form_match("EG12-99-99999", pass->listing.serial[0].text, NULL));
	}
	assert_string_equal(talk_saying(loop->talk), "2 passes complete: 13 of 13 interfaces, 13 of 13 interfaces");
}

/* --- every way in which the stand-in lists ------------------------------------------ */

static void test_every_listing(void **state)
{
	(void)state;
	static const unsigned columns[] = { 0, 80, 132, 72 };
	size_t runs = 0, failed = 0;
	for (int style = 0; style < STANDIN_STYLES; style++)
	for (int notation = 0; notation < PM_NOTATIONS; notation++)
	for (int lower = 0; lower < 2; lower++)
	for (int pager = 0; pager < 2; pager++)
	for (size_t wrap = 0; wrap < 4; wrap++)
	for (int chatter = 0; chatter < 2; chatter++) {
		struct talk_options talk = plain_talk();
		struct standin_options standin = plain_standin(runs);
		struct loop loop;
		standin.style = (enum standin_style)style;
		standin.notation = (enum pm_notation)notation;
		standin.lower = lower;
		standin.rows = pager ? 9 : 0;
		standin.columns = columns[wrap];
		standin.chatter = chatter ? 5 : 0;
		assert_true(loop_begin(&loop, &talk, &standin));
		loop_run(&loop, 10 * MINUTE, NULL);
		runs++;
		size_t right = loop_right(&loop, 0) + loop_right(&loop, 1);
		bool same = talk_stage(loop.talk) == TALK_DONE && loop.good && right == 2 * LOOP_PORTS
			&& talk_pass(loop.talk, 0)->listing.count == LOOP_PORTS
			&& talk_pass(loop.talk, 1)->listing.count == LOOP_PORTS;
		if (!same && failed++ < 5) {
			print_error("style %d notation %d lower %d pager %d columns %u chatter %d: %s, %zu right\n", style, notation,
			            lower, pager, standin.columns, chatter, talk_saying(loop.talk), right);
			const struct talk_pass *pass = talk_pass(loop.talk, 0);
			if (pass) print_error("%.*s\n", (int)pass->length, pass->bytes);
			for (size_t i = 0; pass && i < pass->listing.problem_count; i++)
				print_error("%u: %s %s\n", pass->listing.problem[i].line, pass->listing.problem[i].reason, pass->listing.problem[i].text);
		}
		loop_end(&loop);
	}
	printf("# figure listings read whole, twice: %zu of %zu\n", runs - failed, runs);
	assert_int_equal(failed, 0);
}

static void test_boot_and_speed(void **state)
{
	(void)state;
	static const int64_t speeds[] = { 300, 9600, 115200 };
	for (size_t i = 0; i < 3; i++) {
		struct talk_options talk = plain_talk();
		struct standin_options standin = plain_standin(i);
		struct loop loop;
		standin.boot = 65000;
		standin.speed = speeds[i];
		assert_true(loop_begin(&loop, &talk, &standin));
		loop_run(&loop, 60 * MINUTE, NULL);
		assert_all_twice(&loop);
		loop_end(&loop);
	}
}

/* Started while it boots: patient as long as its profile says, not longer. */
static void test_boot_too_long(void **state)
{
	(void)state;
	struct talk_options talk = plain_talk();
	struct standin_options standin = plain_standin(1);
	struct loop loop;
	standin.boot = 3600000;   /* a message every minute and a half */
	assert_true(loop_begin(&loop, &talk, &standin));
	loop_run(&loop, 60 * MINUTE, NULL);
	assert_int_equal(talk_stage(loop.talk), TALK_FAILED);
	assert_int_equal(loop.now - 1000, 420000);
	assert_string_equal(talk_saying(loop.talk), "no prompt within 420 s");
	assert_true(loop.good);
	loop_end(&loop);
}

/* --- split feeds ------------------------------------------------------------------------ */

static void test_split(void **state)
{
	(void)state;
	struct talk_options talk = plain_talk();
	struct standin_options standin = plain_standin(7);
	size_t all = 1;
	standin.rows = 12;
	for (size_t split = 0; split < all; split++) {
		struct loop loop;
		assert_true(loop_begin(&loop, &talk, &standin));
		loop.split = split;
		loop_run(&loop, MINUTE, NULL);
		assert_all_twice(&loop);
		if (split == 0) all = loop.received;
		assert_int_equal(loop.received, all);   /* and not one blank more was sent */
		loop_end(&loop);
	}
	for (size_t piece = 1; piece < 9; piece++) {
		struct loop loop;
		assert_true(loop_begin(&loop, &talk, &standin));
		loop.piece = piece;
		loop_run(&loop, MINUTE, NULL);
		assert_all_twice(&loop);
		loop_end(&loop);
	}
	assert_true(all > 2000);
}

/* --- the router starts again --------------------------------------------------------------- */

static void test_reboot(void **state)
{
	(void)state;
	size_t noticed = 0;
	for (uint64_t seed = 0; seed < 120; seed++) {
		struct talk_options talk = plain_talk();
		struct standin_options standin = plain_standin(seed);
		struct loop loop;
		standin.style = (enum standin_style)(seed % STANDIN_STYLES);
		standin.reboot = true;
		standin.boot = seed & 1 ? 30000 : 0;
		standin.speed = seed & 2 ? 9600 : 0;
		standin.rows = seed & 4 ? 10 : 0;
		standin.chatter = seed & 8 ? 6 : 0;
		assert_true(loop_begin(&loop, &talk, &standin));
		bool said = false;
		while (!loop_over(&loop) && loop.now < 20 * MINUTE) {
			loop_run(&loop, 1000, NULL);
			said |= strstr(talk_saying(loop.talk), "started again") != NULL;
		}
		assert_all_twice(&loop);
		noticed += said;
		loop_end(&loop);
	}
	assert_int_equal(noticed, 120);
}

/* Somebody else's listing runs when it begins: no reason to take the lines of
 * its own for a start. */
static void test_listing_before(void **state)
{
	(void)state;
	for (uint64_t seed = 0; seed < 90; seed++) {
		struct talk_options talk = plain_talk();
		struct standin_options standin = plain_standin(seed);
		struct loop loop;
		standin.style = (enum standin_style)(seed % STANDIN_STYLES);
		standin.speed = 9600;
		standin.rows = seed & 1 ? 22 : 0;
		assert_true(loop_begin(&loop, &talk, &standin));
		standin_feed(loop.standin, "roll\r", 5, loop.now);
		char lost[2048];
		loop.now += 300 + 10 * (int64_t)seed;
		standin_take(loop.standin, lost, sizeof lost, loop.now);
		bool said = false;
		while (!loop_over(&loop) && loop.now < 20 * MINUTE) {
			loop_run(&loop, 100, NULL);
			said |= strstr(talk_saying(loop.talk), "started again") != NULL;
		}
		assert_all_twice(&loop);
		assert_false(said);
		loop_end(&loop);
	}
}

/* --- cut ---------------------------------------------------------------------------------------- */

static bool has_five(struct loop *loop)
{
	return talk_running(loop->talk)->count == 5;
}

static bool second_has_five(struct loop *loop)
{
	return talk_passes(loop->talk) == 1 && talk_running(loop->talk)->count == 5;
}

static void test_cut(void **state)
{
	(void)state;
	for (int pass = 0; pass < 2; pass++) {
		struct talk_options talk = plain_talk();
		struct standin_options standin = plain_standin(3);
		struct loop loop;
		standin.speed = 9600;
		assert_true(loop_begin(&loop, &talk, &standin));
		loop.piece = 16;
		loop_run(&loop, MINUTE, pass ? second_has_five : has_five);
		assert_non_null(strstr(talk_saying(loop.talk), pass ? "pass 2: 5 of 13 interfaces" : "pass 1: 5 of 13 interfaces"));
		talk_cut(loop.talk);
		assert_int_equal(talk_stage(loop.talk), TALK_FAILED);
		assert_int_equal(talk_passes(loop.talk), pass + 1);
		const struct talk_pass *last = talk_pass(loop.talk, (size_t)pass);
		assert_false(last->complete);
		assert_true(last->listing.count >= 5);
		assert_int_equal(loop_right(&loop, (size_t)pass), last->listing.count);
		assert_true(last->length > 0);
		talk_cut(loop.talk);   /* once is enough */
		assert_int_equal(talk_passes(loop.talk), pass + 1);
		const char *bytes;
		assert_int_equal(talk_pending(loop.talk, &bytes), 0);
		assert_int_equal(talk_wait(loop.talk, loop.now), -1);
		loop_end(&loop);
	}
}

/* --- watching -------------------------------------------------------------------------------------- */

static void test_watch(void **state)
{
	(void)state;
	struct talk_options talk = plain_talk();
	talk.watch = true;
	static const char *const typed[] = { "\r", "badge\r", "rol\r", "roll\r", " ", " ", " ", " ", " ", " ", "badge\r", "roll\r",
	                                     " ", " ", " ", " ", " ", " " };
	for (int piece = 0; piece < 3; piece++) {
		struct standin_options standin = plain_standin(4);
		struct loop loop;
		const char *bytes;
		standin.rows = 12;
		assert_true(loop_begin(&loop, &talk, &standin));
		loop.piece = (size_t)piece;
		size_t ever = talk_pending(loop.talk, &bytes);
		for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
			standin_feed(loop.standin, typed[i], strlen(typed[i]), loop.now);
			char out[8192];
			size_t got, room = piece ? (size_t)piece : sizeof out;
			while ((got = standin_take(loop.standin, out, room, loop.now)) > 0) {
				loop_hear(&loop, out, got);
				ever += talk_pending(loop.talk, &bytes);
			}
			for (int step = 0; step < 100; step++) {
				loop.now += 200;
				talk_tick(loop.talk, loop.now);
				ever += talk_pending(loop.talk, &bytes);
			}
		}
		assert_int_equal(ever, 0);
		assert_all_twice(&loop);
		loop_end(&loop);
	}
	/* A login is the person's affair. */
	struct talk *watcher = talk_begin(&talk, 0);
	const char *bytes;
	assert_true(talk_feed(watcher, "\r\nPassword: ", 12, 10));
	talk_tick(watcher, 60 * MINUTE);
	assert_int_equal(talk_stage(watcher), TALK_WATCHING);
	assert_int_equal(talk_pending(watcher, &bytes), 0);
	assert_int_equal(talk_wait(watcher, 60 * MINUTE), -1);
	assert_non_null(strstr(talk_saying(watcher), "log in by hand"));
	talk_free(watcher);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_every_listing),
		cmocka_unit_test(test_boot_and_speed),
		cmocka_unit_test(test_boot_too_long),
		cmocka_unit_test(test_split),
		cmocka_unit_test(test_reboot),
		cmocka_unit_test(test_listing_before),
		cmocka_unit_test(test_cut),
		cmocka_unit_test(test_watch),
	};
	return cmocka_run_group_tests(tests, set_up, NULL);
}
