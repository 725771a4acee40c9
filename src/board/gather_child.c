/* git as a child process. */
#define _GNU_SOURCE   /* pipe2: no moment in which another thread's child inherits the ends */

#include "board/gather_child.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "store/path.h"

extern char **environ;

#define BUFFER (1u << 16)
#define WORDS 16u

/* What would lead git to another repository than the folder's, or have it ask. */
static bool passed_on(const char *variable)
{
	static const char *const not[] = {
		"GIT_DIR=", "GIT_WORK_TREE=", "GIT_INDEX_FILE=", "GIT_PREFIX=", "GIT_OBJECT_DIRECTORY=", "GIT_COMMON_DIR=",
		"GIT_NAMESPACE=", "GIT_CONFIG_PARAMETERS=", "GIT_CONFIG_COUNT=", "GIT_TERMINAL_PROMPT=", "GIT_ASKPASS=",
		"SSH_ASKPASS=", "GIT_NO_LAZY_FETCH=", "GIT_LITERAL_PATHSPECS=", "GIT_TRACE", "LC_ALL=", "LANGUAGE=",
	};
	for (size_t i = 0; i < sizeof not / sizeof *not; i++)
		if (!strncmp(variable, not[i], strlen(not[i])))
			return false;
	return true;
}

static char **environment(struct pm_arena *arena)
{
	static const char *const more[] = { "GIT_TERMINAL_PROMPT=0", "GIT_NO_LAZY_FETCH=1", "GIT_LITERAL_PATHSPECS=1", "LC_ALL=C" };
	size_t count = 0, own = sizeof more / sizeof *more;
	while (environ[count])
		count++;
	char **list = pm_arena_array(arena, count + own + 1, sizeof *list);
	size_t used = 0;
	for (size_t i = 0; list && i < count; i++)
		if (passed_on(environ[i]))
			list[used++] = environ[i];
	for (size_t i = 0; list && i < own; i++)
		list[used++] = pm_arena_copy(arena, more[i], strlen(more[i]));
	return arena->failed ? NULL : list;
}

bool gather_pipe(int end[static 2])
{
	return pipe2(end, O_CLOEXEC) == 0;
}

static void shut(int *file)
{
	if (*file >= 0)
		close(*file);
	*file = -1;
}

bool gather_no_git(struct pm_fault *fault, const char *path)
{
	pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ path, 0, 0 }, "git can't be run, and a revision is only known to git");
	return pm_fail_remedy(fault, "install git, or look at the files as they lie on disk");
}

bool gather_child_begin(struct gather_child *child, const char *folder, const char *const *arguments, bool complaints,
                        struct pm_fault *fault)
{
	const char *words[WORDS] = { "git", "--no-pager", "-C", folder };
	size_t count = 4;
	int in[2] = { -1, -1 }, out[2] = { -1, -1 }, error;
	posix_spawn_file_actions_t actions;
	posix_spawnattr_t attributes;
	sigset_t none, standard;
	struct pm_arena arena;
	*child = (struct gather_child){ .process = -1, .in = -1, .out = -1 };
	for (; *arguments && count + 1 < WORDS; arguments++)
		words[count++] = *arguments;
	if (!gather_pipe(in) || !gather_pipe(out)) {
		error = errno;
		shut(&in[0]), shut(&in[1]);
		return store_fail_system(fault, folder, error, "run git for");
	}
	pm_arena_init(&arena);
	char **list = environment(&arena);
	posix_spawn_file_actions_init(&actions);
	posix_spawn_file_actions_adddup2(&actions, in[0], 0);
	posix_spawn_file_actions_adddup2(&actions, out[1], 1);
	if (complaints)
		posix_spawn_file_actions_adddup2(&actions, out[1], 2);
	else
		posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
	/* our threads block every signal, and the program ignores some: git shall not */
	sigemptyset(&none);
	sigemptyset(&standard);
	sigaddset(&standard, SIGPIPE);
	sigaddset(&standard, SIGINT);
	sigaddset(&standard, SIGTERM);
	sigaddset(&standard, SIGHUP);
	posix_spawnattr_init(&attributes);
	posix_spawnattr_setsigmask(&attributes, &none);
	posix_spawnattr_setsigdefault(&attributes, &standard);
	posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
	char *vector[WORDS];
	memcpy(vector, words, sizeof vector);
	error = list ? posix_spawnp(&child->process, "git", &actions, &attributes, vector, list) : ENOMEM;
	posix_spawnattr_destroy(&attributes);
	posix_spawn_file_actions_destroy(&actions);
	pm_arena_free(&arena);
	shut(&in[0]), shut(&out[1]);
	child->in = in[1];
	child->out = out[0];
	if (!error)
		return true;
	child->process = -1;
	shut(&child->in), shut(&child->out);
	return error == ENOENT || error == EACCES ? gather_no_git(fault, folder) : store_fail_system(fault, folder, error, "run git for");
}

void gather_child_told(struct gather_child *child)
{
	shut(&child->in);
}

int gather_child_end(struct gather_child *child)
{
	int status = 0;
	shut(&child->in);
	shut(&child->out);
	free(child->buffer);
	child->buffer = NULL;
	while (waitpid(child->process, &status, 0) < 0)
		if (errno != EINTR)
			return -1;
	return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

/* Have something in the buffer; false at the end. */
static bool child_fill(struct gather_child *child)
{
	if (child->from < child->to)
		return true;
	if (!child->buffer && !(child->buffer = malloc(BUFFER)))
		return false;
	ssize_t got;
	do
		got = read(child->out, child->buffer, BUFFER);
	while (got < 0 && errno == EINTR);
	child->from = 0;
	child->to = got > 0 ? (size_t)got : 0;
	return got > 0;
}

bool gather_child_take(struct gather_child *child, char *out, size_t length)
{
	while (length) {
		if (!child_fill(child))
			return false;
		size_t part = child->to - child->from < length ? child->to - child->from : length;
		if (out) {
			memcpy(out, child->buffer + child->from, part);
			out += part;
		}
		child->from += part;
		length -= part;
	}
	return true;
}

bool gather_child_all(struct gather_child *child, struct pm_text *text, size_t most)
{
	while (child_fill(child)) {
		if (text->length + (child->to - child->from) > most)
			return false;
		pm_text_put(text, child->buffer + child->from, child->to - child->from);
		child->from = child->to;
	}
	return !text->cut;
}
