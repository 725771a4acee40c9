/* sieve_body.h - the tests of sieve.h, in vectors of as many bytes as vec.h gives
 * where this is included: by sieve.c for any machine, by sieve_wide.c for one
 * that has wider ones. */
#ifndef CAPTURE_SIEVE_BODY_H
#define CAPTURE_SIEVE_BODY_H

#include "capture/sieve_parts.h"
#include "capture/tokens.h"
#include "capture/vec.h"
#include "capture/words.h"
#include "portmuster/text.h"

#define UNIT SIEVE_UNIT

/* --- forms: a bit for each byte of a unit -------------------------------------------- */

/* The bits of a class in this unit and in the one before. */
struct bits {
	uint64_t now, before;
};

static inline uint64_t back(struct bits b, unsigned by)
{
	return b.now << by | b.before >> (UNIT - by);
}

static inline unsigned lowest(uint64_t bits)
{
#if defined(__GNUC__)
	return (unsigned)__builtin_ctzll(bits);
#else
	unsigned at = 0;
	while (!(bits >> at & 1)) at++;
	return at;
#endif
}

static inline unsigned count_of(uint64_t bits)
{
	bits -= bits >> 1 & 0x5555555555555555u;
	bits = (bits & 0x3333333333333333u) + (bits >> 2 & 0x3333333333333333u);
	return (unsigned)(((bits + (bits >> 4)) & 0x0F0F0F0F0F0F0F0Fu) * 0x0101010101010101u >> 56);
}

#define NEAR 32          /* bytes in which six pairs must come */
#define PAIRS_LEAST 6
#define MARKS_LEAST 4    /* in one token */

struct forms {
	struct bits alnum, hex, mark, shown, quads, pair;
	bool seeking[MARKS_LEAST - 1];   /* a token goes on that has had fewer marks */
};

/* Where among the pairs of this unit the sixth has come. */
static uint64_t crowd(struct bits pair)
{
	unsigned at[2 * UNIT], count = 0;
	uint64_t found = 0;
	for (uint64_t bits = pair.before; bits; bits &= bits - 1) at[count++] = lowest(bits);
	for (uint64_t bits = pair.now; bits; bits &= bits - 1) {
		at[count++] = UNIT + lowest(bits);
		if (count >= PAIRS_LEAST && at[count - 1] - at[count - PAIRS_LEAST] < NEAR) found |= bits & (0 - bits);
	}
	return found;
}

/* The marks without the first of each token. Adding a token's start to the bytes
 * before its first mark carries to just that mark. */
static inline uint64_t drop_first(uint64_t marks, uint64_t shown, uint64_t start, bool *seeking)
{
	uint64_t idle = shown & ~marks, from = start | (*seeking ? shown & 1 : 0);
	uint64_t sum = idle + (from & idle);
	*seeking = sum < idle;
	return marks & ~(sum & ~idle) & ~from;
}

static bool is_mark(char c)
{
	return c == '-' || c == '.' || c == ':';
}

/* A network address with a port, whose colon stands at `colon`: 192.0.2.1:443 */
static bool is_host_and_port(const char *text, const char *colon)
{
	const char *from = colon, *to = colon + 1;
	size_t dots = 0;
	while (pm_is_digit(from[-1]) || from[-1] == '.') dots += *--from == '.';
	while (pm_is_digit(*to)) to++;
	return from >= text && dots == 3 && token_parts(from[-1]) && token_parts(*to);
}

/* Are the mark before `end` and three more in one token, and is it more than a
 * network address with a port? */
static bool is_token(const char *text, const char *end)
{
	unsigned marks = 0;
	if (end[-1] == ':' && is_host_and_port(text, end - 1)) return false;
	for (const char *c = end - 1; c >= text && !token_parts(*c) && marks < MARKS_LEAST; c--) marks += is_mark(c[0]) && !is_mark(c[-1]);
	return marks == MARKS_LEAST;
}

/* Twelve hex digits up to `end`: is there a letter? */
static bool has_letter(const char *end)
{
	for (int i = 1; i <= 12; i++)
		if (pm_is_alpha(end[-i])) return true;
	return false;
}

