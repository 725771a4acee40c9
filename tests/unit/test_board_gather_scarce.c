/* A revision gathered with the Nth allocation failing, for every N, and room in the
 * queue for a few contents only: nobody waits for ever for a reader that has gone, what
 * could not be read says so, and every content is given back. */
#define _GNU_SOURCE
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "board/gather_child.h"
#include "board/gather_parts.h"

static atomic_size_t wanted_so_far;
static atomic_long held;
static size_t fail_at;   /* which allocation fails, from 1; 0: none */

static bool refused(void)
{
	return atomic_fetch_add(&wanted_so_far, 1) + 1 == fail_at;
}

static void *counting_malloc(size_t size)
{
	void *block = refused() ? NULL : malloc(size);
	atomic_fetch_add(&held, block != NULL);
	return block;
}

static void *counting_calloc(size_t count, size_t size)
{
	void *block = refused() ? NULL : calloc(count, size);
	atomic_fetch_add(&held, block != NULL);
	return block;
}

static void *counting_realloc(void *old, size_t size)
{
	void *block = refused() ? NULL : realloc(old, size);
	atomic_fetch_add(&held, block && !old);
	return block;
}

static char *counting_realpath(const char *path, char *out)
{
	char *block = realpath(path, out);
	atomic_fetch_add(&held, block != NULL);
	return block;
}

static void counting_free(void *block)
{
	atomic_fetch_sub(&held, block != NULL);
	free(block);
}

/* The sources themselves, with little room in the queue. */
#undef GATHER_WAITING
#define GATHER_WAITING 5000u
#define malloc counting_malloc
#define calloc counting_calloc
#define realloc counting_realloc
#define realpath counting_realpath
#define free counting_free
#include "core/arena.c"
#include "board/gather.c"
#include "board/gather_git.c"
#include "board/gather_work.c"
#undef malloc
#undef calloc
#undef realloc
#undef realpath
#undef free

#include "gather_git_fixture.h"

#define JOBS 24u

static bool all_told(const struct gather *gather)
{
	const struct pm_fleet *fleet = gather_fleet(gather);
	bool whole = fleet->count == JOBS, told = false;
	for (size_t i = 0; i < fleet->count; i++) {
		const char *fault = fleet->site[i].fault;
		whole = whole && !fault;
		/* git itself may be what there was no memory for */
		told = told || (fault && (strstr(fault, "out of memory") || strstr(fault, "git does not")));
	}
	if (!whole && !told)
		fail_msg("allocation %zu: %zu rows, and none says that there are more", fail_at, fleet->count);
	return whole;
}

static void test_every_allocation(void **state)
{
	(void)state;
	size_t refusals = 0, waits = 0;
	git_begin();
	for (unsigned i = 0; i < JOBS; i++) {
		char name[60];
		snprintf(name, sizeof name, "repo/fleet/%02u.yaml", i);
		put_job(name, i);
	}
	GIT("add", ".");
	GIT("commit", "-q", "-m", "first");
	const char *path = at_path("repo/fleet");
	setenv("PORTMUSTER_CACHE", "no", 1);
	bool good = false;
	size_t n = 1;
	for (; !good; n++) {
		struct pm_fault fault = { 0 };
		alarm(60);   /* a search that waits for ever ends the test */
		atomic_store(&wanted_so_far, 0);
		fail_at = n;
		struct gather *gather = begin_of(&path, 1, "HEAD", 1, &fault);
		if (gather) {
			wait_for(gather);
			good = all_told(gather) && atomic_load(&wanted_so_far) < n;
			waits += !good;
			fail_at = 0;
			gather_free(gather);
		} else {
			assert_true(fault.kind == PM_FAULT_MEMORY || fault.kind == PM_FAULT_UNREADABLE);
			refusals++;
		}
		if (atomic_load(&held))
			fail_msg("allocation %zu: %ld blocks are not given back", n, atomic_load(&held));
	}
	unsetenv("PORTMUSTER_CACHE");
	assert_true(refusals > 0 && waits > JOBS);
	printf("# figure a revision of %u jobs was gathered with each of %zu allocations failing\n", JOBS, n - 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_every_allocation, gather_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
