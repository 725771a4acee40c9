/* compose.h - letters and their marks: one character or two, it is the same text
 * (canonical equivalence, Unicode UAX #15). */
#ifndef SHEET_COMPOSE_H
#define SHEET_COMPOSE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Are two UTF-8 texts the same once every letter is parted from its marks? Knows
 * Latin, Greek, Cyrillic, kana and Hangul; a letter of any other alphabet is the
 * same as itself alone. */
bool compose_same(const char *a, const char *b);

/* Does the character only show as part of the one before it? */
bool compose_mark(uint32_t point);

/* The first such character of `text`: its place from 1, 0 when there is none. */
size_t compose_first(const char *text, uint32_t *point);

#endif
