/* vec.h - sixteen bytes at once, or 32 with VEC_WIDE: vectors where the compiler
 * has them (GCC and Clang, on any machine), loops where it has not. A test gives
 * 0xFF for a byte that passes and 0 for one that does not.
 */
#ifndef CAPTURE_VEC_H
#define CAPTURE_VEC_H

#include <stdint.h>
#include <string.h>

#if defined(__GNUC__) && !defined(VEC_PLAIN) && defined(__SSE2__)
#include <emmintrin.h>
#endif

#ifdef VEC_WIDE
#define VEC 32
#else
#define VEC 16
#endif

#if defined(__GNUC__) && !defined(VEC_PLAIN)
typedef uint8_t vec __attribute__((vector_size(VEC)));

static inline vec vec_and(vec a, vec b) { return a & b; }
static inline vec vec_or(vec a, vec b) { return a | b; }
static inline vec vec_not(vec a) { return ~a; }
static inline vec vec_is(vec v, uint8_t c) { return (vec)(v == c); }
/* from `c` on, `count` in a row */
static inline vec vec_in(vec v, uint8_t c, uint8_t count) { return (vec)((v - c) < count); }
static inline vec vec_fold(vec v) { return v | 0x20; }
static inline vec vec_minus(vec a, vec b) { return a - b; }
#else
typedef struct { uint8_t at[VEC]; } vec;

#define VEC_EACH(expression) \
	do { \
		vec out; \
		for (unsigned i = 0; i < VEC; i++) out.at[i] = (uint8_t)(expression); \
		return out; \
	} while (0)

static inline vec vec_and(vec a, vec b) { VEC_EACH(a.at[i] & b.at[i]); }
static inline vec vec_or(vec a, vec b) { VEC_EACH(a.at[i] | b.at[i]); }
static inline vec vec_not(vec a) { VEC_EACH(~a.at[i]); }
static inline vec vec_is(vec v, uint8_t c) { VEC_EACH(v.at[i] == c ? 0xFF : 0); }
static inline vec vec_in(vec v, uint8_t c, uint8_t count) { VEC_EACH((uint8_t)(v.at[i] - c) < count ? 0xFF : 0); }
static inline vec vec_fold(vec v) { VEC_EACH(v.at[i] | 0x20); }
static inline vec vec_minus(vec a, vec b) { VEC_EACH(a.at[i] - b.at[i]); }
#undef VEC_EACH
#endif

static inline vec vec_load(const void *from)
{
	vec v;
	memcpy(&v, from, VEC);
	return v;
}

/* A bit for each byte, the first byte's lowest. */
static inline uint32_t vec_bits(vec v)
{
#if defined(VEC_WIDE)
	return (uint32_t)_mm256_movemask_epi8((__m256i)v);
#elif defined(__GNUC__) && !defined(VEC_PLAIN) && defined(__SSE2__)
	return (uint32_t)_mm_movemask_epi8((__m128i)v);
#else
	unsigned char byte[VEC];
	uint32_t bits = 0;
	memcpy(byte, &v, VEC);
	for (unsigned i = 0; i < VEC; i++) bits |= (uint32_t)(byte[i] & 1) << i;
	return bits;
#endif
}

#endif
