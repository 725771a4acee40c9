#include "store/merge_parts.h"

#include <string.h>

/* --- where entries stand --- */

/* A block list whose dashes each begin a line. */
static bool lies_in_lines(const struct store_tree *tree, const struct store_node *list)
{
	if (!list || list->kind != STORE_NODE_LIST || !list->block || !list->count)
		return false;
	size_t at = merge_line_start(tree, list->start);
	while (at < list->start && tree->source[at] == ' ')
		at++;
	return at == list->start;
}

/* Where an entry's lines begin, comments that belong to it included. */
static size_t lines_from(const struct merge *m, const struct merge_list *list,
                         enum merge_side side, uint32_t index)
{
	const struct store_tree *tree = &m->doc[side].tree;
	const struct store_node *node = list->node[side];
	if (index)
		return store_splice_line_after(tree, list->entry[side][index - 1]->end, node->column - 1);
	return merge_line_start(tree, node->start);
}

static size_t lines_to(const struct merge *m, const struct merge_list *list,
                       enum merge_side side, uint32_t index)
{
	size_t end = list->entry[side][index]->end;
	return store_splice_line_after(&m->doc[side].tree, end, list->node[side]->column - 1);
}

/* Comment lines right above the first entry come with it. */
static size_t with_comments(const struct store_tree *tree, size_t at)
{
	while (at > 0) {
		size_t before = merge_line_start(tree, at - 1), text = before;
		/* the break before `at` may be two characters */
		if (before == at - 1 && before > 0 && tree->source[before] == '\n' && tree->source[before - 1] == '\r')
			text = before = merge_line_start(tree, before - 1);
		while (text < at && tree->source[text] == ' ')
			text++;
		if (tree->source[text] != '#')
			return at;
		at = before;
	}
	return at;
}

/* --- entries of THEIRS in MINE's layout --- */

/* The same lines at another indentation and with MINE's line breaks. */
static void put_shifted(const struct merge *m, struct pm_text *out, size_t from, size_t to,
                        size_t was, size_t column)
{
	const struct store_tree *tree = &m->doc[MERGE_THEIRS].tree;
	while (from < to) {
		size_t next = store_splice_next_line(tree, from), end = next, drop = 0;
		while (end > from && merge_is_break(tree->source[end - 1]))
			end--;
		if (end > from && column > was)
			merge_put_blanks(out, column - was);
		while (column + drop < was && from + drop < end && tree->source[from + drop] == ' ')
			drop++;
		pm_text_put(out, tree->source + from + drop, end - from - drop);
		pm_text_str(out, m->line_break);
		from = next;
	}
}

static bool on_one_line(const struct store_tree *tree, const struct store_node *node)
{
	for (size_t at = node->start; at < node->end; at++)
		if (merge_is_break(tree->source[at]))
			return false;
	return !node->block;
}

/* As it stands in THEIRS when it can be taken over, else written anew. */
static void put_entry(const struct merge *m, struct pm_text *out, const struct store_node *node)
{
	const struct store_tree *tree = &m->doc[MERGE_THEIRS].tree;
	if (!m->plain && on_one_line(tree, node))
		pm_text_put(out, tree->source + node->start, node->end - node->start);
	else
		merge_put_flow(out, node);
}

static void put_lines(const struct merge *m, struct pm_text *out, const struct merge_list *list,
                      uint32_t index, size_t column)
{
	const struct store_tree *tree = &m->doc[MERGE_THEIRS].tree;
	const struct store_node *node = list->node[MERGE_THEIRS];
	if (!m->plain && lies_in_lines(tree, node)) {
		size_t from = lines_from(m, list, MERGE_THEIRS, index);
		put_shifted(m, out, index ? from : with_comments(tree, from), lines_to(m, list, MERGE_THEIRS, index),
		            node->column - 1, column);
		return;
	}
	merge_put_blanks(out, column);
	pm_text_str(out, "- ");
	put_entry(m, out, list->entry[MERGE_THEIRS][index]);
	pm_text_str(out, m->line_break);
}

void merge_put_list(const struct merge *m, struct pm_text *out, const struct merge_list *list)
{
	for (uint32_t i = 0; i < list->ordered; i++) {
		const struct merge_item *item = &list->item[list->order[i]];
		uint32_t mine = item->at[MERGE_MINE];
		merge_put_own_line(m, out);
		if (mine != MERGE_NOWHERE)
			merge_put_range(m, out, lines_from(m, list, MERGE_MINE, mine), lines_to(m, list, MERGE_MINE, mine));
		else
			put_lines(m, out, list, item->at[MERGE_THEIRS], list->node[MERGE_MINE]->column - 1);
	}
}

/* --- the ways to place them --- */

/* All entries below a key, when MINE has none. */
static const char *lines_of_all(struct merge *m, const struct merge_list *list, size_t column)
{
	struct pm_text out;
	pm_text_grow(&out, m->arena);
	for (uint32_t i = 0; i < list->ordered; i++)
		put_lines(m, &out, list, list->item[list->order[i]].at[MERGE_THEIRS], column);
	return out.data;
}

