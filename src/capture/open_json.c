#include "capture/open_json.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"

#define KEY_MOST 64

struct level {
	unsigned char is;                    /* OPEN_JSON_... or the kind's own */
	bool array;
};

struct open_json {
	const struct open_json_kind *kind;
	struct listing *listing;
	struct collect collect;
	struct open_place place;
	struct open_gap gap;

	bool inside, lost;                   /* in a text; it went wrong, and the rest is passed over */
	struct level level[OPEN_JSON_DEEPEST];
	size_t depth;
	bool string, escape, value;          /* in a string; behind a backslash; a value follows */
	char key[KEY_MOST];
	size_t key_length;                   /* more than KEY_MOST: too long to matter */

	size_t taken;                        /* depth of the object that is kept, or 0 */
	bool too_long;
	struct open_place begun, address;    /* of that object */
	char *bytes;
	size_t length, room;
};

struct open_text open_json_local(const struct open_json_kind *kind, struct open_text key)
{
	size_t length = strlen(kind->prefix);
	if (!open_begins(key, kind->prefix)) return key;
	return (struct open_text){ key.at + length, key.length - length };
}

struct open_text open_json_string(const struct open_json_kind *kind, json_t *object, const char *name, bool *wrong)
{
	json_t *value;
	const char *key;
	json_object_foreach(object, key, value) {
		if (!open_is(open_json_local(kind, (struct open_text){ key, strlen(key) }), name)) continue;
		if (json_is_string(value)) return (struct open_text){ json_string_value(value), json_string_length(value) };
		*wrong |= !json_is_null(value);
	}
	return (struct open_text){ "", 0 };
}

static struct open_text key_of(const struct open_json *j)
{
	bool none = j->key_length > KEY_MOST || (j->depth && j->level[j->depth - 1].array);
	return (struct open_text){ j->key, none ? 0 : j->key_length };
}

static void lose(struct open_json *j, const char *reason, const char *text, size_t length)
{
	collect_problem(&j->collect, j->place.line, j->place.column, reason, text, length);
	j->lost = true;
	j->taken = 0;
}

/* --- one object ------------------------------------------------------------------------ */

static const char *why(const json_error_t *error)
{
	switch (json_error_code(error)) {
	case json_error_duplicate_key: return "one interface with the same key twice";
	case json_error_invalid_utf8: return "bytes that are not UTF-8 in JSON";
	case json_error_numeric_overflow: return "a number too large for JSON";
	default: return "not readable as JSON";
	}
}

static void read_object(struct open_json *j)
{
	json_error_t error;
	json_t *object = json_loadb(j->bytes, j->length, JSON_REJECT_DUPLICATES | JSON_ALLOW_NUL, &error);
	j->taken = 0;
	if (object) {
		j->kind->take(&j->collect, object, j->address);
		json_decref(object);
	} else if (json_error_code(&error) == json_error_out_of_memory || json_error_code(&error) == json_error_unknown) {
		j->collect.failed = true;   /* jansson has no code for most of its allocations */
	} else {
		uint32_t line = error.line > 1 ? (uint32_t)error.line - 1 : 0;
		uint32_t column = error.column > 0 ? (uint32_t)error.column : 1;
		collect_problem(&j->collect, j->begun.line + line, line ? column : j->begun.column + column - 1,
		                why(&error), error.text, strlen(error.text));
	}
}

static void keep(struct open_json *j, char byte)
{
	if (j->too_long) return;
	if (j->length == OPEN_JSON_MOST) {
		j->too_long = true;
		collect_problem(&j->collect, j->begun.line, j->begun.column, "too long for one interface in JSON", "", 0);
		return;
	}
	if (j->length == j->room) {
		size_t room = j->room ? j->room * 2 : 4096;
		char *bytes = realloc(j->bytes, room);
		if (!bytes) {
			j->collect.failed = j->too_long = true;
			return;
		}
		j->bytes = bytes, j->room = room;
	}
	j->bytes[j->length++] = byte;
}

/* --- one byte ---------------------------------------------------------------------------- */

static void open_bracket(struct open_json *j, bool array)
{
	if (j->depth == OPEN_JSON_DEEPEST) {
		lose(j, "nested too deeply", "", 0);
		return;
	}
	int is = j->taken ? OPEN_JSON_NOTHING
		: j->kind->enter(j->depth ? j->level[j->depth - 1].is : OPEN_JSON_TEXT, key_of(j), array);
	j->level[j->depth++] = (struct level){ (unsigned char)is, array };
	j->value = false;
	if (is == OPEN_JSON_TAKEN && !array) {
		j->taken = j->depth;
		j->begun = j->address = j->place;
		j->length = 0;
		j->too_long = false;
	}
}

