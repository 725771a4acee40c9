/* roster.h - calling the roll: each interface of the gear with its readings. */
#ifndef PORTMUSTER_ROSTER_H
#define PORTMUSTER_ROSTER_H

#include "portmuster/arena.h"
#include "portmuster/eui48.h"
#include "portmuster/fact.h"
#include "portmuster/gear.h"

struct pm_call {
	const struct pm_port *port;
	struct pm_fact fact;
	bool valid;                 /* `address` is set: the value reads as an EUI-48 */
	struct pm_eui48 address;    /* of the first standing reading */
	struct pm_eui48_fault fault;   /* when a reading stands and is not valid */
};

struct pm_roster {
	struct pm_call *call;       /* one a port, in the gear's order */
	size_t count;
	size_t held;                /* with at least one valid reading, not in conflict */
	size_t confirmed;           /* valid and confirmed */
};

/* Call the roll. False when memory ran out. */
bool pm_roster_call(const struct pm_job *job, const struct pm_gear *gear,
                    struct pm_arena *arena, struct pm_roster *roster);

#define PM_NO_PORT ((size_t)-1)

/* The index of the port that `name` means, or PM_NO_PORT when none or several
 * do. Names match without regard to case; blanks, `-` and `_` do not count; a number
 * must be the same number (leading zeros dropped); the letters before it may
 * be cut short when what is left still means one port only. An exact match
 * always wins. */
size_t pm_roster_find(const struct pm_gear *gear, const char *name, size_t length);

#endif
