/* glyph.h - characters as a grid of cells sees them.
 *
 * A glyph is what moves and is erased as one: a character with its combining
 * marks, or the visible form (such as \x1B) of something that must not reach
 * a terminal. Everything here is a pure function and asks no locale, so a
 * view measures the same on every machine.
 */
#ifndef SCREEN_GLYPH_H
#define SCREEN_GLYPH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define GLYPH_POINTS 12   /* the longest visible form is \u{10FFFF} */
#define GLYPH_MARKS  2    /* combining marks kept on one character */

struct glyph {
	uint32_t point[GLYPH_POINTS];
	int points;                   /* more than 1 only for a visible form */
	uint32_t mark[GLYPH_MARKS];   /* on the only point; 0: none */
	int width;                    /* cells, 1 or more */
};

/* Read the first glyph of `length` (more than 0) bytes; returns the bytes it
 * takes, at least 1. */
size_t glyph_next(const char *bytes, size_t length, struct glyph *glyph);

/* Cells of one printable character: 0 for a combining mark, 1 or 2. */
int glyph_width(uint32_t point);

/* True when the character can be typed into a text: not a control, not an
 * invisible format character, not a noncharacter. */
bool glyph_printable(uint32_t point);

/* The ASCII character of one cell that stands in for `point`; `?` when there
 * is none. */
uint32_t glyph_ascii(uint32_t point);

#endif
