#include "portmuster/gear.h"

#include <string.h>

#include "portmuster/eui48.h"
#include "portmuster/plan.h"
#include "portmuster/roster.h"
#include "portmuster/text.h"

static bool fits(char form, char c)
{
	switch (form) {
	case '9': return pm_is_digit(c);
	case 'A': return pm_is_upper(c);
	case 'H': return pm_hex_value(c) >= 0 && !pm_is_lower(c);
	case '?': return pm_is_digit(c) || pm_is_upper(c);
	}
	return form == c;
}

bool pm_form_match(const char *form, const char *text, unsigned *column)
{
	unsigned at = 1;
	if (!form || !*form)
		return true;
	if (!text)
		text = "";
	for (; *form; form++, text++, at++) {
		bool literal = *form == '\\' && form[1];
		if (literal)
			form++;
		if (!*text || !(literal ? *form == *text : fits(*form, *text)))
			goto no;
	}
	if (!*text)
		return true;
no:
	if (column)
		*column = at;
	return false;
}

static struct pm_place at(const struct pm_gear *gear, struct pm_word word)
{
	return (struct pm_place){ gear->file, word.line, word.column };
}

/* Leading octets only, such as "00-00-5E" or "02-00-5E-1": hex digits and hyphens. */
static bool prefix_readable(const char *text)
{
	unsigned count = 0;
	for (; *text; text++) {
		if (pm_hex_value(*text) >= 0)
			count++;
		else if (*text != '-')
			return false;
	}
	return count >= 6 && count <= 11;
}

/* Does a name or alias of port `i` mean that port and no other? */
static bool names_port(const struct pm_gear *gear, size_t i, struct pm_word name, struct pm_fault *fault)
{
	if (name.text && pm_roster_find(gear, name.text, strlen(name.text)) == i)
		return true;
	char quoted[200];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, name.text);
	pm_fail(fault, PM_FAULT_VALUE, at(gear, name), "port name %s does not mean one port only", quoted);
	return pm_fail_remedy(fault, "names and aliases must differ in more than case, blanks and leading zeros");
}

bool pm_gear_valid(const struct pm_gear *gear, struct pm_fault *fault)
{
	if (gear->port_count == 0)
		return pm_fail(fault, PM_FAULT_VALUE, at(gear, gear->id), "a gear profile needs at least one port");
	for (size_t i = 0; i < gear->port_count; i++) {
		const struct pm_port *port = &gear->ports[i];
		if (!pm_given(port->name))
			return pm_fail(fault, PM_FAULT_VALUE, at(gear, port->name), "port %zu has no name", i + 1);
		if (!names_port(gear, i, port->name, fault))
			return false;
		for (size_t k = 0; k < port->aliases.count; k++)
			if (!names_port(gear, i, port->aliases.item[k], fault))
				return false;
	}
	for (size_t i = 0; i < gear->prefixes.count; i++) {
		struct pm_word prefix = gear->prefixes.item[i];
		if (pm_given(prefix) && prefix_readable(prefix.text))
			continue;
		pm_fail(fault, PM_FAULT_VALUE, at(gear, prefix), "a prefix is 6 to 11 hex digits with hyphens");
		return pm_fail_remedy(fault, "write it like \"00-00-5E\"");
	}
	if (gear->boot_most < gear->boot_least)
		return pm_fail(fault, PM_FAULT_VALUE, at(gear, gear->id), "the longest boot time is below the shortest");
	return true;
}