static void close_bracket(struct open_json *j, char byte)
{
	if (j->level[j->depth - 1].array != (byte == ']')) {
		lose(j, "a bracket that closes what was not opened", &byte, 1);
		return;
	}
	if (j->taken == j->depth) {
		if (j->too_long) j->taken = 0;
		else read_object(j);
	}
	j->depth--;
	j->value = false;
	if (j->depth) return;
	j->inside = false;
	open_gap_begin(&j->gap);
}

static void in_string(struct open_json *j, char byte)
{
	bool ends = byte == '"' && !j->escape, is_key = !j->value && !j->level[j->depth - 1].array;
	j->escape = byte == '\\' && !j->escape;
	if (ends) j->string = false;
	else if (byte == '\n') lose(j, "a line break in a string of JSON", "", 0);
	else if (is_key && j->key_length < KEY_MOST) j->key[j->key_length++] = byte;
	else if (is_key) j->key_length = KEY_MOST + 1;
}

static void begin_string(struct open_json *j)
{
	j->string = true;
	if (j->level[j->depth - 1].array) return;
	if (!j->value) {
		j->key_length = 0;
	} else if (j->taken == j->depth && open_is(open_json_local(j->kind, key_of(j)), j->kind->address)) {
		j->address = j->place;
		j->address.column++;
	}
}

static void structure(struct open_json *j, char byte)
{
	switch (byte) {
	case '{': case '[': open_bracket(j, byte == '['); break;
	case '}': case ']': close_bracket(j, byte); break;
	case '"': begin_string(j); break;
	case ':': j->value = true; break;
	case ',': j->value = false; break;
	case ' ': case '\t': case '\r': case '\n': break;
	default:
		/* Numbers, and true, false and null. */
		if (!pm_is_alnum(byte) && byte != '-' && byte != '+' && byte != '.') lose(j, "not readable as JSON", &byte, 1);
	}
}

static void document_byte(struct open_json *j, char byte)
{
	/* Before, as the closing bracket hands the object over. */
	if (j->taken) keep(j, byte);
	bool was = j->taken;
	if (j->string) in_string(j, byte);
	else structure(j, byte);
	if (j->taken && !was) keep(j, byte);
}

static void begin_document(struct open_json *j)
{
	j->inside = true;
	j->depth = 0;
	j->string = j->escape = j->value = false;
	j->key_length = 0;
	j->taken = 0;
}

static void one_byte(struct open_json *j, char byte)
{
	if (!j->inside) {
		enum open_gap_step step = open_gap_byte(&j->gap, &j->collect, j->place, byte);
		if (step == GAP_ON) return;
		begin_document(j);
		if (step == GAP_OPENED) {
			struct open_place here = j->place;
			j->place = j->gap.opened;
			document_byte(j, '[');
			j->place = here;
		}
	}
	document_byte(j, byte);
}

/* --- the reader ---------------------------------------------------------------------------- */

void *open_json_begin(const struct open_json_kind *kind, struct listing *listing,
                      const struct pm_gear *gear, struct pm_arena *arena)
{
	struct open_json *j = calloc(1, sizeof *j);
	if (!j) return NULL;
	j->kind = kind;
	j->listing = listing;
	j->place = (struct open_place){ 1, 1 };
	j->gap.opener = kind->opener;
	collect_init(&j->collect, listing, gear, arena);
	return j;
}

bool open_json_feed(void *state, const void *bytes, size_t length)
{
	struct open_json *j = state;
	const char *at = bytes;
	for (size_t i = 0; i < length; i++) {
		if (!j->lost) one_byte(j, at[i]);
		open_advance(&j->place, at[i]);
	}
	return !j->collect.failed;
}

bool open_json_end(void *state)
{
	struct open_json *j = state;
	if (!j->inside) open_gap_end(&j->gap, &j->collect, j->kind->none);
	else if (!j->lost) lose(j, j->taken ? "the text ends in the middle of an interface" : "the text ends before its last bracket", "", 0);
	j->listing->lines = open_lines(&j->place);
	bool good = !j->collect.failed;
	collect_free(&j->collect);
	free(j->bytes);
	free(j);
	return good;
}
