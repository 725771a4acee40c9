/* Several folders in one fleet: what each one's options hold for, what serves them all,
 * and which sites are stopped. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include "fleet_fixture.h"

static struct fleet_fixture f;
static struct pm_fleet_options folder[2];

#define DAY 86400
#define HOUR 3600
#define TODAY (FIXTURE_NOW / DAY)

/* Two folders of options beside those of sites that have none. */
static void begin(void)
{
	fleet_init(&f);
	for (size_t i = 0; i < COUNT(folder); i++) {
		pm_fleet_defaults(&folder[i]);
		folder[i].file = i ? "south/fleet.yaml" : "north/fleet.yaml";
	}
	f.fleet.folder = folder;
	f.fleet.folder_count = COUNT(folder);
}

static struct pm_site_summary *put(const char *code, uint32_t number, const char *due)
{
	fleet_job(&f, code, "crew 1")->job.due = word(due);
	struct pm_site_summary *site = fleet_add_job(&f);
	site->folder = number;
	return site;
}

static void set_deadline(struct pm_fleet_options *options, int64_t days)
{
	options->has_deadline = true;
	options->deadline_day = TODAY + days;
}

/* --- each folder's own --- */

static void days(void **state)
{
	(void)state;
	static const struct { uint32_t folder; const char *due; bool practice, known, own; int64_t slack; } rows[] = {
		{ 0, NULL, false, false, false, 0 },
		{ 0, "2026-01-05", false, true, true, 4 },
		{ 1, NULL, false, true, false, 10 },
		{ 1, "2026-01-05", false, true, true, 4 },
		{ 1, "2026-01-11", false, true, true, 10 },     /* the same day */
		{ 1, "2026-01-12", false, true, false, 10 },
		{ 2, NULL, false, true, false, -1 },
		{ 2, "2026-01-05", false, true, false, -1 },
		{ 1, NULL, true, false, false, 0 },
		{ 1, "2026-01-20", true, true, true, 19 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		int64_t day = 0, slack = 99;
		bool own = !rows[i].own;
		begin();
		set_deadline(&folder[0], 10);
		set_deadline(&folder[1], -1);
		put("TB-01", rows[i].folder, rows[i].due)->practice = rows[i].practice;
		struct pm_when now = pm_when_utc(FIXTURE_NOW);
		if (pm_fleet_slack(&f.fleet, 0, now, &slack) != rows[i].known || (rows[i].known && slack != rows[i].slack))
			fail_msg("row %zu: %lld", i, (long long)slack);
		assert_int_equal(pm_fleet_until(&f.fleet, 0, &day, &own), rows[i].known);
		if (rows[i].known) {
			assert_int_equal(day, TODAY + rows[i].slack);
			assert_int_equal(own, rows[i].own);
		}
		fleet_forget(&f);
	}
}

static void deadlines(void **state)
{
	(void)state;
	int64_t first, last;
	begin();
	/* without a site the fleet's own counts, and no folder's */
	set_deadline(&folder[1], 3);
	assert_false(pm_fleet_deadlines(&f.fleet, &first, &last));
	set_deadline(&f.fleet.options, 5);
	assert_true(pm_fleet_deadlines(&f.fleet, &first, &last));
	assert_int_equal(first, TODAY + 5);
	put("TB-01", 1, NULL);
	assert_false(pm_fleet_deadlines(&f.fleet, &first, &last));
	put("TB-02", 2, NULL);
	assert_true(pm_fleet_deadlines(&f.fleet, &first, &last));
	assert_true(first == TODAY + 3 && last == TODAY + 3);
	put("TB-03", 0, NULL);
	assert_true(pm_fleet_deadlines(&f.fleet, &first, &last));
	assert_true(first == TODAY + 3 && last == TODAY + 5);
	fleet_forget(&f);
}

/* One rule each: the folder's number holds for its sites, and for no other's. */
static void rules(void **state)
{
	(void)state;
	begin();
	for (uint32_t i = 0; i < 2; i++) {
		fleet_job(&f, i ? "TB-02" : "TB-01", NULL);
		fixture_reach(&f.job, REGISTER);
		fixture_say(&f.job, "desk/appointment", FIXTURE_WINDOW);
		fleet_add_job(&f)->folder = i + 1;
	}
	folder[0].stall_days = 2, folder[1].stall_days = 3;
	folder[0].soon_hours = 24, folder[1].soon_hours = 5 * 24;
	set_deadline(&folder[0], 2);
	set_deadline(&folder[1], 1);
	static const struct { int64_t now; enum pm_code code; size_t site; } rows[] = {
		{ FIXTURE_NOW + 2 * DAY + 1, PM_JOB_STALLED, 0 },
		{ FIXTURE_OPENS - 5 * DAY, PM_WINDOW_NEAR, 1 },
		{ FIXTURE_NOW + 2 * DAY, PM_JOB_OVERDUE, 1 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		fleet_check_at(&f, rows[i].now);
		assert_int_equal(fleet_codes(&f, rows[i].code), 1);
		assert_int_equal(fleet_finding(&f, rows[i].code)->site[0], rows[i].site);
	}
	fleet_forget(&f);
}

/* --- what serves all of them --- */

static void one_desk(void **state)
{
	(void)state;
	static const struct { int64_t daily[3]; int32_t minutes; size_t count; int64_t takes; } rows[] = {
		{ { 0, 0, 0 }, 0, 0, 0 }, { { 0, 2, 0 }, 0, 1, 2 }, { { 0, 2, 2 }, 0, 1, 2 },   /* said once */
		{ { 0, 3, 0 }, 0, 0, 0 }, { { 0, 3, 1 }, 0, 1, 1 }, { { 1, 3, 2 }, 0, 1, 1 },   /* the lowest */
		{ { 0, 2, 2 }, 60, 2, 2 },                                                     /* days that begin otherwise are others */
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		char takes[80];
		begin();
		for (uint32_t k = 0; k < 3; k++)
			fleet_booked(&f, k == 0 ? "TB-01" : k == 1 ? "TB-02" : "TB-03", NULL, FIXTURE_WINDOW)->folder = k;
		f.fleet.options.desk_daily = rows[i].daily[0];
		folder[0].desk_daily = rows[i].daily[1], folder[1].desk_daily = rows[i].daily[2];
		folder[1].desk_minutes = rows[i].minutes;
		fleet_check_at(&f, FIXTURE_NOW);
		if (fleet_codes(&f, PM_DESK_FULL) != rows[i].count)
			fail_msg("row %zu: %zu", i, fleet_codes(&f, PM_DESK_FULL));
		snprintf(takes, sizeof takes, "3 appointments on 2026-01-08, and the desk takes %d", (int)rows[i].takes);
		assert_true(!rows[i].count || strstr(fleet_finding(&f, PM_DESK_FULL)->message, takes));
		fleet_forget(&f);
	}
}

static void ways(void **state)
{
	(void)state;
	struct pm_travel north = { word("TB-01"), word("TB-02"), 61 }, south = { word("TB-02"), word("tb-01"), 90 };
	static const struct { bool north, south; size_t count; const char *takes; } rows[] = {
		{ false, false, 0, "" }, { true, false, 1, "takes 1 h 01 min" }, { false, true, 1, "takes 1 h 30 min" },
		{ true, true, 1, "takes 1 h 30 min" },   /* the longer holds, and is said once */
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		begin();
		fleet_booked(&f, "TB-01", "crew 1", "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z")->folder = 1;
		fleet_booked(&f, "TB-02", "crew 1", "2026-01-08T12:00:00Z/2026-01-08T14:00:00Z")->folder = 2;
		folder[0].travel = &north, folder[0].travel_count = rows[i].north;
		folder[1].travel = &south, folder[1].travel_count = rows[i].south;
		fleet_check_at(&f, FIXTURE_NOW);
		assert_int_equal(fleet_codes(&f, PM_APPOINTMENT_CLASH), rows[i].count);
		assert_true(!rows[i].count || strstr(fleet_finding(&f, PM_APPOINTMENT_CLASH)->message, rows[i].takes));
		fleet_forget(&f);
	}
}

/* A way to a code that no job has is told with its place. */
static void way_to_nowhere(void **state)
{
	(void)state;
	static const struct { const char *from, *to; bool partial; const char *message; unsigned line; } rows[] = {
		{ "TB-01", "tb-02 ", false, NULL, 0 },
		{ "TB-01", "TB-03", false, "north/fleet.yaml:8: the way from \"TB-01\" to \"TB-03\": no job that was read has the site code "
		  "\"TB-03\"", 8 },
		{ "TB-0\x1B", "TB-02", false, "north/fleet.yaml:7: the way from \"TB-0\\x1B\" to \"TB-02\": no job that was read has the "
		  "site code \"TB-0\\x1B\"", 7 },
		{ "A", "B", false, "north/fleet.yaml:7: the way from \"A\" to \"B\": no job that was read has the site code \"A\", nor \"B\"", 7 },
		{ "A", "B", true, NULL, 0 },   /* files of the folder that were not named may bear them */
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct pm_travel way = { { rows[i].from, 7, 11 }, { rows[i].to, 8, 11 }, 60 };
		begin();
		put("TB-01", 0, NULL);
		put("TB-02", 0, NULL)->practice = true;
		folder[0].travel = &way, folder[0].travel_count = 1, folder[0].partial = rows[i].partial;
		fleet_check_at(&f, FIXTURE_NOW);
		assert_int_equal(f.findings.count, rows[i].message != NULL);
		const struct pm_fleet_finding *told = fleet_finding(&f, PM_WAY_UNKNOWN);
		if (told) {
			assert_string_equal(told->message, rows[i].message);
			assert_string_equal(told->place.file, "north/fleet.yaml");
			assert_int_equal(told->place.line, rows[i].line);
			assert_int_equal(told->count, 0);
			assert_int_equal(told->severity, PM_NOTE);
			assert_null(pm_fleet_worst(&f.findings, 0));
		}
		fleet_forget(&f);
	}
	/* with no job that could be read, nothing can be said */
	struct pm_travel way = { word("A"), word("B"), 60 };
	begin();
	f.fleet.options.travel = &way, f.fleet.options.travel_count = 1;
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(f.findings.count, 0);
	fleet_forget(&f);
}

/* --- stopped and ready --- */

/* A stop finding across the fleet stops a site as one of its own does, done or not. */
static void stopped(void **state)
{
	(void)state;
	enum { ALONE, OWN, CLONED_A, CLONED_B, DONE, PRACTICE, SITES };
	static const struct { bool stopped, ready; } expected[SITES] = {
		[ALONE] = { false, true }, [OWN] = { true, false }, [CLONED_A] = { true, false }, [CLONED_B] = { true, false },
		[DONE] = { true, false }, [PRACTICE] = { false, true },
	};
	static const char *const codes[SITES] = { "TB-01", "TB-02", "TB-03", "TB-04", "TB-05", "TB-06" };
	struct pm_fleet_counts counts;
	begin();
	for (int i = 0; i < SITES; i++) {
		fleet_job(&f, codes[i], NULL)->job.practice = i == PRACTICE;
		if (i == DONE)
			fixture_reach(&f.job, FIXTURE_PHASES);
		else if (i == OWN)
			fixture_say(&f.job, "step/look", "damaged");
		else if (i != ALONE)
			fleet_address(&f, "port1", fixture_address(&f.job, 1));
		fleet_add_job(&f);
	}
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(fleet_codes(&f, PM_ADDRESS_ELSEWHERE), 1);
	for (size_t i = 0; i < SITES; i++)
		if (pm_fleet_stopped(&f.fleet, &f.findings, i) != expected[i].stopped ||
		    pm_fleet_ready(&f.fleet, &f.findings, i) != expected[i].ready)
			fail_msg("%s", codes[i]);
	pm_fleet_count(&f.fleet, &f.findings, &counts);
	assert_int_equal(counts.sites, 5);
	assert_int_equal(counts.stopped, 4);
	assert_int_equal(counts.ready, 1);
	assert_int_equal(counts.done, 1);
	/* before the sites were held against each other, each counts for itself */
	pm_fleet_count(&f.fleet, NULL, &counts);
	assert_int_equal(counts.stopped, 1);
	assert_int_equal(counts.ready, 3);
	pm_fleet_count(&f.fleet, &(struct pm_fleet_findings){ 0 }, &counts);
	assert_int_equal(counts.stopped, 1);
	fleet_forget(&f);
}

/* A site's worst is the first of its findings, and the findings come worst first. */
static void worst(void **state)
{
	(void)state;
	begin();
	for (size_t i = 0; i < 3; i++) {
		fleet_job(&f, i == 0 ? "TB-01" : i == 1 ? "TB-02" : "TB-03", "crew 1");
		fixture_say(&f.job, "desk/appointment", FIXTURE_WINDOW);
		if (i)
			fleet_address(&f, "port1", "00-00-5E-00-53-10");
		fleet_add_job(&f);
	}
	f.fleet.options.soon_hours = 0;
	fleet_check_at(&f, FIXTURE_NOW);
	for (size_t i = 0; i < f.fleet.count; i++) {
		const struct pm_fleet_finding *found = pm_fleet_worst(&f.findings, i);
		assert_non_null(found);
		assert_int_equal(found->code, i ? PM_ADDRESS_ELSEWHERE : PM_APPOINTMENT_CLASH);
	}
	fleet_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(days), cmocka_unit_test(deadlines), cmocka_unit_test(rules), cmocka_unit_test(one_desk),
		cmocka_unit_test(ways), cmocka_unit_test(way_to_nowhere), cmocka_unit_test(stopped), cmocka_unit_test(worst),
	};
	return cmocka_run_group_tests_name("folders", tests, NULL, NULL);
}
