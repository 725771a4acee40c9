/* The screens of the board: one row each, with its keys. */
#include "board/state.h"

#define KEY(k, ask, label, help) { k, 0, ask, label, help }
#define CHAR(c, ask, label, help) { KEYS_NONE, c, ask, label, help }
#define WITH_CTRL(c, ask, label, help) { KEYS_CTRL, c, ask, label, help }

#define HELP_KEYS \
	CHAR('?', ASK_HELP, "help", "This page. Where you can type, use Ctrl-G."), \
	WITH_CTRL('g', ASK_HELP, NULL, NULL)
#define MOVE_KEYS(what) \
	KEY(KEYS_DOWN, ASK_DOWN, NULL, what " down."), \
	CHAR('j', ASK_DOWN, NULL, NULL), \
	KEY(KEYS_UP, ASK_UP, NULL, what " up."), \
	CHAR('k', ASK_UP, NULL, NULL), \
	KEY(KEYS_PAGE_DOWN, ASK_PAGE_DOWN, NULL, "A page down."), \
	CHAR(' ', ASK_PAGE_DOWN, NULL, NULL), \
	KEY(KEYS_PAGE_UP, ASK_PAGE_UP, NULL, "A page up."), \
	KEY(KEYS_HOME, ASK_FIRST, NULL, "To the top."), \
	KEY(KEYS_END, ASK_LAST, NULL, "To the end.")

static const struct keytable_row fleet_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "open", "Look at the site in focus: its gates, addresses and findings."),
	CHAR('q', ASK_LEAVE, "leave", "Leave the board. It writes nothing by itself."),
	CHAR('s', ASK_SORT, "sort", "Sort by the next of: site, next move, worst finding, phase, slack, appointment."),
	CHAR('/', ASK_FILTER, "find", "Find: list only sites with a text in code, name, crew, file, finding or what they wait for."),
	CHAR('b', ASK_BLOCK, "blocks", "List only sites that are ready, wait for one party, have a stop finding, were not read, or "
	     "are in one phase: each press takes the next that there is."),
	CHAR('f', ASK_FINDINGS, "clashes", "What clashes between sites."),
	CHAR('c', ASK_FORECAST, "forecast", "When the open sites will be finished."),
	HELP_KEYS,
	KEY(KEYS_ESCAPE, ASK_BACK, NULL, "List every site again."),
	MOVE_KEYS("Move"),
};

static const struct keytable_row site_keys[] = {
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the list."),
	CHAR('q', ASK_BACK, NULL, NULL),
	CHAR('w', ASK_WAIVE, "waive", "Conditions that are not met and that a lead may waive."),
	KEY(KEYS_TAB, ASK_NEXT, "next site", "The next site of the board's list."),
	KEY(KEYS_BACK_TAB, ASK_PREVIOUS, "site before", "The site before it."),
	HELP_KEYS,
	MOVE_KEYS("Scroll"),
};

static const struct keytable_row findings_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "open site", "Look at the first site that the finding in focus is about."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the board."),
	CHAR('q', ASK_BACK, NULL, NULL),
	HELP_KEYS,
	MOVE_KEYS("Move"),
};

static const struct keytable_row forecast_keys[] = {
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the board."),
	CHAR('q', ASK_BACK, NULL, NULL),
	HELP_KEYS,
	MOVE_KEYS("Scroll"),
};

static const struct keytable_row waive_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "waive", "Sign a waiver of the condition in focus; a reason is asked for, and the first time "
	    "your name."),
	KEY(KEYS_ESCAPE, ASK_BACK, "back", "Back to the site."),
	CHAR('q', ASK_BACK, NULL, NULL),
	HELP_KEYS,
	MOVE_KEYS("Move"),
};

static const struct keytable_row help_keys[] = {
	KEY(KEYS_ESCAPE, ASK_BACK, "close", "Close the help."),
	KEY(KEYS_ENTER, ASK_ENTER, NULL, NULL),
	CHAR('q', ASK_BACK, NULL, NULL),
	KEY(KEYS_DOWN, ASK_DOWN, "down", "Scroll the help."),
	KEY(KEYS_UP, ASK_UP, "up", NULL),
	KEY(KEYS_PAGE_DOWN, ASK_PAGE_DOWN, NULL, NULL),
	KEY(KEYS_PAGE_UP, ASK_PAGE_UP, NULL, NULL),
	KEY(KEYS_HOME, ASK_FIRST, NULL, NULL),
	KEY(KEYS_END, ASK_LAST, NULL, NULL),
};

static const struct keytable_row leave_keys[] = {
	CHAR('y', ASK_YES, "leave", "Leave the board."),
	CHAR('n', ASK_NO, "stay", "Stay."),
	KEY(KEYS_ESCAPE, ASK_BACK, NULL, NULL),
};

const struct keytable_row board_filter_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "keep", "Keep the filter and go back to the list."),
	KEY(KEYS_ESCAPE, ASK_BACK, "drop it", "Drop the filter."),
	WITH_CTRL('g', ASK_HELP, "help", "This page."),
	WITH_CTRL('u', ASK_ERASE, "empty it", "Erase what is typed."),
};
const size_t board_filter_key_count = sizeof board_filter_keys / sizeof *board_filter_keys;

const struct keytable_row board_field_keys[] = {
	KEY(KEYS_ENTER, ASK_ENTER, "accept", "Accept what is typed. A waiver is saved at once."),
	KEY(KEYS_ESCAPE, ASK_BACK, "stop typing", "Close the field; nothing is waived."),
	WITH_CTRL('g', ASK_HELP, "help", "This page."),
	WITH_CTRL('u', ASK_ERASE, "empty it", "Erase what is typed."),
};
const size_t board_field_key_count = sizeof board_field_keys / sizeof *board_field_keys;

#define KEYS_OF(list) list, sizeof list / sizeof *list

const struct board_screen_row board_screens[BOARD_SCREENS] = {
	[BOARD_FLEET] = { "board", KEYS_OF(fleet_keys), board_fleet_event, board_fleet_draw },
	[BOARD_SITE] = { "site", KEYS_OF(site_keys), board_site_event, board_site_draw },
	[BOARD_FINDINGS] = { "findings across the fleet", KEYS_OF(findings_keys), board_findings_event, board_findings_draw },
	[BOARD_FORECAST] = { "forecast", KEYS_OF(forecast_keys), board_forecast_event, board_forecast_draw },
	[BOARD_WAIVE] = { "waivers", KEYS_OF(waive_keys), board_waive_event, board_waive_draw },
	[BOARD_HELP] = { "help", KEYS_OF(help_keys), board_help_event, board_help_draw },
	[BOARD_LEAVE] = { "leave", KEYS_OF(leave_keys), board_leave_event, board_leave_draw },
};
