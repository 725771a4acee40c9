/* check.h - every rule held against one job: findings first, then the gates.
 *
 * A check is a pure function of its case: the same case gives the same result.
 */
#ifndef PORTMUSTER_CHECK_H
#define PORTMUSTER_CHECK_H

#include "portmuster/finding.h"
#include "portmuster/gate.h"
#include "portmuster/job.h"
#include "portmuster/pattern.h"
#include "portmuster/plan.h"
#include "portmuster/registry.h"
#include "portmuster/roster.h"
#include "portmuster/when.h"
#include "portmuster/zone.h"

/* What a check looks at; everything is borrowed. */
struct pm_case {
	const struct pm_job *job;
	const struct pm_plan *plan;
	const struct pm_gear *gear;
	const struct pm_registry *registry;   /* null: assignment is not checked, and said so */
	struct pm_when now;
	const char *layout_digest;            /* of the sheet layout in use; null: not taken */
	const struct pm_zone_look *zone;      /* of the site; null: not looked up, and said so */
};

/* The zone of the site's clocks; null when it is not known. */
static inline const struct pm_zone *pm_case_zone(const struct pm_case *the_case)
{
	return the_case->zone ? the_case->zone->zone : NULL;
}

struct pm_result {
	struct pm_roster roster;
	struct pm_pattern pattern;
	struct pm_findings findings;    /* sorted */
	struct pm_gates gates;
	size_t phase;                   /* index of the first phase that is not closed;
	                                   the plan's phase_count when all are */
	bool ready;                     /* no stop finding, and the phase's opening gate is met:
	                                   the next move can be made now */
};

/* Judge the case. Everything in `*result` lives in `arena` or is borrowed from
 * the case. False when memory ran out. */
bool pm_check(const struct pm_case *the_case, struct pm_arena *arena, struct pm_result *result);

#endif
