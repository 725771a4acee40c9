/* What a zone's clock shows, and when it shows it. */
#include <string.h>

#include "core/when_parts.h"
#include "core/zone_parts.h"

struct zone_stretch zone_stretch_at(const struct pm_zone *zone, int64_t second)
{
	size_t low = 0, high = zone->change_count;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		if (zone->change[middle] <= second)
			low = middle + 1;
		else
			high = middle;
	}
	/* `low` changes have been */
	struct zone_stretch s = { INT64_MIN, INT64_MAX, &zone->kind[0] };
	if (low)
		s = (struct zone_stretch){ zone->change[low - 1], INT64_MAX, &zone->kind[zone->change_to[low - 1]] };
	if (low < zone->change_count) {
		s.until = zone->change[low];
	} else if (zone->has_footer) {
		int64_t from = s.from;
		s = zone_footer_at(zone, second);
		s.from = s.from > from ? s.from : from;
	}
	return s;
}

static int64_t within(int64_t second)
{
	return second < ZONE_EARLIEST ? ZONE_EARLIEST : second > ZONE_LATEST ? ZONE_LATEST : second;
}

struct pm_zone_time pm_zone_at(const struct pm_zone *zone, int64_t second)
{
	return *zone_stretch_at(zone, within(second)).time;
}

struct pm_when pm_zone_when(const struct pm_zone *zone, int64_t second)
{
	struct pm_when when = pm_when_utc(second);
	int32_t offset = pm_zone_at(zone, second).offset;
	when.offset = offset % 60 == 0 ? offset / 60 : 0;
	return when;
}

struct pm_wall pm_zone_wall(const struct pm_zone *zone, int64_t wall)
{
	struct pm_wall found = { 0 };
	bool gap = false;
	wall = within(wall);
	/* every offset lies within these bounds, so the clock is behind the wall time at first and past it at last */
	struct zone_stretch s = zone_stretch_at(zone, wall - ZONE_EAST - 1);
	for (;;) {
		int64_t second = wall - s.time->offset;
		if (second >= s.from && second < s.until) {
			found.second[found.count ? 1 : 0] = second;
			found.count += found.count < 2;
		}
		if (s.until > wall - ZONE_WEST)
			break;
		struct zone_stretch next = zone_stretch_at(zone, s.until);
		if (!gap && wall >= s.until + s.time->offset && wall < s.until + next.time->offset) {
			gap = true;
			found.from = s.until + s.time->offset;
			found.to = s.until + next.time->offset;
			if (!found.count)
				found.second[0] = second;
		}
		s = next;
	}
	if (found.count)
		found.from = found.to = 0;
	return found;
}

bool pm_wall_read(const char *string, int64_t *wall, const char **why)
{
	char whole[32];
	struct pm_text text;
	struct pm_when when;
	size_t length = string ? strlen(string) : 0;
	pm_text_fixed(&text, whole, sizeof whole);
	/* the reading of a time without its offset: what follows must be an offset */
	pm_text_add(&text, "%s%sZ", string ? string : "", length == 16 ? ":00" : "");
	if (length != 16 && length != 19) {
		if (why)
			*why = "a wall time looks like 2026-10-13 09:00";
		return false;
	}
	if (!pm_when_read(whole, &when, why))
		return false;
	*wall = when.second;
	return true;
}

/* --- for people --- */

/* Date, when it is not `*day`, and time as a clock of that offset shows them. */
static void put_clock(struct pm_text *text, struct pm_when when, int64_t *day)
{
	int64_t local = when.second + (int64_t)when.offset * 60, today = when_day_of(local);
	int rest = (int)(local - today * 86400);
	char date[PM_WHEN_TEXT];
	if (today != *day)
		pm_text_add(text, "%s ", pm_day_write(today, date));
	*day = today;
	pm_text_add(text, "%02d:%02d", rest / 3600, rest / 60 % 60);
	if (rest % 60)
		pm_text_add(text, ":%02d", rest % 60);
}

static void put_offset(struct pm_text *text, struct pm_when when, const char *abbreviation)
{
	unsigned minutes = (unsigned)(when.offset < 0 ? -when.offset : when.offset);
	if (when.offset == 0 && (!abbreviation || pm_same(abbreviation, "UTC"))) {
		pm_text_str(text, " UTC");
		return;
	}
	pm_text_add(text, " %c%02u:%02u", when.offset < 0 ? '-' : '+', minutes / 60, minutes % 60);
	/* one such as +0545 would say it twice */
	if (abbreviation && pm_is_alpha(*abbreviation))
		pm_text_add(text, " %s", abbreviation);
}

struct shown {
	struct pm_when when;
	const char *abbreviation;   /* null: none */
};

static struct shown local_of(const struct pm_zone *zone, struct pm_when when)
{
	struct pm_when local = pm_zone_when(zone, when.second);
	struct pm_zone_time time = pm_zone_at(zone, when.second);
	return (struct shown){ local, time.offset == local.offset * 60 ? time.abbreviation : NULL };
}

/* `to` may be null: one time. */
static void put_span(struct pm_text *text, const struct shown *from, const struct shown *to, int64_t *day)
{
	put_clock(text, from->when, day);
	if (to && (from->when.offset != to->when.offset || !pm_same(from->abbreviation, to->abbreviation)))
		put_offset(text, from->when, from->abbreviation);
	if (to) {
		pm_text_str(text, " to ");
		put_clock(text, to->when, day);
	}
	put_offset(text, to ? to->when : from->when, to ? to->abbreviation : from->abbreviation);
}

bool pm_zone_plain(const struct pm_zone *zone, struct pm_when when)
{
	if (!zone || !when.known)
		return true;
	struct pm_zone_time time = pm_zone_at(zone, when.second);
	return when.offset == 0 && time.offset == 0 && pm_same(time.abbreviation, "UTC");
}

static void say(struct pm_text *text, const struct pm_zone *zone, struct pm_when from, const struct pm_when *until)
{
	char a[PM_WHEN_TEXT], b[PM_WHEN_TEXT];
	struct shown other[2] = { { from, NULL }, { until ? *until : from, NULL } };
	if (pm_zone_plain(zone, from) && pm_zone_plain(zone, other[1].when)) {
		pm_text_add(text, until ? "%s to %s" : "%s", pm_when_write(from, a), until ? pm_when_write(*until, b) : "");
		return;
	}
	struct shown local[2] = { local_of(zone, from), local_of(zone, other[1].when) };
	bool as_written = local[0].when.offset == from.offset && local[1].when.offset == other[1].when.offset;
	int64_t day = INT64_MIN;
	put_span(text, &local[0], until ? &local[1] : NULL, &day);
	pm_text_add(text, ", %s", zone->name);
	if (as_written && !from.offset && !other[1].when.offset)
		return;
	/* another day's date is told again */
	day = when_day_of(from.second + (int64_t)local[0].when.offset * 60);
	if (as_written)
		other[0].when.offset = other[1].when.offset = 0;
	bool utc = !other[0].when.offset && !other[1].when.offset;
	pm_text_str(text, utc ? " (" : " (written ");
	put_span(text, &other[0], until ? &other[1] : NULL, &day);
	pm_text_char(text, ')');
}

void pm_zone_say(struct pm_text *text, const struct pm_zone *zone, struct pm_when when)
{
	say(text, zone, when, NULL);
}

void pm_zone_say_window(struct pm_text *text, const struct pm_zone *zone, struct pm_when from, struct pm_when until)
{
	say(text, zone, from, &until);
}
