/* What closed jobs show of each phase, and what each open site has ahead. */
#include "core/forecast_parts.h"

#define DAY 86400

static bool counts(const struct pm_site_summary *site)
{
	return !site->fault && !site->practice;
}

/* Hours in which a site's crew works on one day. */
static int64_t hours_of(const struct layout *l, const struct pm_site_summary *site)
{
	int64_t hours = pm_fleet_options_at(l->fleet, site->folder)->work_hours;
	return hours > 0 && hours <= 24 ? hours : PM_WORK_HOURS;
}

/* Hours at a site in working time: of each whole day only the working hours. */
static int64_t working(int64_t hours, int64_t elapsed)
{
	int64_t day = hours * 3600, rest = elapsed % DAY;
	return elapsed / DAY * day + (rest < day ? rest : day);
}

/* How long a phase of a closed job took; negative: can't be told. */
static int64_t observed(const struct layout *l, const struct pm_site_summary *site, size_t phase)
{
	const struct pm_phase_summary *p = &site->phases[phase];
	if (!p->closed || !p->begun)
		return -1;
	if (p->who == PM_HOLDER_TECHNICIAN)
		return working(hours_of(l, site), p->closed - p->begun);
	/* with the others waiting is the greater part: from the closing before to its own */
	int64_t since = phase ? site->phases[phase - 1].closed : p->begun;
	return since ? p->closed - since : -1;
}

/* How long a closed job waited for its window; negative: can't be told. */
static int64_t waited(const struct pm_site_summary *site, size_t phase)
{
	const struct pm_phase_summary *p = &site->phases[phase];
	if (!p->by_window || !p->begun || !phase || !site->phases[phase - 1].closed)
		return -1;
	int64_t wait = p->begun - site->phases[phase - 1].closed;
	return wait > 0 ? wait : 0;
}

static uint64_t phase_key(const struct pm_site_summary *site, size_t phase)
{
	return fleet_hash_end(fleet_hash(fleet_hash(FLEET_HASH_START, site->plan), site->phases[phase].id));
}

static void fill_pool(struct layout *l, struct pool *pool, const struct fleet_key *key, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		const struct pm_site_summary *site = &l->fleet->site[key[i].site];
		l->pool_of[l->offset[key[i].site] + key[i].item] = (uint32_t)(pool - l->pool);
		if (!pm_site_done(site))
			continue;
		int64_t took = observed(l, site, key[i].item), wait = waited(site, key[i].item);
		if (took >= 0)
			l->duration[pool->from + pool->count++] = took;
		if (wait >= 0)
			l->wait[pool->waits_from + pool->waits_count++] = wait;
	}
}

/* Phases of one plan and id are one pool, whatever site they are of. */
static bool lay_pools(struct layout *l, struct pm_arena *scratch)
{
	const struct pm_fleet *fleet = l->fleet;
	struct fleet_keys keys = { 0 };
	l->offset = pm_arena_array(scratch, fleet->count + 1, sizeof *l->offset);
	if (!l->offset)
		return false;
	for (size_t i = 0; i < fleet->count; i++)
		l->offset[i + 1] = l->offset[i] + (counts(&fleet->site[i]) ? fleet->site[i].phase_count : 0);
	size_t phases = l->offset[fleet->count];
	keys.key = pm_arena_array(scratch, phases, sizeof *keys.key);
	l->pool_of = pm_arena_array(scratch, phases, sizeof *l->pool_of);
	l->pool = pm_arena_array(scratch, phases, sizeof *l->pool);
	l->duration = pm_arena_array(scratch, phases, sizeof *l->duration);
	l->wait = pm_arena_array(scratch, phases, sizeof *l->wait);
	if (!keys.key || !l->pool_of || !l->pool || !l->duration || !l->wait)
		return false;
	for (size_t i = 0; i < fleet->count; i++)
		for (size_t p = 0; counts(&fleet->site[i]) && p < fleet->site[i].phase_count; p++)
			keys.key[keys.count++] = (struct fleet_key){ phase_key(&fleet->site[i], p), (uint32_t)i, (uint32_t)p };
	if (!fleet_sort(&keys, scratch))
		return false;
	size_t used = 0, waits = 0;
	for (size_t from = 0, to; from < keys.count; from = to) {
		for (to = from + 1; to < keys.count && keys.key[to].key == keys.key[from].key; to++)
			;
		struct pool *pool = &l->pool[l->pools++];
		*pool = (struct pool){ .from = used, .waits_from = waits };
		fill_pool(l, pool, &keys.key[from], to - from);
		used += pool->count;
		waits += pool->waits_count;
	}
	return true;
}

