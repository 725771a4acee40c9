/* A merge in which the Nth allocation fails, for every N: it fails cleanly. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "merge_fixture.h"

static size_t asked, held, fail_at;   /* which allocation fails, from 1; 0: none */

static void *counting_malloc(size_t size)
{
	if (++asked == fail_at)
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

#define DEVICE(address) "attached:\n  - {kind: camera, name: north, address: " address "}\n"
#define MANY(by) \
	R("port/port1", A1, "typed", by, "01") R("port/port2", A2, "withdrawn", by, "02") R("kit/a", by, "stated", by, "03") \
	"  - of: step/s\n    value: \"1\"\n    source: stated\n    by: " by "\n    at: t\n    x: {a: [1, 2], b: ~}\n"

static const struct {
	const char *base, *mine, *theirs;
} cases[] = {
	{ HEAD "  due: x\n" DEVICE("a") READ R("port/port2", A2, "typed", "X", "00"),
	  HEAD "  due: y\n" DEVICE("b") READ R("port/port2", A2, "typed", "X", "00") MANY("X"),
	  HEAD "  due: z\n  crew: c\n" DEVICE("c") "# left out\n" READ R("port/port2", A2, "typed", "X", "00") MANY("Y") },
	{ "", "{format: 1, plan: p, gear: g, site: {code: a}, readings: [], waivers: ~}\n",
	  "format: 1\nplan: p\ngear: g\nsite:\n  code: a\n" READ MANY("Y")
	  "waivers:\n  - {phase: m, gate: close, condition: c, by: L, reason: r, at: t}\n" },
	{ HEAD, HEAD DEVICE("a") "  - {kind: siren, name: south, serial: s1}\n", HEAD DEVICE("b") "  - {kind: siren, name: east, serial: s1}\n" },
};

static void test_every_allocation(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		bool good = false;
		for (size_t n = 1; !good; n++) {
			struct store_merged merged;
			struct pm_fault fault = { 0 };
			asked = 0;
			fail_at = n;
			good = merge_texts(cases[i].base, cases[i].mine, cases[i].theirs, &merged, &fault);
			if (good)
				store_merged_free(&merged);
			else if (fault.kind != PM_FAULT_MEMORY)
				fail_msg("case %zu, allocation %zu: %s", i, n, fault.message);
			assert_int_equal(held, 0);
			/* it came through because nothing failed */
			assert_true(!good || asked < n);
		}
	}
	fail_at = 0;
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_every_allocation) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
