#include "cmd/load.h"

#include <limits.h>
#include <string.h>

#include "store/find.h"

bool load_job(const char *path, struct loaded *loaded, struct pm_fault *fault)
{
	char found[PATH_MAX];
	memset(loaded, 0, sizeof *loaded);
	loaded->has_job = store_job_load(path, &loaded->job, fault);
	if (!loaded->has_job)
		return false;
	const struct pm_job *job = &loaded->job.job;
	loaded->has_plan = store_find(STORE_PLAN, job->plan.text, path, found, sizeof found, fault) &&
	                   store_plan_load(found, &loaded->plan, fault);
	loaded->has_gear = loaded->has_plan &&
	                   store_find(STORE_GEAR, job->gear.text, path, found, sizeof found, fault) &&
	                   store_gear_load(found, &loaded->gear, fault);
	if (!loaded->has_gear) {
		load_free(loaded);
		return false;
	}
	if (pm_given(job->plan_digest))
		store_plan_digest(&loaded->plan);
	if (pm_given(job->gear_digest))
		store_gear_digest(&loaded->gear);
	store_layout_now(job, loaded->layout_digest);
	struct pm_fault no_registry;
	loaded->has_map = store_map_open(&loaded->map, NULL, &no_registry);
	store_zone_open_for(&loaded->zone, job, false);
	return true;
}

void load_free(struct loaded *loaded)
{
	store_zone_close(&loaded->zone);
	if (loaded->has_map)
		store_map_close(&loaded->map);
	if (loaded->has_gear)
		store_gear_free(&loaded->gear);
	if (loaded->has_plan)
		store_plan_free(&loaded->plan);
	if (loaded->has_job)
		store_job_free(&loaded->job);
	memset(loaded, 0, sizeof *loaded);
}

struct pm_case load_case(const struct loaded *loaded, struct pm_when now)
{
	return (struct pm_case){
		.job = &loaded->job.job, .plan = &loaded->plan.plan, .gear = &loaded->gear.gear,
		.registry = loaded->has_map ? &loaded->map.registry : NULL, .now = now,
		.layout_digest = loaded->layout_digest[0] ? loaded->layout_digest : NULL, .zone = &loaded->zone.look,
	};
}
