#include "store/yaml_quick.h"

#include <string.h>

#include "portmuster/text.h"
#include "store/document.h"

#define LONGEST_KEY 128   /* libyaml's own bound is 1024 */
#define NODES_AT_ONCE 64

/* Every function returns false to give up, and then all is left to libyaml. */
struct quick {
	const char *source;
	size_t length, at;
	size_t line_start;           /* of the line that `at` is in */
	uint32_t line;               /* from 1 */
	char *texts;                 /* a copy of the source, cut into texts */
	struct pm_arena *arena;
	struct store_node *ready;    /* nodes to be used next */
	size_t ready_count, nodes;
	unsigned depth;
};

static bool read_block(struct quick *q, struct store_node **out);
static bool read_flow(struct quick *q, struct store_node **out);

/* The character at hand; 0 at the end, which is no character of the source. */
static char here(const struct quick *q)
{
	return q->at < q->length ? q->source[q->at] : '\0';
}

static char after(const struct quick *q)
{
	return q->at + 1 < q->length ? q->source[q->at + 1] : '\0';
}

static size_t column(const struct quick *q)
{
	return q->at - q->line_start;
}

static void end_line(struct quick *q)
{
	q->at++;
	q->line++;
	q->line_start = q->at;
}

static void skip_blanks(struct quick *q)
{
	while (here(q) == ' ')
		q->at++;
}

static void skip_comment(struct quick *q)
{
	while (q->at < q->length && here(q) != '\n')
		q->at++;
}

/* Behind a value: nothing but blanks, and a comment that blanks set apart. */
static bool rest_of_line(struct quick *q)
{
	size_t before = q->at;
	skip_blanks(q);
	if (here(q) == '#' && q->at > before)
		skip_comment(q);
	return q->at == q->length || here(q) == '\n';
}

/* To the next token, over empty lines and lines of comment; from the end of a line
 * or the beginning of one. */
static void skip_lines(struct quick *q)
{
	while (q->at < q->length) {
		skip_blanks(q);
		if (here(q) == '#')
			skip_comment(q);
		if (here(q) != '\n')
			return;
		end_line(q);
	}
}

static struct store_node *add_node(struct quick *q, enum store_node_kind kind)
{
	if (!q->ready_count) {
		q->ready = pm_arena_array(q->arena, NODES_AT_ONCE, sizeof *q->ready);
		q->ready_count = q->ready ? NODES_AT_ONCE : 0;
	}
	if (!q->ready_count || ++q->nodes > STORE_MOST_NODES)
		return NULL;
	struct store_node *node = q->ready++;
	q->ready_count--;
	node->kind = kind;
	node->line = q->line;
	node->column = (uint32_t)column(q) + 1;
	node->start = q->at;
	return node;
}

/* The node's text are `length` characters from `from`; the one behind them is no
 * part of any text. */
static void set_text(struct quick *q, struct store_node *node, size_t from, size_t length)
{
	node->text = q->texts + from;
	node->length = length;
	q->texts[from + length] = '\0';
}

/* --- texts --- */

static bool read_quoted(struct quick *q, struct store_node **out)
{
	struct store_node *node = *out = add_node(q, STORE_NODE_TEXT);
	if (!node)
		return false;
	size_t from = ++q->at;
	const char *source = q->source;
	while (q->at < q->length && source[q->at] != '"') {
		if (source[q->at] == '\\' || source[q->at] == '\n' || source[q->at] == '\t')
			return false;
		q->at++;
	}
	if (q->at == q->length)
		return false;
	set_text(q, node, from, q->at - from);
	node->end = ++q->at;
	return true;
}

static bool is_word_part(char c)
{
	return pm_is_alnum(c) || c == '-' || c == '_' || c == '.' || c == '/';
}

/* Words to the end of the line. What follows on a deeper line would belong to them:
 * the caller sees to it that there is none. */
static bool read_plain(struct quick *q, struct store_node **out)
{
	struct store_node *node = *out = add_node(q, STORE_NODE_TEXT);
	size_t from = q->at, to = from;
	if (!node)
		return false;
	while (is_word_part(here(q)) || here(q) == ' ') {
		q->at++;
		if (q->source[q->at - 1] != ' ')
			to = q->at;
	}
	q->at = to;
	node->plain = true;
	set_text(q, node, from, to - from);
	node->end = to;
	return true;
}

static bool is_key(const struct quick *q)
{
	return pm_is_alpha(here(q));
}

