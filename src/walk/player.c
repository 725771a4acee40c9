#include "walk/player.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "capture/standin.h"
#include "portmuster/fact.h"

#define BOOT 1500      /* milliseconds: the first boot has been waited for already */
#define ROWS 18        /* lines before its pager stops */

/* The same site plays the same console. */
static uint64_t seed_of(const struct session *session)
{
	uint64_t seed = 0xCBF29CE484222325u;   /* FNV-1a, from memory */
	for (const char *c = session->job.job.code.text; *c; c++)
		seed = (seed ^ (unsigned char)*c) * 0x100000001B3u;
	return seed;
}

/* In the child: no terminal, no descriptor but the pseudo-terminal and the pipe
 * whose end tells that the parent has gone. */
static void play(const struct standin_options *options, int fd, int stop)
{
	static const int usual[] = { SIGINT, SIGTERM, SIGHUP, SIGTSTP, SIGCONT, SIGWINCH, SIGPIPE };
	struct pm_fault fault;
	for (size_t i = 0; i < sizeof usual / sizeof *usual; i++)
		signal(usual[i], i < 3 ? SIG_DFL : SIG_IGN);
	setsid();
	int null = open("/dev/null", O_RDWR);
	for (int i = 0; i <= 2 && null >= 0; i++)
		dup2(null, i);
	long most = sysconf(_SC_OPEN_MAX);
	for (int i = 3; i < (most > 0 && most < 4096 ? (int)most : 4096); i++)
		if (i != fd && i != stop)
			close(i);
	standin_play(options, fd, stop, 0, &fault);
	_exit(0);
}

bool player_start(struct session *session, char *device, size_t room, struct pm_fault *fault)
{
	const struct pm_place nowhere = { 0 };
	struct standin_options options = standin_defaults(&session->gear.gear, seed_of(session));
	struct pm_fact label = pm_fact_find(&session->job.job, "router/serial", PM_AS_TEXT);
	int alive[2];
	player_stop(session);
	options.base = pm_eui48_from(0x00005E005310u);   /* as the practice site's saved logs have it; RFC 9542 2.1.4 */
	options.boot = BOOT;
	options.rows = ROWS;
	options.serial = label.first ? label.first->value.text : NULL;
	int fd = standin_open(device, room, fault);
	if (fd < 0)
		return false;
	if (pipe(alive) != 0) {
		close(fd);
		return pm_fail(fault, PM_FAULT_UNREADABLE, nowhere, "the practice console cannot be played: %s", strerror(errno));
	}
	/* its end is never written to: it closes with this process, however that ends */
	fcntl(alive[1], F_SETFD, FD_CLOEXEC);
	pid_t pid = fork();
	if (pid == 0) {
		close(alive[1]);
		play(&options, fd, alive[0]);
	}
	close(fd);
	close(alive[0]);
	if (pid < 0) {
		close(alive[1]);
		return pm_fail(fault, PM_FAULT_UNREADABLE, nowhere, "the practice console cannot be played: %s", strerror(errno));
	}
	session->player = pid;
	session->player_alive = alive[1];
	return true;
}

void player_stop(struct session *session)
{
	if (!session->player)
		return;
	close(session->player_alive);
	kill(session->player, SIGTERM);
	while (waitpid(session->player, NULL, 0) < 0 && errno == EINTR)
		;
	session->player = 0;
}
