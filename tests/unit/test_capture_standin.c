/* The stand-in console by itself: the same seed plays the same, it keeps to its
 * speed and its widths, and is noisy only as asked. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "capture/listing.h"
#include "capture/standin_parts.h"
#include "console_loop.h"

static struct loop_gear shared;

static int set_up(void **state)
{
	(void)state;
	loop_gear_init(&shared);
	return 0;
}

static struct standin_options at_once(uint64_t seed)
{
	struct standin_options options = standin_defaults(&shared.gear, seed);
	options.boot = 0;
	options.speed = 0;
	options.rows = 0;
	return options;
}

static struct standin *begin(const struct standin_options *options)
{
	struct standin *standin = standin_begin(options, 0);
	assert_non_null(standin);
	return standin;
}

/* Type, and what it prints then without time passing; terminated. */
static size_t answer(struct standin *standin, const char *typed, char *out, size_t room, int64_t now)
{
	standin_feed(standin, typed, strlen(typed), now);
	size_t length = standin_take(standin, out, room - 1, now);
	out[length] = '\0';
	return length;
}

static char big[65536], other[65536];

static void test_words(void **state)
{
	(void)state;
	struct standin_options options = at_once(1);
	options.serial = "EG12-26-00417";
	struct standin *standin = begin(&options);
	answer(standin, "", big, sizeof big, 5000);
	assert_string_equal(big, "");   /* up for long: it says nothing by itself */
	assert_int_equal(standin_wait(standin, 5000), -1);
	answer(standin, "\r", big, sizeof big, 5000);
	assert_string_equal(big, "\r\neg-12> ");
	answer(standin, "\r\n\n", big, sizeof big, 5000);
	assert_string_equal(big, "\r\neg-12> \r\neg-12> ");
	answer(standin, "rolx\b\r", big, sizeof big, 5000);
	assert_string_equal(big, "rolx\b \b\r\nno such word: rol\r\neg-12> ");
	answer(standin, "  badge \r", big, sizeof big, 5000);
	assert_string_equal(big, "  badge \r\n    model         eg-12\r\n    unit number   EG12-26-00417\r\n    awake for     5 s\r\neg-12> ");
	answer(standin, "roll\r", big, sizeof big, 5000);
	assert_non_null(strstr(big, "\r\n13 interfaces, all counted\r\neg-12> "));
	/* Far too much typed at once is no harm. */
	memset(other, 'x', 5000);
	other[5000] = '\0';
	answer(standin, other, big, sizeof big, 5000);
	answer(standin, "\x1B\x01\xFF\r", big, sizeof big, 5000);
	assert_non_null(strstr(big, "\r\nno such word: xxx"));
	standin_free(standin);
}

static void test_same_seed(void **state)
{
	(void)state;
	size_t lengths[3];
	for (int i = 0; i < 3; i++) {
		struct standin_options options = at_once(i == 2 ? 8 : 7);
		options.drop = options.doubled = options.flip = 300;
		options.chatter = 4;
		struct standin *standin = begin(&options);
		lengths[i] = answer(standin, "badge\rroll\r", i == 1 ? other : big, sizeof big, 100);
		if (i == 1) {
			assert_int_equal(lengths[0], lengths[1]);
			assert_memory_equal(big, other, lengths[0]);
		}
		standin_free(standin);
	}
	assert_false(lengths[2] == lengths[0] && memcmp(big, other, lengths[0]) == 0);
}

/* Every address in every notation is read back from what it lists. */
static void test_reads_back(void **state)
{
	(void)state;
	for (int i = 0; i < STANDIN_STYLES * PM_NOTATIONS * 2; i++) {
		struct standin_options options = at_once((uint64_t)i);
		struct pm_arena arena;
		struct listing listing;
		options.style = (enum standin_style)(i % STANDIN_STYLES);
		options.notation = (enum pm_notation)(i / STANDIN_STYLES % PM_NOTATIONS);
		options.lower = i / (STANDIN_STYLES * PM_NOTATIONS);
		options.wrong_port = i % 4 ? 0 : 5;
		struct standin *standin = begin(&options);
		size_t length = answer(standin, "\rroll\r", big, sizeof big, 100);
		pm_arena_init(&arena);
		assert_true(listing_read(big, length, &shared.gear, &arena, &listing));
		assert_int_equal(listing.count, LOOP_PORTS);
		assert_int_equal(listing.problem_count, 0);
		for (size_t k = 0; k < listing.count; k++) {
			struct pm_eui48 really = standin_address(standin, listing.reading[k].port);
			bool same = pm_eui48_compare(&really, &listing.reading[k].address) == 0;
			assert_int_equal(same, !(options.wrong_port && listing.reading[k].port == 4));
			/* All within the documentation range: RFC 9542 2.1.4. */
			assert_int_equal(pm_eui48_number(&really) >> 8, 0x00005E0053);
			assert_int_equal(pm_eui48_number(&listing.reading[k].address) >> 8, 0x00005E0053);
		}
		pm_arena_free(&arena);
		standin_free(standin);
	}
}

