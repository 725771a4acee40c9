#include "portmuster/roster.h"

#include <string.h>

#include "portmuster/text.h"

#define KEY_ROOM 64

/* A name as matching sees it: lower case, no blanks, `-` or `_` (but for one
 * between two digits, which keeps numbers apart), and each number without
 * leading zeros. False when it is empty or too long. */
static bool make_key(const char *name, size_t length, char key[static KEY_ROOM])
{
	size_t n = 0;
	for (size_t i = 0; i < length; i++) {
		char c = (char)pm_lower(name[i]);
		bool after_digit = n && pm_is_digit(key[n - 1]);
		if (pm_is_blank(c) || c == '-' || c == '_') {
			if (!after_digit || i + 1 == length || !pm_is_digit(name[i + 1]))
				continue;
			c = '-';
		}
		if (c == '0' && !after_digit && i + 1 < length && pm_is_digit(name[i + 1]))
			continue;
		if (n + 1 == KEY_ROOM)
			return false;
		key[n++] = c;
	}
	key[n] = '\0';
	return n > 0;
}

static size_t letters(const char *key)
{
	size_t n = 0;
	while (pm_is_alpha(key[n]))
		n++;
	return n;
}

/* 2: the same; 1: `given` cuts the letters of `whole` short and ends alike. */
static int match_keys(const char *whole, const char *given)
{
	if (strcmp(whole, given) == 0)
		return 2;
	size_t w = letters(whole), g = letters(given);
	return g > 0 && g < w && memcmp(whole, given, g) == 0 && strcmp(whole + w, given + g) == 0;
}

static int match_port(const struct pm_port *port, const char *given)
{
	char key[KEY_ROOM];
	int best = 0;
	for (size_t i = 0; i <= port->aliases.count; i++) {
		struct pm_word name = i ? port->aliases.item[i - 1] : port->name;
		if (!name.text || !make_key(name.text, strlen(name.text), key))
			continue;
		int match = match_keys(key, given);
		if (match > best)
			best = match;
	}
	return best;
}

size_t pm_roster_find(const struct pm_gear *gear, const char *name, size_t length)
{
	char given[KEY_ROOM];
	size_t found = PM_NO_PORT;
	int best = 0;
	bool several = false;
	if (!make_key(name, length, given))
		return PM_NO_PORT;
	for (size_t i = 0; i < gear->port_count; i++) {
		int match = match_port(&gear->ports[i], given);
		if (match > best) {
			best = match;
			found = i;
			several = false;
		} else if (match && match == best) {
			several = true;
		}
	}
	return several ? PM_NO_PORT : found;
}

bool pm_roster_call(const struct pm_job *job, const struct pm_gear *gear,
                    struct pm_arena *arena, struct pm_roster *roster)
{
	*roster = (struct pm_roster){ .count = gear->port_count };
	roster->call = pm_arena_array(arena, gear->port_count, sizeof *roster->call);
	if (!roster->call)
		return false;
	for (size_t i = 0; i < roster->count; i++) {
		struct pm_call *call = &roster->call[i];
		call->port = &gear->ports[i];
		const char *of = pm_say(arena, "port/%s", call->port->name.text);
		if (!of)
			return false;
		call->fact = pm_fact_find(job, of, PM_AS_ADDRESS);
		const struct pm_reading *first = call->fact.first;
		if (first && first->value.text && call->fact.standing != PM_SKIPPED)
			call->valid = pm_eui48_read(first->value.text, strlen(first->value.text),
			                            &call->address, NULL, &call->fault);
		if (call->valid && call->fact.standing != PM_CONFLICT)
			roster->held++;
		if (call->valid && call->fact.standing == PM_CONFIRMED)
			roster->confirmed++;
	}
	return true;
}
