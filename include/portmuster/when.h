/* when.h - RFC 3339 times, without the system's clock or zone. */
#ifndef PORTMUSTER_WHEN_H
#define PORTMUSTER_WHEN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_when {
	int64_t second;        /* since 1970-01-01T00:00:00Z, leap seconds not counted */
	int32_t offset;        /* minutes east of UTC, as written */
	bool offset_unknown;   /* written -00:00 (RFC 3339 section 4.3) */
	bool known;            /* false: no time at all */
};

#define PM_WHEN_TEXT 32

/* Read an RFC 3339 date-time that fills the string. A fraction is accepted and
 * dropped; second 60 only where a leap second can stand (23:59:60 UTC at the
 * end of June or December), and counts as the second after. On failure `*why`
 * (if given) is a phrase such as "no such day in that month". */
bool pm_when_read(const char *string, struct pm_when *when, const char **why);

/* Write it in its own offset, "Z" for offset 0. Returns `out`; an unknown time
 * writes "-". */
const char *pm_when_write(struct pm_when when, char out[static PM_WHEN_TEXT]);

/* A time from seconds, in UTC. */
struct pm_when pm_when_utc(int64_t second);

/* A span of time as people say it: "4 min 05 s", "2 h 10 min", "3 d 4 h".
 * Negative spans lose their sign. Returns `out`. */
const char *pm_when_span(int64_t seconds, char out[static PM_WHEN_TEXT]);

/* An RFC 3339 full-date, such as 2026-03-02, as days since 1970-01-01; on failure
 * `*why` (if given) is a phrase. */
bool pm_day_read(const char *string, int64_t *day, const char **why);

/* Write such a day; returns `out`, "-" outside the years 0 to 9999. */
const char *pm_day_write(int64_t day, char out[static PM_WHEN_TEXT]);

/* Two RFC 3339 times joined by "/": a window. The end must come after the
 * start. */
bool pm_window_read(const char *string, struct pm_when *from, struct pm_when *until, const char **why);

#endif
