/* The conversation with consoles played by hand: silent ones, ones that want a
 * password, pagers in pieces, prompts that nobody knows. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "capture/talk_parts.h"
#include "console_hand.h"
#include "portmuster/text.h"

/* --- silence ------------------------------------------------------------------------ */

static void test_silent(void **state)
{
	(void)state;
	static const struct { int64_t patience; unsigned retries; int64_t ends; const char *enters, *why; } cases[] = {
		{ 0, 0, 15000, "\r\r\r", "the console does not answer (Enter was sent 3 times, 15 s without a byte): is the router"
		  " on and the cable in its console socket?" },
		{ 2000, 1, 2000, "\r", "the console does not answer (Enter was sent 1 time, 2 s without a byte): is the router on"
		  " and the cable in its console socket?" },
		{ 1000, 5, 5000, "\r\r\r\r\r", "the console does not answer (Enter was sent 5 times, 5 s without a byte): is the"
		  " router on and the cable in its console socket?" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct talk_options options = plain();
		struct hand hand;
		options.patience = cases[i].patience;
		options.retries = cases[i].retries;
		begin(&hand, &options);
		pass(&hand, cases[i].ends - 1);
		assert_int_equal(talk_stage(hand.talk), TALK_WAKING);
		pass(&hand, 1);
		assert_int_equal(talk_stage(hand.talk), TALK_FAILED);
		assert_string_equal(sent(&hand), cases[i].enters);
		assert_string_equal(talk_saying(hand.talk), cases[i].why);
		assert_int_equal(talk_passes(hand.talk), 0);
		talk_free(hand.talk);
	}
}

static void test_says_the_try(void **state)
{
	(void)state;
	struct talk_options options = plain();
	struct hand hand;
	begin(&hand, &options);
	assert_string_equal(talk_saying(hand.talk), "waits for a prompt (try 1 of 3)");
	pass(&hand, 5000);
	assert_string_equal(talk_saying(hand.talk), "waits for a prompt (try 2 of 3)");
	say(&hand, "\r\neg-12> ");
	pass(&hand, 100);
	assert_string_equal(talk_saying(hand.talk), "pass 1: asks who the router is");
	say(&hand, "badge\r\nunit number EG12-26-00417\r\neg-12> ");
	pass(&hand, 100);
	assert_string_equal(talk_saying(hand.talk), "pass 1: 0 of 13 interfaces");
	say(&hand, "roll\r\n");
	say(&hand, rows);
	say(&hand, "port3: addr");
	pass(&hand, 4999);
	assert_string_equal(talk_saying(hand.talk), "pass 1: 1 of 13 interfaces");   /* of two it is not sure yet */
	pass(&hand, 1);
	assert_string_equal(talk_saying(hand.talk), "pass 1: 1 of 13 interfaces, waits for the prompt (try 2 of 3)");
	pass(&hand, 10000);
	assert_string_equal(talk_saying(hand.talk), "the console went silent in pass 1: no prompt after 3 tries");
	assert_int_equal(talk_passes(hand.talk), 1);
	assert_false(talk_pass(hand.talk, 0)->complete);
	assert_int_equal(talk_pass(hand.talk, 0)->listing.count, 3);
	assert_string_equal(sent(&hand), "\r\rbadge\rroll\r\r\r");
	talk_free(hand.talk);
}

/* --- what the line at the cursor is ---------------------------------------------------- */

static void test_tails(void **state)
{
	(void)state;
	static const struct { const char *text; enum tail with, without; } cases[] = {   /* a pattern for the prompt */
		{ "eg-12> ", TAIL_PROMPT, TAIL_LIKELY }, { "eg-12>", TAIL_LIKELY, TAIL_LIKELY },
		{ "xeg-12> ", TAIL_LIKELY, TAIL_LIKELY }, { "eg-12> r", TAIL_OTHER, TAIL_OTHER }, { "eg-1> ", TAIL_LIKELY, TAIL_LIKELY },
		{ "", TAIL_BLANK, TAIL_BLANK }, { "     ", TAIL_BLANK, TAIL_BLANK }, { "router# ", TAIL_LIKELY, TAIL_LIKELY },
		{ "[op@site-7]$ ", TAIL_LIKELY, TAIL_LIKELY }, { "user@site> ", TAIL_LIKELY, TAIL_LIKELY },
		{ "[op@site] > ", TAIL_LIKELY, TAIL_LIKELY }, { "select: ", TAIL_OTHER, TAIL_LIKELY },
		{ "a  b> ", TAIL_OTHER, TAIL_OTHER }, { "> ", TAIL_OTHER, TAIL_OTHER }, { "loading ####", TAIL_OTHER, TAIL_OTHER },
		{ "  address 00-00-5E-00-53-0", TAIL_OTHER, TAIL_OTHER },
		{ "-- space for more --", TAIL_PAGER, TAIL_PAGER }, { "-- space for more -- ", TAIL_PAGER, TAIL_PAGER },
		{ "   address 00-00-5E-00-53-01-- space for more --", TAIL_PAGER, TAIL_PAGER },
		{ "--More--", TAIL_PAGER, TAIL_PAGER }, { "--More--(41%)", TAIL_PAGER, TAIL_PAGER },
		{ "press any key to continue", TAIL_PAGER, TAIL_PAGER }, { "-- space for m", TAIL_OTHER, TAIL_OTHER },
		{ "-- spce for more --", TAIL_TORN, TAIL_TORN }, { "-- space for more -m", TAIL_TORN, TAIL_TORN },
		{ "- spacee for more --", TAIL_TORN, TAIL_TORN }, { "-- rest of it --", TAIL_OTHER, TAIL_OTHER },
		{ "login: ", TAIL_LOGIN, TAIL_LOGIN }, { "Password:", TAIL_LOGIN, TAIL_LOGIN }, { "eg12 login: ", TAIL_LOGIN, TAIL_LOGIN },
		{ "User Name: ", TAIL_LOGIN, TAIL_LOGIN }, { "USERNAME: ", TAIL_LOGIN, TAIL_LOGIN },
		{ "Password for admin: ", TAIL_LOGIN, TAIL_LOGIN }, { "Enter passphrase: ", TAIL_LOGIN, TAIL_LOGIN },
		{ "Enter PIN: ", TAIL_LOGIN, TAIL_LOGIN }, { "Pasword: ", TAIL_LOGIN, TAIL_LOGIN }, { "lgin: ", TAIL_LOGIN, TAIL_LOGIN },
		{ "login> ", TAIL_LOGIN, TAIL_LOGIN }, { "Password", TAIL_LOGIN, TAIL_LOGIN },
		{ "last login 12", TAIL_OTHER, TAIL_OTHER }, { "password-gw> ", TAIL_LIKELY, TAIL_LIKELY },
		{ "pinhole> ", TAIL_LIKELY, TAIL_LIKELY }, { "used for: ", TAIL_OTHER, TAIL_LIKELY },
	};
	for (int pattern = 0; pattern < 2; pattern++) {
		struct loop_gear g;
		struct tails tails;
		char why[200];
		loop_gear_init(&g);
		if (!pattern) g.gear.console.prompt.text = NULL;
		assert_true(tails_begin(&tails, &g.gear, why, sizeof why));
		for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
			enum tail expected = pattern ? cases[i].with : cases[i].without;
			enum tail got = tail_of(&tails, cases[i].text, strlen(cases[i].text));
			if (got != expected) print_error("\"%s\", pattern %d: %d, not %d\n", cases[i].text, pattern, got, expected);
			assert_int_equal(got, expected);
		}
		tails_free(&tails);
	}
}

