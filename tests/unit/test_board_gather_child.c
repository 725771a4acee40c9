/* git is started while other threads make pipes: it gets the two that are its own, and
 * inherits none of theirs. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>

#include "board/gather_child.h"
#include "gather_fixture.h"

#define CHILDREN 60

static atomic_bool making;
static atomic_size_t made;

static void *make_pipes(void *context)
{
	(void)context;
	while (atomic_load(&making)) {
		int end[2];
		if (!gather_pipe(end))
			continue;
		atomic_fetch_add(&made, 1);
		close(end[0]);
		close(end[1]);
	}
	return NULL;
}

/* How many of git's descriptors are pipes. */
static size_t pipes_of_a_child(void)
{
	struct gather_child child;
	struct pm_fault fault = { 0 };
	struct pm_arena arena;
	struct pm_text said;
	size_t pipes = 0;
	if (!gather_child_begin(&child, ".", (const char *const []){ "log", NULL }, false, &fault))
		fail_msg("%s", fault.message);
	pm_arena_init(&arena);
	pm_text_grow(&said, &arena);
	gather_child_told(&child);
	assert_true(gather_child_all(&child, &said, 65536));
	assert_int_equal(gather_child_end(&child), 0);
	for (const char *at = said.data; (at = strstr(at, "pipe:")); at++)
		pipes++;
	pm_arena_free(&arena);
	return pipes;
}

static void test_no_end_is_inherited(void **state)
{
	(void)state;
	char path[4000], wider[5000];
	pthread_t thread;
	/* in place of git: what each of its own descriptors leads to, a line each */
	put_text("bin/git", "#!/bin/sh\nfor f in /proc/$$/fd/*; do readlink \"$f\"; done\nexit 0\n");
	assert_int_equal(chmod(at_path("bin/git"), 0700), 0);
	snprintf(path, sizeof path, "%s", getenv("PATH"));
	snprintf(wider, sizeof wider, "%s:%s", at_path("bin"), path);
	setenv("PATH", wider, 1);
	/* its own two, and what this test was started with */
	size_t alone = pipes_of_a_child(), most = 0;
	assert_true(alone >= 2);
	atomic_store(&making, true);
	assert_int_equal(pthread_create(&thread, NULL, make_pipes, NULL), 0);
	for (int i = 0; i < CHILDREN; i++) {
		size_t pipes = pipes_of_a_child();
		most = pipes > most ? pipes : most;
	}
	atomic_store(&making, false);
	pthread_join(thread, NULL);
	setenv("PATH", path, 1);
	assert_true(atomic_load(&made) > CHILDREN);
	assert_int_equal(most, alone);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_no_end_is_inherited, gather_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
