/* Readings that differ: gathered by value, and what the evidence favours. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/differ.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

#define A "00-00-5E-00-53-1A"   /* RFC 9542 2.1.4 */
#define B "00-00-5E-00-53-12"
#define C "00-00-5E-00-53-17"

static struct pm_word word(const char *text)
{
	return (struct pm_word){ .text = text };
}

/* A reading a letter: its value, then the capture it comes from. */
static const struct {
	const char *readings;
	const char *expect;
	const char *said;      /* what is favoured; empty: nothing */
	size_t count;
} cases[] = {
	{ "", NULL, "", 0 },
	{ "A1", NULL, "", 1 },
	{ "A1A2", NULL, "", 1 },
	{ "A1B2", NULL, "", 2 },
	/* the same capture counts once, however often it is read */
	{ "A1B2B2", NULL, "", 2 },
	{ "A1B2B3", NULL, "2 separate readings against 1 say " B, 2 },
	{ "A1A2B3", NULL, "2 separate readings against 1 say " A, 2 },
	{ "A1A2B3B4", NULL, "", 2 },
	/* a capture that holds both counts for both, and once in all */
	{ "A1B1", NULL, "", 2 },
	{ "A1B1B2", NULL, "2 separate readings against 1 say " B, 2 },
	{ "A1B1A2B2", NULL, "", 2 },
	{ "A1B2B3C4", NULL, "", 3 },
	{ "A1B2B3B4C5", NULL, "3 separate readings against 2 say " B, 3 },
	/* the numbering gives one of them, both say the same, or the opposite */
	{ "A1B2", B, "the numbering of the others gives " B, 2 },
	{ "A1B2", A, "the numbering of the others gives " A, 2 },
	{ "A1B2", C, "", 2 },
	{ "A1B2B3", B, "2 separate readings against 1 say " B ", and the numbering of the others gives it too", 2 },
	{ "A1B2B3", A, "", 2 },
	{ "A1B2B3", C, "2 separate readings against 1 say " B, 2 },
	{ "A1A2", B, "", 1 },
};

static void test_evidence(void **state)
{
	(void)state;
	static const char *const capture[] = { "c0", "c1", "c2", "c3", "c4", "c5" };
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_reading readings[8] = { 0 };
		struct pm_job job = { .readings = readings };
		struct pm_eui48 expect;
		struct pm_differ differ;
		struct pm_text text;
		char said[200];
		for (const char *c = cases[i].readings; *c; c += 2, job.reading_count++) {
			struct pm_reading *reading = &readings[job.reading_count];
			reading->of = word("port/port2");
			reading->value = word(*c == 'A' ? A : *c == 'B' ? B : C);
			reading->capture = word(capture[c[1] - '0']);
			reading->source = PM_SOURCE_TYPED;
		}
		if (cases[i].expect)
			assert_true(pm_eui48_parse(cases[i].expect, &expect));
		pm_differ_find(&job, "port/port2", PM_AS_ADDRESS, cases[i].expect ? &expect : NULL, &differ);
		assert_int_equal(differ.count, cases[i].count);
		pm_text_fixed(&text, said, sizeof said);
		pm_differ_say_favoured(&differ, &text);
		assert_string_equal(said, cases[i].said);
	}
}

/* More values than are told apart favour none, and more captures than are counted are no harm. */
static void test_bounds(void **state)
{
	(void)state;
	static const char *const values[] = { A, B, C, "00-00-5E-00-53-01", "00-00-5E-00-53-02", A, A };
	struct pm_reading readings[40] = { 0 };
	struct pm_job job = { .readings = readings };
	char capture[40][4];
	struct pm_differ differ;
	for (size_t i = 0; i < 40; i++) {
		snprintf(capture[i], sizeof capture[i], "%zu", i);
		readings[i].of = word("port/port2");
		readings[i].value = word(i < COUNT(values) ? values[i] : A);
		readings[i].capture = word(capture[i]);
		readings[i].source = PM_SOURCE_TYPED;
	}
	job.reading_count = COUNT(values);
	pm_differ_find(&job, "port/port2", PM_AS_ADDRESS, NULL, &differ);
	assert_true(differ.more);
	assert_int_equal(differ.count, PM_MOST_VALUES);
	assert_null(differ.favoured);
	readings[3].value = readings[4].value = word(A);
	job.reading_count = 40;
	pm_differ_find(&job, "port/port2", PM_AS_ADDRESS, NULL, &differ);
	assert_int_equal(differ.value[0].against, 2);
	assert_int_equal(differ.value[0].apart, PM_MOST_APART - 2);
	assert_int_equal(differ.value[0].readings, 38);
	assert_ptr_equal(differ.favoured, &differ.value[0]);
}

/* The digits of an address are counted alike, whatever separators it is written with. */
static void test_one_way_of_counting(void **state)
{
	(void)state;
	static const char *const written[] = { "00-00-5e-00-53-12", "00:00:5e:00:53:12", "0000.5e00.5312", "00005E005312" };
	for (size_t i = 0; i < COUNT(written); i++) {
		char said[200];
		struct pm_text text;
		pm_text_fixed(&text, said, sizeof said);
		pm_differ_say(A, written[i], PM_AS_ADDRESS, &text);
		assert_string_equal(said, "they differ in digit 12: A in the first, 2 in the second");
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_evidence), cmocka_unit_test(test_bounds), cmocka_unit_test(test_one_way_of_counting),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
