/* sieve_parts.h - the tests of sieve.h, once for each width of vectors. */
#ifndef CAPTURE_SIEVE_PARTS_H
#define CAPTURE_SIEVE_PARTS_H

#include "capture/sieve.h"

struct sieve_tests {
	void (*run)(const struct sieve *sieve, const char *text, size_t units,
	            void (*caught)(void *context, size_t at), void *context);
	void (*lines)(const char *text, size_t units, struct sieve_index *index);
	size_t (*heads)(const char *text, size_t from, size_t length);
	size_t (*count)(const char *text, size_t length);
};

extern const struct sieve_tests sieve_narrow;

/* Whether a machine has wide ones is only known when the program runs there. */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(VEC_PLAIN)
#define SIEVE_MAY_BE_WIDE
extern const struct sieve_tests sieve_wide;
#endif

/* Those that this machine runs. */
const struct sieve_tests *sieve_chosen(void);

/* A letter whatever its case; other bytes keep apart or fall together with others. */
static inline unsigned char sieve_fold(char c)
{
	return (unsigned char)c | 0x20;
}

#endif
