#include "store/merge_parts.h"

#include <stdlib.h>
#include <string.h>

struct comment {
	const char *text;
	size_t length;
	uint32_t line;
};

struct comments {
	struct pm_arena *arena;
	struct comment *item;
	size_t count, room;
	size_t at;             /* how far the source was looked through */
	uint32_t line;
};

/* The last character of a line break: CR LF is one. */
static bool ends_line(const struct store_tree *tree, size_t at)
{
	if (tree->source[at] == '\r')
		return at + 1 == tree->length || tree->source[at + 1] != '\n';
	return tree->source[at] == '\n';
}

/* Look for comments up to `until`, where no text stands. */
static void look(struct comments *found, const struct store_tree *tree, size_t until)
{
	while (found->at < until) {
		char c = tree->source[found->at];
		char before = found->at ? tree->source[found->at - 1] : '\n';
		size_t start = found->at++;
		found->line += ends_line(tree, start);
		if (c != '#' || (!merge_is_break(before) && !pm_is_blank(before)))
			continue;
		while (found->at < tree->length && !merge_is_break(tree->source[found->at]))
			found->at++;
		size_t end = found->at;
		while (end > start && pm_is_blank(tree->source[end - 1]))
			end--;
		void *items = found->item;
		struct comment *fresh = pm_arena_push(found->arena, &items, &found->count, &found->room, sizeof *fresh);
		found->item = items;
		if (fresh)
			*fresh = (struct comment){ tree->source + start, end - start, found->line };
	}
}

static void skip(struct comments *found, const struct store_tree *tree, size_t to)
{
	for (; found->at < to; found->at++)
		found->line += ends_line(tree, found->at);
}

/* Texts stand in the tree in the order of the source. Depth is bounded. */
static void walk(struct comments *found, const struct store_tree *tree, const struct store_node *node)
{
	if (node->kind == STORE_NODE_TEXT) {
		look(found, tree, node->start);
		skip(found, tree, node->end);
		return;
	}
	for (const struct store_node *at = node->first; at; at = at->next)
		walk(found, tree, at);
}

static int compare_texts(const struct comment *a, const struct comment *b)
{
	size_t shorter = a->length < b->length ? a->length : b->length;
	int order = memcmp(a->text, b->text, shorter);
	return order ? order : a->length < b->length ? -1 : a->length > b->length;
}

static int compare(const void *left, const void *right)
{
	const struct comment *a = left, *b = right;
	int order = compare_texts(a, b);
	return order ? order : a->line < b->line ? -1 : a->line > b->line;
}

static int compare_lines(const void *left, const void *right)
{
	const struct comment *a = left, *b = right;
	return a->line < b->line ? -1 : a->line > b->line;
}

/* All comments of a document, sorted by their text. */
static struct comments gather(struct merge *m, const struct store_tree *tree)
{
	struct comments found = { .arena = m->arena, .line = 1 };
	if (!tree->root)
		return found;
	walk(&found, tree, tree->root);
	look(&found, tree, tree->length);
	if (found.count)
		qsort(found.item, found.count, sizeof *found.item, compare);
	return found;
}

/* How often the comment stands there. */
static size_t times(const struct comments *in, const struct comment *comment)
{
	size_t low = 0, high = in->count, count = 0;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		if (compare_texts(&in->item[middle], comment) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	while (low + count < in->count && compare_texts(&in->item[low + count], comment) == 0)
		count++;
	return count;
}

bool merge_tell_comments(struct merge *m, const struct store_tree *result)
{
	struct comments base = gather(m, &m->doc[MERGE_BASE].tree), there = gather(m, result);
	const struct store_tree *was = &m->doc[MERGE_MINE].tree;
	struct store_tree mine;
	/* the tree of MINE has become the result's by now */
	if (!store_tree_read(was->source, was->length, was->file, m->arena, &mine, NULL))
		return false;
	for (enum merge_side side = MERGE_MINE; side <= MERGE_THEIRS; side++) {
		struct comments have = gather(m, side == MERGE_MINE ? &mine : &m->doc[side].tree);
		struct comments left = { .arena = m->arena };
		for (size_t i = 0, same = 0; i < have.count; i++) {
			const struct comment *comment = &have.item[i];
			same = i && compare_texts(comment - 1, comment) == 0 ? same + 1 : 1;
			/* what THEIRS only has from the base, MINE had as well */
			if (same <= times(&there, comment) ||
			    (side == MERGE_THEIRS && same <= times(&base, comment)))
				continue;
			void *items = left.item;
			struct comment *fresh = pm_arena_push(m->arena, &items, &left.count, &left.room, sizeof *fresh);
			left.item = items;
			if (fresh)
				*fresh = *comment;
		}
		if (left.count)
			qsort(left.item, left.count, sizeof *left.item, compare_lines);
		for (size_t i = 0; i < left.count; i++)
			merge_note(m, STORE_REMARK_COMMENT, side, left.item[i].line,
			           pm_arena_copy(m->arena, left.item[i].text, left.item[i].length));
	}
	return true;
}
