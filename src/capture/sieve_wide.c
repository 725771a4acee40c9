/* The tests of sieve.h for processors that take 32 bytes at once. */
#include "capture/sieve_parts.h"

#ifdef SIEVE_MAY_BE_WIDE
#define VEC_WIDE
#include <immintrin.h>
#if defined(__clang__)
#pragma clang attribute push(__attribute__((target("avx2"))), apply_to = function)
#else
#pragma GCC push_options
#pragma GCC target("avx2")
#endif

#include "capture/sieve_body.h"

#if defined(__clang__)
#pragma clang attribute pop
#else
#pragma GCC pop_options
#endif

const struct sieve_tests sieve_wide = SIEVE_TESTS;
#endif