/* What ends in the unit at `base`: `behind` has a bit behind its end, `on` one on it. */
static inline void forms(struct forms *f, const char *whole, size_t base, uint64_t *behind, uint64_t *on)
{
	const char *text = whole + base;
	uint64_t alnum = 0, hex = 0, mark = 0, shown = 0;
	for (unsigned i = 0; i < UNIT; i += VEC) {
		vec v = vec_load(text + i), low = vec_fold(v), digit = vec_in(v, '0', 10);
		alnum |= (uint64_t)vec_bits(vec_or(digit, vec_in(low, 'a', 26))) << i;
		hex |= (uint64_t)vec_bits(vec_or(digit, vec_in(low, 'a', 6))) << i;
		mark |= (uint64_t)vec_bits(vec_or(vec_in(v, '-', 2), vec_is(v, ':'))) << i;   /* "-." are neighbours */
		shown |= (uint64_t)vec_bits(vec_in(v, '!', 0xFF - '!')) << i;
	}
	f->alnum = (struct bits){ alnum, f->alnum.now };
	f->hex = (struct bits){ hex, f->hex.now };
	f->mark = (struct bits){ mark, f->mark.now };
	f->shown = (struct bits){ shown, f->shown.now };
	f->quads = (struct bits){ hex & back(f->hex, 1) & back(f->hex, 2) & back(f->hex, 3), f->quads.now };
	f->pair = (struct bits){ ~back(f->alnum, 3) & back(f->hex, 2) & back(f->hex, 1) & ~alnum, f->pair.now };
	uint64_t four = ~hex & back(f->quads, 1);
	uint64_t twelve = four & back(f->quads, 5) & back(f->quads, 9) & ~back(f->hex, 13);
	*behind = four & back(f->mark, 5) & back(f->quads, 6) & back(f->mark, 10) & back(f->quads, 11) & ~back(f->hex, 15);
	if (count_of(f->pair.now) + count_of(f->pair.before) >= PAIRS_LEAST) *behind |= crowd(f->pair);
	for (; twelve; twelve &= twelve - 1)
		if (has_letter(text + lowest(twelve))) *behind |= twelve & (0 - twelve);
	*on = 0;
	/* of several marks in a row the first */
	uint64_t start = shown & ~back(f->shown, 1), marks = mark & ~back(f->mark, 1);
	for (size_t i = 0; i < MARKS_LEAST - 1; i++) marks = drop_first(marks, shown, start, &f->seeking[i]);
	for (; marks; marks &= marks - 1)
		if (is_token(whole, text + lowest(marks) + 1)) *on |= marks & (0 - marks);
}

/* --- words ------------------------------------------------------------------------------- */

static inline vec both(vec x, uint8_t a, vec y, uint8_t b)
{
	return vec_and(vec_is(x, a), vec_is(y, b));
}

static inline vec either(vec v, uint8_t a, uint8_t b)
{
	return vec_or(vec_is(v, a), vec_is(v, b));
}

/* Letters that the words have and few others: addr and hardware, hw and phys,
 * sn and s/n, mac, bia and serial, burnedin, ether, eui48, station. */
static inline uint64_t words(const struct sieve *sieve, const char *text)
{
	uint64_t bits = 0;
	for (unsigned i = 0; i < UNIT; i += VEC) {
		vec w = vec_fold(vec_load(text + i - 3)), x = vec_fold(vec_load(text + i - 2));
		vec y = vec_fold(vec_load(text + i - 1)), z = vec_fold(vec_load(text + i));
		vec z_a = vec_is(z, 'a'), z_i = vec_is(z, 'i');
		vec any = vec_and(vec_is(y, 'd'), either(z, 'd', 'w'));
		any = vec_or(any, vec_and(vec_is(y, 'h'), either(z, 'w', 'y')));
		any = vec_or(any, vec_and(vec_is(y, 's'), vec_or(either(z, 'n', '/'), either(z, '-', 0x7F))));
		any = vec_or(any, vec_and(both(x, 'm', y, 'a'), vec_is(z, 'c')));
		any = vec_or(any, vec_and(vec_and(vec_is(y, 'i'), z_a), either(x, 'b', 'r')));
		any = vec_or(any, vec_and(both(x, 'u', y, 'r'), vec_is(z, 'n')));
		any = vec_or(any, vec_and(vec_is(x, 'e'), vec_or(both(y, 't', z, 'h'), vec_and(vec_is(y, 'u'), z_i))));
		any = vec_or(any, vec_and(both(w, 't', x, 'a'), vec_and(vec_is(y, 't'), z_i)));
		for (size_t p = 0; p < sieve->words; p++)
			any = vec_or(any, both(y, sieve->word[p].first, z, sieve->word[p].second));
		bits |= (uint64_t)vec_bits(any) << i;
	}
	return bits;
}

static bool joins_words(char c)
{
	return pm_is_alnum(c) || c == '-' || c == '_' || c == '/';
}

/* Do the letters that end with `at` belong to a word that counts? */
static bool is_word(const struct sieve *sieve, const char *at)
{
	for (size_t p = 0; p < sieve->words; p++) {
		const struct sieve_word *word = &sieve->word[p];
		const char *from = at - 1 - word->at;
		size_t i = 0;
		if (sieve_fold(at[-1]) != word->first || sieve_fold(at[0]) != word->second) continue;
		while (i < word->length && sieve_fold(from[i]) == sieve_fold(word->text[i])) i++;
		if (i == word->length) return true;
	}
	const char *from = at, *to = at + 1;
	while (at - from <= WORD_MOST && joins_words(from[-1]) && !(from[-1] == '-' && from[-2] == '-')) from--;
	while (to - from <= WORD_MOST && joins_words(*to) && !(to[0] == '-' && to[1] == '-')) to++;
	while (from < to && !pm_is_alpha(*from)) from++;
	return word_kind(from, (size_t)(to - from)) & (WORD_ADDRESS | WORD_HARDWARE | WORD_SERIAL);
}

