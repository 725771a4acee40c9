/* The iCalendar: folding, escaping, and what makes an event the same event. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"
#include "report/calendar.h"

#define FIRST "2026-01-08T09:00:00Z"

/* --- lines ------------------------------------------------------------------- */

/* Every line at most 75 octets and whole characters; unfolded, the text again
 * (RFC 5545 3.1). */
static void folds(const char *value)
{
	char array[4096], back[4096];
	struct pm_text out;
	pm_text_fixed(&out, array, sizeof array);
	calendar_line(&out, "X", value);
	assert_false(out.cut);
	size_t used = 0, lines = 0;
	for (const char *at = array; *at; lines++) {
		const char *end = strstr(at, "\r\n");
		assert_non_null(end);
		assert_in_range(end - at, 1, 75);
		if (lines) {
			assert_int_equal(*at, ' ');
			at++;
			/* a continuation that says nothing would be waste */
			assert_true(end > at);
		}
		for (uint32_t point; at < end;) {
			size_t length = pm_utf8_next(at, (size_t)(end - at), &point);
			assert_true(point != UINT32_MAX);
			memcpy(back + used, at, length);
			used += length;
			at += length;
		}
		at = end + 2;
	}
	back[used] = '\0';
	assert_memory_equal(back, "X:", 2);
	assert_string_equal(back + 2, value);
	/* no more lines than are needed: each but the last is full up to a character */
	assert_true(lines <= 1 + (strlen(value) + 2) / (75 - 4));
}

static void folding(void **state)
{
	(void)state;
	static const char *const characters[] = { "a", "\xC3\xA9", "\xE6\xB0\xB4", "\xF0\x9F\x8C\x8A" };
	static const size_t bytes[] = { 0, 1, 72, 73, 74, 75, 146, 147, 148, 149, 220, 221, 222, 1000 };
	char value[1200];
	for (size_t c = 0; c < COUNT(characters); c++)
		for (size_t shift = 0; shift < 4; shift++)
			for (size_t i = 0; i < COUNT(bytes); i++) {
				size_t used = 0, one = strlen(characters[c]);
				while (used < shift)
					value[used++] = 'x';
				for (; used + one <= bytes[i] + shift; used += one)
					memcpy(value + used, characters[c], one);
				value[used] = '\0';
				folds(value);
			}
}

static void folding_at_the_edge(void **state)
{
	(void)state;
	char array[256], value[80];
	struct pm_text out;
	memset(value, 'a', sizeof value);
	value[73] = '\0';
	pm_text_fixed(&out, array, sizeof array);
	calendar_line(&out, "X", value);
	assert_int_equal(out.length, 77);
	memset(value, 'a', sizeof value);
	value[74] = '\0';
	pm_text_fixed(&out, array, sizeof array);
	calendar_line(&out, "X", value);
	assert_string_equal(array + 75, "\r\n a\r\n");
}

