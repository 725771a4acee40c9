/* Interfaces of RFC 8343 in XML: <interfaces>, or the older <interfaces-state>,
 * alone or in a reply of NETCONF (RFC 6241) or RESTCONF (RFC 8040) that wraps
 * them; also one <interface> of the module alone.
 *
 * Nothing outside the text is asked for: no document type, no entity, no
 * network. Text is UTF-8, as RFC 6241 has it, whatever its head declares.
 */
#include <stdlib.h>
#include <string.h>

#include <libxml/parser.h>
#include <libxml/parserInternals.h>
#include <libxml/SAX2.h>

#include "capture/open_parts.h"
#include "portmuster/text.h"

#define MODULE "urn:ietf:params:xml:ns:yang:ietf-interfaces"
#define DEEPEST 200
#define LEAF_MOST 256
#define ADDRESSES_MOST 4
#define PIECE 4096
#define DOCUMENTS_MOST 1000
#define MARKUP_MOST (64u << 10)   /* bytes of one tag or comment */

enum leaf { LEAF_NAME, LEAF_TYPE, LEAF_ADDRESS, LEAVES };

static const char *const leaf_names[LEAVES] = { "name", "type", "phys-address" };

struct value {
	char text[LEAF_MOST];
	size_t length;
	struct open_place place;
};

struct xml {
	struct listing *listing;
	struct collect collect;
	struct open_place place;         /* of the next byte */
	struct open_gap gap;

	xmlParserCtxtPtr parser;         /* of the document at hand, or null */
	bool inside, closed, lost;       /* in a document; its root is over; it went wrong */
	bool rooted;                     /* its root has begun */
	size_t documents;                /* that were read to their ends */
	size_t depth, container, interface;   /* depths of those that are open, or 0 */
	enum leaf leaf;                  /* that text belongs to; LEAVES: none */
	struct value name, type, address[ADDRESSES_MOST], one;
	size_t addresses;

	/* The last bytes of the document, of which the parser was given the first
	 * `given`: its own columns are not to be relied on. */
	char window[2 * PIECE];
	size_t held, given;
	long before, over;               /* bytes before the window; up to the root's end */
	long mark;                       /* the furthest byte whose place was looked up, */
	struct open_place mark_place;    /* and that place */
};

static void lose(struct xml *x, struct open_place place, const char *reason, const char *text)
{
	if (x->lost) return;
	x->lost = true;
	collect_problem(&x->collect, place.line, place.column, reason, text, strlen(text));
	if (x->parser) xmlStopParser(x->parser);
}

/* The place of a byte; of the mark, if that has gone past it. */
static struct open_place place_of(struct xml *x, long byte)
{
	long most = x->before + (long)x->held;
	for (; x->mark < byte && x->mark < most; x->mark++) open_advance(&x->mark_place, x->window[x->mark - x->before]);
	return x->mark_place;
}

/* Where the parser stands: in a start tag, at its end. */
static struct open_place here(struct xml *x)
{
	return place_of(x, xmlByteConsumed(x->parser));
}

static struct open_text text_of(const struct value *value)
{
	return (struct open_text){ value->text, value->length };
}

/* --- what the parser finds --------------------------------------------------------------- */

static bool is(const xmlChar *name, const char *word)
{
	return xmlStrcmp(name, (const xmlChar *)word) == 0;
}

static void on_start(void *state, const xmlChar *name, const xmlChar *prefix, const xmlChar *space, int spaces,
                     const xmlChar **space_list, int attributes, int defaults, const xmlChar **attribute_list)
{
	struct xml *x = state;
	bool ours = space && is(space, MODULE), may_be = ours || !space;
	(void)prefix, (void)spaces, (void)space_list, (void)attributes, (void)defaults, (void)attribute_list;
	x->depth++;
	x->leaf = LEAVES;
	x->rooted = true;
	if (x->depth > DEEPEST) {
		lose(x, here(x), "nested too deeply", "");
	} else if (x->interface) {
		if (x->depth != x->interface + 1 || !may_be) return;
		for (size_t i = 0; i < LEAVES; i++)
			if (is(name, leaf_names[i])) x->leaf = (enum leaf)i;
		x->one = (struct value){ .place = here(x) };
		x->one.place.column++;
	} else if (is(name, "interface") && (ours || (may_be && x->container && x->depth == x->container + 1))) {
		x->interface = x->depth;
		x->name.length = x->type.length = x->addresses = 0;
	} else if (!x->container && may_be && (is(name, "interfaces") || is(name, "interfaces-state"))) {
		x->container = x->depth;
	}
}

