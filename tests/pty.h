/* pty.h - run a program on a pseudo terminal and look at its screen.
 *
 * The program's output feeds a terminal emulator (libvterm), so a test sees
 * what a person would: text, attributes, the cursor. Nothing here sleeps to
 * let the program catch up: every wait is for a predicate, with a deadline.
 * A test that includes this links -lvterm.
 *
 *	struct pty pty;
 *	pty_exec(&pty, 24, 80, (char *[]){ "./program", NULL }, (const char *[]){ "TERM=xterm-256color", NULL });
 *	assert_true(pty_wait_text(&pty, "ready"));
 *	pty_type(&pty, "q");
 *	assert_int_equal(pty_wait_exit(&pty), 0);
 *	pty_end(&pty);
 */
#ifndef TESTS_PTY_H
#define TESTS_PTY_H

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <vterm.h>

#define PTY_DEADLINE_MS 10000   /* for every wait; a passing test comes nowhere near */
#define PTY_TYPING_MS   20      /* between typed keys: closer ones count as pasted */
#define PTY_ESCAPE_MS   80      /* after Escape: closer ones would be its sequence */
#define PTY_ROW_ROOM    2048
#define PTY_LOG_ROOM    (256 * 1024)

struct pty {
	int fd;                /* the terminal's side, or -1 once hung up */
	pid_t pid;
	char name[64];         /* of the program's side */
	VTerm *vterm;
	VTermScreen *screen;
	int rows, columns;
	VTermPos cursor;
	bool cursor_visible, alternate;
	bool ended;            /* the program has closed its side */
	bool reaped;
	int status;            /* of waitpid */
	int64_t ready_ms;      /* when the next key may be pressed */
	size_t bytes;          /* all that the program wrote so far */
	char *log;             /* the last PTY_LOG_ROOM bytes of it at most, terminated */
	size_t log_length;
};