static void escaping(void **state)
{
	(void)state;
	static const struct { const char *text, *escaped; } cases[] = {
		{ "plain: \"as it is\"", "plain: \"as it is\"" },
		{ "a,b;c\\d", "a\\,b\\;c\\\\d" },
		{ "two\nlines", "two\\\\x0Alines" },
		{ "\r\nBEGIN:VEVENT", "\\\\x0D\\\\x0ABEGIN:VEVENT" },
		{ "\x1B[31m", "\\\\x1B[31m" },
		{ "\xE2\x80\xAE", "\\\\u{202E}" },
		{ "\xFF\xC3\xA9", "\\\\xFF\xC3\xA9" },
		{ "", "" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		char array[128];
		struct pm_text out;
		pm_text_fixed(&out, array, sizeof array);
		calendar_escape(&out, cases[i].text);
		assert_string_equal(array, cases[i].escaped);
	}
	struct pm_text out;
	char array[8];
	pm_text_fixed(&out, array, sizeof array);
	calendar_escape(&out, NULL);
	assert_int_equal(out.length, 0);
}

/* --- events ------------------------------------------------------------------ */

struct written {
	struct fixture f;
	char text[8192];
	enum calendar_added added;
	size_t events;
};

static void write_out(struct written *w)
{
	struct pm_text out;
	struct calendar calendar;
	pm_text_fixed(&out, w->text, sizeof w->text);
	calendar_begin(&calendar, &out, w->f.the_case.now);
	w->added = calendar_add(&calendar, &w->f.the_case, fixture_check(&w->f));
	calendar_end(&calendar);
	assert_false(out.cut);
	w->events = calendar.events;
}

static void has(const struct written *w, const char *line)
{
	char whole[256];
	snprintf(whole, sizeof whole, "\r\n%s\r\n", line);
	if (!strstr(w->text, whole))
		fail_msg("no line \"%s\" in:\n%s", line, w->text);
}

static const char *uid_of(struct written *w, char uid[static 40])
{
	write_out(w);
	const char *at = strstr(w->text, "\r\nUID:");
	assert_non_null(at);
	snprintf(uid, 40, "%.32s", at + 6);
	assert_memory_equal(at + 6 + 32, "\r\n", 2);
	return uid;
}

static void one_event(void **state)
{
	(void)state;
	struct written w;
	fixture_init(&w.f);
	w.f.job.name = word("Orsketh; weir, upper"), w.f.job.crew = word("crew north");
	fixture_reach(&w.f, CUTOVER);
	write_out(&w);
	assert_int_equal(w.added, CALENDAR_EVENT);
	assert_int_equal(w.events, 1);
	assert_memory_equal(w.text, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//", 40);
	has(&w, "BEGIN:VEVENT");
	has(&w, "DTSTAMP:20260101T090000Z");
	has(&w, "DTSTART:20260108T090000Z");
	has(&w, "DTEND:20260108T110000Z");
	has(&w, "SUMMARY:Router swap TB-01 Orsketh\\; weir\\, upper");
	has(&w, "LOCATION:Orsketh\\; weir\\, upper (TB-01)");
	has(&w, "STATUS:CONFIRMED");
	has(&w, "SEQUENCE:0");
	assert_non_null(strstr(w.text, "unit: GS-0417\\nparent: GP-02\\nseal: "));
	assert_non_null(strstr(w.text, fixture_seal(&w.f)));
	assert_null(strstr(w.text, "VALARM"));
	assert_string_equal(w.text + strlen(w.text) - 29, "\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n");
	fixture_forget(&w.f);
}

/* What stands, and what event it gives. */
static void no_event(void **state)
{
	(void)state;
	static const struct { const char *value; enum pm_source source; enum calendar_added added; } cases[] = {
		{ NULL, PM_SOURCE_DESK, CALENDAR_NONE },
		{ "2026-01-08T09:00:00Z", PM_SOURCE_DESK, CALENDAR_MALFORMED },
		{ "2026-01-08T11:00:00Z/2026-01-08T09:00:00Z", PM_SOURCE_DESK, CALENDAR_MALFORMED },
		{ "some day", PM_SOURCE_DESK, CALENDAR_MALFORMED },
		{ "", PM_SOURCE_SKIPPED, CALENDAR_NONE },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct written w;
		fixture_init(&w.f);
		if (cases[i].value)
			fixture_read(&w.f, "desk/appointment", cases[i].value, cases[i].source, NULL, FIXTURE_NOW);
		write_out(&w);
		assert_int_equal(w.added, cases[i].added);
		assert_int_equal(w.events, 0);
		assert_null(strstr(w.text, "VEVENT"));
		fixture_forget(&w.f);
	}
}

static void withdrawn(void **state)
{
	(void)state;
	struct written w;
	fixture_init(&w.f);
	fixture_say(&w.f, "desk/appointment", FIXTURE_WINDOW);
	fixture_withdraw(&w.f, "desk/appointment", FIXTURE_WINDOW);
	write_out(&w);
	assert_int_equal(w.added, CALENDAR_NONE);
	fixture_forget(&w.f);
}

static void status_follows_the_registration(void **state)
{
	(void)state;
	struct written w;
	fixture_init(&w.f);
	fixture_reach(&w.f, REGISTER);
	fixture_say(&w.f, "desk/appointment", FIXTURE_WINDOW);
	write_out(&w);
	has(&w, "STATUS:TENTATIVE");
	fixture_register(&w.f, "rejected");
	write_out(&w);
	has(&w, "STATUS:TENTATIVE");
	fixture_register(&w.f, "accepted");
	write_out(&w);
	has(&w, "STATUS:CONFIRMED");
	/* a fact that changes after the acceptance */
	w.f.job.code = word("TB-02");
	write_out(&w);
	has(&w, "STATUS:TENTATIVE");
	fixture_forget(&w.f);
}

static void uid_is_stable(void **state)
{
	(void)state;
	struct written w;
	char uid[40], again[40], digest[65];
	fixture_init(&w.f);
	fixture_say(&w.f, "desk/appointment", FIXTURE_WINDOW);
	uid_of(&w, uid);
	pm_sha256_hex("TB-01\n" FIRST, strlen("TB-01\n" FIRST), digest);
	assert_memory_equal(uid, digest, 32);

	/* another day, another name, more facts, the same instant in another offset: the same event */
	w.f.the_case.now = pm_when_utc(FIXTURE_NOW + 86400);
	w.f.job.name = word("another name"), w.f.job.crew = word("another crew");
	fixture_twice(&w.f, "router/serial", "EG12-26-00417");
	assert_string_equal(uid_of(&w, again), uid);
	w.f.readings[0].value = word("2026-01-08T14:45:00+05:45/2026-01-08T16:45:00+05:45");
	assert_string_equal(uid_of(&w, again), uid);
	has(&w, "DTSTART:20260108T090000Z");

	/* booked anew: the same event moves, and says that it is newer */
	fixture_say(&w.f, "desk/appointment", "2026-01-15T09:00:00Z/2026-01-15T11:00:00Z");
	assert_string_equal(uid_of(&w, again), uid);
	has(&w, "DTSTART:20260115T090000Z");
	has(&w, "SEQUENCE:1");
	/* taken back, the earlier window stands again: still newer */
	fixture_withdraw(&w.f, "desk/appointment", "2026-01-15T09:00:00Z/2026-01-15T11:00:00Z");
	assert_string_equal(uid_of(&w, again), uid);
	has(&w, "DTSTART:20260108T090000Z");
	has(&w, "SEQUENCE:2");
	/* all taken back, and booked anew */
	fixture_withdraw(&w.f, "desk/appointment", NULL);
	fixture_say(&w.f, "desk/appointment", "2026-01-20T09:00:00Z/2026-01-20T11:00:00Z");
	assert_string_equal(uid_of(&w, again), uid);
	has(&w, "SEQUENCE:4");

	/* another site, or another first start, is another event */
	w.f.job.code = word("TB-02");
	assert_string_not_equal(uid_of(&w, again), uid);
	w.f.job.code = word("TB-01");
	w.f.readings[0].value = word("2026-01-08T09:00:01Z/2026-01-08T11:00:00Z");
	assert_string_not_equal(uid_of(&w, again), uid);
	fixture_forget(&w.f);
}

static void hostile_fields(void **state)
{
	(void)state;
	static const char nasty[] = "x\r\nEND:VEVENT\r\nATTACH:a;b,c\\n\x1B]0;t\x07\xE2\x80\xAE";
	struct written w;
	fixture_init(&w.f);
	w.f.job.name = word(nasty), w.f.job.crew = word(nasty), w.f.job.code = word(nasty);
	w.f.job.practice = true;
	struct pm_reading *window = fixture_say(&w.f, "desk/appointment", FIXTURE_WINDOW);
	window->by = word(nasty), window->note = word(nasty);
	write_out(&w);
	assert_int_equal(w.added, CALENDAR_EVENT);
	size_t begins = 0;
	for (const char *at = w.text; (at = strstr(at, "\r\n")); at += 2)
		begins += strncmp(at, "\r\nEND:VEVENT", 12) == 0 || strncmp(at, "\r\nATTACH", 8) == 0;
	assert_int_equal(begins, 1);
	for (const char *at = w.text; *at; at++)
		assert_true((unsigned char)*at >= 0x20 || *at == '\r' || *at == '\n');
	assert_non_null(strstr(w.text, "SUMMARY:Practice: router swap x\\\\x0D\\\\x0AEND:VEVENT"));
	fixture_forget(&w.f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(folding), cmocka_unit_test(folding_at_the_edge), cmocka_unit_test(escaping),
		cmocka_unit_test(one_event), cmocka_unit_test(no_event), cmocka_unit_test(withdrawn),
		cmocka_unit_test(status_follows_the_registration), cmocka_unit_test(uid_is_stable),
		cmocka_unit_test(hostile_fields),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
