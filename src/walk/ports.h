/* ports.h - what the port map's state and view share. */
#ifndef WALK_PORTS_H
#define WALK_PORTS_H

#include "walk/state.h"

#define PORTS_CELL 19   /* columns of one port: a whole address fits */

/* Ports side by side on a screen of `columns`. */
size_t ports_across(int columns);

void ports_open(struct walk_state *state, const struct session *session);
void ports_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void ports_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

void log_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void log_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

#endif
