#include "capture/source.h"

#include <stdlib.h>
#include <string.h>

#include "capture/sieve.h"
#include "capture/source_parts.h"
#include "portmuster/text.h"

#define HEAD_MOST 4096   /* bytes that are looked at to recognise a listing */
#define ECHO_MOST 80     /* of a command that was typed before it */
#define LOOK_MOST 1024   /* of a line, to see whose it is */

/* --- console text as one of them ------------------------------------------------ */

static void *console_begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena)
{
	return listing_begin(listing, gear, arena);
}

static bool console_feed(void *state, const void *bytes, size_t length)
{
	return listing_feed(state, bytes, length);
}

static bool console_end(void *state)
{
	return listing_end(state);
}

static const struct source_reader console = { NULL, console_begin, console_feed, console_end, NULL };

/* --- the kinds --------------------------------------------------------------------- */

static const struct {
	const char *word, *title;
	const struct source_reader *reader;
} kinds[SOURCE_KINDS] = {
	[SOURCE_CONSOLE] = { "console", "console text", &console },
	[SOURCE_YANG_JSON] = { "yang-json", "interfaces in JSON (RFC 8343, RFC 7951)", &open_yang_json },
	[SOURCE_YANG_XML] = { "yang-xml", "interfaces in XML (RFC 8343)", &open_yang_xml },
	[SOURCE_IFMIB] = { "ifmib", "a walk of the IF-MIB (RFC 2863)", &open_ifmib },
	[SOURCE_IP_LINK] = { "ip-link", "ip link as text (iproute2)", &open_ip_link },
	[SOURCE_IP_LINK_JSON] = { "ip-link-json", "ip link as JSON (iproute2)", &open_ip_link_json },
};

const char *source_word(enum source_kind kind)
{
	return kind < SOURCE_KINDS ? kinds[kind].word : "auto";
}

const char *source_title(enum source_kind kind)
{
	return kind < SOURCE_KINDS ? kinds[kind].title : "as recognised";
}

bool source_find(const char *word, enum source_kind *kind)
{
	for (size_t i = 0; i < SOURCE_KINDS; i++) {
		if (strcmp(kinds[i].word, word) != 0) continue;
		*kind = (enum source_kind)i;
		return true;
	}
	return false;
}

const struct source_reader *source_reader_of(enum source_kind kind)
{
	return kinds[kind].reader;
}

/* --- which one it is ------------------------------------------------------------------ */

/* A command without its prompt; no listing's line, which would have a number. */
static bool may_be_echo(struct open_text line)
{
	for (size_t i = 0; i < line.length; i++)
		if (pm_is_digit(line.at[i]) || line.at[i] == ':') return false;
	return line.length <= ECHO_MOST;
}

/* `*begins` is where the listing does. */
static enum source_kind recognise(const char *head, size_t length, size_t *begins)
{
	struct open_text rest = { head, length };
	bool echo = false;
	if (open_begins(rest, "\xEF\xBB\xBF")) rest.at += 3, rest.length -= 3;
	while (rest.length) {
		const char *feed = memchr(rest.at, '\n', rest.length);
		struct open_text line = open_trim((struct open_text){ rest.at, feed ? (size_t)(feed - rest.at) : rest.length });
		struct open_text from = { line.at, line.length ? rest.length - (size_t)(line.at - rest.at) : 0 };
		*begins = (size_t)(rest.at - head);
		for (size_t i = 0; line.length && i < SOURCE_KINDS; i++)
			if (kinds[i].reader->recognise && kinds[i].reader->recognise(from.at, from.length))
				return (enum source_kind)i;
		if (!open_line_idle(line)) {
			if (echo || !may_be_echo(line)) break;
			echo = true;
		}
		if (!feed) break;
		rest.length -= (size_t)(feed + 1 - rest.at);
		rest.at = feed + 1;
	}
	*begins = 0;
	return SOURCE_CONSOLE;
}

/* --- reading ---------------------------------------------------------------------------- */

struct source {
	enum source_kind now;            /* whose the lines are; SOURCE_AUTO until it is known */
	bool joined;                     /* each line may be another's */
	bool failed;
	bool placed;                     /* the line at hand is known to be of `now` */
	uint32_t line;                   /* at hand; as long as they are the console's, its reader counts them */
	struct parts parts;
	bool settled;
	char head[HEAD_MOST];            /* the first bytes, until then */
	size_t held;
	char look[LOOK_MOST];            /* of the line at hand, until it is known whose it is */
	size_t looked;
};

