/* A gathering in which the Nth allocation fails, for every N: what could not be read
 * says so, and nothing is lost or left behind. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdatomic.h>
#include <stdlib.h>

static atomic_size_t asked, held;
static size_t fail_at;   /* which allocation fails, from 1; 0: none */

static void *counting_malloc(size_t size)
{
	if (atomic_fetch_add(&asked, 1) + 1 == fail_at)
		return NULL;
	void *block = malloc(size);
	atomic_fetch_add(&held, block != NULL);
	return block;
}

static void counting_free(void *block)
{
	atomic_fetch_sub(&held, block != NULL);
	free(block);
}

#define malloc counting_malloc
#define free counting_free
#include "core/arena.c"
#undef malloc
#undef free

#include "gather_fixture.h"

#define JOBS 20u
#define OTHERS 2u   /* that are no job files */

static bool all_told(const struct gather *gather)
{
	const struct pm_fleet *fleet = gather_fleet(gather);
	bool whole = true, lost = false;
	for (size_t i = 0; i < fleet->count; i++) {
		const char *fault = fleet->site[i].fault;
		whole = whole && !fault;
		lost = lost || fault;
		/* a plan or layout that could not be loaded names itself in front */
		if (fault && !strstr(fault, "out of memory"))
			fail_msg("allocation %zu: %s", fail_at, fault);
		assert_non_null(fleet->site[i].file);
		assert_non_null(fleet->site[i].worst_message);
	}
	/* all of them, or one at least says that there are more */
	assert_true((fleet->count == JOBS && fleet->left_out_count == OTHERS) || lost);
	return whole && fleet->count == JOBS && fleet->left_out_count == OTHERS;
}

static void test_every_allocation(void **state)
{
	(void)state;
	size_t failed = 0;
	for (unsigned i = 0; i < JOBS; i++) {
		char name[40];
		snprintf(name, sizeof name, "f/%u/%u.yaml", i % 3, i);
		put_job(name, i);
	}
	put_text("f/1/a.yaml", "id: \"a\"\n");
	put_text("f/2/b.yaml", "id: 'b'   # read the longer way\n");
	const char *path = at_path("f");
	rest();
	setenv("PORTMUSTER_CACHE", "no", 1);
	bool good = false;
	for (size_t n = 1; !good; n++) {
		struct pm_fault fault = { 0 };
		atomic_store(&asked, 0);
		fail_at = n;
		struct gather *gather = begin_of(&path, 1, NULL, 1, &fault);
		if (gather) {
			wait_for(gather);
			good = all_told(gather) && atomic_load(&asked) < n;
			/* when there is memory again, what was missed is read */
			fail_at = 0;
			assert_true(good || gather_changed(gather));
			assert_int_equal(gather_again(gather, pm_when_utc(GATHER_NOW)), !good);
			wait_for(gather);
			assert_true(all_told(gather));
			gather_free(gather);
		} else {
			assert_int_equal(fault.kind, PM_FAULT_MEMORY);
			failed++;
		}
		assert_int_equal(atomic_load(&held), 0);
	}
	unsetenv("PORTMUSTER_CACHE");
	assert_true(failed > 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_every_allocation, gather_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
