/* prose.h - running words in a box of which a part shows.
 *
 * A run is one column of lines, scrolled by `skip`; each piece of text goes
 * below the one before it. With a null canvas it only counts.
 */
#ifndef WALK_PROSE_H
#define WALK_PROSE_H

#include "screen/canvas.h"

struct run {
	struct canvas *canvas;
	int row, column, rows, width;   /* the box */
	int skip;                       /* lines scrolled away */
	int line;                       /* lines so far, those out of sight included */
};

/* The box's row where the next line would stand, how many of the next lines are
 * scrolled away, and the canvas, or null when it lies below the box. */
int run_row(const struct run *run);
int run_hidden(const struct run *run);
struct canvas *run_canvas(const struct run *run);

/* Text wrapped as it is, `indent` columns in. */
void run_text(struct run *run, int indent, enum canvas_style style, const char *text);

/* Text of a plan: the lines of a paragraph are joined and wrapped anew, so that a
 * narrow window has no ragged lines. A blank line parts paragraphs; a line that
 * begins with "1. " or "- " begins an item, which hangs; one that begins with a
 * blank elsewhere stays a line of its own. */
void run_prose(struct run *run, enum canvas_style style, const char *text);

#endif