static void on_text(void *state, const xmlChar *text, int length)
{
	struct xml *x = state;
	if (x->leaf == LEAVES || length <= 0) return;
	size_t room = LEAF_MOST - x->one.length, take = (size_t)length < room ? (size_t)length : room;
	memcpy(x->one.text + x->one.length, text, take);
	x->one.length += take;
}

static void take_interface(struct xml *x)
{
	struct open_text name = text_of(&x->name);
	for (size_t i = 0; i < x->addresses && !open_type_without(text_of(&x->type)); i++)
		open_take(&x->collect, &name, 1, text_of(&x->address[i]), x->address[i].place, false);
	x->interface = 0;
	x->addresses = 0;
}

static void on_end(void *state, const xmlChar *name, const xmlChar *prefix, const xmlChar *space)
{
	struct xml *x = state;
	(void)name, (void)prefix, (void)space;
	switch (x->leaf) {
	case LEAF_NAME:
		if (x->name.length && (x->name.length != x->one.length || memcmp(x->name.text, x->one.text, x->one.length) != 0))
			collect_problem(&x->collect, x->one.place.line, x->one.place.column, "a second name for one interface",
			                x->one.text, x->one.length);
		else x->name = x->one;
		break;
	case LEAF_TYPE: x->type = x->one; break;
	case LEAF_ADDRESS: if (x->addresses < ADDRESSES_MOST) x->address[x->addresses++] = x->one; break;
	case LEAVES: break;
	}
	x->leaf = LEAVES;
	if (x->depth == x->interface) take_interface(x);
	if (x->depth == x->container) x->container = 0;
	x->depth--;
	x->closed = x->depth == 0;
	if (x->closed) x->over = xmlByteConsumed(x->parser);
}

static void on_doctype(void *state, const xmlChar *name, const xmlChar *external, const xmlChar *system)
{
	struct xml *x = state;
	(void)external, (void)system;
	lose(x, here(x), "a document type (DOCTYPE) is not read", (const char *)name);
}

#if LIBXML_VERSION >= 21200
typedef const xmlError *error_given;
#else
typedef xmlErrorPtr error_given;
#endif

static void on_error(void *state, error_given error)
{
	struct xml *x = state;
	/* What comes behind the root is another document's. */
	if (error->level < XML_ERR_FATAL || x->lost || x->closed) return;
	if (error->code == XML_ERR_NO_MEMORY || !error->message) x->collect.failed = true;
	size_t length = error->message ? strcspn(error->message, "\n") : 0;
	struct open_place place = here(x);
	x->lost = true;
	collect_problem(&x->collect, place.line, place.column, "not readable as XML", length ? error->message : "", length);
}

/* --- documents ----------------------------------------------------------------------------- */

static bool begin_document(struct xml *x)
{
	static const xmlSAXHandler handlers = {
		.initialized = XML_SAX2_MAGIC, .internalSubset = on_doctype, .startElementNs = on_start,
		.endElementNs = on_end, .characters = on_text, .ignorableWhitespace = on_text, .cdataBlock = on_text, .serror = on_error,
	};
	xmlSAXHandler copy = handlers;
	x->inside = true;
	x->closed = x->lost = x->rooted = false;
	x->depth = x->container = x->interface = x->addresses = 0;
	x->leaf = LEAVES;
	x->held = x->given = 0;
	x->before = x->over = x->mark = 0;
	x->mark_place = x->place;
	if (x->documents == DOCUMENTS_MOST) lose(x, x->place, "more documents than are read", "");
	x->parser = xmlCreatePushParserCtxt(&copy, x, NULL, 0, NULL);
	if (!x->parser) return false;
	xmlCtxtUseOptions(x->parser, XML_PARSE_NONET | XML_PARSE_IGNORE_ENC);
	return xmlSwitchEncoding(x->parser, XML_CHAR_ENCODING_UTF8) == 0;
}

static void end_document(struct xml *x)
{
	if (x->parser) xmlFreeParserCtxt(x->parser);
	x->parser = NULL;
	x->inside = false;
	x->documents++;
	open_gap_begin(&x->gap);
}

/* Hand what is new to the parser. A root that ends in it leaves the rest at the
 * window's start, still to be read: returns how much. */
