/* A noisy line: whatever it does to the characters, two passes never confirm a
 * wrong address. PM_NOISE_RUNS sets how many runs, PM_NOISE how noisy. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "console_loop.h"
#include "portmuster/text.h"

#define RUNS 10000
#define ONE_IN 2000     /* characters lost, doubled or changed */
#define HOUR 3600000

struct tally {
	unsigned long runs, done, failed;
	unsigned long right, open, wrong;      /* interfaces, by the two passes together */
	unsigned long slipped;                 /* readings of one pass that are wrong */
	unsigned long restarts;
	unsigned long characters;
};

static unsigned long setting(const char *name, unsigned long otherwise)
{
	uint64_t value;
	const char *given = getenv(name);
	return given && pm_read_number(given, 100000000, &value) ? (unsigned long)value : otherwise;
}

/* The roll, called by the core from the readings of both passes. */
static void call_roll(const struct loop *loop, const struct loop_gear *gear, struct tally *tally, uint64_t seed)
{
	static const char *const capture[2] = { "listing-1", "listing-2" };
	struct pm_arena arena;
	struct pm_job job = { .format = 1 };
	struct pm_roster roster;
	size_t room = 0;
	pm_arena_init(&arena);
	for (size_t p = 0; p < 2 && p < talk_passes(loop->talk); p++) {
		const struct talk_pass *pass = talk_pass(loop->talk, p);
		for (size_t i = 0; i < pass->listing.count; i++) {
			const struct listing_reading *one = &pass->listing.reading[i];
			char text[PM_EUI48_TEXT];
			if (one->port == PM_NO_PORT) continue;
			struct pm_eui48 truth = standin_address(loop->standin, one->port);
			tally->slipped += pm_eui48_compare(&truth, &one->address) != 0;
			struct pm_reading *reading = pm_arena_push(&arena, (void **)&job.readings, &job.reading_count, &room,
			                                           sizeof *reading);
			assert_non_null(reading);
			*reading = (struct pm_reading){
				.of = { pm_say(&arena, "port/%s", one->interface), 1, 1 },
				.value = { pm_say(&arena, "%s", pm_eui48_text(&one->address, text)), 1, 1 },
				.source = PM_SOURCE_CONSOLE, .by = WORD("somebody"), .when = pm_when_utc(1767258000 + (int64_t)p),
				.capture = { capture[p], 1, 1 },
			};
		}
	}
	assert_true(pm_roster_call(&job, &gear->gear, &arena, &roster));
	for (size_t i = 0; i < roster.count; i++) {
		struct pm_eui48 truth = standin_address(loop->standin, i);
		if (!roster.call[i].valid || roster.call[i].fact.standing != PM_CONFIRMED) {
			tally->open++;
		} else if (pm_eui48_compare(&truth, &roster.call[i].address) == 0) {
			tally->right++;
		} else {
			char text[PM_EUI48_TEXT];
			tally->wrong++;
			print_error("seed %llu: %s confirmed as %s\n", (unsigned long long)seed, gear->port[i].name.text,
			            pm_eui48_text(&roster.call[i].address, text));
			for (size_t p = 0; p < talk_passes(loop->talk); p++)
				print_error("%.*s\n", (int)talk_pass(loop->talk, p)->length, talk_pass(loop->talk, p)->bytes);
		}
	}
	pm_arena_free(&arena);
}

static void run(const struct loop_gear *gear, uint64_t seed, unsigned one_in, struct tally *tally)
{
	struct talk_options talk = { .gear = &gear->gear, .passes = 2 };
	struct standin_options standin = standin_defaults(&gear->gear, seed);
	struct loop loop;
	standin.boot = seed % 5 ? 0 : 6000;
	standin.speed = 0;
	standin.style = (enum standin_style)(seed % STANDIN_STYLES);
	standin.notation = (enum pm_notation)(seed / 3 % PM_NOTATIONS);
	standin.lower = seed / 21 % 2;
	standin.rows = seed / 42 % 2 ? 20 : 0;
	standin.columns = seed / 84 % 2 ? 80 : 0;
	standin.chatter = seed / 168 % 2 ? 8 : 0;
	standin.reboot = seed % 50 == 49;
	standin.drop = standin.doubled = standin.flip = one_in ? 3 * one_in : 0;
	assert_true(loop_begin(&loop, &talk, &standin));
	loop_run(&loop, HOUR, NULL);
	assert_true(loop.good);
	assert_true(loop_over(&loop));
	tally->runs++;
	if (talk_stage(loop.talk) == TALK_DONE) tally->done++;
	else if (getenv("PM_NOISE_TELL")) printf("seed %llu: %s\n", (unsigned long long)seed, talk_saying(loop.talk));
	tally->failed += talk_stage(loop.talk) == TALK_FAILED;
	tally->characters += loop.received;
	call_roll(&loop, gear, tally, seed);
	loop_end(&loop);
}

static void test_noise(void **state)
{
	(void)state;
	struct loop_gear gear;
	struct tally tally = { 0 };
	unsigned long runs = setting("PM_NOISE_RUNS", RUNS), one_in = setting("PM_NOISE", ONE_IN);
	loop_gear_init(&gear);
	for (unsigned long seed = 0; seed < runs; seed++) run(&gear, seed, (unsigned)one_in, &tally);
	printf("# figure noisy runs: %lu of two passes, %lu characters, one in %lu lost, doubled or changed\n", tally.runs,
	       tally.characters, one_in);
	printf("# figure interfaces confirmed right: %lu, left open: %lu, confirmed wrong: %lu (wrong in one pass: %lu)\n",
	       tally.right, tally.open, tally.wrong, tally.slipped);
	printf("# figure conversations complete: %lu, given up: %lu\n", tally.done, tally.failed);
	assert_int_equal(tally.runs, runs);
	assert_int_equal(tally.done + tally.failed, runs);
	assert_int_equal(tally.right + tally.open + tally.wrong, runs * LOOP_PORTS);
	assert_int_equal(tally.wrong, 0);
	/* Noise is really there, and the line is of use all the same. */
	if (runs >= 100) {
		assert_true(tally.open > 0);
		assert_true(tally.right > tally.open);
		assert_true(tally.done > runs * 9 / 10);
	}
}

/* The same runs without noise leave nothing open. */
static void test_quiet(void **state)
{
	(void)state;
	struct loop_gear gear;
	struct tally tally = { 0 };
	loop_gear_init(&gear);
	for (uint64_t seed = 0; seed < 400; seed++) run(&gear, seed, 0, &tally);
	assert_int_equal(tally.done, 400);
	assert_int_equal(tally.right, 400 * LOOP_PORTS);
	assert_int_equal(tally.slipped, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_quiet),
		cmocka_unit_test(test_noise),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
