/* frame.h - what every screen of the wizard has around its middle. */
#ifndef WALK_FRAME_H
#define WALK_FRAME_H

#include "portmuster/text.h"
#include "walk/state.h"

#define FRAME_ROWS 12      /* a smaller window only says so */
#define FRAME_COLUMNS 40

/* The middle, between the phase strip and the message. A low window has no
 * strip, and a long message on a narrow one takes rows of the middle. */
struct frame {
	int row, rows, columns;
	bool low, narrow;
};

/* Is the window large enough to show anything? In a smaller one no key does
 * anything but leave. */
bool frame_fits(int rows, int columns);

struct frame frame_area(const struct walk_state *state, int rows, int columns);

/* Title bar, phase strip, message and key bar. */
void frame_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas);

/* "03-02 09:14Z": a time to the minute. */
void frame_clock(struct pm_when when, char out[static 16]);

/* The cursor rests on a row, unless a field has it. */
void frame_rest(struct canvas *canvas, int row);

/* What stands right of this column is the one chosen: a mark tells so where no
 * colour or reverse does, and the cursor rests there. */
void frame_choose(struct canvas *canvas, int row, int column);

/* A list's first visible row, so that `chosen` shows among `room` of `count`. */
size_t frame_first(size_t chosen, size_t count, size_t room);

/* What a fact is called where people read it. */
const char *frame_fact(const char *of);

/* Where a practice site's labels stand, safe to show. */
void frame_labels(const struct session *session, struct pm_text *text);

/* The mark, word and style of a step's progress, a port and a severity. */
const char *progress_mark(enum pm_progress progress, enum canvas_style *style);
const char *progress_word(enum pm_progress progress);

#endif
