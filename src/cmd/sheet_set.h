/* sheet_set.h - the jobs and the layout that a sheet is about, loaded. */
#ifndef CMD_SHEET_SET_H
#define CMD_SHEET_SET_H

#include <jansson.h>

#include "cmd/load.h"
#include "sheet/grid.h"

struct sheet_set {
	struct loaded *loaded;
	struct grid_job *jobs;     /* borrowed from `loaded` */
	size_t count;
	struct store_layout layout;
	bool has_layout;
};

/* Load the jobs at `paths`, then the layout: the one `given` (a name, or a file
 * when there is a slash or a dot in it), else the one that the jobs name, else
 * the only one there is. On failure nothing is left to free. */
bool sheet_set_load(char *const *paths, size_t count, const char *given, struct sheet_set *set, struct pm_fault *fault);
void sheet_set_free(struct sheet_set *set);

/* The layout alone, as for a sheet without a job. */
bool sheet_layout_load(const char *given, const char *job_path, struct store_layout *layout, struct pm_fault *fault);

/* Findings as text, each with its remedy, and as JSON. */
void sheet_put_trouble(FILE *out, const struct trouble *trouble);
json_t *sheet_json_trouble(const struct trouble *trouble);

/* A text from outside, visible, on `out`. */
void sheet_put_visible(FILE *out, const char *string);

/* JSON text or null. */
json_t *sheet_json_text(const char *string);

#endif
