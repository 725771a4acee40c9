/* Rules about the site's time zone, and the offset that its appointment is written with. */
#include "portmuster/text.h"

#include "core/judge.h"
#include "core/zone_parts.h"

#define YEAR (366 * 86400)

static void judge_name(const struct pm_case *c, struct pm_result *result)
{
	const struct pm_zone_look *look = c->zone;
	bool unknown = look && look->standing == PM_LOOK_UNKNOWN;
	if (look && look->standing == PM_LOOK_FOUND)
		return;
	const char *quoted = pm_quoted(result->findings.arena, c->job->zone.text);
	const char *why = look && look->why ? look->why : "nobody asked for it";
	struct pm_finding *finding = pm_findings_add(&result->findings, unknown ? PM_ZONE_UNKNOWN : PM_ZONE_UNCHECKED,
		c->gear->training, judge_place(c->job, c->job->zone), unknown ? "time zone %s: %s" : "time zone %s was not looked up: %s",
		quoted, why);
	if (finding) {
		finding->field = "site.zone";
		finding->suggestion = unknown ? look->meant : NULL;
	}
}

/* Does the zone use this offset at some time within a year of the instant? */
static bool has_offset(const struct pm_zone *zone, int64_t second, int32_t offset)
{
	for (int64_t at = second - YEAR; at <= second + YEAR;) {
		struct zone_stretch s = zone_stretch_at(zone, at);
		if (s.time->offset == offset)
			return true;
		if (s.until > second + YEAR)
			break;
		at = s.until;
	}
	return false;
}

enum pm_offset_oddity pm_zone_oddity(const struct pm_zone *zone, struct pm_when when)
{
	/* -00:00 says that the offset is not known (RFC 3339 section 4.3) */
	if (when.offset_unknown || pm_zone_at(zone, when.second).offset == when.offset * 60)
		return PM_OFFSET_USUAL;
	if (has_offset(zone, when.second, when.offset * 60))
		return PM_OFFSET_SLIPPED;
	/* a time in UTC says of no place's clocks what they show */
	return when.offset == 0 ? PM_OFFSET_USUAL : PM_OFFSET_ELSEWHERE;
}

/* What the zone makes of what was written: the same hour on its clocks, or the same instant. */
static struct pm_when mended(const struct pm_zone *zone, struct pm_when when, bool same_hour)
{
	int64_t second = when.second;
	if (same_hour && pm_zone_oddity(zone, when) != PM_OFFSET_USUAL)
		second = pm_zone_wall(zone, second + (int64_t)when.offset * 60).second[0];
	return pm_zone_when(zone, second);
}

static void judge_offset(const struct pm_case *c, struct pm_result *result, const struct pm_zone *zone,
                         const struct pm_reading *window, struct pm_when from, struct pm_when until)
{
	enum pm_offset_oddity first = pm_zone_oddity(zone, from), second = pm_zone_oddity(zone, until);
	bool slipped = first == PM_OFFSET_SLIPPED || second == PM_OFFSET_SLIPPED;
	if (first == PM_OFFSET_USUAL && second == PM_OFFSET_USUAL)
		return;
	struct pm_arena *arena = result->findings.arena;
	struct pm_when odd = first != PM_OFFSET_USUAL ? from : until, right = pm_zone_when(zone, odd.second);
	char written[PM_WHEN_TEXT] = "", there[PM_WHEN_TEXT] = "";
	struct pm_text text;
	pm_text_grow(&text, arena);
	pm_text_add(&text, "the appointment is written with %s where the clocks of %s have %s: ",
	            pm_when_write(odd, written) + 19, zone->name, pm_when_write(right, there) + 19);
	pm_zone_say_window(&text, zone, from, until);
	struct pm_finding *finding = pm_findings_add(&result->findings, PM_OFFSET_UNUSUAL, c->gear->training,
	                                             judge_place(c->job, window->value), "%s", text.data);
	if (!finding)
		return;
	finding->field = "desk/appointment";
	if (!slipped)
		finding->severity = PM_NOTE;
	struct pm_when begin = mended(zone, from, slipped), end = mended(zone, until, slipped);
	if (begin.second < end.second)
		finding->suggestion = pm_say(arena, "%s/%s", pm_when_write(begin, written), pm_when_write(end, there));
}

void judge_zone(const struct pm_case *c, struct pm_result *result)
{
	const struct pm_zone *zone = pm_case_zone(c);
	struct pm_when from, until;
	if (!pm_given(c->job->zone))
		return;
	judge_name(c, result);
	const struct pm_reading *window = zone ? pm_fact_last(c->job, "desk/appointment") : NULL;
	if (window && pm_window_read(window->value.text, &from, &until, NULL))
		judge_offset(c, result, zone, window, from, until);
}
