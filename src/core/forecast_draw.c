/* Random numbers for the forecast: seeded, the same everywhere, no state but the
 * caller's. Not for secrets. */
#include "portmuster/forecast.h"

uint64_t pm_random_next(uint64_t *state)
{
	uint64_t z = *state += 0x9E3779B97F4A7C15u;
	z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9u;
	z = (z ^ z >> 27) * 0x94D049BB133111EBu;
	return z ^ z >> 31;
}

/* Lemire's way: scale 32 bits by a product, and draw again for the few values
 * that would make some results likelier than others. */
uint32_t pm_random_below(uint64_t *state, uint32_t below)
{
	if (below == 0)
		return 0;
	uint32_t surplus = -below % below;
	for (;;) {
		uint64_t product = (pm_random_next(state) >> 32) * below;
		if ((uint32_t)product >= surplus)
			return (uint32_t)(product >> 32);
	}
}

/* The greater of two uniform numbers has a density that rises as a line: two such
 * lines make the triangle, and no root has to be taken. */
int64_t pm_random_triangle(uint64_t *state, int64_t least, int64_t likely, int64_t most)
{
	uint64_t rise = (uint64_t)(likely - least), fall = (uint64_t)(most - likely);
	if (rise + fall == 0 || rise + fall > UINT32_MAX)
		return likely;
	bool rises = pm_random_below(state, (uint32_t)(rise + fall)) < rise;
	uint64_t a = pm_random_next(state) >> 32, b = pm_random_next(state) >> 32;
	uint64_t far = a > b ? a : b;
	return rises ? least + (int64_t)(rise * far >> 32) : most - (int64_t)(fall * far >> 32);
}
