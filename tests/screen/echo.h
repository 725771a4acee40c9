/* echo.h - a small program that shows every event it gets, for tests of the
 * terminal on a pseudo terminal. */
#ifndef TESTS_SCREEN_ECHO_H
#define TESTS_SCREEN_ECHO_H

#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "pty.h"

#include "screen/curses.h"

struct echo {
	bool ascii, colour, ignore_hangup, cursor_shown;
	bool restless;      /* draws one whole new frame after another */
	bool never_stops;   /* takes EVENT_STOP and goes on */
	int extra;          /* a descriptor to watch, or -1 */
	int report;         /* gets an S for each EVENT_STOP, or -1 */
};

static inline unsigned sum(const char *bytes, size_t length)
{
	unsigned sum = 0;
	for (size_t i = 0; i < length; i++)
		sum = sum * 31 + (unsigned char)bytes[i];
	return sum;
}

static inline void name_event(const struct screen_event *event, bool extra, char *out, size_t room)
{
	static const char *const names[] = {
		[KEYS_NONE] = "none", [KEYS_ENTER] = "enter", [KEYS_ESCAPE] = "esc", [KEYS_TAB] = "tab",
		[KEYS_BACK_TAB] = "backtab", [KEYS_UP] = "up", [KEYS_DOWN] = "down", [KEYS_LEFT] = "left",
		[KEYS_RIGHT] = "right", [KEYS_HOME] = "home", [KEYS_END] = "end", [KEYS_PAGE_UP] = "pgup",
		[KEYS_PAGE_DOWN] = "pgdn", [KEYS_ERASE] = "erase", [KEYS_DELETE] = "delete", [KEYS_CTRL] = "ctrl",
	};
	const char *burst = event->burst ? " burst" : "";
	switch (event->kind) {
	case EVENT_KEY:
		if (event->key == KEYS_CTRL)
			snprintf(out, room, "ctrl-%c", (char)event->point);
		else
			snprintf(out, room, "%s%s", names[event->key], burst);
		break;
	case EVENT_CHARACTER: snprintf(out, room, "point %04X%s", (unsigned)event->point, burst); break;
	case EVENT_PASTE:
		snprintf(out, room, "paste %zu sum %u", event->length, sum(event->text, event->length));
		break;
	case EVENT_RESIZE: snprintf(out, room, "resize"); break;
	case EVENT_TICK: snprintf(out, room, extra ? "extra" : "tick"); break;
	case EVENT_STOP: snprintf(out, room, "stop %d", event->signal); break;
	case EVENT_INTERRUPT: snprintf(out, room, "interrupt"); break;
	}
}

static inline void draw_echo(struct canvas *canvas, const struct echo *echo, const char *last, int events, unsigned frame)
{
	canvas_clear(canvas);
	if (echo->restless)
		for (int row = 3; row < canvas->rows; row++)
			canvas_fill(canvas, row, 0, 1, canvas->columns, (enum canvas_style)((frame + (unsigned)row) % STYLES),
			            'a' + (frame * 7 + (unsigned)row) % 26);
	canvas_print(canvas, 0, 0, canvas->columns, STYLE_PLAIN, "size %dx%d", canvas->rows, canvas->columns);
	canvas_print(canvas, 1, 0, canvas->columns, STYLE_PLAIN, "last <%s>", last);
	canvas_print(canvas, 2, 0, canvas->columns, STYLE_PLAIN, "events %d", events);
	if (!echo->restless && canvas->rows > 9) {
		for (int style = 0; style < STYLES; style++)
			canvas_put(canvas, 4, style * 4, 3, (enum canvas_style)style, "sty");
		canvas_box(canvas, 5, 0, 3, 14, STYLE_PLAIN);
		canvas_put(canvas, 6, 2, 10, STYLE_PLAIN, "水 e\xCC\x81 → \033");
	}
	canvas->cursor_row = 1;
	canvas->cursor_column = 6;
	canvas->cursor_shown = echo->cursor_shown;
}

static inline int run_echo(void *argument)
{
	const struct echo *echo = argument;
	setlocale(LC_ALL, "");
	if (echo->ignore_hangup)
		signal(SIGHUP, SIG_IGN);
	struct pm_fault fault = { .kind = PM_FAULT_NONE };
	struct curses *curses = curses_open(&(struct curses_options){ echo->ascii, echo->colour }, &fault);
	if (!curses) {
		printf("%s; %s\r\n", fault.message, fault.remedy);
		fflush(stdout);
		return 2;
	}
	struct canvas canvas;
	int rows, columns, events = 0, status = 0;
	char last[64] = "none";
	curses_size(curses, &rows, &columns);
	canvas_init(&canvas, rows, columns, !curses_unicode(curses));
	for (unsigned frame = 0;; frame++) {
		draw_echo(&canvas, echo, last, events, frame);
		curses_show(curses, &canvas);
		struct screen_event event;
		bool extra = false;
		curses_wait(curses, echo->restless ? 0 : -1, echo->extra, &extra, &event);
		if (event.kind == EVENT_TICK && !extra)
			continue;
		events++;
		name_event(&event, extra, last, sizeof last);
		char byte;
		if (extra && read(echo->extra, &byte, 1) < 0)
			break;
		if (event.kind == EVENT_RESIZE)
			canvas_resize(&canvas, event.rows, event.columns);
		if (event.kind == EVENT_KEY && event.key == KEYS_CTRL && event.point == 'z')
			curses_suspend(curses);
		if (event.kind == EVENT_STOP && echo->report >= 0 && write(echo->report, "S", 1) < 0)
			break;
		if (event.kind == EVENT_STOP && !echo->never_stops) {
			status = 128 + event.signal;
			break;
		}
		if (event.kind == EVENT_CHARACTER && event.point == 'Q' && !event.burst)
			break;
	}
	curses_close(curses);
	canvas_free(&canvas);
	return status;
}

static inline struct echo usual(void)
{
	return (struct echo){ .colour = true, .extra = -1, .report = -1 };
}

static const char *const xterm[] = { "TERM=xterm-256color", "LC_ALL=C.UTF-8", "-NO_COLOR", "-ESCDELAY", NULL };

static inline void start(struct pty *pty, struct echo *echo, int rows, int columns, const char *const *environment)
{
	assert_true(pty_fork(pty, rows, columns, environment, run_echo, echo));
	assert_true(pty_wait_text_cursor(pty, "events 0", 1, 6));   /* the cursor comes last */
}

static inline void finish(struct pty *pty)
{
	assert_true(pty_key(pty, "Q"));
	assert_int_equal(pty_wait_exit(pty), 0);
	pty_end(pty);
}

#endif
