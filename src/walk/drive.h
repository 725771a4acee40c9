/* drive.h - running the wizard: on a terminal, or unattended from a list of
 * answers. Both feed events to the same state machine and carry out what it
 * wants in the same way.
 */
#ifndef WALK_DRIVE_H
#define WALK_DRIVE_H

#include "walk/session.h"

struct drive_options {
	bool ascii, colour;
	const char *name;        /* proposed as the one at the rack, or null */
	int64_t clock_ahead;     /* seconds that the wizard's clock is ahead of the system's */
};

/* Run on the terminal until the user leaves or a signal ends it; `*signal` is
 * then that signal, or 0. False with a fault when the screen can't be opened. */
bool drive_terminal(struct session *session, const struct drive_options *options, int *signal, struct pm_fault *fault);

/* Walk with the answers in the file at `path`, no terminal and a clock of its
 * own that begins at the file's `start`. `said` is called with a line for each
 * answer. False with a fault at the first answer that could not be given; what
 * was accepted before it is saved. */
bool drive_unattended(struct session *session, const char *path,
                      void (*said)(void *context, const char *line), void *context, struct pm_fault *fault);

/* --- shared by the two --- */
struct walk_state;

/* Do what the state wants; true when the wizard is to be left. */
bool drive_carry_out(struct walk_state *state, struct session *session);

/* Let the console that is being read, if one is, do what there is to do. */
void drive_listen(struct walk_state *state, struct session *session);

#endif
