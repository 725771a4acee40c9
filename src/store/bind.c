#include "store/bind.h"

#include <string.h>

#include "portmuster/slip.h"
#include "portmuster/text.h"
#include "portmuster/when.h"
#include "portmuster/word.h"

struct binder {
	const struct store_tree *tree;
	struct pm_arena *arena;
	struct pm_stray_keys *strays;
	struct pm_fault *fault;
	char quoted[280];
};

static struct pm_place place_of(const struct binder *b, const struct store_node *node)
{
	return (struct pm_place){ b->tree->file, node->line, node->column };
}

static const char *quote(struct binder *b, const char *string)
{
	struct pm_text text;
	pm_text_fixed(&text, b->quoted, sizeof b->quoted);
	pm_text_quote(&text, string);
	return b->quoted;
}

static bool out_of_memory(const struct binder *b)
{
	return pm_fail(b->fault, PM_FAULT_MEMORY, (struct pm_place){ b->tree->file, 0, 0 }, "out of memory");
}

static const char *kind_word(enum store_node_kind kind)
{
	switch (kind) {
	case STORE_NODE_TEXT: return "a text";
	case STORE_NODE_LIST: return "a list";
	case STORE_NODE_MAP: return "a mapping";
	}
	return "something else";
}

static bool expect(const struct binder *b, const struct store_node *node, enum store_node_kind kind,
                   const char *what, const char *key)
{
	if (node->kind == kind)
		return true;
	return pm_fail(b->fault, PM_FAULT_VALUE, place_of(b, node), "%s%s must be %s, not %s",
	               what, key, kind_word(kind), kind_word(node->kind));
}

static struct pm_word word_of(const struct store_node *node)
{
	return (struct pm_word){ node->text, node->line, node->column };
}

static void *member(void *base, size_t offset)
{
	return (char *)base + offset;
}

static bool bind_mapping(struct binder *b, const struct store_table *table,
                         const struct store_node *map, void *base);

/* --- one kind each --- */

static bool bind_flag(struct binder *b, const struct store_field *field, const struct store_node *node, void *base)
{
	bool yes = pm_same(node->text, "yes");
	if (yes || pm_same(node->text, "no")) {
		*(bool *)member(base, field->offset) = yes;
		return true;
	}
	pm_fail(b->fault, PM_FAULT_VALUE, place_of(b, node), "%s must be yes or no, not %s",
	        field->key, quote(b, node->text));
	return pm_fail_remedy(b->fault, "write yes or no");
}

static bool bind_whole(struct binder *b, const struct store_field *field, const struct store_node *node, void *base)
{
	uint64_t value;
	if (pm_read_number(node->text, (uint64_t)field->most, &value) && (int64_t)value >= field->least) {
		*(int64_t *)member(base, field->offset) = (int64_t)value;
		return true;
	}
	return pm_fail(b->fault, PM_FAULT_VALUE, place_of(b, node), "%s must be a whole number from %lld to %lld, not %s",
	               field->key, (long long)field->least, (long long)field->most, quote(b, node->text));
}

static bool bind_decimal(struct binder *b, const struct store_field *field, const struct store_node *node, void *base)
{
	struct pm_number *number = member(base, field->offset);
	if (pm_read_decimal(node->text, &number->millionths)) {
		number->word = word_of(node);
		return true;
	}
	pm_fail(b->fault, PM_FAULT_VALUE, place_of(b, node), "%s must be a decimal number, not %s",
	        field->key, quote(b, node->text));
	return pm_fail_remedy(b->fault, "write it as in 230.5, with at most six digits after the point");
}

static bool bind_choice(struct binder *b, const struct store_field *field, const struct store_node *node, void *base)
{
	const struct store_choice *choice = field->choice;
	for (unsigned i = 0; i < choice->count; i++) {
		if (!pm_same(node->text, choice->word(i)))
			continue;
		if (choice->set)
			choice->set(member(base, field->offset), i);
		else
			*(struct pm_word *)member(base, field->offset) = word_of(node);
		return true;
	}
	char list[PM_FAULT_TEXT];
	struct pm_text text;
	pm_text_fixed(&text, list, sizeof list);
	for (unsigned i = 0; i < choice->count; i++)
		pm_text_add(&text, "%s%s", i == 0 ? "" : i + 1 == choice->count ? " or " : ", ", choice->word(i));
	pm_fail(b->fault, PM_FAULT_VALUE, place_of(b, node), "unknown %s %s", field->key, quote(b, node->text));
	return pm_fail_remedy(b->fault, "write %s", list);
}

static bool bind_time(const struct store_field *field, const struct store_node *node, void *base)
{
	*(struct pm_word *)member(base, field->offset) = word_of(node);
	struct pm_when *when = member(base, field->also);
	/* A malformed time is a finding of the check, not a reason to refuse the file. */
	if (!pm_when_read(node->text, when, NULL))
		*when = (struct pm_when){ .known = false };
	return true;
}

