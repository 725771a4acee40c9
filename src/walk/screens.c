/* The screens of the wizard: one row each, with its keys. */
#include "walk/lists.h"
#include "walk/live_screen.h"
#include "walk/ports.h"
#include "walk/seal_screen.h"
#include "walk/step.h"

#define KEY(k, ask, label, help) { k, 0, ask, label, help }
#define CHAR(c, ask, label, help) { KEYS_NONE, c, ask, label, help }
#define WITH_CTRL(c, ask, label, help) { KEYS_CTRL, c, ask, label, help }

static const struct keytable_row step_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "accept", "Accept what is chosen or typed. It is saved at once."),
	KEY(KEYS_ESCAPE, ASK_BACK, "menu", "Undo the choice, then open the menu: ports, findings, route, take back, help, leave."),
	KEY(KEYS_TAB, ASK_NEXT, "next", "Look at the next step. Nothing is answered by looking; text in a field holds you there."),
	KEY(KEYS_BACK_TAB, ASK_PREVIOUS, "back", "Look at the step before."),
	CHAR('?', ASK_HELP, "help", "This page. Where you can type, use Ctrl-G or the menu."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
	KEY(KEYS_UP, ASK_UP, NULL, "Scroll the words, or go up in the kit list."),
	KEY(KEYS_DOWN, ASK_DOWN, NULL, "Scroll the words, or go down in the kit list."),
	KEY(KEYS_PAGE_UP, ASK_PAGE_UP, NULL, "Scroll the words up."),
	KEY(KEYS_PAGE_DOWN, ASK_PAGE_DOWN, NULL, "Scroll the words down."),
	CHAR('+', ASK_NOTE, NULL, "Add a note to the chosen answer, such as who did it."),
};

static const struct keytable_row hello_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "go on", "Sign in with that name and go to the next step."),
	KEY(KEYS_ESCAPE, ASK_BACK, "leave", "Leave without doing anything."),
	WITH_CTRL('g', ASK_HELP, "help", "This page."),
};

static const struct keytable_row list_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "go there", "Go to the step or port that the row in focus is about."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the step."),
	KEY(KEYS_DOWN, ASK_DOWN, "down", "Move down."),
	KEY(KEYS_UP, ASK_UP, "up", "Move up."),
	KEY(KEYS_PAGE_DOWN, ASK_PAGE_DOWN, NULL, "Move down by eight."),
	KEY(KEYS_PAGE_UP, ASK_PAGE_UP, NULL, "Move up by eight."),
	KEY(KEYS_HOME, ASK_TOP, NULL, "To the first row."),
	KEY(KEYS_END, ASK_BOTTOM, NULL, "To the last row."),
	CHAR('w', ASK_WAIVE, "waive", "Conditions that a lead may waive."),
	CHAR('p', ASK_PORTS, "ports", "The port map."),
	CHAR('m', ASK_MENU, "menu", "The menu."),
	CHAR('?', ASK_HELP, "help", "This page."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
};

static const struct keytable_row ports_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "type", "Type an address for the port in focus, read from the console's screen."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the step."),
	CHAR('c', ASK_CONSOLE, "console", "Read the router's console itself, over a serial line: nothing is typed."),
	CHAR('r', ASK_LOG, "read a log", "Read the interfaces from a saved console log. Console text may also be pasted here."),
	CHAR('t', ASK_TAKE_BACK, "take back", "Take back a reading of the port in focus, with a reason."),
	CHAR('f', ASK_FINDINGS, "findings", "What is wrong or doubtful, and what to do about it."),
	CHAR('m', ASK_MENU, "menu", "The menu."),
	CHAR('?', ASK_HELP, "help", "This page."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
	KEY(KEYS_LEFT, ASK_LEFT, NULL, "Move between the ports; so do Right, Up and Down."),
	KEY(KEYS_RIGHT, ASK_RIGHT, NULL, NULL),
	KEY(KEYS_UP, ASK_UP, NULL, NULL),
	KEY(KEYS_DOWN, ASK_DOWN, NULL, NULL),
};

static const struct keytable_row waive_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "waive", "Enter a lead's waiver of the condition in focus: who decided, how, and why."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the step."),
	KEY(KEYS_DOWN, ASK_DOWN, "down", "Move down."),
	KEY(KEYS_UP, ASK_UP, "up", "Move up."),
	CHAR('?', ASK_HELP, "help", "This page."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
};

