#include "store/yaml_read.h"

#include <string.h>
#include <yaml.h>

#include "portmuster/text.h"
#include "store/document.h"
#include "store/utf8_scan.h"
#include "store/yaml_quick.h"

struct reader {
	struct store_tree *tree;
	struct pm_arena *arena;
	struct pm_fault *fault;
	struct store_scan scan;
	yaml_parser_t parser;
	struct store_node *open[STORE_MOST_DEPTH];
	size_t depth;
	size_t nodes;
	bool done;                   /* the first document has ended */
};

static struct pm_place place_of(const struct reader *r, yaml_mark_t mark)
{
	return (struct pm_place){ r->tree->file, (uint32_t)mark.line + 1, (uint32_t)mark.column + 1 };
}

static bool out_of_memory(const struct reader *r)
{
	return pm_fail(r->fault, PM_FAULT_MEMORY, (struct pm_place){ r->tree->file, 0, 0 }, "out of memory");
}

/* libyaml's own complaint; its texts are constant and hold nothing of the file. */
static bool parser_fault(const struct reader *r)
{
	const yaml_parser_t *p = &r->parser;
	if (p->error == YAML_MEMORY_ERROR)
		return out_of_memory(r);
	const char *problem = p->problem ? p->problem : "no reason given";
	return pm_fail(r->fault, PM_FAULT_SYNTAX, place_of(r, p->problem_mark), "not YAML as it should be: %s%s%s",
	               p->context ? p->context : "", p->context ? ", " : "", problem);
}

/* Anchors and tags. A lone "!" is dropped by the parser, so the source is asked. */
static bool properties_allowed(const struct reader *r, const yaml_event_t *event, bool anchor, bool tag)
{
	size_t start = store_scan_offset(&r->scan, event->start_mark.index);
	if (start < r->tree->length && r->tree->source[start] == '!')
		tag = true;
	if (!anchor && !tag)
		return true;
	pm_fail(r->fault, PM_FAULT_SYNTAX, place_of(r, event->start_mark), "%s, which this format does not have",
	        anchor ? "an anchor" : "a tag");
	return pm_fail_remedy(r->fault, "write the value out, between double quotes where it begins with %s",
	                      anchor ? "&" : "!");
}

void store_tree_attach(struct store_node *parent, struct store_node *node)
{
	if (parent->last)
		parent->last->next = node;
	else
		parent->first = node;
	parent->last = node;
	parent->count++;
}

struct store_node *store_tree_value(const struct store_node *map, const char *key, size_t length)
{
	if (map->kind != STORE_NODE_MAP)
		return NULL;
	for (const struct store_node *at = map->first; at && at->next; at = at->next->next)
		if (at->length == length && !memcmp(at->text, key, length))
			return at->next;
	return NULL;
}

static bool key_allowed(const struct reader *r, const struct store_node *map, const struct store_node *node)
{
	struct pm_place place = { r->tree->file, node->line, node->column };
	if (node->kind != STORE_NODE_TEXT)
		return pm_fail(r->fault, PM_FAULT_SYNTAX, place, "a key must be a text");
	if (map->count / 2 >= STORE_MOST_KEYS)
		return pm_fail(r->fault, PM_FAULT_LIMIT, place, "more than %d keys in one mapping", STORE_MOST_KEYS);
	for (const struct store_node *at = map->first; at && at->next; at = at->next->next) {
		if (at->length != node->length || memcmp(at->text, node->text, node->length))
			continue;
		char quoted[280];
		struct pm_text text;
		pm_text_fixed(&text, quoted, sizeof quoted);
		pm_text_quote(&text, node->text);
		pm_fail(r->fault, PM_FAULT_SYNTAX, place, "key %s stands twice", quoted);
		return pm_fail_remedy(r->fault, "the other one is in line %u; keep one of them", at->line);
	}
	return true;
}

