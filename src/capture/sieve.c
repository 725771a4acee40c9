#include "capture/sieve.h"

#include "capture/sieve_body.h"

/* --- the gear's words ------------------------------------------------------------- */

/* The more often a letter is written, the earlier it stands here. */
static size_t rarity(unsigned char c)
{
	static const char often[] = "etaoinsrhldcumfpgwybvkxjqz";
	const char *at = c ? strchr(often, c) : NULL;
	return at ? (size_t)(at - often) : sizeof often;
}

static bool parts(char c)
{
	return pm_is_blank(c) || c == ':';
}

bool sieve_init(struct sieve *sieve, const struct pm_gear *gear)
{
	*sieve = (struct sieve){ .words = 0 };
	size_t count = gear ? gear->console.serials.count : 0;
	if (count > SIEVE_MOST_WORDS) return false;
	for (size_t k = 0; k < count; k++) {
		const char *c = gear->console.serials.item[k].text;
		size_t best = 0;
		while (c && *c) {
			while (parts(*c)) c++;
			size_t length = 0;
			while (c[length] && !parts(c[length])) length++;
			for (size_t i = 0; i + 1 < length; i++) {
				size_t rare = 1 + rarity(sieve_fold(c[i])) + rarity(sieve_fold(c[i + 1]));
				if (rare <= best) continue;
				best = rare;
				sieve->word[sieve->words] = (struct sieve_word){ c, length, i, sieve_fold(c[i]), sieve_fold(c[i + 1]) };
			}
			c += length;
		}
		if (c && best == 0) return false;
		sieve->words += c != NULL;
	}
	return true;
}

/* --- the tests, in the widest vectors there are ------------------------------------------ */

const struct sieve_tests sieve_narrow = SIEVE_TESTS;

const struct sieve_tests *sieve_chosen(void)
{
#ifdef SIEVE_MAY_BE_WIDE
	if (__builtin_cpu_supports("avx2")) return &sieve_wide;
#endif
	return &sieve_narrow;
}

void sieve_run(const struct sieve *sieve, const char *text, size_t units,
               void (*caught)(void *context, size_t at), void *context)
{
	sieve_chosen()->run(sieve, text, units, caught, context);
}

void sieve_lines(const char *text, size_t units, struct sieve_index *index)
{
	sieve_chosen()->lines(text, units, index);
}

size_t sieve_heads(const char *text, size_t from, size_t length)
{
	return sieve_chosen()->heads(text, from, length);
}

size_t sieve_count(const char *text, size_t length)
{
	return sieve_chosen()->count(text, length);
}
