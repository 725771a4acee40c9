/* Rules about the ways between sites. The tables of all folders serve the whole
 * fleet: a crew may go from one region to another. */
#include <string.h>

#include "core/fleet_parts.h"

/* The ways of all tables, row by row; of two between the same sites the longer one
 * holds. */
struct ways {
	const struct pm_travel **way;
	bool *dropped;
	uint32_t *folder;
	size_t count;
};

static bool collect(struct fleet_check *check, struct ways *ways)
{
	const struct pm_fleet *fleet = check->fleet;
	size_t most = 0;
	for (size_t f = 0; f <= fleet->folder_count; f++)
		most += pm_fleet_options_at(fleet, f)->travel_count;
	struct fleet_keys keys = { pm_arena_array(&check->scratch, most, sizeof *keys.key), most };
	ways->way = pm_arena_array(&check->scratch, most, sizeof *ways->way);
	ways->dropped = pm_arena_array(&check->scratch, most, sizeof *ways->dropped);
	ways->folder = pm_arena_array(&check->scratch, most, sizeof *ways->folder);
	if (!keys.key || !ways->way || !ways->dropped || !ways->folder)
		return false;
	for (size_t f = 0; f <= fleet->folder_count; f++) {
		const struct pm_fleet_options *o = pm_fleet_options_at(fleet, f);
		for (size_t i = 0; i < o->travel_count; i++) {
			size_t at = ways->count++;
			ways->way[at] = &o->travel[i];
			ways->folder[at] = (uint32_t)f;
			keys.key[at] = (struct fleet_key){ fleet_way_key(&o->travel[i]), 0, (uint32_t)at };
		}
	}
	if (!fleet_sort(&keys, &check->scratch))
		return false;
	for (size_t i = 1, best = 0; i < keys.count; i++) {
		uint32_t here = keys.key[i].item, before = keys.key[best].item;
		if (keys.key[i].key != keys.key[best].key) {
			best = i;
			continue;
		}
		bool longer = ways->way[here]->minutes > ways->way[before]->minutes;
		ways->dropped[longer ? before : here] = true;
		best = longer ? i : best;
	}
	return true;
}

static bool check_way(struct fleet_check *check, const struct pm_travel *way, uint32_t a, uint32_t b)
{
	const struct pm_site_summary *first = &check->fleet->site[a], *second = &check->fleet->site[b];
	if (!fleet_booked(check, first) || !fleet_booked(check, second) || !fleet_same_crew(first, second))
		return true;
	if (first->from.second > second->from.second) {
		const struct pm_site_summary *later = first;
		uint32_t index = a;
		first = second, second = later;
		a = b, b = index;
	}
	int64_t gap = second->from.second - first->until.second;
	/* overlaps have been named already */
	if (gap < 0 || gap >= way->minutes * 60)
		return true;
	char between[PM_WHEN_TEXT], takes[PM_WHEN_TEXT];
	struct pm_text text;
	pm_text_grow(&text, &check->scratch);
	fleet_say_two(&text, first, second);
	pm_text_add(&text, ": %s between them, and the way takes %s", pm_when_span(gap, between),
	            pm_when_span(way->minutes * 60, takes));
	struct pm_fleet_finding *finding =
		fleet_add(check, PM_APPOINTMENT_CLASH, (const uint32_t[]){ a, b }, 2, &text);
	if (finding)
		finding->remedy = "book one of them later, or send another crew";
	return finding != NULL;
}

static uint64_t code_key(struct pm_word code)
{
	return fleet_hash_end(fleet_hash_name(FLEET_HASH_START, code.text));
}

static bool stands(const struct fleet_keys *codes, struct pm_word code)
{
	uint64_t key = code_key(code);
	size_t at = fleet_find(codes, key);
	return at < codes->count && codes->key[at].key == key;
}

/* A code that no job bears is often a misspelt one, and then the way guards nothing. */
static bool check_ends(struct fleet_check *check, const struct fleet_keys *codes, const struct pm_fleet_options *o,
                       const struct pm_travel *way)
{
	bool from = stands(codes, way->from), to = stands(codes, way->to);
	if (from && to)
		return true;
	struct pm_place place = { o->file ? o->file : "", (from ? way->to : way->from).line, (from ? way->to : way->from).column };
	struct pm_text text;
	pm_text_grow(&text, &check->scratch);
	pm_text_visible(&text, place.file, strlen(place.file));
	if (place.line)
		pm_text_add(&text, ":%u", (unsigned)place.line);
	pm_text_str(&text, ": the way from ");
	pm_text_quote(&text, way->from.text);
	pm_text_str(&text, " to ");
	pm_text_quote(&text, way->to.text);
	pm_text_str(&text, ": no job that was read has the site code ");
	pm_text_quote(&text, from ? way->to.text : way->from.text);
	if (!from && !to) {
		pm_text_str(&text, ", nor ");
		pm_text_quote(&text, way->to.text);
	}
	struct pm_fleet_finding *finding = fleet_add(check, PM_WAY_UNKNOWN, NULL, 0, &text);
	if (finding)
		finding->place = place;
	return finding != NULL;
}

/* The table is gone through by its rows: only ways that are known count. */
bool fleet_check_ways(struct fleet_check *check)
{
	const struct pm_fleet *fleet = check->fleet;
	struct ways ways = { 0 };
	if (!collect(check, &ways))
		return false;
	struct fleet_keys keys = { pm_arena_array(&check->scratch, fleet->count, sizeof *keys.key), 0 };
	if (!keys.key)
		return false;
	for (size_t i = 0; i < fleet->count && ways.count; i++)
		if (fleet->site[i].code_key)
			keys.key[keys.count++] = (struct fleet_key){ fleet->site[i].code_key, (uint32_t)i, 0 };
	if (!fleet_sort(&keys, &check->scratch))
		return false;
	for (size_t w = 0; w < ways.count && keys.count; w++) {
		const struct pm_travel *way = ways.way[w];
		const struct pm_fleet_options *o = pm_fleet_options_at(fleet, ways.folder[w]);
		uint64_t from = code_key(way->from), to = code_key(way->to);
		if (!o->partial && !check_ends(check, &keys, o, way))
			return false;
		for (size_t i = fleet_find(&keys, from); !ways.dropped[w] && i < keys.count && keys.key[i].key == from; i++)
			for (size_t k = fleet_find(&keys, to); k < keys.count && keys.key[k].key == to; k++)
				if (!check_way(check, way, keys.key[i].site, keys.key[k].site))
					return false;
	}
	return true;
}
