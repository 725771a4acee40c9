/* foresee.h - the forecast of a large fleet takes a second: it is made by a thread,
 * so that no key waits behind it.
 *
 * Life cycle: begin, ended until it is, take. The fleet must not change in between.
 */
#ifndef BOARD_FORESEE_H
#define BOARD_FORESEE_H

#include <pthread.h>
#include <stdatomic.h>

#include "portmuster/forecast.h"

struct foresee {
	bool running;
	pthread_t thread;
	atomic_bool ended;
	const struct pm_fleet *fleet;
	struct pm_when now;
	struct pm_forecast_options options;
	struct pm_arena arena;          /* of the forecast */
	struct pm_forecast forecast;
	bool good;
};

/* Begin; where no thread can be had, it is made at once. */
void foresee_begin(struct foresee *foresee, const struct pm_fleet *fleet, struct pm_when now,
                   const struct pm_forecast_options *options);

static inline bool foresee_ended(struct foresee *foresee) { return atomic_load(&foresee->ended); }

/* Wait for its end, and take what it has come to; the arena is then the caller's.
 * False when memory ran out. */
bool foresee_take(struct foresee *foresee, struct pm_arena *arena, struct pm_forecast *forecast);

/* Wait for its end, and drop it; nothing when none is running. */
void foresee_drop(struct foresee *foresee);

#endif
