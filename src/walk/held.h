/* held.h - may a phase be worked on now? One rule for the wizard's screens and
 * for every other way to record something. */
#ifndef WALK_HELD_H
#define WALK_HELD_H

#include "portmuster/text.h"
#include "walk/session.h"

/* Is the phase held shut by its opening gate, or the session read-only? Then
 * `why` (may be null) says so, and who can supply what is missing. */
bool held_phase(const struct session *session, size_t phase, struct pm_text *why);

/* The phase whose step asks for the addresses, the plan's count when none does. */
size_t held_muster(const struct session *session);

/* As held_phase for that phase; a plan without one holds nothing but a read-only
 * session. */
bool held_from_mustering(const struct session *session, struct pm_text *why);

/* The first condition of a gate that is not met, or null. */
const struct pm_gate_line *held_unmet(const struct session *session, size_t phase, bool closing);

#endif
