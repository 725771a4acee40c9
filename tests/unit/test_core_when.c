#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "portmuster/when.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* The same instant in UTC, and how the time is written again. */
static const struct { const char *text, *utc, *again, *source; } good[] = {
	{ "1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50Z", "1985-04-12T23:20:50Z", "RFC 3339 5.8" },
	{ "1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z", "1996-12-19T16:39:57-08:00", "RFC 3339 5.8" },
	{ "1990-12-31T23:59:60Z", "1991-01-01T00:00:00Z", "1991-01-01T00:00:00Z", "RFC 3339 5.8" },
	{ "1990-12-31T15:59:60-08:00", "1991-01-01T00:00:00Z", "1990-12-31T16:00:00-08:00", "RFC 3339 5.8" },
	{ "1937-01-01T12:00:27.87+00:20", "1937-01-01T11:40:27Z", "1937-01-01T12:00:27+00:20", "RFC 3339 5.8" },
	{ "2015-06-30T23:59:60Z", "2015-07-01T00:00:00Z", "2015-07-01T00:00:00Z", "end of June, RFC 3339 appendix D" },
	{ "2026-03-02T09:30:00-00:00", "2026-03-02T09:30:00Z", "2026-03-02T09:30:00-00:00", "RFC 3339 4.3" },
	{ "2026-03-02T09:30:00+00:00", "2026-03-02T09:30:00Z", "2026-03-02T09:30:00Z", "RFC 3339 4.2" },
	{ "2026-01-15T09:00:00+05:45", "2026-01-15T03:15:00Z", "2026-01-15T09:00:00+05:45", "a quarter of an hour" },
	{ "2026-01-15T09:00:00+13:45", "2026-01-14T19:15:00Z", "2026-01-15T09:00:00+13:45", "three quarters, and beyond half a day" },
	{ "2024-02-29t00:00:00z", "2024-02-29T00:00:00Z", "2024-02-29T00:00:00Z", "RFC 3339 5.6, lower case" },
	{ "2000-02-29 12:00:00Z", "2000-02-29T12:00:00Z", "2000-02-29T12:00:00Z", "RFC 3339 5.6, a space" },
	{ "2026-01-01T00:00:00+23:59", "2025-12-31T00:01:00Z", "2026-01-01T00:00:00+23:59", "largest offset" },
	{ "0000-01-01T00:00:00Z", "0000-01-01T00:00:00Z", "0000-01-01T00:00:00Z", "first year" },
	{ "0000-02-29T00:00:00Z", "0000-02-29T00:00:00Z", "0000-02-29T00:00:00Z", "first year is a leap year" },
	{ "9999-12-31T23:59:59Z", "9999-12-31T23:59:59Z", "9999-12-31T23:59:59Z", "last second" },
};

static void test_good(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(good); i++) {
		struct pm_when when, utc;
		char text[PM_WHEN_TEXT];
		const char *why = "untouched";
		if (!pm_when_read(good[i].text, &when, &why))
			fail_msg("%s (%s): %s", good[i].text, good[i].source, why);
		assert_string_equal(why, "untouched");
		assert_true(when.known);
		assert_true(pm_when_read(good[i].utc, &utc, NULL));
		if (when.second != utc.second)
			fail_msg("%s (%s): %lld, not %lld", good[i].text, good[i].source, (long long)when.second, (long long)utc.second);
		assert_string_equal(pm_when_write(when, text), good[i].again);
	}
	struct pm_when when;
	assert_true(pm_when_read("2026-03-02T09:30:00-00:00", &when, NULL));
	assert_true(when.offset_unknown && when.offset == 0);
	assert_true(pm_when_read("2026-03-02T09:30:00+00:00", &when, NULL));
	assert_false(when.offset_unknown);
	assert_true(pm_when_read("1970-01-01T00:00:00Z", &when, NULL));
	assert_true(when.second == 0);
}

