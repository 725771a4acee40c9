/* A window as people write one: "2026-03-09 09:00 to 11:00" on the site's clocks, or
 * with an offset, "2026-03-09 09:00 +01:00 to 11:00". */
#include <string.h>

#include "portmuster/text.h"
#include "walk/state.h"

/* One end as it was typed; what was not given is empty. */
struct end {
	char date[12], time[24], offset[8];
};

/* --- reading --- */

static void blanks(const char **at)
{
	while (pm_is_blank(**at))
		(*at)++;
}

/* How much of the text fits the mask, in which 9 stands for a digit. */
static bool fits(const char *at, const char *mask)
{
	for (; *mask; mask++, at++)
		if (*mask == '9' ? !pm_is_digit(*at) : *at != *mask)
			return false;
	return true;
}

static void take(const char **at, size_t length, char *out, size_t room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	pm_text_put(&text, *at, length);
	*at += length;
}

static bool take_date(const char **at, struct end *end)
{
	blanks(at);
	if (!fits(*at, "9999-99-99"))
		return false;
	take(at, 10, end->date, sizeof end->date);
	if (pm_lower(**at) == 't')
		(*at)++;
	return true;
}

/* A fraction of a second is passed over, as in RFC 3339 times everywhere. */
static bool take_time(const char **at, struct end *end)
{
	blanks(at);
	if (!fits(*at, "99:99"))
		return false;
	take(at, fits(*at, "99:99:99") ? 8 : 5, end->time, sizeof end->time);
	if (strlen(end->time) == 8 && **at == '.' && pm_is_digit((*at)[1]))
		do (*at)++; while (pm_is_digit(**at));
	const char *next = *at;
	blanks(&next);
	size_t length = pm_lower(*next) == 'z' ? 1 : fits(next, "+99:99") || fits(next, "-99:99") ? 6 : 0;
	if (!length)
		return true;
	*at = next;
	take(at, length, end->offset, sizeof end->offset);
	return true;
}

/* date time [offset] [to | - | /] [date] time [offset] */
static bool split(const char *at, struct end *from, struct end *until)
{
	memset(from, 0, sizeof *from);
	memset(until, 0, sizeof *until);
	if (!take_date(&at, from) || !take_time(&at, from))
		return false;
	blanks(&at);
	if (fits(at, "to"))
		at += 2;
	else if (*at == '-' || *at == '/')
		at++;
	if (!take_date(&at, until))
		memcpy(until->date, from->date, sizeof until->date);
	if (!take_time(&at, until))
		return false;
	blanks(&at);
	return *at == '\0';
}

/* --- meaning --- */

struct reading {
	const struct pm_zone *zone;        /* null: not known */
	const struct pm_zone_look *look;
	bool named;                        /* the job names a zone */
	struct pm_text *why;
};

static bool bad_form(struct reading *r, const char *reason)
{
	pm_text_add(r->why, "%s; write it like 2026-03-09 09:00%s to 11:00", reason, r->zone ? "" : " +01:00");
	return false;
}

/* The time of that day with that offset. */
static bool fixed(struct reading *r, const struct end *end, const char *offset, struct pm_when *when)
{
	char text[48];
	struct pm_text whole;
	const char *why = "";
	pm_text_fixed(&whole, text, sizeof text);
	pm_text_add(&whole, "%sT%s%s%s", end->date, end->time, strlen(end->time) == 5 ? ":00" : "", offset);
	return pm_when_read(text, when, &why) || bad_form(r, why);
}

/* Wall times are shown as UTC would be. */
static void put_wall(struct pm_text *text, int64_t wall, bool date)
{
	char shown[PM_WHEN_TEXT] = "";
	pm_when_write(pm_when_utc(wall), shown);
	shown[10] = ' ';
	pm_text_put(text, shown + (date ? 0 : 11), date ? 16 : 5);
}

static const char *offset_at(const struct pm_zone *zone, int64_t second, char out[static PM_WHEN_TEXT])
{
	memset(out, 0, PM_WHEN_TEXT);
	return pm_when_write(pm_zone_when(zone, second), out) + 19;
}

