/* What `ip link` writes (iproute2 6.1), its one-line form (-oneline) and `ip
 * address`: a numbered line an interface, then what is known of its link. */
#include <stdlib.h>
#include <string.h>

#include "capture/clean.h"
#include "capture/names.h"
#include "capture/open_parts.h"
#include "portmuster/text.h"

#define ETHER "link/ether"
#define BROKEN 57          /* columns from which a head may have been broken by a terminal */
#define NAMES_MOST 9
#define NAME_MOST 128      /* ALTIFNAMSIZ */

struct link {
	struct listing *listing;
	struct collect collect;
	struct clean *clean, *probe;       /* `probe` is for lines that may be others' */
	struct open_text probed;
	bool vanished;
	bool failed, any, cut, complained;
	size_t columns;                    /* of the line before */

	bool active, linked;               /* an interface is at hand; its link's line was seen */
	char name[NAMES_MOST][NAME_MOST];  /* its own, then others that it goes by */
	size_t length[NAMES_MOST], names;
	struct open_place place;           /* of its line */
	char address[64];
	size_t address_length;
	struct open_place address_place;
};

static void finish(struct link *l)
{
	struct open_text names[NAMES_MOST];
	for (size_t i = 0; i < l->names; i++) names[i] = (struct open_text){ l->name[i], l->length[i] };
	if (l->active && !l->linked)
		collect_problem(&l->collect, l->place.line, l->place.column, "an interface without its link's line", l->name[0], l->length[0]);
	else if (l->active)
		open_take(&l->collect, names, l->names, (struct open_text){ l->address, l->address_length }, l->address_place, false);
	l->active = l->linked = false;
	l->names = l->address_length = 0;
}

static void add_name(struct link *l, struct open_text name)
{
	if (l->names == NAMES_MOST) return;
	size_t length = name.length < NAME_MOST ? name.length : NAME_MOST;
	memcpy(l->name[l->names], name.at, length);
	l->length[l->names++] = length;
}

/* Up to the next blank; what comes behind the blanks is left in `*rest`. */
static struct open_text next_word(struct open_text *rest)
{
	size_t n = 0;
	while (rest->length && rest->at[0] == ' ') rest->at++, rest->length--;
	while (n < rest->length && rest->at[n] != ' ') n++;
	struct open_text word = { rest->at, n };
	rest->at += n, rest->length -= n;
	return word;
}

static bool is_numbered(struct open_text line)
{
	struct open_text number = next_word(&line);
	for (size_t i = 0; i + 1 < number.length; i++)
		if (!pm_is_digit(number.at[i])) return false;
	return number.length > 1 && number.at[number.length - 1] == ':';
}

/* "3: veth-a@veth-b: <BROADCAST,MULTICAST> mtu 1500 ..." */
static bool read_head(struct open_text line, struct open_text *name)
{
	if (!is_numbered(line)) return false;
	next_word(&line);
	struct open_text whole = next_word(&line), flags = next_word(&line), mtu = next_word(&line);
	if (whole.length < 2 || whole.at[whole.length - 1] != ':') return false;
	if (flags.length < 2 || flags.at[0] != '<' || flags.at[flags.length - 1] != '>' || !open_is(mtu, "mtu")) return false;
	/* Behind the "@" stands what it is tied to. */
	const char *tie = memchr(whole.at, '@', whole.length);
	*name = (struct open_text){ whole.at, tie && tie != whole.at ? (size_t)(tie - whole.at) : whole.length - 1 };
	return true;
}

static struct open_place place_in(const struct clean_line *line, const char *at)
{
	uint32_t column = 1;
	for (const char *c = line->text; c < at; c++) column += ((unsigned char)*c & 0xC0) != 0x80;
	return (struct open_place){ line->line, column };
}

/* "link/ether 00:00:5e:00:53:01 brd ff:ff:ff:ff:ff:ff", "altname lan-north" */
static void read_part(struct link *l, const struct clean_line *line, struct open_text part)
{
	struct open_text word = next_word(&part);
	if (open_is(word, "altname")) {
		word = next_word(&part);
		if (l->active && word.length) add_name(l, word);
		return;
	}
	if (!open_begins(word, "link/")) return;
	struct open_text address = next_word(&part);
	struct open_place place = place_in(line, address.at);
	if (!l->active) {
		if (open_is(word, ETHER))
			collect_problem(&l->collect, place.line, place.column, "an address of an interface without a name", address.at, address.length);
		return;
	}
	/* A word cut short at the text's end says nothing. */
	if (l->linked || (word.length < strlen(ETHER) && memcmp(word.at, ETHER, word.length) == 0)) return;
	l->linked = true;
	if (!open_is(word, ETHER)) return;
	if (address.length == 0 && l->cut) return;
	if (address.length == 0) {
		collect_problem(&l->collect, place.line, place.column, "the address is missing", word.at, word.length);
		return;
	}
	l->address_length = address.length < sizeof l->address ? address.length : sizeof l->address;
	memcpy(l->address, address.at, l->address_length);
	l->address_place = place;
}

