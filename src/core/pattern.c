#include "portmuster/pattern.h"

#define LEAST_AGREEING 3
#define MOST_STEP 65536      /* a larger stride is no numbering */
#define NEIGHBOURHOOD 8      /* pairs of voters further apart propose no rule */
#define NUMBER_MASK 0xFFFFFFFFFFFFull

struct search {
	const struct pm_roster *roster;
	bool *taken;             /* lies in a run that is already accepted */
};

/* A rule as a straight line over roster indexes. */
struct line {
	size_t through;          /* an index that keeps it */
	uint64_t value;          /* its address number */
	int64_t step;
};

static bool votes(const struct search *search, size_t i)
{
	const struct pm_call *call = &search->roster->call[i];
	return call->valid && call->fact.standing != PM_CONFLICT && !search->taken[i];
}

static uint64_t number_at(const struct pm_roster *roster, size_t i)
{
	return pm_eui48_number(&roster->call[i].address);
}

static uint64_t line_at(struct line line, size_t i)
{
	int64_t away = (int64_t)i - (int64_t)line.through;
	return (line.value + (uint64_t)(away * line.step)) & NUMBER_MASK;
}

/* Measure a line: its run, who keeps it and who breaks it. False when it is
 * not believable or its run crosses an accepted one. */
static bool measure(const struct search *search, struct line line, struct pm_group *group)
{
	size_t n = search->roster->count, first = PM_NO_GROUP, last = 0;
	*group = (struct pm_group){ .step = line.step };
	for (size_t i = 0; i < n; i++)
		if (votes(search, i) && number_at(search->roster, i) == line_at(line, i)) {
			if (first == PM_NO_GROUP)
				first = i;
			last = i;
			group->agreeing++;
		}
	if (group->agreeing < LEAST_AGREEING)
		return false;
	for (size_t i = first; i <= last; i++) {
		if (search->taken[i])
			return false;
		if (search->roster->call[i].valid && number_at(search->roster, i) != line_at(line, i))
			group->breaking++;
	}
	group->first = first;
	group->last = last;
	group->base = line_at(line, first);
	return group->agreeing > group->breaking;
}

static uint64_t magnitude(int64_t step)
{
	return step < 0 ? -(uint64_t)step : (uint64_t)step;
}

static bool better(const struct pm_group *a, const struct pm_group *b)
{
	if (a->agreeing != b->agreeing)
		return a->agreeing > b->agreeing;
	if (a->breaking != b->breaking)
		return a->breaking < b->breaking;
	return magnitude(a->step) < magnitude(b->step);
}

/* The best believable rule among those that two near voters propose. */
static bool best_line(const struct search *search, struct pm_group *best)
{
	const struct pm_roster *roster = search->roster;
	bool found = false;
	for (size_t i = 0; i < roster->count; i++) {
		if (!votes(search, i))
			continue;
		for (size_t j = i + 1; j < roster->count && j <= i + NEIGHBOURHOOD; j++) {
			if (!votes(search, j))
				continue;
			int64_t apart = (int64_t)(j - i);
			int64_t rise = (int64_t)number_at(roster, j) - (int64_t)number_at(roster, i);
			if (rise == 0 || rise % apart != 0 || magnitude(rise / apart) > MOST_STEP)
				continue;
			struct line line = { i, number_at(roster, i), rise / apart };
			struct pm_group group;
			if (measure(search, line, &group) && (!found || better(&group, best))) {
				*best = group;
				found = true;
			}
		}
	}
	return found;
}

static uint64_t expected_number(const struct pm_group *group, size_t i)
{
	struct line line = { group->first, group->base, group->step };
	return line_at(line, i);
}

static struct pm_slip slip_of(struct pm_eui48 right, struct pm_eui48 seen)
{
	char a[PM_EUI48_TEXT], b[PM_EUI48_TEXT];
	pm_eui48_write(&right, PM_BARE, false, a);
	pm_eui48_write(&seen, PM_BARE, false, b);
	return pm_slip_between(a, b);
}

static void expect(const struct pm_roster *roster, struct pm_pattern *pattern, size_t group, size_t i)
{
	struct pm_expect *e = &pattern->expect[i];
	const struct pm_call *call = &roster->call[i];
	e->group = group;
	e->address = pm_eui48_from(expected_number(&pattern->group[group], i));
	if (!call->valid)
		return;
	e->slip = slip_of(e->address, call->address);
	e->breaks = e->slip.kind != PM_SLIP_NONE;
}

/* Does the interface just outside a run belong to it after all? */
static bool belongs_at_edge(const struct pm_roster *roster, const struct pm_group *group,
                            size_t i, bool lone)
{
	const struct pm_call *call = &roster->call[i];
	if (!call->valid)
		return lone;
	struct pm_eui48 right = pm_eui48_from(expected_number(group, i));
	return pm_slip_single(slip_of(right, call->address).kind);
}

static void expect_edges(const struct search *search, struct pm_pattern *pattern, size_t g)
{
	const struct pm_roster *roster = search->roster;
	const struct pm_group *group = &pattern->group[g];
	size_t n = roster->count, below = group->first - 1, above = group->last + 1;
	if (group->first > 0 && !search->taken[below] && pattern->expect[below].group == PM_NO_GROUP) {
		bool lone = below == 0 || search->taken[below - 1];
		if (belongs_at_edge(roster, group, below, lone))
			expect(roster, pattern, g, below);
	}
	if (above < n && !search->taken[above] && pattern->expect[above].group == PM_NO_GROUP) {
		bool lone = above + 1 == n || search->taken[above + 1];
		if (belongs_at_edge(roster, group, above, lone))
			expect(roster, pattern, g, above);
	}
}

bool pm_pattern_find(const struct pm_roster *roster, const struct pm_gear *gear,
                     struct pm_arena *arena, struct pm_pattern *pattern)
{
	size_t n = roster->count;
	*pattern = (struct pm_pattern){ 0 };
	pattern->expect = pm_arena_array(arena, n, sizeof *pattern->expect);
	pattern->group = pm_arena_array(arena, n / LEAST_AGREEING + 1, sizeof *pattern->group);
	struct search search = { roster, pm_arena_array(arena, n, sizeof *search.taken) };
	if (!pattern->expect || !pattern->group || !search.taken)
		return false;
	for (size_t i = 0; i < n; i++)
		pattern->expect[i].group = PM_NO_GROUP;
	if (gear->allocation != PM_ALLOCATION_PATTERN)
		return true;
	struct pm_group group;
	while (best_line(&search, &group)) {
		pattern->group[pattern->group_count++] = group;
		for (size_t i = group.first; i <= group.last; i++)
			search.taken[i] = true;
	}
	for (size_t g = 0; g < pattern->group_count; g++)
		for (size_t i = pattern->group[g].first; i <= pattern->group[g].last; i++)
			expect(roster, pattern, g, i);
	for (size_t g = 0; g < pattern->group_count; g++)
		expect_edges(&search, pattern, g);
	return true;
}
