#include "capture/standin_parts.h"
#include "portmuster/forecast.h"

uint64_t chance_next(uint64_t *state)
{
	return pm_random_next(state);
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
