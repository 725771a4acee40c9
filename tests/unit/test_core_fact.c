#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

#define OF "port/port1"
#define A "00-00-5E-00-53-01"
#define A_TOO "0:0:5e:0:53:1"
#define B "00-00-5E-00-53-07"

enum { CON = PM_SOURCE_CONSOLE, TYP = PM_SOURCE_TYPED, LAB = PM_SOURCE_LABEL, SKIP = PM_SOURCE_SKIPPED, BACK = PM_SOURCE_WITHDRAWN, END = PM_SOURCES };

/* Readings of one fact in order; `at` in seconds. */
static const struct {
	const char *what;
	struct { int source; const char *value, *capture; int64_t at; } reading[5];
	enum pm_standing standing;
	size_t readings;
	int first, second, last;    /* indexes; -1: none */
} cases[] = {
	{ "nothing", { { END, 0, 0, 0 } }, PM_OPEN, 0, -1, -1, -1 },
	{ "one", { { CON, A, "log", 1 }, { END, 0, 0, 0 } }, PM_HELD, 1, 0, -1, 0 },
	{ "the same capture twice", { { CON, A, "log", 1 }, { CON, A, "log", 2 }, { END, 0, 0, 0 } }, PM_HELD, 2, 0, -1, 1 },
	{ "two listings", { { CON, A, "log", 1 }, { CON, A, "log-2", 2 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 2, 0, 1, 1 },
	{ "console and typed", { { CON, A, "log", 1 }, { TYP, A_TOO, NULL, 1 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 2, 0, 1, 1 },
	{ "two consoles without a capture", { { CON, A, NULL, 1 }, { CON, A, NULL, 2 }, { END, 0, 0, 0 } }, PM_HELD, 2, 0, -1, 1 },
	{ "one console names no capture", { { CON, A, "log", 1 }, { CON, A, NULL, 2 }, { END, 0, 0, 0 } }, PM_HELD, 2, 0, -1, 1 },
	{ "typed twice at one time", { { TYP, A, NULL, 1 }, { TYP, A, NULL, 1 }, { END, 0, 0, 0 } }, PM_HELD, 2, 0, -1, 1 },
	{ "typed at two times", { { TYP, A, NULL, 1 }, { TYP, A, NULL, 2 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 2, 0, 1, 1 },
	{ "typed in one sitting", { { TYP, A, "typed-1", 1 }, { TYP, A, "typed-1", 9 }, { END, 0, 0, 0 } }, PM_HELD, 2, 0, -1, 1 },
	{ "typed and label", { { TYP, A, "typed-1", 1 }, { LAB, A, "typed-2", 1 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 2, 0, 1, 1 },
	{ "the third confirms", { { CON, A, "log", 1 }, { CON, A, "log", 2 }, { TYP, A, "t", 3 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 3, 0, 2, 2 },
	{ "one capture of two is counted once", { { CON, A, "log", 1 }, { TYP, A, "t", 2 }, { TYP, A, "t", 3 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 3, 0, 1, 2 },
	{ "differ", { { CON, A, "log", 1 }, { TYP, B, "t", 2 }, { END, 0, 0, 0 } }, PM_CONFLICT, 2, 0, 1, 1 },
	{ "differ within one capture", { { CON, A, "log", 1 }, { CON, B, "log", 1 }, { END, 0, 0, 0 } }, PM_CONFLICT, 2, 0, 1, 1 },
	{ "two agree, one differs", { { CON, A, "log", 1 }, { TYP, A, "t", 2 }, { TYP, B, "u", 3 }, { END, 0, 0, 0 } }, PM_CONFLICT, 3, 0, 2, 2 },
	{ "the wrong one withdrawn", { { CON, A, "log", 1 }, { TYP, B, "t", 2 }, { BACK, B, NULL, 3 }, { TYP, A, "u", 4 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 2, 0, 3, 3 },
	{ "withdrawn in another notation", { { TYP, A, "t", 1 }, { BACK, A_TOO, NULL, 2 }, { END, 0, 0, 0 } }, PM_OPEN, 0, -1, -1, -1 },
	{ "any value withdrawn", { { TYP, A, "t", 1 }, { TYP, B, "u", 2 }, { BACK, NULL, NULL, 3 }, { END, 0, 0, 0 } }, PM_OPEN, 0, -1, -1, -1 },
	{ "an empty value withdraws all", { { TYP, A, "t", 1 }, { BACK, "", NULL, 3 }, { END, 0, 0, 0 } }, PM_OPEN, 0, -1, -1, -1 },
	{ "another value withdrawn", { { TYP, A, "t", 1 }, { BACK, B, NULL, 2 }, { END, 0, 0, 0 } }, PM_HELD, 1, 0, -1, 0 },
	{ "withdrawn, then read again", { { TYP, A, "t", 1 }, { BACK, A, NULL, 2 }, { TYP, A, "t", 3 }, { END, 0, 0, 0 } }, PM_HELD, 1, 2, -1, 2 },
	{ "a withdrawal before it", { { BACK, A, NULL, 1 }, { TYP, A, "t", 2 }, { END, 0, 0, 0 } }, PM_HELD, 1, 1, -1, 1 },
	{ "malformed, the same text", { { TYP, "00-00", "t", 1 }, { TYP, " 00-00 ", "u", 2 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 2, 0, 1, 1 },
	{ "malformed, other case", { { TYP, "00-0A", "t", 1 }, { TYP, "00-0a", "u", 2 }, { END, 0, 0, 0 } }, PM_CONFLICT, 2, 0, 1, 1 },
	{ "malformed against valid", { { TYP, A, "t", 1 }, { TYP, "00-00-5E-00-53-0I", "u", 2 }, { END, 0, 0, 0 } }, PM_CONFLICT, 2, 0, 1, 1 },
	{ "skipped", { { SKIP, NULL, NULL, 1 }, { END, 0, 0, 0 } }, PM_SKIPPED, 0, -1, -1, 0 },
	{ "read, then skipped", { { TYP, A, "t", 1 }, { SKIP, NULL, NULL, 2 }, { END, 0, 0, 0 } }, PM_SKIPPED, 1, 0, -1, 1 },
	{ "skipped, then read", { { SKIP, NULL, NULL, 1 }, { TYP, A, "t", 2 }, { END, 0, 0, 0 } }, PM_HELD, 1, 1, -1, 1 },
	{ "a skip withdrawn", { { SKIP, NULL, NULL, 1 }, { BACK, NULL, NULL, 2 }, { END, 0, 0, 0 } }, PM_OPEN, 0, -1, -1, -1 },
	{ "no value at all", { { TYP, NULL, "t", 1 }, { TYP, "", "u", 2 }, { END, 0, 0, 0 } }, PM_CONFIRMED, 2, 0, 1, 1 },
};

static void test_standing(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct fixture f;
		fixture_init(&f);
		/* readings of another fact lie between and must not matter */
		int index[8], n = 0;
		for (; cases[i].reading[n].source != END; n++) {
			index[n] = (int)f.job.reading_count;
			fixture_read(&f, OF, cases[i].reading[n].value, (enum pm_source)cases[i].reading[n].source,
			             cases[i].reading[n].capture, cases[i].reading[n].at);
			fixture_read(&f, "port/port11", B, n % 2 ? PM_SOURCE_TYPED : PM_SOURCE_WITHDRAWN, "x", 5);
		}
		struct pm_fact fact = pm_fact_find(&f.job, OF, PM_AS_ADDRESS), indexed;
		/* an index changes how readings are found, never which */
		struct pm_arena arena;
		pm_arena_init(&arena);
		assert_true(pm_fact_index(&f.job, &arena));
		indexed = pm_fact_find(&f.job, OF, PM_AS_ADDRESS);
		assert_true(fact.standing == indexed.standing && fact.first == indexed.first &&
		            fact.second == indexed.second && fact.last == indexed.last && fact.readings == indexed.readings);
		pm_arena_free(&arena);
		f.job.first = NULL;
		if (fact.standing != cases[i].standing || fact.readings != cases[i].readings)
			fail_msg("%s: %s, %zu readings", cases[i].what, pm_standing_word(fact.standing), fact.readings);
		const struct { const struct pm_reading *got; int want; } all[] = {
			{ fact.first, cases[i].first }, { fact.second, cases[i].second }, { fact.last, cases[i].last },
		};
		for (size_t k = 0; k < COUNT(all); k++)
			if (all[k].got != (all[k].want < 0 ? NULL : &f.readings[index[all[k].want]]))
				fail_msg("%s: reading %zu of the fact", cases[i].what, k);
		assert_ptr_equal(pm_fact_last(&f.job, OF), fact.last);
	}
}

/* As text, two notations of one address differ; blanks at the ends do not count. */
static void test_as_text(void **state)
{
	(void)state;
	assert_true(pm_fact_same(A, A_TOO, PM_AS_ADDRESS));
	assert_false(pm_fact_same(A, A_TOO, PM_AS_TEXT));
	assert_true(pm_fact_same("\t EG12 ", "EG12", PM_AS_TEXT));
	assert_false(pm_fact_same("EG12", "eg12", PM_AS_TEXT));
	assert_false(pm_fact_same("EG 12", "EG12", PM_AS_TEXT));
	assert_true(pm_fact_same(NULL, "", PM_AS_TEXT));
	assert_false(pm_fact_same(NULL, "x", PM_AS_ADDRESS));
}

static void test_next(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_say(&f, OF, A);
	fixture_say(&f, "step/look", "whole");
	fixture_say(&f, OF, B);
	fixture_withdraw(&f, OF, A);
	size_t at = 0;
	assert_ptr_equal(pm_fact_next(&f.job, OF, &at), &f.readings[2]);
	assert_null(pm_fact_next(&f.job, OF, &at));
	assert_null(pm_fact_next(&f.job, OF, &at));
	assert_null(pm_fact_last(&f.job, "port/none"));
	assert_false(pm_fact_stands(&f.job, &f.readings[0]));
	assert_true(pm_fact_stands(&f.job, &f.readings[2]));
	assert_false(pm_fact_stands(&f.job, &f.readings[3]));
}

static void test_words(void **state)
{
	(void)state;
	for (int i = 0; i < PM_SOURCES; i++) {
		enum pm_source source;
		assert_true(pm_source_find(pm_source_word((enum pm_source)i), &source));
		assert_int_equal(source, i);
	}
	enum pm_source source = PM_SOURCE_DESK;
	assert_false(pm_source_find("Typed", &source));
	assert_false(pm_source_find(NULL, &source));
	assert_int_equal(source, PM_SOURCE_DESK);
	assert_string_equal(pm_standing_word(PM_CONFLICT), "in conflict");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_standing), cmocka_unit_test(test_as_text),
		cmocka_unit_test(test_next),     cmocka_unit_test(test_words),
	};
	return cmocka_run_group_tests_name("facts", tests, NULL, NULL);
}
