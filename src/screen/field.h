/* field.h - one line of text being typed.
 *
 * Invariant: `text` is valid UTF-8 without control or invisible characters,
 * terminated; `caret` is a byte offset on a boundary between glyphs. A field
 * decides nothing about its text; it owns nothing and may be copied.
 */
#ifndef SCREEN_FIELD_H
#define SCREEN_FIELD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "screen/canvas.h"
#include "screen/event.h"

#define FIELD_ROOM 512   /* bytes, terminator included */

struct field {
	char text[FIELD_ROOM];
	size_t length, caret;
	bool cut;            /* the last insertion did not fit whole */
};

void field_clear(struct field *field);

/* Replace the text (null: empties it), cleaned as a paste is; the caret goes
 * to its end. */
void field_set(struct field *field, const char *text);

/* Insert one character at the caret; false when it is not printable or does
 * not fit. */
bool field_insert(struct field *field, uint32_t point);

/* Insert text at the caret: runs of line feeds, carriage returns and tabs
 * become one blank, other control and invisible characters and bytes that are
 * not UTF-8 are dropped, blanks at either end are trimmed. */
void field_paste(struct field *field, const char *text, size_t length);

/* Act on an event: characters and pastes insert; backspace, delete, left,
 * right, home, end and Ctrl-U (erase to the start) edit. Returns whether the
 * event was for the field; Enter, Escape, Tab and the rest never are. */
bool field_key(struct field *field, const struct screen_event *event);

/* Draw in `width` cells; `<` and `>` mark text beyond the edges. A focused
 * field is scrolled so that the caret shows, and takes the canvas's cursor. */
void field_draw(const struct field *field, struct canvas *canvas, int row, int column, int width, bool focused);

#endif
