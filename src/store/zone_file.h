/* zone_file.h - a time zone, looked up in the system's time zone data.
 *
 * That is $TZDIR, or /usr/share/zoneinfo. Nothing here fails: what came of it is in
 * the look, and without the data times stay in the offset they were written with.
 *
 * Life cycle: one of the open calls, use `look`, close. The zone lives in the arena.
 */
#ifndef STORE_ZONE_FILE_H
#define STORE_ZONE_FILE_H

#include "portmuster/job.h"
#include "portmuster/zone.h"

struct store_zone {
	struct pm_arena arena;
	struct pm_zone_look look;
};

/* Look a name up. With `whole` the zone is read; else only whether there is such a
 * file is looked at. An unknown name gets the one that was probably meant. */
void store_zone_open(struct store_zone *zone, const char *name, bool whole);

/* The zone of a job's site. It is read only when the job has an appointment, or with
 * `whole`; a job without a zone touches no file. */
void store_zone_open_for(struct store_zone *zone, const struct pm_job *job, bool whole);

void store_zone_close(struct store_zone *zone);

/* Refuse an unknown zone: false with a fault at `place` unless the look says otherwise. */
bool store_zone_may(const struct store_zone *zone, const char *name, struct pm_place place, struct pm_fault *fault);

#endif
