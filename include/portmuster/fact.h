/* fact.h - what the readings of one fact come to. */
#ifndef PORTMUSTER_FACT_H
#define PORTMUSTER_FACT_H

#include "portmuster/arena.h"
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
};

/* Are two values of a fact the same? */
bool pm_fact_same(const char *a, const char *b, enum pm_compare compare);

/* Index a job's readings by fact, in `arena`: afterwards a fact is found without
 * looking at the readings of others. Optional, and to be made anew when the
 * readings change. False when memory ran out; the job is then not indexed. */
bool pm_fact_index(struct pm_job *job, struct pm_arena *arena);

/* Gather the standing readings of `of` in file order. Withdrawn ones and those
 * they take back do not stand. A reading without a capture counts as a capture
 * of its own only when it is typed by hand at another time. A skip is no value:
 * it counts when it is the last word, and then the fact is skipped. */
struct pm_fact pm_fact_find(const struct pm_job *job, const char *of, enum pm_compare compare);

/* The latest standing reading of a fact where the last word counts (steps,
 * kit, desk), or null. */
const struct pm_reading *pm_fact_last(const struct pm_job *job, const char *of);

/* For going through all standing readings of `of`: start with `*at` 0 and pass
 * it on unchanged; null at the end. */
const struct pm_reading *pm_fact_next(const struct pm_job *job, const char *of, size_t *at);

/* Were the two readings taken separately? Without a capture name, only hand-made
 * readings of different times are told apart: nothing else proves it. */
bool pm_fact_separate(const struct pm_reading *a, const struct pm_reading *b);

/* Does this reading of the job stand: is it no withdrawal, and not taken back? */
bool pm_fact_stands(const struct pm_job *job, const struct pm_reading *reading);

/* "open", "held", "confirmed", "in conflict", "skipped". */
const char *pm_standing_word(enum pm_standing standing);

#endif
