/* What the stand-in console says: invented, and like no maker's console. */
#include <regex.h>
#include <string.h>

#include "capture/standin_parts.h"

static const char *const messages[] = {
	"boot store found, reading", "waking the clock", "booting from slot one", "memory counted, 512 blocks in order",
	"fan answers", "checking the store", "store is clean", "waking the gate chip", "gate chip answers, 13 gates",
	"laying out tables", "keys are in place", "starting the listeners", "fan slows down", "waiting for the links",
};

static const char *const rumours[] = {
	"%s: cable seen", "%s: cable gone", "%s asks for a name", "clock set back by a breath", "fan slows down",
	"%s heard 00-00-5E-00-53-F%u", "store tidied",
};

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* --- the listing --------------------------------------------------------------------- */

#define STANZA_LINES 5
#define ROLE_COLUMNS 18

static const char *word_or(struct pm_word word, const char *otherwise)
{
	return pm_given(word) ? word.text : otherwise;
}

static void add_address(const struct standin *standin, size_t port, struct pm_text *out)
{
	char text[PM_EUI48_TEXT];
	struct pm_eui48 address = standin_address(standin, port);
	if (standin->options.wrong_port == port + 1) address = standin->wrong;
	pm_eui48_write(&address, standin->options.notation, standin->options.lower, text);
	pm_text_str(out, text);
}

/* Left in its column, and a blank. */
static void add_padded(struct pm_text *out, const char *text, size_t width)
{
	size_t length = strlen(text);
	pm_text_str(out, text);
	for (; length < width + 1; length++) pm_text_char(out, ' ');
}

static size_t name_width(const struct pm_gear *gear)
{
	size_t width = strlen("interface");
	for (size_t i = 0; i < gear->port_count; i++)
		if (strlen(gear->ports[i].name.text) > width) width = strlen(gear->ports[i].name.text);
	return width;
}

static void stanza_line(const struct standin *standin, size_t port, size_t line, struct pm_text *out)
{
	const struct pm_port *one = &standin->options.gear->ports[port];
	switch (line) {
	case 0:
		pm_text_add(out, "%s   no cable", one->name.text);
		break;
	case 1:
		pm_text_add(out, "    panel      %s", word_or(one->panel, "-"));
		break;
	case 2:
		pm_text_add(out, "    used for   %s", word_or(one->role, "nothing yet"));
		if (port % 4 == 1) pm_text_str(out, ", spare; meant for the second float that comes with the new well");
		break;
	case 3:
		pm_text_str(out, "    address    ");
		add_address(standin, port, out);
		break;
	default:
		break;   /* an empty line between two */
	}
}

static void row_line(const struct standin *standin, size_t port, struct pm_text *out)
{
	const struct pm_port *one = &standin->options.gear->ports[port];
	pm_text_add(out, "%s: no cable, address ", one->name.text);
	add_address(standin, port, out);
	pm_text_add(out, ", panel %s, frames up to 1500, %s", word_or(one->panel, "-"), word_or(one->role, "nothing yet"));
}

static void table_line(const struct standin *standin, const char *name, const char *panel, const char *state,
                       const char *role, struct pm_text *out)
{
	add_padded(out, name, name_width(standin->options.gear) + 1);
	add_padded(out, panel, 6);
	add_padded(out, state, 9);
	add_padded(out, role, ROLE_COLUMNS);
}

size_t standin_lines(const struct standin *standin)
{
	size_t ports = standin->options.gear->port_count;
	switch (standin->options.style) {
	case STANDIN_STANZA: return ports * STANZA_LINES + 1;
	case STANDIN_ROWS: return ports + 1;
	case STANDIN_TABLE: return ports + 2;
	case STANDIN_STYLES: break;
	}
	return 0;
}

void standin_line(const struct standin *standin, size_t line, struct pm_text *out)
{
	const struct pm_gear *gear = standin->options.gear;
	if (line + 1 == standin->lines) {
		pm_text_add(out, "%zu interfaces, all counted", gear->port_count);
		return;
	}
	switch (standin->options.style) {
	case STANDIN_STANZA:
		stanza_line(standin, line / STANZA_LINES, line % STANZA_LINES, out);
		break;
	case STANDIN_ROWS:
		row_line(standin, line, out);
		break;
	case STANDIN_TABLE:
		if (line == 0) {
			table_line(standin, "interface", "panel", "state", "used for", out);
			pm_text_str(out, "address");
			break;
		}
		const struct pm_port *port = &gear->ports[line - 1];
		table_line(standin, port->name.text, word_or(port->panel, "-"), "no cable", word_or(port->role, "nothing yet"), out);
		add_address(standin, line - 1, out);
		break;
	case STANDIN_STYLES:
		break;
	}
}

