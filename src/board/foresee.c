#include "board/foresee.h"

#include <signal.h>

static void *work(void *argument)
{
	struct foresee *f = argument;
	f->good = pm_forecast_make(f->fleet, f->now, &f->options, &f->arena, &f->forecast);
	atomic_store(&f->ended, true);
	return NULL;
}

void foresee_begin(struct foresee *f, const struct pm_fleet *fleet, struct pm_when now,
                   const struct pm_forecast_options *options)
{
	sigset_t all, before;
	*f = (struct foresee){ .fleet = fleet, .now = now, .options = *options };
	pm_arena_init(&f->arena);
	/* signals are for the thread that waits for keys */
	sigfillset(&all);
	pthread_sigmask(SIG_SETMASK, &all, &before);
	f->running = pthread_create(&f->thread, NULL, work, f) == 0;
	pthread_sigmask(SIG_SETMASK, &before, NULL);
	if (!f->running)
		work(f);
}

bool foresee_take(struct foresee *f, struct pm_arena *arena, struct pm_forecast *forecast)
{
	if (f->running)
		pthread_join(f->thread, NULL);
	f->running = false;
	*arena = f->arena;
	*forecast = f->forecast;
	return f->good;
}

void foresee_drop(struct foresee *f)
{
	struct pm_arena arena;
	struct pm_forecast forecast;
	foresee_take(f, &arena, &forecast);
	pm_arena_free(&arena);
}
