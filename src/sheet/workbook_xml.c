/* The one file that knows libxml2: parts are read as a stream of events, held
 * against the caller's rules. libxml2 also says how far it has read, which gives
 * the place of every element in the part's own bytes. */
#include <libxml/parser.h>
#include <libxml/parserInternals.h>
#include <libxml/xmlerror.h>
#include <string.h>

#include "sheet/workbook_parts.h"

/* Elements count when they are of one of these namespaces (ECMA-376 part 1
 * annex A, part 2 annex; the second of each pair is that of ISO/IEC 29500 strict). */
static const char *const element_spaces[] = {
	"http://schemas.openxmlformats.org/spreadsheetml/2006/main",
	"http://purl.oclc.org/ooxml/spreadsheetml/main",
	"http://schemas.openxmlformats.org/package/2006/content-types",
	"http://schemas.openxmlformats.org/package/2006/relationships",
};
static const char *const relation_spaces[] = {
	"http://schemas.openxmlformats.org/officeDocument/2006/relationships",
	"http://purl.oclc.org/ooxml/officeDocument/relationships",
};

#define SPACES(list) list, sizeof list / sizeof *list

static bool listed(const xmlChar *space, const char *const *list, size_t count)
{
	for (size_t i = 0; space && i < count; i++)
		if (!strcmp((const char *)space, list[i]))
			return true;
	return false;
}

/* --- attributes: name, prefix, namespace, begin and end of the value, each --- */

static struct book_bit attribute(const struct book_element *element, const char *name, bool relation)
{
	for (int i = 0; i < element->attribute_count; i++) {
		const unsigned char **at = element->attributes + 5 * i;
		bool fits = relation ? listed(at[2], SPACES(relation_spaces)) : !at[2];
		if (fits && !strcmp((const char *)at[0], name))
			return (struct book_bit){ (const char *)at[3], (size_t)(at[4] - at[3]) };
	}
	return (struct book_bit){ 0 };
}

struct book_bit book_attribute(const struct book_element *element, const char *name)
{
	return attribute(element, name, false);
}

struct book_bit book_relation(const struct book_element *element, const char *name)
{
	return attribute(element, name, true);
}

/* --- faults --- */

bool book_stop(struct book_reader *reader, enum pm_fault_kind kind, const char *format, ...)
{
	char message[PM_FAULT_TEXT], part[PM_FAULT_TEXT];
	struct pm_text text;
	va_list args;
	if (reader->stopped)
		return false;
	reader->stopped = true;
	pm_text_fixed(&text, message, sizeof message);
	va_start(args, format);
	pm_text_addv(&text, format, args);
	va_end(args);
	pm_text_fixed(&text, part, sizeof part);
	pm_text_quote(&text, reader->part);
	pm_fail(reader->fault, kind, (struct pm_place){ reader->file, 0, 0 }, "part %s: %s", part, message);
	if (reader->parser)
		xmlStopParser(reader->parser);
	return false;
}

void book_collect(struct book_reader *reader)
{
	reader->text.length = 0;
	if (reader->text.room)
		reader->text.data[0] = '\0';
}

/* --- events --- */

/* How far the parser has read, as an offset in the part; 0 when it can't be told. */
static size_t reached(const struct book_reader *reader)
{
	long at = xmlByteConsumed(reader->parser);
	return at > 0 && (size_t)at <= reader->length ? (size_t)at : 0;
}

/* The start tag that ends at or behind `at`. No '<' stands within a tag, not
 * even in an attribute (XML 1.0, 2.3), so the last one before is its start. */
static bool locate(const struct book_reader *reader, size_t at, struct book_element *element)
{
	const char *xml = reader->xml;
	char quote = 0;
	while (at && xml[at - 1] != '<')
		at--;
	if (at == 0)
		return false;
	element->start = at - 1;
	for (; at < reader->length; at++) {
		if (quote) {
			if (xml[at] == quote)
				quote = 0;
		} else if (xml[at] == '"' || xml[at] == '\'') {
			quote = xml[at];
		} else if (xml[at] == '>') {
			element->inside = at + 1;
			element->closed = xml[at - 1] == '/';
			return true;
		}
	}
	return false;
}

