/* Many files: threads give what one gives, rows come early, and two of ten thousand
 * that share an address are found. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "gather_fixture.h"

static void same_site(const struct pm_site_summary *a, const struct pm_site_summary *b)
{
	/* texts by content, all else byte by byte */
	struct pm_site_summary x = *a, y = *b;
	const char **texts[][2] = {
		{ &x.file, &y.file }, { &x.fault, &y.fault }, { &x.fault_remedy, &y.fault_remedy }, { &x.code, &y.code }, { &x.name, &y.name },
		{ &x.crew, &y.crew }, { &x.zone, &y.zone }, { &x.plan, &y.plan }, { &x.gear, &y.gear }, { &x.worst_message, &y.worst_message },
		{ &x.waits_in, &y.waits_in }, { &x.waits_why, &y.waits_why }, { &x.waits_who, &y.waits_who },
	};
	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
		assert_true(pm_same(*texts[i][0], *texts[i][1]));
		*texts[i][0] = *texts[i][1] = NULL;
	}
	for (size_t i = 0; i < a->phase_count; i++) {
		assert_string_equal(a->phases[i].id, b->phases[i].id);
		assert_int_equal(a->phases[i].state, b->phases[i].state);
		assert_int_equal(a->phases[i].begun, b->phases[i].begun);
		assert_int_equal(a->phases[i].closed, b->phases[i].closed);
	}
	for (size_t i = 0; i < a->address_count; i++) {
		assert_int_equal(a->addresses[i].key, b->addresses[i].key);
		assert_string_equal(a->addresses[i].bearer, b->addresses[i].bearer);
	}
	for (size_t i = 0; i < a->serial_count; i++)
		assert_int_equal(a->serials[i].key, b->serials[i].key);
	assert_int_equal(a->evidence_count, b->evidence_count);
	if (a->evidence_count)
		assert_memory_equal(a->evidence, b->evidence, a->evidence_count * sizeof *a->evidence);
	x.phases = y.phases = NULL;
	x.addresses = y.addresses = NULL;
	x.serials = y.serials = NULL;
	x.evidence = y.evidence = NULL;
	assert_memory_equal(&x, &y, sizeof x);
}

static void test_threads(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 300; i++) {
		char name[60];
		snprintf(name, sizeof name, "f/%02u/%03u.yaml", i % 7, i);
		if (i % 50 == 49)
			put_text(name, "format: [\n");
		else
			put_job(name, i);
	}
	const char *path = at_path("f");
	struct gather *one = begin_of(&path, 1, NULL, 1, NULL);
	wait_for(one);
	assert_int_equal(gather_fleet(one)->count, 300);
	for (unsigned threads = 2; threads <= 16; threads += 7) {
		struct gather *many = begin_of(&path, 1, NULL, threads, NULL);
		wait_for(many);
		assert_int_equal(gather_fleet(many)->count, 300);
		for (size_t i = 0; i < 300; i++)
			same_site(&gather_fleet(one)->site[i], &gather_fleet(many)->site[i]);
		gather_free(many);
	}
	gather_free(one);
}

#define MANY 10000u
#define FIRST 1234u
#define SECOND 8765u

/* A short job; all have addresses of their own but for one. */
static void put_short(unsigned number, unsigned address)
{
	char name[60], text[700];
	snprintf(name, sizeof name, "f/%02u/tb-%05u.yaml", number / 500, number);
	snprintf(text, sizeof text,
	         "format: \"1\"\nplan: \"router-swap\"\ngear: \"eg-12\"\nsite: { code: \"TB-%05u\", crew: \"crew %u\" }\nreadings:\n"
	         "  - { of: \"port/port%u\", value: \"02-00-5E-00-%02X-%02X\", source: \"typed\", by: \"tech %u\", at: \"2026-10-10T08:00:00Z\" }\n",
	         number, number % 50, number % 12 + 1, address >> 8, address & 0xFF, number);
	put_text(name, text);
}

static void test_two_of_many(void **state)
{
	(void)state;
	for (unsigned i = 0; i < MANY; i++)
		put_short(i, i == SECOND ? FIRST : i);
	const char *path = at_path("f");
	struct gather *gather = begin_of(&path, 1, NULL, 0, NULL);
	size_t first = 0;
	while (!gather_poll(gather, 1000)) {
		assert_true(gather_total(gather) >= gather_fleet(gather)->count);
		first = first ? first : gather_fleet(gather)->count;
	}
	/* the first rows were there long before the last */
	assert_in_range(first, 1, MANY / 2);
	const struct pm_fleet *fleet = gather_fleet(gather);
	assert_int_equal(fleet->count, MANY);
	assert_int_equal(gather_total(gather), MANY);
	for (size_t i = 0; i < MANY; i++)
		assert_null(fleet->site[i].fault);
	struct pm_arena arena;
	struct pm_fleet_findings findings;
	pm_arena_init(&arena);
	assert_true(pm_fleet_check(fleet, pm_when_utc(GATHER_NOW), &arena, &findings));
	size_t found = 0;
	for (size_t i = 0; i < findings.count; i++) {
		if (findings.item[i].code != PM_ADDRESS_ELSEWHERE)
			continue;
		found++;
		assert_int_equal(findings.item[i].count, 2);
		assert_non_null(strstr(findings.item[i].message, "tb-01234.yaml"));
		assert_non_null(strstr(findings.item[i].message, "tb-08765.yaml"));
	}
	assert_int_equal(found, 1);
	pm_arena_free(&arena);
	gather_free(gather);
}

/* Leaving in the middle waits for nothing but the files in hand. */
static void test_free_early(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 400; i++) {
		char name[60];
		snprintf(name, sizeof name, "f/%03u.yaml", i);
		put_job(name, i);
	}
	const char *path = at_path("f");
	for (int i = 0; i < 20; i++) {
		struct gather *gather = begin_of(&path, 1, NULL, (unsigned)i % 5, NULL);
		for (int polls = 0; polls < i; polls++)
			gather_poll(gather, 1);
		gather_free(gather);
	}
	struct gather *gather = gather_all("f");
	assert_int_equal(gather_fleet(gather)->count, 400);
	gather_free(gather);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_threads, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_two_of_many, gather_setup, gather_teardown),
		cmocka_unit_test_setup_teardown(test_free_early, gather_setup, gather_teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