/* --- logins ------------------------------------------------------------------------------ */

static void test_login(void **state)
{
	(void)state;
	static const char *const asks[] = { "\r\neg12 login: ", "\r\nPassword: ", "\r\nUsername:", "\r\n\r\nAccess only with leave\r\n\r\nuser name: " };
	for (size_t i = 0; i < sizeof asks / sizeof *asks; i++) {
		for (int when = 0; when < 2; when++) {   /* at once, and in the middle */
			struct talk_options options = plain();
			struct hand hand;
			begin(&hand, &options);
			if (when) {
				say(&hand, "\r\neg-12> ");
				pass(&hand, 100);
				say(&hand, "badge\r\neg-12> ");
				pass(&hand, 100);
				say(&hand, "roll\r\n");
				say(&hand, rows);
			}
			sent(&hand);
			for (const char *c = asks[i]; *c; c++) {
				char one[2] = { *c, '\0' };
				say(&hand, one);
				pass(&hand, 3);
			}
			pass(&hand, 600000);
			assert_int_equal(talk_stage(hand.talk), TALK_FAILED);
			assert_string_equal(talk_saying(hand.talk), "the console asks for a login: log in by hand, then start again");
			assert_string_equal(sent(&hand), "");
			assert_int_equal(talk_passes(hand.talk), when);
			talk_free(hand.talk);
		}
	}
	/* A line about a login is none. */
	struct talk_options options = plain();
	struct hand hand;
	begin(&hand, &options);
	say(&hand, "\r\nlast login:");
	pass(&hand, 20);
	say(&hand, " yesterday\r\neg-12> ");
	pass(&hand, 100);
	assert_string_equal(sent(&hand), "\rbadge\r");
	talk_free(hand.talk);
}

/* --- pagers --------------------------------------------------------------------------------- */

