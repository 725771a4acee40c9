#include "store/splice.h"

#include <string.h>

/* An edit: at most two stretches of the source replaced, in order. */
struct cut {
	size_t start, end;
	struct pm_text text;
};

struct edit {
	const struct store_tree *tree;
	struct pm_arena *arena;
	const char *line_break;
	struct cut cut[2];
	size_t cuts;
};

const char *store_splice_break(const struct store_tree *tree)
{
	const char *feed = memchr(tree->source, '\n', tree->length);
	if (feed)
		return feed > tree->source && feed[-1] == '\r' ? "\r\n" : "\n";
	return memchr(tree->source, '\r', tree->length) ? "\r" : "\n";
}

static struct edit begin(const struct store_tree *tree, struct pm_arena *arena)
{
	return (struct edit){ .tree = tree, .arena = arena, .line_break = store_splice_break(tree) };
}

static struct pm_text *cut(struct edit *edit, size_t start, size_t end)
{
	struct cut *cut = &edit->cut[edit->cuts++];
	cut->start = start;
	cut->end = end;
	pm_text_grow(&cut->text, edit->arena);
	return &cut->text;
}

static char *apply(const struct edit *edit, size_t *length)
{
	const struct store_tree *tree = edit->tree;
	struct pm_text out;
	size_t at = 0;
	if (edit->cuts == 0)
		return NULL;
	pm_text_grow(&out, edit->arena);
	for (size_t i = 0; i < edit->cuts; i++) {
		const struct cut *each = &edit->cut[i];
		pm_text_put(&out, tree->source + at, each->start - at);
		pm_text_put(&out, each->text.data, each->text.length);
		at = each->end;
	}
	pm_text_put(&out, tree->source + at, tree->length - at);
	*length = out.length;
	return edit->arena->failed ? NULL : out.data;
}

/* --- places --- */

static bool is_break(char c)
{
	return c == '\n' || c == '\r';
}

static bool at_line_start(const struct store_tree *tree, size_t at)
{
	return at == 0 || is_break(tree->source[at - 1]);
}

size_t store_splice_next_line(const struct store_tree *tree, size_t at)
{
	while (at < tree->length && !is_break(tree->source[at]))
		at++;
	if (at + 1 < tree->length && tree->source[at] == '\r' && tree->source[at + 1] == '\n')
		at++;
	if (at < tree->length)
		at++;
	return at;
}

size_t store_splice_line_after(const struct store_tree *tree, size_t end, size_t column)
{
	size_t at = at_line_start(tree, end) ? end : store_splice_next_line(tree, end);
	while (at < tree->length) {
		size_t text = at;
		while (text < tree->length && tree->source[text] == ' ')
			text++;
		if (text == tree->length || tree->source[text] != '#' || text - at <= column)
			break;
		at = store_splice_next_line(tree, at);
	}
	return at;
}

/* Open a cut in the place of a text that may be empty, a blank before it. */
static struct pm_text *cut_value(struct edit *edit, const struct store_node *node)
{
	struct pm_text *out = cut(edit, node->start, node->end);
	if (node->start == node->end && node->start > 0 && !pm_is_blank(edit->tree->source[node->start - 1]))
		pm_text_char(out, ' ');
	return out;
}

/* Open a cut that begins on a line of its own at `at`. */
static struct pm_text *cut_line(struct edit *edit, size_t at)
{
	struct pm_text *out = cut(edit, at, at);
	if (!at_line_start(edit->tree, at))
		pm_text_str(out, edit->line_break);
	return out;
}

/* Take out what stands in the place of nothing ("~", "[]"), and the blanks
 * before it, so that a block can follow below. */
static void cut_nothing(struct edit *edit, const struct store_node *node)
{
	size_t start = node->start;
	if (node->start == node->end)
		return;
	while (start > 0 && pm_is_blank(edit->tree->source[start - 1]))
		start--;
	cut(edit, start, node->end);
}

bool store_splice_nothing(const struct store_tree *tree, const struct store_node *node)
{
	if (store_tree_null(node))
		return true;
	if (node->kind == STORE_NODE_TEXT || node->block || node->count)
		return false;
	for (size_t at = node->start + 1; at + 1 < node->end; at++)
		if (!pm_is_blank(tree->source[at]))
			return false;
	return true;
}

/* --- pieces --- */

static void put_blanks(struct pm_text *out, size_t count)
{
	while (count--)
		pm_text_char(out, ' ');
}

static void put_pair(struct pm_text *out, struct store_pair pair)
{
	pm_text_str(out, pair.key);
	pm_text_str(out, ": ");
	store_put_quoted(out, pair.value);
}

static void put_lines(const struct edit *edit, struct pm_text *out, const struct store_pair *pairs,
                      size_t count, size_t column, size_t gap)
{
	for (size_t i = 0; i < count; i++) {
		put_blanks(out, column);
		pm_text_char(out, i == 0 ? '-' : ' ');
		put_blanks(out, gap);
		put_pair(out, pairs[i]);
		pm_text_str(out, edit->line_break);
	}
}

