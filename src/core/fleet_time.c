/* Rules about windows, days and waiting. */
#include "core/fleet_parts.h"

#define DAY 86400

/* The day on which a time falls, `minutes` east of UTC. */
static int64_t day_of(int64_t second, int32_t minutes)
{
	int64_t local = second + (int64_t)minutes * 60;
	return local / DAY - (local % DAY < 0);
}

/* --- two windows of one crew --- */

bool fleet_booked(const struct fleet_check *check, const struct pm_site_summary *site)
{
	return !site->fault && !pm_site_done(site) && site->has_window && site->crew_key &&
	       site->until.second > check->now.second;
}

bool fleet_same_crew(const struct pm_site_summary *a, const struct pm_site_summary *b)
{
	return a->practice == b->practice && a->crew_key == b->crew_key &&
	       fleet_hash_name(FLEET_HASH_START, a->crew) == fleet_hash_name(FLEET_HASH_START, b->crew);
}

void fleet_say_two(struct pm_text *text, const struct pm_site_summary *first, const struct pm_site_summary *second)
{
	char a[PM_WHEN_TEXT], b[PM_WHEN_TEXT];
	pm_text_add(text, "%s has ", first->crew);
	fleet_name(text, first);
	pm_text_add(text, " until %s and ", pm_when_write(first->until, a));
	fleet_name(text, second);
	pm_text_add(text, " from %s", pm_when_write(second->from, b));
}

static bool clash(struct fleet_check *check, uint32_t a, uint32_t b)
{
	const struct pm_site_summary *first = &check->fleet->site[a], *second = &check->fleet->site[b];
	int64_t end = first->until.second < second->until.second ? first->until.second : second->until.second;
	char span[PM_WHEN_TEXT];
	struct pm_text text;
	pm_text_grow(&text, &check->scratch);
	fleet_say_two(&text, first, second);
	pm_text_add(&text, ": they overlap by %s", pm_when_span(end - second->from.second, span));
	return fleet_add(check, PM_APPOINTMENT_CLASH, (const uint32_t[]){ a, b }, 2, &text) != NULL;
}

/* Each window is held against the earlier one of its crew that ends last: so
 * every window that overlaps another is named, however many there are. */
static bool check_overlaps(struct fleet_check *check)
{
	const struct pm_fleet *fleet = check->fleet;
	struct fleet_keys keys = { pm_arena_array(&check->scratch, fleet->count, sizeof *keys.key), 0 };
	if (!keys.key)
		return false;
	for (size_t i = 0; i < fleet->count; i++)
		if (fleet_booked(check, &fleet->site[i]))
			keys.key[keys.count++] = (struct fleet_key){
				fleet_signed_key(fleet->site[i].from.second), (uint32_t)i, 0 };
	if (!fleet_sort(&keys, &check->scratch))
		return false;
	for (size_t i = 0; i < keys.count; i++) {
		const struct pm_site_summary *site = &fleet->site[keys.key[i].site];
		keys.key[i].key = fleet_key_apart(site->crew_key, site->practice);
	}
	if (!fleet_sort(&keys, &check->scratch))
		return false;
	uint32_t last = 0;
	for (size_t i = 0; i < keys.count; i++) {
		uint32_t here = keys.key[i].site;
		if (i == 0 || !fleet_same_crew(&fleet->site[last], &fleet->site[here])) {
			last = here;
			continue;
		}
		if (fleet->site[here].from.second < fleet->site[last].until.second && !clash(check, last, here))
			return false;
		if (fleet->site[here].until.second > fleet->site[last].until.second)
			last = here;
	}
	return true;
}

bool fleet_check_windows(struct fleet_check *check)
{
	return check_overlaps(check);
}

/* --- the desk's days --- */

static bool full_day(struct fleet_check *check, const struct pm_fleet_options *o, int64_t day, const struct fleet_key *key,
                     size_t count)
{
	char written[PM_WHEN_TEXT];
	struct pm_text text;
	uint32_t *site = pm_arena_array(&check->scratch, count, sizeof *site);
	if (!site)
		return false;
	for (size_t i = 0; i < count; i++)
		site[i] = key[i].site;
	pm_text_grow(&text, &check->scratch);
	pm_text_add(&text, "%zu appointments on %s, and the desk takes %lld: ", count, pm_day_write(day, written),
	            (long long)o->desk_daily);
	for (size_t i = 0; i < count && i < 4; i++) {
		pm_text_str(&text, !i ? "" : i + 1 == count ? " and " : ", ");
		fleet_name(&text, &check->fleet->site[site[i]]);
	}
	if (count > 4)
		pm_text_add(&text, " and %zu more", count - 4);
	return fleet_add(check, PM_DESK_FULL, site, count, &text) != NULL;
}

/* Days that have passed can't be booked otherwise any more. */
static bool check_limit(struct fleet_check *check, const struct pm_fleet_options *o)
{
	const struct pm_fleet *fleet = check->fleet;
	struct fleet_keys keys = { pm_arena_array(&check->scratch, fleet->count, sizeof *keys.key), 0 };
	if (!keys.key)
		return false;
	for (size_t i = 0; i < fleet->count; i++) {
		const struct pm_site_summary *site = &fleet->site[i];
		if (site->fault || site->practice || !site->has_window)
			continue;
		int64_t day = day_of(site->from.second, o->desk_minutes);
		if (day >= day_of(check->now.second, o->desk_minutes))
			keys.key[keys.count++] = (struct fleet_key){ fleet_signed_key(day), (uint32_t)i, 0 };
	}
	if (!fleet_sort(&keys, &check->scratch))
		return false;
	for (size_t from = 0, to; from < keys.count; from = to) {
		for (to = from + 1; to < keys.count && keys.key[to].key == keys.key[from].key; to++)
			;
		int64_t day = (int64_t)(keys.key[from].key ^ (uint64_t)1 << 63);
		if (to - from > (uint64_t)o->desk_daily && !full_day(check, o, day, &keys.key[from], to - from))
			return false;
	}
	return true;
}