static inline int64_t pty_now_ms(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static inline int pty_on_cursor(VTermPos at, VTermPos before, int visible, void *user)
{
	struct pty *pty = user;
	(void)before;
	(void)visible;
	pty->cursor = at;
	return 1;
}

static inline int pty_on_property(VTermProp property, VTermValue *value, void *user)
{
	struct pty *pty = user;
	if (property == VTERM_PROP_CURSORVISIBLE)
		pty->cursor_visible = value->boolean;
	if (property == VTERM_PROP_ALTSCREEN)
		pty->alternate = value->boolean;
	return 1;
}

/* Apply "NAME=value" and "-NAME" (unset) entries. */
static inline void pty_environment(const char *const *environment)
{
	for (; environment && *environment; environment++) {
		char entry[512];
		snprintf(entry, sizeof entry, "%s", *environment);
		char *equals = strchr(entry, '=');
		if (entry[0] == '-') {
			unsetenv(entry + 1);
		} else if (equals) {
			*equals = '\0';
			setenv(entry, equals + 1, 1);
		}
	}
}

static inline void pty_screen_new(struct pty *pty)
{
	static const VTermScreenCallbacks callbacks = { .movecursor = pty_on_cursor, .settermprop = pty_on_property };
	pty->vterm = vterm_new(pty->rows, pty->columns);
	vterm_set_utf8(pty->vterm, 1);
	pty->screen = vterm_obtain_screen(pty->vterm);
	vterm_screen_enable_altscreen(pty->screen, 1);
	vterm_screen_set_callbacks(pty->screen, &callbacks, pty);
	vterm_screen_reset(pty->screen, 1);
	pty->cursor_visible = true;
}

/* Run `child(argument)` on a new terminal; its result is the exit status. The
 * struct must stay where it is until pty_end. */
static inline bool pty_fork(struct pty *pty, int rows, int columns, const char *const *environment,
                            int (*child)(void *argument), void *argument)
{
	*pty = (struct pty){ .fd = -1, .rows = rows, .columns = columns };
	struct winsize size = { .ws_row = (unsigned short)rows, .ws_col = (unsigned short)columns };
	pty->fd = posix_openpt(O_RDWR | O_NOCTTY);
	const char *name = pty->fd >= 0 && grantpt(pty->fd) == 0 && unlockpt(pty->fd) == 0 ? ptsname(pty->fd) : NULL;
	if (!name)
		return false;
	snprintf(pty->name, sizeof pty->name, "%s", name);
	ioctl(pty->fd, TIOCSWINSZ, &size);
	fflush(NULL);
	pty->pid = fork();
	if (pty->pid < 0)
		return false;
	if (pty->pid == 0) {
		setsid();
		int side = open(pty->name, O_RDWR);   /* the first one becomes the controlling terminal */
		close(pty->fd);
		if (side < 0 || dup2(side, 0) < 0 || dup2(side, 1) < 0 || dup2(side, 2) < 0)
			_exit(126);
		if (side > 2)
			close(side);
		/* a shell has its background commands ignore an interrupt; this one must not */
		signal(SIGINT, SIG_DFL);
		signal(SIGQUIT, SIG_DFL);
		unsetenv("LINES");
		unsetenv("COLUMNS");
		pty_environment(environment);
		_exit(child(argument));
	}
	fcntl(pty->fd, F_SETFL, O_NONBLOCK);
	fcntl(pty->fd, F_SETFD, FD_CLOEXEC);
	pty->log = calloc(1, PTY_LOG_ROOM + 1);
	pty_screen_new(pty);
	return true;
}

static inline int pty_exec_child(void *argument)
{
	char *const *argv = argument;
	execvp(argv[0], argv);
	fprintf(stderr, "%s: %s\n", argv[0], strerror(errno));
	return 127;
}

static inline bool pty_exec(struct pty *pty, int rows, int columns, char *const *argv, const char *const *environment)
{
	union { char *const *given; void *passed; } argument = { .given = argv };
	return pty_fork(pty, rows, columns, environment, pty_exec_child, argument.passed);
}

static inline void pty_log(struct pty *pty, const char *bytes, size_t length)
{
	if (length > PTY_LOG_ROOM - pty->log_length) {
		size_t dropped = pty->log_length / 2;
		memmove(pty->log, pty->log + dropped, pty->log_length - dropped);
		pty->log_length -= dropped;
	}
	memcpy(pty->log + pty->log_length, bytes, length);
	pty->log_length += length;
	pty->log[pty->log_length] = '\0';
}

/* Take what the program writes, waiting at most `milliseconds` for the first
 * of it. Returns the bytes taken. */
static inline size_t pty_pump(struct pty *pty, int milliseconds)
{
	size_t taken = 0;
	while (pty->fd >= 0 && !pty->ended) {
		struct pollfd watched = { .fd = pty->fd, .events = POLLIN };
		if (poll(&watched, 1, taken ? 0 : milliseconds) <= 0)
			break;
		char bytes[8192];
		ssize_t length = read(pty->fd, bytes, sizeof bytes);
		if (length <= 0) {
			if (length == 0 || errno != EAGAIN)
				pty->ended = true;
			break;
		}
		vterm_input_write(pty->vterm, bytes, (size_t)length);
		pty_log(pty, bytes, (size_t)length);
		taken += (size_t)length;
		/* what a terminal answers of itself */
		char reply[256];
		size_t answer = vterm_output_read(pty->vterm, reply, sizeof reply);
		if (answer && write(pty->fd, reply, answer) < 0)
			break;
	}
	pty->bytes += taken;
	return taken;
}

/* --- looking ------------------------------------------------------------------- */

/* Row `row` as UTF-8, trailing blanks dropped; in a static buffer. */
static inline const char *pty_row(const struct pty *pty, int row)
{
	static char text[PTY_ROW_ROOM];
	size_t length = 0, end = 0;
	for (int column = 0; column < pty->columns; column++) {
		VTermScreenCell cell;
		VTermPos at = { .row = row, .col = column };
		if (!vterm_screen_get_cell(pty->screen, at, &cell) || cell.chars[0] == (uint32_t)-1)
			continue;   /* the right half of a wide character */
		VTermRect one = { .start_row = row, .end_row = row + 1, .start_col = column, .end_col = column + 1 };
		if (cell.chars[0])
			length += vterm_screen_get_text(pty->screen, text + length, sizeof text - 1 - length, one);
		else
			text[length++] = ' ';
		if (cell.chars[0] && cell.chars[0] != ' ')
			end = length;
		if (length > sizeof text - 32)
			break;
	}
	text[end] = '\0';
	return text;
}

/* The whole screen, a line feed after each row; malloc'd. */
static inline char *pty_text(const struct pty *pty)
{
	size_t length = 0;
	char *text = malloc((size_t)pty->rows * PTY_ROW_ROOM + 1);
	for (int row = 0; text && row < pty->rows; row++)
		length += (size_t)sprintf(text + length, "%s\n", pty_row(pty, row));
	if (text)
		text[length] = '\0';
	return text;
}

/* The first row that contains `text`, or -1. */
static inline int pty_find(const struct pty *pty, const char *text)
{
	for (int row = 0; row < pty->rows; row++)
		if (strstr(pty_row(pty, row), text))
			return row;
	return -1;
}

static inline VTermScreenCell pty_cell(const struct pty *pty, int row, int column)
{
	VTermScreenCell cell;
	memset(&cell, 0, sizeof cell);
	VTermPos at = { .row = row, .col = column };
	vterm_screen_get_cell(pty->screen, at, &cell);
	return cell;
}

static inline bool pty_log_has(const struct pty *pty, const char *sequence)
{
	return strstr(pty->log, sequence) != NULL;
}

/* --- waiting ------------------------------------------------------------------- */

/* Wait until the whole predicate holds (text can come before the frame is
 * whole, so put the cursor into it too). On failure the screen is printed. */
static inline bool pty_wait_for(struct pty *pty, bool (*holds)(struct pty *pty, void *argument), void *argument)
{
	int64_t deadline = pty_now_ms() + PTY_DEADLINE_MS;
	for (;;) {
		pty_pump(pty, 0);
		if (holds(pty, argument))
			return true;
		if (pty->ended || pty_now_ms() > deadline)
			break;
		pty_pump(pty, 20);
	}
	char *text = pty_text(pty);
	fprintf(stderr, "# not on the screen in time; cursor %d,%d%s:\n%s", pty->cursor.row, pty->cursor.col,
	        pty->ended ? ", terminal closed" : "", text ? text : "");
	free(text);
	return false;
}

struct pty_sought { const char *text; int row, column; };

static inline bool pty_has(struct pty *pty, void *argument)
{
	const struct pty_sought *sought = argument;
	return pty_find(pty, sought->text) >= 0 &&
	       (sought->row < 0 || (pty->cursor.row == sought->row && pty->cursor.col == sought->column));
}

static inline bool pty_lacks(struct pty *pty, void *argument)
{
	const struct pty_sought *sought = argument;
	return pty_find(pty, sought->text) < 0;
}

static inline bool pty_wait_text(struct pty *pty, const char *text)
{
	struct pty_sought sought = { text, -1, -1 };
	return pty_wait_for(pty, pty_has, &sought);
}

static inline bool pty_wait_text_cursor(struct pty *pty, const char *text, int row, int column)
{
	struct pty_sought sought = { text, row, column };
	return pty_wait_for(pty, pty_has, &sought);
}

static inline bool pty_wait_gone(struct pty *pty, const char *text)
{
	struct pty_sought sought = { text, -1, -1 };
	return pty_wait_for(pty, pty_lacks, &sought);
}

/* --- acting --------------------------------------------------------------------- */

/* Send bytes as they are, taking output meanwhile; false at the deadline. */
static inline bool pty_send(struct pty *pty, const char *bytes, size_t length)
{
	int64_t deadline = pty_now_ms() + PTY_DEADLINE_MS;
	pty->ready_ms = pty_now_ms() + PTY_TYPING_MS;
	while (length && !pty->ended && pty_now_ms() < deadline) {
		struct pollfd watched = { .fd = pty->fd, .events = POLLIN | POLLOUT };
		poll(&watched, 1, 20);
		pty_pump(pty, 0);
		ssize_t sent = write(pty->fd, bytes, length);
		if (sent > 0) {
			bytes += sent;
			length -= (size_t)sent;
		}
	}
	return length == 0;
}

/* Wait until the program has read all that was sent. */
static inline bool pty_drained(struct pty *pty)
{
	int64_t deadline = pty_now_ms() + PTY_DEADLINE_MS;
	int side = open(pty->name, O_RDWR | O_NOCTTY | O_NONBLOCK);
	int waiting = 1;
	while (side >= 0 && ioctl(side, FIONREAD, &waiting) == 0 && waiting && pty_now_ms() < deadline)
		pty_pump(pty, 1);
	if (side >= 0)
		close(side);
	return waiting == 0;
}

/* Press one key, given as the bytes that it sends, as a person does: each
 * press is read by the program before the next, and some time apart. */
static inline bool pty_key(struct pty *pty, const char *sequence)
{
	if (!pty_drained(pty))
		return false;
	for (int64_t left; !pty->ended && (left = pty->ready_ms - pty_now_ms()) > 0;)
		pty_pump(pty, (int)left);
	bool sent = pty_send(pty, sequence, strlen(sequence)) && pty_drained(pty);
	pty->ready_ms = pty_now_ms() + (strcmp(sequence, "\033") == 0 ? PTY_ESCAPE_MS : PTY_TYPING_MS);
	return sent;
}

/* Type text, a key for each character (of UTF-8). */
static inline bool pty_type(struct pty *pty, const char *text)
{
	bool sent = true;
	while (sent && *text) {
		char one[8];
		size_t length = 1;
		while (((unsigned char)text[length] & 0xC0) == 0x80 && length < 4)
			length++;
		memcpy(one, text, length);
		one[length] = '\0';
		sent = pty_key(pty, one);
		text += length;
	}
	return sent;
}

#define PTY_ENTER  "\r"
#define PTY_ESCAPE "\033"
#define PTY_UP     "\033OA"
#define PTY_DOWN   "\033OB"
#define PTY_RIGHT  "\033OC"
#define PTY_LEFT   "\033OD"
#define PTY_CTRL(letter) ((char[]){ (char)((letter) & 0x1F), '\0' })

/* Paste as a terminal does: between marks only when the program asked for
 * them. */
static inline bool pty_paste(struct pty *pty, const char *text, size_t length)
{
	char mark[16];
	vterm_keyboard_start_paste(pty->vterm);
	size_t size = vterm_output_read(pty->vterm, mark, sizeof mark);
	bool sent = pty_send(pty, mark, size) && pty_send(pty, text, length);
	vterm_keyboard_end_paste(pty->vterm);
	size = vterm_output_read(pty->vterm, mark, sizeof mark);
	return sent && pty_send(pty, mark, size);
}

/* True while the program has bracketed paste switched on. */
static inline bool pty_brackets(struct pty *pty)
{
	char mark[16];
	vterm_keyboard_start_paste(pty->vterm);
	return vterm_output_read(pty->vterm, mark, sizeof mark) > 0;
}

static inline void pty_resize(struct pty *pty, int rows, int columns)
{
	struct winsize size = { .ws_row = (unsigned short)rows, .ws_col = (unsigned short)columns };
	pty_pump(pty, 0);
	pty->rows = rows;
	pty->columns = columns;
	vterm_set_size(pty->vterm, rows, columns);
	ioctl(pty->fd, TIOCSWINSZ, &size);
}

static inline void pty_signal(struct pty *pty, int number)
{
	kill(pty->pid, number);
}

/* Close the terminal's side, as when a connection breaks. */
static inline void pty_hang_up(struct pty *pty)
{
	close(pty->fd);
	pty->fd = -1;
}

/* The terminal's modes as the program (or the shell after it) sees them. */
static inline bool pty_modes(const struct pty *pty, struct termios *modes)
{
	return tcgetattr(pty->fd, modes) == 0;
}

/* Clock ticks of processor time that the program has used, or -1. */
static inline long pty_processor(const struct pty *pty)
{
	char path[64], line[1024];
	snprintf(path, sizeof path, "/proc/%d/stat", (int)pty->pid);
	FILE *file = fopen(path, "r");
	if (!file)
		return -1;
	size_t length = fread(line, 1, sizeof line - 1, file);
	fclose(file);
	line[length] = '\0';
	unsigned long user = 0, system = 0;
	char *rest = strrchr(line, ')');
	if (!rest || sscanf(rest + 1, " %*c %*d %*d %*d %*d %*d %*u %*u %*u %*u %*u %lu %lu", &user, &system) != 2)
		return -1;
	return (long)(user + system);
}

/* Wait for the end: the exit status, 128 + n when signal n killed it, -1 at
 * the deadline. */
static inline int pty_wait_exit(struct pty *pty)
{
	int64_t deadline = pty_now_ms() + PTY_DEADLINE_MS;
	while (!pty->reaped) {
		pty->reaped = waitpid(pty->pid, &pty->status, WNOHANG) == pty->pid;
		if (!pty->reaped && pty_now_ms() > deadline)
			return -1;
		if (!pty_pump(pty, 2) && !pty->reaped && (pty->ended || pty->fd < 0))
			nanosleep(&(struct timespec){ .tv_nsec = 1000000 }, NULL);
	}
	while (pty_pump(pty, 0))
		;
	return WIFEXITED(pty->status) ? WEXITSTATUS(pty->status) : 128 + WTERMSIG(pty->status);
}

/* Release everything; a program that still runs is killed. */
static inline void pty_end(struct pty *pty)
{
	if (!pty->reaped && pty->pid > 0) {
		kill(pty->pid, SIGKILL);
		waitpid(pty->pid, &pty->status, 0);
		pty->reaped = true;
	}
	if (pty->fd >= 0)
		close(pty->fd);
	if (pty->vterm)
		vterm_free(pty->vterm);
	free(pty->log);
	*pty = (struct pty){ .fd = -1, .pid = -1, .reaped = true };
}

#endif
