/* What the skim passes over changes nothing: a long log read with and without
 * it gives the same listing, line for line. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "capture/reader.h"
#include "mixed_log.h"

/* --- with and without ----------------------------------------------------------------------- */

static const struct skim_sizes never = { SIZE_MAX, 0, 0 };

/* Fed in pieces just large enough to be skimmed, or among them smaller ones. */
static const char *read_log(const struct log *log, const struct pm_gear *gear, const struct skim_sizes *how, bool small_pieces,
                            struct pm_arena *arena)
{
	struct listing listing;
	struct pm_text out;
	struct listing_reader *reader = listing_begin(&listing, gear, arena);
	assert_non_null(reader);
	reader->sizes = how;
	for (size_t at = 0; at < log->length;) {
		size_t left = log->length - at, piece = left;
		if (how->least != SIZE_MAX) piece = small_pieces && any(5) == 0 ? 1 + any(60) : how->least + any(3000);
		if (piece > left) piece = left;
		assert_true(listing_feed(reader, log->bytes + at, piece));
		at += piece;
	}
	assert_true(listing_end(reader));
	assert_true(listing_is_sound(&listing, gear));
	pm_text_grow(&out, arena);
	pm_text_add(&out, "%s%u lines, %zu bytes of noise from line %u on\n", listing_text(&listing, gear, arena), listing.lines,
	            listing.noise, listing.noise_line);
	return out.data;
}

static void compare(const struct log *log, const struct skim_sizes *how, size_t round)
{
	struct pm_gear gear = eg12();
	for (int with = 0; with < 2; with++) {
		struct pm_arena arena;
		pm_arena_init(&arena);
		const char *whole = read_log(log, with ? &gear : NULL, &never, false, &arena);
		uint32_t before = seed;
		const char *skimmed = read_log(log, with ? &gear : NULL, how, round & 1, &arena);
		seed = before;
		if (strcmp(whole, skimmed) != 0) {
			/* Too long to be shown: keep it to look at. */
			FILE *file = getenv("PM_SKIM_CASE") ? fopen(getenv("PM_SKIM_CASE"), "wb") : NULL;
			if (file) {
				fwrite(log->bytes, 1, log->length, file);
				fclose(file);
			}
			size_t same = 0;
			while (whole[same] && whole[same] == skimmed[same]) same++;
			fail_msg("round %zu, gear %d, after %zu bytes:\nread whole:\n%.300s\nskimmed:\n%.300s", round, with, same, whole + same, skimmed + same);
		}
		pm_arena_free(&arena);
	}
}

static struct log built;

/* Everything that a log may have, in any order. What comes before a prompt says
 * nothing of what comes behind it, so little context will do. */
static void test_random(void **state)
{
	(void)state;
	static const struct skim_sizes how[] = {
		{ 64, 6000, 700 }, { 64, 6000, 5000 }, { 900, 8000, 64u << 10 }, { 1, 6000, 64 },
	};
	size_t rounds = getenv("PM_SKIM_ROUNDS") ? (size_t)atol(getenv("PM_SKIM_ROUNDS")) : 4000;
	for (size_t round = 0; round < rounds; round++) {
		seed = (uint32_t)(round * 2654435761u) | 1;
		built.length = 0;
		for (uint32_t parts = 1 + any(20); parts > 0; parts--) some_part(&built);
		if (any(4) == 0) built.length -= any(built.length < 40 ? (uint32_t)built.length : 40);
		compare(&built, &how[round % 4], round);
	}
}

/* --- the bound, and what a console needs ------------------------------------------------------- */

static void fill(struct log *log, size_t bytes, const char *line)
{
	for (size_t to = log->length + bytes; log->length < to;) put(log, line, strlen(line));
}

/* An interface's line counts for 16 KiB, or as long as something else matters. */
static void test_bound(void **state)
{
	(void)state;
	static const struct { size_t bytes; const char *between; bool read; } cases[] = {
		{ 15u << 10, "    queue 3 is empty\n", true },
		{ 17u << 10, "    queue 3 is empty\n", false },
		{ 120u << 10, "    queue 3 is empty\n", false },
		{ 15u << 10, "[  12.5] queue 3 is empty\n", true },
		{ 120u << 10, "    queue 3 is empty\n    serial number 12345\n", true },
	};
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct pm_arena arena;
		pm_arena_init(&arena);
		built.length = 0;
		fill(&built, 40u << 10, "the gauge house is dry\n");
		say(&built, "\nport7 is up\n");
		fill(&built, cases[i].bytes, cases[i].between);
		say(&built, "    hardware address 00-00-5E-00-53-07\n");
		fill(&built, 40u << 10, "the gauge house is dry\n");
		const char *whole = read_log(&built, NULL, &never, false, &arena), *text = read_log(&built, NULL, &skim_usual, false, &arena);
		assert_non_null(strstr(whole, "port7 00-00-5E-00-53-07"));
		if ((strcmp(whole, text) == 0) != cases[i].read) fail_msg("case %zu:\n%s\n%s", i, whole, text);
		pm_arena_free(&arena);
	}
}

