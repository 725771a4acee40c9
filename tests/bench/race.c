/* Run commands in turn, several times each, and print the best of each:
 * race RUNS FILE LABEL COMMAND... -- LABEL COMMAND... -- ...
 * A line for each: how many MB/s of FILE that is, how often as fast as the last
 * one, and the most memory it took. Their output goes to /dev/null. */
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define RUNNERS_MOST 8

extern char **environ;

struct runner {
	char *label, **argv;
	double best;       /* seconds */
	long memory;       /* KiB */
};

static void run(struct runner *runner)
{
	posix_spawn_file_actions_t actions;
	struct timespec a, b;
	struct rusage used;
	pid_t pid;
	int status;
	posix_spawn_file_actions_init(&actions);
	posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
	posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
	clock_gettime(CLOCK_MONOTONIC, &a);
	if (posix_spawnp(&pid, runner->argv[0], &actions, NULL, runner->argv, environ) != 0 || wait4(pid, &status, 0, &used) < 0 ||
	    !WIFEXITED(status) || WEXITSTATUS(status) > 1) {
		fprintf(stderr, "race: %s failed\n", runner->argv[0]);
		exit(2);
	}
	clock_gettime(CLOCK_MONOTONIC, &b);
	posix_spawn_file_actions_destroy(&actions);
	double seconds = (double)(b.tv_sec - a.tv_sec) + (double)(b.tv_nsec - a.tv_nsec) / 1e9;
	if (runner->best <= 0 || seconds < runner->best) runner->best = seconds;
	if (used.ru_maxrss > runner->memory) runner->memory = used.ru_maxrss;
}

int main(int argc, char **argv)
{
	struct runner runner[RUNNERS_MOST];
	struct stat file;
	int runs = argc > 1 ? atoi(argv[1]) : 0, count = 0;
	for (int i = 3; i < argc && count < RUNNERS_MOST; i++) {
		runner[count++] = (struct runner){ .label = argv[i], .argv = argv + i + 1 };
		while (i < argc && strcmp(argv[i], "--") != 0) i++;
		if (i < argc) argv[i] = NULL;
	}
	if (runs < 1 || runs > 1000 || count < 1 || !runner[count - 1].argv[0] || stat(argv[2], &file) != 0) {
		fprintf(stderr, "usage: race RUNS FILE LABEL COMMAND... [-- LABEL COMMAND...]...\n");
		return 2;
	}
	for (int i = 0; i < runs; i++)
		for (int k = 0; k < count; k++) run(&runner[k]);
	for (int k = 0; k < count; k++)
		printf("%-44s ratio %6.2f   (%.0f MB/s, best of %d in turn; %ld KiB)\n", runner[k].label, runner[count - 1].best / runner[k].best,
		       (double)file.st_size / 1e6 / runner[k].best, runs, runner[k].memory);
	return 0;
}