static void lay_tasks(struct layout *l, struct open_site *open)
{
	const struct pm_site_summary *site = &l->fleet->site[open->site];
	open->from = l->tasks;
	for (size_t p = site->phase; p < site->phase_count; p++) {
		const struct pm_phase_summary *phase = &site->phases[p];
		if (phase->state == PM_PHASE_CLOSED)
			continue;
		uint32_t pool = l->pool_of[l->offset[open->site] + p];
		struct task *task = &l->task[l->tasks++];
		*task = (struct task){
			.pool = pool, .estimate = (int64_t)phase->minutes * 60, .crew = phase->who == PM_HOLDER_TECHNICIAN,
			.by_window = phase->by_window, .wait_known = l->pool[pool].waits_count >= l->least_observed,
		};
		task->basis = l->pool[pool].count >= l->least_observed ? PM_BASIS_OBSERVED
		              : task->estimate                         ? PM_BASIS_ESTIMATE
		                                                       : PM_BASIS_NONE;
		/* estimates say how long the work takes; so do observations at a site */
		task->hours = task->crew || task->basis == PM_BASIS_ESTIMATE ? (int8_t)hours_of(l, site) : 24;
	}
	open->to = l->tasks;
}

static void lay_site(struct layout *l, uint32_t index, struct open_site *open)
{
	const struct pm_site_summary *site = &l->fleet->site[index];
	const struct pm_fleet_options *o = pm_fleet_options_at(l->fleet, site->folder);
	*open = (struct open_site){
		.site = index, .has_due = site->has_due || o->has_deadline, .deadline = l->deadline_of[site->folder],
	};
	if (open->deadline != NO_DEADLINE)
		l->deadline[open->deadline].open++;
	open->due = open->has_due ? forecast_end(l, site->has_due ? site->due : o->deadline_day) : 0;
	open->at_work = site->phases[site->phase].state == PM_PHASE_OPEN;
	open->booked = site->has_window && site->until.second > l->now;
	open->opens = site->from.second - l->now;
	open->ends = site->until.second - l->now;
	lay_tasks(l, open);
}

/* The deadlines of the folders that have any site; without a site, the fleet's own. */
static bool lay_deadlines(struct layout *l, struct pm_arena *scratch)
{
	const struct pm_fleet *fleet = l->fleet;
	bool *used = pm_arena_array(scratch, fleet->folder_count + 1, sizeof *used);
	l->deadline = pm_arena_array(scratch, fleet->folder_count + 1, sizeof *l->deadline);
	l->deadline_of = pm_arena_array(scratch, fleet->folder_count + 1, sizeof *l->deadline_of);
	if (!used || !l->deadline || !l->deadline_of)
		return false;
	used[0] = !fleet->count;
	for (size_t i = 0; i < fleet->count; i++)
		used[fleet->site[i].folder] = true;
	for (size_t f = 0; f <= fleet->folder_count; f++) {
		const struct pm_fleet_options *o = pm_fleet_options_at(fleet, f);
		l->deadline_of[f] = NO_DEADLINE;
		if (!used[f] || !o->has_deadline)
			continue;
		l->deadline_of[f] = l->deadlines;
		l->deadline[l->deadlines++] = (struct deadline){ .folder = (uint32_t)f, .ends = forecast_end(l, o->deadline_day) };
	}
	return true;
}

/* Number the crews; a site without one has a crew of its own. */
static bool lay_crews(struct layout *l, struct pm_arena *scratch)
{
	struct fleet_keys keys = { pm_arena_array(scratch, l->sites, sizeof *keys.key), 0 };
	if (!keys.key)
		return false;
	for (size_t i = 0; i < l->sites; i++) {
		uint64_t crew = l->fleet->site[l->open[i].site].crew_key;
		if (crew)
			keys.key[keys.count++] = (struct fleet_key){ crew, 0, (uint32_t)i };
		else
			l->open[i].crew = l->crews++;
	}
	if (!fleet_sort(&keys, scratch))
		return false;
	for (size_t i = 0; i < keys.count; i++) {
		if (i == 0 || keys.key[i].key != keys.key[i - 1].key)
			l->crews++;
		l->open[keys.key[i].item].crew = l->crews - 1;
	}
	return true;
}

bool forecast_lay_out(struct layout *l, struct pm_arena *scratch)
{
	const struct pm_fleet *fleet = l->fleet;
	if (!lay_deadlines(l, scratch) || !lay_pools(l, scratch))
		return false;
	for (size_t i = 0; i < fleet->count; i++)
		l->sites += counts(&fleet->site[i]) && !pm_site_done(&fleet->site[i]);
	l->open = pm_arena_array(scratch, l->sites, sizeof *l->open);
	l->task = pm_arena_array(scratch, l->offset[fleet->count], sizeof *l->task);
	if (!l->open || !l->task)
		return false;
	size_t at = 0;
	for (size_t i = 0; i < fleet->count; i++)
		if (counts(&fleet->site[i]) && !pm_site_done(&fleet->site[i]))
			lay_site(l, (uint32_t)i, &l->open[at++]);
	return lay_crews(l, scratch);
}
