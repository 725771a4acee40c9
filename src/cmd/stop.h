/* stop.h - signals that end a command, as something to wait for. */
#ifndef CMD_STOP_H
#define CMD_STOP_H

#include <stdbool.h>

/* From now on an interrupt, a hangup or a request to end makes the returned
 * descriptor readable instead of ending the program; writing to a pipe that
 * nobody reads is an error and no signal. -1 when it cannot be set up. */
int stop_watch(void);

/* The signal that came, 0 when none has. */
int stop_came(int watch);

#endif
