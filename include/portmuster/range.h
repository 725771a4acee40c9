/* range.h - named ranges of EUI-48 addresses, each row with its source. */
#ifndef PORTMUSTER_RANGE_H
#define PORTMUSTER_RANGE_H

#include "portmuster/eui48.h"

enum pm_range_kind {
	PM_RANGE_NULL,           /* all zero */
	PM_RANGE_BROADCAST,
	PM_RANGE_DOCUMENTATION,
	PM_RANGE_RESERVED,       /* never an interface's own burned-in address */
	PM_RANGE_GROUP,          /* a named use of group addresses */
};

struct pm_range {
	uint64_t first, last;    /* inclusive, as pm_eui48_number */
	enum pm_range_kind kind;
	const char *name;
	const char *source;      /* document and section, or "from memory" */
	const char *last_octet;  /* what the last octet counts, such as "VRID", or null */
};

/* The most specific named range that holds `address`, or null. Static. */
const struct pm_range *pm_range_find(const struct pm_eui48 *address);

/* The whole table, for documentation and tests; `*count` rows, static. */
const struct pm_range *pm_range_table(size_t *count);

#endif
