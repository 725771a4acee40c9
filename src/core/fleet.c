#include "portmuster/fleet.h"

#include <string.h>

#include "core/fleet_parts.h"

const char *pm_holder_word(enum pm_holder holder)
{
	switch (holder) {
	case PM_HOLDER_NOBODY: return "nobody";
	case PM_HOLDER_TECHNICIAN: return "technician";
	case PM_HOLDER_LEAD: return "lead";
	case PM_HOLDER_DESK: return "desk";
	case PM_HOLDER_CENTRE: return "operations centre";
	case PM_HOLDERS: break;
	}
	return "unknown";
}

const char *pm_phase_state_word(enum pm_phase_state state)
{
	switch (state) {
	case PM_PHASE_LATER: return "not yet";
	case PM_PHASE_SHUT: return "shut";
	case PM_PHASE_OPEN: return "open";
	case PM_PHASE_CLOSED: return "closed";
	}
	return "unknown";
}

/* --- options --- */

void pm_fleet_defaults(struct pm_fleet_options *options)
{
	*options = (struct pm_fleet_options){
		.stall_days = PM_STALL_DAYS, .soon_hours = PM_SOON_HOURS, .work_hours = PM_WORK_HOURS,
	};
}

static bool refuse(const struct pm_fleet_options *options, struct pm_fault *fault, struct pm_word word,
                   const char *what, const char *why)
{
	char quoted[200];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, word.text);
	return pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ options->file, word.line, word.column },
	               "%s %s: %s", what, quoted, why);
}

/* The offset is read as the end of a time. */
static bool read_offset(const char *offset, int32_t *minutes, const char **why)
{
	char whole[48];
	struct pm_text text;
	struct pm_when when;
	pm_text_fixed(&text, whole, sizeof whole);
	pm_text_add(&text, "2000-01-01T00:00:00%s", offset);
	/* a fraction before the offset would pass too */
	if (text.cut || offset[0] == '.' || !pm_when_read(whole, &when, why)) {
		*why = "an offset looks like +01:00 or Z";
		return false;
	}
	*minutes = when.offset;
	return true;
}

uint64_t fleet_way_key(const struct pm_travel *way)
{
	uint64_t from = fleet_hash_end(fleet_hash_name(FLEET_HASH_START, way->from.text));
	uint64_t to = fleet_hash_end(fleet_hash_name(FLEET_HASH_START, way->to.text));
	return from + to;   /* the same in either direction */
}

static bool settle_travel(const struct pm_fleet_options *options, struct pm_fault *fault)
{
	struct pm_arena scratch;
	pm_arena_init(&scratch);
	struct fleet_keys keys = { pm_arena_array(&scratch, options->travel_count, sizeof *keys.key), 0 };
	bool good = keys.key != NULL;
	for (size_t i = 0; good && i < options->travel_count; i++) {
		const struct pm_travel *way = &options->travel[i];
		if (pm_same_nocase(way->from.text, way->to.text)) {
			good = refuse(options, fault, way->to, "way to", "it leads from a site to itself");
			pm_fail_remedy(fault, "name two sites");
		}
		keys.key[keys.count++] = (struct fleet_key){ fleet_way_key(way), 0, (uint32_t)i };
	}
	if (good && !fleet_sort(&keys, &scratch))
		good = false;
	for (size_t i = 1; good && i < keys.count; i++)
		if (keys.key[i].key == keys.key[i - 1].key) {
			good = refuse(options, fault, options->travel[keys.key[i].item].from, "way from",
			              "it stands twice; one row serves both directions");
			pm_fail_remedy(fault, "keep one of the two rows");
		}
	if (scratch.failed)
		pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ options->file, 0, 0 }, "out of memory");
	pm_arena_free(&scratch);
	return good;
}

