/* What was gathered and has changed since; one site in full; the fleet's options. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <poll.h>

#include "gather_fixture.h"

static size_t read_again(struct gather *gather, int64_t later)
{
	if (!gather_again(gather, pm_when_utc(GATHER_NOW + later)))
		return 0;
	struct pollfd wait = { .fd = gather_fd(gather), .events = POLLIN };
	/* a driver that waits for the descriptor is woken, whatever it was that changed */
	assert_int_equal(poll(&wait, 1, 5000), 1);
	wait_for(gather);
	assert_int_equal(poll(&wait, 1, 0), 0);
	return gather_fleet(gather)->count;
}

static void test_again(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 5; i++) {
		char name[40];
		snprintf(name, sizeof name, "f/%u.yaml", i);
		put_job(name, i);
	}
	rest();
	struct gather *gather = gather_all("f");
	assert_false(gather_changed(gather));
	assert_false(gather_again(gather, pm_when_utc(GATHER_NOW + 59)));
	const char *old = row_of(gather, "f/1.yaml")->code;

	put_job("f/0.yaml", 100);             /* changed */
	put_job("f/sub/new.yaml", 101);       /* come */
	unlink(at_path("f/4.yaml"));          /* gone */
	rename(at_path("f/3.yaml"), at_path("f/9.yaml"));
	put_text("f/2.yaml", "format: [\n");  /* broken now */
	rest();
	assert_true(gather_changed(gather));
	assert_int_equal(read_again(gather, 1), 5);
	assert_string_equal(names_of(gather), "f/0.yaml f/1.yaml f/2.yaml f/9.yaml f/sub/new.yaml");
	assert_string_equal(row_of(gather, "f/0.yaml")->code, "TB-00100");
	assert_string_equal(row_of(gather, "f/9.yaml")->code, "TB-00003");
	assert_string_equal(row_of(gather, "f/sub/new.yaml")->code, "TB-00101");
	assert_non_null(row_of(gather, "f/2.yaml")->fault);
	/* what had not changed was not read: its summary is still the same one */
	assert_ptr_equal(row_of(gather, "f/1.yaml")->code, old);
	assert_false(gather_changed(gather));

	/* each kind of change alone, and only once */
	unlink(at_path("f/2.yaml"));
	assert_true(gather_changed(gather));
	assert_int_equal(read_again(gather, 1), 4);
	assert_false(gather_changed(gather));
	put_job("f/2.yaml", 2);
	rest();
	assert_true(gather_changed(gather));
	assert_int_equal(read_again(gather, 1), 5);
	assert_null(row_of(gather, "f/2.yaml")->fault);
	assert_false(gather_changed(gather));
	/* same size, same name, other content */
	char *text = scratch_read(at_path("f/2.yaml"), NULL);
	*strstr(text, "Gauge 2") = 'L';
	put_text("f/2.yaml", text);
	free(text);
	rest();
	assert_true(gather_changed(gather));
	read_again(gather, 1);
	assert_string_equal(row_of(gather, "f/2.yaml")->name, "Lauge 2");
	gather_free(gather);
}

static void test_a_moment_ago(void **state)
{
	(void)state;
	put_job("f/a.yaml", 0);
	struct gather *gather = gather_all("f");
	rest();
	/* its times could not have told a second change */
	assert_true(gather_changed(gather));
	assert_int_equal(read_again(gather, 1), 1);
	assert_false(gather_changed(gather));
	gather_free(gather);
}

static void test_time_alone(void **state)
{
	(void)state;
	put_job("f/a.yaml", 4);
	rest();
	struct gather *gather = gather_all("f");
	size_t warns = row_of(gather, "f/a.yaml")->warns;
	assert_false(gather_changed(gather));
	/* due on 2026-10-30, and read last on the 5th */
	assert_int_equal(read_again(gather, 40 * 86400), 1);
	assert_true(row_of(gather, "f/a.yaml")->warns > warns);
	/* and back, when a clock was put right */
	assert_int_equal(read_again(gather, 0), 1);
	assert_int_equal(row_of(gather, "f/a.yaml")->warns, warns);
	gather_free(gather);
}

