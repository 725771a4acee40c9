/* The fleet's rules about windows, days and waiting; and how long many sites take. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <time.h>
#include <cmocka.h>

#include "fleet_fixture.h"

static struct fleet_fixture f;

#define DAY 86400
#define HOUR 3600

/* --- clashes --- */

static void clashes(void **state)
{
	(void)state;
	static const struct { const char *a, *b, *crew; size_t count; } rows[] = {
		{ "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "2026-01-08T10:00:00Z/2026-01-08T12:00:00Z", "crew north", 1 },
		{ "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "2026-01-08T11:00:00Z/2026-01-08T12:00:00Z", "crew north", 0 },   /* they touch */
		{ "2026-01-08T09:00:00Z/2026-01-08T11:00:01Z", "2026-01-08T11:00:00Z/2026-01-08T12:00:00Z", "crew north", 1 },
		{ "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "crew south", 0 },
		{ "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", " Crew North ", 1 },
		{ "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "2026-01-09T09:00:00Z/2026-01-09T11:00:00Z", "crew north", 0 },   /* next day */
		{ "2026-01-08T00:00:00Z/2026-01-10T00:00:00Z", "2026-01-09T09:00:00Z/2026-01-09T11:00:00Z", "crew north", 1 },   /* within */
		/* the same words, two hours apart; and other words for the same time */
		{ "2026-01-08T09:00:00+02:00/2026-01-08T11:00:00+02:00", "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "crew north", 0 },
		{ "2026-01-08T12:30:00+02:00/2026-01-08T13:00:00+02:00", "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "crew north", 1 },
		{ "2026-01-08T23:00:00-05:00/2026-01-09T01:00:00-05:00", "2026-01-09T05:59:59Z/2026-01-09T07:00:00Z", "crew north", 1 },
		{ "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z", NULL, 0 },
		/* over before now */
		{ "2026-01-01T07:00:00Z/2026-01-01T09:00:00Z", "2026-01-01T08:00:00Z/2026-01-01T10:00:00Z", "crew north", 0 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		fleet_init(&f);
		fleet_booked(&f, "TB-01", rows[i].crew ? "crew north" : NULL, rows[i].a);
		fleet_booked(&f, "TB-02", rows[i].crew, rows[i].b);
		fleet_check_at(&f, FIXTURE_NOW);
		if (fleet_codes(&f, PM_APPOINTMENT_CLASH) != rows[i].count)
			fail_msg("row %zu", i);
		const struct pm_fleet_finding *finding = fleet_finding(&f, PM_APPOINTMENT_CLASH);
		assert_true(!finding || (strstr(finding->message, "TB-01.yaml") && strstr(finding->message, "TB-02.yaml")));
		fleet_forget(&f);
	}
}

static void clash_practice(void **state)
{
	(void)state;
	fleet_init(&f);
	fleet_booked(&f, "TB-01", "crew north", FIXTURE_WINDOW);
	fleet_job(&f, "TB-02", "crew north")->job.practice = true;
	fixture_say(&f.job, "desk/appointment", FIXTURE_WINDOW);
	fleet_add_job(&f);
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(fleet_codes(&f, PM_APPOINTMENT_CLASH), 0);
	/* a window that was used binds nobody any more */
	fleet_job(&f, "TB-03", "crew north");
	fixture_reach(&f.job, FIXTURE_PHASES);
	assert_true(pm_site_done(fleet_add_job(&f)));
	fleet_check_at(&f, FIXTURE_OPENS);
	assert_int_equal(fleet_codes(&f, PM_APPOINTMENT_CLASH), 0);
	fleet_forget(&f);
}

/* Every window that overlaps another is named, against the one that ends last. */
static void clash_many(void **state)
{
	(void)state;
	fleet_init(&f);
	fleet_booked(&f, "TB-01", "c", "2026-01-08T08:00:00Z/2026-01-08T18:00:00Z");
	fleet_booked(&f, "TB-02", "c", "2026-01-08T09:00:00Z/2026-01-08T10:00:00Z");
	fleet_booked(&f, "TB-03", "c", "2026-01-08T17:00:00Z/2026-01-08T19:00:00Z");
	fleet_booked(&f, "TB-04", "c", "2026-01-08T18:30:00Z/2026-01-08T20:00:00Z");
	fleet_booked(&f, "TB-05", "c", "2026-01-08T20:00:00Z/2026-01-08T21:00:00Z");
	fleet_check_at(&f, FIXTURE_NOW);
	static const uint32_t pairs[][2] = { { 0, 1 }, { 0, 2 }, { 2, 3 } };
	assert_int_equal(f.findings.count, COUNT(pairs));
	for (size_t i = 0; i < COUNT(pairs); i++) {
		assert_int_equal(f.findings.item[i].site[0], pairs[i][0]);
		assert_int_equal(f.findings.item[i].site[1], pairs[i][1]);
	}
	assert_string_equal(f.findings.item[2].message,
		"c has TB-03.yaml (TB-03) until 2026-01-08T19:00:00Z and TB-04.yaml (TB-04) from 2026-01-08T18:30:00Z: "
		"they overlap by 30 min 00 s");
	fleet_forget(&f);
}

static void travel(void **state)
{
	(void)state;
	static const struct { const char *from, *to; int64_t minutes; size_t count; } rows[] = {
		{ "TB-01", "TB-02", 60, 0 },    /* an hour between them is just enough */
		{ "TB-01", "TB-02", 61, 1 }, { "TB-02", "tb-01", 61, 1 }, { "TB-01", "TB-03", 600, 0 }, { "TB-08", "TB-09", 600, 0 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct pm_travel way = { word(rows[i].from), word(rows[i].to), rows[i].minutes };
		fleet_init(&f);
		fleet_booked(&f, "TB-01", "crew north", "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z");
		fleet_booked(&f, "TB-02", "crew north", "2026-01-08T12:00:00Z/2026-01-08T14:00:00Z");
		fleet_booked(&f, "TB-03", "crew south", "2026-01-08T11:00:00Z/2026-01-08T14:00:00Z");
		f.fleet.options.travel = &way, f.fleet.options.travel_count = 1;
		fleet_check_at(&f, FIXTURE_NOW);
		assert_int_equal(fleet_codes(&f, PM_APPOINTMENT_CLASH), rows[i].count);
		if (rows[i].count)
			assert_string_equal(f.findings.item[0].message,
				"crew north has TB-01.yaml (TB-01) until 2026-01-08T11:00:00Z and TB-02.yaml (TB-02) from "
				"2026-01-08T12:00:00Z: 1 h 00 min between them, and the way takes 1 h 01 min");
		fleet_forget(&f);
	}
	/* an overlap is said once, whatever the way takes */
	struct pm_travel way = { word("TB-01"), word("TB-02"), 90 };
	fleet_init(&f);
	fleet_booked(&f, "TB-01", "crew north", "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z");
	fleet_booked(&f, "TB-02", "crew north", "2026-01-08T10:00:00Z/2026-01-08T14:00:00Z");
	f.fleet.options.travel = &way, f.fleet.options.travel_count = 1;
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(f.findings.count, 1);
	fleet_forget(&f);
}

/* --- the desk's day --- */

static void desk(void **state)
{
	(void)state;
	/* 22:30 UTC on the 8th is the 9th an hour and a half further east */
	static const struct { int64_t daily; int32_t minutes; int64_t now; size_t count; const char *day; } rows[] = {
		{ 3, 0, FIXTURE_NOW, 0, NULL },
		{ 2, 0, FIXTURE_NOW, 1, "2026-01-08" },
		{ 2, 60, FIXTURE_NOW, 1, "2026-01-08" },
		{ 2, 90, FIXTURE_NOW, 0, NULL },
		{ 1, 90, FIXTURE_NOW, 2, "2026-01-08" },
		{ 0, 0, FIXTURE_NOW, 0, NULL },
		{ 2, 0, FIXTURE_NOW + 7 * DAY + 14 * HOUR, 1, "2026-01-08" },       /* 23:00 of that day */
		{ 2, 0, FIXTURE_NOW + 7 * DAY + 15 * HOUR, 0, NULL },               /* it is over */
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		fleet_init(&f);
		fleet_booked(&f, "TB-01", NULL, "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z");
		fleet_booked(&f, "TB-02", NULL, "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z");
		fleet_booked(&f, "TB-03", NULL, "2026-01-08T22:30:00Z/2026-01-08T23:30:00Z");
		fleet_booked(&f, "TB-04", NULL, "2026-01-09T09:00:00Z/2026-01-09T11:00:00Z");
		fleet_job(&f, "TB-05", NULL)->job.practice = true;
		fixture_say(&f.job, "desk/appointment", FIXTURE_WINDOW);
		fleet_add_job(&f);
		f.fleet.options.desk_daily = rows[i].daily;
		f.fleet.options.desk_minutes = rows[i].minutes;
		f.fleet.options.soon_hours = 0;
		fleet_check_at(&f, rows[i].now);
		if (fleet_codes(&f, PM_DESK_FULL) != rows[i].count)
			fail_msg("row %zu: %zu", i, fleet_codes(&f, PM_DESK_FULL));
		const struct pm_fleet_finding *full = fleet_finding(&f, PM_DESK_FULL);
		if (full) {
			assert_non_null(strstr(full->message, rows[i].day));
			assert_non_null(strstr(full->message, "TB-02.yaml"));
			assert_int_equal(full->count, rows[i].daily + 1);
		}
		fleet_forget(&f);
	}
}

/* --- one site and the calendar --- */

static void stalled(void **state)
{
	(void)state;
	static const struct { int64_t days, now; bool done; size_t count; } rows[] = {
		{ 14, 14 * DAY, false, 0 }, { 14, 14 * DAY + 1, false, 1 }, { 14, 100 * DAY, true, 0 },
		{ 3, 3 * DAY + 1, false, 1 }, { 0, 100 * DAY, false, 0 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		fleet_init(&f);
		fleet_job(&f, "TB-01", NULL);
		fixture_reach(&f.job, rows[i].done ? FIXTURE_PHASES : MUSTER);
		fleet_add_job(&f);
		fleet_job(&f, "TB-02", NULL);   /* nothing was read yet: it can't be told */
		fleet_add_job(&f);
		f.fleet.options.stall_days = rows[i].days;
		fleet_check_at(&f, FIXTURE_NOW + rows[i].now);
		assert_int_equal(f.findings.count, rows[i].count);
		if (rows[i].count) {
			assert_int_equal(f.findings.item[0].code, PM_JOB_STALLED);
			assert_non_null(strstr(f.findings.item[0].message, "TB-01.yaml (TB-01): the last reading is "));
			assert_non_null(strstr(f.findings.item[0].message, "with the technician"));
		}
		fleet_forget(&f);
	}
}

static void near(void **state)
{
	(void)state;
	enum { NOT_READY, READY, STOPPED };
	static const struct { int what; int64_t hours, now; size_t count; } rows[] = {
		{ NOT_READY, 48, FIXTURE_OPENS - 48 * HOUR, 1 }, { NOT_READY, 48, FIXTURE_OPENS - 48 * HOUR - 1, 0 },
		{ NOT_READY, 2, FIXTURE_OPENS - 3 * HOUR, 0 },   { NOT_READY, 48, FIXTURE_ENDS - 1, 1 },
		{ NOT_READY, 48, FIXTURE_ENDS, 0 },              { NOT_READY, 0, FIXTURE_OPENS, 0 },
		{ READY, 48, FIXTURE_OPENS - HOUR, 0 },          { STOPPED, 48, FIXTURE_OPENS - HOUR, 1 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		fleet_init(&f);
		fleet_job(&f, "TB-01", NULL);
		fixture_reach(&f.job, rows[i].what == NOT_READY ? REGISTER : CUTOVER);
		if (rows[i].what == NOT_READY)
			fixture_say(&f.job, "desk/appointment", FIXTURE_WINDOW);
		if (rows[i].what == STOPPED)
			fixture_say(&f.job, "step/volts", "300");
		assert_int_equal(fleet_add_job(&f)->set, rows[i].what == READY);
		f.fleet.options.soon_hours = rows[i].hours;
		fleet_check_at(&f, rows[i].now);
		if (fleet_codes(&f, PM_WINDOW_NEAR) != rows[i].count)
			fail_msg("row %zu", i);
		if (rows[i].count)
			assert_non_null(strstr(fleet_finding(&f, PM_WINDOW_NEAR)->message, "TB-01.yaml (TB-01): the window "));
		fleet_forget(&f);
	}
}

static void due(void **state)
{
	(void)state;
	static const struct { const char *due, *deadline, *now; size_t count; } rows[] = {
		{ "2026-01-05", NULL, "2026-01-05T23:59:59Z", 0 }, { "2026-01-05", NULL, "2026-01-06T00:00:00Z", 1 },
		{ NULL, "2026-01-05", "2026-01-05T12:00:00Z", 0 },  { NULL, "2026-01-05", "2026-01-06T12:00:00Z", 1 },
		{ "2026-01-09", "2026-01-05", "2026-01-06T12:00:00Z", 0 }, { NULL, NULL, "2026-01-06T12:00:00Z", 0 },
		{ "soon", NULL, "2026-01-06T12:00:00Z", 0 },        /* the job's own check says that it can't be read */
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct pm_when now;
		struct pm_fault fault;
		fleet_init(&f);
		fleet_job(&f, "TB-01", NULL)->job.due = word(rows[i].due);
		fleet_add_job(&f);
		f.fleet.options.deadline = word(rows[i].deadline);
		assert_true(pm_fleet_options_settle(&f.fleet.options, &fault));
		assert_true(pm_when_read(rows[i].now, &now, NULL));
		fleet_check_at(&f, now.second);
		if (fleet_codes(&f, PM_JOB_OVERDUE) != rows[i].count)
			fail_msg("row %zu", i);
		fleet_forget(&f);
	}
}

static void options(void **state)
{
	(void)state;
	static const struct { const char *deadline, *offset, *from, *to, *back; bool good; int32_t minutes; } rows[] = {
		{ "2026-12-31", "+05:45", "TB-01", "TB-02", NULL, true, 345 }, { NULL, "-03:00", "TB-01", "TB-02", NULL, true, -180 },
		{ NULL, "Z", "TB-01", "TB-02", NULL, true, 0 },        { NULL, NULL, "TB-01", "TB-02", NULL, true, 0 },
		{ "2026-02-29", NULL, "TB-01", "TB-02", NULL, false, 0 }, { "2026-12-31T00:00:00Z", NULL, "TB-01", "TB-02", NULL, false, 0 },
		{ NULL, "+5", "TB-01", "TB-02", NULL, false, 0 },      { NULL, ".5Z", "TB-01", "TB-02", NULL, false, 0 },
		{ NULL, NULL, "TB-01", "tb-01", NULL, false, 0 },      { NULL, NULL, "TB-01", "TB-02", "TB-01", false, 0 },
		{ NULL, NULL, "TB-01", "TB-02", "TB-03", true, 0 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct pm_fleet_options o;
		struct pm_fault fault = { 0 };
		struct pm_travel ways[2] = { { word(rows[i].from), word(rows[i].to), 5 }, { word("TB-02"), word(rows[i].back), 5 } };
		pm_fleet_defaults(&o);
		o.file = "fleet.yaml", o.deadline = word(rows[i].deadline), o.desk_offset = word(rows[i].offset);
		o.travel = ways, o.travel_count = rows[i].back ? 2 : 1;
		if (pm_fleet_options_settle(&o, &fault) != rows[i].good)
			fail_msg("row %zu: %s", i, fault.message);
		if (rows[i].good)
			assert_int_equal(o.desk_minutes, rows[i].minutes);
		else
			assert_true(fault.kind == PM_FAULT_VALUE && fault.line == 1 && fault.remedy[0]);
	}
}

static void days(void **state)
{
	(void)state;
	/* counted with date -u -d */
	static const struct { const char *text; int64_t day; } good[] = {
		{ "1970-01-01", 0 }, { "1969-12-31", -1 }, { "2026-01-31", 20484 }, { "2024-02-29", 19782 }, { "9999-12-31", 2932896 },
	};
	static const char *const bad[] = { "", "2026-1-31", "2026-02-29", "2026-01-31 ", "31.01.2026", "2026-01-3x" };
	char out[PM_WHEN_TEXT];
	int64_t day;
	for (size_t i = 0; i < COUNT(good); i++) {
		assert_true(pm_day_read(good[i].text, &day, NULL));
		assert_int_equal(day, good[i].day);
		assert_string_equal(pm_day_write(day, out), good[i].text);
	}
	for (size_t i = 0; i < COUNT(bad); i++)
		assert_false(pm_day_read(bad[i], &day, NULL));
	assert_false(pm_day_read(NULL, &day, NULL));
	assert_string_equal(pm_day_write(2932897, out), "-");
	assert_string_equal(pm_day_write(INT64_MAX, out), "-");
	assert_string_equal(pm_day_write(INT64_MIN, out), "-");
}

/* --- ten thousand sites --- */

#define MANY 10000

static void many(void **state)
{
	(void)state;
	static struct pm_site_summary sites[MANY];
	fleet_init(&f);
	fleet_job(&f, "TB-0000", "crew north");
	fixture_reach(&f.job, REGISTER);
	f.job.job.attached = &(struct pm_attached){ word("camera"), word("mast"), word(NULL), word("00-00-5E-00-53-F0") };
	f.job.job.attached_count = 1;
	size_t before = f.arena.bytes;
	const struct pm_site_summary *one = fleet_add_job(&f);
	size_t each = f.arena.bytes - before + sizeof *one;
	assert_int_equal(one->address_count, 14);
	/* the first one's shape, with values of their own */
	for (uint32_t i = 0; i < MANY; i++) {
		sites[i] = *one;
		sites[i].file = sites[i].code = pm_say(&f.arena, "TB-%05u", (unsigned)i);
		sites[i].code_key = sites[i].body = i + 1;
		sites[i].serials = pm_arena_array(&f.arena, one->serial_count, sizeof *one->serials);
		sites[i].addresses = pm_arena_array(&f.arena, 14, sizeof *one->addresses);
		for (size_t k = 0; k < one->serial_count; k++)
			sites[i].serials[k] = (struct pm_serial_summary){ 1000000 + i, 2000000 + 2 * i + k, "router", sites[i].code };
		for (size_t k = 0; k < 14; k++)
			sites[i].addresses[k] = (struct pm_address_summary){ 0x00005E000000u + i * 16 + k, "port", NULL };
	}
	sites[9876].addresses[5].key = sites[123].addresses[7].key;
	f.fleet = (struct pm_fleet){ .site = sites, .count = MANY, .options = f.fleet.options };
	struct timespec from, to;
	clock_gettime(CLOCK_MONOTONIC, &from);
	fleet_check_at(&f, FIXTURE_NOW);
	clock_gettime(CLOCK_MONOTONIC, &to);
	printf("# figure %d sites of 14 addresses were held against each other in %.0f ms\n", MANY,
	       (double)(to.tv_sec - from.tv_sec) * 1e3 + (double)(to.tv_nsec - from.tv_nsec) / 1e6);
	printf("# figure a mustered site of 14 addresses is summarised in %zu bytes\n", each);
	assert_true(each < 8192);
	assert_int_equal(f.findings.count, 1);
	assert_int_equal(f.findings.item[0].site[0], 123);
	assert_int_equal(f.findings.item[0].site[1], 9876);
	assert_string_equal(f.findings.item[0].message,
		"00-00-5E-00-07-B7 stands in TB-00123 (TB-00123) at port and TB-09876 (TB-09876) at port");
	fleet_forget(&f);
}

/* The worst that a folder can hold: every file a copy of one. */
static void all_alike(void **state)
{
	(void)state;
	static struct pm_site_summary sites[MANY];
	fleet_init(&f);
	fleet_job(&f, "TB-0000", "crew north");
	fixture_reach(&f.job, CUTOVER);
	const struct pm_site_summary *one = fleet_add_job(&f);
	for (uint32_t i = 0; i < MANY; i++) {
		sites[i] = *one;
		sites[i].code_key = i + 1;
	}
	f.fleet = (struct pm_fleet){ .site = sites, .count = MANY, .options = f.fleet.options };
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(fleet_codes(&f, PM_JOB_CLONED), 1);
	assert_int_equal(fleet_codes(&f, PM_ADDRESS_ELSEWHERE), 1);
	assert_int_equal(fleet_codes(&f, PM_APPOINTMENT_CLASH), MANY - 1);
	assert_int_equal(fleet_finding(&f, PM_ADDRESS_ELSEWHERE)->count, MANY);
	assert_non_null(strstr(fleet_finding(&f, PM_ADDRESS_ELSEWHERE)->message, "and 12 more stand in "));
	assert_non_null(strstr(fleet_finding(&f, PM_ADDRESS_ELSEWHERE)->message, " and 9996 more"));
	fleet_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(clashes), cmocka_unit_test(clash_practice), cmocka_unit_test(clash_many), cmocka_unit_test(travel),
		cmocka_unit_test(desk), cmocka_unit_test(stalled), cmocka_unit_test(near), cmocka_unit_test(due),
		cmocka_unit_test(options), cmocka_unit_test(days), cmocka_unit_test(many), cmocka_unit_test(all_alike),
	};
	return cmocka_run_group_tests_name("fleet and time", tests, NULL, NULL);
}