static bool bind_texts(struct binder *b, const struct store_field *field, const struct store_node *node, void *base)
{
	struct pm_words *words = member(base, field->offset);
	words->item = pm_arena_array(b->arena, node->count, sizeof *words->item);
	if (!words->item)
		return out_of_memory(b);
	for (const struct store_node *at = node->first; at; at = at->next) {
		if (!expect(b, at, STORE_NODE_TEXT, "an entry of ", field->key))
			return false;
		words->item[words->count++] = word_of(at);
	}
	return true;
}

static bool bind_mappings(struct binder *b, const struct store_field *field, const struct store_node *node, void *base)
{
	const struct store_table *table = field->table;
	char *items = pm_arena_array(b->arena, node->count, table->size);
	if (!items)
		return out_of_memory(b);
	size_t count = 0;
	for (const struct store_node *at = node->first; at; at = at->next, count++)
		if (!expect(b, at, STORE_NODE_MAP, "an entry of ", field->key) ||
		    !bind_mapping(b, table, at, items + count * table->size))
			return false;
	/* The member is a pointer to some struct; all such pointers look alike here. */
	memcpy(member(base, field->offset), &(void *){ items }, sizeof(void *));
	*(size_t *)member(base, field->also) = count;
	return true;
}

static bool bind_nested(struct binder *b, const struct store_field *field, const struct store_node *node, void *base)
{
	if (field->also != STORE_NOWHERE)
		*(bool *)member(base, field->also) = true;
	return bind_mapping(b, field->table, node, member(base, field->offset));
}

/* --- mappings --- */

static enum store_node_kind wanted(enum store_holds holds)
{
	switch (holds) {
	case STORE_TEXT:
	case STORE_TIME:
	case STORE_FLAG:
	case STORE_WHOLE:
	case STORE_DECIMAL:
	case STORE_CHOICE:
		return STORE_NODE_TEXT;
	case STORE_TEXTS:
	case STORE_MAPPINGS:
		return STORE_NODE_LIST;
	case STORE_MAPPING:
		return STORE_NODE_MAP;
	}
	return STORE_NODE_TEXT;
}

static bool bind_value(struct binder *b, const struct store_field *field, const struct store_node *node, void *base)
{
	if (!expect(b, node, wanted(field->holds), "", field->key))
		return false;
	switch (field->holds) {
	case STORE_TEXT:
		*(struct pm_word *)member(base, field->offset) = word_of(node);
		return true;
	case STORE_TIME: return bind_time(field, node, base);
	case STORE_FLAG: return bind_flag(b, field, node, base);
	case STORE_WHOLE: return bind_whole(b, field, node, base);
	case STORE_DECIMAL: return bind_decimal(b, field, node, base);
	case STORE_CHOICE: return bind_choice(b, field, node, base);
	case STORE_TEXTS: return bind_texts(b, field, node, base);
	case STORE_MAPPING: return bind_nested(b, field, node, base);
	case STORE_MAPPINGS: return bind_mappings(b, field, node, base);
	}
	return true;
}

static bool absent(const struct store_field *field, const struct store_node *node)
{
	if (!node)
		return true;
	if (wanted(field->holds) != STORE_NODE_TEXT)
		return store_tree_null(node);
	/* Flags, numbers and choices that stand empty are taken as not given. */
	return field->holds != STORE_TEXT && field->holds != STORE_TIME &&
	       node->kind == STORE_NODE_TEXT && node->length == 0;
}

/* An empty "practice:" still says that there is one. */
static void note_empty(const struct store_field *field, const struct store_node *node, void *base)
{
	if (node && field->holds == STORE_MAPPING && field->also != STORE_NOWHERE && node->length == 0)
		*(bool *)member(base, field->also) = true;
}

/* Which key a stray one was probably meant to be. */
static const char *meant_by(const struct store_table *table, const char *key)
{
	for (size_t i = 0; i < table->count; i++)
		if (pm_slip_between(table->fields[i].key, key).kind != PM_SLIP_SEVERAL)   /* none: case alone */
			return table->fields[i].key;
	return NULL;
}

static bool keep_strays(struct binder *b, const struct store_table *table, const struct store_node *map)
{
	struct pm_stray_keys *strays = b->strays;
	for (const struct store_node *key = map->first; key && key->next; key = key->next->next) {
		if (strays->count == STORE_MOST_STRAYS)
			return true;
		if (strncmp(key->text, "x-", 2) == 0 || store_field_find(table, key->text, key->length))
			continue;
		if (!strays->item)
			strays->item = pm_arena_array(b->arena, STORE_MOST_STRAYS, sizeof *strays->item);
		if (!strays->item)
			return out_of_memory(b);
		strays->item[strays->count++] = (struct pm_stray_key){ word_of(key), table->name, meant_by(table, key->text) };
	}
	return true;
}

