/* zone.h - what the clocks of a place show, from the bytes of a TZif file
 * (RFC 9636).
 *
 * The core reads no file: the caller has the bytes. A zone lives in the arena
 * it was read into, and nothing of the bytes is needed afterwards. Hostile bytes
 * are refused with a reason. Wall times are counted as seconds from 1970-01-01
 * 00:00 on that very clock, as if it were UTC.
 */
#ifndef PORTMUSTER_ZONE_H
#define PORTMUSTER_ZONE_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"
#include "portmuster/text.h"
#include "portmuster/when.h"

struct pm_zone_time {
	int32_t offset;             /* seconds east of UTC */
	bool summer;                /* daylight saving time */
	const char *abbreviation;   /* "CEST", or "+0545" where there is none: letters, digits, + and - */
};

/* When in a year the footer's clocks are changed. */
struct pm_zone_rule {
	enum { PM_DAY_NO_LEAP, PM_DAY, PM_DAY_OF_WEEK } kind;   /* Jn, n, Mm.w.d */
	int16_t day;                /* of the year, or of the week from Sunday 0 */
	int8_t month, week;
	int32_t time;               /* seconds after midnight on the clock before the change; may be negative */
};

struct pm_zone {
	const char *name;
	int64_t *change;            /* instants, ascending, */
	uint8_t *change_to;         /* and the kind of time that begins there */
	size_t change_count;
	struct pm_zone_time *kind;
	size_t kind_count;          /* at least 1 */
	bool has_footer;            /* the rest holds after the last change */
	bool footer_changes;        /* summer time is kept */
	struct pm_zone_time standard, summer;
	struct pm_zone_rule to_summer, to_standard;
};

#define PM_ZONE_MOST_BYTES (256u << 10)   /* a larger file is refused */

/* Read TZif bytes of any version from 1. Files that count leap seconds ("right/")
 * are refused. `name` is what the zone will be called; it is copied. */
bool pm_zone_read(struct pm_zone *zone, const char *name, const void *bytes, size_t length,
                  struct pm_arena *arena, struct pm_fault *fault);

/* What holds at an instant. Where the file has no footer, what its last change
 * began goes on, as common systems do (RFC 9636 section 3.2 leaves it open). */
struct pm_zone_time pm_zone_at(const struct pm_zone *zone, int64_t second);

/* The same as a time to be shown or recorded, in the zone's offset; in UTC where
 * that is no whole number of minutes. */
struct pm_when pm_zone_when(const struct pm_zone *zone, int64_t second);

struct pm_wall {
	unsigned count;      /* 0: the clock never shows it, 1, or 2: it shows it twice */
	int64_t second[2];   /* the instants, earlier first. With count 0 the first is what RFC 5545
	                        section 3.3.5 makes of it: the offset before the change is used */
	int64_t from, to;    /* with count 0: the clock goes from this wall time to that one */
};

/* When does the clock show this? Of more than two instants, the first and the last. */
struct pm_wall pm_zone_wall(const struct pm_zone *zone, int64_t wall);

/* Read "2026-10-13 09:00", with T in place of the blank, or with seconds, as a wall
 * time; on failure `*why` (if given) is a phrase. */
bool pm_wall_read(const char *string, int64_t *wall, const char **why);

/* Add an instant for people: on the zone's clock and as it was written (or in UTC)
 * where that differs, "2026-10-13 09:00 +02:00 CEST, CET (07:00 UTC)".
 * A plain one as it was written. */
void pm_zone_say(struct pm_text *text, const struct pm_zone *zone, struct pm_when when);

/* The same for a window: "2026-10-13 09:00 to 11:00 +02:00 CEST, CET
 * (07:00 to 09:00 UTC)". */
void pm_zone_say_window(struct pm_text *text, const struct pm_zone *zone, struct pm_when from, struct pm_when until);

/* Is there nothing to add to the time as it is written? There is no zone, or both the
 * writing and the zone's clocks have UTC. */
bool pm_zone_plain(const struct pm_zone *zone, struct pm_when when);

/* Is a time written in the offset that the zone has then? */
enum pm_offset_oddity {
	PM_OFFSET_USUAL,       /* it is, or in UTC, which says nothing of a place */
	PM_OFFSET_ELSEWHERE,   /* in one that the zone does not use */
	PM_OFFSET_SLIPPED,     /* in one that it uses at another time, within a year of this one */
};
enum pm_offset_oddity pm_zone_oddity(const struct pm_zone *zone, struct pm_when when);

/* What came of looking a site's zone up. */
enum pm_zone_standing {
	PM_LOOK_UNCHECKED,   /* it could not be looked up: `why` */
	PM_LOOK_UNKNOWN,     /* there is no such zone: `why`, and perhaps `meant` */
	PM_LOOK_FOUND,
};

struct pm_zone_look {
	enum pm_zone_standing standing;
	const struct pm_zone *zone;   /* null: not known, or it is there and nobody needed more */
	const char *why;              /* safe to show */
	const char *meant;            /* a zone that there is, one slip away, or null */
};

#endif
