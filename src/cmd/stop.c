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

int stop_watch(void)
{
	static const int caught[] = { SIGINT, SIGTERM, SIGHUP, SIGQUIT };
	struct sigaction action, before;
	int ends[2];
	if (pipe(ends) != 0)
		return -1;
	for (int i = 0; i < 2; i++) {
		fcntl(ends[i], F_SETFD, FD_CLOEXEC);
		fcntl(ends[i], F_SETFL, O_NONBLOCK);
	}
	wake = ends[1];
	memset(&action, 0, sizeof action);
	action.sa_handler = on_signal;
	action.sa_flags = SA_RESTART;
	sigfillset(&action.sa_mask);
	/* what was to be ignored goes on being so, as under nohup */
	for (size_t i = 0; i < sizeof caught / sizeof *caught; i++)
		if (sigaction(caught[i], NULL, &before) == 0 && before.sa_handler != SIG_IGN)
			sigaction(caught[i], &action, NULL);
	action.sa_handler = SIG_IGN;
	sigaction(SIGPIPE, &action, NULL);
	return ends[0];
}

int stop_came(int watch)
{
	unsigned char number = 0;
	return watch >= 0 && read(watch, &number, 1) == 1 ? number : 0;
}
