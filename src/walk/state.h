/* state.h - the wizard as a pure state machine: a state and an event give the
 * next state and, at most, one thing that the driver is to do.
 *
 * Nothing here draws, waits or touches a file. The session is looked at, never
 * changed: what must change is left in `want` for the driver, which reports
 * back through walk_done or walk_failed.
 */
#ifndef WALK_STATE_H
#define WALK_STATE_H

#include "screen/canvas.h"
#include "screen/event.h"
#include "screen/field.h"
#include "screen/keytable.h"
#include "walk/session.h"

enum walk_screen {
	WALK_HELLO,       /* who is at the rack, and where the job was left */
	WALK_STEP,        /* one step of the plan */
	WALK_ROUTE,       /* all phases and steps with the state of their gates */
	WALK_PORTS,       /* the roster as a port map */
	WALK_FINDINGS,
	WALK_WAIVE,       /* conditions that are not met and may be waived */
	WALK_TAKE_BACK,   /* the readings of one fact, one of which may be taken back */
	WALK_LOG,         /* a console log that waits for a yes */
	WALK_LINES,       /* the serial lines there are, one of which leads to the console */
	WALK_LIVE,        /* the console, while it is read */
	WALK_SEAL,        /* the seal, to be spoken and compared */
	WALK_MENU,
	WALK_HELP,
	WALK_LEAVE,
	WALK_SCREENS
};

enum walk_want {
	WANT_NOTHING,
	WANT_NAME,        /* `field`: who is at the rack */
	WANT_RECORD,      /* `entry` */
	WANT_WAIVE,       /* gate line `line`, `waiver` with its reason in `field` */
	WANT_LIST_LOGS,   /* fill the session's list of logs beside the job */
	WANT_READ_LOG,    /* path in `field` */
	WANT_READ_PASTE,  /* console text in `paste` */
	WANT_TAKE_LOG,
	WANT_DROP_LOG,
	WANT_LIST_LINES,  /* fill the session's list of serial lines */
	WANT_CONNECT,     /* `device`; empty: the console that a practice site plays */
	WANT_TYPE,        /* `keys` to the console */
	WANT_HANDS,       /* the person types, or with `hands` false the tool again */
	WANT_DISCONNECT,
	WANT_SHEET,       /* write the registration sheet */
	WANT_RELOAD,
	WANT_SUSPEND,
	WANT_LEAVE,
};

struct walk_state {
	enum walk_screen screen;
	enum walk_screen under;   /* the working screen that menu, help and leave lie over */
	size_t over;              /* the focused row of the menu, the first line of the help */
	size_t phase, step;       /* the step that is shown */
	size_t row;               /* the focused row of a list, item of the kit or port */
	int scroll;               /* lines of the step's text that are scrolled away */
	int choice;               /* the chosen answer, or -1 */
	bool noting;              /* the field takes a note or reason to the choice */
	bool typing;              /* on other screens than the step: the field is open */
	bool asking_path;         /* ports: the field takes the path of a log */
	struct field field;
	size_t read_phase, read_step;   /* of which step the words were shown: */
	int seen;                 /* so many lines of them, */
	bool read;                /* or all, with the answer */
	char warned[FIELD_ROOM];  /* a doubtful value that a second Enter takes as it is */
	char of[200];             /* take back: the fact */
	size_t line;              /* waive: the gate line */
	unsigned stage;           /* waive: what is asked for, see lists.h */
	struct session_waiver waiver;   /* waive: what was answered so far */
	bool hands;               /* console: keys go through to it */
	bool told, offered;       /* console: its end has been said; a login has been handed over */
	unsigned page;            /* seal: which of its pages */
	bool proposed;            /* sign-in: the name was filled in, typing replaces it */
	bool read_back;           /* seal: the other end read the same */
	char device[256];
	char keys[64];
	size_t key_count;
	int rows, columns;        /* of the screen, from the last resize */

	char message[400];        /* what has just happened, safe to show */
	enum canvas_style message_style;

	enum walk_want want;
	struct session_entry entry;
	const char *paste;        /* borrowed for the event */
	size_t paste_length;
};

/* What a key asks for, whatever the screen. */
enum walk_request {
	ASK_ENTER, ASK_BACK, ASK_UP, ASK_DOWN, ASK_LEFT, ASK_RIGHT, ASK_PAGE_UP, ASK_PAGE_DOWN,
	ASK_NEXT, ASK_PREVIOUS, ASK_NOTE, ASK_LOG, ASK_TAKE_BACK, ASK_PORTS, ASK_FINDINGS, ASK_ROUTE,
	ASK_HELP, ASK_MENU, ASK_YES, ASK_NO, ASK_SUSPEND, ASK_LEAVE, ASK_WAIVE, ASK_RELOAD,
	ASK_TOP, ASK_BOTTOM, ASK_CONSOLE, ASK_HANDS, ASK_BY_ITSELF, ASK_SEAL, ASK_ROWS, ASK_CODE, ASK_SHEET,
};

