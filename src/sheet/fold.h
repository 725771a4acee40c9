/* fold.h - texts compared with some difference left out of account. */
#ifndef SHEET_FOLD_H
#define SHEET_FOLD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What a character counts as; 0: it does not count at all. */
typedef uint32_t fold(uint32_t point);

uint32_t fold_blanks(uint32_t point);       /* blanks and line breaks do not count */
uint32_t fold_invisible(uint32_t point);    /* nor do no-break spaces and what has no width */
uint32_t fold_typography(uint32_t point);   /* dashes are hyphens, curly quotes straight ones */
uint32_t fold_alphabets(uint32_t point);    /* Cyrillic, Greek and full-width twins are Latin */
uint32_t fold_case(uint32_t point);         /* ASCII only */

/* Does a character show as nothing, or as a blank that is none: no-break and other
 * odd blanks, fillers, what has no width? */
bool fold_hidden(uint32_t point);

/* Are two UTF-8 texts the same once every character is folded? A byte that is not
 * UTF-8 counts as itself. */
bool fold_same(const char *a, const char *b, fold *as);

/* Two titles: runs of blanks and line breaks count as one blank. */
bool fold_title_same(const char *a, const char *b);

/* The first character of `text` that the fold changes: its place from 1, and the
 * code point; 0 when there is none. */
size_t fold_first(const char *text, fold *as, uint32_t *point);

/* The character of a byte in Windows-1252, the code page that spreadsheets write
 * for want of another; Latin-1 where that has none. */
uint32_t fold_latin(unsigned char byte);

/* Is `seen` what becomes of `right` when its UTF-8 bytes are taken for that code
 * page, or when the letters that the code page lacks turn into "?"? */
bool fold_misread(const char *right, const char *seen);

#endif
