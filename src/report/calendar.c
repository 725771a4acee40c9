#include "report/calendar.h"

#include <string.h>

#include "portmuster/gate.h"
#include "portmuster/seal.h"

#define LINE_MOST 75      /* octets, CRLF not counted */
#define UID_DIGITS 32     /* of the SHA-256: 128 bits */

void calendar_line(struct pm_text *out, const char *name, const char *value)
{
	size_t used = strlen(name) + 1, left = strlen(value);
	pm_text_add(out, "%s:", name);
	while (left) {
		uint32_t point;
		size_t length = pm_utf8_next(value, left, &point);
		if (used + length > LINE_MOST) {
			pm_text_str(out, "\r\n ");
			used = 1;
		}
		pm_text_put(out, value, length);
		value += length;
		left -= length;
		used += length;
	}
	pm_text_str(out, "\r\n");
}

void calendar_escape(struct pm_text *out, const char *string)
{
	size_t left = string ? strlen(string) : 0;
	for (size_t used; left; string += used, left -= used) {
		char shown[32];
		uint32_t point;
		struct pm_text text;
		used = pm_utf8_next(string, left, &point);
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_visible(&text, string, used);
		for (const char *c = shown; *c; c++) {
			if (strchr("\\;,", *c))
				pm_text_char(out, '\\');
			pm_text_char(out, *c);
		}
	}
}

/* 20261013T080000Z: RFC 5545 section 3.3.5, form 2. */
static void put_time(struct pm_text *out, const char *name, struct pm_when when)
{
	char written[PM_WHEN_TEXT], packed[PM_WHEN_TEXT];
	struct pm_text text;
	pm_when_write(pm_when_utc(when.second), written);
	pm_text_fixed(&text, packed, sizeof packed);
	for (const char *c = written; *c; c++)
		if (*c != '-' && *c != ':')
			pm_text_char(&text, *c);
	calendar_line(out, name, packed);
}

/* The job's readings about its appointment, withdrawals too; `*first` receives
 * the start of the first window, whether it stands or not. */
static size_t history(const struct pm_job *job, struct pm_when *first)
{
	size_t count = 0;
	struct pm_when until;
	bool found = false;
	for (size_t i = 0; i < job->reading_count; i++) {
		const struct pm_reading *reading = &job->readings[i];
		if (!pm_same(reading->of.text, "desk/appointment"))
			continue;
		count++;
		if (!found && reading->source != PM_SOURCE_WITHDRAWN)
			found = pm_window_read(reading->value.text, first, &until, NULL);
	}
	return count;
}

static void put_uid(struct pm_text *out, const struct pm_job *job, struct pm_when first, struct pm_arena *arena)
{
	char digest[65], start[PM_WHEN_TEXT];
	const char *from = pm_say(arena, "%s\n%s", job->code.text, pm_when_write(pm_when_utc(first.second), start));
	if (!from) {
		out->cut = true;
		return;
	}
	pm_sha256_hex(from, strlen(from), digest);
	digest[UID_DIGITS] = '\0';
	calendar_line(out, "UID", digest);
}

/* The registration counts as the core's own condition says. */
static bool registered(const struct pm_case *c, const struct pm_result *result, struct pm_arena *arena)
{
	struct pm_text why;
	const char *argument;
	const struct pm_condition *condition = pm_condition_find("registration-accepted", &argument);
	pm_text_grow(&why, arena);
	struct pm_gate_view view = { .the_case = c, .roster = &result->roster, .findings = &result->findings,
	                             .closed = result->gates.closed, .arena = arena, .why = &why };
	return condition && condition->met(&view);
}

/* One line of the description; what is not known is left out. */
static void describe(struct pm_text *text, const char *label, const char *value)
{
	if (!value || !*value)
		return;
	pm_text_add(text, "%s%s: ", text->length ? "\\n" : "", label);
	calendar_escape(text, value);
}

static void put_description(struct pm_text *out, const struct pm_case *c, const struct pm_reading *window,
                            struct pm_arena *arena)
{
	struct pm_text text;
	struct pm_seal seal;
	const struct pm_job *job = c->job;
	pm_text_grow(&text, arena);
	describe(&text, "unit", pm_fact_value(job, "site/unit", arena));
	describe(&text, "parent", pm_fact_value(job, "site/parent", arena));
	if (pm_seal_job(job, c->gear, arena, &seal))
		describe(&text, "seal", seal.complete ? seal.text : "none, the facts are not complete");
	describe(&text, "crew", job->crew.text);
	describe(&text, "set by", window->by.text);
	describe(&text, "note", window->note.text);
	calendar_line(out, "DESCRIPTION", text.data);
}

static void put_event(struct pm_text *out, const struct pm_case *c, const struct pm_result *result,
                      const struct pm_reading *window, struct pm_when from, struct pm_when until,
                      struct pm_when now, struct pm_arena *arena)
{
	const struct pm_job *job = c->job;
	struct pm_text summary, where;
	struct pm_when first = from;
	size_t said = history(job, &first);
	pm_text_grow(&summary, arena);
	pm_text_grow(&where, arena);
	pm_text_str(&summary, job->practice ? "Practice: router swap " : "Router swap ");
	calendar_escape(&summary, job->code.text);
	if (pm_given(job->name)) {
		pm_text_char(&summary, ' ');
		calendar_escape(&summary, job->name.text);
		calendar_escape(&where, job->name.text);
		pm_text_str(&where, " (");
		calendar_escape(&where, job->code.text);
		pm_text_char(&where, ')');
	} else {
		calendar_escape(&where, job->code.text);
	}
	calendar_line(out, "BEGIN", "VEVENT");
	put_uid(out, job, first, arena);
	put_time(out, "DTSTAMP", now);
	put_time(out, "DTSTART", from);
	put_time(out, "DTEND", until);
	calendar_line(out, "SUMMARY", summary.data);
	calendar_line(out, "LOCATION", where.data);
	put_description(out, c, window, arena);
	calendar_line(out, "STATUS", registered(c, result, arena) ? "CONFIRMED" : "TENTATIVE");
	pm_text_add(out, "SEQUENCE:%zu\r\n", said - 1);
	calendar_line(out, "END", "VEVENT");
}

void calendar_begin(struct calendar *calendar, struct pm_text *out, struct pm_when now)
{
	*calendar = (struct calendar){ .out = out, .now = now };
	calendar_line(out, "BEGIN", "VCALENDAR");
	calendar_line(out, "VERSION", "2.0");
	calendar_line(out, "PRODID", "-//portmuster//portmuster " PM_VERSION "//EN");
}

enum calendar_added calendar_add(struct calendar *calendar, const struct pm_case *the_case,
                                 const struct pm_result *result)
{
	struct pm_when from, until;
	const struct pm_reading *window = pm_fact_last(the_case->job, "desk/appointment");
	if (!window || window->source == PM_SOURCE_SKIPPED)
		return CALENDAR_NONE;
	if (!pm_window_read(window->value.text, &from, &until, NULL))
		return CALENDAR_MALFORMED;
	struct pm_arena arena;
	pm_arena_init(&arena);
	put_event(calendar->out, the_case, result, window, from, until, calendar->now, &arena);
	bool failed = arena.failed || calendar->out->cut;
	pm_arena_free(&arena);
	calendar->events += !failed;
	return failed ? CALENDAR_NO_MEMORY : CALENDAR_EVENT;
}

void calendar_end(struct calendar *calendar)
{
	calendar_line(calendar->out, "END", "VCALENDAR");
}
