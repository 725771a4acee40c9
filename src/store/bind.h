/* bind.h - a tree into a struct and a struct into pairs, by a field table. */
#ifndef STORE_BIND_H
#define STORE_BIND_H

#include "portmuster/word.h"
#include "store/fields.h"
#include "store/yaml_read.h"

/* Fill the struct at `base` (zeroed by the caller) from the document's root.
 * The number of the format is judged before anything else. Keys that no table
 * knows are passed over; the first STORE_MOST_STRAYS of them go to `strays`.
 * Everything that is stored lives in `arena` or in the tree. */
bool store_bind(const struct store_tree *tree, const struct store_table *table, void *base,
                struct pm_stray_keys *strays, struct pm_arena *arena, struct pm_fault *fault);

/* A fault about the first of `strays`, for documents that must have none. */
bool store_no_strays(const struct pm_stray_keys *strays, const char *file, struct pm_fault *fault);

#define STORE_MOST_STRAYS 20

/* A key and its value as they are written. */
struct store_pair {
	const char *key;
	const char *value;
};

#define STORE_MOST_PAIRS 16

/* The scalars of the struct at `base` in table order, those left out that are
 * not given and not required. A required one that is empty is a fault. Returns
 * false then, or when memory ran out. */
bool store_pairs(const struct store_table *table, const void *base, struct pm_arena *arena,
                 struct store_pair pairs[static STORE_MOST_PAIRS], size_t *count,
                 const char *file, struct pm_fault *fault);

#endif
