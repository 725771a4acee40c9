/* answer.h - the lower part of the step screen. */
#ifndef WALK_ANSWER_H
#define WALK_ANSWER_H

#include "portmuster/text.h"
#include "walk/state.h"

struct answer_place {
	const struct walk_state *state;
	const struct session *session;
	const struct pm_step *step;
	struct canvas *canvas;   /* null: only `row` moves, to measure what it takes */
	int row, end;     /* its first row, and one past its last */
	int columns;      /* of the screen */
	int more;         /* lines of the words above that are still to come; below 0: they fill
	                     the window, and the answer comes next */
	bool low;         /* few rows: what can be left out is */
};

/* What the step has come to, what was recorded, and the answer asked for. */
void answer_draw(struct answer_place *place);

/* The rule above it alone: the words fill the window until they have been read. */
void answer_rule(struct answer_place *place);

/* --- shared by its files --- */

/* Put text, unless it is only measured. */
void answer_put(struct answer_place *place, int row, int column, int width, enum canvas_style style, const char *text);

/* A fact that the plan wants to stand beside the question, in one line or two. */
void answer_shown(const struct session *session, const char *of, struct pm_text *text);

/* What was recorded, what it stopped, and why the phase is shut. */
void answer_recorded(struct answer_place *place, enum pm_progress progress);

/* Words; `keep` rows below them stay free for what must show. */
void answer_say(struct answer_place *place, enum canvas_style style, const char *text, int keep);

/* The seal, and in spelling words. */
void answer_seal(struct answer_place *place);

/* The field, with its label before it or, where there is no room, above. */
void answer_field(struct answer_place *place, const char *label);

/* The lettered answers, and the rows that one of them takes. */
void answer_choices(struct answer_place *place);
int answer_choice_lines(const struct answer_place *place, size_t choice);

/* The kit's items, with the field at the one in focus. */
void answer_kit(struct answer_place *place);

#endif