/* A plan of its own, with one phase fewer than the installed one. */
static void put_plan(const char *name, const char *title)
{
	char *text = scratch_read("data/plans/router-swap.yaml", NULL);
	assert_non_null(text);
	char *at = strstr(text, "\ntitle: \"");
	assert_non_null(at);
	memcpy(at + 9, title, strlen(title));
	put_text(name, text);
	free(text);
}

static void test_plans(void **state)
{
	(void)state;
	put_job("f/x/a.yaml", 0);
	put_job("f/y/b.yaml", 1);
	put_plan("f/y/plans/router-swap.yaml", "X");
	rest();
	struct gather *gather = gather_all("f");
	struct gather_detail x, y;
	assert_true(gather_open(gather, 0, &x, NULL));
	assert_true(gather_open(gather, 1, &y, NULL));
	assert_non_null(strstr(x.the_case.plan->file, "data/plans"));
	assert_non_null(strstr(y.the_case.plan->file, "f/y/plans"));
	assert_ptr_equal(x.the_case.gear, y.the_case.gear);
	assert_false(gather_changed(gather));
	const char *old = gather_fleet(gather)->site[0].code;
	put_plan("f/y/plans/router-swap.yaml", "Y");
	rest();
	assert_true(gather_changed(gather));
	assert_int_equal(read_again(gather, 1), 2);
	assert_ptr_not_equal(gather_fleet(gather)->site[0].code, old);
	assert_false(gather_changed(gather));
	/* what is open still has the plan that it was opened with */
	assert_true(y.the_case.plan->title.text[0] == 'X');
	gather_close(&x);
	gather_close(&y);
	/* a job of the very name is not its own plan */
	put_job("f/x/router-swap.yaml", 2);
	assert_int_equal(read_again(gather, 1), 3);
	assert_non_null(row_of(gather, "f/x/a.yaml")->fault);
	assert_null(row_of(gather, "f/x/router-swap.yaml")->fault);
	gather_free(gather);
}

static void test_missing_plan_comes(void **state)
{
	(void)state;
	put_text("f/a.yaml", "format: \"1\"\nplan: \"later\"\ngear: \"eg-12\"\nsite:\n  code: \"X\"\n");
	rest();
	struct gather *gather = gather_all("f");
	assert_non_null(row_of(gather, "f/a.yaml")->fault);
	assert_false(gather_changed(gather));
	put_plan("f/plans/later.yaml", "X");
	assert_true(gather_changed(gather));
	assert_int_equal(read_again(gather, 1), 1);
	assert_null(row_of(gather, "f/a.yaml")->fault);
	gather_free(gather);
}

/* Every site folder may have its own copy of one plan: it is held once. */
static void test_one_plan_many_copies(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 20; i++) {
		char name[60];
		snprintf(name, sizeof name, "f/%02u/site.yaml", i);
		put_job(name, i);
		snprintf(name, sizeof name, "f/%02u/router-swap.yaml", i);
		put_plan(name, "X");
		/* beside the job it would count as one */
		char to[60];
		snprintf(to, sizeof to, "f/%02u/plans/router-swap.yaml", i);
		make_folders(at_path(to));
		rename(at_path(name), at_path(to));
	}
	struct gather *gather = gather_all("f");
	struct gather_detail a, b;
	assert_int_equal(gather_fleet(gather)->count, 20);
	assert_true(gather_open(gather, 0, &a, NULL));
	assert_true(gather_open(gather, 19, &b, NULL));
	assert_ptr_equal(a.the_case.plan, b.the_case.plan);
	gather_close(&a);
	gather_close(&b);
	gather_free(gather);
}

