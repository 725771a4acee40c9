/* Signals: the handler only writes to a pipe, and wait reads it. */
#include "screen/curses_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

/* All that a handler can see of the world. */
static volatile sig_atomic_t wake = -1;       /* where it writes */
static volatile sig_atomic_t drawing = -1;    /* output that is being written */
static volatile sig_atomic_t nowhere = -1;
static volatile sig_atomic_t stopping;

static const int caught[SIGNALS_CAUGHT] = { SIGWINCH, SIGTERM, SIGHUP, SIGQUIT, SIGINT, SIGTSTP, SIGCONT };

static bool asks_to_end(int number)
{
	return number == SIGTERM || number == SIGHUP || number == SIGQUIT;
}

static void on_signal(int number)
{
	int saved = errno;
	unsigned char byte = (unsigned char)number;
	if (asks_to_end(number)) {
		stopping = 1;
		if (drawing >= 0)
			dup2(nowhere, drawing);
	}
	/* a full pipe wakes the reader all the same */
	ssize_t ignored = write(wake, &byte, 1);
	(void)ignored;
	errno = saved;
}

static void catch_signal(int number)
{
	struct sigaction action;
	memset(&action, 0, sizeof action);
	action.sa_handler = on_signal;
	action.sa_flags = SA_RESTART;
	sigfillset(&action.sa_mask);
	sigaction(number, &action, NULL);
}

static void mark(int fd)
{
	fcntl(fd, F_SETFD, FD_CLOEXEC);
	fcntl(fd, F_SETFL, O_NONBLOCK);
}

bool signals_open(struct signals *signals, struct pm_fault *fault)
{
	struct pm_place no_place = { NULL, 0, 0 };
	if (wake >= 0)
		return pm_fail(fault, PM_FAULT_USAGE, no_place, "the terminal is open already");
	signals->nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
	if (signals->nowhere < 0)
		return pm_fail(fault, PM_FAULT_UNREADABLE, no_place, "/dev/null cannot be opened: %s", strerror(errno));
	if (pipe(signals->pipe) != 0) {
		close(signals->nowhere);
		return pm_fail(fault, PM_FAULT_UNREADABLE, no_place, "no pipe: %s", strerror(errno));
	}
	mark(signals->pipe[0]);
	mark(signals->pipe[1]);
	nowhere = signals->nowhere;
	stopping = 0;
	wake = signals->pipe[1];
	for (int i = 0; i < SIGNALS_CAUGHT; i++) {
		sigaction(caught[i], NULL, &signals->before[i]);
		if (signals->before[i].sa_handler != SIG_IGN || caught[i] == SIGWINCH)
			catch_signal(caught[i]);
	}
	return true;
}

void signals_close(struct signals *signals)
{
	for (int i = 0; i < SIGNALS_CAUGHT; i++) {
		/* whoever is leaving already must not be struck down while it saves */
		if (stopping && asks_to_end(caught[i]))
			signal(caught[i], SIG_IGN);
		else
			sigaction(caught[i], &signals->before[i], NULL);
	}
	wake = drawing = nowhere = -1;
	close(signals->pipe[0]);
	close(signals->pipe[1]);
	close(signals->nowhere);
}

bool signals_stopping(void)
{
	return stopping;
}

void signals_draw(int fd)
{
	drawing = fd;
}

bool signals_drawn(void)
{
	bool lost = drawing >= 0 && stopping;
	drawing = -1;
	return lost;
}

static void stop_group(int number)
{
	struct sigaction action;
	memset(&action, 0, sizeof action);
	action.sa_handler = SIG_DFL;
	sigaction(number, &action, NULL);
	kill(0, number);
}

bool signals_suspend(struct signals *signals)
{
	for (int i = 0; i < SIGNALS_CAUGHT; i++)
		if (caught[i] == SIGTSTP && signals->before[i].sa_handler == SIG_IGN)
			return false;
	/* the caller comes back by itself: no need to be told */
	signal(SIGCONT, SIG_DFL);
	stop_group(SIGTSTP);
	catch_signal(SIGTSTP);
	catch_signal(SIGCONT);
	return true;
}

bool signals_foreground(int fd)
{
	/* a few rounds only: an orphaned group cannot be stopped */
	for (int round = 0; round < 8; round++) {
		pid_t front = tcgetpgrp(fd);
		if (front < 0 || front == getpgrp())
			return true;
		if (stopping)
			return false;
		stop_group(SIGTTOU);
	}
	return !stopping;
}
