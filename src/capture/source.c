#include "capture/source.h"

#include <stdlib.h>
#include <string.h>

#include "capture/open_parts.h"
#include "portmuster/text.h"

#define HEAD_MOST 4096   /* bytes that are looked at to recognise a listing */
#define ECHO_MOST 80     /* of a command that was typed before it */

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

static const struct source_reader console = { NULL, console_begin, console_feed, console_end };

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

/* --- which one it is ------------------------------------------------------------------ */

/* A command without its prompt; no listing's line, which would have a number. */
static bool may_be_echo(struct open_text line)
{
	for (size_t i = 0; i < line.length; i++)
		if (pm_is_digit(line.at[i]) || line.at[i] == ':') return false;
	return line.length <= ECHO_MOST;
}

static enum source_kind recognise(const char *head, size_t length)
{
	struct open_text rest = { head, length };
	bool echo = false;
	if (open_begins(rest, "\xEF\xBB\xBF")) rest.at += 3, rest.length -= 3;
	while (rest.length) {
		const char *feed = memchr(rest.at, '\n', rest.length);
		struct open_text line = open_trim((struct open_text){ rest.at, feed ? (size_t)(feed - rest.at) : rest.length });
		struct open_text from = { line.at, line.length ? rest.length - (size_t)(line.at - rest.at) : 0 };
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
	return SOURCE_CONSOLE;
}

/* --- reading ---------------------------------------------------------------------------- */

struct source {
	enum source_kind kind;           /* SOURCE_AUTO until it is known */
	struct listing *listing;
	const struct pm_gear *gear;
	struct pm_arena *arena;
	void *state;                     /* of the reader; null: not begun, or out of memory */
	bool failed;
	char head[HEAD_MOST];
	size_t held;
};

struct source *source_begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena,
                            enum source_kind as)
{
	struct source *source = malloc(sizeof *source);
	*listing = (struct listing){ .reading = NULL };
	if (!source) return NULL;
	source->kind = as;
	source->listing = listing, source->gear = gear, source->arena = arena;
	source->state = NULL;
	source->failed = false;
	source->held = 0;
	return source;
}

static bool feed_reader(struct source *source, const void *bytes, size_t length)
{
	return kinds[source->kind].reader->feed(source->state, bytes, length);
}

/* From here on the reader gets the bytes. */
static bool settle(struct source *source)
{
	if (source->kind >= SOURCE_KINDS) source->kind = recognise(source->head, source->held);
	source->state = kinds[source->kind].reader->begin(source->listing, source->gear, source->arena);
	return source->state && feed_reader(source, source->head, source->held);
}

bool source_feed(struct source *source, const void *bytes, size_t length)
{
	const char *at = bytes;
	if (source->failed) return false;
	if (!source->state) {
		size_t room = HEAD_MOST - source->held, take = length < room ? length : room;
		if (take) memcpy(source->head + source->held, at, take);
		source->held += take;
		at += take, length -= take;
		if (source->held < HEAD_MOST) return true;
		source->failed = !settle(source);
	}
	if (length && !source->failed) source->failed = !feed_reader(source, at, length);
	return !source->failed;
}

bool source_end(struct source *source, enum source_kind *kind)
{
	if (!source->state && !source->failed) source->failed = !settle(source);
	bool good = !source->failed;
	if (source->state && !kinds[source->kind].reader->end(source->state)) good = false;
	if (kind) *kind = source->kind < SOURCE_KINDS ? source->kind : SOURCE_CONSOLE;
	free(source);
	return good;
}
