/* large.h - letters and digits five rows high, to be read across a room. */
#ifndef SCREEN_LARGE_H
#define SCREEN_LARGE_H

#include "screen/canvas.h"

#define LARGE_ROWS 5
#define LARGE_COLUMNS 6    /* of one character, the gap behind it included */

/* Put A..Z, 0..9, `*` and `-` (others leave a gap) in filled cells, `#` in an
 * ASCII canvas. Returns the columns used. What does not fit is clipped. */
int large_put(struct canvas *canvas, int row, int column, enum canvas_style style, const char *text);

#endif
