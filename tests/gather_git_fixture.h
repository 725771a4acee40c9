/* gather_git_fixture.h - a git repository "repo" in the scratch folder of gather_fixture.h. */
#ifndef TESTS_GATHER_GIT_FIXTURE_H
#define TESTS_GATHER_GIT_FIXTURE_H

#include <spawn.h>
#include <sys/wait.h>

#include "gather_fixture.h"

extern char **environ;

/* Run git in the scratch folder's repository; fails the test when git fails. */
static inline void git(const char *const *words)
{
	const char *vector[24] = { "git", "-C", at_path("repo"), "-c", "user.name=lead 1", "-c", "user.email=lead@invalid",
	                           "-c", "commit.gpgsign=false", "-c", "init.defaultBranch=main" };
	size_t count = 11;
	posix_spawn_file_actions_t actions;
	pid_t process;
	int status;
	for (; *words; words++)
		vector[count++] = *words;
	char *arguments[24];
	memcpy(arguments, vector, sizeof arguments);
	posix_spawn_file_actions_init(&actions);
	posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
	assert_int_equal(posix_spawnp(&process, "git", &actions, NULL, arguments, environ), 0);
	posix_spawn_file_actions_destroy(&actions);
	assert_int_equal(waitpid(process, &status, 0), process);
	assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
}

#define GIT(...) git((const char *const []){ __VA_ARGS__, NULL })

static inline void git_begin(void)
{
	mkdir(at_path("repo"), 0700);
	setenv("GIT_CONFIG_GLOBAL", "/dev/null", 1);
	setenv("GIT_CONFIG_NOSYSTEM", "1", 1);
	GIT("init", "-q");
}

#endif
