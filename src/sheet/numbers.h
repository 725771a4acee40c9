/* numbers.h - what a spreadsheet makes of texts that it takes for numbers or dates. */
#ifndef SHEET_NUMBERS_H
#define SHEET_NUMBERS_H

#include <stdbool.h>

/* Would a spreadsheet read it as a number: digits, perhaps a sign, a point or
 * comma, and an exponent as in "00005E000110"? */
bool numbers_alike(const char *text);

/* Is it in scientific notation, as in "5E+110" or "1,23E+12"? */
bool numbers_scientific(const char *text);

/* Is `seen` how a program writes the decimal number that `right` reads as: "1,1" for
 * "1.10", "49" for "+49"? "049" is not: none writes zeros in front. Nothing in
 * scientific notation. */
bool numbers_same(const char *right, const char *seen);

/* The same number in the fifteen digits that are kept of one, both in whatever
 * notation: for a cell that is known to hold a number. */
bool numbers_stored(const char *right, const char *seen);

enum numbers_turn {
	NUMBERS_NOT_TURNED,
	NUMBERS_TURNED,             /* "5E+110" for "00005E000110", "417000000000000" for "0417E12" */
	NUMBERS_TURNED_OTHERWISE,   /* scientific notation, of another number */
};

/* Did scientific notation come about, or was it read as such? Numbers are compared as
 * decimals of any size, so that no two different ones pass for the same because both
 * are too large. A number beyond what programs reckon with may have become zero. */
enum numbers_turn numbers_turned(const char *right, const char *seen);

/* Whole numbers only, with marks between thousands in `seen`. */
bool numbers_same_whole(const char *right, const char *seen);

/* Are the digits after the fifteenth zeros in `seen`, the others the same or rounded? */
bool numbers_digits_lost(const char *right, const char *seen);

/* Does `right` look like a date to a spreadsheet, and is `seen` another way to
 * write the same: "07-12" and "12-Jul", "MAR-07" and "2007-03-01"? */
bool numbers_became_date(const char *right, const char *seen);

#endif
