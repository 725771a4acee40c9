#include "capture/open_parts.h"

#include <string.h>

#include "capture/names.h"
#include "capture/tokens.h"
#include "capture/words.h"
#include "portmuster/text.h"

void open_advance(struct open_place *place, char byte)
{
	if (byte == '\n') {
		place->line++;
		place->column = 1;
	} else if (((unsigned char)byte & 0xC0) != 0x80) {
		place->column++;
	}
}

uint32_t open_lines(const struct open_place *place)
{
	return place->column > 1 ? place->line : place->line - 1;
}

struct open_text open_trim(struct open_text text)
{
	while (text.length && strchr(" \t\r\n", text.at[0]) && text.at[0]) text.at++, text.length--;
	while (text.length && strchr(" \t\r\n", text.at[text.length - 1]) && text.at[text.length - 1]) text.length--;
	return text;
}

bool open_is(struct open_text text, const char *word)
{
	return text.length == strlen(word) && memcmp(text.at, word, text.length) == 0;
}

bool open_begins(struct open_text text, const char *head)
{
	size_t length = strlen(head);
	return text.length >= length && memcmp(text.at, head, length) == 0;
}

bool open_holds(struct open_text text, const char *part)
{
	size_t length = strlen(part);
	for (size_t i = 0; i + length <= text.length; i++)
		if (memcmp(text.at + i, part, length) == 0) return true;
	return false;
}

bool open_tells(struct open_text text)
{
	for (size_t i = 0, n; i < text.length; i += n) {
		struct pm_eui48 address;
		enum pm_notation notation;
		for (n = 0; i + n < text.length && !token_parts(text.at[i + n]);) n++;
		struct open_text word = { text.at + i, n };
		if (word_kind(word.at, word.length) & WORD_SERIAL) return true;
		if (n && pm_eui48_read(word.at, word.length, &address, &notation, NULL) && notation != PM_BARE) return true;
		n += n == 0;
	}
	return false;
}

/* Into the first octet of one digit. */
static struct pm_eui48_fault lone_digit(struct open_text address)
{
	unsigned at = 0;
	while (at + 1 < address.length && ((at && address.at[at - 1] != ':') || address.at[at + 1] != ':')) at++;
	return (struct pm_eui48_fault){ PM_EUI48_SHORT, at + 1 };
}

void open_take(struct collect *collect, const struct open_text *names, size_t count,
               struct open_text address, struct open_place place, bool dropped)
{
	struct open_text name = { "", 0 };
	size_t port = PM_NO_PORT;
	struct pm_eui48 read;
	struct pm_eui48_fault fault = { PM_EUI48_OK, 0 };
	enum pm_notation notation;
	while (address.length && open_trim(address).at != address.at) {
		open_advance(&place, address.at[0]);
		address.at++, address.length--;
	}
	address = open_trim(address);
	if (address.length == 0) return;
	for (size_t i = 0; i < count && port == PM_NO_PORT; i++) {
		struct open_text given = open_trim(names[i]);
		if (given.length == 0) continue;
		if (collect->gear) port = pm_roster_find(collect->gear, given.at, given.length);
		if (name.length == 0 || port != PM_NO_PORT) name = given;
	}
	bool good = pm_eui48_read(address.at, address.length, &read, &notation, &fault);
	if (good && notation == PM_COLON_SHORT && !dropped) fault = lone_digit(address);
	if (fault.reason != PM_EUI48_OK)
		collect_problem(collect, place.line, place.column + (fault.column ? fault.column - 1 : 0),
		                pm_eui48_reason_text(fault.reason), address.at, address.length);
	else if (name.length == 0)
		collect_problem(collect, place.line, place.column, "an address of an interface without a name",
		                address.at, address.length);
	else
		collect_reading(collect, name.at, name.length, port, &read, place.line, place.column);
}

/* Types whose address, if any, is of another kind: IANAifType-MIB, numbers from
 * memory. */
static const struct { const char *name, *number; } without[] = {
	{ "ppp", "23" }, { "softwareLoopback", "24" }, { "tunnel", "131" }, { "ieee1394", "144" }, { "infiniband", "199" },
};

bool open_type_without(struct open_text type)
{
	type = open_trim(type);
	const char *bracket = type.length ? memchr(type.at, '(', type.length) : NULL;
	if (bracket) type.length = (size_t)(bracket - type.at);
	const char *colon = type.length ? memchr(type.at, ':', type.length) : NULL;
	if (colon) {
		type.length -= (size_t)(colon + 1 - type.at);
		type.at = colon + 1;
	}
	for (size_t i = 0; i < sizeof without / sizeof without[0]; i++)
		if (open_is(type, without[i].name) || open_is(type, without[i].number)) return true;
	return false;
}

/* --- what stands around documents -------------------------------------------------- */

bool open_line_idle(struct open_text line)
{
	/* "[name@unit ~]$", and the marks of RFC 6242 section 4. */
	static const char *const part[] = { "]$", "]#", "]>" }, *const head[] = { "#", "//", ";", "]]>]]>" };
	line = open_trim(line);
	if (line.length == 0 || line_is_prompt(line.at, line.length)) return true;
	for (size_t i = 0; i < sizeof head / sizeof head[0]; i++)
		if (open_begins(line, head[i])) return true;
	for (size_t i = 0; line.at[0] == '[' && i < sizeof part / sizeof part[0]; i++)
		if (open_holds(line, part[i])) return true;
	return false;
}

void open_gap_begin(struct open_gap *gap)
{
	gap->length = 0;
	gap->held = gap->over = false;
}

static void end_line(struct open_gap *gap, struct collect *collect)
{
	struct open_text line = { gap->line, gap->length };
	if (gap->length == 0) return;
	gap->lines++;
	gap->length = 0;
	/* The first line may be the command that was typed. */
	if (gap->complained || (!gap->seen && gap->lines == 1) || open_line_idle(line)) return;
	gap->complained = true;
	collect_problem(collect, gap->at.line, gap->at.column, "text outside of the listing", line.at, line.length);
}

static void add(struct open_gap *gap, struct open_place place, char byte)
{
	if (gap->length == 0) gap->at = place;
	if (gap->length < sizeof gap->line) gap->line[gap->length++] = byte;
}

enum open_gap_step open_gap_byte(struct open_gap *gap, struct collect *collect, struct open_place place, char byte)
{
	bool blank = pm_is_blank(byte) || byte == '\r' || byte == '\n';
	if (gap->held) {
		gap->held = false;
		/* A prompt may begin with a bracket too. */
		if (blank || (byte && strchr("{[]\"-0123456789", byte))) {
			gap->seen = true;
			return GAP_OPENED;
		}
		add(gap, gap->opened, '[');
	}
	if (byte == '\n') {
		end_line(gap, collect);
		return GAP_ON;
	}
	if (gap->length == 0) {
		if (blank) return GAP_ON;
		if (place.line == 1 && place.column <= 2 && !gap->seen && strchr("\xEF\xBB\xBF", byte) && byte) return GAP_ON;
		gap->opened = place;
		if (byte == gap->opener && byte == '[') {
			gap->held = true;
			return GAP_ON;
		}
		if (byte == gap->opener) {
			gap->seen = true;
			return GAP_OPENS;
		}
	}
	add(gap, place, byte);
	return GAP_ON;
}

void open_gap_end(struct open_gap *gap, struct collect *collect, const char *none)
{
	if (gap->held) add(gap, gap->opened, '[');
	end_line(gap, collect);
	if (!gap->seen) collect_problem(collect, 1, 1, none, "", 0);
}
