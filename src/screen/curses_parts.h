/* curses_parts.h - what the files of the terminal share: signals, which wake
 * a wait through a pipe, giving the terminal back, the choice of a terminal
 * description, and drawing. */
#ifndef SCREEN_CURSES_PARTS_H
#define SCREEN_CURSES_PARTS_H

#include <signal.h>
#include <stdbool.h>
#include <stddef.h>
#include <termios.h>

#include "portmuster/fault.h"
#include "screen/canvas.h"

#define SIGNALS_CAUGHT 7

struct signals {
	int pipe[2];      /* [0]: each byte is the number of a signal that came */
	int nowhere;      /* /dev/null, for output that nobody takes */
	struct sigaction before[SIGNALS_CAUGHT];
};

/* Catch the signals; only one owner at a time. A signal that was ignored when
 * the program began (as nohup does) stays ignored. */
bool signals_open(struct signals *signals, struct pm_fault *fault);
/* Put back what was found. After a stop the signals that ask for one are ignored
 * instead, until the process ends: it is leaving already, and may still save. */
void signals_close(struct signals *signals);

/* True when SIGTERM, SIGHUP or SIGQUIT has come: there is no time left to draw. */
bool signals_stopping(void);

/* Between these two calls such a signal sends what is written to `fd` nowhere, so
 * that a terminal which takes no output cannot hold up the end. signals_drawn
 * returns true when that has happened; `fd` then has to be made anew. */
void signals_draw(int fd);
bool signals_drawn(void);

/* Stop as on Ctrl-Z and return when continued; false when the program was
 * begun with stopping switched off. */
bool signals_suspend(struct signals *signals);

/* Wait (stopped) until the program is in the foreground of terminal `fd`;
 * false when a signal asks it to end instead. */
bool signals_foreground(int fd);

/* What gives the terminal back in the middle of anything, ready beforehand: a
 * signal handler cannot ask for it. */
struct back {
	int fd;
	bool known;
	struct termios found;            /* when `known` */
	char bytes[160];                 /* what leaves the screen */
	size_t length;
	volatile sig_atomic_t away;      /* it is given back already */
};

/* Note the settings, before they are changed; then the sequences, once the
 * description is loaded: those that it has, and further ones. */
void back_find(struct back *back, int fd);
void back_learn(struct back *back);
void back_add(struct back *back, const char *sequence);

/* Async-signal-safe: is the terminal ours, or somebody else's because we are in the
 * background? Drop what a terminal that takes no output has not taken by now. Give
 * the terminal back (`of` is a struct back). */
bool back_ours(int fd);
void back_unstick(int fd);
void back_rescue(const void *of);

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
