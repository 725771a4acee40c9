/* curses_rescue.h - what is put back when a signal ends the program: a serial
 * line, the terminal.
 *
 * While there is something to put back, every signal that would end the program
 * does that first, and then ends it as it would have, with the same status and
 * the same core. Left alone are signals that are ignored or that somebody
 * answers already, except those of a fault (SIGSEGV and the like). SIGKILL
 * cannot be caught.
 */
#ifndef SCREEN_CURSES_RESCUE_H
#define SCREEN_CURSES_RESCUE_H

enum rescue_place { RESCUE_LINE, RESCUE_SCREEN, RESCUE_PLACES };   /* in this order */

/* Must be async-signal-safe. */
typedef void rescue_work(const void *of);

/* From now on `work` may run at any moment; one for each place. A child made by
 * fork does not do it. */
void rescue_set(enum rescue_place place, rescue_work *work, const void *of);
void rescue_clear(enum rescue_place place);

#endif
