#include "cmd/stop.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

/* All that the handler can see of the world. */
static volatile sig_atomic_t wake = -1;

static void on_signal(int number)
{
	int saved = errno;
	unsigned char byte = (unsigned char)number;
	/* a full pipe has told already */
	ssize_t ignored = write(wake, &byte, 1);
	(void)ignored;
	errno = saved;
}

static void act(int number, void (*handler)(int number))
{
	struct sigaction action;
	memset(&action, 0, sizeof action);
	action.sa_handler = handler;
	action.sa_flags = SA_RESTART;
	sigfillset(&action.sa_mask);
	sigaction(number, &action, NULL);
}

/* What was to be ignored goes on being so, as under nohup. */
static void catch(int number)
{
	struct sigaction before;
	if (sigaction(number, NULL, &before) == 0 && before.sa_handler != SIG_IGN)
		act(number, on_signal);
}

int stop_watch(void)
{
	static const int caught[] = { SIGINT, SIGTERM, SIGHUP, SIGQUIT };
	int ends[2];
	if (pipe(ends) != 0)
		return -1;
	for (int i = 0; i < 2; i++) {
		fcntl(ends[i], F_SETFD, FD_CLOEXEC);
		fcntl(ends[i], F_SETFL, O_NONBLOCK);
	}
	wake = ends[1];
	for (size_t i = 0; i < sizeof caught / sizeof *caught; i++)
		catch(caught[i]);
	act(SIGPIPE, SIG_IGN);
	return ends[0];
}

void stop_heed_suspend(void)
{
	if (wake < 0)
		return;
	catch(SIGTSTP);
	/* in the background a word on the terminal could stop it before anything is put in order */
	act(SIGTTOU, SIG_IGN);
}

void stop_suspend(void)
{
	act(SIGTSTP, SIG_DFL);
	raise(SIGTSTP);
	act(SIGTSTP, on_signal);
}

int stop_came(int watch)
{
	unsigned char number;
	int came = 0;
	while (watch >= 0 && (came == 0 || came == SIGTSTP) && read(watch, &number, 1) == 1)
		came = number;
	return came;
}
