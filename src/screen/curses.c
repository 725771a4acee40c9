#include "screen/curses.h"

#include <errno.h>
#include <langinfo.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include <curses.h>

#include "portmuster/text.h"
#include "screen/curses_parts.h"
#include "screen/curses_rescue.h"
#include "screen/input.h"

#define ESCAPE_MS      50     /* how long Escape waits for a sequence */
#define HUNG_AGAIN_MS  1000   /* a dead input says so again */

enum pending {
	PENDING_STOP = 1, PENDING_INTERRUPT = 2, PENDING_SUSPEND = 4, PENDING_CONTINUE = 8, PENDING_RESIZE = 16,
};

struct curses {
	SCREEN *screen;
	FILE *out;
	struct signals signals;
	struct back back;
	struct input input;
	unsigned pending;
	int stop_signal;
	int cursor;          /* 1: shown */
	bool hung, hung_told;
	bool unicode, colour, pastes;
};

static const char paste_on[] = "\033[?2004h", paste_off[] = "\033[?2004l";

static int64_t steady_ms(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void send(const struct curses *curses, const char *sequence)
{
	size_t length = strlen(sequence);
	while (length) {
		ssize_t sent = write(fileno(curses->out), sequence, length);
		if (sent <= 0)
			return;
		sequence += sent;
		length -= (size_t)sent;
	}
}

/* --- opening and closing ----------------------------------------------------------- */

static void learn_keys(struct curses *curses)
{
	static const struct { const char *capability; enum screen_key key; } keys[] = {
		{ "kcuu1", KEYS_UP }, { "kcud1", KEYS_DOWN }, { "kcub1", KEYS_LEFT }, { "kcuf1", KEYS_RIGHT },
		{ "khome", KEYS_HOME }, { "kend", KEYS_END }, { "kpp", KEYS_PAGE_UP }, { "knp", KEYS_PAGE_DOWN },
		{ "kdch1", KEYS_DELETE }, { "kbs", KEYS_ERASE }, { "kcbt", KEYS_BACK_TAB }, { "kent", KEYS_ENTER },
	};
	for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
		const char *sequence = tigetstr(keys[i].capability);
		if (sequence != (char *)-1)
			input_learn(&curses->input, sequence, keys[i].key);
	}
}

static int escape_delay(void)
{
	uint64_t set;
	return pm_read_number(getenv("ESCDELAY"), 10000, &set) ? (int)set : ESCAPE_MS;
}

/* Take the terminal's own size; a terminal that knows none keeps the one of
 * its description. */
static void take_size(void)
{
	struct winsize size;
	if (ioctl(STDIN_FILENO, TIOCGWINSZ, &size) != 0 || !size.ws_row || !size.ws_col)
		return;
	if (is_term_resized(size.ws_row, size.ws_col))
		resizeterm(size.ws_row, size.ws_col);
}

static bool begin_screen(struct curses *curses, const char *terminal, struct pm_fault *fault)
{
	struct pm_place no_place = { NULL, 0, 0 };
	int fd = dup(STDOUT_FILENO);
	curses->out = fd < 0 ? NULL : fdopen(fd, "w");
	if (!curses->out) {
		if (fd >= 0)
			close(fd);
		return pm_fail(fault, PM_FAULT_UNREADABLE, no_place, "standard output cannot be doubled: %s", strerror(errno));
	}
	back_find(&curses->back, STDOUT_FILENO);   /* `fd` may lead nowhere for a while */
	curses->screen = newterm(terminal, curses->out, stdin);
	if (!curses->screen) {
		fclose(curses->out);
		return pm_fail(fault, PM_FAULT_UNREADABLE, no_place, "the terminal cannot be opened");
	}
	const char *address = tigetstr("cup");
	curses->pastes = address && strncmp(address, "\033[", 2) == 0;
	if (curses->pastes)
		back_add(&curses->back, paste_off);
	back_learn(&curses->back);
	rescue_set(RESCUE_SCREEN, back_rescue, &curses->back);
	raw();              /* Ctrl-C, Ctrl-Z and Ctrl-S are keys; no flow control */
	noecho();
	nonl();
	keypad(stdscr, TRUE);
	typeahead(-1);      /* a frame is drawn whole */
	curses->colour = curses->colour && draw_colours();
	take_size();
	learn_keys(curses);
	if (curses->pastes)
		send(curses, paste_on);
	return true;
}

