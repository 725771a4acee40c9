/* zone_bytes.h - TZif files built in memory (RFC 9636 section 3), for tests. */
#ifndef TESTS_ZONE_BYTES_H
#define TESTS_ZONE_BYTES_H

#include <stdint.h>
#include <stdio.h>
#include <string.h>

struct zone_bytes {
	unsigned char byte[8192];
	size_t length;
};

struct zone_kind {
	int32_t offset;
	unsigned char summer, letters;   /* index of its abbreviation */
};

/* What a data block holds. `letters` are abbreviations, each ended by a dot. */
struct zone_block {
	const int64_t *change;
	const unsigned char *to;
	uint32_t changes;
	const struct zone_kind *kind;
	uint32_t kinds;
	const char *letters;
	uint32_t leaps;
};

static inline void zone_put(struct zone_bytes *z, uint64_t value, unsigned bytes)
{
	while (bytes--)
		z->byte[z->length++] = (unsigned char)(value >> 8 * bytes);
}

static inline void zone_put_block(struct zone_bytes *z, char version, unsigned time, const struct zone_block *b)
{
	uint32_t letters = (uint32_t)strlen(b->letters);
	memcpy(z->byte + z->length, "TZif", 4);
	z->length += 4;
	zone_put(z, (unsigned char)version, 1);
	for (int i = 0; i < 15; i++)
		zone_put(z, 0, 1);
	const uint32_t counts[] = { 0, 0, b->leaps, b->changes, b->kinds, letters };
	for (int i = 0; i < 6; i++)
		zone_put(z, counts[i], 4);
	for (uint32_t i = 0; i < b->changes; i++)
		zone_put(z, (uint64_t)b->change[i], time);
	for (uint32_t i = 0; i < b->changes; i++)
		zone_put(z, b->to[i], 1);
	for (uint32_t i = 0; i < b->kinds; i++) {
		zone_put(z, (uint32_t)b->kind[i].offset, 4);
		zone_put(z, b->kind[i].summer, 1);
		zone_put(z, b->kind[i].letters, 1);
	}
	for (uint32_t i = 0; i < letters; i++)
		zone_put(z, b->letters[i] == '.' ? 0 : (unsigned char)b->letters[i], 1);
	for (uint32_t i = 0; i < b->leaps; i++) {
		zone_put(z, 78796800, time);   /* the first one, of 1972-06-30 */
		zone_put(z, 1, 4);
	}
}

/* A version 2 file: an empty 32-bit block as `zic -b slim` writes it, the block, the footer. */
static inline void zone_put_file(struct zone_bytes *z, const struct zone_block *block, const char *footer)
{
	static const struct zone_kind none[1];
	z->length = 0;
	zone_put_block(z, '2', 4, &(struct zone_block){ .kind = none, .kinds = 1, .letters = "." });
	zone_put_block(z, '2', 8, block);
	z->length += (size_t)sprintf((char *)z->byte + z->length, "\n%s\n", footer);
}

/* One kind of time, and a footer that says the rest. */
static inline void zone_put_footer(struct zone_bytes *z, const char *footer)
{
	static const struct zone_kind kind[] = { { -18000, 0, 0 } };
	zone_put_file(z, &(struct zone_block){ .kind = kind, .kinds = 1, .letters = "EST." }, footer);
}

/* Footers of tzdata 2025b (read from its files). */
#define ZONE_EST_EDT "EST5EDT,M3.2.0,M11.1.0"
#define ZONE_0545 "<+0545>-5:45"
#define ZONE_1245 "<+1245>-12:45<+1345>,M9.5.0/2:45,M4.1.0/3:45"
#define ZONE_CET "CET-1CEST,M3.5.0,M10.5.0/3"
#define ZONE_IST_GMT "IST-1GMT0,M10.5.0,M3.5.0/1"          /* winter time is the exception */
#define ZONE_MINUS_2 "<-02>2<-01>,M3.5.0/-1,M10.5.0/0"       /* a time before midnight */

#endif
