/* stop.h - signals that end a command, as something to wait for. */
#ifndef CMD_STOP_H
#define CMD_STOP_H

#include <stdbool.h>

/* From now on an interrupt, a hangup or a request to end makes the returned
 * descriptor readable instead of ending the program; writing to a pipe that
 * nobody reads is an error and no signal. -1 when it cannot be set up. */
int stop_watch(void);

/* From now on Ctrl-Z is such a signal too, for whoever has to put something in order
 * before the program is stopped: SIGTSTP. One that is ignored stays so. */
void stop_heed_suspend(void);

/* Stop as on Ctrl-Z, and return when continued. */
void stop_suspend(void);

/* The signal that came, 0 when none has; SIGTSTP when no other one has. */
int stop_came(int watch);

#endif
