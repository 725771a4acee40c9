/* live_screen.h - what the state and the view of the console share: choosing
 * the line, and the console while it is read. */
#ifndef WALK_LIVE_SCREEN_H
#define WALK_LIVE_SCREEN_H

#include "walk/state.h"

/* The rows to choose from: the console of a practice site, the lines there are,
 * and one for any other device, whose path is typed. */
enum lines_kind { LINES_PRACTICE, LINES_DEVICE, LINES_OTHER };
struct lines_row {
	enum lines_kind kind;
	const struct line_device *device;
};
size_t lines_count(const struct session *session);
struct lines_row lines_at(const struct session *session, size_t row);

/* Does the event go through to the console, whatever it means elsewhere? */
bool live_takes(const struct walk_state *state, const struct session *session, const struct screen_event *event);

/* The keys that hold now: the console may be typed to, or has been read. */
void live_keys_now(const struct walk_state *state, const struct session *session,
                   const struct keytable_row **keys, size_t *count);

void lines_open(struct walk_state *state, const struct session *session);
void lines_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void lines_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

void live_screen_open(struct walk_state *state, const struct session *session);
void live_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void live_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

#endif
