/* A sheet poured, written, read back, verified and sealed while the Nth allocation
 * fails: nothing crashes, and what claims to have worked has the right result. The
 * arena is the only caller of malloc: it is compiled in here with one that can be
 * told to fail, and begun at every offset, so that any allocation meets a failure. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

static size_t asked, held, fail_at;   /* which allocation fails, from 1; 0: none */
static bool for_good;                 /* and all that follow */

static void *counting_malloc(size_t size)
{
	if (++asked == fail_at || (for_good && fail_at && asked > fail_at))
		return NULL;
	void *block = malloc(size);
	held += block != NULL;
	return block;
}

static void counting_free(void *block)
{
	held -= block != NULL;
	free(block);
}

#define malloc counting_malloc
#define free counting_free
#include "core/arena.c"
#undef malloc
#undef free

#include "sheet/sheet_seal.h"
#include "sheet/verify.h"
#include "sheet_fixture.h"

static struct sheet_fixture f;
static const char *mangled;    /* a sheet with something of everything wrong */
static size_t findings;        /* and how many findings it gives */
static char seal[PM_SEAL_TEXT];

/* Pour and write; null when memory ran out. */
static const char *pour(struct pm_arena *arena, struct grid *grid)
{
	const struct grid_job job = { .job = &f.core.job, .gear = &f.core.gear };
	struct pm_text text;
	pm_text_grow(&text, arena);
	return grid_build(&f.layout, GRID_CSV, &job, 1, arena, grid) && csv_put(&text, grid) ? text.data : NULL;
}

static bool judge(struct pm_arena *arena, const struct grid *grid, const char *csv, struct trouble *trouble, struct sheet_seals *seals)
{
	struct returned sheet;
	struct trouble ignored;
	struct pm_fault fault;
	trouble_init(trouble, arena);
	trouble_init(&ignored, arena);
	return returned_parse(csv, strlen(csv), "back.csv", &f.layout, arena, &sheet, &fault) &&
	       verify_sheet(grid, &sheet, arena, trouble) && sheet_seals(&f.layout, &sheet, arena, &ignored, seals, &fault);
}

static int set_up(void **state)
{
	(void)state;
	sheet_fixture_init(&f);
	const char *csv = sheet_csv(sheet_fixture_grid(&f, GRID_CSV), &f.arena);
	struct pm_seal right;
	struct trouble trouble;
	struct sheet_seals seals;
	static const char *const changes[][2] = {
		{ "Part C,,,,\r\n", "" }, { "port3,00-00-5E-00-53-13", "port3,00:00:5e:00:53:13" }, { "port4,00-00", "port4,O0-00" },
		{ "Interface,", "\xD0\x86nterface,x," }, { "TB-01,port9,00-00-5E-00-53-19,M,\r\n", "" }, { "K-1", "\xFCK-1" },
		{ "GS-0417", "GS-4017" }, { "TB-01,cabinet", "TB-01,spare,probe,,\r\nTB-01,cabinet" },
		{ "TB-01,spare", "TB-02,old,probe,,\r\nTB-03,old,probe,,\rTB-01,spare" }, { "north camera", "nor\xCC\x88th camera" },
		{ ",port7,", ",=\"port7\"," },
	};
	if (!pm_seal_job(&f.core.job, &f.core.gear, &f.arena, &right))
		return -1;
	memcpy(seal, right.text, sizeof seal);
	mangled = csv;
	for (size_t i = 0; i < COUNT(changes); i++) {
		struct pm_text text;
		const char *at = strstr(mangled, changes[i][0]);
		if (!at)
			return -1;
		pm_text_grow(&text, &f.arena);
		pm_text_put(&text, mangled, (size_t)(at - mangled));
		pm_text_str(&text, changes[i][1]);
		pm_text_str(&text, at + strlen(changes[i][0]));
		mangled = text.data;
	}
	if (!judge(&f.arena, &f.grid, mangled, &trouble, &seals))
		return -1;
	findings = trouble.list.count;
	return findings > COUNT(changes) ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	sheet_fixture_free(&f);
	return held ? -1 : 0;
}

static void test_every_allocation(void **state)
{
	(void)state;
	size_t tried = 0, failed = 0, before = held;
	for (int good = 0; good < 2; good++)
		for (size_t offset = 0; offset < 60000; offset += 72)
			for (fail_at = 1;; fail_at++) {
				struct pm_arena arena;
				struct grid grid;
				struct trouble trouble;
				struct sheet_seals seals;
				size_t limit = fail_at;
				for_good = good;
				asked = 0;
				pm_arena_init(&arena);
				pm_arena_alloc(&arena, offset);
				const char *csv = pour(&arena, &grid);
				bool judged = csv && judge(&arena, &grid, mangled, &trouble, &seals);
				bool met = asked >= limit;
				if (judged) {
					/* no failure was met, or it was told: never a wrong result in silence */
					assert_false(arena.failed);
					assert_int_equal(trouble.list.count, findings);
					assert_string_equal(grid.jobs[0].seal.text, seal);
				}
				failed += !judged;
				tried++;
				pm_arena_free(&arena);
				assert_int_equal(held, before);
				if (!met)
					break;
				assert_false(judged);
			}
	fail_at = 0;
	printf("# figure %zu runs with a failing allocation, %zu of them told so\n", tried, failed);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_every_allocation) };
	return cmocka_run_group_tests_name("sheet memory", tests, set_up, tear_down);
}
