/* differ.h - readings of one fact that differ: in what, and which one has more for it.
 *
 * Nothing in a reading tells that it is the right one. What else there is may:
 * readings of separate captures that agree with it, or the numbering of the other
 * interfaces. Even then the value is to be read again at its source.
 */
#ifndef PORTMUSTER_DIFFER_H
#define PORTMUSTER_DIFFER_H

#include "portmuster/eui48.h"
#include "portmuster/fact.h"
#include "portmuster/text.h"

#define PM_MOST_VALUES 4    /* different ones that are told apart; more are one too many */
#define PM_MOST_APART 32    /* captures that are counted, the earliest */

struct pm_value {
	const struct pm_reading *first;   /* the earliest with this value */
	size_t readings;
	size_t apart;                     /* captures that have it, separate from each other */
	size_t against;                   /* those that have another one; a garbled one may have both */
};

struct pm_differ {
	struct pm_value value[PM_MOST_VALUES];   /* in the order of their first readings */
	size_t count;
	bool more;                        /* there are yet other values */
	const struct pm_value *favoured;  /* by the evidence, or null */
	bool by_captures, by_numbering;   /* what favours it */
};

/* Gather the standing readings of `of` by their value. `expect` is what the
 * numbering of the others gives, or null. A value is favoured when the numbering
 * gives it, or when several captures have it, and more than have any other one. When
 * the two say different things, none is. */
void pm_differ_find(const struct pm_job *job, const char *of, enum pm_compare compare,
                    const struct pm_eui48 *expect, struct pm_differ *out);

/* In what the values of two readings differ: "they differ in digit 12: A in the
 * first, 2 in the second (look-alike)". The digits of an address are counted without
 * its separators. Nothing when one of two addresses is none. */
void pm_differ_say(const char *first, const char *second, enum pm_compare compare, struct pm_text *out);

/* What the evidence favours and why: "2 separate readings against 1 say 00-00-5E-00-53-12"; nothing when it favours none. */
void pm_differ_say_favoured(const struct pm_differ *differ, struct pm_text *out);

#endif
