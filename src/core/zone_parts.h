/* zone_parts.h - what the reading and the use of a zone share. Private to the core. */
#ifndef CORE_ZONE_PARTS_H
#define CORE_ZONE_PARTS_H

#include "portmuster/zone.h"

/* Bounds of an offset in seconds east (RFC 9636 section 3.2, "utoff"), and of an instant
 * (older files begin at minus 2 to the 59th; from memory): sums of both can't overflow. */
#define ZONE_WEST (-89999)
#define ZONE_EAST 93599
#define ZONE_EARLIEST (-((int64_t)1 << 59))
#define ZONE_LATEST ((int64_t)1 << 59)

#define ZONE_ABBREVIATION 32   /* with its terminator; longer ones are refused */

/* A stretch of time with one offset; `from` is in it, `until` is not. The ends are
 * INT64_MIN and INT64_MAX. */
struct zone_stretch {
	int64_t from, until;
	const struct pm_zone_time *time;
};

/* The stretch that an instant lies in. */
struct zone_stretch zone_stretch_at(const struct pm_zone *zone, int64_t second);

/* The same by the footer alone, which the zone has. */
struct zone_stretch zone_footer_at(const struct pm_zone *zone, int64_t second);

/* Read the footer, a POSIX TZ string of `length` bytes; null, or the reason why not. */
const char *zone_footer_read(struct pm_zone *zone, const char *text, size_t length, struct pm_arena *arena);

/* May the byte stand in an abbreviation? */
static inline bool zone_abbreviates(int c)
{
	return pm_is_alnum(c) || c == '+' || c == '-';
}

#endif
