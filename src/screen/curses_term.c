/* Which terminal description to use. */
#include "screen/curses_parts.h"

#include <string.h>

#include <curses.h>
#include <term.h>

#include "portmuster/text.h"

enum found { NOT_KNOWN, NO_ADDRESSING, USABLE };

static enum found try_name(const char *name, int fd)
{
	int error = 0;
	if (setupterm(name, fd, &error) != OK)
		return error == 1 ? NO_ADDRESSING : NOT_KNOWN;   /* 1: known, but a printer's */
	enum found found = cursor_address ? USABLE : NO_ADDRESSING;
	del_curterm(cur_term);
	return found;
}

const char *terminal_choose(const char *named, int fd, char *room, size_t size, struct pm_fault *fault)
{
	static const char *const guesses[] = { "xterm-256color", "xterm", "vt100", "ansi" };
	struct pm_place no_place = { NULL, 0, 0 };
	if (!named || !*named) {
		pm_fail(fault, PM_FAULT_USAGE, no_place, "the kind of terminal is not known: TERM is not set");
		pm_fail_remedy(fault, "set TERM to the terminal's kind, such as xterm or vt100");
		return NULL;
	}
	char quoted[80];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, named);
	if (strlen(named) >= size || strchr(named, '/')) {
		pm_fail(fault, PM_FAULT_VALUE, no_place, "TERM is not the name of a terminal: %s", quoted);
		return NULL;
	}
	/* the name, then the name with one part after another cut off */
	memcpy(room, named, strlen(named) + 1);
	for (;;) {
		enum found found = try_name(room, fd);
		if (found == USABLE)
			return room;
		if (found == NO_ADDRESSING) {
			pm_fail(fault, PM_FAULT_VALUE, no_place, "the terminal cannot place its cursor: TERM is %s", quoted);
			pm_fail_remedy(fault, "use a terminal with cursor addressing, or the commands that need no screen");
			return NULL;
		}
		char *cut = strpbrk(room, "-.+") ? room + strlen(room) - 1 : NULL;
		while (cut && !strchr("-.+", *cut))
			cut--;
		if (!cut || cut == room)
			break;
		*cut = '\0';
	}
	for (size_t i = 0; i < sizeof guesses / sizeof *guesses; i++)
		if (try_name(guesses[i], fd) == USABLE)
			return guesses[i];
	pm_fail(fault, PM_FAULT_MISSING, no_place, "no description of the terminal %s, nor of a common one", quoted);
	pm_fail_remedy(fault, "install the terminal descriptions (terminfo), or set TERM to one that exists");
	return NULL;
}
