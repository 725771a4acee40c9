/* curses.h - the only place that knows ncurses: a terminal that shows a canvas
 * and yields events.
 *
 * Waits in poll(2) on the input and a self-pipe that the signal handlers
 * write. Restores the terminal on every way out: SIGTERM, SIGHUP and SIGQUIT are
 * events, every other signal that ends the program gives the terminal back first
 * (curses_rescue.h). SIGKILL cannot be caught.
 */
#ifndef SCREEN_CURSES_H
#define SCREEN_CURSES_H

#include "portmuster/fault.h"
#include "screen/canvas.h"
#include "screen/event.h"

struct curses_options {
	bool ascii;        /* draw in ASCII whatever the locale */
	bool colour;       /* false: NO_COLOR or --no-colour */
};

struct curses;

/* Open the terminal on standard input and output; one at a time. Call
 * setlocale first. Faults: not a terminal, a terminal without cursor
 * addressing. */
struct curses *curses_open(const struct curses_options *options, struct pm_fault *fault);
void curses_close(struct curses *curses);

/* Of the window, as far as a canvas can cover it. */
void curses_size(const struct curses *curses, int *rows, int *columns);
/* True when the terminal can show characters beyond ASCII. */
bool curses_unicode(const struct curses *curses);

/* Show the canvas: differences only. After SIGTERM, SIGHUP or SIGQUIT nothing
 * is drawn any more: a terminal that takes no output must not hold up the end. */
void curses_show(struct curses *curses, const struct canvas *canvas);

/* Wait at most `milliseconds` (-1: for ever) for the next event; a timeout is
 * EVENT_TICK. `extra` is a further descriptor to watch, or -1; `*extra_ready`
 * (if given) is set when it can be read (the event is then EVENT_TICK). The end
 * of the input is EVENT_STOP with SIGHUP, at once and then again each second. */
void curses_wait(struct curses *curses, int milliseconds, int extra, bool *extra_ready,
                 struct screen_event *event);

/* Leave the screen as for Ctrl-Z, stop the process, and come back; false when a
 * signal asks it to end instead. */
bool curses_suspend(struct curses *curses);

#endif
