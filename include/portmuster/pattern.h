/* pattern.h - how a router numbers its interfaces, found from readings alone. */
#ifndef PORTMUSTER_PATTERN_H
#define PORTMUSTER_PATTERN_H

#include "portmuster/arena.h"
#include "portmuster/roster.h"
#include "portmuster/slip.h"

#define PM_NO_GROUP ((size_t)-1)

/* A run of interfaces numbered base + step * (index - first). */
struct pm_group {
	size_t first, last;     /* roster indexes, inclusive */
	uint64_t base;          /* address number that `first` has by the rule */
	int64_t step;
	size_t agreeing;        /* interfaces that keep the rule */
	size_t breaking;        /* that have a reading and break it */
};

struct pm_expect {
	size_t group;           /* or PM_NO_GROUP: the rule says nothing here */
	struct pm_eui48 address;   /* what the rule gives, when in a group */
	bool breaks;            /* there is a valid reading and it differs */
	struct pm_slip slip;    /* explains the difference (kind SEVERAL: it does not) */
};

struct pm_pattern {
	struct pm_group *group;
	size_t group_count;
	struct pm_expect *expect;   /* one a roster entry */
};

/* Find the groups by majority. A rule is believed when at least three
 * interfaces keep it and they outnumber those inside its run that do not.
 * Gear of free or shared allocation gets no group at all. An interface at the
 * edge of a run that breaks it only counts as breaking when one slip explains
 * it; without a reading it is expected only inside the run or when it is the
 * only one missing beside it. False when memory ran out. */
bool pm_pattern_find(const struct pm_roster *roster, const struct pm_gear *gear,
                     struct pm_arena *arena, struct pm_pattern *pattern);

#endif