struct curses *curses_open(const struct curses_options *options, struct pm_fault *fault)
{
	struct pm_place no_place = { NULL, 0, 0 };
	if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO)) {
		pm_fail(fault, PM_FAULT_USAGE, no_place, "standard %s is not a terminal",
		        isatty(STDIN_FILENO) ? "output" : "input");
		return NULL;
	}
	char room[64];
	const char *terminal = terminal_choose(getenv("TERM"), STDOUT_FILENO, room, sizeof room, fault);
	if (!terminal)
		return NULL;
	struct curses *curses = calloc(1, sizeof *curses);
	if (!curses) {
		pm_fail(fault, PM_FAULT_MEMORY, no_place, "out of memory");
		return NULL;
	}
	curses->unicode = !options->ascii && pm_same_nocase(nl_langinfo(CODESET), "UTF-8");
	curses->colour = options->colour;
	input_init(&curses->input, escape_delay());
	if (!signals_open(&curses->signals, fault)) {
		free(curses);
		return NULL;
	}
	if (!begin_screen(curses, terminal, fault)) {
		signals_close(&curses->signals);
		free(curses);
		return NULL;
	}
	return curses;
}

static void leave_screen(struct curses *curses)
{
	if (curses->back.away)
		return;
	if (curses->pastes)
		send(curses, paste_off);
	endwin();
	curses->back.away = true;
}

void curses_close(struct curses *curses)
{
	if (!curses)
		return;
	/* in the background the terminal is somebody else's */
	if (back_ours(fileno(curses->out))) {
		back_unstick(fileno(curses->out));
		leave_screen(curses);
	}
	rescue_clear(RESCUE_SCREEN);
	delscreen(curses->screen);
	fclose(curses->out);
	input_free(&curses->input);
	signals_close(&curses->signals);
	free(curses);
}

void curses_size(const struct curses *curses, int *rows, int *columns)
{
	(void)curses;
	getmaxyx(stdscr, *rows, *columns);
	if (*rows > CANVAS_MOST_SIDE)
		*rows = CANVAS_MOST_SIDE;
	if (*columns > CANVAS_MOST_SIDE)
		*columns = CANVAS_MOST_SIDE;
}

bool curses_unicode(const struct curses *curses)
{
	return curses->unicode;
}

/* --- showing ------------------------------------------------------------------------ */

static void update(const struct curses *curses, int cursor)
{
	int fd = fileno(curses->out);
	signals_draw(fd);
	if (!signals_stopping()) {
		doupdate();
		curs_set(cursor);
	}
	if (signals_drawn()) {
		curs_set(0);   /* said to nobody: the end will show the cursor again */
		dup2(STDOUT_FILENO, fd);
	}
}

void curses_show(struct curses *curses, const struct canvas *canvas)
{
	if (curses->back.away || signals_stopping())
		return;
	draw_canvas(canvas, curses->unicode, curses->colour);
	curses->cursor = canvas->cursor_shown ? 1 : 0;
	update(curses, curses->cursor);
}

/* False when it is to end instead. */
static bool return_to_screen(struct curses *curses)
{
	if (!signals_foreground(fileno(curses->out)))
		return false;
	curses->back.away = false;
	reset_prog_mode();
	take_size();
	clearok(curscr, TRUE);
	update(curses, curses->cursor);
	if (curses->pastes)
		send(curses, paste_on);
	curses->pending |= PENDING_RESIZE;   /* whoever draws should look again */
	return true;
}

bool curses_suspend(struct curses *curses)
{
	if (signals_stopping())
		return false;
	leave_screen(curses);
	signals_suspend(&curses->signals);
	return return_to_screen(curses);
}

/* --- waiting ------------------------------------------------------------------------ */

