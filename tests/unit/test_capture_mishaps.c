/* The conversation when things go wrong: commands that arrive torn, a router
 * that starts again, text without end, a gear profile of no use. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "capture/talk_parts.h"
#include "console_hand.h"
#include "portmuster/text.h"

/* --- answers that are not the listing ----------------------------------------------------------- */

static void test_mangled_command(void **state)
{
	(void)state;
	struct talk_options options = plain();
	struct hand hand;
	begin(&hand, &options);
	say(&hand, "\r\neg-12> \r\neg-12> ");   /* an Enter of before, answered late */
	pass(&hand, 100);
	assert_string_equal(sent(&hand), "\rbadge\r");
	say(&hand, "bdge\r\nno such word: bdge\r\neg-12> ");
	pass(&hand, 100);
	assert_string_equal(sent(&hand), "roll\r");
	say(&hand, "r\x7Foxl\r\nno such word: ro\r\neg-12> ");
	pass(&hand, 100);
	assert_string_equal(sent(&hand), "roll\r");
	assert_string_equal(talk_saying(hand.talk), "pass 1: 0 of 13 interfaces, asked again (try 2 of 3)");
	say(&hand, "rll\r\nport1: address 00-00-5E-00-53-11, up\r\neg-12> ");   /* only the echo is torn */
	pass(&hand, 100);
	assert_int_equal(talk_passes(hand.talk), 1);
	assert_true(talk_pass(hand.talk, 0)->complete);
	/* What was tried before is in the raw bytes. */
	assert_non_null(strstr(talk_pass(hand.talk, 0)->bytes, "no such word: ro"));
	pass(&hand, 500);
	assert_string_equal(sent(&hand), "badge\r");
	say(&hand, "badge\r\neg-12> ");
	pass(&hand, 100);
	for (int i = 0; i < 3; i++) {
		assert_string_equal(sent(&hand), "roll\r");
		say(&hand, "roll\r\nno such word: roll\r\neg-12> ");
		pass(&hand, 100);
	}
	assert_string_equal(sent(&hand), "");
	assert_string_equal(talk_saying(hand.talk),
	                    "\"roll\" lists no interface of this gear (asked 3 times): is the gear profile the right one?");
	assert_int_equal(talk_passes(hand.talk), 1);
	talk_free(hand.talk);
}

static void test_same_twice(void **state)
{
	(void)state;
	struct hand hand;
	to_listing(&hand);
	say(&hand, "port1: address 00-00-5E-00-53-19, up\r\neg-12> ");
	pass(&hand, 100);
	const struct listing *listing = &talk_pass(hand.talk, 0)->listing;
	assert_int_equal(listing->count, 4);
	assert_int_equal(listing->problem_count, 1);
	assert_non_null(strstr(listing->problem[0].reason, "another address for port1"));
	talk_free(hand.talk);
}

/* --- a start in other words ------------------------------------------------------------------------ */

static void test_reboot_by_hand(void **state)
{
	(void)state;
	static const struct { const char *what, *before, *start; bool noticed; } cases[] = {
		{ "the first lines again", "river clockwork turns\r\nall gauges level\r\n", "river clockwork turns\r\nall gauges level\r\n", true },
		{ "words", "", "rebooting now\r\nbooting from slot one\r\n", true },
		{ "times that run backwards", "[  900.1] link up\r\n", "[    0.1] one\r\n[    0.2] two\r\n", true },
		{ "times that run on", "[  900.1] link up\r\n", "[  901.1] one\r\n[  902.2] two\r\n", false },
		{ "other lines", "all gauges level\r\n", "the bell is rung\r\nthe tide is out\r\n", false },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct talk_options options = plain();
		struct hand hand;
		begin(&hand, &options);
		say(&hand, cases[i].before);
		say(&hand, "eg-12> ");
		pass(&hand, 100);
		say(&hand, "badge\r\neg-12> ");
		pass(&hand, 100);
		say(&hand, "roll\r\n");
		say(&hand, rows);
		say(&hand, "port3: addre\r\n");
		say(&hand, cases[i].start);
		pass(&hand, 4000);
		sent(&hand);
		say(&hand, "\r\neg-12> ");
		pass(&hand, 100);
		if (strcmp(sent(&hand), "badge\r") != 0) assert_false(cases[i].noticed);
		else assert_true(cases[i].noticed);
		assert_int_equal(talk_passes(hand.talk), cases[i].noticed ? 0 : 1);
		assert_int_equal(strncmp(talk_saying(hand.talk), "the router started again, pass 1 begins anew; ", 46) == 0, cases[i].noticed);
		/* Gone for good: what the pass had before is not lost. */
		talk_cut(hand.talk);
		assert_int_equal(talk_passes(hand.talk), 1);
		assert_true(talk_pass(hand.talk, 0)->listing.count >= 3);
		talk_free(hand.talk);
	}
	/* Prompt lost, reminders unanswered, and then a fresh one. */
	struct hand hand;
	to_listing(&hand);
	pass(&hand, 11000);
	assert_string_equal(sent(&hand), "\r\r");
	say(&hand, "\r\neg-12> ");
	pass(&hand, 100);
	assert_string_equal(sent(&hand), "badge\r");
	assert_int_equal(talk_passes(hand.talk), 0);
	talk_free(hand.talk);
}

