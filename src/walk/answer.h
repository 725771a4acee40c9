/* answer.h - the lower part of the step screen. */
#ifndef WALK_ANSWER_H
#define WALK_ANSWER_H

#include "walk/state.h"

struct answer_place {
	const struct walk_state *state;
	const struct session *session;
	const struct pm_step *step;
	struct canvas *canvas;
	int row, end;     /* its first row, and one past its last */
	int columns;      /* of the screen */
	bool more;        /* the words above go on: say how to see them */
	bool low;         /* few rows: what can be left out is */
};

/* What the step has come to, what was recorded, and the answer asked for. */
void answer_draw(struct answer_place *place);

/* --- shared by its files --- */

/* Words; `keep` rows below them stay free for what must show. */
void answer_say(struct answer_place *place, enum canvas_style style, const char *text, int keep);

/* The field, with its label before it or, where there is no room, above. */
void answer_field(struct answer_place *place, const char *label);

/* The lettered answers, and the rows that one of them takes. */
void answer_choices(struct answer_place *place);
int answer_choice_lines(const struct answer_place *place, size_t choice);

/* The kit's items, with the field at the one in focus. */
void answer_kit(struct answer_place *place);

#endif
