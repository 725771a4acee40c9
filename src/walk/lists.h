/* lists.h - the screens that are lists: route, findings, waivers, readings to
 * take back, and the small ones around them. */
#ifndef WALK_LISTS_H
#define WALK_LISTS_H

#include "walk/state.h"

/* The route: a row a phase, and below the chosen phase a row a step. */
struct route_row {
	size_t phase;
	size_t step;       /* ROUTE_PHASE: the phase itself */
};
#define ROUTE_PHASE ((size_t)-1)

size_t route_rows(const struct session *session);
struct route_row route_at(const struct session *session, size_t row);

/* What a waiver asks for, one after the other. */
enum waive_stage { WAIVE_LEAD, WAIVE_HOW, WAIVE_REASON };

/* The gate lines that a lead may waive and that are not met. */
size_t waive_count(const struct session *session);
size_t waive_line(const struct session *session, size_t row);   /* index of the gate line */

/* The standing readings of state->of, in file order; null past the end. */
const struct pm_reading *take_back_at(const struct walk_state *state, const struct session *session, size_t row);
size_t take_back_count(const struct walk_state *state, const struct session *session);

/* One entry of the menu. */
struct menu_row {
	char letter;
	const char *label;
	int request;
};
extern const struct menu_row menu_rows[];
extern const size_t menu_row_count;

/* How far the help can be scrolled on this screen, and one. */
size_t help_lines(const struct walk_state *state);

void hello_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void route_open(struct walk_state *state, const struct session *session);
void route_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void findings_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void waive_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void take_back_open(struct walk_state *state, const struct session *session);
void take_back_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void menu_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void help_event(struct walk_state *state, const struct session *session, const struct screen_event *event);
void leave_event(struct walk_state *state, const struct session *session, const struct screen_event *event);

void hello_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);
void route_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);
void findings_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);
void waive_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);
void take_back_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);
void menu_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);
void help_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);
void leave_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

#endif