/* A key and the colon behind it. */
static bool read_key(struct quick *q, const struct store_node *map, struct store_node **out)
{
	struct store_node *node = *out = add_node(q, STORE_NODE_TEXT);
	size_t from = q->at;
	if (!node || !is_key(q) || map->count / 2 >= STORE_MOST_KEYS)
		return false;
	while (pm_is_alnum(here(q)) || here(q) == '-' || here(q) == '_')
		q->at++;
	if (q->at - from > LONGEST_KEY || here(q) != ':' || (after(q) != ' ' && after(q) != '\n'))
		return false;
	node->plain = true;
	set_text(q, node, from, q->at - from);
	node->end = q->at++;
	return !store_tree_value(map, node->text, node->length);
}

/* --- flow collections --- */

static void skip_space(struct quick *q)
{
	for (;;) {
		if (here(q) == '\n')
			end_line(q);
		else if (here(q) == ' ')
			q->at++;
		else
			return;
	}
}

static bool read_flow_value(struct quick *q, struct store_node **out)
{
	return here(q) == '"' ? read_quoted(q, out) : read_flow(q, out);
}

static bool read_flow(struct quick *q, struct store_node **out)
{
	bool map = here(q) == '{';
	char end = map ? '}' : ']';
	if ((!map && here(q) != '[') || q->depth++ == STORE_MOST_DEPTH)
		return false;
	struct store_node *node = *out = add_node(q, map ? STORE_NODE_MAP : STORE_NODE_LIST), *part;
	if (!node)
		return false;
	q->at++;
	skip_space(q);
	for (bool more = here(q) != end; more;) {
		if (map) {
			if (!read_key(q, node, &part))
				return false;
			store_tree_attach(node, part);
			skip_space(q);
		}
		if (!read_flow_value(q, &part))
			return false;
		store_tree_attach(node, part);
		skip_space(q);
		more = here(q) == ',';
		if (more) {
			q->at++;
			skip_space(q);
		} else if (here(q) != end) {
			return false;
		}
	}
	node->end = ++q->at;
	q->depth--;
	return true;
}

/* --- block collections --- */

/* A value that begins on the line at hand, to the line's end. */
static bool read_in_line(struct quick *q, size_t indent, struct store_node **out)
{
	if (here(q) == '"')
		return read_quoted(q, out) && rest_of_line(q);
	if (here(q) == '{' || here(q) == '[')
		return read_flow(q, out) && rest_of_line(q);
	if (!pm_is_alnum(here(q)) || !read_plain(q, out) || !rest_of_line(q))
		return false;
	skip_lines(q);
	return q->at == q->length || column(q) <= indent;
}

/* Is there a further part at this column? Else the collection ends; `*good` is false
 * where the next line stands at no such place. */
static bool goes_on(struct quick *q, size_t indent, bool *good)
{
	skip_lines(q);
	*good = q->at == q->length || column(q) <= indent;
	return q->at < q->length && column(q) == indent;
}

static bool read_block_map(struct quick *q, struct store_node *node, size_t indent)
{
	bool good = true;
	do {
		struct store_node *key, *value;
		if (!read_key(q, node, &key))
			return false;
		store_tree_attach(node, key);
		skip_blanks(q);
		if (here(q) == '\n' || here(q) == '#') {
			skip_lines(q);
			/* an empty value, and a list no deeper than its key, are for libyaml */
			if (q->at == q->length || column(q) <= indent || !read_block(q, &value))
				return false;
		} else if (!read_in_line(q, indent, &value)) {
			return false;
		}
		store_tree_attach(node, value);
	} while (goes_on(q, indent, &good));
	return good;
}

static bool read_block_list(struct quick *q, struct store_node *node, size_t indent)
{
	bool good = true;
	do {
		struct store_node *part;
		if (here(q) != '-' || after(q) != ' ')
			return false;
		q->at++;
		skip_blanks(q);
		/* a word may be a key: then the entry is a mapping that begins here */
		if (!(is_key(q) ? read_block(q, &part) : read_in_line(q, indent, &part)))
			return false;
		store_tree_attach(node, part);
	} while (goes_on(q, indent, &good));
	return good;
}

static bool read_block(struct quick *q, struct store_node **out)
{
	bool list = here(q) == '-';
	size_t indent = column(q);
	if (q->depth++ == STORE_MOST_DEPTH)
		return false;
	struct store_node *node = *out = add_node(q, list ? STORE_NODE_LIST : STORE_NODE_MAP);
	if (!node || !(list ? read_block_list(q, node, indent) : read_block_map(q, node, indent)))
		return false;
	node->block = true;
	node->end = node->last->end;
	q->depth--;
	return true;
}

bool store_quick_read(struct store_tree *tree, struct pm_arena *arena)
{
	struct quick q = { .source = tree->source, .length = tree->length, .line = 1, .arena = arena };
	struct store_node *root;
	skip_lines(&q);
	if (!is_key(&q) || !(q.texts = pm_arena_copy(arena, tree->source, tree->length)))
		return false;
	if (!read_block(&q, &root) || q.at < q.length)
		return false;
	tree->root = root;
	return true;
}
