/* A conversation in which the Nth allocation fails, for every N: it ends, says
 * so, and leaks nothing. The callers of malloc are compiled in here with one
 * that can be told to fail. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

static size_t asked, held, fail_at;   /* fail_at: from 1; 0: none fails */

static bool refused(void)
{
	return ++asked == fail_at;
}

static void *counting_malloc(size_t size)
{
	void *block = refused() ? NULL : malloc(size);
	held += block != NULL;
	return block;
}

static void *counting_calloc(size_t count, size_t size)
{
	void *block = refused() ? NULL : calloc(count, size);
	held += block != NULL;
	return block;
}

static void *counting_realloc(void *old, size_t size)
{
	void *block = refused() ? NULL : realloc(old, size);
	held += block != NULL && old == NULL;
	return block;
}

static void counting_free(void *block)
{
	held -= block != NULL;
	free(block);
}

#define malloc counting_malloc
#define calloc counting_calloc
#define realloc counting_realloc
#define free counting_free
#include "core/arena.c"
#include "capture/clean.c"
#undef MOST
#include "capture/collect.c"
#define take_line take_listing_line
#include "capture/listing.c"
#undef take_line
#include "capture/talk.c"
#include "capture/talk_pass.c"
#undef malloc
#undef calloc
#undef realloc
#undef free

#include "console_loop.h"

/* True when it went through. */
static bool converse(const struct loop_gear *gear, bool reboot, size_t at)
{
	struct talk_options options = { .gear = &gear->gear, .passes = 2 };
	struct standin_options with = standin_defaults(&gear->gear, 3);
	struct loop loop = { .now = 1000, .good = true };
	with.boot = with.speed = 0;
	with.reboot = reboot;
	asked = 0;
	fail_at = at;
	loop.talk = talk_begin(&options, loop.now);
	if (!loop.talk) {
		fail_at = 0;
		assert_int_equal(held, 0);
		return false;
	}
	loop.standin = standin_begin(&with, loop.now);
	assert_non_null(loop.standin);
	loop_run(&loop, 600000, NULL);
	fail_at = 0;
	bool whole = talk_stage(loop.talk) == TALK_DONE;
	if (whole) {
		assert_true(loop.good);
		for (size_t p = 0; p < 2; p++) assert_int_equal(talk_pass(loop.talk, p)->listing.count, LOOP_PORTS);
	} else {
		assert_int_equal(talk_stage(loop.talk), TALK_FAILED);
		assert_string_equal(talk_saying(loop.talk), "out of memory");
		/* What has been read can still be asked for. */
		for (size_t p = 0; p < talk_passes(loop.talk); p++) assert_non_null(talk_pass(loop.talk, p));
		assert_non_null(talk_running(loop.talk));
		talk_cut(loop.talk);
	}
	loop_end(&loop);
	assert_int_equal(held, 0);
	return whole;
}

static void test_every_allocation(void **state)
{
	(void)state;
	struct loop_gear gear;
	loop_gear_init(&gear);
	for (int reboot = 0; reboot < 2; reboot++) {
		assert_true(converse(&gear, reboot, 0));
		size_t all = asked, failed = 0;
		assert_true(all >= 12);
		for (size_t at = 1; at <= all; at++) failed += !converse(&gear, reboot, at);
		assert_int_equal(failed, all);   /* none is quietly done without */
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_every_allocation) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