static void collect_signals(struct curses *curses)
{
	unsigned char number[64];
	ssize_t count;
	while ((count = read(curses->signals.pipe[0], number, sizeof number)) > 0)
		for (ssize_t i = 0; i < count; i++)
			switch (number[i]) {
			case SIGTERM: case SIGHUP: case SIGQUIT:
				curses->pending |= PENDING_STOP;
				curses->stop_signal = number[i];
				break;
			case SIGINT: curses->pending |= PENDING_INTERRUPT; break;
			case SIGTSTP: curses->pending |= PENDING_SUSPEND; break;
			case SIGCONT: curses->pending |= PENDING_CONTINUE; break;
			case SIGWINCH: curses->pending |= PENDING_RESIZE; break;
			}
}

static bool take_pending(struct curses *curses, unsigned which)
{
	bool set = curses->pending & which;
	curses->pending &= ~which;
	return set;
}

static bool next_signal(struct curses *curses, struct screen_event *event)
{
	collect_signals(curses);
	if (take_pending(curses, PENDING_STOP)) {
		*event = (struct screen_event){ .kind = EVENT_STOP, .signal = curses->stop_signal };
	} else if (take_pending(curses, PENDING_INTERRUPT)) {
		*event = (struct screen_event){ .kind = EVENT_INTERRUPT };
	} else if (take_pending(curses, PENDING_SUSPEND)) {
		*event = (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 'z' };
	} else {
		if (take_pending(curses, PENDING_CONTINUE))
			return_to_screen(curses);
		if (!take_pending(curses, PENDING_RESIZE))
			return false;
		take_size();
		*event = (struct screen_event){ .kind = EVENT_RESIZE };
		curses_size(curses, &event->rows, &event->columns);
	}
	return true;
}

static void read_input(struct curses *curses)
{
	char bytes[16384];
	int64_t now = steady_ms();
	ssize_t length = read(STDIN_FILENO, bytes, sizeof bytes);
	if (length > 0)
		input_feed(&curses->input, bytes, (size_t)length, now);
	else if (length == 0 || (errno != EINTR && errno != EAGAIN))
		curses->hung = true;
}

static int sooner(int a, int b)
{
	return a < 0 ? b : b < 0 || a < b ? a : b;
}

/* One poll. Returns true when the wait is over (EVENT_TICK). */
static bool wait_once(struct curses *curses, int milliseconds, int extra, bool *extra_ready)
{
	struct pollfd watched[] = {
		{ .fd = curses->signals.pipe[0], .events = POLLIN },
		{ .fd = curses->hung ? -1 : STDIN_FILENO, .events = POLLIN },
		{ .fd = extra, .events = POLLIN },
	};
	int timeout = sooner(milliseconds, input_wait(&curses->input, steady_ms()));
	int ready = poll(watched, 3, timeout);
	if (ready < 0)
		return errno != EINTR;
	if (ready == 0)
		return milliseconds >= 0 && timeout == milliseconds;
	if (watched[1].revents)
		read_input(curses);
	else if (!watched[0].revents && watched[2].revents) {
		if (extra_ready)
			*extra_ready = true;
		return true;
	}
	return false;
}

void curses_wait(struct curses *curses, int milliseconds, int extra, bool *extra_ready,
                 struct screen_event *event)
{
	*event = (struct screen_event){ .kind = EVENT_TICK };
	if (extra_ready)
		*extra_ready = false;
	if (curses->hung_told)   /* an end of input lasts: say so again, but idly */
		milliseconds = sooner(milliseconds, HUNG_AGAIN_MS);
	int64_t deadline = steady_ms() + milliseconds;
	for (;;) {
		if (next_signal(curses, event) || input_next(&curses->input, event))
			break;
		if (curses->hung && !curses->hung_told) {
			curses->hung_told = true;
			*event = (struct screen_event){ .kind = EVENT_STOP, .signal = SIGHUP };
			break;
		}
		int64_t left = deadline - steady_ms();
		if (wait_once(curses, milliseconds < 0 ? -1 : left < 0 ? 0 : (int)left, extra, extra_ready)) {
			if (curses->hung_told && !(extra_ready && *extra_ready))
				*event = (struct screen_event){ .kind = EVENT_STOP, .signal = SIGHUP };
			break;
		}
		input_flush(&curses->input, steady_ms());
	}
	event->now = time(NULL);
}