/* What comes behind the heads: indented, or the rest of a line that a terminal's
 * edge broke. */
static bool goes_on(const struct link *l, struct open_text line)
{
	static const char *const words[] = { "link/", "altname", "vf", "inet", "bond", "bridge", "vlan" };
	struct open_text rest = line, word = next_word(&rest);
	if (word.length == 0 || is_numbered(line)) return true;
	if (!l->any || line_is_prompt(line.at, line.length)) return false;
	if (line.at[0] != ' ')
		return (l->columns == 80 || l->columns == 132 || (l->active && !l->linked && l->columns >= BROKEN)) && !open_tells(line);
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
		if (open_begins(word, words[i])) return true;
	return !open_tells(line);
}

static void take_probed(void *context, const struct clean_line *line)
{
	struct link *l = context;
	l->probed = (struct open_text){ line->text, line->length };
	l->vanished = false;
}

static bool owns(void *state, const char *text, size_t length)
{
	struct link *l = state;
	l->vanished = true;
	if (!clean_feed(l->probe, text, length) || !clean_feed(l->probe, "\n", 1)) l->failed = true;
	return l->vanished || goes_on(l, l->probed);
}

static void take_line(void *context, const struct clean_line *line)
{
	struct link *l = context;
	struct open_text rest = { line->text, line->length }, name;
	l->listing->lines = line->line;
	l->cut = line->cut;
	if (line->cut) {
		collect_problem(&l->collect, line->line, CLEAN_MOST_COLUMNS + 1, "the line is too long and was cut", "", 0);
		/* nothing that the cut touches */
		while (rest.length && rest.at[rest.length - 1] != ' ') rest.length--;
	}
	if (!l->complained && l->any && !goes_on(l, rest) && !open_line_idle(rest)) {
		l->complained = true;
		collect_problem(&l->collect, line->line, 1, "text outside of the listing", rest.at, rest.length);
	}
	l->columns = line->columns;
	if (line->line == 1 && open_begins(rest, "\xEF\xBB\xBF")) rest.at += 3, rest.length -= 3;
	if (read_head(rest, &name)) {
		finish(l);
		l->any = l->active = true;
		l->place = place_in(line, name.at);
		add_name(l, name);
	} else if (is_numbered(rest)) {
		finish(l);
		collect_problem(&l->collect, line->line, 1, "not readable as an interface's line", rest.at, rest.length);
	}
	/* In the one-line form a backslash stands for each line end. */
	while (rest.length) {
		const char *mark = memchr(rest.at, '\\', rest.length);
		struct open_text part = { rest.at, mark ? (size_t)(mark - rest.at) : rest.length };
		read_part(l, line, part);
		rest.at += part.length, rest.length -= part.length;
		if (rest.length) rest.at++, rest.length--;
	}
}

static bool recognise(const char *text, size_t length)
{
	const char *feed = memchr(text, '\n', length);
	struct open_text name, line = { text, feed ? (size_t)(feed - text) : length };
	return read_head(line, &name);
}

static void *begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena)
{
	struct link *l = calloc(1, sizeof *l);
	if (!l) return NULL;
	l->clean = clean_new(take_line, l);
	l->probe = clean_new(take_probed, l);
	/* a line feed, so that it is known how lines end */
	if (!l->clean || !l->probe || !clean_feed(l->probe, "\n", 1)) {
		clean_free(l->clean);
		clean_free(l->probe);
		free(l);
		return NULL;
	}
	l->listing = listing;
	collect_init(&l->collect, listing, gear, arena);
	return l;
}

static bool feed(void *state, const void *bytes, size_t length)
{
	struct link *l = state;
	if (!clean_feed(l->clean, bytes, length)) l->failed = true;
	return !(l->failed |= l->collect.failed);
}

static bool end(void *state)
{
	struct link *l = state;
	if (!clean_end(l->clean)) l->failed = true;
	finish(l);
	if (!l->any) collect_problem(&l->collect, 1, 1, "no interface of ip link", "", 0);
	bool good = !l->failed && !l->collect.failed;
	clean_free(l->clean);
	clean_free(l->probe);
	collect_free(&l->collect);
	free(l);
	return good;
}

const struct source_reader open_ip_link = { recognise, begin, feed, end, owns };