static const struct keytable_row take_back_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "take back", "Take back the reading in focus; a reason is asked for."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Leave the readings as they are."),
	KEY(KEYS_DOWN, ASK_DOWN, "down", "Move down."),
	KEY(KEYS_UP, ASK_UP, "up", "Move up."),
	CHAR('?', ASK_HELP, "help", "This page."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
};

static const struct keytable_row log_keys[] = {
	CHAR('y', ASK_YES, "take it", "Take these readings into the job and keep the log as evidence."),
	KEY(KEYS_ESCAPE, ASK_BACK, "drop it", "Drop the log; nothing is recorded."),
	CHAR('n', ASK_BACK, NULL, NULL),
	CHAR('?', ASK_HELP, "help", "This page."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
	KEY(KEYS_DOWN, ASK_DOWN, "down", "Move down."),
	KEY(KEYS_UP, ASK_UP, "up", "Move up."),
};

static const struct keytable_row lines_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "connect", "Connect to the line in focus and read the console."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the port map."),
	KEY(KEYS_DOWN, ASK_DOWN, "down", "Move down."),
	KEY(KEYS_UP, ASK_UP, "up", "Move up."),
	CHAR('r', ASK_RELOAD, "look again", "Look again which lines there are, after plugging in an adapter."),
	CHAR('?', ASK_HELP, "help", "This page."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
};

static const struct keytable_row live_keys[] = {
	KEY(KEYS_ESCAPE, ASK_BACK, "leave", "Leave the console. What was read is kept."),
	CHAR('k', ASK_HANDS, "keyboard", "Type to the console yourself, to log in for example. The tool reads along."),
	CHAR('a', ASK_BY_ITSELF, "by itself", "Let the tool list the interfaces by itself, with read-only commands."),
	CHAR('?', ASK_HELP, "help", "This page."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
};

static const struct keytable_row seal_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "compare", "Type the seal that the other end reads out; yours is hidden meanwhile. "
	    "Beside a code: the next one."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the seal, then to the step."),
	CHAR('a', ASK_ROWS, "addresses", "Every address with its check character, for comparing row by row."),
	CHAR('q', ASK_CODE, "QR code", "The registered facts as QR codes, for a telephone where there is no other link."),
	CHAR('?', ASK_HELP, "help", "This page."),
	WITH_CTRL('g', ASK_HELP, NULL, NULL),
	KEY(KEYS_DOWN, ASK_DOWN, NULL, NULL),
	KEY(KEYS_UP, ASK_UP, NULL, NULL),
	CHAR('m', ASK_MENU, "menu", "The menu."),
};

const struct keytable_row walk_hands_keys[] = {
	KEY(KEYS_ESCAPE, ASK_BACK, "keyboard back to the tool; every other key goes to the console", NULL),
};
const size_t walk_hands_key_count = sizeof walk_hands_keys / sizeof *walk_hands_keys;

const struct keytable_row walk_chosen_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "accept", NULL),
	KEY(KEYS_ESCAPE, ASK_BACK, "undo", NULL),
	CHAR('+', ASK_NOTE, "note", NULL),
	CHAR('?', ASK_HELP, "help", NULL),
};
const size_t walk_chosen_key_count = sizeof walk_chosen_keys / sizeof *walk_chosen_keys;

const struct keytable_row walk_code_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "next code", NULL),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", NULL),
	CHAR('?', ASK_HELP, "help", NULL),
};
const size_t walk_code_key_count = sizeof walk_code_keys / sizeof *walk_code_keys;

const struct keytable_row walk_heard_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "port map", "Back to the port map; what was read is recorded."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", NULL),
	CHAR('c', ASK_CONSOLE, "once more", "Choose a line again and list once more."),
	CHAR('?', ASK_HELP, "help", NULL),
};
const size_t walk_heard_key_count = sizeof walk_heard_keys / sizeof *walk_heard_keys;

static const struct keytable_row menu_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "go there", "Take the row in focus; its letter does the same."),
	KEY(KEYS_ESCAPE, ASK_BACK, "close", "Close the menu; the screen below is as it was."),
	KEY(KEYS_DOWN, ASK_DOWN, "down", "Move down."),
	KEY(KEYS_UP, ASK_UP, "up", "Move up."),
	KEY(KEYS_PAGE_DOWN, ASK_PAGE_DOWN, NULL, NULL),
	KEY(KEYS_PAGE_UP, ASK_PAGE_UP, NULL, NULL),
};

