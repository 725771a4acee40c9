/* The board on a terminal. */
#include "board/drive.h"

#include <time.h>

#include "screen/curses.h"

#define LOOK_MS    2000   /* between looks at what has changed on disk, */
#define LOOK_SHARE 60     /* or so many times as long as the last one took */
#define TAKE_MS    100    /* between two takes of what was read: a key must not wait behind them */
#define FIRST_MS   60     /* that the first picture waits for a site to show */
#define FORESEE_MS 30     /* between two looks whether the forecast is made */
#define JUDGE_S    60     /* what depends on the time of day is judged again after so long */

bool board_carry_out(struct board_state *state, struct board_model *model)
{
	struct pm_fault fault = { 0 };
	bool good = true;
	switch (state->want) {
	case WANT_NOTHING:
	case WANT_SUSPEND:
		break;
	case WANT_OPEN:
		good = board_model_open(model, state->site, &fault);
		break;
	case WANT_FORECAST:
		if (!board_model_foresee(model, false))
			good = pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
		break;
	case WANT_WAIVE:
		good = board_waive(model, &state->picked, state->by, state->field.text, &fault);
		break;
	case WANT_LEAVE:
		return true;
	}
	if (good)
		board_done(state, model);
	else
		board_failed(state, &fault);
	return false;
}

/* --- time --- */

struct clock {
	int64_t ahead;          /* seconds */
	int64_t begun;          /* reading, milliseconds of the steady clock */
	int64_t taken;
	int64_t looked, look_every;
};

static int64_t steady_ms(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static struct pm_when now_of(const struct clock *clock)
{
	return pm_when_utc((int64_t)time(NULL) + clock->ahead);
}

static bool take_in(struct board_state *state, struct board_model *model, struct clock *clock, int patience)
{
	if (!board_model_take_in(model, patience))
		return false;
	clock->taken = steady_ms();
	model->waited = (int)(clock->taken - clock->begun);
	board_changed(state, model);
	board_carry_out(state, model);
	return true;
}

/* A file that was changed is read in one go where that takes no time to speak of. */
static bool look_again(struct board_state *state, struct board_model *model, struct clock *clock)
{
	bool due = model->now.second - model->held_at >= JUDGE_S;
	int64_t begun = steady_ms();
	bool again = board_model_look_again(model, due);
	clock->looked = steady_ms();
	clock->look_every = (clock->looked - begun) * LOOK_SHARE;
	if (clock->look_every < LOOK_MS)
		clock->look_every = LOOK_MS;
	if (again) {
		clock->begun = begun;
		return take_in(state, model, clock, TAKE_MS);
	}
	if (!due)
		return true;
	bool good = board_model_hold_together(model);
	board_changed(state, model);
	board_carry_out(state, model);
	return good;
}

/* What there is to do between two keys. False when memory ran out. */
static bool attend(struct board_state *state, struct board_model *model, struct clock *clock)
{
	int64_t steady = steady_ms();
	if (model->reading)
		return steady - clock->taken < TAKE_MS || take_in(state, model, clock, 0);
	if (!model->foreseeing && steady - clock->looked >= clock->look_every && !look_again(state, model, clock))
		return false;
	return board_model_foresee(model, false);
}

/* How long to wait for a key, and whether to look at what is read meanwhile. */
static int patience(const struct board_model *model, const struct clock *clock, bool *watch)
{
	int64_t steady = steady_ms();
	int64_t until = model->reading ? clock->taken + TAKE_MS : clock->looked + clock->look_every;
	*watch = model->reading && until <= steady;
	if (*watch)
		return TAKE_MS;
	if (!model->reading && !model->foreseen)
		return FORESEE_MS;
	return until > steady ? (int)(until - steady) : 0;
}

static bool run(struct curses *curses, struct canvas *canvas, struct board_state *state, struct board_model *model,
                struct clock *clock, int *signal)
{
	struct screen_event event = { .kind = EVENT_RESIZE };
	curses_size(curses, &event.rows, &event.columns);
	if (!take_in(state, model, clock, FIRST_MS))
		return false;
	for (;;) {
		bool watch, waived;
		board_event(state, model, &event);
		if (event.kind == EVENT_RESIZE && !canvas_resize(canvas, event.rows, event.columns))
			return false;
		if (state->want == WANT_SUSPEND)
			curses_suspend(curses);
		if (event.kind == EVENT_STOP)
			*signal = event.signal;
		waived = state->want == WANT_WAIVE;
		if (board_carry_out(state, model))
			return true;
		if (waived)
			clock->looked = steady_ms() - clock->look_every;   /* what it has changed shows at once */
		board_draw(state, model, canvas);
		curses_show(curses, canvas);
		int wait = patience(model, clock, &watch);
		curses_wait(curses, wait, watch ? gather_fd(model->gather) : -1, NULL, &event);
		model->now = now_of(clock);
		if (!attend(state, model, clock))
			return false;
	}
}

bool board_run(struct gather *gather, const struct board_options *options, int *signal, struct pm_fault *fault)
{
	struct curses_options how = { .ascii = options->ascii, .colour = options->colour };
	struct clock clock = { .ahead = options->clock_ahead, .begun = steady_ms(), .look_every = LOOK_MS };
	struct board_state state;
	struct board_model model;
	struct canvas canvas;
	*signal = 0;
	struct curses *curses = curses_open(&how, fault);
	if (!curses)
		return false;
	bool good = canvas_init(&canvas, 24, 80, options->ascii || !curses_unicode(curses));
	if (good) {
		clock.looked = clock.begun;
		board_model_begin(&model, gather, options, now_of(&clock));
		board_begin(&state, &model, options->name);
		good = run(curses, &canvas, &state, &model, &clock, signal);
		board_end(&state);
		board_model_end(&model);
		canvas_free(&canvas);
	}
	curses_close(curses);
	return good || pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
}
