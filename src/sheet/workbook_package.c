/* What a package is made of, besides its pages: content types, relations, the
 * list of pages, shared strings and styles (ECMA-376 part 1, 18; part 2). */
#include <string.h>

#include "sheet/workbook_parts.h"

enum spot {
	TOP, TYPES, RELATIONS, BOOK, SHEETS, STRINGS, STRING, RUN, STYLES, FORMATS, STYLE_LIST, LEAF,
};

/* A number format of the workbook's own. */
struct format { uint32_t id; bool dates; };

/* A relation of one part to another. */
struct relation {
	const char *id, *type, *target;   /* the target's name in the package, null when it is elsewhere */
};

struct survey {
	struct workbook *workbook;
	struct pm_fault *fault;
	const char *source;             /* the part whose relations are read */
	struct relation *relations;
	size_t relation_count, relation_room;
	const char *main_type;          /* what [Content_Types].xml says of the main part */
	const char *main_part, *extension;
	struct format *formats;
	size_t format_count, format_room;
};

static struct pm_place place_of(const struct workbook *workbook)
{
	return (struct pm_place){ workbook->path, 0, 0 };
}

static bool out_of_memory(struct book_reader *reader)
{
	return book_stop(reader, PM_FAULT_MEMORY, "out of memory");
}

static const char *copy(struct survey *survey, struct book_bit bit)
{
	return bit.bytes ? pm_arena_copy(&survey->workbook->arena, bit.bytes, bit.length) : NULL;
}

/* Read one part by the rules; the part must be there. */
static bool read_part(struct survey *survey, size_t part, const struct book_rule *rules, size_t count)
{
	struct workbook *workbook = survey->workbook;
	struct book_reader reader = { .rules = rules, .rule_count = count, .data = survey, .file = workbook->path,
		.part = workbook->parts[part], .fault = survey->fault };
	return book_part_read(workbook, part, &reader.xml, &reader.length, survey->fault) && book_read(&reader);
}

#define RULES(list) list, sizeof list / sizeof *list

static bool ends_with(const char *text, const char *end)
{
	size_t length = text ? strlen(text) : 0, tail = strlen(end);
	return length >= tail && pm_same_nocase(text + length - tail, end);
}

static bool contains(const char *text, const char *piece)
{
	for (; text && *text; text++) {
		size_t i = 0;
		while (piece[i] && pm_lower((unsigned char)text[i]) == pm_lower((unsigned char)piece[i]))
			i++;
		if (!piece[i])
			return true;
	}
	return false;
}

/* --- content types --- */

/* What is refused by the type of a part, and how it is called. */
static const struct { const char *piece, *what; } refused[] = {
	{ "sheet.binary", "a binary workbook" },
	{ "vbaProject", "a workbook with macros" },
	{ "macroEnabled", "a workbook with macros" },
	{ "macrosheet", "a workbook with macros" },
};

static bool open_type(struct book_reader *reader, const struct book_element *element)
{
	struct survey *survey = reader->data;
	struct book_bit part = book_attribute(element, "PartName"), extension = book_attribute(element, "Extension");
	const char *type = copy(survey, book_attribute(element, "ContentType"));
	const char *name = copy(survey, part.bytes ? part : extension);
	if (survey->workbook->arena.failed)
		return out_of_memory(reader);
	for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
		if (!contains(type, refused[i].piece))
			continue;
		book_stop(reader, PM_FAULT_VALUE, "%s: only workbooks without macros, stored as .xlsx, are read",
		          refused[i].what);
		return pm_fail_remedy(reader->fault, "save it as .xlsx without macros");
	}
	if (part.bytes && name[0] == '/' && pm_same_nocase(name + 1, survey->main_part))
		survey->main_type = type;
	if (!part.bytes && extension.bytes && !survey->main_type && pm_same_nocase(name, survey->extension))
		survey->main_type = type;
	return true;
}

static const struct book_rule type_rules[] = {
	{ TOP, "Types", TYPES, false, NULL, NULL },
	{ TYPES, "Default", LEAF, false, open_type, NULL },
	{ TYPES, "Override", LEAF, false, open_type, NULL },
};

/* --- relations --- */

/* Resolve a target against the folder of the part it is named in (RFC 3986, 5.2, for paths alone);
 * null when it leaves the package. */