static void test_pager(void **state)
{
	(void)state;
	struct standin_options options = at_once(1);
	options.rows = 10;
	options.columns = 0;
	struct standin *standin = begin(&options);
	answer(standin, "roll\r", big, sizeof big, 0);
	size_t length = strlen(big), n = strlen("-- space for more --");
	assert_string_equal(big + length - n, "-- space for more --");
	size_t lines = 0;
	for (const char *c = big; *c; c++) lines += *c == '\n';
	assert_int_equal(lines, 11);   /* the echo's and ten */
	answer(standin, "x", big, sizeof big, 0);
	assert_string_equal(big, "");
	answer(standin, "\r", big, sizeof big, 0);   /* one line more */
	assert_int_equal(strncmp(big, "\r                    \r", 22), 0);
	lines = 0;
	for (const char *c = big; *c; c++) lines += *c == '\n';
	assert_int_equal(lines, 1);
	answer(standin, " ", big, sizeof big, 0);
	lines = 0;
	for (const char *c = big; *c; c++) lines += *c == '\n';
	assert_int_equal(lines, 10);
	answer(standin, "q", big, sizeof big, 0);
	assert_string_equal(big, "\r                    \reg-12> ");
	standin_free(standin);
}

static void test_speed(void **state)
{
	(void)state;
	struct standin_options options = at_once(1);
	options.speed = 9600;   /* 8N1: ten bits a byte, 960 bytes a second */
	struct standin *standin = begin(&options);
	standin_feed(standin, "roll\r", 5, 0);
	size_t got = 0;
	int64_t now = 0;
	for (; now < 1000; now++) got += standin_take(standin, big, sizeof big, now);
	assert_in_range(got, 958, 960);
	int wait = standin_wait(standin, now);
	assert_in_range(wait, 0, 2);
	for (; (wait = standin_wait(standin, now)) >= 0; now += wait) got += standin_take(standin, big, sizeof big, now);
	options.speed = 0;
	struct standin *quick = begin(&options);
	size_t all = answer(quick, "roll\r", other, sizeof other, 0);
	assert_int_equal(got, all);
	assert_in_range(now, (int64_t)all * 1000 / 960 - 2, (int64_t)all * 1000 / 960 + 2);
	standin_free(quick);
	standin_free(standin);
}

static void test_boot(void **state)
{
	(void)state;
	struct standin_options options = at_once(1);
	options.boot = 30000;
	struct standin *standin = begin(&options);
	size_t length = 0;
	int64_t now = 0, last = 0;
	standin_feed(standin, "roll\r", 5, 10);   /* nobody hears it */
	for (int wait; (wait = standin_wait(standin, now)) >= 0; now += wait) {
		size_t got = standin_take(standin, big + length, sizeof big - 1 - length, now);
		if (got) last = now;
		length += got;
	}
	big[length] = '\0';
	assert_int_equal(last, 30000);
	size_t lines = 0;
	for (const char *c = big; *c; c++) lines += *c == '\n';
	assert_in_range(lines, 20, 30);
	const char *end = "\r\nEG-12 practice unit, console ready\r\neg-12> ";
	assert_string_equal(big + length - strlen(end), end);
	assert_null(strstr(big, "port1"));
	standin_free(standin);
}

