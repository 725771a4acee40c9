/* curses_parts.h - what the files of the terminal share: signals, which wake
 * a wait through a pipe, the choice of a terminal description, and drawing. */
#ifndef SCREEN_CURSES_PARTS_H
#define SCREEN_CURSES_PARTS_H

#include <signal.h>
#include <stdbool.h>

#include "portmuster/fault.h"
#include "screen/canvas.h"

#define SIGNALS_CAUGHT 6

struct signals {
	int pipe[2];      /* [0]: each byte is the number of a signal that came */
	int nowhere;      /* /dev/null, for output that nobody takes */
	struct sigaction before[SIGNALS_CAUGHT];
};

/* Catch the signals; only one owner at a time. A signal that was ignored when
 * the program began (as nohup does) stays ignored. */
bool signals_open(struct signals *signals, struct pm_fault *fault);
/* Put back what was found. After a stop SIGTERM and SIGHUP are ignored instead,
 * until the process ends: it is leaving already, and may still save. */
void signals_close(struct signals *signals);

/* True when SIGTERM or SIGHUP has come: there is no time left to draw. */
bool signals_stopping(void);

/* Between these two calls a SIGTERM or SIGHUP sends what is written to `fd`
 * nowhere, so that a terminal which takes no output cannot hold up the end.
 * signals_drawn returns true when that has happened; `fd` then has to be made
 * anew. */
void signals_draw(int fd);
bool signals_drawn(void);

/* Stop as on Ctrl-Z and return when continued; false when the program was
 * begun with stopping switched off. */
bool signals_suspend(struct signals *signals);

/* Wait (stopped) until the program is in the foreground of terminal `fd`;
 * false when a signal asks it to end instead. */
bool signals_foreground(int fd);

/* Choose the name of a terminal description that exists, for the terminal that
 * TERM names: itself, its name without what follows a hyphen, or a guess at
 * the commonest family. Refuses terminals without cursor addressing. */
const char *terminal_choose(const char *named, int fd, char *room, size_t size, struct pm_fault *fault);

/* Set the colours up; false when the terminal has none. */
bool draw_colours(void);

/* Bring the canvas and its cursor into the next frame. Without `unicode` what
 * is not ASCII has its stand-in drawn. */
void draw_canvas(const struct canvas *canvas, bool unicode, bool colour);

#endif
