/* registry.h - who a prefix was assigned to, from an index held in memory.
 *
 * The core reads no file: the caller maps the index (or any bytes) and opens
 * it here. Every offset is checked at opening, so a damaged or hostile index
 * is refused and never read out of bounds. Nothing is parsed or allocated.
 */
#ifndef PORTMUSTER_REGISTRY_H
#define PORTMUSTER_REGISTRY_H

#include "portmuster/eui48.h"
#include "portmuster/fault.h"

enum pm_register { PM_MA_L, PM_MA_M, PM_MA_S, PM_IAB, PM_REGISTERS };

struct pm_registry {
	const unsigned char *bytes;   /* borrowed: must outlive the registry */
	size_t length;
	const char *origin;           /* where the data came from, in the index */
	const char *dated;            /* date of the newest source file, RFC 3339 full-date */
	uint32_t rows[PM_REGISTERS];  /* rows of each register */
};

/* One assignment. `holders` counts the holders of a prefix that the registry
 * lists more than once; `holder` is then the first of them. */
struct pm_block {
	unsigned bits;          /* 24, 28 or 36 */
	uint64_t prefix;        /* the `bits` leading bits, right aligned */
	enum pm_register from;
	unsigned holders;
	const char *holder;     /* UTF-8, terminated, inside the index; text from
	                           outside: make it visible before showing it */
};

enum pm_assignment {
	PM_ASSIGNED,        /* to a maker; `block` is filled */
	PM_BLOCK_UNLISTED,  /* inside a prefix that the registration authority splits
	                       into smaller blocks, but the block itself is not listed;
	                       `block` holds the parent where one is listed (bits 0 otherwise) */
	PM_UNASSIGNED,      /* no row */
	PM_NOT_APPLICABLE,  /* a local or group address: the registry says nothing */
};

/* Take `length` bytes as an index; false with a fault when they are not one. */
bool pm_registry_open(struct pm_registry *registry, const void *bytes, size_t length,
                      struct pm_fault *fault);

/* Longest match, 36 then 28 then 24 bits. Bits are tested first: a local or
 * group address is PM_NOT_APPLICABLE whatever historical rows exist. */
enum pm_assignment pm_registry_find(const struct pm_registry *registry,
                                    const struct pm_eui48 *address, struct pm_block *block);

/* The prefix as hex digits: 6, 7 or 9 of them, terminated. */
const char *pm_block_prefix(const struct pm_block *block, char out[static 10]);

/* "MA-L", "MA-M", "MA-S" or "IAB". */
const char *pm_register_name(enum pm_register from);

#endif