static const char *resolve(struct pm_arena *arena, const char *source, const char *target)
{
	size_t base = 0, used = 0, room = strlen(source) + strlen(target) + 2;
	char *out = pm_arena_alloc(arena, room);
	if (!out)
		return NULL;
	for (size_t i = 0; target[0] != '/' && source[i]; i++)
		if (source[i] == '/')
			base = i;
	memcpy(out, source, base);
	used = base;
	while (*target && *target != '#') {
		size_t length = strcspn(target, "/#");
		if (length == 2 && !memcmp(target, "..", 2)) {
			if (!used)
				return NULL;
			while (used && out[used - 1] != '/')
				used--;
			used -= used > 0;
		} else if (length && !(length == 1 && *target == '.')) {
			if (used)
				out[used++] = '/';
			memcpy(out + used, target, length);
			used += length;
		}
		target += length + (target[length] == '/');
	}
	out[used] = '\0';
	return out;
}

static bool open_relation(struct book_reader *reader, const struct book_element *element)
{
	struct survey *survey = reader->data;
	struct pm_arena *arena = &survey->workbook->arena;
	const char *target = copy(survey, book_attribute(element, "Target"));
	bool outside = book_bit_is(book_attribute(element, "TargetMode"), "External");
	void *items = survey->relations;
	struct relation *relation =
		pm_arena_push(arena, &items, &survey->relation_count, &survey->relation_room, sizeof *relation);
	survey->relations = items;
	if (!relation)
		return out_of_memory(reader);
	relation->id = copy(survey, book_attribute(element, "Id"));
	relation->type = copy(survey, book_attribute(element, "Type"));
	relation->target = target && !outside ? resolve(arena, survey->source, target) : NULL;
	return !arena->failed || out_of_memory(reader);
}

static const struct book_rule relation_rules[] = {
	{ TOP, "Relationships", RELATIONS, false, NULL, NULL },
	{ RELATIONS, "Relationship", LEAF, false, open_relation, NULL },
};

/* The relations of a part ("" for the package): folder/_rels/name.rels. */
static bool read_relations(struct survey *survey, const char *source)
{
	struct workbook *workbook = survey->workbook;
	const char *slash = strrchr(source, '/'), *name = slash ? slash + 1 : source;
	struct pm_text path;
	pm_text_grow(&path, &workbook->arena);
	pm_text_put(&path, source, (size_t)(name - source));
	pm_text_add(&path, "_rels/%s.rels", name);
	size_t part = book_part_find(workbook, path.data);
	survey->source = source;
	survey->relations = NULL;
	survey->relation_count = survey->relation_room = 0;
	if (part == BOOK_NO_PART)
		return pm_fail(survey->fault, PM_FAULT_SYNTAX, place_of(workbook), "not a workbook: no part \"%s\" in it",
		               path.data);
	return read_part(survey, part, RULES(relation_rules));
}

/* The first relation whose type ends so, null when there is none. */
static const struct relation *by_type(const struct survey *survey, const char *end)
{
	for (size_t i = 0; i < survey->relation_count; i++)
		if (ends_with(survey->relations[i].type, end))
			return &survey->relations[i];
	return NULL;
}

static const struct relation *by_id(const struct survey *survey, const char *id)
{
	for (size_t i = 0; i < survey->relation_count; i++)
		if (id && pm_same(survey->relations[i].id, id))
			return &survey->relations[i];
	return NULL;
}

/* --- the list of pages --- */

static bool same_part_twice(const struct workbook *workbook, size_t index)
{
	for (size_t i = 0; i < workbook->page_count; i++)
		if (workbook->pages[i].part && workbook->pages[i].index == index)
			return true;
	return false;
}

