/* What lies among the job files and is none: it has no row, it is named, and it is
 * read again only when it has changed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "gather_fixture.h"

#define OTHER "format: \"1\"\nstart: \"2026-10-01T09:00:00Z\"\n"

static void again(struct gather *gather)
{
	assert_true(gather_changed(gather));
	assert_true(gather_again(gather, pm_when_utc(GATHER_NOW + 1)));
	wait_for(gather);
	/* and that is that: nothing is read in a circle */
	assert_false(gather_changed(gather));
	assert_false(gather_again(gather, pm_when_utc(GATHER_NOW + 2)));
}

static void put_copy(const char *from, const char *to)
{
	char *text = scratch_read(from, NULL);
	assert_non_null(text);
	put_text(to, text);
	free(text);
}

static void test_beside_the_jobs(void **state)
{
	(void)state;
	put_job("f/a.yaml", 0);
	put_job("f/north/b.yaml", 1);
	put_job("e/c.yaml", 2);
	/* the look-up order begins beside the job */
	put_copy("data/plans/router-swap.yaml", "f/router-swap.yaml");
	put_copy("data/gear/eg-12.yaml", "f/north/eg-12.yaml");
	put_copy("data/sheets/tavrane-desk.yaml", "e/tavrane-desk.yml");
	put_copy("data/demo/answers.yaml", "f/answers.yaml");
	/* what cannot be read might be a job, and what says site is one in the making */
	put_text("f/torn.yaml", "format: [\n");
	put_text("f/z.yaml", "format: \"1\"\nsite:\n  code: \"X\"\n");
	const char *given[] = { at_path("f"), at_path("e") };
	rest();
	for (unsigned threads = 1; threads <= 4; threads += 3) {
		struct gather *gather = begin_of(given, 2, NULL, threads, NULL);
		struct gather_detail detail;
		wait_for(gather);
		assert_string_equal(names_of(gather), "f/a.yaml f/north/b.yaml f/torn.yaml f/z.yaml e/c.yaml");
		assert_string_equal(left_out_of(gather), "f/answers.yaml f/north/eg-12.yaml f/router-swap.yaml e/tavrane-desk.yml");
		assert_int_equal(gather_total(gather), 5);
		assert_non_null(strstr(row_of(gather, "f/z.yaml")->fault, "lacks the key plan"));
		/* it is used all the same */
		assert_true(gather_open(gather, 0, &detail, NULL));
		assert_string_equal(detail.the_case.plan->file, at_path("f/router-swap.yaml"));
		gather_close(&detail);
		assert_false(gather_changed(gather));
		assert_false(gather_again(gather, pm_when_utc(GATHER_NOW + 59)));
		gather_free(gather);
	}
}

static void test_nothing_else(void **state)
{
	(void)state;
	put_text("f/b.yaml", OTHER);
	put_text("f/a.yaml", OTHER);
	rest();
	struct gather *gather = gather_all("f");
	assert_int_equal(gather_fleet(gather)->count, 0);
	assert_string_equal(left_out_of(gather), "f/a.yaml f/b.yaml");
	assert_false(gather_changed(gather));
	unlink(at_path("f/a.yaml"));
	unlink(at_path("f/b.yaml"));
	again(gather);
	assert_int_equal(gather_fleet(gather)->left_out_count, 0);
	gather_free(gather);
}