static void put_flow(struct pm_text *out, const struct store_pair *pairs, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		pm_text_str(out, i == 0 ? "{" : ", ");
		put_pair(out, pairs[i]);
	}
	pm_text_char(out, '}');
}

/* Open a cut for one entry more inside brackets. */
static struct pm_text *cut_flow(struct edit *edit, const struct store_node *node)
{
	size_t at = node->last ? node->last->end : node->start + 1;
	struct pm_text *out = cut(edit, at, at);
	if (node->last)
		pm_text_str(out, ", ");
	return out;
}

/* Blanks between the dash and the first key of the list's last entry. */
static size_t gap_of(const struct store_node *list)
{
	const struct store_node *entry = list->last;
	if (entry->block && entry->column > list->column + 1 && entry->column < list->column + 9)
		return entry->column - list->column - 1;
	return 1;
}

/* --- edits --- */

char *store_splice_append(const struct store_tree *tree, const char *list,
                          const struct store_pair *pairs, size_t count,
                          struct pm_arena *arena, size_t *length)
{
	struct edit edit = begin(tree, arena);
	const struct store_node *root = tree->root;
	const struct store_node *node = store_tree_value(root, list, strlen(list));
	size_t column = root->column - 1;
	if (node && node->kind == STORE_NODE_LIST && node->block) {
		struct pm_text *out = cut_line(&edit, store_splice_line_after(tree, node->end, node->column - 1));
		put_lines(&edit, out, pairs, count, node->column - 1, gap_of(node));
	} else if (!node && root->block) {
		struct pm_text *out = cut_line(&edit, tree->document_end);
		put_blanks(out, column);
		pm_text_add(out, "%s:%s", list, edit.line_break);
		put_lines(&edit, out, pairs, count, column + 2, 1);
	} else if (node && root->block && store_splice_nothing(tree, node)) {
		cut_nothing(&edit, node);
		struct pm_text *out = cut_line(&edit, store_splice_line_after(tree, node->end, column));
		put_lines(&edit, out, pairs, count, column + 2, 1);
	} else if (!node) {
		struct pm_text *out = cut_flow(&edit, root);
		pm_text_add(out, "%s: [", list);
		put_flow(out, pairs, count);
		pm_text_char(out, ']');
	} else if (store_tree_null(node)) {
		struct pm_text *out = cut_value(&edit, node);
		pm_text_char(out, '[');
		put_flow(out, pairs, count);
		pm_text_char(out, ']');
	} else if (node->kind == STORE_NODE_LIST) {
		put_flow(cut_flow(&edit, node), pairs, count);
	}
	return apply(&edit, length);
}

/* A text that is there gives way to another. */
static void replace_text(struct edit *edit, const struct store_node *node, const char *value)
{
	struct pm_text *out = cut_value(edit, node);
	store_put_quoted(out, value);
	/* A text after | or > takes its last line break with it. */
	if (node->start < node->end && at_line_start(edit->tree, node->end))
		pm_text_str(out, edit->line_break);
}

static void set_in(struct edit *edit, const struct store_node *map, struct store_pair pair)
{
	const struct store_tree *tree = edit->tree;
	const struct store_node *node = store_tree_value(map, pair.key, strlen(pair.key));
	if (node && node->kind == STORE_NODE_TEXT) {
		replace_text(edit, node, pair.value);
	} else if (!node && map->block) {
		size_t column = map->column - 1;
		size_t at = map == tree->root ? tree->document_end : store_splice_line_after(tree, map->end, column);
		struct pm_text *out = cut_line(edit, at);
		put_blanks(out, column);
		put_pair(out, pair);
		pm_text_str(out, edit->line_break);
	} else if (!node) {
		put_pair(cut_flow(edit, map), pair);
	}
}

char *store_splice_set(const struct store_tree *tree, const char *outer, const char *key,
                       const char *value, struct pm_arena *arena, size_t *length)
{
	struct edit edit = begin(tree, arena);
	struct store_pair pair = { key, value };
	const struct store_node *root = tree->root;
	const struct store_node *map = outer ? store_tree_value(root, outer, strlen(outer)) : root;
	size_t column = root->column - 1;
	if (!map && root->block) {
		struct pm_text *out = cut_line(&edit, tree->document_end);
		put_blanks(out, column);
		pm_text_add(out, "%s:%s", outer, edit.line_break);
		put_blanks(out, column + 2);
		put_pair(out, pair);
		pm_text_str(out, edit.line_break);
	} else if (!map) {
		struct pm_text *out = cut_flow(&edit, root);
		pm_text_add(out, "%s: ", outer);
		put_flow(out, &pair, 1);
	} else if (map->kind == STORE_NODE_MAP && (map->count || !root->block || !store_splice_nothing(tree, map))) {
		set_in(&edit, map, pair);
	} else if (root->block && store_splice_nothing(tree, map)) {
		cut_nothing(&edit, map);
		struct pm_text *out = cut_line(&edit, store_splice_line_after(tree, map->end, column));
		put_blanks(out, column + 2);
		put_pair(out, pair);
		pm_text_str(out, edit.line_break);
	} else if (store_tree_null(map)) {
		put_flow(cut_value(&edit, map), &pair, 1);
	}
	return apply(&edit, length);
}
