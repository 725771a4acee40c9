/* sieve.h - a first look at console text: which of it may hold anything.
 *
 * Tests of many bytes at once, each followed by a closer look where it hits.
 * They let nothing through that tokens and words would have found; most of what
 * they catch is nothing all the same.
 *
 * Caught are, in plain text,
 *   forms  twelve hex digits by themselves with a letter among them; three
 *          fours of them with marks between; six pairs of hex digits, each by
 *          itself, within 32 bytes; a token with four marks (`-`, `:`, `.`) that
 *          is no network address with a port. Every notation of eui48.h has one
 *          of these, and so has all that without a word for it looks like one
 *   words  for addresses and serial numbers, as in words.h, and the gear's own:
 *          they give the sense of what stands behind them or, in a heading,
 *          below them
 * A word is not caught when hyphens or underscores part its letters where nobody
 * would part them ("m-a-c").
 */
#ifndef CAPTURE_SIEVE_H
#define CAPTURE_SIEVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "portmuster/gear.h"

#define SIEVE_UNIT 64      /* bytes that are judged together */
#define SIEVE_MARGIN 64    /* bytes before and behind a text that must be there to be read */
#define SIEVE_MOST_WORDS 4

struct sieve {
	/* Of each of the gear's phrases a word, and two letters of it that are rare. */
	struct sieve_word {
		const char *text;
		size_t length, at;
		unsigned char first, second;
	} word[SIEVE_MOST_WORDS];
	size_t words;
};

/* False when the gear's words for a serial number can't be looked for so. */
bool sieve_init(struct sieve *sieve, const struct pm_gear *gear);

/* Look at so many units of `text`; `caught` is told of a byte of each find, in
 * rising order, the same one perhaps more than once. */
void sieve_run(const struct sieve *sieve, const char *text, size_t units,
               void (*caught)(void *context, size_t at), void *context);

/* The first look of all, at `units` units or until there is no room for the line
 * feeds of one more: where they are, and for each unit whether it holds a byte
 * that is neither printable ASCII nor part of a line end. */
struct sieve_index {
	size_t units, feeds;         /* looked at, found */
	bool any_odd;
	unsigned char *odd;          /* room for `units` */
	uint32_t *feed;              /* offsets, rising */
	size_t room;
};

void sieve_lines(const char *text, size_t units, struct sieve_index *index);

/* The first place at or behind `from` where a digit or colon, a blank and "=" or
 * "<" have come: every line of a walk and every interface's of ip link has one
 * (see source.h). `length` when there is none. */
size_t sieve_heads(const char *text, size_t from, size_t length);

/* How many line feeds there are. */
size_t sieve_count(const char *text, size_t length);

#endif