struct source *source_begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena,
                            enum source_kind as)
{
	struct source *source = malloc(sizeof *source);
	if (!source) {
		*listing = (struct listing){ .reading = NULL };
		return NULL;
	}
	source->now = as;
	source->joined = as >= SOURCE_KINDS;
	source->failed = source->placed = source->settled = false;
	source->line = 1;
	source->held = source->looked = 0;
	parts_init(&source->parts, listing, gear, arena);
	return source;
}

/* Bytes of the reader at hand, `feeds` line feeds among them. */
static void feed(struct source *s, const char *bytes, size_t length, uint32_t feeds)
{
	if (!parts_feed(&s->parts, s->now, bytes, length, s->line, s->line + feeds)) s->failed = true;
	s->line += feeds;
}

static bool starts(const char *text, size_t length, const char *head)
{
	size_t n = strlen(head);
	return memcmp(text, head, length < n ? length : n) == 0;
}

/* May a line of console text that begins so be one of a walk or of ip link?
 * Asked of each line, as long as those are: a log has millions. */
static bool may_be_other(const char *text, size_t length)
{
	size_t n = 0;
	switch (text[0]) {
	case 'I': return starts(text, length, "IF-MIB::");
	case 'S': return starts(text, length, "SNMPv2-SMI::");
	case 'm': return starts(text, length, "mib-2.");
	case 'i': return starts(text, length, "iso.") || (starts(text, length, "if") && (length < 3 || pm_is_upper(text[2])));
	case '.': return starts(text, length, ".1.3.6.1.") || starts(text, length, ".iso.");
	case ' ': case '\t': return false;
	}
	while (n < length && pm_is_digit(text[n])) n++;
	return n && (n == length || (text[n] == ':' && (n + 1 == length || text[n + 1] == ' ')) || starts(text, length, "1.3.6.1."));
}

/* Where the line begins that `at` is in. */
static size_t line_of(const char *bytes, size_t at)
{
	while (at && bytes[at - 1] != '\n') at--;
	return at;
}

/* What of the bytes surely is the console's: all of it, or up to a line's start.
 * `*within` says that the bytes begin, and then that they end, within a line of
 * its own. All in one piece, as large ones are read faster. */
static size_t console_stretch(const char *bytes, size_t length, bool *within)
{
	const char *end = *within ? memchr(bytes, '\n', length) : NULL;
	size_t at = end ? (size_t)(end + 1 - bytes) : *within ? length : 0, take = length;
	while (at < length && take == length) {
		at = sieve_heads(bytes, at, length);
		/* of a last line that is not whole the end may tell more */
		size_t line = line_of(bytes, at);
		if (line < length && may_be_other(bytes + line, length - line)) take = line;
		end = at < length ? memchr(bytes + at, '\n', length - at) : NULL;
		at = end ? (size_t)(end + 1 - bytes) : length;
	}
	if (take) *within = bytes[take - 1] != '\n';
	return take;
}

static bool is_json_or_xml(struct open_text line)
{
	line = open_trim(line);
	return open_is(line, "{") || open_is(line, "[") || open_is(line, "[ {") || open_is(line, "[{")
		|| open_yang_json.recognise(line.at, line.length) || open_yang_xml.recognise(line.at, line.length)
		|| open_ip_link_json.recognise(line.at, line.length);
}

/* Has the console's line what every other one has? It is asked where the bytes
 * came in other pieces, too. */
static bool has_head(struct open_text line)
{
	return sieve_heads(line.at, 0, line.length) < line.length;
}

/* Whose is the line at hand? What is nobody's after an open listing is the
 * console's, and a prompt ends that listing. */
static enum source_kind whose(struct source *s, struct open_text line, bool ended)
{
	static const enum source_kind others[] = { SOURCE_IP_LINK, SOURCE_IFMIB };
	if (s->now == SOURCE_CONSOLE && !(has_head(line) && may_be_other(line.at, line.length))) return SOURCE_CONSOLE;
	for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
		if (kinds[others[i]].reader->recognise(line.at, line.length)) return others[i];
	if (s->now == SOURCE_CONSOLE || !ended || open_trim(line).length == 0) return s->now;
	if (parts_own(&s->parts, s->now, line.at, line.length)) return s->now;
	if (is_json_or_xml(line)
	    && !parts_problem(&s->parts, s->line, "another listing begins here, and is read as console text: put it into a file of its own", line.at, line.length))
		s->failed = true;
	return SOURCE_CONSOLE;
}