static bool say_gap(struct reading *r, const struct end *end, const struct pm_wall *wall)
{
	bool days = wall->from / 86400 != wall->to / 86400;
	char offset[PM_WHEN_TEXT];
	struct pm_zone_time then = pm_zone_at(r->zone, wall->second[0]);
	pm_text_add(r->why, "%s %s does not come on the clocks of %s, which go from ", end->date, end->time, r->zone->name);
	put_wall(r->why, wall->from, days);
	pm_text_str(r->why, " to ");
	put_wall(r->why, wall->to, days);
	pm_text_str(r->why, "; probably meant is ");
	put_wall(r->why, wall->second[0] + then.offset, true);
	pm_text_add(r->why, " %s", offset_at(r->zone, wall->second[0], offset));
	return false;
}

static bool say_twice(struct reading *r, const struct end *end, const struct pm_wall *wall)
{
	char a[PM_WHEN_TEXT], b[PM_WHEN_TEXT];
	pm_text_add(r->why, "%s %s comes twice on the clocks of %s: write %s behind it for the earlier, %s for the later", end->date,
	            end->time, r->zone->name, offset_at(r->zone, wall->second[0], a), offset_at(r->zone, wall->second[1], b));
	return false;
}

/* A time on the site's clocks; `other` says which of two it is, when it is given. */
static bool on_clocks(struct reading *r, const struct end *end, const struct pm_when *other, struct pm_when *when)
{
	char text[48];
	struct pm_text whole;
	const char *why = "";
	int64_t second;
	pm_text_fixed(&whole, text, sizeof text);
	pm_text_add(&whole, "%s %s", end->date, end->time);
	if (!pm_wall_read(text, &second, &why))
		return bad_form(r, why);
	struct pm_wall wall = pm_zone_wall(r->zone, second);
	if (wall.count == 0)
		return say_gap(r, end, &wall);
	size_t which = 0;
	if (wall.count == 2) {
		while (which < 2 && !(other && pm_zone_when(r->zone, wall.second[which]).offset == other->offset))
			which++;
		if (which == 2)
			return say_twice(r, end, &wall);
	}
	*when = pm_zone_when(r->zone, wall.second[which]);
	return true;
}

static bool no_zone(struct reading *r)
{
	if (r->named)
		pm_text_add(r->why, "the site's time zone is not known (%s): ", r->look->why ? r->look->why : "not looked up");
	return bad_form(r, "an offset belongs behind the time");
}

/* An end without an offset goes by the site's clocks, unless the start was written in
 * an offset that those do not have: then by that. */
static bool mean(struct reading *r, const struct end *a, const struct end *b, struct pm_when *from, struct pm_when *until)
{
	bool given = a->offset[0] != '\0';
	if (!r->zone && !given)
		return no_zone(r);
	if (given ? !fixed(r, a, a->offset, from) : !on_clocks(r, a, NULL, from))
		return false;
	if (b->offset[0])
		return fixed(r, b, b->offset, until);
	if (!r->zone || pm_zone_at(r->zone, from->second).offset != from->offset * 60)
		return fixed(r, b, a->offset, until);
	return on_clocks(r, b, given ? from : NULL, until);
}

bool walk_window(const struct session *session, const char *typed, char out[static 80], struct pm_text *why)
{
	struct pm_when from, until;
	struct end a, b;
	char text[PM_WHEN_TEXT];
	struct pm_text whole;
	const char *reason = "";
	struct reading r = { session->zone.look.zone, &session->zone.look, pm_given(session->job.job.zone), why };
	if (!split(typed, &a, &b))
		return bad_form(&r, r.zone ? "a window is a date, a time and the end" : "a window is a date, a time, an offset, and the end");
	if (!mean(&r, &a, &b, &from, &until))
		return false;
	if (until.second <= from.second) {
		pm_text_add(why, "the window ends before it starts; over midnight the end has its date too, like "
		            "2026-03-09 23:00%s to 2026-03-10 02:00", r.zone ? "" : " +01:00");
		return false;
	}
	pm_text_fixed(&whole, out, 80);
	pm_text_str(&whole, pm_when_write(from, text));
	pm_text_char(&whole, '/');
	pm_text_str(&whole, pm_when_write(until, text));
	return pm_window_read(out, &from, &until, &reason) || bad_form(&r, reason);
}