static const struct { const char *text, *why; } bad[] = {
	{ NULL, "nothing there" }, { "", "nothing there" },
	{ "2026-02-29T00:00:00Z", "no such day in that month" }, { "1900-02-29T00:00:00Z", "no such day in that month" },
	{ "2026-04-31T00:00:00Z", "no such day in that month" }, { "2026-01-00T00:00:00Z", "no such day in that month" },
	{ "2026-13-01T00:00:00Z", "no such month" }, { "2026-00-01T00:00:00Z", "no such month" },
	{ "2026-01-01T24:00:00Z", "no such time of day" }, { "2026-01-01T00:60:00Z", "no such time of day" },
	{ "2026-01-01T00:00:61Z", "no such time of day" },
	{ "2026-01-01T23:59:60Z", "second 60 where no leap second can stand" },
	{ "1990-12-31T23:58:60Z", "second 60 where no leap second can stand" },
	{ "1990-12-31T23:59:60-08:00", "second 60 where no leap second can stand" },
	{ "1990-03-31T23:59:60Z", "second 60 where no leap second can stand" },
	{ "2026-01-01T00:00:00", "no offset at the end (Z, or one like +01:00)" },
	{ "2026-01-01T00:00:00+1:00", "an offset looks like +01:00" },
	{ "2026-01-01T00:00:00+0100", "an offset looks like +01:00" },
	{ "2026-01-01T00:00:00+24:00", "an offset beyond 23:59" }, { "2026-01-01T00:00:00+01:60", "an offset beyond 23:59" },
	{ "2026-01-01T00:00:00.Z", "a fraction without digits" },
	{ "2026-01-01T00:00Z", "a time looks like 09:30:00" }, { "2026-01-01T0:00:00Z", "a time looks like 09:30:00" },
	{ "2026-01-01_00:00:00Z", "a T belongs between date and time" }, { "2026-01-01", "a T belongs between date and time" },
	{ "26-01-01T00:00:00Z", "a date looks like 2026-03-02" }, { "2026-1-1T00:00:00Z", "a date looks like 2026-03-02" },
	{ "02/03/2026", "a date looks like 2026-03-02" }, { "tomorrow", "a date looks like 2026-03-02" },
	{ " 2026-01-01T00:00:00Z", "a date looks like 2026-03-02" },
	{ "2026-01-01T00:00:00Z ", "something after the time" }, { "2026-01-01T00:00:00Z\n", "something after the time" },
	{ "2026-01-01T00:00:00Z/", "something after the time" }, { "+2026-01-01T00:00:00Z", "a date looks like 2026-03-02" },
};

static void test_bad(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(bad); i++) {
		struct pm_when when = { .second = 77 };
		const char *why = "";
		if (pm_when_read(bad[i].text, &when, &why))
			fail_msg("%s was read", bad[i].text);
		assert_string_equal(why, bad[i].why);
		assert_true(when.second == 77);
		assert_false(pm_when_read(bad[i].text, &when, NULL));
	}
}

/* Every day of nearly ten thousand years, and odd seconds within it, against
 * the C library's own calendar. */
static void test_against_library(void **state)
{
	(void)state;
	const int64_t first = -62167219200, last = 253402300799;   /* years 0000 to 9999 */
	size_t compared = 0;
	for (int64_t second = first; second <= last; second += 86400 - 61, compared++) {
		struct tm tm;
		time_t at = (time_t)second;
		char text[PM_WHEN_TEXT], theirs[64];
		struct pm_when back;
		if (!gmtime_r(&at, &tm))
			fail();
		snprintf(theirs, sizeof theirs, "%04d-%02d-%02dT%02d:%02d:%02dZ", tm.tm_year + 1900, tm.tm_mon + 1,
		         tm.tm_mday, tm.tm_hour, tm.tm_min, tm.tm_sec);
		pm_when_write(pm_when_utc(second), text);
		if (strcmp(text, theirs) != 0)
			fail_msg("%lld: %s, the library has %s", (long long)second, text, theirs);
		if (!pm_when_read(text, &back, NULL) || back.second != second || (int64_t)timegm(&tm) != second)
			fail_msg("%s does not come back", text);
	}
	printf("# figure %zu instants of the years 0 to 9999 as the C library has them\n", compared);
	/* and with each offset: the wall time is that of UTC shifted */
	for (int32_t offset = -23 * 60 - 59; offset < 24 * 60; offset++) {
		struct pm_when when = pm_when_utc(1767258000), back;
		char text[PM_WHEN_TEXT];
		when.offset = offset;
		assert_true(pm_when_read(pm_when_write(when, text), &back, NULL));
		assert_true(back.second == when.second && back.offset == offset && !back.offset_unknown);
	}
}