static const struct keytable_row help_keys[] = {
	KEY(KEYS_ESCAPE, ASK_BACK, "close", "Close the help."),
	KEY(KEYS_ENTER, ASK_ENTER, NULL, NULL),
	KEY(KEYS_DOWN, ASK_DOWN, "down", "Scroll the help."),
	KEY(KEYS_UP, ASK_UP, "up", NULL),
	KEY(KEYS_PAGE_DOWN, ASK_PAGE_DOWN, NULL, NULL),
	KEY(KEYS_PAGE_UP, ASK_PAGE_UP, NULL, NULL),
};

static const struct keytable_row leave_keys[] = {
	CHAR('y', ASK_YES, "leave", "Leave the wizard."),
	CHAR('n', ASK_NO, "stay", "Stay."),
	KEY(KEYS_ESCAPE, ASK_BACK, NULL, NULL),
};

const struct keytable_row walk_typing_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "accept", "Accept what is typed. It is saved at once."),
	KEY(KEYS_ESCAPE, ASK_BACK, "stop typing", "Close the field; nothing is recorded."),
	WITH_CTRL('g', ASK_HELP, "help", "This page."),
	WITH_CTRL('u', ASK_NO, "empty the field", "Erase what is typed."),
};
const size_t walk_typing_key_count = sizeof walk_typing_keys / sizeof *walk_typing_keys;

const struct keytable_row walk_field_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "accept", NULL),
	KEY(KEYS_ESCAPE, ASK_BACK, "menu", NULL),
	WITH_CTRL('g', ASK_HELP, "help", NULL),
	KEY(KEYS_TAB, ASK_NEXT, "next", NULL),
	KEY(KEYS_BACK_TAB, ASK_PREVIOUS, "back", NULL),
};
const size_t walk_field_key_count = sizeof walk_field_keys / sizeof *walk_field_keys;

const struct keytable_row walk_filled_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "accept", NULL),
	KEY(KEYS_ESCAPE, ASK_BACK, "menu", NULL),
	WITH_CTRL('u', ASK_NO, "empty the field", NULL),
	WITH_CTRL('g', ASK_HELP, "help", NULL),
};
const size_t walk_filled_key_count = sizeof walk_filled_keys / sizeof *walk_filled_keys;

#define KEYS_OF(list) list, sizeof list / sizeof *list

const struct walk_screen_row walk_screens[WALK_SCREENS] = {
	[WALK_HELLO] = { "sign in", KEYS_OF(hello_keys), NULL, hello_event, hello_draw },
	[WALK_STEP] = { "step", KEYS_OF(step_keys), step_open, step_event, step_draw },
	[WALK_ROUTE] = { "route", KEYS_OF(list_keys), route_open, route_event, route_draw },
	[WALK_PORTS] = { "ports", KEYS_OF(ports_keys), ports_open, ports_event, ports_draw },
	[WALK_FINDINGS] = { "findings", KEYS_OF(list_keys), NULL, findings_event, findings_draw },
	[WALK_WAIVE] = { "waivers", KEYS_OF(waive_keys), NULL, waive_event, waive_draw },
	[WALK_TAKE_BACK] = { "take back", KEYS_OF(take_back_keys), take_back_open, take_back_event, take_back_draw },
	[WALK_LOG] = { "console log", KEYS_OF(log_keys), NULL, log_event, log_draw },
	[WALK_LINES] = { "serial lines", KEYS_OF(lines_keys), lines_open, lines_event, lines_draw },
	[WALK_LIVE] = { "console", KEYS_OF(live_keys), live_screen_open, live_event, live_draw },
	[WALK_SEAL] = { "seal", KEYS_OF(seal_keys), seal_open, seal_event, seal_draw },
	[WALK_MENU] = { "menu", KEYS_OF(menu_keys), NULL, menu_event, menu_draw },
	[WALK_HELP] = { "help", KEYS_OF(help_keys), NULL, help_event, help_draw },
	[WALK_LEAVE] = { "leave", KEYS_OF(leave_keys), NULL, leave_event, leave_draw },
};
