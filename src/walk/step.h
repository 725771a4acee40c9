/* step.h - what the step screen's state and view share. */
#ifndef WALK_STEP_H
#define WALK_STEP_H

#include "walk/state.h"

/* How many lettered answers a step offers, its "does not apply" included. */
size_t step_choices(const struct pm_step *step);

/* The words of an answer; `*halts` when it stops the job. */
const char *step_choice_text(const struct pm_step *step, size_t choice, bool *halts);
bool step_is_skip(const struct pm_step *step, size_t choice);

/* Does the step take something typed (and not only a letter)? */
bool step_has_field(const struct pm_step *step);

/* The fact under which the step's answer is recorded; of the kit, that of the
 * item `row`. */
void step_fact(const struct pm_step *step, const struct session *session, size_t row, char out[static 200]);

/* What differs between the readings of the step's fact, or between them and the
 * site list; null when nothing does. */
const struct pm_finding *step_conflict(const struct session *session, const struct pm_step *step);

/* Does the step not apply, by an answer to another one? */
bool step_not_asked(const struct session *session, const struct pm_step *step);

/* Accept what is chosen or typed. */
void step_enter(struct walk_state *state, const struct session *session);

void step_open(struct walk_state *state, const struct session *session);
void step_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void step_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

/* How many lines the step's words can be scrolled on this screen. */
int step_scroll_most(const struct walk_state *state, const struct session *session);

/* Go to the readings of the step's fact, or of the kit item in focus. */
void step_take_back(struct walk_state *state, const struct session *session);

#endif