static void test_reboot_once(void **state)
{
	(void)state;
	for (uint64_t seed = 0; seed < 40; seed++) {
		struct standin_options options = at_once(seed);
		options.reboot = true;
		options.style = (enum standin_style)(seed % STANDIN_STYLES);
		struct standin *standin = begin(&options);
		size_t counted = 0, started = 0;
		int64_t now = 0;
		for (int i = 0; i < 4; i++) {
			answer(standin, "roll\r", big, sizeof big, now);
			bool whole = strstr(big, "all counted") != NULL;
			counted += whole;
			now += 60000;
			answer(standin, "", big, sizeof big, now);
			started += strstr(big, "console ready") != NULL;
			assert_int_equal(whole, strstr(big, "console ready") == NULL);
		}
		assert_int_equal(counted, 3);
		assert_int_equal(started, 1);
		standin_free(standin);
	}
}

static void test_width(void **state)
{
	(void)state;
	for (unsigned columns = 40; columns <= 132; columns += 4) {
		struct standin_options options = at_once(columns);
		options.columns = columns;
		options.style = STANDIN_ROWS;
		options.chatter = 3;
		struct standin *standin = begin(&options);
		answer(standin, "roll\r", big, sizeof big, 0);
		size_t width = 0, widest = 0;
		for (const char *c = big; *c; c++) {
			if (*c == '\r' || *c == '\n') width = 0;
			else if (++width > widest) widest = width;
		}
		assert_true(widest <= columns);
		if (columns < 80) assert_int_equal(widest, columns);
		standin_free(standin);
	}
}

/* Each kind of noise by itself, and as often as it was asked for. */
static void test_noise(void **state)
{
	(void)state;
	for (int kind = 0; kind < 4; kind++) {
		struct standin_options options = at_once(5);
		unsigned one_in = 50;
		options.drop = kind == 1 ? one_in : 0;
		options.doubled = kind == 2 ? one_in : 0;
		options.flip = kind == 3 ? one_in : 0;
		uint64_t chance = 99;
		size_t lost = 0, twice = 0, changed = 0, bits = 0;
		for (int i = 0; i < 200000; i++) {
			char out[2] = { 0 }, byte = (char)(i & 0x7F);
			size_t n = chance_noise(&chance, &options, byte, out);
			lost += n == 0;
			twice += n == 2;
			if (n && out[0] != byte) {
				changed++;
				for (unsigned x = (unsigned char)(out[0] ^ byte); x; x >>= 1) bits += x & 1;
			}
		}
		/* 4,000 of each kind expected, standard deviation 63. */
		if (kind == 1) assert_in_range(lost, 3700, 4300);
		else assert_int_equal(lost, 0);
		if (kind == 2) assert_in_range(twice, 3700, 4300);
		else assert_int_equal(twice, 0);
		if (kind == 3) assert_in_range(changed, 3700, 4300);
		else assert_int_equal(changed, 0);
		assert_int_equal(bits, changed);
	}
}

static void test_made_to_fit(void **state)
{
	(void)state;
	static const struct { const char *pattern, *prompt; } prompts[] = {
		{ "eg-12> $", "eg-12> " }, { "^eg-12# ?$", "eg-12# " }, { "[a-z0-9-]+[$] ", "eg-12$ " }, { NULL, "eg-12> " },
		{ "^site\\$ $", "site " }, { "no (good", "eg-12> " },
	};
	for (size_t i = 0; i < sizeof prompts / sizeof *prompts; i++) {
		struct loop_gear g;
		loop_gear_init(&g);
		g.gear.console.prompt.text = prompts[i].pattern;
		struct standin_options options = standin_defaults(&g.gear, 1);
		options.boot = options.speed = 0;
		struct standin *standin = begin(&options);
		answer(standin, "\r", big, sizeof big, 0);
		assert_string_equal(big + 2, prompts[i].prompt);
		standin_free(standin);
	}
	for (uint64_t seed = 0; seed < 300; seed++) {
		struct standin_options options = standin_defaults(&shared.gear, seed);
		struct standin *standin = begin(&options);
		assert_true(pm_form_match("EG12-99-99999", standin->serial, NULL));
		assert_in_range(pm_eui48_number(&options.base), 0x00005E005300, 0x00005E0053FF - LOOP_PORTS + 1);
		standin_free(standin);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_words), cmocka_unit_test(test_same_seed), cmocka_unit_test(test_reads_back),
		cmocka_unit_test(test_pager), cmocka_unit_test(test_speed), cmocka_unit_test(test_boot),
		cmocka_unit_test(test_reboot_once), cmocka_unit_test(test_width), cmocka_unit_test(test_noise),
		cmocka_unit_test(test_made_to_fit),
	};
	return cmocka_run_group_tests(tests, set_up, NULL);
}
