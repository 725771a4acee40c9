/* Review a folder of job files through the C interface: read, judge, summarise,
 * and hold the sites against each other. Prints milliseconds to the first row and to
 * the end, how many sites, and the most memory used, in KiB: fleet FOLDER [THREADS]. */
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

#include "board/gather.h"

static double now(void)
{
	struct timespec time;
	clock_gettime(CLOCK_MONOTONIC, &time);
	return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

int main(int argc, char **argv)
{
	struct pm_fault fault = { 0 };
	struct pm_arena arena;
	struct pm_fleet_findings findings;
	struct rusage usage;
	double begun = now(), first = 0;
	if (argc < 2 || argc > 3) {
		fprintf(stderr, "usage: fleet FOLDER [THREADS]\n");
		return 2;
	}
	struct gather_options options = {
		.folder = (const char *const *)&argv[1], .folder_count = 1, .now = pm_when_utc(1791720000),
		.threads = argc > 2 ? (unsigned)atoi(argv[2]) : 0,
	};
	struct gather *gather = gather_begin(&options, &fault);
	if (!gather) {
		fprintf(stderr, "fleet: %s\n", fault.message);
		return 2;
	}
	while (!gather_poll(gather, 1000))
		if (!first && gather_fleet(gather)->count >= 20)
			first = now() - begun;
	const struct pm_fleet *fleet = gather_fleet(gather);
	for (size_t i = 0; i < fleet->count; i++)
		if (fleet->site[i].fault) {
			fprintf(stderr, "fleet: %s: %s\n", fleet->site[i].file, fleet->site[i].fault);
			return 2;
		}
	pm_arena_init(&arena);
	if (!pm_fleet_check(fleet, options.now, &arena, &findings))
		return 2;
	double all = now() - begun;
	getrusage(RUSAGE_SELF, &usage);
	printf("%.3f %.3f %zu %ld\n", first, all, fleet->count, usage.ru_maxrss);
	pm_arena_free(&arena);
	gather_free(gather);
	return 0;
}