static unsigned char fitting(const struct book_reader *reader, unsigned char in, const xmlChar *name)
{
	for (size_t i = 0; i < reader->rule_count; i++)
		if (reader->rules[i].in == in && !strcmp(reader->rules[i].name, (const char *)name))
			return (unsigned char)(i + 1);
	return 0;
}

/* The rule of the innermost open element, null when it is passed over. */
static const struct book_rule *rule_now(const struct book_reader *reader)
{
	unsigned char rule = reader->depth ? reader->level[reader->depth - 1].rule : 0;
	return rule ? &reader->rules[rule - 1] : NULL;
}

static void on_start(void *data, const xmlChar *name, const xmlChar *prefix, const xmlChar *space, int space_count,
                     const xmlChar **spaces, int count, int defaulted, const xmlChar **attributes)
{
	struct book_reader *reader = data;
	(void)prefix, (void)space_count, (void)spaces, (void)defaulted;
	if (reader->stopped)
		return;
	if (reader->depth == BOOK_MOST_DEPTH) {
		book_stop(reader, PM_FAULT_LIMIT, "more than %u elements within each other", BOOK_MOST_DEPTH);
		return;
	}
	const struct book_rule *above = rule_now(reader);
	bool root = reader->depth == 0, known = listed(space, SPACES(element_spaces));
	unsigned char rule = known && (root || above) ? fitting(reader, root ? 0 : above->becomes, name) : 0;
	struct book_level *level = &reader->level[reader->depth++];
	*level = (struct book_level){ .rule = rule };
	if (root && !rule) {
		char quoted[PM_FAULT_TEXT];
		struct pm_text text;
		pm_text_fixed(&text, quoted, sizeof quoted);
		pm_text_quote(&text, (const char *)name);
		book_stop(reader, PM_FAULT_SYNTAX, "holds %s, not what a part of this kind holds", quoted);
		return;
	}
	if (!rule)
		return;
	level->element.attributes = attributes;
	level->element.attribute_count = count;
	if (!locate(reader, reached(reader), &level->element))
		book_stop(reader, PM_FAULT_SYNTAX, "an element could not be found again");
	else if (reader->rules[rule - 1].open)
		reader->rules[rule - 1].open(reader, &level->element);
	level->element.attributes = NULL;   /* they are the parser's, for this event only */
	level->element.attribute_count = 0;
}

static void on_end(void *data, const xmlChar *name, const xmlChar *prefix, const xmlChar *space)
{
	struct book_reader *reader = data;
	(void)name, (void)prefix, (void)space;
	if (reader->stopped || !reader->depth)
		return;
	const struct book_rule *rule = rule_now(reader);
	struct book_element *element = &reader->level[--reader->depth].element;
	if (!rule || !rule->close)
		return;
	element->end = element->closed ? element->inside : reached(reader);
	if (element->end < element->inside || reader->xml[element->end - 1] != '>')
		book_stop(reader, PM_FAULT_SYNTAX, "an element could not be found again");
	else
		rule->close(reader, element);
}

static void on_text(void *data, const xmlChar *bytes, int length)
{
	struct book_reader *reader = data;
	const struct book_rule *rule = rule_now(reader);
	if (!reader->stopped && rule && rule->text && length > 0)
		pm_text_put(&reader->text, (const char *)bytes, (size_t)length);
}

/* A document type is where entities come from: none is needed, none is read. */
static void on_type(void *data, const xmlChar *name, const xmlChar *public, const xmlChar *system)
{
	(void)name, (void)public, (void)system;
	book_stop(data, PM_FAULT_SYNTAX, "has a document type, which no workbook has");
}

/* --- encoding --- */

/* The declared encoding of a part that begins with <?xml, or nothing. */
static struct book_bit declared(const char *xml, size_t length)
{
	struct book_raw raw;
	size_t at = 5, end = 0;
	if (length < 6 || memcmp(xml, "<?xml", 5))
		return (struct book_bit){ 0 };
	while (end + 1 < length && memcmp(xml + end, "?>", 2))
		end++;
	while (book_tag_next(xml, &at, end, &raw))
		if (book_bit_is(raw.name, "encoding"))
			return raw.value;
	return (struct book_bit){ 0 };
}

