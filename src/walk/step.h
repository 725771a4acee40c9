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

void step_open(struct walk_state *state, const struct session *session);
void step_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void step_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

/* How many lines the step's words can be scrolled on this screen. */
int step_scroll_most(const struct walk_state *state, const struct session *session);

/* Go to the readings of the step's own fact. */
void step_take_back(struct walk_state *state, const struct session *session);

#endif
