/* when_parts.h - days and dates, for the core's own use. */
#ifndef CORE_WHEN_PARTS_H
#define CORE_WHEN_PARTS_H

#include <stdint.h>

/* Days since 1970-01-01 of a date of the proleptic Gregorian calendar, and back. */
int64_t when_days(int64_t year, unsigned month, unsigned day);
void when_date(int64_t days, int64_t *year, unsigned *month, unsigned *day);

/* How many days a month has. */
unsigned when_days_in(int64_t year, unsigned month);

/* The day of a second since 1970-01-01: rounds down before that. */
static inline int64_t when_day_of(int64_t second)
{
	return second / 86400 - (second % 86400 < 0);
}

#endif
