/* Resident memory after the first hundred and after ten thousand loads and
 * checks of one job in one process. */
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "portmuster/check.h"
#include "store/document.h"
#include "store/find.h"

static long resident(void)
{
	long size = 0, pages = 0;
	FILE *file = fopen("/proc/self/statm", "r");
	if (!file || fscanf(file, "%ld %ld", &size, &pages) != 2)
		exit(2);
	fclose(file);
	return pages * (sysconf(_SC_PAGESIZE) / 1024);
}

static void once(const char *path)
{
	char found[PATH_MAX];
	struct pm_fault fault;
	struct store_job job;
	struct store_plan plan;
	struct store_gear gear;
	struct pm_arena arena;
	struct pm_result result;
	if (!store_job_load(path, &job, &fault) ||
	    !store_find(STORE_PLAN, job.job.plan.text, path, found, sizeof found, &fault) ||
	    !store_plan_load(found, &plan, &fault) ||
	    !store_find(STORE_GEAR, job.job.gear.text, path, found, sizeof found, &fault) ||
	    !store_gear_load(found, &gear, &fault)) {
		fprintf(stderr, "growth: %s\n", fault.message);
		exit(2);
	}
	struct pm_case c = { .job = &job.job, .plan = &plan.plan, .gear = &gear.gear, .now = pm_when_utc(1790000000) };
	pm_arena_init(&arena);
	if (!pm_check(&c, &arena, &result))
		exit(2);
	pm_arena_free(&arena);
	store_gear_free(&gear);
	store_plan_free(&plan);
	store_job_free(&job);
}

int main(int argc, char **argv)
{
	if (argc != 2)
		return 2;
	for (int i = 0; i < 100; i++)
		once(argv[1]);
	long before = resident();
	for (int i = 100; i < 10000; i++)
		once(argv[1]);
	long after = resident();
	printf("%-44s %ld KiB resident after 100, %ld KiB after 10000: growth %ld KiB\n",
	       "10,000 checks in one process", before, after, after - before);
	return 0;
}