static bool is_utf8(struct book_reader *reader)
{
	const char *xml = reader->xml;
	size_t length = reader->length;
	char quoted[PM_FAULT_TEXT] = "UTF-16";
	bool wide = length >= 2 && (!memcmp(xml, "\xFF\xFE", 2) || !memcmp(xml, "\xFE\xFF", 2) || !xml[0] || !xml[1]);
	if (!wide) {
		char name[32] = "";
		struct pm_text text;
		size_t mark = length >= 3 && !memcmp(xml, "\xEF\xBB\xBF", 3) ? 3 : 0;
		struct book_bit bit = declared(xml + mark, length - mark);
		if (!bit.bytes)
			return true;
		pm_text_fixed(&text, name, sizeof name);
		pm_text_put(&text, bit.bytes, bit.length);
		if (pm_same_nocase(name, "UTF-8"))
			return true;
		pm_text_fixed(&text, quoted, sizeof quoted);
		pm_text_quote(&text, name);
	}
	book_stop(reader, PM_FAULT_SYNTAX, "its encoding is %s, only UTF-8 is read", quoted);
	return pm_fail_remedy(reader->fault, "open the workbook in the program that made it and save it again");
}

/* --- the whole --- */

static bool finish(struct book_reader *reader, xmlParserCtxtPtr parser)
{
	const xmlError *error = xmlCtxtGetLastError(parser);
	if (reader->stopped)
		return false;
	if (error && error->code == XML_ERR_NO_MEMORY)
		return book_stop(reader, PM_FAULT_MEMORY, "out of memory");
	if (!parser->wellFormed || !parser->nsWellFormed)
		return book_stop(reader, PM_FAULT_SYNTAX, "not well-formed XML, at its line %d", error ? error->line : 0);
	if (reader->text.cut)
		return book_stop(reader, PM_FAULT_MEMORY, "out of memory");
	return true;
}

/* libxml2 says on stderr what goes wrong outside of a parser, such as memory that
 * ran out before there was one; the fault says it instead. */
static void silent(void *context, const char *message, ...)
{
	(void)context, (void)message;
}

static xmlParserCtxtPtr new_parser(struct book_reader *reader, const xmlSAXHandler *events)
{
	xmlParserCtxtPtr parser = xmlCreateMemoryParserCtxt(reader->xml, (int)reader->length);
	if (!parser)
		return NULL;
	/* NOENT: character references in attributes come decoded. There are no
	 * other entities without a document type. HUGE lifts bounds that are set
	 * here in another way: by the size of a part and the depth. */
	xmlCtxtUseOptions(parser, XML_PARSE_NONET | XML_PARSE_NOENT | XML_PARSE_HUGE | XML_PARSE_NOERROR |
	                          XML_PARSE_NOWARNING);
	*parser->sax = *events;
	parser->userData = reader;
	return parser;
}

bool book_read(struct book_reader *reader)
{
	static const xmlSAXHandler events = {
		.initialized = XML_SAX2_MAGIC, .startElementNs = on_start, .endElementNs = on_end, .characters = on_text,
		.ignorableWhitespace = on_text, .cdataBlock = on_text, .internalSubset = on_type,
	};
	reader->stopped = false;
	reader->depth = 0;
	reader->parser = NULL;
	if (!is_utf8(reader))
		return false;
	if (reader->length == 0 || reader->length > BOOK_MOST_PART)
		return book_stop(reader, PM_FAULT_SYNTAX, reader->length ? "larger than 64 MiB" : "empty");
	xmlGenericErrorFunc said = xmlGenericError;
	void *said_to = xmlGenericErrorContext;
	xmlSetGenericErrorFunc(NULL, silent);
	pm_arena_init(&reader->arena);
	pm_text_grow(&reader->text, &reader->arena);
	xmlParserCtxtPtr parser = new_parser(reader, &events);
	reader->parser = parser;
	if (parser)
		xmlParseDocument(parser);
	reader->parser = NULL;
	bool good = parser ? finish(reader, parser) : book_stop(reader, PM_FAULT_MEMORY, "out of memory");
	/* behind a byte that is not UTF-8 no event comes any more, not even that of a document
	 * type; for an entity that is declared there libxml2 makes a document all the same, and
	 * leaves it behind when it gives up within the declaration */
	if (parser && parser->myDoc)
		xmlFreeDoc(parser->myDoc);
	xmlFreeParserCtxt(parser);
	pm_arena_free(&reader->arena);
	xmlSetGenericErrorFunc(said_to, said);
	return good;
}
