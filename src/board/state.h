/* state.h - the board as a pure state machine: a state and an event give the next
 * state and, at most, one thing that the driver is to do.
 *
 * Nothing here draws, waits or touches a file. The model is looked at, never
 * changed: what must change is left in `want` for the driver, which reports back
 * through board_done or board_failed. The state owns the list of rows.
 */
#ifndef BOARD_STATE_H
#define BOARD_STATE_H

#include "board/order.h"
#include "screen/canvas.h"
#include "screen/event.h"
#include "screen/field.h"
#include "screen/keytable.h"

enum board_screen {
	BOARD_FLEET,      /* sites down, phases across */
	BOARD_SITE,       /* one site in full, read-only */
	BOARD_FINDINGS,   /* what was found across the fleet */
	BOARD_FORECAST,
	BOARD_WAIVE,      /* conditions of the site that are not met and may be waived */
	BOARD_HELP,
	BOARD_LEAVE,
	BOARD_SCREENS
};

enum board_want {
	WANT_NOTHING,
	WANT_OPEN,        /* look at `site` in full */
	WANT_FORECAST,
	WANT_WAIVE,       /* `picked` of the opened site, signed `by`, reason in `field` */
	WANT_SUSPEND,
	WANT_LEAVE,
};

/* A condition as a waiver names it: it stays the same one when the gates are
 * judged anew. */
struct board_picked {
	char phase[160], condition[300];
	bool closing;
};

struct board_state {
	enum board_screen screen;
	enum board_screen under;   /* the screen that help and leave lie over */
	enum board_screen from;    /* where the site was entered from */
	int over;                  /* first line of the help */

	struct order order;        /* the sites that are listed */
	enum board_sort sort;
	struct order_filter filter;
	size_t row;                /* the focused one */
	uint64_t at;               /* its file, so that the focus stays on it */
	bool moved;                /* the lead has moved the focus: else it stays on top */

	size_t site;               /* the one that is looked at, or is to be */
	uint64_t site_at;          /* its file */
	size_t finding;            /* the focused one across the fleet */
	int line;                  /* first line of the site or the forecast */
	size_t need;               /* waive: the focused row */
	struct board_picked picked;
	char by[80];               /* the lead's name; empty: not said yet */

	bool typing;               /* the field is open: a filter, a name or a reason */
	bool naming;               /* waive: it takes the name */
	struct field field;
	int rows, columns;         /* of the screen, from the last resize */

	char message[400];         /* what has just happened, safe to show */
	enum canvas_style message_style;
	enum board_want want;
};

/* What a key asks for, whatever the screen. */
enum board_request {
	ASK_ENTER, ASK_BACK, ASK_UP, ASK_DOWN, ASK_PAGE_UP, ASK_PAGE_DOWN, ASK_FIRST, ASK_LAST,
	ASK_SORT, ASK_FILTER, ASK_BLOCK, ASK_FINDINGS, ASK_FORECAST, ASK_NEXT, ASK_PREVIOUS, ASK_WAIVE,
	ASK_HELP, ASK_YES, ASK_NO, ASK_ERASE, ASK_LEAVE,
};

/* One row a screen: its title, its keys, and what it does with an event. */
struct board_screen_row {
	const char *title;
	const struct keytable_row *keys;
	size_t key_count;
	void (*event)(struct board_state *state, const struct board_model *model, const struct screen_event *event);
	void (*draw)(const struct board_state *state, const struct board_model *model, struct canvas *canvas);
};

extern const struct board_screen_row board_screens[BOARD_SCREENS];

/* What the key bar says while a field is open. */
extern const struct keytable_row board_filter_keys[], board_field_keys[];
extern const size_t board_filter_key_count, board_field_key_count;

/* Begin on the board; `name` (may be null) is the lead's. */
void board_begin(struct board_state *state, const struct board_model *model, const char *name);
void board_end(struct board_state *state);

/* Take one event. Afterwards `want` says what the driver is to do. */
void board_event(struct board_state *state, const struct board_model *model, const struct screen_event *event);

/* The fleet has changed: list it anew, the focus on the same site. A site that was
 * looked at is wanted again when all is read. */
void board_changed(struct board_state *state, const struct board_model *model);

/* The driver did what was wanted. */
void board_done(struct board_state *state, const struct board_model *model);

/* The driver could not: what was typed stays in the field. */
void board_failed(struct board_state *state, const struct pm_fault *fault);

/* Draw the whole screen. */
void board_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);

/* --- shared by the screens --- */

void board_go(struct board_state *state, enum board_screen screen);

/* Lay the help or the question about leaving over the screen, which stays as it is. */
void board_over(struct board_state *state, enum board_screen screen);

/* List anew after another sort or filter, the focus on the same site if it is
 * still there. */
void board_arrange(struct board_state *state, const struct board_model *model);

/* Put the focus on a row. */
void board_focus(struct board_state *state, const struct board_model *model, size_t row);

/* Look at a site in full, coming from `from`. */
void board_look_at(struct board_state *state, const struct board_model *model, size_t site, enum board_screen from);

/* The focused site's index in the fleet; the fleet's count when none is listed. */
size_t board_at(const struct board_state *state, const struct board_model *model);

__attribute__((format(printf, 3, 4)))
void board_say(struct board_state *state, enum canvas_style style, const char *format, ...);

int board_request_of(const struct board_state *state, const struct screen_event *event);

/* Move a focused row within `count` rows by a request, `page` rows at a time; true
 * when it was such a request. */
bool board_move(size_t *row, int request, size_t count, size_t page);
bool board_scroll(int *line, int request, int most, int page);

/* The conditions of the opened site that a lead may waive and that are not met:
 * their number, and the gate line of a row (null past the end). */
size_t board_need_count(const struct board_model *model);
const struct pm_gate_line *board_need(const struct board_model *model, size_t row);
bool board_may_waive(const struct pm_gate_line *line);

void board_fleet_event(struct board_state *state, const struct board_model *model, const struct screen_event *event);
void board_site_event(struct board_state *state, const struct board_model *model, const struct screen_event *event);
void board_findings_event(struct board_state *state, const struct board_model *model, const struct screen_event *event);
void board_forecast_event(struct board_state *state, const struct board_model *model, const struct screen_event *event);
void board_waive_event(struct board_state *state, const struct board_model *model, const struct screen_event *event);
void board_help_event(struct board_state *state, const struct board_model *model, const struct screen_event *event);
void board_leave_event(struct board_state *state, const struct board_model *model, const struct screen_event *event);

void board_fleet_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);
void board_site_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);
void board_findings_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);
void board_forecast_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);
void board_waive_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);
void board_help_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);
void board_leave_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);

#endif
