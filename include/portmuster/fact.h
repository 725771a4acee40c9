/* fact.h - what the readings of one fact come to. */
#ifndef PORTMUSTER_FACT_H
#define PORTMUSTER_FACT_H

#include "portmuster/job.h"

enum pm_standing {
	PM_OPEN,         /* no reading */
	PM_HELD,         /* one reading, or several of one capture */
	PM_CONFIRMED,    /* two agreeing readings from separate captures */
	PM_CONFLICT,     /* readings that differ */
	PM_SKIPPED,      /* the last word says that it does not apply */
};

/* How two values of a fact are compared. */
enum pm_compare {
	PM_AS_TEXT,      /* blanks at the ends dropped, else character by character */
	PM_AS_ADDRESS,   /* as EUI-48; a malformed value equals only the same text */
};

struct pm_fact {
	enum pm_standing standing;
	const struct pm_reading *first;   /* the earliest that stands, or null */
	const struct pm_reading *second;  /* the one that confirms or contradicts it, or null */
	const struct pm_reading *last;    /* the latest that stands, or null */
	size_t readings;                  /* that stand */
	size_t captures;                  /* separate ones among them */
};

/* Are two values of a fact the same? */
bool pm_fact_same(const char *a, const char *b, enum pm_compare compare);

/* Gather the standing readings of `of` in file order. Withdrawn ones and those
 * they take back do not stand. A reading without a capture counts as a capture
 * of its own only when it is typed by hand at another time. A skip is no value:
 * it counts when it is the last word, and then the fact is skipped. */
struct pm_fact pm_fact_find(const struct pm_job *job, const char *of, enum pm_compare compare);

/* The latest standing reading of a fact where the last word counts (steps,
 * kit, desk), or null. */
const struct pm_reading *pm_fact_last(const struct pm_job *job, const char *of);

/* The next standing reading of `of` after index `*at` (start with 0); advances
 * `*at` past it; null at the end. For going through all of them. */
const struct pm_reading *pm_fact_next(const struct pm_job *job, const char *of, size_t *at);

/* "open", "held", "confirmed", "in conflict", "skipped". */
const char *pm_standing_word(enum pm_standing standing);

#endif