static bool open_sheet(struct book_reader *reader, const struct book_element *element)
{
	struct survey *survey = reader->data;
	struct workbook *workbook = survey->workbook;
	const struct relation *relation = by_id(survey, copy(survey, book_relation(element, "id")));
	const char *name = copy(survey, book_attribute(element, "name"));
	struct book_bit state = book_attribute(element, "state");
	char quoted[PM_FAULT_TEXT];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, name ? name : "");
	if (workbook->arena.failed)
		return out_of_memory(reader);
	if (!name)
		return book_stop(reader, PM_FAULT_SYNTAX, "a page without a name");
	if (workbook->page_count == BOOK_MOST_PAGES)
		return book_stop(reader, PM_FAULT_LIMIT, "more than %u pages", BOOK_MOST_PAGES);
	if (!relation || !relation->target)
		return book_stop(reader, PM_FAULT_SYNTAX, "page %s leads to no part of this file", quoted);
	size_t index = book_part_find(workbook, relation->target);
	if (index == BOOK_NO_PART)
		return book_stop(reader, PM_FAULT_SYNTAX, "page %s leads to a part that is not there", quoted);
	if (same_part_twice(workbook, index))
		return book_stop(reader, PM_FAULT_SYNTAX, "page %s leads to the part of another page", quoted);
	void *items = workbook->pages;
	struct book_page *page =
		pm_arena_push(&workbook->arena, &items, &workbook->page_count, &workbook->page_room, sizeof *page);
	workbook->pages = items;
	if (!page)
		return out_of_memory(reader);
	page->name = name;
	page->index = index;
	page->part = workbook->parts[index];
	page->hidden = book_bit_is(state, "hidden") || book_bit_is(state, "veryHidden");
	page->chart = !ends_with(relation->type, "/worksheet");
	return true;
}

static bool open_calculation(struct book_reader *reader, const struct book_element *element)
{
	struct survey *survey = reader->data;
	survey->workbook->recalculates |= book_bit_true(book_attribute(element, "fullCalcOnLoad"));
	return true;
}

static const struct book_rule book_rules[] = {
	{ TOP, "workbook", BOOK, false, NULL, NULL },
	{ BOOK, "sheets", SHEETS, false, NULL, NULL },
	{ SHEETS, "sheet", LEAF, false, open_sheet, NULL },
	{ BOOK, "calcPr", LEAF, false, open_calculation, NULL },
};

/* --- shared strings: runs are put together, phonetic hints (rPh) left out --- */

static bool open_item(struct book_reader *reader, const struct book_element *element)
{
	(void)element;
	book_collect(reader);
	return true;
}

static bool close_item(struct book_reader *reader, const struct book_element *element)
{
	struct survey *survey = reader->data;
	struct book_words *words = &survey->workbook->words;
	struct pm_arena *arena = &survey->workbook->arena;
	(void)element;
	void *items = words->string;
	const char **item = pm_arena_push(arena, &items, &words->string_count, &words->string_room, sizeof *item);
	words->string = items;
	if (!item || reader->text.cut)
		return out_of_memory(reader);
	size_t length = reader->text.length ? book_text_decode(reader->text.data, reader->text.length) : 0;
	*item = length ? pm_arena_copy(arena, reader->text.data, length) : "";
	return *item || out_of_memory(reader);
}

static const struct book_rule string_rules[] = {
	{ TOP, "sst", STRINGS, false, NULL, NULL },
	{ STRINGS, "si", STRING, false, open_item, close_item },
	{ STRING, "t", LEAF, true, NULL, NULL },
	{ STRING, "r", RUN, false, NULL, NULL },
	{ RUN, "t", LEAF, true, NULL, NULL },
};

/* --- styles: which show dates --- */

static bool open_format(struct book_reader *reader, const struct book_element *element)
{
	struct survey *survey = reader->data;
	const char *code = copy(survey, book_attribute(element, "formatCode"));
	uint32_t id;
	if (!code || !book_bit_number(book_attribute(element, "numFmtId"), UINT32_MAX, &id))
		return !survey->workbook->arena.failed || out_of_memory(reader);
	void *items = survey->formats;
	struct format *format = pm_arena_push(&survey->workbook->arena, &items, &survey->format_count, &survey->format_room,
	                                      sizeof *format);
	survey->formats = items;
	if (!format)
		return out_of_memory(reader);
	*format = (struct format){ id, book_code_dates(code) };
	return true;
}

static bool open_style(struct book_reader *reader, const struct book_element *element)
{
	struct survey *survey = reader->data;
	struct book_words *words = &survey->workbook->words;
	uint32_t id = 0;
	book_bit_number(book_attribute(element, "numFmtId"), UINT32_MAX, &id);
	if (words->style_count == UINT16_MAX || survey->format_count > UINT16_MAX)
		return book_stop(reader, PM_FAULT_LIMIT, "more than %u styles or formats", UINT16_MAX);
	void *items = words->dates;
	bool *dates = pm_arena_push(&survey->workbook->arena, &items, &words->style_count, &words->style_room, sizeof *dates);
	words->dates = items;
	if (!dates)
		return out_of_memory(reader);
	*dates = book_format_dates(id);
	/* a format of the workbook's own goes before the built-in one of its number */
	for (size_t i = 0; i < survey->format_count; i++)
		if (survey->formats[i].id == id)
			*dates = survey->formats[i].dates;
	return true;
}

