/* The appointment on the clocks of the site: what is typed, what is recorded, what is
 * refused, and what the screens show of it. */
#include "portmuster/fact.h"
#include "walk_course.h"
#include "zone_bytes.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define AREA "Basin/Orsketh"

static struct walk_fixture f;
static char zones[256];
static struct pm_arena arena;

/* A session that has nothing but the zone, or none when there is no footer. */
static struct session at_place(const char *footer, bool named)
{
	struct session s = { 0 };
	struct zone_bytes z;
	struct pm_fault fault;
	s.job.job.zone.text = named ? AREA : NULL;
	s.zone.look.why = "no such time zone";
	if (footer) {
		struct pm_zone *zone = pm_arena_alloc(&arena, sizeof *zone);
		zone_put_footer(&z, footer);
		assert_true(pm_zone_read(zone, AREA, z.byte, z.length, &arena, &fault));
		s.zone.look = (struct pm_zone_look){ .standing = PM_LOOK_FOUND, .zone = zone };
	}
	return s;
}

static void typed_windows(void **state)
{
	(void)state;
	static const struct { const char *footer, *typed, *window; } cases[] = {
		/* with an offset, as ever */
		{ NULL, "2026-03-09 09:00 +01:00 to 11:00", "2026-03-09T09:00:00+01:00/2026-03-09T11:00:00+01:00" },
		{ NULL, "2026-03-09 09:00 +01:00 - 11:00", "2026-03-09T09:00:00+01:00/2026-03-09T11:00:00+01:00" },
		{ NULL, "2026-03-09 09:00 Z 11:00:30", "2026-03-09T09:00:00Z/2026-03-09T11:00:30Z" },
		{ NULL, " 2026-03-09  09:00\t-05:00  to  11:00 ", "2026-03-09T09:00:00-05:00/2026-03-09T11:00:00-05:00" },
		{ NULL, "2026-03-09T09:00:00+01:00/2026-03-09T11:00:00+02:00", "2026-03-09T09:00:00+01:00/2026-03-09T11:00:00+02:00" },
		{ NULL, "2026-03-09t09:00:00z/2026-03-09t11:00:00.5z", "2026-03-09T09:00:00Z/2026-03-09T11:00:00Z" },
		{ NULL, "2026-03-09 22:00 +01:00 to 2026-03-10 01:00", "2026-03-09T22:00:00+01:00/2026-03-10T01:00:00+01:00" },
		{ NULL, "2026-03-09 09:00 -00:00 to 11:00", "2026-03-09T09:00:00-00:00/2026-03-09T11:00:00-00:00" },
		/* on the site's clocks: the check values first */
		{ ZONE_0545, "2026-01-15 09:00 to 11:00", "2026-01-15T09:00:00+05:45/2026-01-15T11:00:00+05:45" },
		{ ZONE_1245, "2026-01-15 09:00 to 11:00", "2026-01-15T09:00:00+13:45/2026-01-15T11:00:00+13:45" },
		{ ZONE_CET, "2026-10-13 09:00 - 11:00", "2026-10-13T09:00:00+02:00/2026-10-13T11:00:00+02:00" },
		{ ZONE_CET, "2026-10-26 09:00/11:00", "2026-10-26T09:00:00+01:00/2026-10-26T11:00:00+01:00" },
		{ ZONE_CET, "2026-10-26T09:00/2026-10-27T11:00", "2026-10-26T09:00:00+01:00/2026-10-27T11:00:00+01:00" },
		{ "UTC0", "2026-10-13 09:00 to 11:00", "2026-10-13T09:00:00Z/2026-10-13T11:00:00Z" },
		/* over a change of the clocks */
		{ ZONE_EST_EDT, "2026-03-08 01:00 to 03:30", "2026-03-08T01:00:00-05:00/2026-03-08T03:30:00-04:00" },
		{ ZONE_EST_EDT, "2026-03-08 01:00 -05:00 to 03:30", "2026-03-08T01:00:00-05:00/2026-03-08T03:30:00-04:00" },
		{ ZONE_EST_EDT, "2026-11-01 00:30 to 02:30", "2026-11-01T00:30:00-04:00/2026-11-01T02:30:00-05:00" },
		/* which of two hours: said at the start, at the end, or by the start's */
		{ ZONE_EST_EDT, "2026-11-01 01:30 -04:00 to 02:30", "2026-11-01T01:30:00-04:00/2026-11-01T02:30:00-05:00" },
		{ ZONE_EST_EDT, "2026-11-01 01:30 -05:00 to 02:30", "2026-11-01T01:30:00-05:00/2026-11-01T02:30:00-05:00" },
		{ ZONE_EST_EDT, "2026-11-01 00:30 to 01:30 -05:00", "2026-11-01T00:30:00-04:00/2026-11-01T01:30:00-05:00" },
		{ ZONE_EST_EDT, "2026-11-01 01:10 -05:00 to 01:50", "2026-11-01T01:10:00-05:00/2026-11-01T01:50:00-05:00" },
		/* in another place's offset both ends are */
		{ ZONE_EST_EDT, "2026-03-08 02:30 +01:00 to 04:30", "2026-03-08T02:30:00+01:00/2026-03-08T04:30:00+01:00" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct session s = at_place(cases[i].footer, cases[i].footer);
		char window[80], reason[400];
		struct pm_text why;
		pm_text_fixed(&why, reason, sizeof reason);
		if (!walk_window(&s, cases[i].typed, window, &why))
			fail_msg("%s: %s", cases[i].typed, reason);
		assert_string_equal(window, cases[i].window);
		assert_string_equal(reason, "");
	}
}

static void windows_not_taken(void **state)
{
	(void)state;
	static const char form[] = "; write it like 2026-03-09 09:00";
	static const struct { const char *footer; bool named; const char *typed, *why; } cases[] = {
		{ NULL, false, "tomorrow at nine", "a window is a date, a time, an offset, and the end" },
		{ ZONE_CET, true, "tomorrow at nine", "a window is a date, a time and the end" },
		{ NULL, false, "2026-03-09 09:00 to 11:00", "an offset belongs behind the time" },
		{ NULL, true, "2026-03-09 09:00 to 11:00", "the site's time zone is not known (no such time zone): an offset belongs behind the time" },
		{ NULL, true, "2026-03-09 09:00 to 11:00 +01:00", "an offset belongs behind the time" },
		/* an end that could be taken for an offset is no end */
		{ ZONE_CET, true, "2026-03-09 09:00-11:00", "a window is" }, { ZONE_CET, true, "2026-03-09 09:00 -11:00", "a window is" },
		{ ZONE_CET, true, "2026-03-09 09:00", "a window is" }, { ZONE_CET, true, "2026-03-09 09:00 to", "a window is" },
		{ ZONE_CET, true, "09:00 to 11:00", "a window is" }, { ZONE_CET, true, "2026-03-09 9:00 to 11:00", "a window is" },
		{ ZONE_CET, true, "2026-03-09 09:00 to 11:00 x", "a window is" }, { ZONE_CET, true, "2026-03-09 09:00 to 11:00 CET", "a window is" },
		{ ZONE_CET, true, "", "a window is" }, { ZONE_CET, true, "2026-02-29 09:00 to 11:00", "no such day in that month" },
		{ ZONE_CET, true, "2026-03-09 25:00 to 26:00", "no such time of day" }, { ZONE_CET, true, "2026-03-09 09:00 +24:00 to 11:00", "an offset beyond 23:59" },
		{ ZONE_CET, true, "2026-03-09 11:00 to 09:00", "the window ends before it starts" },
		{ ZONE_CET, true, "2026-03-09 23:00 to 02:00", "over midnight the end has its date too, like 2026-03-09 23:00 to 2026-03-10 02:00" },
		{ NULL, false, "2026-03-09 11:00 Z to 09:00", "like 2026-03-09 23:00 +01:00 to 2026-03-10 02:00" },
		/* the check value: RFC 5545 section 3.3.5 makes 07:30Z of it */
		{ ZONE_EST_EDT, true, "2026-03-08 02:30 to 05:00", "2026-03-08 02:30 does not come on the clocks of " AREA ", which go from 02:00 to 03:00; "
		  "probably meant is 2026-03-08 03:30 -04:00" },
		{ ZONE_EST_EDT, true, "2026-03-08 01:30 to 02:30", "2026-03-08 02:30 does not come" },
		{ ZONE_EST_EDT, true, "2026-11-01 01:30 to 03:00", "2026-11-01 01:30 comes twice on the clocks of " AREA ": write -04:00 behind it for the "
		  "earlier, -05:00 for the later" },
		{ ZONE_EST_EDT, true, "2026-11-01 00:30 to 01:30", "2026-11-01 01:30 comes twice" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct session s = at_place(cases[i].footer, cases[i].named);
		char window[80], reason[400];
		struct pm_text why;
		pm_text_fixed(&why, reason, sizeof reason);
		if (walk_window(&s, cases[i].typed, window, &why))
			fail_msg("%s was taken: %s", cases[i].typed, window);
		if (!strstr(reason, cases[i].why))
			fail_msg("%s: %s", cases[i].typed, reason);
		/* what the clocks do is no fault of the form */
		if (!strstr(reason, "ends before"))
			assert_int_equal(strstr(reason, form) == NULL, strstr(reason, "the clocks of") != NULL);
	}
}

/* --- in the wizard --- */

static void put_zone(void)
{
	struct zone_bytes z;
	char path[320];
	zone_put_footer(&z, ZONE_CET);
	snprintf(path, sizeof path, "%s/Basin", zones);
	assert_int_equal(mkdir(path, 0700), 0);
	snprintf(path, sizeof path, "%s/" AREA, zones);
	assert_true(scratch_write(path, (const char *)z.byte, z.length));
	zone_put_footer(&z, "UTC0");
	snprintf(path, sizeof path, "%s/UTC", zones);
	assert_true(scratch_write(path, (const char *)z.byte, z.length));
	setenv("TZDIR", zones, 1);
}

/* The practice site, moved to another zone. */
static void move_to(const char *zone)
{
	size_t length = 0;
	char *text = scratch_read(f.job, &length), *at = strstr(text, "\"Etc/UTC\""), moved[8192];
	assert_non_null(at);
	int written = snprintf(moved, sizeof moved, "%.*s\"%s\"%s", (int)(at - text), text, zone, at + strlen("\"Etc/UTC\""));
	assert_true(written > 0 && (size_t)written < sizeof moved);
	assert_true(scratch_write(f.job, moved, (size_t)written));
	free(text);
	walk_reopen(&f);
	walk_key(&f, KEYS_ENTER);
}

static void to_booking(void)
{
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	course_say_noted(&f, "today");
	walk_answer(&f, "tech 1 and the site electrician");
	walk_answer(&f, "early shift");
	course_say_yes(&f, 1);
	assert_at(&f, "appointment");
}

static const char *booked(void)
{
	const struct pm_reading *last = pm_fact_last(&f.session.job.job, "desk/appointment");
	return last ? last->value.text : "nothing";
}

static void book_on_the_clocks(void **state)
{
	(void)state;
	move_to(AREA);
	to_booking();
	assert_shows(&f, "like 2026-03-09 09:00 to 11:00 in " AREA);
	walk_type(&f, "2026-09-14 12:00 to 14:00");
	assert_shows(&f, "2026-09-14 12:00 to 14:00 +02:00 CEST, " AREA " (10:00 to 12:00 UTC)");
	walk_key(&f, KEYS_ENTER);
	assert_string_equal(booked(), "2026-09-14T12:00:00+02:00/2026-09-14T14:00:00+02:00");
	course_say_yes(&f, 1);
	assert_at(&f, "go");
	walk_answer(&f, "a");
	assert_shows(&f, "the window opens at 2026-09-14 12:00 +02:00 CEST,");
	walk_wait(&f, 3 * 3600);
	assert_shows(&f, "left, until 2026-09-14 14:00 +02:00");
	/* what was recorded is shown so too */
	walk_to(&f, "appointment");
	assert_shows(&f, "recorded: 2026-09-14 12:00 to 14:00 +02:00 CEST");
}

static void hours_that_are_asked_again(void **state)
{
	(void)state;
	move_to(AREA);
	to_booking();
	walk_answer(&f, "2027-03-28 02:30 to 04:00");
	assert_shows(&f, "probably meant is 2027-03-28 03:30 +02:00");
	assert_string_equal(booked(), "nothing");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "2026-10-25 02:30 to 04:00");
	assert_shows(&f, "comes twice");
	assert_string_equal(booked(), "nothing");
	walk_ctrl(&f, 'u');
	/* an offset of summer for a day in winter is asked about once */
	walk_answer(&f, "2026-10-26 09:00 +02:00 to 11:00");
	assert_shows(&f, "the clocks of " AREA " have +01:00 then");
	assert_string_equal(booked(), "nothing");
	walk_key(&f, KEYS_ENTER);
	assert_string_equal(booked(), "2026-10-26T09:00:00+02:00/2026-10-26T11:00:00+02:00");
	/* and stays a finding */
	bool found = false;
	for (size_t i = 0; i < f.session.result.findings.count; i++)
		found = found || f.session.result.findings.item[i].code == PM_OFFSET_UNUSUAL;
	assert_true(found);
}

static void a_zone_that_is_none(void **state)
{
	(void)state;
	move_to("Basin/Orskteh");
	to_booking();
	assert_shows(&f, "like 2026-03-09 09:00 +01:00 to 11:00");
	walk_answer(&f, "2026-09-14 12:00 to 14:00");
	assert_shows(&f, "the site's time zone is not known (no such time zone)");
	assert_string_equal(booked(), "nothing");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "2026-09-14 12:00 +02:00 to 14:00");
	assert_string_equal(booked(), "2026-09-14T12:00:00+02:00/2026-09-14T14:00:00+02:00");
	walk_to(&f, "appointment");
	assert_shows(&f, "recorded: 2026-09-14T12:00:00+02:00 to 2026-09-14T14:00:00+02:00");
}

