#include "store/splice.h"

#include <string.h>

static struct store_node *new_node(struct pm_arena *arena, enum store_node_kind kind, const char *text)
{
	struct store_node *node = pm_arena_alloc(arena, sizeof *node);
	if (!node)
		return NULL;
	node->kind = kind;
	node->text = text;
	node->length = text ? strlen(text) : 0;
	return node;
}

/* Add a key; its value begins as an empty text. */
static struct store_node *add_key(struct store_node *map, const char *key, struct pm_arena *arena)
{
	struct store_node *name = new_node(arena, STORE_NODE_TEXT, key);
	struct store_node *value = new_node(arena, STORE_NODE_TEXT, "");
	if (!name || !value)
		return NULL;
	value->plain = true;
	store_tree_attach(map, name);
	store_tree_attach(map, value);
	return value;
}

static struct store_node *value_of(struct store_node *map, const char *key, struct pm_arena *arena)
{
	struct store_node *value = store_tree_value(map, key, strlen(key));
	return value ? value : add_key(map, key, arena);
}

/* Make a collection of nothing. */
static void become(struct store_node *node, enum store_node_kind kind)
{
	if (store_tree_null(node))
		node->kind = kind;
}

bool store_expect_append(struct store_tree *tree, const char *list,
                         const struct store_pair *pairs, size_t count, struct pm_arena *arena)
{
	struct store_node *node = value_of(tree->root, list, arena);
	struct store_node *entry = new_node(arena, STORE_NODE_MAP, NULL);
	if (!node || !entry)
		return false;
	become(node, STORE_NODE_LIST);
	store_tree_attach(node, entry);
	for (size_t i = 0; i < count; i++) {
		struct store_node *value = add_key(entry, pairs[i].key, arena);
		if (!value)
			return false;
		value->text = pairs[i].value;
		value->length = strlen(value->text);
	}
	return true;
}

bool store_expect_set(struct store_tree *tree, const char *outer, const char *key,
                      const char *value, struct pm_arena *arena)
{
	struct store_node *map = outer ? value_of(tree->root, outer, arena) : tree->root;
	if (!map)
		return false;
	become(map, STORE_NODE_MAP);
	struct store_node *node = value_of(map, key, arena);
	if (!node || node->kind != STORE_NODE_TEXT)
		return false;
	node->text = value;
	node->length = strlen(value);
	return true;
}