static bool bind_mapping(struct binder *b, const struct store_table *table,
                         const struct store_node *map, void *base)
{
	size_t known = 0;
	for (size_t i = 0; i < table->count; i++) {
		const struct store_field *field = &table->fields[i];
		const struct store_node *node = store_tree_value(map, field->key, strlen(field->key));
		bool gone = absent(field, node);
		known += node != NULL;
		bool empty = !gone && node->kind == STORE_NODE_TEXT && node->length == 0;
		if ((gone && field->need != STORE_OPTIONAL) || (empty && field->need == STORE_REQUIRED)) {
			pm_fail(b->fault, PM_FAULT_VALUE, place_of(b, node ? node : map), "this %s %s %s",
			        table->name, node ? "has an empty" : "lacks the key", field->key);
			return pm_fail_remedy(b->fault, "write %s: and %s", field->key,
			                      wanted(field->holds) == STORE_NODE_TEXT ? "a value" : "what belongs below it");
		}
		if (gone)
			note_empty(field, node, base);
		else if (!bind_value(b, field, node, base))
			return false;
	}
	return known == map->count / 2 || keep_strays(b, table, map);
}

static bool format_allowed(struct binder *b)
{
	const struct store_node *root = b->tree->root;
	uint64_t number;
	if (root->kind != STORE_NODE_MAP) {
		pm_fail(b->fault, PM_FAULT_SYNTAX, place_of(b, root), "the document is %s, not a mapping", kind_word(root->kind));
		return pm_fail_remedy(b->fault, "begin with a line such as format: 1");
	}
	const struct store_node *format = store_tree_value(root, "format", 6);
	if (!format || format->kind != STORE_NODE_TEXT || !pm_read_number(format->text, INT64_MAX, &number))
		return true;   /* the table's row tells what is wrong */
	if (number <= STORE_FORMAT)
		return true;
	pm_fail(b->fault, PM_FAULT_NEWER, place_of(b, format), "written in format %llu; this program reads up to %d",
	        (unsigned long long)number, STORE_FORMAT);
	return pm_fail_remedy(b->fault, "use a newer portmuster");
}

bool store_bind(const struct store_tree *tree, const struct store_table *table, void *base,
                struct pm_stray_keys *strays, struct pm_arena *arena, struct pm_fault *fault)
{
	struct binder b = { .tree = tree, .arena = arena, .strays = strays, .fault = fault };
	*strays = (struct pm_stray_keys){ 0 };
	return format_allowed(&b) && bind_mapping(&b, table, tree->root, base);
}

bool store_no_strays(const struct pm_stray_keys *strays, const char *file, struct pm_fault *fault)
{
	if (strays->count == 0)
		return true;
	const struct pm_stray_key *first = &strays->item[0];
	char quoted[160];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, first->key.text);
	pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ file, first->key.line, first->key.column },
	        "a %s has no key %s", first->inside, quoted);
	if (first->meant)
		return pm_fail_remedy(fault, "write %s if that is meant", first->meant);
	return pm_fail_remedy(fault, "take it out, or begin it with x- when it is your own");
}

/* --- the way back --- */

static const void *there(const void *base, size_t offset)
{
	return (const char *)base + offset;
}

/* The value as text; null when it is not given. */
static const char *value_text(const struct store_field *field, const void *base, struct pm_arena *arena)
{
	const void *at = there(base, field->offset);
	switch (field->holds) {
	case STORE_TEXT:
		return ((const struct pm_word *)at)->text;
	case STORE_TIME: {
		const struct pm_when *when = there(base, field->also);
		char written[PM_WHEN_TEXT];
		if (((const struct pm_word *)at)->text || !when->known)
			return ((const struct pm_word *)at)->text;
		return pm_say(arena, "%s", pm_when_write(*when, written));
	}
	case STORE_FLAG:
		return *(const bool *)at ? "yes" : field->need == STORE_OPTIONAL ? NULL : "no";
	case STORE_WHOLE: {
		int64_t number = *(const int64_t *)at;
		return number || field->need != STORE_OPTIONAL ? pm_say(arena, "%lld", (long long)number) : NULL;
	}
	case STORE_DECIMAL:
		return ((const struct pm_number *)at)->word.text;
	case STORE_CHOICE:
		return field->choice->get ? field->choice->word(field->choice->get(at)) : ((const struct pm_word *)at)->text;
	case STORE_TEXTS:
	case STORE_MAPPING:
	case STORE_MAPPINGS:
		return NULL;
	}
	return NULL;
}

bool store_pairs(const struct store_table *table, const void *base, struct pm_arena *arena,
                 struct store_pair pairs[static STORE_MOST_PAIRS], size_t *count,
                 const char *file, struct pm_fault *fault)
{
	*count = 0;
	for (size_t i = 0; i < table->count; i++) {
		const struct store_field *field = &table->fields[i];
		if (wanted(field->holds) != STORE_NODE_TEXT)
			continue;
		const char *value = value_text(field, base, arena);
		if (!value && field->need == STORE_PRESENT)
			value = "";
		if (field->need == STORE_REQUIRED && (!value || !*value))
			return pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ file, 0, 0 }, "this %s has no %s",
			               table->name, field->key);
		/* An empty value that need not be there says nothing. */
		if (!value || (!*value && field->need == STORE_OPTIONAL))
			continue;
		if (*count == STORE_MOST_PAIRS)
			return pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ file, 0, 0 }, "too many keys in a %s", table->name);
		pairs[(*count)++] = (struct store_pair){ field->key, value };
	}
	return !arena->failed || pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ file, 0, 0 }, "out of memory");
}
