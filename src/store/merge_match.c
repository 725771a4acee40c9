#include "store/merge_parts.h"

#include <stdlib.h>
#include <string.h>

const char *merge_text_of(const struct store_node *map, const char *key)
{
	const struct store_node *value = store_tree_value(map, key, strlen(key));
	return value && value->kind == STORE_NODE_TEXT ? value->text : "";
}

/* An entry of one side, by what it is told apart. */
struct entry {
	const char *value[MERGE_MOST_KEYS];
	enum merge_side side;
	uint32_t index;
};

static int compare_values(const struct entry *a, const struct entry *b)
{
	int order = 0;
	for (size_t i = 0; i < MERGE_MOST_KEYS && a->value[i] && order == 0; i++)
		order = strcmp(a->value[i], b->value[i]);
	return order;
}

static int compare_entries(const void *left, const void *right)
{
	const struct entry *a = left, *b = right;
	int order = compare_values(a, b);
	if (order)
		return order;
	if (a->side != b->side)
		return a->side < b->side ? -1 : 1;
	return a->index < b->index ? -1 : a->index > b->index;
}

/* The same keys with the same values, in whatever order. */
static bool same_whole(const struct store_node *a, const struct store_node *b)
{
	if (a->count != b->count)
		return false;
	for (const struct store_node *key = a->first; key && key->next; key = key->next->next) {
		const struct store_node *other = store_tree_value(b, key->text, key->length);
		if (!other || !store_tree_same(key->next, other))
			return false;
	}
	return true;
}

static bool gather(struct merge *m, struct merge_list *list, enum merge_side side)
{
	const struct store_node *root = m->doc[side].tree.root;
	list->node[side] = root ? store_tree_value(root, list->kind->key, strlen(list->kind->key)) : NULL;
	if (list->node[side] && list->node[side]->kind == STORE_NODE_LIST)
		list->count[side] = (uint32_t)list->node[side]->count;
	list->entry[side] = pm_arena_array(m->arena, list->count[side], sizeof *list->entry[side]);
	list->item_of[side] = pm_arena_array(m->arena, list->count[side], sizeof *list->item_of[side]);
	if (!list->entry[side] || !list->item_of[side])
		return false;
	uint32_t at = 0;
	for (struct store_node *node = list->count[side] ? list->node[side]->first : NULL; node; node = node->next) {
		list->item_of[side][at] = MERGE_NOWHERE;
		list->entry[side][at++] = node;
	}
	return true;
}

/* Within one run of entries that look alike: those of `side` find their match
 * among those of `with`, each at most one, first those that agree in all keys. */
static void pair_up(struct merge_list *list, const struct entry *run, size_t count,
                    enum merge_side side, enum merge_side with, bool whole)
{
	size_t from = 0;
	for (size_t i = 0; i < count; i++) {
		uint32_t *mine = &list->item_of[side][run[i].index];
		if (run[i].side != side || *mine != MERGE_NOWHERE)
			continue;
		bool passed = false;
		for (size_t k = from; k < count; k++) {
			uint32_t item = run[k].side == with ? list->item_of[with][run[k].index] : MERGE_NOWHERE;
			if (item == MERGE_NOWHERE || list->item[item].at[side] != MERGE_NOWHERE) {
				/* what will never match need not be looked at again */
				from += !passed;
				continue;
			}
			if (!whole || same_whole(list->entry[side][run[i].index], list->entry[with][run[k].index])) {
				*mine = item;
				list->item[item].at[side] = run[i].index;
				break;
			}
			passed = true;
		}
	}
}

struct merge_item *merge_item_make(struct merge_list *list, enum merge_side side, uint32_t index)
{
	struct merge_item *item = &list->item[list->items];
	*item = (struct merge_item){ .at = { MERGE_NOWHERE, MERGE_NOWHERE, MERGE_NOWHERE }, .second = INT64_MIN };
	item->at[side] = index;
	list->item_of[side][index] = list->items++;
	return item;
}

static void make_items(struct merge_list *list, const struct entry *run, size_t count, enum merge_side side)
{
	for (size_t i = 0; i < count; i++)
		if (run[i].side == side && list->item_of[side][run[i].index] == MERGE_NOWHERE)
			merge_item_make(list, side, run[i].index);
}

static void match_run(struct merge_list *list, const struct entry *run, size_t count)
{
	make_items(list, run, count, MERGE_BASE);
	for (enum merge_side side = MERGE_MINE; side <= MERGE_THEIRS; side++) {
		pair_up(list, run, count, side, MERGE_BASE, true);
		pair_up(list, run, count, side, MERGE_BASE, false);
	}
	make_items(list, run, count, MERGE_MINE);
	pair_up(list, run, count, MERGE_THEIRS, MERGE_MINE, true);
	make_items(list, run, count, MERGE_THEIRS);
}

bool merge_match(struct merge *m, const struct merge_kind *kind, struct merge_list *list)
{
	size_t total = 0, used = 0;
	*list = (struct merge_list){ .kind = kind };
	for (enum merge_side side = MERGE_BASE; side < MERGE_SIDES; side++) {
		if (!gather(m, list, side))
			return false;
		total += list->count[side];
	}
	struct entry *entry = pm_arena_array(m->arena, total, sizeof *entry);
	list->item = pm_arena_array(m->arena, total, sizeof *list->item);
	list->order = pm_arena_array(m->arena, total, sizeof *list->order);
	if (!entry || !list->item || !list->order)
		return false;
	if (!kind->whole)
		return merge_match_devices(m, list);
	for (enum merge_side side = MERGE_BASE; side < MERGE_SIDES; side++)
		for (uint32_t i = 0; i < list->count[side]; i++, used++) {
			entry[used].side = side;
			entry[used].index = i;
			for (size_t k = 0; kind->name[k]; k++)
				entry[used].value[k] = merge_text_of(list->entry[side][i], kind->name[k]);
		}
	if (total)
		qsort(entry, total, sizeof *entry, compare_entries);
	for (size_t from = 0, to; from < total; from = to) {
		for (to = from + 1; to < total && compare_values(&entry[from], &entry[to]) == 0;)
			to++;
		match_run(list, entry + from, to - from);
	}
	return true;
}
