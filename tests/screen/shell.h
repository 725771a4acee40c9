/* shell.h - a shell of one job, for tests of stopping and going on. */
#ifndef TESTS_SCREEN_SHELL_H
#define TESTS_SCREEN_SHELL_H

#include "pty.h"

struct shell {
	int (*job)(void *argument);
	void *argument;
};

static inline void shell_give_terminal(pid_t group)
{
	signal(SIGTTOU, SIG_IGN);
	tcsetpgrp(STDIN_FILENO, group);
	signal(SIGTTOU, SIG_DFL);
}

/* Runs the job, says when it has stopped, and after a line from the user brings
 * it back; after one that begins with k it asks it to end instead. For pty_fork. */
static inline int shell_run(void *argument)
{
	const struct shell *shell = argument;
	pid_t job = fork();
	if (job == 0) {
		setpgid(0, 0);
		shell_give_terminal(getpgrp());
		_exit(shell->job(shell->argument));
	}
	setpgid(job, job);
	for (int stops = 1;; stops++) {
		int status;
		if (waitpid(job, &status, WUNTRACED) != job)
			return 99;
		if (!WIFSTOPPED(status))
			return WIFEXITED(status) ? WEXITSTATUS(status) : 98;
		shell_give_terminal(getpgrp());
		dprintf(STDOUT_FILENO, "stop %d of the job\r\n", stops);
		char line[16];
		if (read(STDIN_FILENO, line, sizeof line) <= 0)
			return 97;
		if (line[0] == 'k')
			kill(job, SIGTERM);
		else
			shell_give_terminal(job);
		kill(-job, SIGCONT);
	}
}

#endif