/* The line in `look`, whole or its beginning, to its reader. */
static void place(struct source *s, bool ended)
{
	struct open_text line = { s->look, s->looked };
	bool whole = line.length && line.at[line.length - 1] == '\n';
	if (whole) line.length--;
	enum source_kind next = whose(s, line, ended);
	if (next != s->now && s->now == SOURCE_CONSOLE && parts_begun(&s->parts, SOURCE_CONSOLE) && !parts_line(&s->parts, &s->line))
		s->failed = true;
	s->now = next;
	/* Prompts and comments alone make no console text. */
	if (s->now != SOURCE_CONSOLE || parts_begun(&s->parts, SOURCE_CONSOLE) || !open_line_idle(line))
		feed(s, s->look, s->looked, whole);
	else
		s->line += whole;
	s->looked = 0;
	s->placed = !whole;
}

/* Of the bytes all whose reader is known: how many. */
static size_t feed_known(struct source *s, const char *at, size_t length)
{
	size_t take = 0, feeds = 0;
	bool begun = parts_begun(&s->parts, s->now);
	if (s->looked == 0 && s->now == SOURCE_CONSOLE && begun) {
		take = console_stretch(at, length, &s->placed);
	} else if (s->placed) {
		const char *end = memchr(at, '\n', length);
		take = end ? (size_t)(end + 1 - at) : length;
		feeds = end != NULL;
		s->placed = !end;
	}
	/* Of an idle line nobody wants the rest. */
	if (take && begun) feed(s, at, take, (uint32_t)feeds);
	else s->line += (uint32_t)feeds;
	return take;
}

static void feed_joined(struct source *s, const char *at, size_t length)
{
	while (length && !s->failed) {
		size_t take = feed_known(s, at, length);
		at += take, length -= take;
		if (s->placed || length == 0) continue;
		const char *end = memchr(at, '\n', length);
		take = end ? (size_t)(end + 1 - at) : length;
		if (take > LOOK_MOST - s->looked) take = LOOK_MOST - s->looked, end = NULL;
		memcpy(s->look + s->looked, at, take);
		s->looked += take;
		at += take, length -= take;
		if (end || s->looked == LOOK_MOST) place(s, true);
	}
}

/* From here on it is known what the text begins as. */
static void settle(struct source *s)
{
	size_t begins = 0;
	uint32_t feeds = 0;
	s->settled = true;
	if (s->now >= SOURCE_KINDS) s->now = recognise(s->head, s->held, &begins);
	s->joined = s->joined && (s->now == SOURCE_CONSOLE || kinds[s->now].reader->owns);
	if (!s->joined) begins = s->held;
	for (size_t i = 0; i < begins; i++) feeds += s->head[i] == '\n';
	/* Also when there is nothing: then that is what is read. */
	feed(s, s->head, begins, feeds);
	if (s->joined) feed_joined(s, s->head + begins, s->held - begins);
}

bool source_feed(struct source *source, const void *bytes, size_t length)
{
	const char *at = bytes;
	if (!source->settled) {
		size_t room = HEAD_MOST - source->held, take = length < room ? length : room;
		if (take) memcpy(source->head + source->held, at, take);
		source->held += take;
		at += take, length -= take;
		if (source->held < HEAD_MOST) return !source->failed;
		settle(source);
	}
	if (source->joined) feed_joined(source, at, length);
	else if (length && !source->failed) feed(source, at, length, 0);
	return !source->failed;
}

bool source_end_parts(struct source *source, struct source_parts *parts)
{
	if (!source->settled) settle(source);
	if (source->looked) place(source, false);
	bool good = parts_end(&source->parts) && !source->failed;
	*parts = source->parts.order;
	free(source);
	return good;
}

bool source_end(struct source *source, enum source_kind *kind)
{
	struct source_parts parts;
	bool good = source_end_parts(source, &parts);
	if (kind) *kind = parts.count ? parts.kind[0] : SOURCE_CONSOLE;
	return good;
}
