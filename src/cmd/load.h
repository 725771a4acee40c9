/* load.h - a job with its plan, gear, time zone and registry, ready to be checked. */
#ifndef CMD_LOAD_H
#define CMD_LOAD_H

#include "portmuster/check.h"
#include "store/document.h"
#include "store/map.h"
#include "store/zone_file.h"

struct loaded {
	struct store_job job;
	struct store_plan plan;
	struct store_gear gear;
	struct store_map map;
	char layout_digest[65];   /* of the sheet layout that the job recorded; empty: none */
	struct store_zone zone;   /* of the site */
	bool has_job, has_plan, has_gear, has_map;
};

/* Load the job at `path` and, by its ids, the plan and gear that store_find
 * finds. A missing registry index or zone is no fault. On failure nothing is left to free. */
bool load_job(const char *path, struct loaded *loaded, struct pm_fault *fault);
void load_free(struct loaded *loaded);

/* The case to check; borrowed from `loaded`. */
struct pm_case load_case(const struct loaded *loaded, struct pm_when now);

#endif