/* --- bounds ------------------------------------------------------------------------------------------ */

static void test_endless(void **state)
{
	(void)state;
	for (int watch = 0; watch < 2; watch++) {
		struct talk_options options = plain();
		struct hand hand;
		char block[4097];
		memset(block, '.', 4096);
		for (size_t i = 63; i < 4096; i += 64) block[i] = '\n';
		block[4096] = '\0';
		if (watch) {
			options.watch = true;
			begin(&hand, &options);
			say(&hand, rows);
		} else {
			to_listing(&hand);
		}
		for (int i = 0; i < 1200; i++) {
			hand.now += 10;
			say(&hand, block);
		}
		assert_int_equal(talk_passes(hand.talk), 1);
		assert_int_equal(talk_pass(hand.talk, 0)->length, TALK_PASS_BYTES);
		assert_false(talk_pass(hand.talk, 0)->complete);
		assert_int_equal(talk_pass(hand.talk, 0)->listing.count, 3);
		if (watch) assert_non_null(strstr(talk_saying(hand.talk), "more than 4 MiB without a prompt, cut"));
		else assert_string_equal(talk_saying(hand.talk), "pass 1 was cut: more than 4 MiB without a prompt");
		talk_free(hand.talk);
	}
}

static void test_no_use(void **state)
{
	(void)state;
	static const struct { struct pm_word prompt, listing, identity; const char *why; } cases[] = {
		{ WORD("eg-12> $"), { NULL, 0, 0 }, WORD("badge"), "the gear profile names no command that lists the interfaces" },
		{ WORD("eg-12> $"), WORD("roll\nformat"), WORD("badge"),
		  "a command of the gear profile holds a control character or is longer than 200 bytes" },
		{ WORD("eg-12> $"), WORD("roll"), WORD("ba\x1B"),
		  "a command of the gear profile holds a control character or is longer than 200 bytes" },
		{ WORD("eg(12> $"), WORD("roll"), WORD("badge"), "the gear profile's prompt \"eg(12> $\" is no POSIX extended regular expression: " },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct loop_gear g;
		struct talk_options options = { .gear = &g.gear, .passes = 2 };
		struct hand hand;
		loop_gear_init(&g);
		g.gear.console.prompt = cases[i].prompt;
		g.gear.console.listing = cases[i].listing;
		g.gear.console.identity = cases[i].identity;
		begin(&hand, &options);
		assert_int_equal(talk_stage(hand.talk), TALK_FAILED);
		assert_int_equal(strncmp(talk_saying(hand.talk), cases[i].why, strlen(cases[i].why)), 0);
		assert_string_equal(sent(&hand), "");
		talk_free(hand.talk);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_mangled_command), cmocka_unit_test(test_same_twice), cmocka_unit_test(test_reboot_by_hand),
		cmocka_unit_test(test_endless), cmocka_unit_test(test_no_use),
	};
	return cmocka_run_group_tests(tests, set_up, NULL);
}
