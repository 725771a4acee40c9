/* Times in words, and what a check makes of the site's time zone: appointments in an
 * unusual offset, and windows in the words of gates. The arena is compiled in with a malloc that can fail. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static size_t asked, fail_at;

static void *counting_malloc(size_t size)
{
	return ++asked == fail_at ? NULL : malloc(size);
}

#define malloc counting_malloc
#include "core/arena.c"
#undef malloc

#include "fixture.h"
#include "zone_bytes.h"

#define AREA "Area/Place"

struct place {
	struct pm_arena arena;
	struct pm_zone zone;
	struct pm_zone_look look;
};

static void place_init(struct place *p, const char *footer)
{
	struct zone_bytes z;
	struct pm_fault fault;
	zone_put_footer(&z, footer);
	pm_arena_init(&p->arena);
	assert_true(pm_zone_read(&p->zone, AREA, z.byte, z.length, &p->arena, &fault));
	p->look = (struct pm_zone_look){ .standing = PM_LOOK_FOUND, .zone = &p->zone };
}

/* Times and windows in words. */
static void test_said(void **state)
{
	(void)state;
	static const struct { const char *footer, *from, *until, *said; } cases[] = {
		{ NULL, "2026-10-13T09:00:00+02:00", "2026-10-13T11:00:00+02:00", "2026-10-13T09:00:00+02:00 to 2026-10-13T11:00:00+02:00" },
		{ ZONE_CET, "2026-10-13T09:00:00+02:00", "2026-10-13T11:00:00+02:00",
		  "2026-10-13 09:00 to 11:00 +02:00 CEST, " AREA " (07:00 to 09:00 UTC)" },
		{ ZONE_CET, "2026-10-13T07:00:00Z", "2026-10-13T09:00:00Z",
		  "2026-10-13 09:00 to 11:00 +02:00 CEST, " AREA " (07:00 to 09:00 UTC)" },
		{ ZONE_CET, "2026-10-13T09:00:00+01:00", "2026-10-13T11:00:00+01:00",
		  "2026-10-13 10:00 to 12:00 +02:00 CEST, " AREA " (written 09:00 to 11:00 +01:00)" },
		{ ZONE_CET, "2026-10-13T09:00:00+01:00", "2026-10-13T11:00:00+02:00",
		  "2026-10-13 10:00 to 11:00 +02:00 CEST, " AREA " (written 09:00 +01:00 to 11:00 +02:00)" },
		{ ZONE_0545, "2026-01-15T03:15:00Z", NULL, "2026-01-15 09:00 +05:45, " AREA " (03:15 UTC)" },
		{ ZONE_1245, "2026-01-14T19:15:00Z", "2026-01-14T21:15:30Z",
		  "2026-01-15 09:00 to 11:00:30 +13:45, " AREA " (2026-01-14 19:15 to 21:15:30 UTC)" },
		{ ZONE_EST_EDT, "2026-11-01T00:30:00-04:00", "2026-11-01T01:30:00-05:00",
		  "2026-11-01 00:30 -04:00 EDT to 01:30 -05:00 EST, " AREA " (04:30 to 06:30 UTC)" },
		{ ZONE_EST_EDT, "2026-10-13T22:00:00-04:00", "2026-10-14T01:00:00-04:00",
		  "2026-10-13 22:00 to 2026-10-14 01:00 -04:00 EDT, " AREA " (2026-10-14 02:00 to 05:00 UTC)" },
		{ ZONE_IST_GMT, "2026-12-01T09:00:00Z", NULL, "2026-12-01 09:00 +00:00 GMT, " AREA },
		{ "UTC0", "2026-12-01T09:00:00Z", NULL, "2026-12-01T09:00:00Z" },
		{ "UTC0", "2026-12-01T09:00:00+01:00", NULL, "2026-12-01 08:00 UTC, " AREA " (written 09:00 +01:00)" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct place p = { 0 };
		struct pm_when from, until;
		char said[200];
		struct pm_text text;
		pm_text_fixed(&text, said, sizeof said);
		if (cases[i].footer)
			place_init(&p, cases[i].footer);
		assert_true(pm_when_read(cases[i].from, &from, NULL));
		if (cases[i].until) {
			assert_true(pm_when_read(cases[i].until, &until, NULL));
			pm_zone_say_window(&text, cases[i].footer ? &p.zone : NULL, from, until);
		} else {
			pm_zone_say(&text, &p.zone, from);
		}
		assert_string_equal(said, cases[i].said);
		pm_arena_free(&p.arena);
	}
}

/* A job whose appointment is booked, at that place. */
static void book(struct fixture *f, struct place *p, const char *footer, const char *window)
{
	fixture_init(f);
	fixture_reach(f, BOOK);
	f->job.zone = word(AREA);
	fixture_say(f, "desk/appointment", window);
	fixture_say(f, "step/told", "whole");
	if (footer) {
		place_init(p, footer);
		f->the_case.zone = &p->look;
	}
}

static void leave(struct fixture *f, struct place *p)
{
	fixture_forget(f);
	pm_arena_free(&p->arena);
}

static void test_offsets(void **state)
{
	(void)state;
	enum { NOTHING = -1 };
	static const struct { const char *footer, *window; int severity; const char *message, *suggestion; } cases[] = {
		{ ZONE_CET, "2026-10-13T09:00:00+02:00/2026-10-13T11:00:00+02:00", NOTHING, NULL, NULL },
		{ ZONE_CET, "2026-10-26T09:00:00+01:00/2026-10-26T11:00:00+01:00", NOTHING, NULL, NULL },
		/* the offset of the day it was booked on, for a day behind the change of the clocks */
		{ ZONE_CET, "2026-10-26T09:00:00+02:00/2026-10-26T11:00:00+02:00", PM_WARN,
		  "2026-10-26 08:00 to 10:00 +01:00 CET, " AREA " (written 09:00 to 11:00 +02:00)",
		  "2026-10-26T09:00:00+01:00/2026-10-26T11:00:00+01:00" },
		{ ZONE_EST_EDT, "2026-03-09T09:00:00-05:00/2026-03-09T11:00:00-05:00", PM_WARN, NULL,
		  "2026-03-09T09:00:00-04:00/2026-03-09T11:00:00-04:00" },
		/* over the change: one end is right */
		{ ZONE_EST_EDT, "2026-11-01T00:30:00-04:00/2026-11-01T02:30:00-04:00", PM_WARN,
		  "written with -04:00 where the clocks of " AREA " have -05:00",
		  "2026-11-01T00:30:00-04:00/2026-11-01T02:30:00-05:00" },
		{ ZONE_EST_EDT, "2026-11-01T00:30:00-04:00/2026-11-01T02:30:00-05:00", NOTHING, NULL, NULL },
		/* an hour that the clocks pass over: the rule of RFC 5545 section 3.3.5 */
		{ ZONE_EST_EDT, "2026-03-08T02:30:00-04:00/2026-03-08T05:00:00-04:00", PM_WARN, NULL,
		  "2026-03-08T03:30:00-04:00/2026-03-08T05:00:00-04:00" },
		/* another place's: a note, and the same instants on the site's clocks */
		{ ZONE_CET, "2026-10-13T12:30:00+05:30/2026-10-13T14:30:00+05:30", PM_NOTE,
		  "2026-10-13 09:00 to 11:00 +02:00 CEST, " AREA " (written 12:30 to 14:30 +05:30)",
		  "2026-10-13T09:00:00+02:00/2026-10-13T11:00:00+02:00" },
		{ ZONE_0545, "2026-01-15T09:00:00+05:30/2026-01-15T11:00:00+05:30", PM_NOTE, NULL,
		  "2026-01-15T09:15:00+05:45/2026-01-15T11:15:00+05:45" },
		{ ZONE_0545, "2026-01-15T09:00:00+05:45/2026-01-15T11:00:00+05:45", NOTHING, NULL, NULL },
		/* UTC says of no place what its clocks show, unless it is the winter time there */
		{ ZONE_CET, "2026-10-13T07:00:00Z/2026-10-13T09:00:00Z", NOTHING, NULL, NULL },
		{ ZONE_IST_GMT, "2026-07-13T09:00:00Z/2026-07-13T11:00:00Z", PM_WARN, NULL,
		  "2026-07-13T09:00:00+01:00/2026-07-13T11:00:00+01:00" },
		{ ZONE_IST_GMT, "2026-07-13T09:00:00-00:00/2026-07-13T11:00:00-00:00", NOTHING, NULL, NULL },
		/* written in two offsets, so that the same hours would end before they begin */
		{ ZONE_EST_EDT, "2026-07-13T09:00:00-04:00/2026-07-13T08:30:00-05:00", PM_WARN, NULL, NULL },
		{ ZONE_CET, "soon", NOTHING, NULL, NULL },
		/* at the ends of what a time can say */
		{ ZONE_1245, "0000-01-01T00:00:00Z/9999-12-31T23:59:59Z", NOTHING, NULL, NULL },
		{ ZONE_1245, "9999-12-31T00:00:00+12:45/9999-12-31T23:59:59-23:59", PM_WARN, NULL, NULL },
		{ NULL, "2026-10-26T09:00:00+02:00/2026-10-26T11:00:00+02:00", NOTHING, NULL, NULL },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		static struct fixture f;
		struct place p = { 0 };
		book(&f, &p, cases[i].footer, cases[i].window);
		fixture_check(&f);
		const struct pm_finding *finding = fixture_finding(&f, PM_OFFSET_UNUSUAL, NULL);
		if ((finding ? (int)finding->severity : NOTHING) != cases[i].severity)
			fail_msg("%s: %s", cases[i].window, finding ? finding->message : "nothing found");
		if (finding && cases[i].message && !strstr(finding->message, cases[i].message))
			fail_msg("%s: %s", cases[i].window, finding->message);
		if (finding && cases[i].suggestion && !pm_same(finding->suggestion, cases[i].suggestion))
			fail_msg("%s: suggests %s", cases[i].window, finding->suggestion ? finding->suggestion : "nothing");
		if (finding)
			assert_string_equal(finding->field, "desk/appointment");
		leave(&f, &p);
	}
}

/* A zone that was not looked up is told of; without one nothing is. */
static void test_looks(void **state)
{
	(void)state;
	static struct fixture f;
	struct place p = { 0 };
	book(&f, &p, NULL, FIXTURE_WINDOW);
	struct pm_zone_look look = { .standing = PM_LOOK_UNCHECKED, .why = "the time zone data is not installed" };
	f.the_case.zone = &look;
	fixture_check(&f);
	const struct pm_finding *finding = fixture_finding(&f, PM_ZONE_UNCHECKED, NULL);
	assert_string_equal(finding->message, "time zone \"" AREA "\" was not looked up: the time zone data is not installed");
	assert_int_equal(finding->severity, PM_NOTE);
	assert_null(fixture_finding(&f, PM_ZONE_UNKNOWN, NULL));
	/* there, and nobody needed more */
	look = (struct pm_zone_look){ .standing = PM_LOOK_FOUND };
	fixture_check(&f);
	assert_null(fixture_finding(&f, PM_ZONE_UNCHECKED, NULL));
	assert_null(fixture_finding(&f, PM_ZONE_UNKNOWN, NULL));
	f.the_case.zone = NULL;
	f.job.zone = word(NULL);
	fixture_check(&f);
	assert_null(fixture_finding(&f, PM_ZONE_UNCHECKED, NULL));
	leave(&f, &p);
}

static void expect_why(struct fixture *f, size_t phase, bool closing, const char *condition, const char *why)
{
	fixture_check(f);
	assert_string_equal(fixture_line(f, phase, closing, condition)->why, why);
}

static void test_gates(void **state)
{
	(void)state;
	static struct fixture f;
	struct place p;
	book(&f, &p, ZONE_CET, "2026-01-08T10:00:00+01:00/2026-01-08T12:00:00+01:00");
	expect_why(&f, BOOK, true, "appointment-set", "2026-01-08 10:00 to 12:00 +01:00 CET, " AREA " (09:00 to 11:00 UTC)");
	expect_why(&f, CUTOVER, false, "appointment-open",
	           "the window opens at 2026-01-08 10:00 +01:00 CET, " AREA " (09:00 UTC), in 7 d 0 h");
	f.the_case.now = pm_when_utc(FIXTURE_OPENS);
	expect_why(&f, CUTOVER, false, "appointment-open",
	           "inside the window, 2 h 00 min left, until 2026-01-08 12:00 +01:00 CET, " AREA " (11:00 UTC)");
	f.the_case.now = pm_when_utc(FIXTURE_ENDS + 1);
	expect_why(&f, CUTOVER, false, "appointment-open",
	           "the window closed at 2026-01-08 12:00 +01:00 CET, " AREA " (11:00 UTC): book again");
	expect_why(&f, BOOK, true, "appointment-set",
	           "the window 2026-01-08 10:00 to 12:00 +01:00 CET, " AREA " (09:00 to 11:00 UTC) was missed: book again");
	f.the_case.now = pm_when_utc(FIXTURE_OPENS + 60);
	fixture_say(&f, "step/go", "whole");
	expect_why(&f, CUTOVER, false, "appointment-open",
	           "begun inside the window, 1 h 59 min left, until 2026-01-08 12:00 +01:00 CET, " AREA " (11:00 UTC)");
	/* without a zone as it was written */
	f.the_case.zone = NULL;
	expect_why(&f, BOOK, true, "appointment-set", "2026-01-08T10:00:00+01:00 to 2026-01-08T12:00:00+01:00");
	expect_why(&f, CUTOVER, false, "appointment-open", "begun inside the window, 1 h 59 min left");
	leave(&f, &p);
}

static void test_memory(void **state)
{
	(void)state;
	static struct fixture f;
	struct place p;
	struct pm_result result;
	struct pm_arena arena;
	book(&f, &p, ZONE_CET, "2026-01-08T10:00:00+02:00/2026-01-08T12:00:00+02:00");
	/* blocks are few and large: each is filled a little further beforehand */
	size_t refused = 0;
	for (size_t before = 0; before < 2000; before += 16)
		for (fail_at = 1; fail_at < 6; fail_at++) {
			asked = 0;
			pm_arena_init(&arena);
			pm_arena_alloc(&arena, before);
			bool done = !arena.failed && pm_check(&f.the_case, &arena, &result);
			assert_int_equal(done, asked < fail_at);
			refused += !done;
			pm_arena_free(&arena);
		}
	fail_at = 0;
	assert_true(refused > 100);
	leave(&f, &p);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_said), cmocka_unit_test(test_offsets), cmocka_unit_test(test_looks), cmocka_unit_test(test_gates), cmocka_unit_test(test_memory),
	};
	return cmocka_run_group_tests_name("use of zones", tests, NULL, NULL);
}
