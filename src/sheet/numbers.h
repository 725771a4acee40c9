/* numbers.h - what a spreadsheet makes of texts that it takes for numbers or dates. */
#ifndef SHEET_NUMBERS_H
#define SHEET_NUMBERS_H

#include <stdbool.h>

/* Would a spreadsheet read it as a number: digits, perhaps a sign, a point or
 * comma, and an exponent as in "00005E000110"? */
bool numbers_alike(const char *text);

/* Is it in scientific notation, as in "5E+110" or "1,23E+12"? */
bool numbers_scientific(const char *text);

/* Do both read as one decimal number: "1.10" and "1,1", "+49" and "49"? */
bool numbers_same(const char *right, const char *seen);

/* Whole numbers only, with marks between thousands in `seen`. */
bool numbers_same_whole(const char *right, const char *seen);

/* Are the digits after the fifteenth zeros in `seen`, and the others the same? */
bool numbers_digits_lost(const char *right, const char *seen);

/* Does `right` look like a date to a spreadsheet, and is `seen` another way to
 * write one: "07-12" and "12-Jul", "MAR-07" and "2007-03-01"? */
bool numbers_became_date(const char *right, const char *seen);

#endif