/* What comes in small pieces is read at once, though much came before. */
static void test_prompt_reading(void **state)
{
	(void)state;
	struct pm_arena arena;
	struct listing listing;
	pm_arena_init(&arena);
	built.length = 0;
	fill(&built, 100u << 10, "the gauge house is dry\n");
	struct listing_reader *reader = listing_begin(&listing, NULL, &arena);
	assert_true(listing_feed(reader, built.bytes, built.length));
	assert_non_null(reader->skim);
	static const char rows[] = "port1 00-00-5E-00-53-01\nport2 00-00-5E-00-53-02\nport3 00-00-5E-00-53-03\n";
	for (size_t i = 0; i < sizeof rows - 1; i++) {
		assert_true(listing_feed(reader, rows + i, 1));
		/* A row is over when the line behind it is, and read when the next begins its own. */
		size_t lines = 0;
		for (size_t k = 0; k <= i; k++) lines += rows[k] == '\n';
		assert_int_equal(listing.count, lines < 3 ? 0 : 1);
	}
	assert_true(listing_end(reader));
	assert_int_equal(listing.count, 3);
	assert_int_equal(listing.reading[2].line, built.length / 23 + 3);
	pm_arena_free(&arena);
}

/* A gear's own patterns are looked for in every line. */
static void test_patterns(void **state)
{
	(void)state;
	struct pm_gear gear = eg12();
	struct pm_arena arena;
	struct listing listing;
	pm_arena_init(&arena);
	gear.console.interface_line = (struct pm_word){ "^== ([a-z0-9]+)", 1, 1 };
	built.length = 0;
	fill(&built, 100u << 10, "the gauge house is dry\n");
	struct listing_reader *reader = listing_begin(&listing, &gear, &arena);
	assert_true(listing_feed(reader, built.bytes, built.length));
	assert_null(reader->skim);
	assert_true(listing_end(reader));
	pm_arena_free(&arena);
}

/* --- memory ------------------------------------------------------------------------------------ */

/* More addresses than are listed, and that is said once. */
static void test_many_readings(void **state)
{
	(void)state;
	struct pm_arena arena;
	struct listing listing;
	pm_arena_init(&arena);
	struct listing_reader *reader = listing_begin(&listing, NULL, &arena);
	for (uint32_t i = 0; i < 70000;) {
		built.length = 0;
		for (size_t k = 0; k < 1000; k++, i++) say(&built, "e%u/%u 02-00-00-%02X-%02X-%02X\n", i / 1000, i % 1000, i >> 16, i >> 8 & 255, i & 255);
		assert_true(listing_feed(reader, built.bytes, built.length));
		/* the same again is nothing new */
		assert_true(listing_feed(reader, built.bytes, built.length));
	}
	assert_true(listing_end(reader));
	assert_int_equal(listing.count, 65536);
	assert_int_equal(listing.problem_count, 1);
	assert_string_equal(listing.problem[0].reason, "more addresses of interfaces than are listed");
	assert_true(arena.bytes < 8u << 20);
	pm_arena_free(&arena);

	/* All of one interface: each is another than the first. */
	pm_arena_init(&arena);
	reader = listing_begin(&listing, NULL, &arena);
	for (uint32_t i = 0; i < 70000;) {
		built.length = 0;
		for (size_t k = 0; k < 1000; k++, i++) say(&built, "port1 02-00-00-%02X-%02X-%02X\n", i >> 16, i >> 8 & 255, i & 255);
		assert_true(listing_feed(reader, built.bytes, built.length));
	}
	assert_true(listing_end(reader));
	assert_int_equal(listing.count, 65536);
	assert_int_equal(listing.problem_count, 1001);
	assert_true(arena.bytes < 8u << 20);
	pm_arena_free(&arena);
}

/* --- all of them --------------------------------------------------------------------------------- */

static int open_files(void **state)
{
	(void)state;
	return log_files_open() ? 0 : -1;
}

static int close_files(void **state)
{
	(void)state;
	log_files_close();
	return 0;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_random),
		cmocka_unit_test(test_bound), cmocka_unit_test(test_prompt_reading), cmocka_unit_test(test_patterns),
		cmocka_unit_test(test_many_readings),
	};
	return cmocka_run_group_tests(tests, open_files, close_files);
}