static void test_open(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 5; i++) {
		char name[40];
		snprintf(name, sizeof name, "f/%u.yaml", i);
		put_job(name, i);
	}
	put_text("f/5.yaml", "format: [\n");
	struct gather *gather = gather_all("f");
	const struct pm_fleet *fleet = gather_fleet(gather);
	struct gather_detail detail;
	struct pm_fault fault = { 0 };
	for (size_t i = 0; i < 5; i++) {
		assert_true(gather_open(gather, i, &detail, &fault));
		assert_ptr_equal(detail.the_case.job, &detail.job.job);
		assert_string_equal(detail.job.job.code.text, fleet->site[i].code);
		assert_int_equal(detail.result.phase, fleet->site[i].phase);
		assert_int_equal(detail.result.roster.held, fleet->site[i].held);
		assert_int_equal(pm_findings_count(&detail.result.findings, PM_STOP), fleet->site[i].stops);
		gather_close(&detail);
	}
	assert_false(gather_open(gather, 5, &detail, &fault));
	assert_int_equal(fault.kind, PM_FAULT_SYNTAX);
	assert_int_equal(fault.line, 2);
	assert_false(gather_open(gather, 6, &detail, &fault));
	unlink(at_path("f/0.yaml"));
	assert_false(gather_open(gather, 0, &detail, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	gather_free(gather);
}

static const struct pm_fleet_options *options_of(const struct gather *gather, const char *name)
{
	const struct pm_site_summary *row = row_of(gather, name);
	assert_non_null(row);
	return pm_fleet_options_at(gather_fleet(gather), row->folder);
}

static void test_options(void **state)
{
	(void)state;
	put_job("e/b.yaml", 1);
	put_job("f/a.yaml", 0);
	put_text("f/fleet.yaml", "format: \"1\"\ndeadline: \"2026-12-01\"\nstall-days: \"3\"\n");
	const char *given[] = { at_path("e"), at_path("f/a.yaml") };
	rest();
	struct gather *gather = begin_of(given, 2, NULL, 0, NULL);
	wait_for(gather);
	assert_true(options_of(gather, "f/a.yaml")->has_deadline);
	assert_int_equal(options_of(gather, "f/a.yaml")->stall_days, 3);
	assert_false(options_of(gather, "e/b.yaml")->has_deadline);
	assert_int_equal(options_of(gather, "e/b.yaml")->stall_days, PM_STALL_DAYS);
	assert_int_equal(gather_fleet(gather)->count, 2);
	assert_false(gather_changed(gather));
	/* each folder has its own */
	put_text("e/fleet.yaml", "format: \"1\"\nstall-days: \"x\"\n");
	assert_true(gather_changed(gather));
	assert_int_equal(read_again(gather, 1), 3);
	const struct pm_site_summary *row = row_of(gather, "e/fleet.yaml");
	assert_non_null(strstr(row->fault, "stall-days"));
	assert_int_equal(row->fault_line, 2);
	assert_int_equal(options_of(gather, "e/b.yaml")->stall_days, PM_STALL_DAYS);
	assert_int_equal(options_of(gather, "f/a.yaml")->stall_days, 3);
	assert_false(gather_changed(gather));
	put_text("e/fleet.yaml", "format: \"1\"\nstall-days: \"5\"\n");
	assert_int_equal(read_again(gather, 1), 2);
	assert_int_equal(options_of(gather, "e/b.yaml")->stall_days, 5);
	unlink(at_path("e/fleet.yaml"));
	assert_int_equal(read_again(gather, 1), 2);
	assert_int_equal(options_of(gather, "e/b.yaml")->stall_days, PM_STALL_DAYS);
	assert_int_equal(options_of(gather, "f/a.yaml")->stall_days, 3);
	unlink(at_path("f/fleet.yaml"));
	assert_int_equal(read_again(gather, 1), 2);
	assert_int_equal(options_of(gather, "f/a.yaml")->stall_days, PM_STALL_DAYS);
	assert_false(options_of(gather, "f/a.yaml")->has_deadline);
	gather_free(gather);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_again, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_a_moment_ago, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_time_alone, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_plans, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_missing_plan_comes, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_one_plan_many_copies, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_open, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_options, gather_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
