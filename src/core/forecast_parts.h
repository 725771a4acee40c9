/* forecast_parts.h - how a fleet is laid out for its simulation. Private to the core. */
#ifndef CORE_FORECAST_PARTS_H
#define CORE_FORECAST_PARTS_H

#include "core/fleet_parts.h"
#include "portmuster/forecast.h"

/* What closed jobs show of one phase of one plan, in seconds. */
struct pool {
	size_t from, count;             /* in the list of durations */
	size_t waits_from, waits_count; /* in the list of waits for a window */
};

/* A phase that a site has ahead. */
struct task {
	uint32_t pool;
	int64_t estimate;               /* seconds, 0: none */
	enum pm_basis basis;
	bool crew;                      /* a crew does it, one site at a time */
	bool by_window;
	bool wait_known;                /* how long one waits for a window can be drawn */
	int8_t hours;                   /* of a day that count for it: working hours, or all 24 */
};

struct open_site {
	uint32_t site, crew;
	size_t from, to;                /* its tasks */
	bool at_work;                   /* its first task is open: it waits for no window */
	bool booked;                    /* its window has not passed; seconds from now: */
	int64_t opens, ends;
	bool has_due;
	int64_t due;                    /* seconds from now, the last that counts */
	size_t deadline;                /* in the list of deadlines, or NO_DEADLINE */
};

#define NO_DEADLINE SIZE_MAX

/* A folder's deadline, in seconds from now. */
struct deadline {
	uint32_t folder;
	int64_t ends;
	size_t open;
};

struct layout {
	const struct pm_fleet *fleet;
	int64_t now;
	size_t least_observed;
	struct deadline *deadline;
	size_t deadlines;
	size_t *deadline_of;            /* a folder each: in that list, or NO_DEADLINE */
	struct pool *pool;
	size_t pools;
	uint32_t *pool_of;              /* by site's offset + phase */
	size_t *offset;                 /* of each site's phases in pool_of */
	int64_t *duration, *wait;
	struct task *task;
	size_t tasks;
	struct open_site *open;
	size_t sites;
	uint32_t crews;
};

/* Lay out what is observed, and what is ahead; false when memory ran out. */
bool forecast_lay_out(struct layout *l, struct pm_arena *scratch);

/* The last second of a day, from now. */
static inline int64_t forecast_end(const struct layout *l, int64_t day)
{
	return (day + 1) * 86400 - 1 - l->now;
}

#endif
