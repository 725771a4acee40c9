/* map.h - a registry index mapped from its file. */
#ifndef STORE_MAP_H
#define STORE_MAP_H

#include "portmuster/registry.h"

struct store_map {
	void *bytes;
	size_t length;
	struct pm_registry registry;
};

/* Map and open the index at `path` (null: where store_find_registry says). */
bool store_map_open(struct store_map *map, const char *path, struct pm_fault *fault);
void store_map_close(struct store_map *map);

#endif
