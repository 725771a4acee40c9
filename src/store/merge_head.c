#include "store/merge_parts.h"

#include <string.h>

/* --- equality --- */

/* Null says as little as an empty text does. */
static bool same(const struct store_node *a, const struct store_node *b)
{
	return a && b && (store_tree_same(a, b) || (store_tree_null(a) && store_tree_null(b)));
}

static bool skipped(const char *key, const struct merge_kind *skip, size_t skips)
{
	for (size_t i = 0; i < skips; i++)
		if (pm_same(key, skip[i].key))
			return true;
	return false;
}

static const char *below(struct merge *m, const char *path, const char *key)
{
	const char *dotted = *path ? pm_say(m->arena, "%s.%s", path, key) : key;
	return dotted ? dotted : key;
}

/* --- edits of MINE --- */

/* The tree is kept as the result is expected to read; places stay MINE's. */
static void become(struct store_node *node, const struct store_node *other)
{
	struct store_node *next = node->next;
	size_t start = node->start, end = node->end;
	*node = *other;
	node->next = next;
	node->start = start;
	node->end = end;
}

static void replace(struct merge *m, struct store_node *mine, const struct store_node *theirs)
{
	const struct store_tree *tree = &m->doc[MERGE_MINE].tree;
	struct pm_text text;
	pm_text_grow(&text, m->arena);
	if (mine->start == mine->end && mine->start > 0 && !pm_is_blank(tree->source[mine->start - 1]))
		pm_text_char(&text, ' ');
	merge_put_flow(&text, theirs);
	/* a text after | or > takes its last line break with it */
	if (mine->start < mine->end && merge_line_start(tree, mine->end) == mine->end)
		pm_text_str(&text, m->line_break);
	merge_edit(m, mine->start, mine->end, text.data, false, false);
	become(mine, theirs);
}

static struct store_node *copy(struct merge *m, const struct store_node *node, size_t place)
{
	struct store_node *fresh = pm_arena_alloc(m->arena, sizeof *fresh);
	if (fresh) {
		*fresh = *node;
		fresh->next = NULL;
		fresh->start = fresh->end = place;
	}
	return fresh;
}

static void insert(struct merge *m, size_t at, const char *text, bool lines)
{
	merge_edit(m, at, at, text, lines, false);
}

/* The key with its value as they are written inside braces; null when memory
 * ran out. */
static const char *pair_text(struct merge *m, const struct store_node *key)
{
	struct store_node pair = { .kind = STORE_NODE_MAP, .first = copy(m, key, 0) };
	struct pm_text text;
	if (!pair.first || !(pair.first->next = copy(m, key->next, 0)))
		return NULL;
	pm_text_grow(&text, m->arena);
	merge_put_flow(&text, &pair);
	return m->arena->failed ? NULL : pm_arena_copy(m->arena, text.data + 1, text.length - 2);
}

static void add(struct merge *m, struct store_node *map, const struct store_node *key)
{
	const struct store_tree *tree = &m->doc[MERGE_MINE].tree;
	size_t column = map->column - 1, place = map->last ? map->last->end : map->start + 1;
	const char *pair = pair_text(m, key);
	struct pm_text line;
	pm_text_grow(&line, m->arena);
	if (map->block) {
		merge_put_blanks(&line, column);
		pm_text_add(&line, "%s%s", pair ? pair : "", m->line_break);
	} else {
		pm_text_add(&line, "%s%s", map->last ? ", " : "", pair ? pair : "");
	}
	if (!map->block)
		insert(m, place, line.data, false);
	else if (map == tree->root)
		pm_text_put(&m->tail, line.data, line.length);
	else
		insert(m, store_splice_line_after(tree, map->end, column), line.data, true);
	struct store_node *name = copy(m, key, place), *value = copy(m, key->next, place);
	if (name && value) {
		store_tree_attach(map, name);
		store_tree_attach(map, value);
	}
}

/* A comment line above the line of a value that stays, naming the other one. */
static void comment(struct merge *m, const struct store_node *key, const struct store_node *theirs)
{
	const struct store_tree *tree = &m->doc[MERGE_MINE].tree;
	size_t start = merge_line_start(tree, key->start), text = start;
	struct pm_text line;
	if (m->plain)
		return;
	while (tree->source[text] == ' ')
		text++;
	pm_text_grow(&line, m->arena);
	merge_put_blanks(&line, text - start);
	pm_text_add(&line, "# in conflict: %s is ", key->text);
	merge_put_flow(&line, theirs);
	pm_text_str(&line, " in THEIRS");
	pm_text_str(&line, m->line_break);
	/* once is enough, however often the same two are merged */
	size_t before = start >= line.length ? start - line.length : start;
	if (before < start && merge_line_start(tree, before) == before &&
	    !memcmp(tree->source + before, line.data, line.length))
		return;
	merge_edit(m, start, start, line.data, false, true);
}

/* --- three ways --- */

static struct store_merge_said said(struct merge *m, const struct store_node *node)
{
	const char *value = node->kind == STORE_NODE_TEXT ? node->text : merge_flow(m, node);
	return (struct store_merge_said){ .value = value, .line = node->line };
}

static void settle(struct merge *m, const char *path, const struct store_node *base,
                   const struct store_node *key, struct store_node *mine, const struct store_node *theirs)
{
	if (same(mine, theirs))
		return;
	if (mine->kind == STORE_NODE_MAP && theirs->kind == STORE_NODE_MAP) {
		merge_map(m, path, base && base->kind == STORE_NODE_MAP ? base : NULL, mine, theirs, NULL, 0);
		return;
	}
	if (same(base, theirs) || (store_tree_null(theirs) && mine->kind == STORE_NODE_MAP))
		return;
	if (same(base, mine) || (store_tree_null(mine) && theirs->kind == STORE_NODE_MAP)) {
		replace(m, mine, theirs);
		m->out->taken++;
		return;
	}
	merge_conflict(m, (struct store_merge_conflict){ STORE_CLASH_HEAD, path, said(m, mine), said(m, theirs) });
	comment(m, key, theirs);
}

void merge_map(struct merge *m, const char *path, const struct store_node *base, struct store_node *mine,
               const struct store_node *theirs, const struct merge_kind *skip, size_t skips)
{
	for (const struct store_node *key = theirs->first; key && key->next; key = key->next->next) {
		if (skipped(key->text, skip, skips))
			continue;
		const char *name = below(m, path, key->text);
		const struct store_node *before = base ? store_tree_value(base, key->text, key->length) : NULL;
		struct store_node *at = mine->first;
		while (at && at->next && (at->length != key->length || memcmp(at->text, key->text, key->length)))
			at = at->next->next;
		if (at) {
			settle(m, name, before, at, at->next, key->next);
			continue;
		}
		add(m, mine, key);
		m->out->taken++;
		if (before)
			merge_note(m, STORE_REMARK_KEPT, MERGE_THEIRS, key->line, name);
	}
	for (const struct store_node *key = mine->first; base && key && key->next; key = key->next->next)
		if (!skipped(key->text, skip, skips) && store_tree_value(base, key->text, key->length) &&
		    !store_tree_value(theirs, key->text, key->length))
			merge_note(m, STORE_REMARK_KEPT, MERGE_MINE, key->line, below(m, path, key->text));
}