static const struct book_rule style_rules[] = {
	{ TOP, "styleSheet", STYLES, false, NULL, NULL },
	{ STYLES, "numFmts", FORMATS, false, NULL, NULL },
	{ FORMATS, "numFmt", LEAF, false, open_format, NULL },
	{ STYLES, "cellXfs", STYLE_LIST, false, NULL, NULL },
	{ STYLE_LIST, "xf", LEAF, false, open_style, NULL },
};

/* --- the whole --- */

static bool fail(struct survey *survey, enum pm_fault_kind kind, const char *message, const char *remedy)
{
	pm_fail(survey->fault, kind, place_of(survey->workbook), "%s", message);
	return pm_fail_remedy(survey->fault, "%s", remedy);
}

/* Names that say what a package is, without looking inside. */
static bool names_allowed(struct survey *survey)
{
	struct workbook *workbook = survey->workbook;
	for (size_t i = 0; i < workbook->part_count; i++) {
		if (ends_with(workbook->parts[i], "vbaProject.bin"))
			return fail(survey, PM_FAULT_VALUE, "a workbook with macros: only workbooks without macros are read",
			            "save it as .xlsx without macros");
		if (pm_same(workbook->parts[i], "mimetype"))
			return fail(survey, PM_FAULT_SYNTAX, "not a workbook: it is an OpenDocument file or an e-book", "save it as .xlsx");
		if (contains(workbook->parts[i], "_xmlsignatures/"))
			workbook->signed_by_someone = true;
	}
	return true;
}

static bool check_type(struct survey *survey)
{
	size_t part = book_part_find(survey->workbook, "[Content_Types].xml");
	const char *dot = strrchr(survey->main_part, '.');
	survey->extension = dot ? dot + 1 : "";
	if (part == BOOK_NO_PART)
		return fail(survey, PM_FAULT_SYNTAX, "not a workbook: no part \"[Content_Types].xml\" in it", "");
	if (!read_part(survey, part, RULES(type_rules)))
		return false;
	if (ends_with(survey->main_type, "spreadsheetml.sheet.main+xml") ||
	    ends_with(survey->main_type, "spreadsheetml.template.main+xml"))
		return true;
	return fail(survey, PM_FAULT_SYNTAX, "not a workbook: its main part is of another kind", "");
}

/* A part that the main one may have. */
static bool read_optional(struct survey *survey, const char *type, const struct book_rule *rules, size_t count)
{
	const struct relation *relation = by_type(survey, type);
	if (!relation)
		return true;
	size_t part = relation->target ? book_part_find(survey->workbook, relation->target) : BOOK_NO_PART;
	if (part == BOOK_NO_PART)
		return pm_fail(survey->fault, PM_FAULT_SYNTAX, place_of(survey->workbook), "the part \"%s\" is not there",
		               relation->target ? relation->target : type + 1);
	return read_part(survey, part, rules, count);
}

bool book_parts_read(struct workbook *workbook, struct pm_fault *fault)
{
	struct survey survey = { .workbook = workbook, .fault = fault };
	if (!names_allowed(&survey) || !read_relations(&survey, ""))
		return false;
	if (by_type(&survey, "/digital-signature/origin"))
		workbook->signed_by_someone = true;
	const struct relation *main = by_type(&survey, "/officeDocument");
	size_t part = main && main->target ? book_part_find(workbook, main->target) : BOOK_NO_PART;
	if (part == BOOK_NO_PART)
		return fail(&survey, PM_FAULT_SYNTAX, "not a workbook: its main part is not there", "");
	survey.main_part = workbook->parts[part];
	if (!check_type(&survey) || !read_relations(&survey, survey.main_part) ||
	    !read_part(&survey, part, RULES(book_rules)))
		return false;
	if (!workbook->page_count)
		return fail(&survey, PM_FAULT_SYNTAX, "a workbook without a page", "");
	return read_optional(&survey, "/sharedStrings", RULES(string_rules)) &&
	       read_optional(&survey, "/styles", RULES(style_rules));
}