/* Make a node for an event and hang it where it belongs. */
static struct store_node *add_node(struct reader *r, const yaml_event_t *event, enum store_node_kind kind)
{
	if (++r->nodes > STORE_MOST_NODES) {
		pm_fail(r->fault, PM_FAULT_LIMIT, place_of(r, event->start_mark), "more than %d values", STORE_MOST_NODES);
		return NULL;
	}
	struct store_node *node = pm_arena_alloc(r->arena, sizeof *node);
	if (!node) {
		out_of_memory(r);
		return NULL;
	}
	node->kind = kind;
	node->line = (uint32_t)event->start_mark.line + 1;
	node->column = (uint32_t)event->start_mark.column + 1;
	node->start = store_scan_offset(&r->scan, event->start_mark.index);
	node->end = store_scan_offset(&r->scan, event->end_mark.index);
	return node;
}

static bool hang(struct reader *r, struct store_node *node)
{
	if (r->depth == 0) {
		r->tree->root = node;
		return true;
	}
	struct store_node *parent = r->open[r->depth - 1];
	if (parent->kind == STORE_NODE_MAP && parent->count % 2 == 0 && !key_allowed(r, parent, node))
		return false;
	store_tree_attach(parent, node);
	return true;
}

static bool take_scalar(struct reader *r, const yaml_event_t *event)
{
	const char *value = (const char *)event->data.scalar.value;
	size_t length = event->data.scalar.length;
	if (!properties_allowed(r, event, event->data.scalar.anchor, event->data.scalar.tag))
		return false;
	if (memchr(value, 0, length))
		return pm_fail(r->fault, PM_FAULT_SYNTAX, place_of(r, event->start_mark), "a text with a NUL character");
	struct store_node *node = add_node(r, event, STORE_NODE_TEXT);
	if (!node)
		return false;
	yaml_scalar_style_t style = event->data.scalar.style;
	node->plain = style == YAML_PLAIN_SCALAR_STYLE;
	node->block = style == YAML_LITERAL_SCALAR_STYLE || style == YAML_FOLDED_SCALAR_STYLE;
	/* Line breaks at the end of a block come and go with the end of the file. */
	while (node->block && length && value[length - 1] == '\n')
		length--;
	node->text = pm_arena_copy(r->arena, value, length);
	node->length = length;
	if (!node->text)
		return out_of_memory(r);
	return hang(r, node);
}

static bool open_collection(struct reader *r, const yaml_event_t *event, enum store_node_kind kind)
{
	bool map = kind == STORE_NODE_MAP;
	if (!properties_allowed(r, event, map ? event->data.mapping_start.anchor : event->data.sequence_start.anchor,
	                        map ? event->data.mapping_start.tag : event->data.sequence_start.tag))
		return false;
	if (r->depth == STORE_MOST_DEPTH)
		return pm_fail(r->fault, PM_FAULT_LIMIT, place_of(r, event->start_mark),
		               "nested more than %d deep", STORE_MOST_DEPTH);
	struct store_node *node = add_node(r, event, kind);
	if (!node)
		return false;
	node->block = map ? event->data.mapping_start.style == YAML_BLOCK_MAPPING_STYLE
	                  : event->data.sequence_start.style == YAML_BLOCK_SEQUENCE_STYLE;
	if (!hang(r, node))
		return false;
	r->open[r->depth++] = node;
	return true;
}

static void close_collection(struct reader *r, const yaml_event_t *event)
{
	struct store_node *node = r->open[--r->depth];
	/* The mark of a block's end lies behind the comments that follow it. */
	if (node->block && node->last)
		node->end = node->last->end;
	else
		node->end = store_scan_offset(&r->scan, event->end_mark.index);
}

static bool start_document(struct reader *r, const yaml_event_t *event)
{
	if (r->done) {
		pm_fail(r->fault, PM_FAULT_SYNTAX, place_of(r, event->start_mark), "a second document in the file");
		return pm_fail_remedy(r->fault, "keep one document a file");
	}
	if (event->data.document_start.tag_directives.start != event->data.document_start.tag_directives.end)
		return pm_fail(r->fault, PM_FAULT_SYNTAX, place_of(r, event->start_mark),
		               "a tag directive, which this format does not have");
	return true;
}

