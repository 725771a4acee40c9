/* The arena, and a whole check in which the Nth allocation fails, for every N.
 * The arena is the core's only caller of malloc: it is compiled in here with a
 * malloc that can be told to fail. */
#include <malloc.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

static size_t asked, held;
static size_t fail_at;   /* which allocation fails, from 1; 0: none */
static bool for_good;    /* and all that follow */

static void *counting_malloc(size_t size)
{
	/* a size that no machine has is refused here: the sanitizer would stop at it */
	if (++asked == fail_at || (for_good && fail_at && asked > fail_at) || size > SIZE_MAX / 2)
		return NULL;
	void *block = malloc(size);
	held += block != NULL;
	return block;
}

static void counting_free(void *block)
{
	held -= block != NULL;
	free(block);
}

#define malloc counting_malloc
#define free counting_free
#include "core/arena.c"
#undef malloc
#undef free

#include "fleet_fixture.h"
#include "portmuster/forecast.h"

static void test_alloc(void **state)
{
	(void)state;
	struct pm_arena arena;
	pm_arena_init(&arena);
	for (size_t size = 0; size < 5000; size += 7) {
		unsigned char *at = pm_arena_alloc(&arena, size);
		assert_non_null(at);
		assert_int_equal((uintptr_t)at % _Alignof(max_align_t), 0);
		for (size_t i = 0; i < size; i++)
			assert_int_equal(at[i], 0);
		memset(at, 0xAA, size);
	}
	assert_non_null(pm_arena_alloc(&arena, 3u << 20));
	assert_string_equal(pm_arena_copy(&arena, "abcdef", 3), "abc");
	assert_string_equal(pm_arena_copy(&arena, NULL, 0), "");
	assert_false(arena.failed);
	pm_arena_free(&arena);
	assert_int_equal(held, 0);
	assert_null(arena.blocks);
	assert_int_equal(arena.bytes, 0);
}

static void test_overflow(void **state)
{
	(void)state;
	struct pm_arena arena;
	pm_arena_init(&arena);
	assert_null(pm_arena_alloc(&arena, SIZE_MAX));
	assert_true(arena.failed);
	arena.failed = false;
	assert_null(pm_arena_alloc(&arena, SIZE_MAX - 64));
	assert_true(arena.failed);
	arena.failed = false;
	assert_null(pm_arena_array(&arena, SIZE_MAX / 4, 8));
	assert_true(arena.failed);
	arena.failed = false;
	assert_null(pm_arena_copy(&arena, "", SIZE_MAX));
	assert_true(arena.failed);
	pm_arena_free(&arena);
	assert_false(arena.failed);
	assert_int_equal(held, 0);
}

static void test_push(void **state)
{
	(void)state;
	struct pm_arena arena;
	void *items = NULL;
	size_t count = 0, room = 0;
	pm_arena_init(&arena);
	for (unsigned i = 0; i < 1000; i++) {
		unsigned *item = pm_arena_push(&arena, &items, &count, &room, sizeof *item);
		assert_non_null(item);
		assert_int_equal(*item, 0);
		*item = i;
	}
	for (unsigned i = 0; i < 1000; i++)
		assert_int_equal(((unsigned *)items)[i], i);
	/* a list that cannot grow stays as it was */
	while (count < room)
		pm_arena_push(&arena, &items, &count, &room, sizeof(unsigned));
	void *before = items;
	size_t full = count, wide = room;
	fail_at = asked + 1;
	unsigned *item = NULL;
	while (arena.failed == false && count == full)
		item = pm_arena_push(&arena, &items, &count, &room, 1u << 20);
	fail_at = 0;
	assert_null(item);
	assert_ptr_equal(items, before);
	assert_int_equal(count, full);
	assert_int_equal(room, wide);
	pm_arena_free(&arena);
	assert_int_equal(held, 0);
}

/* A growing text without memory stays what it was, says so, and never writes
 * to its shared empty start. */
static void test_text(void **state)
{
	(void)state;
	struct pm_arena arena;
	struct pm_text text;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	fail_at = asked + 1;
	pm_text_str(&text, "lost");
	fail_at = 0;
	assert_string_equal(text.data, "");
	assert_true(text.cut && arena.failed);
	pm_text_grow(&text, &arena);
	assert_string_equal(text.data, "");
	for (int i = 0; i < 1000; i++)
		pm_text_add(&text, "%03d", i);
	assert_int_equal(text.length, 3000);
	assert_memory_equal(text.data + 2997, "999", 4);
	pm_arena_free(&arena);
	fail_at = asked + 1;
	assert_null(pm_say(&arena, "%s", "x"));
	fail_at = asked + 1;
	assert_null(pm_quoted(&arena, "x"));
	fail_at = 0;
	pm_arena_free(&arena);
	assert_int_equal(held, 0);
}

