/* registry.h - who a prefix was assigned to, from an index held in memory.
 *
 * The core reads no file: the caller maps the index (or any bytes) and opens
 * it here. Opening checks the bounds of every section, a look-up those of the
 * row it uses, so a damaged or hostile index is never read out of bounds and
 * opening costs the same whatever its size. Nothing is parsed or allocated.
 * pm_registry_check reads all of it. docs/registry.md has the layout.
 */
#ifndef PORTMUSTER_REGISTRY_H
#define PORTMUSTER_REGISTRY_H

#include "portmuster/eui48.h"
#include "portmuster/fault.h"

enum pm_register { PM_MA_L, PM_MA_M, PM_MA_S, PM_IAB, PM_REGISTERS };

/* Prefix lengths, shortest first. */
enum { PM_BLOCK_24, PM_BLOCK_28, PM_BLOCK_36, PM_BLOCK_SIZES };

struct pm_registry {
	const unsigned char *bytes;   /* borrowed: must outlive the registry */
	size_t length;
	struct pm_registry_part {
		const unsigned char *rows;
		uint32_t count;
	} part[PM_BLOCK_SIZES];       /* distinct prefixes, sorted */
	const char *names;            /* terminated strings, one after the other */
	uint32_t names_length;
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

/* Read the whole index: false with a fault when a row is out of order, names
 * nothing, or the SHA-256 in the header is not that of the rest. */
bool pm_registry_check(const struct pm_registry *registry, struct pm_fault *fault);

/* Longest match, 36 then 28 then 24 bits. Bits are tested first: a local or
 * group address is PM_NOT_APPLICABLE whatever historical rows exist. */
enum pm_assignment pm_registry_find(const struct pm_registry *registry,
                                    const struct pm_eui48 *address, struct pm_block *block);

/* One assignment as the writer of an index knows it; `split` marks a prefix
 * that the registration authority splits into smaller blocks, `listed` is false
 * for such a prefix without a row of its own. */
struct pm_registry_row {
	uint64_t base;          /* first address of the block */
	uint32_t name;          /* offset of the holder's name */
	enum pm_register from;
	uint8_t holders;
	bool listed, split;
};

/* The fixed parts of an index, for whoever writes one. */
#define PM_REGISTRY_HEADER 88u
#define PM_REGISTRY_ROW 12u

struct pm_registry_layout {
	uint32_t rows[PM_REGISTERS];
	uint32_t count[PM_BLOCK_SIZES];
	uint32_t names_length;
	uint32_t origin, dated;  /* offsets into the names */
};

/* The length of an index; 0 when it would pass 4 GiB. */
size_t pm_registry_size(const struct pm_registry_layout *layout);

void pm_registry_put_row(unsigned char out[static PM_REGISTRY_ROW], const struct pm_registry_row *row);

/* Fill the header of an index whose rows and names are in place, digest last. */
void pm_registry_put_header(unsigned char *bytes, const struct pm_registry_layout *layout);

/* The prefix as hex digits: 6, 7 or 9 of them, terminated. */
const char *pm_block_prefix(const struct pm_block *block, char out[static 10]);

/* "MA-L", "MA-M", "MA-S" or "IAB". */
const char *pm_register_name(enum pm_register from);

#endif
