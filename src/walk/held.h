/* held.h - may a phase be worked on now? One rule for the wizard's screens and
 * for every other way to record something. */
#ifndef WALK_HELD_H
#define WALK_HELD_H

#include "portmuster/text.h"
#include "walk/session.h"

/* Is the phase held shut by its opening gate, or the session read-only? Then
 * `why` (may be null) says so: the first thing that is missing on the way to it,
 * and who can supply that. */
bool held_phase(const struct session *session, size_t phase, struct pm_text *why);

/* The phase whose step asks for the addresses, the plan's count when none does. */
size_t held_muster(const struct session *session);

/* As held_phase for that phase; a plan without one holds nothing but a read-only
 * session. */
bool held_from_mustering(const struct session *session, struct pm_text *why);

/* The first condition of a gate that is not met, or null. */
const struct pm_gate_line *held_unmet(const struct session *session, size_t phase, bool closing);

/* The first step that can supply what the condition lacks, with its phase; null
 * when no one step can. */
const struct pm_step *held_supplier(const struct session *session, const struct pm_gate_line *line, size_t *phase);

/* Add why a condition is not met and who can supply that, and the way on from the
 * step `here`: the step of the same phase that supplies it, a waiver. */
void held_say(const struct session *session, const struct pm_gate_line *line, const struct pm_step *here, struct pm_text *text);

/* Does the phase close on this step's answer, whichever it is? Founded: the answer
 * that lets the job go on counts only when every step before it does, too. */
enum held_outcome { HELD_NO_OUTCOME, HELD_EITHER_WAY, HELD_FOUNDED };
enum held_outcome held_outcome(const struct session *session, size_t phase, const struct pm_step *step);

#endif
