/* yaml_read.h - YAML text as a tree that knows where everything stands.
 *
 * The subset that is read: one UTF-8 document of mappings, lists and scalars.
 * Every scalar is text whatever its quoting. Refused, with line and column:
 * anchors, aliases, tags, a second document, a key that stands twice or is no
 * text, control characters, bytes that are not UTF-8, more depth than
 * STORE_MOST_DEPTH, and absurd numbers of keys or entries. U+0085, U+2028 and
 * U+2029 are refused too when they stand raw: YAML 1.1 takes them for line
 * breaks and YAML 1.2 does not, so their meaning depends on the reader.
 */
#ifndef STORE_YAML_READ_H
#define STORE_YAML_READ_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"

#define STORE_MOST_KEYS 256        /* of one mapping */
#define STORE_MOST_NODES 262144    /* of one document */

enum store_node_kind { STORE_NODE_TEXT, STORE_NODE_LIST, STORE_NODE_MAP };

struct store_node {
	enum store_node_kind kind;
	bool plain;                  /* a text without quotes and on no block of its own */
	bool block;                  /* a text after | or >; a collection without brackets */
	uint32_t line, column;       /* from 1, column in characters */
	size_t start, end;           /* bytes of the source; a block collection ends where
	                                its last entry does */
	const char *text;            /* of a text: terminated, holds no NUL; line breaks at
	                                the end of a block are dropped */
	size_t length;
	struct store_node *first, *last;   /* of a mapping: key, value, key, value */
	struct store_node *next;
	size_t count;                /* children, a key and its value are two */
};

struct store_tree {
	const char *file;            /* for faults; borrowed */
	const char *source;          /* borrowed */
	size_t length;
	struct store_node *root;
	size_t document_end;         /* where text can be added at the end: at "..." or at the end */
};

/* Read `length` bytes into a tree that lives in `arena`; texts are copied. */
bool store_tree_read(const char *source, size_t length, const char *file,
                     struct pm_arena *arena, struct store_tree *tree, struct pm_fault *fault);

/* The same, always by libyaml: store_tree_read takes a shorter way where it can. */
bool store_tree_read_events(const char *source, size_t length, const char *file,
                            struct pm_arena *arena, struct store_tree *tree, struct pm_fault *fault);

/* The value under a key of a mapping, or null. */
struct store_node *store_tree_value(const struct store_node *map, const char *key, size_t length);

/* Nothing stands there: an empty plain text, "~" or "null". */
bool store_tree_null(const struct store_node *node);

/* Same content, whatever the style and the places. */
bool store_tree_same(const struct store_node *a, const struct store_node *b);

/* Add `node` as the last child. */
void store_tree_attach(struct store_node *parent, struct store_node *node);

#endif