static void test_pager(void **state)
{
	(void)state;
	static const char *const prompts[] = { "-- space for more --", "--More--", "--More--(41%)", "<more>", "press any key to continue" };
	static const char *const ends[] = { "\r                          \r", "\r\x1B[K", "\r", "\b\b\b\b\b\b\b\b\x1B[K", "" };
	for (size_t p = 0; p < sizeof prompts / sizeof *prompts; p++)
		for (size_t e = 0; e < sizeof ends / sizeof *ends; e++)
			for (size_t split = 0; split <= strlen(prompts[p]); split++) {
				struct hand hand;
				to_listing(&hand);
				assert_true(talk_feed(hand.talk, prompts[p], split, hand.now));
				pass(&hand, 40);
				say(&hand, prompts[p] + split);
				pass(&hand, 300);
				assert_string_equal(sent(&hand), " ");
				/* The same prompt waits on: nothing more, before patience ends. */
				pass(&hand, 4000);
				assert_string_equal(sent(&hand), "");
				say(&hand, ends[e]);
				say(&hand, "port3: address 00-00-5E-00-53-13, up\r\n");
				say(&hand, prompts[p]);
				pass(&hand, 300);
				assert_string_equal(sent(&hand), " ");
				say(&hand, ends[e]);
				say(&hand, "port4: address 00-00-5E-00-53-14, up\r\neg-12> ");
				pass(&hand, 100);
				assert_int_equal(talk_passes(hand.talk), 1);
				assert_int_equal(talk_pass(hand.talk, 0)->listing.count, 5);
				talk_free(hand.talk);
			}
	/* An answer that was lost is given again; a prompt come torn is answered too. */
	struct hand hand;
	to_listing(&hand);
	say(&hand, "-- space for more --");
	pass(&hand, 50);
	assert_string_equal(sent(&hand), " ");
	pass(&hand, 5000);
	assert_string_equal(sent(&hand), " ");
	say(&hand, "\r                    \rport3: address 00-00-5E-00-53-13, up\r\n-- spaceor more --");
	pass(&hand, 4999);
	assert_string_equal(sent(&hand), "");
	pass(&hand, 1);
	assert_string_equal(sent(&hand), " ");
	talk_free(hand.talk);
}

/* --- prompts that are none, none that is known ------------------------------------------------ */

static void test_no_pattern(void **state)
{
	(void)state;
	struct loop_gear g;
	struct talk_options options = { .gear = &g.gear, .passes = 1 };
	struct hand hand;
	loop_gear_init(&g);
	g.gear.console.prompt.text = NULL;
	begin(&hand, &options);
	say(&hand, "starting services:");
	pass(&hand, 2000);
	assert_string_equal(sent(&hand), "\r");   /* no answer to that Enter: none ends a line */
	say(&hand, " all up\r\nsite-7# ");
	pass(&hand, 300);
	assert_string_equal(sent(&hand), "\r");
	say(&hand, "\r\nsite-7# ");
	pass(&hand, 299);
	assert_string_equal(sent(&hand), "");
	pass(&hand, 1);
	assert_string_equal(sent(&hand), "badge\r");
	/* Without an echo of the word, and the prompt of before still there. */
	pass(&hand, 1000);
	assert_string_equal(sent(&hand), "");
	say(&hand, "\r\nEG12-26-00417\r\nsite-7# ");
	pass(&hand, 300);
	assert_string_equal(sent(&hand), "roll\r");
	say(&hand, "\r\n");
	say(&hand, rows);
	say(&hand, "site-7# ");
	pass(&hand, 300);
	assert_int_equal(talk_stage(hand.talk), TALK_DONE);
	assert_int_equal(talk_pass(hand.talk, 0)->listing.count, 3);
	talk_free(hand.talk);
}

static void test_strange_prompt(void **state)
{
	(void)state;
	struct talk_options options = plain();
	struct hand hand;
	begin(&hand, &options);
	for (int i = 0; i < 4 && talk_stage(hand.talk) == TALK_WAKING; i++) {
		say(&hand, "\r\n%what now%\x07 ");
		pass(&hand, 5000);
	}
	assert_string_equal(talk_saying(hand.talk),
	                    "the console answers with \"%what now% \", which is no prompt that the gear profile knows");
	assert_string_equal(sent(&hand), "\r\r\r");
	talk_free(hand.talk);
}

static void test_no_text(void **state)
{
	(void)state;
	struct talk_options options = plain();
	struct hand hand;
	begin(&hand, &options);
	for (int i = 0; i < 3; i++) {
		say(&hand, "\xF8\x80\xF8x\xE6\x86\xFE\x98\x80\x1C\xF8");
		pass(&hand, 5000);
	}
	assert_string_equal(talk_saying(hand.talk),
	                    "what comes in is no text: are the speed (9600) and the framing (8N1) right?");
	talk_free(hand.talk);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_silent), cmocka_unit_test(test_says_the_try), cmocka_unit_test(test_tails),
		cmocka_unit_test(test_login), cmocka_unit_test(test_pager), cmocka_unit_test(test_no_pattern),
		cmocka_unit_test(test_strange_prompt), cmocka_unit_test(test_no_text),
	};
	return cmocka_run_group_tests(tests, set_up, NULL);
}