/* Does another folder give the same desk, whose day begins alike, a lower limit? */
static bool outdone(const struct pm_fleet *fleet, size_t folder)
{
	const struct pm_fleet_options *o = pm_fleet_options_at(fleet, folder);
	for (size_t f = 0; f <= fleet->folder_count; f++) {
		const struct pm_fleet_options *other = pm_fleet_options_at(fleet, f);
		if (other->desk_daily > 0 && other->desk_minutes == o->desk_minutes &&
		    (other->desk_daily < o->desk_daily || (other->desk_daily == o->desk_daily && f < folder)))
			return true;
	}
	return false;
}

/* There is one desk, whatever folders its appointments are in. */
static bool check_desk(struct fleet_check *check)
{
	const struct pm_fleet *fleet = check->fleet;
	for (size_t f = 0; f <= fleet->folder_count; f++) {
		const struct pm_fleet_options *o = pm_fleet_options_at(fleet, f);
		if (o->desk_daily > 0 && !outdone(fleet, f) && !check_limit(check, o))
			return false;
	}
	return true;
}

/* --- one site and the calendar --- */

static bool about_one(struct fleet_check *check, enum pm_code code, size_t site, struct pm_text *rest)
{
	struct pm_text text;
	pm_text_grow(&text, &check->scratch);
	fleet_name(&text, &check->fleet->site[site]);
	pm_text_str(&text, ": ");
	pm_text_put(&text, rest->data, rest->length);
	return fleet_add(check, code, (const uint32_t[]){ (uint32_t)site }, 1, &text) != NULL;
}

static bool check_stalled(struct fleet_check *check, size_t index, struct pm_text *text)
{
	const struct pm_site_summary *site = &check->fleet->site[index];
	int64_t days = pm_fleet_options_at(check->fleet, site->folder)->stall_days;
	char span[PM_WHEN_TEXT];
	if (days <= 0 || !site->has_last || check->now.second - site->last <= days * DAY)
		return true;
	pm_text_add(text, "the last reading is %s old; the next move is with the %s",
	            pm_when_span(check->now.second - site->last, span), pm_holder_word(site->holder));
	return about_one(check, PM_JOB_STALLED, index, text);
}

static bool check_near(struct fleet_check *check, size_t index, struct pm_text *text)
{
	const struct pm_site_summary *site = &check->fleet->site[index];
	int64_t hours = pm_fleet_options_at(check->fleet, site->folder)->soon_hours;
	int64_t left = site->from.second - check->now.second;
	char span[PM_WHEN_TEXT];
	if (hours <= 0 || !site->has_window || (site->set && !site->stops) || left > hours * 3600 ||
	    site->until.second <= check->now.second)
		return true;
	if (left > 0)
		pm_text_add(text, "the window opens in %s; ", pm_when_span(left, span));
	else
		pm_text_add(text, "the window is open and closes in %s; ",
		            pm_when_span(site->until.second - check->now.second, span));
	if (site->set)
		pm_text_add(text, "%zu stop finding%s stand%s", site->stops, site->stops == 1 ? "" : "s",
		            site->stops == 1 ? "s" : "");
	else
		pm_text_add(text, "%s: %s (%s)", site->waits_in, site->waits_why, site->waits_who);
	return about_one(check, PM_WINDOW_NEAR, index, text);
}

/* A due day ends at midnight UTC, as in a single check. Without one, the fleet's
 * deadline is the site's. */
static bool check_due(struct fleet_check *check, size_t index, struct pm_text *text)
{
	const struct pm_site_summary *site = &check->fleet->site[index];
	const struct pm_fleet_options *o = pm_fleet_options_at(check->fleet, site->folder);
	char written[PM_WHEN_TEXT];
	if (!site->has_due && !o->has_deadline)
		return true;
	int64_t due = site->has_due ? site->due : o->deadline_day;
	if (day_of(check->now.second, 0) <= due)
		return true;
	pm_text_add(text, "%s %s; the next move is with the %s",
	            site->has_due ? "was due on" : "the fleet's deadline was", pm_day_write(due, written),
	            pm_holder_word(site->holder));
	return about_one(check, PM_JOB_OVERDUE, index, text);
}

bool fleet_check_days(struct fleet_check *check)
{
	static bool (*const rules[])(struct fleet_check *, size_t, struct pm_text *) = {
		check_stalled, check_near, check_due,
	};
	struct pm_text text;
	if (!check_desk(check))
		return false;
	for (size_t i = 0; i < check->fleet->count; i++) {
		if (check->fleet->site[i].fault || pm_site_done(&check->fleet->site[i]))
			continue;
		for (size_t k = 0; k < sizeof rules / sizeof *rules; k++) {
			pm_text_grow(&text, &check->scratch);
			if (!rules[k](check, i, &text) || text.cut)
				return false;
		}
	}
	return true;
}
