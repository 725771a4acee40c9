/* CSV: fields that were read come back the same when they are written by the
 * rules of RFC 4180; faults have a place. */
#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"
#include "store/csv.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool holds)
{
	if (!holds)
		abort();
}

static void put_field(struct pm_text *text, const char *field)
{
	pm_text_char(text, '"');
	for (; *field; field++) {
		if (*field == '"')
			pm_text_char(text, '"');
		pm_text_char(text, *field);
	}
	pm_text_char(text, '"');
}

static void again(const struct pm_words *fields)
{
	struct pm_arena arena;
	struct pm_text text;
	struct csv_reader reader;
	struct pm_words got;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	for (size_t i = 0; i < fields->count; i++) {
		if (i)
			pm_text_char(&text, ',');
		put_field(&text, fields->item[i].text);
	}
	csv_open(&reader, text.data, text.length, "again", &arena);
	demand(csv_next(&reader, &got, NULL) == 1 && got.count == fields->count);
	for (size_t i = 0; i < got.count; i++)
		demand(pm_same(got.item[i].text, fields->item[i].text));
	demand(csv_next(&reader, &got, NULL) == 0);
	pm_arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct pm_arena arena;
	struct csv_reader reader;
	struct pm_words fields;
	struct pm_fault fault = { 0 };
	uint32_t line = 0;
	int got;
	pm_arena_init(&arena);
	csv_open(&reader, (const char *)data, size, "list.csv", &arena);
	while ((got = csv_next(&reader, &fields, &fault)) > 0) {
		demand(fields.count > 0 && fields.item[0].line > line && fields.item[0].column == 1);
		line = fields.item[fields.count - 1].line;
		again(&fields);
	}
	demand(got == 0 || (fault.line >= 1 && fault.column >= 1 && fault.message[0]));
	pm_arena_free(&arena);
	return 0;
}
