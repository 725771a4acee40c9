/* The wizard on a terminal. */
#include "walk/drive.h"

#include <string.h>
#include <time.h>

#include "screen/curses.h"
#include "store/save.h"
#include "walk/live.h"
#include "walk/state.h"

static struct pm_when clock_now(const struct drive_options *options)
{
	return pm_when_utc((int64_t)time(NULL) + options->clock_ahead);
}

/* Somebody else wrote the file: say so once, before anything is typed in vain. */
static void watch_file(struct walk_state *state, const struct session *session, bool *said)
{
	bool changed = store_job_changed(&session->job);
	if (changed && !*said)
		walk_say(state, STYLE_BAD, "the job file was changed by somebody else: Esc, then l, takes the new one");
	*said = changed;
}

/* How long to wait for a key: the console may have something to do before. */
static int patience(const struct session *session)
{
	int wait = session->live ? live_wait(session->live, live_clock()) : -1;
	if (session->live && live_sending(session->live) && (wait < 0 || wait > 20))
		wait = 20;   /* the line takes no more just now */
	return wait < 0 || wait > 1000 ? 1000 : wait;
}

/* Stop as on Ctrl-Z; whoever has the terminal meanwhile may want the line too. */
static void suspend(struct curses *curses, struct walk_state *state, struct session *session)
{
	bool reading = session->live && !live_over(session->live);
	if (reading)
		live_pause(session->live);
	if (curses_suspend(curses) && reading)
		walk_say(state, STYLE_WAIT, "the console is read again; the pass that ran begins anew");
}

bool drive_terminal(struct session *session, const struct drive_options *options, int *signal, struct pm_fault *fault)
{
	struct curses_options how = { .ascii = options->ascii, .colour = options->colour };
	struct walk_state state;
	struct canvas canvas;
	struct screen_event event = { .kind = EVENT_RESIZE };
	bool leave = false, changed = false;
	*signal = 0;
	struct curses *curses = curses_open(&how, fault);
	if (!curses)
		return false;
	curses_size(curses, &event.rows, &event.columns);
	if (!canvas_init(&canvas, event.rows, event.columns, options->ascii || !curses_unicode(curses))) {
		curses_close(curses);
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	}
	walk_begin(&state, session, options->name);
	while (!leave) {
		walk_event(&state, session, &event);
		if (event.kind == EVENT_RESIZE && !canvas_resize(&canvas, event.rows, event.columns))
			break;
		if (state.want == WANT_SUSPEND)
			suspend(curses, &state, session);
		leave = drive_carry_out(&state, session);
		if (event.kind == EVENT_STOP)
			*signal = event.signal;
		if (leave || !session->judged)
			break;
		walk_draw(&state, session, &canvas);
		curses_show(curses, &canvas);
		curses_wait(curses, patience(session), session->live ? live_fd(session->live) : -1, NULL, &event);
		if (!session_refresh(session, clock_now(options)))
			break;
		if (event.kind != EVENT_STOP)   /* else what there is is kept at once */
			drive_listen(&state, session);
		if (event.kind == EVENT_TICK)
			watch_file(&state, session, &changed);
	}
	canvas_free(&canvas);
	/* while signals are still caught */
	bool good = !session->live || session_disconnect(session, fault);
	curses_close(curses);
	return leave ? good : pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
}
