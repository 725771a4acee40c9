/* yaml_quick.h - a quick reader for the plainest of documents, such as this
 * program writes: block mappings and lists, flow mappings and lists, texts
 * between double quotes on one line without escapes, plain words.
 *
 * It knows no faults. What it does not recognise at once it leaves to libyaml,
 * and what it reads is the very tree that libyaml's events make; the tests hold
 * the two against each other.
 */
#ifndef STORE_YAML_QUICK_H
#define STORE_YAML_QUICK_H

#include "store/yaml_read.h"

/* Read the tree's source, which is known to hold nothing but printable ASCII, line
 * feeds and tabs. True when it was read; false when libyaml has to be asked (or
 * memory ran out, which the arena then says). */
bool store_quick_read(struct store_tree *tree, struct pm_arena *arena);

#endif
