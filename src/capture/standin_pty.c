/* The stand-in console on a pseudo-terminal, in real time. */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "capture/standin.h"

#define NOBODY_MS 20    /* between looks whether somebody has come */
#define PIECE 256

static int64_t clock_ms(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Nothing is done to the bytes, and nothing that is said comes back. */
static bool make_raw(int fd)
{
	struct termios modes;
	if (tcgetattr(fd, &modes) != 0) return false;
	modes.c_iflag &= (tcflag_t)~(IGNBRK | BRKINT | PARMRK | ISTRIP | INLCR | IGNCR | ICRNL | IXON | IXOFF);
	modes.c_oflag &= (tcflag_t)~OPOST;
	modes.c_lflag &= (tcflag_t)~(ECHO | ECHONL | ICANON | ISIG | IEXTEN);
	modes.c_cflag = (modes.c_cflag & (tcflag_t)~(CSIZE | PARENB)) | CS8;
	return tcsetattr(fd, TCSANOW, &modes) == 0;
}

int standin_open(char *name, size_t room, struct pm_fault *fault)
{
	struct pm_place none = { 0 };
	int fd = posix_openpt(O_RDWR | O_NOCTTY), side = -1;
	const char *path = NULL;
	if (fd >= 0 && grantpt(fd) == 0 && unlockpt(fd) == 0) path = ptsname(fd);
	if (path && strlen(path) < room) {
		strcpy(name, path);
		side = open(path, O_RDWR | O_NOCTTY);
	}
	bool good = side >= 0 && make_raw(side) && fcntl(fd, F_SETFD, FD_CLOEXEC) == 0
		&& fcntl(fd, F_SETFL, fcntl(fd, F_GETFL) | O_NONBLOCK) == 0;
	int error = errno;
	if (side >= 0) close(side);
	if (good) return fd;
	if (fd >= 0) close(fd);
	pm_fail(fault, PM_FAULT_UNREADABLE, none, "no pseudo-terminal to be had: %s", strerror(error));
	return -1;
}

/* What is on its way out; what nobody takes is lost. */
struct piece {
	char bytes[PIECE];
	size_t length, at;
};

/* False when the descriptor is of no more use. */
static bool write_piece(int fd, struct piece *piece)
{
	while (piece->at < piece->length) {
		ssize_t took = write(fd, piece->bytes + piece->at, piece->length - piece->at);
		if (took > 0) piece->at += (size_t)took;
		else if (took < 0 && errno == EINTR) continue;
		else if (took < 0 && (errno == EAGAIN || errno == EIO)) return true;
		else return false;
	}
	return true;
}

/* What was typed. `*somebody` turns false when the other end is not open. */
static bool read_typed(int fd, struct standin *standin, bool *somebody, int64_t now)
{
	char typed[PIECE];
	for (;;) {
		ssize_t got = read(fd, typed, sizeof typed);
		if (got > 0) {
			standin_feed(standin, typed, (size_t)got, now);
			*somebody = true;
		} else if (got < 0 && errno == EINTR) {
			continue;
		} else if (got < 0 && errno == EIO) {
			*somebody = false;
			return true;
		} else {
			return got < 0 && errno == EAGAIN;
		}
	}
}

static bool play(struct standin *standin, int fd, int stop, int64_t seconds, struct pm_fault *fault)
{
	int64_t begun = clock_ms();
	struct piece piece = { .length = 0 };
	bool somebody = true;
	for (;;) {
		int64_t now = clock_ms(), left = seconds > 0 ? begun + seconds * 1000 - now : -1;
		if (seconds > 0 && left <= 0) return true;
		if (piece.at == piece.length) {
			piece.at = 0;
			piece.length = standin_take(standin, piece.bytes, sizeof piece.bytes, now);
		}
		if (!somebody) piece.at = piece.length;
		if (!write_piece(fd, &piece)) return true;
		bool full = piece.at < piece.length;
		int wait = full ? -1 : standin_wait(standin, now);
		if (!somebody && (wait < 0 || wait > NOBODY_MS)) wait = NOBODY_MS;
		if (left >= 0 && (wait < 0 || wait > left)) wait = (int)left;
		/* A closed other end would wake poll at once, again and again. */
		struct pollfd watch[2] = {
			{ .fd = stop, .events = POLLIN },
			{ .fd = somebody ? fd : -1, .events = (short)(POLLIN | (full ? POLLOUT : 0)) },
		};
		int woken = poll(watch, 2, wait);
		if (woken < 0 && errno != EINTR)
			return pm_fail(fault, PM_FAULT_UNREADABLE, (struct pm_place){ 0 }, "waiting failed: %s", strerror(errno));
		if (woken > 0 && watch[0].revents) return true;
		bool before = somebody;
		if (!somebody) {
			struct pollfd look = { .fd = fd, .events = POLLIN };
			somebody = poll(&look, 1, 0) >= 0 && !(look.revents & POLLHUP);
			/* Whoever came may not have set it up yet. */
			if (somebody) make_raw(fd);
		}
		if (somebody && !read_typed(fd, standin, &somebody, clock_ms())) return true;
		if (before && !somebody) piece.at = piece.length;
	}
}

bool standin_play(const struct standin_options *options, int fd, int stop, int64_t seconds, struct pm_fault *fault)
{
	struct standin *standin = standin_begin(options, clock_ms());
	if (!standin) return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	bool good = play(standin, fd, stop, seconds, fault);
	standin_free(standin);
	return good;
}
