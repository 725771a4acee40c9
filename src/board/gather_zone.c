/* Time zones: each looked up once, however many jobs name it. What a zone's file says
 * is taken for as long as the gather's other documents are. */
#include <stdlib.h>
#include <string.h>

#include "board/gather_parts.h"
#include "store/zone_file.h"

struct gather_zone {
	struct gather_zone *next;
	struct store_zone zone;
	char name[];
};

static struct gather_zone **slot_of(struct gather_shared *shared, const char *name)
{
	size_t hash = 5381;
	for (const char *at = name; *at; at++)
		hash = hash * 33 + (unsigned char)*at;
	return &shared->zone[hash % GATHER_ZONES];
}

/* Under the lock. */
static struct gather_zone *found_before(struct gather_shared *shared, const char *name)
{
	struct gather_zone *zone = *slot_of(shared, name);
	while (zone && strcmp(zone->name, name) != 0)
		zone = zone->next;
	return zone;
}

static void drop(struct gather_zone *zone)
{
	store_zone_close(&zone->zone);
	free(zone);
}

static struct gather_zone *look_up(struct gather_shared *shared, const char *name)
{
	size_t length = strlen(name) + 1;
	struct gather_zone *fresh = malloc(sizeof *fresh + length);
	if (!fresh)
		return NULL;
	memcpy(fresh->name, name, length);
	store_zone_open(&fresh->zone, name, true);
	if (fresh->zone.arena.failed) {
		drop(fresh);   /* the next job may have more luck */
		return NULL;
	}
	pthread_mutex_lock(&shared->lock);
	struct gather_zone *zone = found_before(shared, name);
	if (!zone) {
		struct gather_zone **slot = slot_of(shared, name);
		fresh->next = *slot;
		*slot = fresh;
	}
	pthread_mutex_unlock(&shared->lock);
	if (!zone)
		return fresh;
	drop(fresh);   /* another thread was quicker */
	return zone;
}

bool gather_zone_find(struct gather_shared *shared, struct gather_memo *memo, const struct pm_job *job,
                      const struct pm_zone_look **look, struct pm_fault *fault)
{
	const char *name = job->zone.text;
	*look = NULL;
	if (!pm_given(job->zone))
		return true;
	if (!memo->zone || strcmp(memo->zone->name, name) != 0) {
		pthread_mutex_lock(&shared->lock);
		memo->zone = found_before(shared, name);
		pthread_mutex_unlock(&shared->lock);
	}
	/* many looks at the disk: not under the lock */
	if (!memo->zone)
		memo->zone = look_up(shared, name);
	if (!memo->zone)
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ .file = job->file }, "out of memory");
	*look = &memo->zone->zone.look;
	return true;
}

void gather_zones_free(struct gather_shared *shared)
{
	for (size_t i = 0; i < GATHER_ZONES; i++)
		while (shared->zone[i]) {
			struct gather_zone *zone = shared->zone[i];
			shared->zone[i] = zone->next;
			drop(zone);
		}
}
