/* Answers questions about zones, for the outside judge: reads lines from standard
 * input and writes one line each.
 *     zone NAME FILE         "ok", or "no" and the reason; the questions are about it
 *     at SECOND              offset, summer (0 or 1), abbreviation
 *     wall SECOND            how many instants, and those; for none, what was likely meant */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "portmuster/zone.h"

static bool open_zone(struct pm_zone *zone, struct pm_arena *arena, const char *name, const char *path)
{
	static unsigned char bytes[PM_ZONE_MOST_BYTES + 1];
	struct pm_fault fault = { 0 };
	FILE *file = fopen(path, "rb");
	if (!file)
		return printf("no file\n"), false;
	size_t length = fread(bytes, 1, sizeof bytes, file);
	fclose(file);
	pm_arena_free(arena);
	bool good = pm_zone_read(zone, name, bytes, length, arena, &fault);
	printf(good ? "ok\n" : "no %s\n", fault.message);
	return good;
}

int main(void)
{
	static char line[8192], name[4096], path[4096];
	struct pm_arena arena;
	struct pm_zone zone = { 0 };
	int64_t second;
	bool open = false;
	pm_arena_init(&arena);
	while (fgets(line, sizeof line, stdin)) {
		if (sscanf(line, "zone %4095s %4095s", name, path) == 2) {
			open = open_zone(&zone, &arena, name, path);
		} else if (open && sscanf(line, "at %" SCNd64, &second) == 1) {
			struct pm_zone_time time = pm_zone_at(&zone, second);
			printf("%d %d %s\n", time.offset, time.summer, time.abbreviation);
		} else if (open && sscanf(line, "wall %" SCNd64, &second) == 1) {
			struct pm_wall wall = pm_zone_wall(&zone, second);
			printf(wall.count == 2 ? "%u %" PRId64 " %" PRId64 "\n" : "%u %" PRId64 "\n", wall.count, wall.second[0], wall.second[1]);
		} else {
			printf("no question\n");
		}
	}
	pm_arena_free(&arena);
	return 0;
}