static const char *flow_of_all(struct merge *m, const struct merge_list *list)
{
	struct pm_text out;
	pm_text_grow(&out, m->arena);
	pm_text_char(&out, '[');
	for (uint32_t i = 0; i < list->ordered; i++) {
		const struct merge_item *item = &list->item[list->order[i]];
		uint32_t mine = item->at[MERGE_MINE];
		pm_text_str(&out, i ? ", " : "");
		if (mine != MERGE_NOWHERE)
			merge_put_flow(&out, list->entry[MERGE_MINE][mine]);
		else
			put_entry(m, &out, list->entry[MERGE_THEIRS][item->at[MERGE_THEIRS]]);
	}
	pm_text_char(&out, ']');
	return out.data;
}

static void place_fresh(struct merge *m, const struct merge_list *list)
{
	const struct store_tree *tree = &m->doc[MERGE_MINE].tree;
	struct store_node *root = tree->root, *node = list->node[MERGE_MINE];
	size_t column = root->column - 1;
	if (node && root->block && store_splice_nothing(tree, node)) {
		size_t start = node->start;
		while (node->start < node->end && start > 0 && pm_is_blank(tree->source[start - 1]))
			start--;
		if (node->start < node->end)
			merge_edit(m, start, node->end, "", false, false);
		size_t at = store_splice_line_after(tree, node->end, column);
		merge_edit(m, at, at, lines_of_all(m, list, column + 2), true, false);
	} else if (node) {
		const char *before = node->start == node->end && !pm_is_blank(tree->source[node->start - 1]) ? " " : "";
		merge_edit(m, node->start, node->end, pm_say(m->arena, "%s%s", before, flow_of_all(m, list)), false, false);
	} else if (root->block) {
		merge_put_blanks(&m->tail, column);
		pm_text_add(&m->tail, "%s:%s%s", list->kind->key, m->line_break, lines_of_all(m, list, column + 2));
	} else {
		size_t at = root->last->end;
		merge_edit(m, at, at, pm_say(m->arena, ", %s: %s", list->kind->key, flow_of_all(m, list)), false, false);
	}
}

/* Inside brackets, each behind the entry that it follows. */
static void place_flow(struct merge *m, const struct merge_list *list)
{
	const struct store_node *node = list->node[MERGE_MINE];
	size_t at = node->start + 1;
	bool any = false, more = list->count[MERGE_MINE] > 0;
	for (uint32_t i = 0; i < list->ordered; i++) {
		const struct merge_item *item = &list->item[list->order[i]];
		uint32_t mine = item->at[MERGE_MINE];
		if (mine != MERGE_NOWHERE) {
			at = list->entry[MERGE_MINE][mine]->end;
			any = true;
			continue;
		}
		struct pm_text out;
		pm_text_grow(&out, m->arena);
		/* before MINE's first the comma comes behind, elsewhere in front */
		if (any)
			pm_text_str(&out, ", ");
		put_entry(m, &out, list->entry[MERGE_THEIRS][item->at[MERGE_THEIRS]]);
		if (!any && more)
			pm_text_str(&out, ", ");
		any = any || !more;
		merge_edit(m, at, at, out.data, false, false);
	}
}

/* --- the tree --- */

static bool expect(struct merge *m, const struct merge_list *list)
{
	struct store_node *root = m->doc[MERGE_MINE].tree.root, *node = list->node[MERGE_MINE];
	if (!node) {
		struct store_node *key = pm_arena_alloc(m->arena, sizeof *key);
		node = pm_arena_alloc(m->arena, sizeof *node);
		if (!key || !node)
			return false;
		*key = (struct store_node){
			.kind = STORE_NODE_TEXT, .text = list->kind->key, .length = strlen(list->kind->key) };
		key->start = key->end = node->start = node->end = root->last ? root->last->end : root->start + 1;
		store_tree_attach(root, key);
		store_tree_attach(root, node);
	}
	node->kind = STORE_NODE_LIST;
	node->first = node->last = NULL;
	node->count = 0;
	for (uint32_t i = 0; i < list->ordered; i++) {
		const struct merge_item *item = &list->item[list->order[i]];
		enum merge_side side = item->at[MERGE_MINE] != MERGE_NOWHERE ? MERGE_MINE : MERGE_THEIRS;
		struct store_node *entry = pm_arena_alloc(m->arena, sizeof *entry);
		if (!entry)
			return false;
		*entry = *list->entry[side][item->at[side]];
		entry->next = NULL;
		store_tree_attach(node, entry);
	}
	return true;
}

bool merge_place(struct merge *m, struct merge_list *list)
{
	const struct store_tree *tree = &m->doc[MERGE_MINE].tree;
	const struct store_node *node = list->node[MERGE_MINE];
	uint32_t fresh = 0, at = 0;
	bool moved = false;
	for (uint32_t i = 0; i < list->ordered; i++) {
		uint32_t mine = list->item[list->order[i]].at[MERGE_MINE];
		fresh += mine == MERGE_NOWHERE;
		moved = moved || (mine != MERGE_NOWHERE && mine != at++);
	}
	m->out->taken += fresh;
	if (!fresh && !moved)
		return true;
	if (!node || node->kind != STORE_NODE_LIST || (tree->root->block && store_splice_nothing(tree, node))) {
		place_fresh(m, list);
	} else if (!node->block && !moved) {
		place_flow(m, list);
	} else if (!node->block) {
		merge_edit(m, node->start, node->end, flow_of_all(m, list), false, false);
	} else if (lies_in_lines(tree, node)) {
		m->region[m->regions++] = (struct merge_region){
			merge_line_start(tree, node->start), lines_to(m, list, MERGE_MINE, list->count[MERGE_MINE] - 1), list };
	} else {
		m->no_place = true;
	}
	return expect(m, list);
}