/* --- the rest -------------------------------------------------------------------------- */

static void add_stamp(struct pm_text *out, int64_t ms)
{
	pm_text_add(out, "[%5lld.%lld] ", (long long)(ms / 1000), (long long)(ms % 1000 / 100));
}

void standin_message(struct standin *standin, struct pm_text *out)
{
	add_stamp(out, standin->options.boot * standin->message / (standin->messages ? standin->messages : 1));
	pm_text_str(out, messages[standin->message % COUNT(messages)]);
}

void standin_banner(const struct standin *standin, struct pm_text *out)
{
	const struct pm_gear *gear = standin->options.gear;
	pm_text_add(out, "%s, console ready", word_or(gear->title, word_or(gear->id, "router")));
}

void standin_identity(const struct standin *standin, size_t line, struct pm_text *out)
{
	const struct pm_gear *gear = standin->options.gear;
	const char *word = gear->console.serials.count ? gear->console.serials.item[0].text : "serial number";
	switch (line) {
	case 0:
		pm_text_add(out, "    model         %s", word_or(gear->id, "router"));
		break;
	case 1:
		pm_text_str(out, "    ");
		add_padded(out, word, 13);
		pm_text_str(out, standin->serial);
		break;
	default:
		pm_text_add(out, "    awake for     %lld s", (long long)((standin->now - standin->started) / 1000));
		break;
	}
}

void standin_chatter(struct standin *standin, struct pm_text *out)
{
	const struct pm_gear *gear = standin->options.gear;
	const char *name = gear->ports[chance_below(&standin->chance, (unsigned)gear->port_count)].name.text;
	unsigned which = chance_below(&standin->chance, COUNT(rumours)), digit = chance_below(&standin->chance, 10);
	add_stamp(out, standin->now - standin->started);
	for (const char *c = rumours[which]; *c; c++) {
		if (c[0] == '%' && c[1] == 's') pm_text_str(out, name), c++;
		else if (c[0] == '%' && c[1] == 'u') pm_text_add(out, "%u", digit), c++;
		else pm_text_char(out, *c);
	}
}

void standin_make_serial(struct standin *standin)
{
	static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ", hex[] = "0123456789ABCDEF";
	const char *form = word_or(standin->options.gear->serial_form, "AA99-99999");
	struct pm_text out;
	pm_text_fixed(&out, standin->serial, sizeof standin->serial);
	if (standin->options.serial) {
		pm_text_str(&out, standin->options.serial);
		return;
	}
	for (const char *c = form; *c; c++) {
		uint64_t *chance = &standin->chance;
		if (*c == '9') pm_text_char(&out, (char)('0' + chance_below(chance, 10)));
		else if (*c == 'A') pm_text_char(&out, letters[chance_below(chance, 26)]);
		else if (*c == 'H' || *c == '?') pm_text_char(&out, hex[chance_below(chance, 16)]);
		else if (*c == '\\' && c[1]) pm_text_char(&out, *++c);
		else pm_text_char(&out, *c);
	}
}

void standin_make_prompt(struct standin *standin)
{
	static const char *const ends[] = { "> ", "# ", "$ ", ">", "#", "$", ": " };
	const struct pm_gear *gear = standin->options.gear;
	const char *id = word_or(gear->id, "router");
	regex_t pattern;
	struct pm_text out;
	bool given = pm_given(gear->console.prompt)
		&& regcomp(&pattern, gear->console.prompt.text, REG_EXTENDED | REG_NOSUB) == 0;
	for (size_t i = 0; i < COUNT(ends); i++) {
		pm_text_fixed(&out, standin->prompt, sizeof standin->prompt);
		pm_text_add(&out, "%s%s", id, ends[i]);
		if (!given || regexec(&pattern, standin->prompt, 0, NULL, 0) == 0) break;
	}
	/* No prompt of its own fits: the pattern's plain characters may be one. */
	if (given && regexec(&pattern, standin->prompt, 0, NULL, 0) != 0) {
		pm_text_fixed(&out, standin->prompt, sizeof standin->prompt);
		for (const char *c = gear->console.prompt.text; *c; c++)
			if (!strchr("^$\\", *c)) pm_text_char(&out, *c);
	}
	if (given) regfree(&pattern);
}
