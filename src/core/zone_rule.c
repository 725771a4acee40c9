/* The footer of a zone: a POSIX TZ string (RFC 9636 section 3.3), and the changes
 * that it makes for every year. */
#include <string.h>

#include "core/when_parts.h"
#include "core/zone_parts.h"

/* --- reading --- */

struct footer {
	const char *at, *end;
	struct pm_arena *arena;
};

static bool next_is(struct footer *f, char wanted)
{
	if (f->at == f->end || *f->at != wanted)
		return false;
	f->at++;
	return true;
}

/* One to `most` digits, of a value up to `limit`. */
static bool number(struct footer *f, unsigned most, int32_t limit, int32_t *value)
{
	unsigned count = 0;
	for (*value = 0; f->at < f->end && count < most && pm_is_digit(*f->at); count++)
		*value = *value * 10 + (*f->at++ - '0');
	return count > 0 && *value <= limit && (f->at == f->end || !pm_is_digit(*f->at));
}

static const char *abbreviation(struct footer *f)
{
	bool quoted = next_is(f, '<');
	const char *begin = f->at;
	while (f->at < f->end && (quoted ? zone_abbreviates(*f->at) : pm_is_alpha(*f->at)))
		f->at++;
	size_t length = (size_t)(f->at - begin);
	if (length < 3 || length >= ZONE_ABBREVIATION || (quoted && !next_is(f, '>')))
		return NULL;
	return pm_arena_copy(f->arena, begin, length);
}

/* [+-]hh[:mm[:ss]] as seconds. */
static bool clock_time(struct footer *f, int32_t most_hours, int32_t *seconds)
{
	int32_t hours, minutes = 0, rest = 0;
	bool negative = next_is(f, '-');
	if (!negative)
		next_is(f, '+');
	if (!number(f, 3, most_hours, &hours))
		return false;
	bool told = next_is(f, ':');
	if (told && !number(f, 2, 59, &minutes))
		return false;
	if (told && next_is(f, ':') && !number(f, 2, 59, &rest))
		return false;
	*seconds = (hours * 3600 + minutes * 60 + rest) * (negative ? -1 : 1);
	return true;
}

static bool rule(struct footer *f, struct pm_zone_rule *out)
{
	int32_t month = 0, week = 0, day;
	*out = (struct pm_zone_rule){ .time = 2 * 3600 };
	if (next_is(f, 'M')) {
		out->kind = PM_DAY_OF_WEEK;
		if (!number(f, 2, 12, &month) || month < 1 || !next_is(f, '.') || !number(f, 1, 5, &week) || week < 1 ||
		    !next_is(f, '.') || !number(f, 1, 6, &day))
			return false;
	} else {
		out->kind = next_is(f, 'J') ? PM_DAY_NO_LEAP : PM_DAY;
		if (!number(f, 3, 365, &day) || (out->kind == PM_DAY_NO_LEAP && day < 1))
			return false;
	}
	out->month = (int8_t)month;
	out->week = (int8_t)week;
	out->day = (int16_t)day;
	return !next_is(f, '/') || clock_time(f, 167, &out->time);
}

static bool read_all(struct footer *f, struct pm_zone *zone)
{
	int32_t west, summer_west;
	zone->standard.abbreviation = abbreviation(f);
	if (!zone->standard.abbreviation || !clock_time(f, 24, &west))
		return false;
	zone->standard.offset = -west;
	if (f->at == f->end)
		return true;
	zone->summer = (struct pm_zone_time){ .summer = true, .abbreviation = abbreviation(f) };
	if (!zone->summer.abbreviation || f->at == f->end)
		return false;
	summer_west = west - 3600;
	if (*f->at != ',' && !clock_time(f, 24, &summer_west))
		return false;
	zone->summer.offset = -summer_west;
	zone->footer_changes = true;
	return next_is(f, ',') && rule(f, &zone->to_summer) && next_is(f, ',') && rule(f, &zone->to_standard) &&
	       f->at == f->end;
}

const char *zone_footer_read(struct pm_zone *zone, const char *text, size_t length, struct pm_arena *arena)
{
	struct footer footer = { text, text + length, arena };
	zone->has_footer = read_all(&footer, zone);
	return zone->has_footer ? NULL : "a footer that is no TZ string";
}

/* --- using --- */

/* Day of the change in a year, since 1970-01-01. */
static int64_t day_of(const struct pm_zone_rule *rule, int64_t year)
{
	int64_t new_year = when_days(year, 1, 1);
	switch (rule->kind) {
	case PM_DAY: return new_year + rule->day;
	case PM_DAY_NO_LEAP: return new_year + rule->day - 1 + (rule->day >= 60 && when_days_in(year, 2) == 29);
	case PM_DAY_OF_WEEK: break;
	}
	int64_t first = when_days(year, (unsigned)rule->month, 1);
	/* 1970-01-01 was a Thursday, day 4 of its week */
	int64_t weekday = ((first + 4) % 7 + 7) % 7;
	int64_t day = (rule->day - weekday + 7) % 7 + (rule->week - 1) * 7;
	if (day >= (int64_t)when_days_in(year, (unsigned)rule->month))
		day -= 7;
	return first + day;
}

/* Two changes a year, in the order of the years. */
struct change {
	int64_t at;
	bool summer;
};

#define YEARS 2   /* before and after: a rule's time reaches a week into another year */

struct zone_stretch zone_footer_at(const struct pm_zone *zone, int64_t second)
{
	struct zone_stretch s = { INT64_MIN, INT64_MAX, &zone->standard };
	int64_t year;
	unsigned month, day;
	if (!zone->footer_changes)
		return s;
	when_date(when_day_of(second), &year, &month, &day);
	for (int64_t y = year - YEARS; y <= year + YEARS; y++) {
		const struct change change[] = {
			{ day_of(&zone->to_summer, y) * 86400 + zone->to_summer.time - zone->standard.offset, true },
			{ day_of(&zone->to_standard, y) * 86400 + zone->to_standard.time - zone->summer.offset, false },
		};
		/* of two at one instant the later year's holds, so that summer time can last all year */
		for (int i = 0; i < 2; i++)
			if (change[i].at > second) {
				s.until = change[i].at < s.until ? change[i].at : s.until;
			} else if (change[i].at >= s.from) {
				s.from = change[i].at;
				s.time = change[i].summer ? &zone->summer : &zone->standard;
			}
	}
	return s;
}
