/* Text on a canvas: clipped, formatted, wrapped, measured. */
#include "screen/canvas.h"

#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "screen/glyph.h"

static int put_bytes(struct canvas *canvas, int row, int column, int width, enum canvas_style style,
                     const char *text, size_t length)
{
	int used = 0;
	while (length && used < width) {
		struct glyph glyph;
		size_t step = glyph_next(text, length, &glyph);
		int cells = canvas_glyph(canvas, row, column + used, width - used, style, &glyph);
		if (!cells)
			break;
		used += cells;
		text += step;
		length -= step;
	}
	return used;
}

int canvas_put(struct canvas *canvas, int row, int column, int width, enum canvas_style style, const char *text)
{
	return text ? put_bytes(canvas, row, column, width, style, text, strlen(text)) : 0;
}

int canvas_print(struct canvas *canvas, int row, int column, int width, enum canvas_style style, const char *format, ...)
{
	char near[512], *text = near;
	va_list args, again;
	va_start(args, format);
	va_copy(again, args);
	int length = vsnprintf(near, sizeof near, format, args);
	va_end(args);
	if (length >= (int)sizeof near) {
		text = malloc((size_t)length + 1);
		if (text)
			vsnprintf(text, (size_t)length + 1, format, again);
		else
			text = near;   /* the beginning is better than nothing */
	}
	va_end(again);
	int used = length < 0 ? 0 : put_bytes(canvas, row, column, width, style, text, strlen(text));
	if (text != near)
		free(text);
	return used;
}

/* One line of a wrapped text: how many bytes it shows and how many it takes
 * with the blanks or the line feed at which it was broken. */
struct line { size_t shown, taken; };

static struct line next_line(const char *text, size_t length, int width)
{
	size_t at = 0, blank = 0, after_blank = 0;
	bool word_seen = false;
	int cells = 0;
	while (at < length && text[at] != '\n') {
		if (text[at] == ' ') {
			size_t end = at;
			while (end < length && text[end] == ' ')
				end++;
			if (word_seen) {
				blank = at;
				after_blank = end;
			}
			cells = end - at > (size_t)(width - cells) ? width : cells + (int)(end - at);
			at = end;
			continue;
		}
		struct glyph glyph;
		size_t step = glyph_next(text + at, length - at, &glyph);
		if (cells + glyph.width > width) {
			if (blank)
				return (struct line){ blank, after_blank };
			/* a word wider than the box, or an indent that leaves no room */
			if (!word_seen && at)
				return (struct line){ 0, at };
			return at ? (struct line){ at, at } : (struct line){ step, step };
		}
		word_seen = true;
		cells += glyph.width;
		at += step;
	}
	size_t shown = at;
	while (shown && text[shown - 1] == ' ')
		shown--;
	return (struct line){ shown, at < length ? at + 1 : at };
}

int canvas_wrap(struct canvas *canvas, int row, int column, int rows, int width, enum canvas_style style,
                const char *text, int skip)
{
	if (!text || width <= 0)
		return 0;
	int lines = 0;
	for (size_t length = strlen(text); length && lines < INT_MAX; lines++) {
		struct line line = next_line(text, length, width);
		if (canvas && lines >= skip && lines - skip < rows)
			put_bytes(canvas, row + lines - skip, column, width, style, text, line.shown);
		text += line.taken;
		length -= line.taken;
	}
	return lines;
}

int canvas_width(const char *text)
{
	int width = 0;
	for (size_t length = text ? strlen(text) : 0; length && width < INT_MAX - GLYPH_POINTS;) {
		struct glyph glyph;
		size_t step = glyph_next(text, length, &glyph);
		width += glyph.width;
		text += step;
		length -= step;
	}
	return width;
}