/* A case that gives many kinds of findings. */
static void spoil(struct fixture *f)
{
	fixture_init(f);
	fixture_reach(f, BOOK);
	fixture_say(f, "port/port3", "00-00-5E-00-53-99");
	fixture_say(f, "port/port4", "no address");
	fixture_say(f, "port/port99", "00-00-5E-00-53-01");
	fixture_withdraw(f, "port/port7", NULL);
	fixture_withdraw(f, "port/port8", NULL);
	fixture_say(f, "port/port8", "00-00-5E-00-53-17");
	fixture_say(f, "site/unit", "GS-04I7");
	fixture_say(f, "step/look", "damaged");
	fixture_say(f, "step/volts", "300");
	fixture_say(f, "desk/appointment", "soon");
	f->gear.training = false;
	f->waivers[0] = (struct pm_waiver){ .phase = word("muster"), .gate = word("close"),
		.condition = word("free-of pattern-break"), .by = word("a lead"), .reason = word("\x1B") };
	f->job.waiver_count = 1;
}

static void test_every_failure(void **state)
{
	(void)state;
	static struct fixture f;
	struct pm_result result;
	struct pm_arena arena;
	size_t n = 0;
	spoil(&f);
	for (bool done = false; !done; n++) {
		pm_arena_init(&arena);
		asked = 0;
		fail_at = n + 1;
		done = pm_check(&f.the_case, &arena, &result);
		/* true only when no allocation was refused, false only when one was */
		assert_int_equal(done, asked < fail_at);
		assert_int_equal(done, !arena.failed);
		fail_at = 0;
		if (done)
			assert_true(result.findings.count > 12);
		pm_arena_free(&arena);
		assert_int_equal(held, 0);
	}
	assert_true(n > 4);
	printf("# figure a whole check failed at each of its %zu allocations\n", n - 1);
}

/* Blocks are few and large, so the failures above come rarely: refuse every
 * arena allocation in turn too, by filling the arena beforehand. */
static void test_every_arena_failure(void **state)
{
	(void)state;
	static struct fixture f;
	struct pm_result result;
	struct pm_arena arena;
	size_t tried = 0;
	spoil(&f);
	pm_arena_init(&arena);
	assert_true(pm_check(&f.the_case, &arena, &result));
	size_t whole = arena.bytes;
	pm_arena_free(&arena);
	assert_int_equal(held, 0);
	for (size_t room = 16; room < whole + 64; room += 16, tried++) {
		pm_arena_init(&arena);
		/* one block of exactly that room; every further one is refused */
		struct pm_arena_block *block = counting_malloc(sizeof *block + room);
		*block = (struct pm_arena_block){ .room = room };
		arena.blocks = block;
		asked = 0;
		fail_at = 1;
		for_good = tried % 2;
		bool done = pm_check(&f.the_case, &arena, &result);
		assert_int_equal(done, asked == 0);
		fail_at = 0;
		pm_arena_free(&arena);
		assert_int_equal(held, 0);
	}
	printf("# figure a whole check failed with %zu different amounts of memory\n", tried);
}

/* Two jobs that clash in every way, from their summaries to the forecast. Memory
 * for the check of the jobs themselves is refused above. */
struct fleet_case {
	struct fixture job[2];
	struct pm_result result[2];
	struct pm_arena own;
};

static void clash(struct fleet_case *f)
{
	pm_arena_init(&f->own);
	for (size_t i = 0; i < 2; i++) {
		spoil(&f->job[i]);
		fixture_say(&f->job[i], "desk/appointment", FIXTURE_WINDOW);
		fixture_read(&f->job[i], "port/port9", "00-00-5E-00-53-AA", PM_SOURCE_CONSOLE,
		             "5fff12ff4f8bd8214ee31b223f1dbdf20d284e85671a603ea2bc24192e6e2562", FIXTURE_NOW);
		f->job[i].job.crew = word("crew\x1B north");
		f->job[i].job.code = word(i ? "TB-02" : "TB-01");
		f->job[i].phases[MUSTER].minutes = 45;
		assert_true(pm_check(&f->job[i].the_case, &f->own, &f->result[i]));
	}
}

