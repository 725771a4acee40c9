/* board.h - the lead's board on a terminal: who is ready, who is blocked and by
 * what, what clashes between sites, and whether the deadline holds.
 */
#ifndef BOARD_BOARD_H
#define BOARD_BOARD_H

#include "board/gather.h"
#include "portmuster/forecast.h"

struct board_options {
	bool ascii, colour;
	const char *name;        /* of the lead, who signs waivers; null: asked for before the first one */
	int64_t clock_ahead;     /* seconds that the board's clock is ahead of the system's */
	struct pm_forecast_options forecast;
};

/* Show what has been begun to be gathered until the lead leaves or a signal ends
 * it; `*signal` is then that signal, or 0. The gather stays the caller's. Nothing is
 * written but a waiver that the lead signs. False with a fault when the screen
 * can't be opened (not a terminal, or one without cursor addressing: print plain
 * text instead) or memory ran out. */
bool board_run(struct gather *gather, const struct board_options *options, int *signal, struct pm_fault *fault);

#endif
