/* step.h - what the step screen's state and view share. */
#ifndef WALK_STEP_H
#define WALK_STEP_H

#include "walk/frame.h"

/* How many lettered answers a step offers, its "does not apply" included. */
size_t step_choices(const struct pm_step *step);

/* The words of an answer; `*halts` when it stops the job. */
const char *step_choice_text(const struct pm_step *step, size_t choice, bool *halts);
bool step_is_skip(const struct pm_step *step, size_t choice);

/* Must words be typed to this answer? */
bool step_note_needed(const struct pm_step *step, int choice);

/* Does the step take something typed (and not only a letter)? */
bool step_has_field(const struct pm_step *step);

/* The fact under which the step's answer is recorded; of the kit, that of the
 * item `row`. */
void step_fact(const struct pm_step *step, const struct session *session, size_t row, char out[static 200]);

/* How many of a kit item were counted, false when it was not; and is it short? */
bool step_kit_count(const struct session *session, size_t row, uint64_t *count);
bool step_kit_short(const struct session *session, size_t row);

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

/* How the step screen is divided: the heading, the step's words, the answer. */
struct step_layout {
	struct frame area;
	int heading, room;   /* rows of the heading, and of the words */
	int lines;           /* that the words take */
	int most;            /* lines that the words can be scrolled */
	bool alone;          /* too low for both: the answer comes when the words have been read */
};
struct step_layout step_layout(const struct walk_state *state, const struct session *session, int rows, int columns);

/* Were the words of the step shown to their end? Before that no answer is taken. */
bool step_read(const struct walk_state *state);

/* Take note that what is on the screen now has been shown. */
void step_look(struct walk_state *state, const struct session *session);

/* Go to the readings of the step's fact, or of the kit item in focus. */
void step_take_back(struct walk_state *state, const struct session *session);

#endif