static size_t flush(struct xml *x)
{
	size_t rest = 0;
	if (!x->lost && x->held > x->given) xmlParseChunk(x->parser, x->window + x->given, (int)(x->held - x->given), 0);
	x->given = x->held;
	if (x->closed && !x->lost) {
		x->mark_place = place_of(x, x->over);
		rest = x->held - (size_t)(x->mark - x->before);
		memmove(x->window, x->window + (x->held - rest), rest);
		end_document(x);
	} else if (!x->lost && x->before + (long)x->held - xmlByteConsumed(x->parser) > (long)MARKUP_MOST) {
		lose(x, x->place, "a tag or comment too long to be read", "");
	}
	return rest;
}

static bool one_byte(struct xml *x, char byte);

/* The rest of the window, as if it came now. */
static bool read_again(struct xml *x, size_t rest)
{
	char bytes[2 * PIECE];
	struct open_place after = x->place;
	bool good = true;
	memcpy(bytes, x->window, rest);
	x->place = x->mark_place;
	for (size_t i = 0; i < rest && good; i++) {
		good = one_byte(x, bytes[i]);
		open_advance(&x->place, bytes[i]);
	}
	x->place = after;
	return good;
}

static bool one_byte(struct xml *x, char byte)
{
	if (!x->inside) {
		if (open_gap_byte(&x->gap, &x->collect, x->place, byte) == GAP_ON) return true;
		if (!begin_document(x)) return false;
	}
	if (x->lost) return true;
	if (x->held - x->given == PIECE) {
		size_t rest = flush(x);
		if (!x->inside) return (!rest || read_again(x, rest)) && one_byte(x, byte);
	}
	if (x->held == sizeof x->window) {
		place_of(x, x->before + PIECE);
		memmove(x->window, x->window + PIECE, x->held - PIECE);
		x->before += PIECE;
		x->held -= PIECE, x->given -= PIECE;
	}
	x->window[x->held++] = byte;
	return true;
}

/* --- the reader ------------------------------------------------------------------------------ */

/* Names under which such a text begins, behind any prefix. */
static const char *const roots[] = { "interfaces", "interfaces-state", "interface", "data", "rpc-reply", "config" };

static bool recognise(const char *text, size_t length)
{
	struct open_text all = { text, length };
	bool ours = open_holds(all, MODULE);
	if (!open_begins(all, "<") || length < 2) return false;
	if (open_begins(all, "<?xml")) return true;
	if (text[1] == '!') return ours;
	size_t from = 1, to = 1;
	while (to < length && (pm_is_alnum(text[to]) || strchr("-_.:", text[to])) && text[to]) {
		if (text[to++] == ':') from = to;
	}
	if (to == length || !strchr(" \t\r\n/>", text[to]) || !text[to]) return false;
	for (size_t i = 0; i < sizeof roots / sizeof roots[0]; i++)
		if (open_is((struct open_text){ text + from, to - from }, roots[i])) return ours || open_holds(all, "interface");
	return false;
}

static void *begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena)
{
	struct xml *x = calloc(1, sizeof *x);
	if (!x) return NULL;
	x->listing = listing;
	x->place = (struct open_place){ 1, 1 };
	x->gap.opener = '<';
	collect_init(&x->collect, listing, gear, arena);
	return x;
}

static bool feed(void *state, const void *bytes, size_t length)
{
	struct xml *x = state;
	const char *at = bytes;
	for (size_t i = 0; i < length; i++) {
		if (!one_byte(x, at[i])) x->collect.failed = true;
		if (x->collect.failed) return false;
		open_advance(&x->place, at[i]);
	}
	return true;
}

static bool end(void *state)
{
	struct xml *x = state;
	size_t rest = 0;
	do {
		rest = x->inside && x->held > x->given ? flush(x) : 0;
		if (rest && !read_again(x, rest)) x->collect.failed = true;
	} while (rest && !x->collect.failed);
	if (!x->inside) {
		open_gap_end(&x->gap, &x->collect, "no XML element");
	} else if (x->parser) {
		/* What is whole of the interface at hand is kept. */
		if (x->interface) take_interface(x);
		/* A comment may follow the last one. */
		if (x->rooted || x->documents == 0)
			lose(x, x->place, x->rooted ? "the text ends before its last element does" : "the text ends before its first element", "");
	}
	if (x->parser) xmlFreeParserCtxt(x->parser);
	x->listing->lines = open_lines(&x->place);
	bool good = !x->collect.failed;
	collect_free(&x->collect);
	free(x);
	return good;
}

const struct source_reader open_yang_xml = { recognise, begin, feed, end, NULL };
