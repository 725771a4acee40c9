/* Time two commands in turn, as whole processes, and print the ratio of the
 * medians: pair RUNS LABEL A... -- B...   Output of both goes to /dev/null. */
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ;

static double run(char **argv)
{
	posix_spawn_file_actions_t actions;
	struct timespec a, b;
	pid_t pid;
	int status;
	posix_spawn_file_actions_init(&actions);
	posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
	clock_gettime(CLOCK_MONOTONIC, &a);
	if (posix_spawnp(&pid, argv[0], &actions, NULL, argv, environ) != 0 || waitpid(pid, &status, 0) < 0 ||
	    !WIFEXITED(status) || WEXITSTATUS(status) > 1) {
		fprintf(stderr, "pair: %s failed\n", argv[0]);
		exit(2);
	}
	clock_gettime(CLOCK_MONOTONIC, &b);
	posix_spawn_file_actions_destroy(&actions);
	return (double)(b.tv_sec - a.tv_sec) * 1e3 + (double)(b.tv_nsec - a.tv_nsec) / 1e6;
}

static int by_size(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;
	return (x > y) - (x < y);
}

int main(int argc, char **argv)
{
	int split = 3;
	while (split < argc && strcmp(argv[split], "--") != 0)
		split++;
	int runs = argc > 1 ? atoi(argv[1]) : 0;
	if (split + 1 >= argc || runs < 1 || runs > 10000) {
		fprintf(stderr, "usage: pair RUNS LABEL A... -- B...\n");
		return 2;
	}
	argv[split] = NULL;
	double *a = calloc((size_t)runs, sizeof *a), *b = calloc((size_t)runs, sizeof *b);
	if (!a || !b)
		return 2;
	run(argv + 3);
	run(argv + split + 1);
	for (int i = 0; i < runs; i++) {
		a[i] = run(argv + 3);
		b[i] = run(argv + split + 1);
	}
	qsort(a, (size_t)runs, sizeof *a, by_size);
	qsort(b, (size_t)runs, sizeof *b, by_size);
	double x = a[runs / 2], y = b[runs / 2];
	printf("%-44s ratio %6.2f   (%.3f ms against %.3f ms, medians of %d runs in turn)\n", argv[2], x / y, x, y, runs);
	free(a);
	free(b);
	return 0;
}
