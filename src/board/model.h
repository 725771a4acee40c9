/* model.h - what the board shows: the fleet as it was read, what was found across
 * it, the forecast, and the one site that is looked at. Everything here that
 * touches a file is called by the driver; the state machine and the views only
 * look.
 *
 * Life cycle: board_model_begin, any calls, board_model_end.
 */
#ifndef BOARD_MODEL_H
#define BOARD_MODEL_H

#include "board/board.h"
#include "board/foresee.h"

struct board_model {
	struct gather *gather;
	const struct pm_fleet *fleet;      /* `own`; it changes with every board_model_take_in */
	struct pm_fleet own;               /* the gather's */
	size_t total;                      /* files there are */
	bool reading;                      /* some of them are still being read */
	int waited;                        /* milliseconds that it has been so */
	struct pm_when now;
	struct pm_fleet_counts counts;

	bool held_together;                /* the two below are of the fleet as it stands */
	struct pm_arena arena;
	struct pm_fleet_findings findings;
	int64_t held_at;                   /* second as of which */

	bool foreseeing;                   /* it is being made: */
	struct foresee foresee;
	bool foreseen;                     /* the forecast is of the fleet as it stands */
	struct pm_arena forecast_arena;
	struct pm_forecast forecast;
	struct board_options options;

	bool opened;                       /* one site in full, */
	size_t site;                       /* its index when it was opened: */
	struct gather_detail detail;
};

/* Begin with what the gather has so far. */
void board_model_begin(struct board_model *model, struct gather *gather, const struct board_options *options,
                       struct pm_when now);
void board_model_end(struct board_model *model);

/* Take in what was read since, waiting at most `milliseconds` for something.
 * When the last file is in, the fleet is held together. False when memory ran out. */
bool board_model_take_in(struct board_model *model, int milliseconds);

/* Hold the sites against each other as of `model->now`; nothing while files are
 * being read. False when memory ran out. */
bool board_model_hold_together(struct board_model *model);

/* Make the forecast in the background, unless it is there or files are being read;
 * and take it in when it is ready, or with `wait` then and there. False when
 * memory ran out. */
bool board_model_foresee(struct board_model *model, bool wait);

/* Have files changed, or is it `due` to judge open jobs as of now? Then they are
 * being read again; what was opened stays as it was until it is opened anew. */
bool board_model_look_again(struct board_model *model, bool due);

/* Look at one site in full; the one before is closed. */
bool board_model_open(struct board_model *model, size_t site, struct pm_fault *fault);
void board_model_close(struct board_model *model);

/* --- what follows from it --- */

/* A site's worst finding, of its own or across the fleet; null code word: none. */
struct board_worst {
	const char *code, *message;
	enum pm_severity severity;
};
struct board_worst board_worst(const struct board_model *model, size_t site);

/* pm_fleet_slack as of the model's time. */
bool board_slack(const struct board_model *model, size_t site, int64_t *days);

/* pm_fleet_stopped, by what was found so far. */
bool board_stopped(const struct board_model *model, size_t site);

/* pm_fleet_ready, by what was found so far. */
bool board_ready(const struct board_model *model, size_t site);

/* Findings across the fleet of one severity. */
size_t board_across(const struct board_model *model, enum pm_severity severity);

/* A number that stands for a site's file, never 0: it stays the same when the files are
 * read again. */
uint64_t board_key(const struct pm_site_summary *site);

/* The last part of its file's name. */
const char *board_file_name(const struct pm_site_summary *site);

/* The site's code, or its file's name when it has none. */
const char *board_site_name(const struct pm_site_summary *site);

/* "2026-10-30 09:00+01:00": a time in its own offset, to the minute. Its short form
 * leaves out the year, and the minutes of an offset of whole hours. */
void board_when(struct pm_when when, bool brief, char out[static 32]);

#endif