/* The lead corrects the zone while the wizard is open: it is looked up anew. */
static void a_zone_that_is_corrected(void **state)
{
	(void)state;
	struct pm_fault fault;
	size_t length = 0;
	assert_int_equal(f.session.zone.look.standing, PM_LOOK_UNKNOWN);   /* Etc/UTC is not in this folder */
	char *text = scratch_read(f.job, &length), *at = strstr(text, "Etc/UTC");
	assert_non_null(at);
	memcpy(at, "UTC\"   ", 7);
	char *rest = strchr(at + 7, '"');
	*rest = ' ';
	assert_true(scratch_write(f.job, text, length));
	free(text);
	assert_true(session_reload(&f.session, &fault));
	assert_int_equal(f.session.zone.look.standing, PM_LOOK_FOUND);
	assert_string_equal(f.session.zone.look.zone->name, "UTC");
}

static int set_up(void **state)
{
	(void)state;
	pm_arena_init(&arena);
	if (!scratch_make(zones, sizeof zones))
		return 1;
	put_zone();
	walk_start(&f);
	walk_key(&f, KEYS_ENTER);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	walk_end(&f);
	scratch_remove(zones);
	pm_arena_free(&arena);
	return 0;
}

int main(void)
{
#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
	const struct CMUnitTest tests[] = {
		CASE(typed_windows), CASE(windows_not_taken), CASE(book_on_the_clocks), CASE(hours_that_are_asked_again),
		CASE(a_zone_that_is_none), CASE(a_zone_that_is_corrected),
	};
	return cmocka_run_group_tests_name("appointments by the site's clocks", tests, NULL, NULL);
}