/* One row a screen: its title, its keys, and what it does with an event. */
struct walk_screen_row {
	const char *title;
	const struct keytable_row *keys;
	size_t key_count;
	void (*open)(struct walk_state *state, const struct session *session);
	void (*event)(struct walk_state *state, const struct session *session, const struct screen_event *event);
	void (*draw)(const struct walk_state *state, const struct session *session, struct canvas *canvas);
};

extern const struct walk_screen_row walk_screens[WALK_SCREENS];

/* What the key bar says while a field is open on any screen, and on a step
 * that takes something typed: there a question mark is text. */
extern const struct keytable_row walk_typing_keys[], walk_field_keys[];
extern const size_t walk_typing_key_count, walk_field_key_count;
/* While keys go through to the console, and when it has been read. */
extern const struct keytable_row walk_hands_keys[], walk_heard_keys[];
extern const size_t walk_hands_key_count, walk_heard_key_count;
/* While an answer is chosen, and beside a QR code. */
extern const struct keytable_row walk_chosen_keys[], walk_code_keys[];
extern const size_t walk_chosen_key_count, walk_code_key_count;
/* While a step's field holds text that was not accepted: nothing leaves it. */
extern const struct keytable_row walk_filled_keys[];
extern const size_t walk_filled_key_count;

/* Begin: the hello screen, with `name` (may be null) proposed, and the step
 * where the job was left. */
void walk_begin(struct walk_state *state, const struct session *session, const char *name);

/* Take one event. Afterwards `want` says what the driver is to do. */
void walk_event(struct walk_state *state, const struct session *session, const struct screen_event *event);

/* The driver did what was wanted: `message` (may be null) says so. */
void walk_done(struct walk_state *state, const struct session *session, const char *message);

/* The console was listened to: when that has just ended, say how. */
void walk_heard(struct walk_state *state, const struct session *session);

/* The driver could not: what was typed stays in the field. */
void walk_failed(struct walk_state *state, const struct pm_fault *fault);

/* Draw the whole screen. */
void walk_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

/* --- shared by the screens --- */

/* Lay the menu, the help or the question about leaving over the working
 * screen, which stays as it is. */
void walk_over(struct walk_state *state, enum walk_screen screen);
bool walk_is_over(enum walk_screen screen);

/* Go to a screen and open it. */
void walk_go(struct walk_state *state, const struct session *session, enum walk_screen screen);

/* Show a step from its top with nothing chosen. */
void walk_show_step(struct walk_state *state, const struct session *session, size_t phase, size_t step);

/* Was the step answered for an earlier appointment, or an earlier sheet, than the
 * one that holds now? Then it is to be answered again. */
enum pm_outlived walk_outlived(const struct session *session, const struct pm_step *step);

/* Does the phase of the step shown close on this step's answer, whichever it is? */
bool walk_either_way(const struct walk_state *state, const struct session *session);

/* Whom to ring when a step stops the job: what the plan's contact step was answered
 * with, or null. */
const char *walk_contact(const struct session *session);

/* Is every phase closed? */
bool walk_finished(const struct session *session);

/* Go on from the step shown: to the next open one of its phase, else to the
 * first open one anywhere. */
void walk_go_on(struct walk_state *state, const struct session *session);

/* The first step that is still to be done, or done again, in the first phase that
 * is not closed. When all of them are answered, the one that can supply what the
 * closing gate lacks, else the last one; the plan's last when all is closed. */
void walk_find_open(const struct session *session, size_t *phase, size_t *step);

/* The condition of the phase's opening gate that is the booked window, or null. */
const struct pm_gate_line *walk_window_line(const struct session *session, size_t phase);

/* The first condition of a gate that is not met, or null. */
const struct pm_gate_line *walk_unmet(const struct session *session, size_t phase, bool closing);

__attribute__((format(printf, 3, 4)))
void walk_say(struct walk_state *state, enum canvas_style style, const char *format, ...);

const struct pm_phase *walk_phase(const struct walk_state *state, const struct session *session);
const struct pm_step *walk_step(const struct walk_state *state, const struct session *session);

/* Progress of any step, with its reason in `why` (may be null). */
enum pm_progress walk_progress(const struct session *session, const struct pm_step *step,
                               int64_t *remaining, struct pm_text *why);

/* Is the phase of the step shown held shut by its opening gate, or the session
 * read-only? Then says why. */
bool walk_held(struct walk_state *state, const struct session *session);

/* Move a focused row up or down within `count` rows; true when it was such a request. */
bool walk_move_row(size_t *row, int request, size_t count);

/* Fill the entry for a fact; the texts are cut to fit. */
void walk_fill_entry(struct walk_state *state, const char *of, const char *value, enum pm_source source, const char *note);

/* Read a window as people write one: "2026-03-09 09:00 to 11:00" on the clocks of the
 * site, "2026-03-09 09:00 +01:00 to 11:00", or two RFC 3339 times joined by "/"; writes the
 * latter. False with a reason, and what to do about it. */
bool walk_window(const struct session *session, const char *typed, char out[static 80], struct pm_text *why);

#endif
