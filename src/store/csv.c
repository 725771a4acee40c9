#include "store/csv.h"

#include <string.h>

#include "portmuster/text.h"

/* A place in the text that counts columns in characters. */
struct cursor {
	const char *at;
	uint32_t line, column;
};

void csv_open(struct csv_reader *reader, const char *text, size_t length,
              const char *file, struct pm_arena *arena)
{
	static const char mark[] = "\xEF\xBB\xBF";
	const char *end = text + length;
	if (length >= 3 && memcmp(text, mark, 3) == 0)
		text += 3;
	*reader = (struct csv_reader){ .at = text, .end = end, .file = file, .line = 1, .arena = arena, .separator = ',' };
}

static int fail(const struct csv_reader *reader, const struct cursor *cursor,
                struct pm_fault *fault, const char *why)
{
	struct pm_place place = { reader->file, cursor->line, cursor->column };
	pm_fail(fault, PM_FAULT_SYNTAX, place, "%s (RFC 4180)", why);
	return -1;
}

static int fail_memory(const struct csv_reader *reader, struct pm_fault *fault)
{
	pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ reader->file, reader->line, 0 }, "out of memory");
	return -1;
}

/* Bytes of the line ending here: 0, 1 or 2. */
static size_t line_end(const char *at, const char *end)
{
	if (at < end && *at == '\n')
		return 1;
	if (end - at >= 2 && at[0] == '\r' && at[1] == '\n')
		return 2;
	return 0;
}

static void step(struct cursor *cursor)
{
	if (*cursor->at == '\n') {
		cursor->line++;
		cursor->column = 1;
	} else if (((unsigned char)cursor->at[0] & 0xC0) != 0x80) {
		cursor->column++;
	}
	cursor->at++;
}

/* A field up to its comma or line end. Returns 1, or -1 with a fault. */
static int plain_field(struct csv_reader *reader, struct cursor *cursor, struct pm_word *field,
                       struct pm_fault *fault)
{
	const char *from = cursor->at;
	while (cursor->at < reader->end && *cursor->at != reader->separator && !line_end(cursor->at, reader->end)) {
		if (*cursor->at == '"')
			return fail(reader, cursor, fault, "a quote inside a field that does not begin with one");
		if (*cursor->at == '\r')
			return fail(reader, cursor, fault, "a carriage return without a line feed");
		if (*cursor->at == '\0')
			return fail(reader, cursor, fault, "a zero byte");
		step(cursor);
	}
	field->text = pm_arena_copy(reader->arena, from, (size_t)(cursor->at - from));
	return field->text ? 1 : fail_memory(reader, fault);
}

/* A field in quotes; doubled quotes inside stand for one. */
static int quoted_field(struct csv_reader *reader, struct cursor *cursor, struct pm_word *field,
                        struct pm_fault *fault)
{
	struct cursor opening = *cursor;
	step(cursor);
	const char *from = cursor->at;
	size_t doubled = 0;
	for (;; step(cursor)) {
		if (cursor->at == reader->end)
			return fail(reader, &opening, fault, "a quote that is not closed");
		if (*cursor->at == '\0')
			return fail(reader, cursor, fault, "a zero byte");
		if (*cursor->at != '"')
			continue;
		if (reader->end - cursor->at < 2 || cursor->at[1] != '"')
			break;
		doubled++;
		step(cursor);
	}
	size_t length = (size_t)(cursor->at - from);
	char *text = pm_arena_alloc(reader->arena, length - doubled + 1);
	if (!text)
		return fail_memory(reader, fault);
	field->text = text;
	for (size_t i = 0; i < length; i++) {
		*text++ = from[i];
		i += from[i] == '"';
	}
	step(cursor);
	if (cursor->at < reader->end && *cursor->at != reader->separator && !line_end(cursor->at, reader->end))
		return fail(reader, cursor, fault, "text after a closing quote");
	return 1;
}

int csv_next(struct csv_reader *reader, struct pm_words *fields, struct pm_fault *fault)
{
	size_t blank;
	while ((blank = line_end(reader->at, reader->end)) != 0) {
		reader->at += blank;
		reader->line++;
	}
	if (reader->at >= reader->end)
		return 0;

	struct cursor cursor = { reader->at, reader->line, 1 };
	void *items = NULL;
	size_t count = 0, room = 0;
	for (;;) {
		struct pm_word *field = pm_arena_push(reader->arena, &items, &count, &room, sizeof *field);
		if (!field)
			return fail_memory(reader, fault);
		field->line = cursor.line;
		field->column = cursor.column;
		bool quoted = cursor.at < reader->end && *cursor.at == '"';
		int got = quoted ? quoted_field(reader, &cursor, field, fault)
		                 : plain_field(reader, &cursor, field, fault);
		if (got < 0)
			return got;
		if (cursor.at == reader->end || *cursor.at != reader->separator)
			break;
		step(&cursor);
	}
	reader->at = cursor.at + line_end(cursor.at, reader->end);
	reader->line = cursor.line + (cursor.at < reader->end);
	fields->item = items;
	fields->count = count;
	return 1;
}
