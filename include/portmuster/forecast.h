/* forecast.h - when the open sites will be finished, and the chance that the
 * fleet makes its deadline.
 *
 * A seeded simulation: the same summaries, options and seed give the same
 * forecast on every machine. Where a phase was observed often enough in closed
 * jobs, its duration is drawn from those observations; else from a triangle
 * around the plan's estimate; and when there is neither, the phase counts as
 * nothing and the forecast says "no earlier than". Each site is held against the
 * deadline of its own folder. docs/forecast.md has the
 * model and its limits.
 */
#ifndef PORTMUSTER_FORECAST_H
#define PORTMUSTER_FORECAST_H

#include "portmuster/fleet.h"

/* Observations of a phase before they are drawn from. */
#define PM_LEAST_OBSERVED 5

/* The triangle around an estimate: least, likeliest and most, in per cent of it.
 * Common practice, no source. */
#define PM_ESTIMATE_LEAST 50
#define PM_ESTIMATE_LIKELY 100
#define PM_ESTIMATE_MOST 300

struct pm_forecast_options {
	uint64_t seed;
	size_t runs;             /* 0: as many as the size of the fleet allows, 200 to 4000 */
	size_t least_observed;   /* 0: PM_LEAST_OBSERVED */
};

enum pm_basis {
	PM_BASIS_OBSERVED,       /* closed jobs */
	PM_BASIS_ESTIMATE,       /* the plan's minutes */
	PM_BASIS_NONE,           /* neither: it counts as nothing */
};

/* "observed", "estimated", "not known"; never null. */
const char *pm_basis_word(enum pm_basis basis);

/* What the forecast knows of one phase of one plan that some open site has ahead. */
struct pm_phase_basis {
	const char *plan, *phase;   /* ids, safe to show; borrowed from the summaries */
	size_t observed;            /* durations seen in closed jobs */
	enum pm_basis basis;
	bool by_window;             /* it waits for an appointment; how long one waits for one */
	size_t waits_observed;      /* was seen so many times, */
	bool waits_known;           /* which is enough to draw from */
};

struct pm_site_forecast {
	uint32_t site;              /* index in the fleet */
	bool least;                 /* something ahead is not known: no earlier than this */
	int64_t median, late;       /* finished by then in half, and in nine tenths, of the runs;
	                               seconds since 1970-01-01T00:00:00Z */
	bool has_due;               /* by the site's due day, or else its deadline, */
	size_t due_hits;            /* it was finished in so many runs */
};

/* One folder's deadline. */
struct pm_deadline_forecast {
	uint32_t folder;            /* as in a site's `folder` */
	size_t open;                /* sites that are to make it */
	size_t hits;                /* runs in which all of them did */
};

struct pm_forecast {
	struct pm_site_forecast *site;   /* the open ones, in the fleet's order */
	size_t count;
	struct pm_phase_basis *phase;
	size_t phase_count;
	size_t runs;
	int64_t median, late;       /* of the last site to finish; 0 when none is open */
	bool has_deadline;          /* some site has one */
	size_t hits;                /* runs in which every site was finished by its deadline: the
	                               chance is hits / runs */
	struct pm_deadline_forecast *deadline;   /* of the folders whose sites have one, each by itself */
	size_t deadline_count;
	bool at_most;               /* something is not known or not read: the chance is at most that */
	size_t unread;              /* files that could not be read */
};

/* Practice sites are left out. Everything in `*forecast` lives in `arena` or is
 * borrowed from the fleet. False when memory ran out. */
bool pm_forecast_make(const struct pm_fleet *fleet, struct pm_when now,
                      const struct pm_forecast_options *options, struct pm_arena *arena,
                      struct pm_forecast *forecast);

/* SplitMix64 (Steele, Lea and Flood 2014; Vigna's version of it is in the public
 * domain): the next 64 bits of the stream that `*state` is at. */
uint64_t pm_random_next(uint64_t *state);

/* A whole number of 0 to `below` - 1, all of them equally likely (Lemire 2019). */
uint32_t pm_random_below(uint64_t *state, uint32_t below);

/* Draw from the triangle with these corners: least <= likely <= most. */
int64_t pm_random_triangle(uint64_t *state, int64_t least, int64_t likely, int64_t most);

#endif
