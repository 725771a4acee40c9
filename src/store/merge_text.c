#include "store/merge_parts.h"

#include <stdlib.h>
#include <string.h>

size_t merge_line_start(const struct store_tree *tree, size_t at)
{
	while (at > 0 && !merge_is_break(tree->source[at - 1]))
		at--;
	return at;
}

void merge_edit(struct merge *m, size_t start, size_t end, const char *text, bool lines, bool ahead)
{
	void *items = m->edit;
	size_t serial = m->edits;
	struct merge_edit *edit = pm_arena_push(m->arena, &items, &m->edits, &m->edit_room, sizeof *edit);
	m->edit = items;
	if (edit)
		*edit = (struct merge_edit){ start, end, serial, text ? text : "", lines, ahead };
}

void merge_put_blanks(struct pm_text *out, size_t count)
{
	while (count--)
		pm_text_char(out, ' ');
}

/* --- nodes as text --- */

/* A key as it is written: plain where nothing could be mistaken in it. */
static void put_key(struct pm_text *out, const char *key)
{
	size_t length = strlen(key), at = 0;
	while (at < length && (pm_is_alnum(key[at]) || key[at] == '_' || (at && key[at] == '-')))
		at++;
	if (length && at == length)
		pm_text_str(out, key);
	else
		store_put_quoted(out, key);
}

/* Depth is bounded by STORE_MOST_DEPTH. */
void merge_put_flow(struct pm_text *out, const struct store_node *node)
{
	bool map = node->kind == STORE_NODE_MAP;
	if (node->kind == STORE_NODE_TEXT && store_tree_null(node)) {
		pm_text_put(out, node->text, node->length);
		return;
	}
	if (node->kind == STORE_NODE_TEXT) {
		store_put_quoted(out, node->text);
		return;
	}
	pm_text_char(out, map ? '{' : '[');
	for (const struct store_node *at = node->first; at; at = at->next) {
		if (at != node->first)
			pm_text_str(out, ", ");
		if (map) {
			put_key(out, at->text);
			pm_text_str(out, ": ");
			at = at->next;
		}
		/* an empty plain text inside brackets would be no entry at all */
		if (at->kind == STORE_NODE_TEXT && at->length == 0)
			pm_text_str(out, "\"\"");
		else
			merge_put_flow(out, at);
	}
	pm_text_char(out, map ? '}' : ']');
}

const char *merge_flow(struct merge *m, const struct store_node *node)
{
	struct pm_text text;
	pm_text_grow(&text, m->arena);
	merge_put_flow(&text, node);
	return text.data;
}

/* --- MINE's text with its edits --- */

void merge_put_own_line(const struct merge *m, struct pm_text *out)
{
	if (out->length && !merge_is_break(out->data[out->length - 1]))
		pm_text_str(out, m->line_break);
}

static int compare_edits(const void *left, const void *right)
{
	const struct merge_edit *a = left, *b = right;
	if (a->start != b->start)
		return a->start < b->start ? -1 : 1;
	/* what belongs to the text before comes before what belongs to the text behind */
	if (a->ahead != b->ahead)
		return a->ahead ? 1 : -1;
	return a->serial < b->serial ? -1 : 1;
}

static bool falls_in(const struct merge_edit *edit, size_t from, size_t to)
{
	if (edit->start < edit->end)
		return edit->start >= from && edit->end <= to;
	if (edit->ahead)
		return edit->start >= from && edit->start < to;
	return edit->start > from && edit->start <= to;
}

void merge_put_range(const struct merge *m, struct pm_text *out, size_t from, size_t to)
{
	const char *source = m->doc[MERGE_MINE].tree.source;
	size_t low = 0, high = m->edits, at = from;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		if (m->edit[middle].start < from)
			low = middle + 1;
		else
			high = middle;
	}
	for (size_t i = low; i < m->edits && m->edit[i].start <= to; i++) {
		const struct merge_edit *edit = &m->edit[i];
		/* an edit inside what another replaced is part of it already */
		if (!falls_in(edit, from, to) || edit->start < at)
			continue;
		pm_text_put(out, source + at, edit->start - at);
		if (edit->lines)
			merge_put_own_line(m, out);
		pm_text_str(out, edit->text);
		at = edit->end;
	}
	pm_text_put(out, source + at, to - at);
}

static int compare_regions(const void *left, const void *right)
{
	const struct merge_region *a = left, *b = right;
	return a->start < b->start ? -1 : a->start > b->start;
}

char *merge_compose(struct merge *m, size_t *length)
{
	const struct store_tree *tree = &m->doc[MERGE_MINE].tree;
	struct pm_text out;
	size_t at = 0;
	if (m->edits)
		qsort(m->edit, m->edits, sizeof *m->edit, compare_edits);
	qsort(m->region, m->regions, sizeof *m->region, compare_regions);
	pm_text_grow(&out, m->arena);
	for (size_t i = 0; i < m->regions; i++) {
		const struct merge_region *region = &m->region[i];
		merge_put_range(m, &out, at, region->start);
		merge_put_list(m, &out, region->list);
		at = region->end;
	}
	merge_put_range(m, &out, at, tree->document_end);
	if (m->tail.length) {
		merge_put_own_line(m, &out);
		pm_text_put(&out, m->tail.data, m->tail.length);
	}
	pm_text_put(&out, tree->source + tree->document_end, tree->length - tree->document_end);
	*length = out.length;
	return m->arena->failed ? NULL : out.data;
}