static bool take_event(struct reader *r, const yaml_event_t *event)
{
	switch (event->type) {
	case YAML_NO_EVENT:
	case YAML_STREAM_START_EVENT:
	case YAML_STREAM_END_EVENT:
		return true;
	case YAML_DOCUMENT_START_EVENT:
		return start_document(r, event);
	case YAML_DOCUMENT_END_EVENT:
		r->done = true;
		if (!event->data.document_end.implicit)
			r->tree->document_end = store_scan_offset(&r->scan, event->start_mark.index);
		return true;
	case YAML_ALIAS_EVENT:
		pm_fail(r->fault, PM_FAULT_SYNTAX, place_of(r, event->start_mark),
		        "an alias, which this format does not have");
		return pm_fail_remedy(r->fault, "write the value out, between double quotes where it begins with *");
	case YAML_SCALAR_EVENT:
		return take_scalar(r, event);
	case YAML_SEQUENCE_START_EVENT:
		return open_collection(r, event, STORE_NODE_LIST);
	case YAML_MAPPING_START_EVENT:
		return open_collection(r, event, STORE_NODE_MAP);
	case YAML_SEQUENCE_END_EVENT:
	case YAML_MAPPING_END_EVENT:
		close_collection(r, event);
		return true;
	}
	return true;
}

static bool run(struct reader *r)
{
	for (bool ended = false; !ended;) {
		yaml_event_t event;
		if (!yaml_parser_parse(&r->parser, &event))
			return parser_fault(r);
		ended = event.type == YAML_STREAM_END_EVENT;
		bool good = take_event(r, &event);
		yaml_event_delete(&event);
		if (!good)
			return false;
	}
	if (!r->tree->root)
		return pm_fail(r->fault, PM_FAULT_SYNTAX, (struct pm_place){ r->tree->file, 1, 1 },
		               "no document in the file");
	return true;
}

static bool read_tree(const char *source, size_t length, const char *file, bool quickly,
                      struct pm_arena *arena, struct store_tree *tree, struct pm_fault *fault)
{
	*tree = (struct store_tree){ .file = file, .source = source, .length = length, .document_end = length };
	struct reader r = { .tree = tree, .arena = arena, .fault = fault };
	if (length > STORE_MOST_BYTES)
		return pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ file, 0, 0 },
		               "larger than %u bytes", STORE_MOST_BYTES);
	if (!store_scan_text(&r.scan, source, length, file, arena, fault))
		return false;
	if (quickly && r.scan.plain) {
		if (store_quick_read(tree, arena))
			return true;
		if (arena->failed)
			return out_of_memory(&r);
	}
	if (!yaml_parser_initialize(&r.parser))
		return out_of_memory(&r);
	yaml_parser_set_encoding(&r.parser, YAML_UTF8_ENCODING);
	yaml_parser_set_input_string(&r.parser, (const unsigned char *)r.scan.text, r.scan.length);
	bool good = run(&r);
	yaml_parser_delete(&r.parser);
	return good;
}

bool store_tree_read(const char *source, size_t length, const char *file,
                     struct pm_arena *arena, struct store_tree *tree, struct pm_fault *fault)
{
	return read_tree(source, length, file, true, arena, tree, fault);
}

bool store_tree_read_events(const char *source, size_t length, const char *file,
                            struct pm_arena *arena, struct store_tree *tree, struct pm_fault *fault)
{
	return read_tree(source, length, file, false, arena, tree, fault);
}

bool store_tree_null(const struct store_node *node)
{
	return node->kind == STORE_NODE_TEXT && node->plain &&
	       (node->length == 0 || pm_same(node->text, "~") || pm_same_nocase(node->text, "null"));
}

/* Depth is bounded by STORE_MOST_DEPTH. */
bool store_tree_same(const struct store_node *a, const struct store_node *b)
{
	if (a->kind != b->kind || a->count != b->count)
		return false;
	if (a->kind == STORE_NODE_TEXT)
		return a->length == b->length && !memcmp(a->text, b->text, a->length);
	const struct store_node *left = a->first, *right = b->first;
	for (; left && right; left = left->next, right = right->next)
		if (!store_tree_same(left, right))
			return false;
	return !left && !right;
}
