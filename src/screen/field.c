#include "screen/field.h"

#include <string.h>

#include "portmuster/text.h"
#include "screen/glyph.h"

void field_clear(struct field *field)
{
	*field = (struct field){ .length = 0 };
}

void field_set(struct field *field, const char *text)
{
	field_clear(field);
	if (text)
		field_paste(field, text, strlen(text));
}

static bool insert_bytes(struct field *field, const char *bytes, size_t length)
{
	if (length > FIELD_ROOM - 1 - field->length) {
		field->cut = true;
		return false;
	}
	char *at = field->text + field->caret;
	memmove(at + length, at, field->length - field->caret + 1);
	memcpy(at, bytes, length);
	field->length += length;
	field->caret += length;
	return true;
}

/* A combining mark typed on its own joins the character before the caret. */
static size_t glyph_after(const struct field *field, size_t at)
{
	struct glyph glyph;
	return at < field->length ? glyph_next(field->text + at, field->length - at, &glyph) : 0;
}

/* The boundary at or after `at`: a mark inserted before the caret may have
 * joined what stood behind it. */
static size_t boundary(const struct field *field, size_t at)
{
	size_t place = 0;
	while (place < at)
		place += glyph_after(field, place);
	return place;
}

static size_t boundary_before(const struct field *field, size_t at)
{
	size_t place = 0;
	for (;;) {
		size_t next = place + glyph_after(field, place);
		if (next >= at || next == place)
			return place;
		place = next;
	}
}

bool field_insert(struct field *field, uint32_t point)
{
	char bytes[4];
	field->cut = false;
	if (!glyph_printable(point) || !insert_bytes(field, bytes, pm_utf8_put(point, bytes)))
		return false;
	field->caret = boundary(field, field->caret);
	return true;
}

/* What a pasted character becomes: itself, a blank (for any run of blank
 * controls), or nothing. */
static bool is_break(uint32_t point)
{
	return point == '\n' || point == '\r' || point == '\t' || point == 0x2028 || point == 0x2029;
}

void field_paste(struct field *field, const char *text, size_t length)
{
	field->cut = false;
	size_t blanks = 0;   /* held back: dropped when nothing follows */
	bool begun = false, broken = false;
	while (length) {
		uint32_t point;
		size_t step = pm_utf8_next(text, length, &point);
		if (point == ' ') {
			blanks++;
		} else if (is_break(point)) {
			blanks += !broken;
			broken = true;
		} else if (point != UINT32_MAX && glyph_printable(point)) {
			for (; begun && blanks; blanks--)
				if (!insert_bytes(field, " ", 1))
					break;
			if (!insert_bytes(field, text, step))
				break;
			blanks = 0;
			begun = true;
			broken = false;
		}
		text += step;
		length -= step;
	}
	field->caret = boundary(field, field->caret);
}

static void remove_bytes(struct field *field, size_t from, size_t to)
{
	memmove(field->text + from, field->text + to, field->length - to + 1);
	field->length -= to - from;
	field->caret = boundary(field, from);
	field->cut = false;
}

static bool edit(struct field *field, enum screen_key key, uint32_t point)
{
	switch (key) {
	case KEYS_LEFT:
		field->caret = boundary_before(field, field->caret);
		return true;
	case KEYS_RIGHT:
		field->caret += glyph_after(field, field->caret);
		return true;
	case KEYS_HOME:
		field->caret = 0;
		return true;
	case KEYS_END:
		field->caret = field->length;
		return true;
	case KEYS_ERASE:
		remove_bytes(field, boundary_before(field, field->caret), field->caret);
		return true;
	case KEYS_DELETE:
		remove_bytes(field, field->caret, field->caret + glyph_after(field, field->caret));
		return true;
	case KEYS_CTRL:
		if (point != 'u')
			return false;
		remove_bytes(field, 0, field->caret);
		return true;
	case KEYS_NONE: case KEYS_ENTER: case KEYS_ESCAPE: case KEYS_TAB: case KEYS_BACK_TAB:
	case KEYS_UP: case KEYS_DOWN: case KEYS_PAGE_UP: case KEYS_PAGE_DOWN:
		return false;
	}
	return false;
}

bool field_key(struct field *field, const struct screen_event *event)
{
	switch (event->kind) {
	case EVENT_KEY:
		return edit(field, event->key, event->point);
	case EVENT_CHARACTER:
		field_insert(field, event->point);
		return true;
	case EVENT_PASTE:
		field_paste(field, event->text, event->length);
		return true;
	case EVENT_RESIZE: case EVENT_TICK: case EVENT_STOP: case EVENT_INTERRUPT:
		return false;
	}
	return false;
}

static int cells_between(const struct field *field, size_t from, size_t to)
{
	int cells = 0;
	while (from < to) {
		struct glyph glyph;
		from += glyph_next(field->text + from, field->length - from, &glyph);
		cells += glyph.width;
	}
	return cells;
}

/* The first cell to show: half a field at a time, so that some text shows on
 * both sides of the caret. */
static int first_cell(int caret, int width)
{
	int half = width / 2;
	if (caret < width - 1)
		return 0;
	return half ? ((caret - width + 1) / half + 1) * half : caret;
}

void field_draw(const struct field *field, struct canvas *canvas, int row, int column, int width, bool focused)
{
	if (width <= 0)
		return;
	enum canvas_style style = focused ? STYLE_CHOSEN : STYLE_PLAIN;
	int total = cells_between(field, 0, field->length);
	int caret = cells_between(field, 0, field->caret);
	int left = focused && total >= width ? first_cell(caret, width) : 0;

	canvas_fill(canvas, row, column, 1, width, style, focused ? ' ' : '_');
	int cell = 0;
	for (size_t at = 0; at < field->length && cell < left + width;) {
		struct glyph glyph;
		at += glyph_next(field->text + at, field->length - at, &glyph);
		/* half a wide character at the edge stays a blank */
		if (cell >= left)
			canvas_glyph(canvas, row, column + cell - left, left + width - cell, style, &glyph);
		cell += glyph.width;
	}
	if (left > 0 && width > 2)
		canvas_put(canvas, row, column, 1, STYLE_DIM, "<");
	if (total - left > width && width > 2)
		canvas_put(canvas, row, column + width - 1, 1, STYLE_DIM, ">");
	if (focused) {
		canvas->cursor_row = row;
		canvas->cursor_column = column + caret - left;
		canvas->cursor_shown = true;
	}
}
