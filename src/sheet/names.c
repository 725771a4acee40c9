#include "sheet/names.h"

#include <stdint.h>
#include <string.h>

struct names_slot {
	const char *name;   /* null: empty */
	size_t number;
};

void names_init(struct names *names, struct pm_arena *arena)
{
	*names = (struct names){ .arena = arena };
}

/* Where the name is, or would be. */
static struct names_slot *slot_of(const struct names *names, const char *name)
{
	uint64_t hash = 14695981039346656037u;   /* FNV-1a, 64 bits */
	for (const char *at = name; *at; at++)
		hash = (hash ^ (unsigned char)*at) * 1099511628211u;
	for (size_t at = (size_t)(hash ^ hash >> 32);; at++) {
		struct names_slot *slot = &names->slot[at & (names->slots - 1)];
		if (!slot->name || strcmp(slot->name, name) == 0)
			return slot;
	}
}

size_t names_find(const struct names *names, const char *name)
{
	const struct names_slot *slot = names->slots ? slot_of(names, name) : NULL;
	return slot && slot->name ? slot->number : NAMES_NONE;
}

static bool widen(struct names *names)
{
	struct names wider = { .arena = names->arena, .slots = names->slots ? names->slots * 4 : 64, .count = names->count };
	wider.slot = pm_arena_array(names->arena, wider.slots, sizeof *wider.slot);
	if (!wider.slot)
		return false;
	for (size_t i = 0; i < names->slots; i++)
		if (names->slot[i].name)
			*slot_of(&wider, names->slot[i].name) = names->slot[i];
	*names = wider;
	return true;
}

bool names_add(struct names *names, const char *name)
{
	if (names->count >= names->slots / 2 && !widen(names))
		return false;
	*slot_of(names, name) = (struct names_slot){ name, names->count++ };
	return true;
}