static void run(const struct sieve *sieve, const char *text, size_t units,
                void (*caught)(void *context, size_t at), void *context)
{
	struct forms f;
	memset(&f, 0, sizeof f);
	for (size_t u = 0; u < units; u++) {
		uint64_t behind, on, word = words(sieve, text + u * UNIT);
		forms(&f, text, u * UNIT, &behind, &on);
		for (uint64_t all = behind | on | word; all; all &= all - 1) {
			size_t at = u * UNIT + lowest(all);
			uint64_t bit = all & (0 - all);
			if (at && behind & bit) caught(context, at - 1);
			if (on & bit || (word & bit && is_word(sieve, text + at))) caught(context, at);
		}
	}
}

/* --- bytes ------------------------------------------------------------------------------- */

static void lines(const char *text, size_t units, struct sieve_index *index)
{
	size_t u = 0, count = 0;
	struct bits returns = { 0, 0 };
	index->any_odd = false;
	for (; u < units && count + UNIT < index->room; u++) {
		uint64_t feeds = 0;
		vec strange = vec_is(vec_load(text), 0xFF);
		strange = vec_and(strange, vec_not(strange));
		returns = (struct bits){ 0, returns.now };
		for (unsigned i = 0; i < UNIT; i += VEC) {
			vec v = vec_load(text + u * UNIT + i), feed = vec_is(v, '\n'), back_to_0 = vec_is(v, '\r');
			strange = vec_or(strange, vec_not(vec_or(vec_or(feed, back_to_0), vec_in(v, 0x20, 0x5F))));
			feeds |= (uint64_t)vec_bits(feed) << i;
			returns.now |= (uint64_t)vec_bits(back_to_0) << i;
		}
		/* A carriage return belongs to a line end when nothing but others comes before the feed. */
		bool odd = vec_bits(strange) || back(returns, 1) & ~(feeds | returns.now);
		index->odd[u] = odd;
		index->any_odd |= odd;
		/* Two at once, there or not: seldom are there more. */
		index->feed[count] = (uint32_t)(u * UNIT + lowest(feeds | 1ull << 63));
		count += feeds != 0;
		feeds &= feeds - 1;
		index->feed[count] = (uint32_t)(u * UNIT + lowest(feeds | 1ull << 63));
		count += feeds != 0;
		for (feeds &= feeds - 1; feeds; feeds &= feeds - 1) index->feed[count++] = (uint32_t)(u * UNIT + lowest(feeds));
	}
	index->units = u;
	index->feeds = count;
}

/* A blank and "<" or "=", which are neighbours too. */
static inline vec marks_at(const char *text)
{
	return vec_and(vec_is(vec_load(text - 1), ' '), vec_in(vec_load(text), '<', 2));
}

static size_t heads(const char *text, size_t from, size_t length)
{
	size_t at = from < 2 ? 2 : from;
	/* several vectors at once, as hardly any has one */
	for (; at + 4 * VEC <= length; at += 4 * VEC) {
		const char *c = text + at;
		vec any = vec_or(vec_or(marks_at(c), marks_at(c + VEC)), vec_or(marks_at(c + 2 * VEC), marks_at(c + 3 * VEC)));
		if (!vec_bits(any)) continue;
		for (unsigned i = 0; i < 4 * VEC; i += VEC) {
			/* ':' comes behind the digits */
			uint32_t bits = vec_bits(vec_and(marks_at(c + i), vec_in(vec_load(c + i - 2), '0', 11)));
			if (bits) return at + i + lowest(bits);
		}
	}
	for (; at < length; at++)
		if ((text[at] == '<' || text[at] == '=') && text[at - 1] == ' ' && (pm_is_digit(text[at - 2]) || text[at - 2] == ':')) return at;
	return length;
}

static size_t count(const char *text, size_t length)
{
	size_t count = 0, at = 0;
	while (at + VEC <= length) {
		/* a count in each byte of a vector, until one might run over */
		vec counts = vec_is(vec_load(text), 0);
		unsigned char each[VEC];
		counts = vec_minus(counts, counts);
		for (unsigned i = 0; i < 255 && at + VEC <= length; i++, at += VEC)
			counts = vec_minus(counts, vec_is(vec_load(text + at), '\n'));
		memcpy(each, &counts, VEC);
		for (unsigned i = 0; i < VEC; i++) count += each[i];
	}
	for (; at < length; at++) count += text[at] == '\n';
	return count;
}

#define SIEVE_TESTS { run, lines, heads, count }

#endif
