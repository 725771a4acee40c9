#include "capture/standin_parts.h"

uint64_t chance_next(uint64_t *state)
{
	uint64_t z = *state += 0x9E3779B97F4A7C15u;
	z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9u;
	z = (z ^ z >> 27) * 0x94D049BB133111EBu;
	return z ^ z >> 31;
}

unsigned chance_below(uint64_t *state, unsigned below)
{
	return (unsigned)((chance_next(state) >> 32) * below >> 32);
}

bool chance_one_in(uint64_t *state, unsigned of)
{
	return of && chance_below(state, of) == 0;
}

size_t chance_noise(uint64_t *state, const struct standin_options *options, char byte, char out[static 2])
{
	out[0] = out[1] = byte;
	if (chance_one_in(state, options->drop)) return 0;
	/* A disturbance on the wire changes a bit. */
	if (chance_one_in(state, options->flip)) out[0] = (char)((unsigned char)byte ^ 1u << chance_below(state, 8));
	return chance_one_in(state, options->doubled) ? 2 : 1;
}