bool pm_fleet_options_settle(struct pm_fleet_options *options, struct pm_fault *fault)
{
	const char *why = "";
	options->has_deadline = pm_given(options->deadline);
	if (options->has_deadline && !pm_day_read(options->deadline.text, &options->deadline_day, &why)) {
		refuse(options, fault, options->deadline, "deadline", why);
		return pm_fail_remedy(fault, "write it as a full date, such as 2026-03-02");
	}
	options->desk_minutes = 0;
	if (pm_given(options->desk_offset) &&
	    !read_offset(options->desk_offset.text, &options->desk_minutes, &why)) {
		refuse(options, fault, options->desk_offset, "desk-offset", why);
		return pm_fail_remedy(fault, "write how far the desk's clock is ahead of UTC, such as +01:00");
	}
	return settle_travel(options, fault);
}

/* --- the check --- */

void fleet_name(struct pm_text *text, const struct pm_site_summary *site)
{
	pm_text_visible(text, site->file, strlen(site->file));
	pm_text_add(text, " (%s)", site->code);
}

struct pm_fleet_finding *fleet_add(struct fleet_check *check, enum pm_code code, const uint32_t *site,
                                   size_t count, const struct pm_text *message)
{
	struct pm_fleet_findings *list = check->findings;
	const struct pm_code_row *row = pm_code_row(code);
	bool practice = count && check->fleet->site[site[0]].practice;
	uint32_t *kept = pm_arena_array(check->arena, count, sizeof *kept);
	char *said = pm_arena_copy(check->arena, message->data, message->length);
	if (!kept || !said || message->cut)
		return NULL;
	void *items = list->item;
	struct pm_fleet_finding *finding = pm_arena_push(check->arena, &items, &list->count, &list->room, sizeof *finding);
	list->item = items;
	if (!finding)
		return NULL;
	if (count)
		memcpy(kept, site, count * sizeof *kept);
	*finding = (struct pm_fleet_finding){
		.code = code, .site = kept, .count = count, .message = said, .remedy = row->remedy,
		.severity = practice ? row->practice : row->severity,
	};
	return finding;
}

static bool in_order(struct fleet_check *check)
{
	struct pm_fleet_findings *list = check->findings;
	struct fleet_keys keys = { pm_arena_array(&check->scratch, list->count, sizeof *keys.key), list->count };
	struct pm_fleet_finding *sorted = pm_arena_array(&check->scratch, list->count, sizeof *sorted);
	if (!keys.key || !sorted)
		return false;
	for (size_t i = 0; i < list->count; i++) {
		const struct pm_fleet_finding *finding = &list->item[i];
		/* what is about no site comes last of its weight */
		keys.key[i] = (struct fleet_key){
			(uint64_t)(PM_STOP - finding->severity) << 32 | (finding->count ? finding->site[0] : UINT32_MAX), 0, (uint32_t)i };
	}
	if (!fleet_sort(&keys, &check->scratch))
		return false;
	for (size_t i = 0; i < list->count; i++)
		sorted[i] = list->item[keys.key[i].item];
	if (list->count)
		memcpy(list->item, sorted, list->count * sizeof *sorted);
	return true;
}

/* The worst come first: whichever names a site first is its worst. */
static bool mark_worst(struct fleet_check *check)
{
	struct pm_fleet_findings *list = check->findings;
	uint32_t *worst = pm_arena_array(check->arena, check->fleet->count, sizeof *worst);
	list->worst = worst;
	for (size_t i = 0; worst && i < list->count; i++)
		for (size_t k = 0; k < list->item[i].count; k++)
			if (!worst[list->item[i].site[k]])
				worst[list->item[i].site[k]] = (uint32_t)i + 1;
	return worst != NULL;
}

bool pm_fleet_check(const struct pm_fleet *fleet, struct pm_when now, struct pm_arena *arena,
                    struct pm_fleet_findings *findings)
{
	struct fleet_check check = { .fleet = fleet, .now = now, .arena = arena, .findings = findings };
	*findings = (struct pm_fleet_findings){ 0 };
	pm_arena_init(&check.scratch);
	bool good = fleet_check_same(&check) && fleet_check_windows(&check) && fleet_check_ways(&check) &&
	            fleet_check_days(&check) && in_order(&check) && mark_worst(&check);
	good = good && !check.scratch.failed && !arena->failed;
	pm_arena_free(&check.scratch);
	return good;
}
