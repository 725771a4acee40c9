/* names.h - names by number, found without going through all of them. */
#ifndef SHEET_NAMES_H
#define SHEET_NAMES_H

#include <stddef.h>

#include "portmuster/arena.h"

struct names {
	struct pm_arena *arena;
	struct names_slot *slot;    /* open addressing, half empty at least */
	size_t slots, count;
};

#define NAMES_NONE ((size_t)-1)

/* None yet; what is added is borrowed, the table lives in `arena`. */
void names_init(struct names *names, struct pm_arena *arena);

/* From 0 on in the order in which they were added; NAMES_NONE when it was not. */
size_t names_find(const struct names *names, const char *name);

/* Add a name that is not there yet. False when memory ran out. */
bool names_add(struct names *names, const char *name);

#endif
