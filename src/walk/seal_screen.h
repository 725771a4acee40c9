/* seal_screen.h - the seal on the screen: to be spoken, read back, and taken by
 * a telephone's camera where there is no other link. */
#ifndef WALK_SEAL_SCREEN_H
#define WALK_SEAL_SCREEN_H

#include "walk/state.h"

enum seal_page {
	SEAL_LARGE,      /* the seal, five rows high and in spelling words */
	SEAL_BACK,       /* what the other end reads is typed; ours is hidden until then */
	SEAL_ROWS,       /* every address with its check character */
	SEAL_CODE,       /* QR codes of the registered facts */
};

void seal_open(struct walk_state *state, const struct session *session);
void seal_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void seal_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

/* What was typed as single characters or whole spelling words ("Kilo seven"), in
 * upper case, blanks and hyphens dropped; returns how many. */
size_t seal_heard(const char *typed, char *out, size_t room);

/* The same when it can be a seal; false when something else is in it or it is not
 * as long as a seal. */
bool seal_typed(const char *typed, char out[static 10]);

/* The registered facts cut into parts of whole lines whose QR codes fit `rows`
 * rows of the screen; part `index` (from 0) of `*count` in `arena`. Null when
 * not even one line fits, or memory ran out. */
const char *seal_part(const struct session *session, int rows, size_t index, size_t *count, struct pm_arena *arena);

#endif