static void test_unwritable(void **state)
{
	(void)state;
	char text[PM_WHEN_TEXT];
	assert_string_equal(pm_when_write((struct pm_when){ .second = 5 }, text), "-");
	assert_string_equal(pm_when_write(pm_when_utc(253402300800), text), "-");   /* year 10000 */
	assert_string_equal(pm_when_write(pm_when_utc(-62167219201), text), "-");   /* before year 0 */
	assert_string_equal(pm_when_write(pm_when_utc(INT64_MAX), text), "-");
	assert_string_equal(pm_when_write(pm_when_utc(INT64_MIN), text), "-");
}

static void test_spans(void **state)
{
	(void)state;
	static const struct { int64_t seconds; const char *text; } spans[] = {
		{ 0, "0 s" }, { 59, "59 s" }, { 60, "1 min 00 s" }, { 245, "4 min 05 s" }, { 3599, "59 min 59 s" },
		{ 3600, "1 h 00 min" }, { 7800, "2 h 10 min" }, { 86399, "23 h 59 min" }, { 86400, "1 d 0 h" },
		{ 3 * 86400 + 4 * 3600, "3 d 4 h" }, { -245, "4 min 05 s" }, { INT64_MIN, "106751991167300 d 15 h" },
	};
	for (size_t i = 0; i < COUNT(spans); i++) {
		char text[PM_WHEN_TEXT];
		assert_string_equal(pm_when_span(spans[i].seconds, text), spans[i].text);
	}
}

static void test_windows(void **state)
{
	(void)state;
	static const struct { const char *text, *why; } windows[] = {
		{ "2026-03-02T09:00:00Z/2026-03-02T11:00:00Z", NULL },
		{ "2026-03-02T09:00:00+05:45/2026-03-02T03:15:01Z", NULL },   /* one second long */
		{ "2026-03-02T09:00:00+05:45/2026-03-02T03:15:00Z", "the window ends before it starts" },
		{ "2026-03-02T09:00:00Z/2026-03-02T08:59:59Z", "the window ends before it starts" },
		{ "2026-03-02T09:00:00Z", "a window is two times joined by /" },
		{ "2026-03-02T09:00:00Z-2026-03-02T11:00:00Z", "a window is two times joined by /" },
		{ "2026-03-02T09:00:00Z/2026-03-02T11:00:00Z/", "something after the window's end" },
		{ "2026-03-02T09:00:00Z/2026-02-29T11:00:00Z", "no such day in that month" },
		{ "2026-03-02T09:00:00Z/PT2H", "a date looks like 2026-03-02" },
		{ "", "nothing there" }, { NULL, "nothing there" },
	};
	for (size_t i = 0; i < COUNT(windows); i++) {
		struct pm_when from = { .second = 7 }, until = { .second = 8 };
		const char *why = NULL;
		assert_int_equal(pm_window_read(windows[i].text, &from, &until, &why), windows[i].why == NULL);
		if (windows[i].why) {
			assert_string_equal(why, windows[i].why);
			assert_true(from.second == 7 && until.second == 8);
		} else {
			assert_true(from.second < until.second);
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_good),       cmocka_unit_test(test_bad),   cmocka_unit_test(test_against_library),
		cmocka_unit_test(test_unwritable), cmocka_unit_test(test_spans), cmocka_unit_test(test_windows),
	};
	return cmocka_run_group_tests_name("times", tests, NULL, NULL);
}