static void test_changes(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 5; i++) {
		char name[40];
		snprintf(name, sizeof name, "f/%u.yaml", i);
		put_job(name, i);
	}
	put_text("f/m.yaml", OTHER);
	put_text("f/n.yaml", OTHER);
	rest();
	struct gather *gather = gather_all("f");
	assert_string_equal(left_out_of(gather), "f/m.yaml f/n.yaml");
	const char *old = row_of(gather, "f/1.yaml")->code;
	/* it changes and stays what it is */
	put_text("f/m.yaml", OTHER "pace: \"5\"\n");
	rest();
	again(gather);
	assert_string_equal(left_out_of(gather), "f/m.yaml f/n.yaml");
	/* becomes a job, and a job becomes none: each stands in one place alone */
	put_job("f/m.yaml", 100);
	put_text("f/2.yaml", OTHER);
	put_text("f/0.yaml", OTHER);
	rest();
	again(gather);
	assert_string_equal(names_of(gather), "f/1.yaml f/3.yaml f/4.yaml f/m.yaml");
	assert_string_equal(left_out_of(gather), "f/0.yaml f/2.yaml f/n.yaml");
	assert_string_equal(row_of(gather, "f/m.yaml")->code, "TB-00100");
	assert_string_equal(row_of(gather, "f/4.yaml")->code, "TB-00004");
	assert_ptr_equal(row_of(gather, "f/1.yaml")->code, old);
	/* and back, one is gone, one comes, one is broken */
	put_job("f/2.yaml", 2);
	unlink(at_path("f/n.yaml"));
	unlink(at_path("f/3.yaml"));
	put_text("f/sub/k.yaml", OTHER);
	put_text("f/0.yaml", "format: [\n");
	rest();
	again(gather);
	assert_string_equal(names_of(gather), "f/0.yaml f/1.yaml f/2.yaml f/4.yaml f/m.yaml");
	assert_string_equal(left_out_of(gather), "f/sub/k.yaml");
	assert_non_null(row_of(gather, "f/0.yaml")->fault);
	assert_null(row_of(gather, "f/2.yaml")->fault);
	/* time tells nothing about it, whatever it tells about the jobs */
	assert_true(gather_again(gather, pm_when_utc(GATHER_NOW + 40 * 86400)));
	wait_for(gather);
	assert_string_equal(left_out_of(gather), "f/sub/k.yaml");
	assert_int_equal(gather_fleet(gather)->count, 5);
	gather_free(gather);
}

static void test_a_moment_ago(void **state)
{
	(void)state;
	put_text("f/a.yaml", OTHER);
	struct gather *gather = gather_all("f");
	rest();
	again(gather);
	assert_string_equal(left_out_of(gather), "f/a.yaml");
	gather_free(gather);
}

/* A plan that is left out is watched twice: as what it is, and as what lies there. */
static void test_plan_beside(void **state)
{
	(void)state;
	put_job("f/a.yaml", 0);
	put_copy("data/plans/router-swap.yaml", "f/router-swap.yaml");
	rest();
	struct gather *gather = gather_all("f");
	const char *old = row_of(gather, "f/a.yaml")->code;
	char *text = scratch_read(at_path("f/router-swap.yaml"), NULL);
	char *at = strstr(text, "\ntitle: \"");
	assert_non_null(at);
	at[9] = 'X';
	put_text("f/router-swap.yaml", text);
	free(text);
	rest();
	again(gather);
	assert_ptr_not_equal(row_of(gather, "f/a.yaml")->code, old);
	assert_string_equal(left_out_of(gather), "f/router-swap.yaml");
	gather_free(gather);
}

static void test_named(void **state)
{
	(void)state;
	static const char says[] = "no job file: it has neither site nor readings";
	put_job("f/a.yaml", 0);
	put_text("g/x.yaml", OTHER);
	put_text("g/y.txt", OTHER);
	put_text("f/z.yaml", OTHER);
	const char *given[] = { at_path("g/x.yaml"), at_path("f"), at_path("g/y.txt") };
	struct gather_detail detail;
	struct pm_fault fault = { 0 };
	rest();
	struct gather *gather = begin_of(given, 3, NULL, 0, NULL);
	wait_for(gather);
	assert_string_equal(names_of(gather), "g/x.yaml f/a.yaml g/y.txt");
	assert_string_equal(left_out_of(gather), "f/z.yaml");
	assert_string_equal(row_of(gather, "g/x.yaml")->fault, says);
	assert_non_null(row_of(gather, "g/y.txt")->fault_remedy);
	assert_false(gather_open(gather, 0, &detail, &fault));
	assert_string_equal(fault.message, says);
	assert_false(gather_changed(gather));
	gather_free(gather);
}

/* More than there is room for at first, more than a batch, and nothing but. */
static void test_many(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 100; i++) {
		char name[40];
		snprintf(name, sizeof name, "f/%02u.yaml", i);
		if (i % 10 == 9)
			put_job(name, i);
		else
			put_text(name, OTHER);
	}
	rest();
	struct gather *gather = gather_all("f");
	assert_int_equal(gather_fleet(gather)->count, 10);
	assert_int_equal(gather_fleet(gather)->left_out_count, 90);
	for (size_t i = 1; i < 90; i++)
		assert_true(strcmp(gather_fleet(gather)->left_out[i - 1], gather_fleet(gather)->left_out[i]) < 0);
	assert_false(gather_changed(gather));
	gather_free(gather);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_beside_the_jobs, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_nothing_else, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_changes, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_a_moment_ago, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_plan_beside, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_named, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_many, gather_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