static bool fleet_whole(struct fleet_case *f, struct pm_arena *arena, size_t *findings)
{
	struct pm_site_summary site[3];
	struct pm_travel ways[] = { { word("TB-01"), word("TB-02"), 60 }, { word("TB-01"), word("TB-03"), 60 } };
	struct pm_fleet fleet = { .site = site, .count = 3 };
	struct pm_fleet_findings list;
	struct pm_forecast forecast;
	struct pm_fault fault;
	pm_fail(&fault, PM_FAULT_SYNTAX, (struct pm_place){ NULL, 1, 1 }, "not YAML");
	pm_fleet_defaults(&fleet.options);
	fleet.options.travel = ways, fleet.options.travel_count = 2;
	fleet.options.desk_daily = 1;
	for (size_t i = 0; i < 2; i++)
		if (!pm_site_summarise(&f->job[i].the_case, &f->result[i], arena, &site[i]))
			return false;
	if (!pm_site_unread("bad.yaml", &fault, arena, &site[2]) || !pm_fleet_options_settle(&fleet.options, &fault) ||
	    !pm_fleet_check(&fleet, pm_when_utc(FIXTURE_OPENS - 3600), arena, &list))
		return false;
	*findings = list.count;
	return pm_forecast_make(&fleet, pm_when_utc(FIXTURE_NOW), &(struct pm_forecast_options){ .runs = 3 }, arena, &forecast);
}

static void test_fleet_failures(void **state)
{
	(void)state;
	static struct fleet_case f;
	struct pm_arena arena;
	size_t n = 0, findings = 0;
	clash(&f);
	size_t before = held;
	for (bool done = false; !done; n++) {
		pm_arena_init(&arena);
		asked = 0;
		fail_at = n + 1;
		for_good = n % 2;
		done = fleet_whole(&f, &arena, &findings);
		assert_int_equal(done, asked < fail_at);
		fail_at = 0;
		pm_arena_free(&arena);
		assert_int_equal(held, before);
	}
	/* cloned, addresses, serial, evidence, clash, desk, two near windows, a way to nowhere */
	assert_int_equal(findings, 9);
	/* blocks are few: let the arena that is handed in run out at each of its allocations, too */
	for_good = false;
	pm_arena_init(&arena);
	assert_true(fleet_whole(&f, &arena, &findings));
	size_t whole = arena.bytes, tried = 0;
	pm_arena_free(&arena);
	for (size_t room = 16; room < whole + 64; room += 16)
		for (size_t refused = 1; refused <= n; refused++, tried++) {
			pm_arena_init(&arena);
			struct pm_arena_block *block = counting_malloc(sizeof *block + room);
			*block = (struct pm_arena_block){ .room = room };
			arena.blocks = block;
			asked = 0;
			fail_at = refused;
			bool done = fleet_whole(&f, &arena, &findings);
			assert_int_equal(done, asked < fail_at);
			fail_at = 0;
			pm_arena_free(&arena);
			assert_int_equal(held, before);
		}
	pm_arena_free(&f.own);
	assert_int_equal(held, 0);
	printf("# figure a fleet failed at each of its %zu allocations, and at one of them with %zu amounts of memory\n", n - 1, tried);
}

/* Ten thousand checks, the arena freed each time: the process does not grow. */
static long pages(void)
{
	long size = 0, resident = 0;
	FILE *file = fopen("/proc/self/statm", "r");
	if (!file)
		return -1;
	if (fscanf(file, "%ld %ld", &size, &resident) != 2)
		resident = -1;
	fclose(file);
	return resident;
}

static void test_no_growth(void **state)
{
	(void)state;
	static struct fixture f;
	long before = pages();
	size_t used = 0;
	spoil(&f);
	for (int i = 0; i < 10000; i++) {
		struct pm_arena arena;
		struct pm_result result;
		pm_arena_init(&arena);
		assert_true(pm_check(&f.the_case, &arena, &result));
		pm_arena_free(&arena);
		if (i == 1000) {
			before = pages();
			used = mallinfo2().uordblks;
		}
	}
	assert_int_equal(held, 0);
	assert_int_equal(mallinfo2().uordblks, used);
	long after = pages();
	assert_true(before > 0 && after > 0);
	printf("# figure 9,000 further checks grew the process by %ld pages\n", after - before);
#if !defined(__SANITIZE_ADDRESS__)   /* which keeps freed memory aside for a while */
	/* 32 bytes lost a check would be 70 pages */
	assert_true(after - before <= 64);
#endif
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_alloc), cmocka_unit_test(test_overflow), cmocka_unit_test(test_push),
		cmocka_unit_test(test_text),  cmocka_unit_test(test_every_failure),
		cmocka_unit_test(test_every_arena_failure), cmocka_unit_test(test_fleet_failures),
		cmocka_unit_test(test_no_growth),
	};
	return cmocka_run_group_tests_name("memory", tests, NULL, NULL);
}
