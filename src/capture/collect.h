/* collect.h - readings, serial numbers and problems on their way into a
 * listing: each once, and safe to show. */
#ifndef CAPTURE_COLLECT_H
#define CAPTURE_COLLECT_H

#include "capture/listing.h"

/* Whatever a log holds, it fills no more memory than this; then a problem says
 * once that there is more. */
#define COLLECT_MOST_PROBLEMS 1000
#define COLLECT_MOST_SERIALS 1000
#define COLLECT_MOST_READINGS 65536

/* Chains of readings that have something in common. */
struct collect_chains {
	size_t *bucket;               /* the heads: an index plus one */
	size_t *next;                 /* a link for each reading */
};

struct collect {
	struct listing *listing;
	struct pm_arena *arena;
	const struct pm_gear *gear;
	struct collect_chains exact;  /* the interface and the address */
	struct collect_chains first;  /* the interface; only its first reading */
	size_t buckets, links;        /* room in both */
	bool more_readings, more_serials, failed;
};

void collect_init(struct collect *collect, struct listing *listing, const struct pm_gear *gear,
                  struct pm_arena *arena);
void collect_free(struct collect *collect);

/* One address of an interface; `column` is for the problem that it may be. */
void collect_reading(struct collect *collect, const char *name, size_t length, size_t port,
                     const struct pm_eui48 *address, uint32_t line, uint32_t column);

/* Has the port been read already? */
bool collect_has(const struct collect *collect, size_t port);

void collect_serial(struct collect *collect, const char *text, size_t length, uint32_t line, uint32_t column);

/* `reason` is copied. */
void collect_problem(struct collect *collect, uint32_t line, uint32_t column, const char *reason,
                     const char *text, size_t length);

#endif
