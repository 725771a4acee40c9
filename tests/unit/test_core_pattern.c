#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

#define PORTS FIXTURE_PORTS
#define NONE UINT64_MAX      /* a port without a reading */
#define BASE 0x00005E005310

/* A roster of bare address numbers, no job needed. */
struct roll {
	struct pm_port port[PORTS];
	struct pm_call call[PORTS];
	struct pm_roster roster;
	struct pm_gear gear;
	struct pm_arena arena;
	struct pm_pattern pattern;
};

static void find(struct roll *roll, const uint64_t number[static PORTS], enum pm_allocation allocation)
{
	roll->roster = (struct pm_roster){ .call = roll->call, .count = PORTS };
	roll->gear = (struct pm_gear){ .allocation = allocation, .ports = roll->port, .port_count = PORTS };
	for (size_t i = 0; i < PORTS; i++) {
		roll->call[i] = (struct pm_call){ .port = &roll->port[i] };
		if (number[i] == NONE)
			continue;
		roll->call[i].valid = true;
		roll->call[i].fact.standing = PM_CONFIRMED;
		roll->call[i].address = pm_eui48_from(number[i]);
	}
	pm_arena_free(&roll->arena);
	assert_true(pm_pattern_find(&roll->roster, &roll->gear, &roll->arena, &roll->pattern));
}

static void fill(uint64_t number[static PORTS], uint64_t base, int64_t step)
{
	for (size_t i = 0; i < PORTS; i++)
		number[i] = base + (uint64_t)((int64_t)i * step);
}

static size_t breaks(const struct roll *roll)
{
	size_t count = 0;
	for (size_t i = 0; i < PORTS; i++)
		count += roll->pattern.expect[i].breaks;
	return count;
}

static uint64_t expected(const struct roll *roll, size_t i)
{
	const struct pm_expect *e = &roll->pattern.expect[i];
	return e->group == PM_NO_GROUP ? NONE : pm_eui48_number(&e->address);
}

static void test_steps(void **state)
{
	(void)state;
	static const int64_t steps[] = { 1, -1, 2, 4, 16, 0x100, -4, 65536 };
	struct roll roll = { .arena = { 0 } };
	uint64_t number[PORTS];
	for (size_t s = 0; s < COUNT(steps); s++) {
		fill(number, BASE + 0x100000, steps[s]);
		find(&roll, number, PM_ALLOCATION_PATTERN);
		assert_int_equal(roll.pattern.group_count, 1);
		const struct pm_group *group = &roll.pattern.group[0];
		assert_true(group->step == steps[s] && group->base == number[0]);
		assert_true(group->first == 0 && group->last == PORTS - 1 && group->agreeing == PORTS && group->breaking == 0);
		assert_int_equal(breaks(&roll), 0);
		for (size_t i = 0; i < PORTS; i++)
			assert_true(expected(&roll, i) == number[i]);
	}
	/* a stride that large is no numbering; neither is no stride at all */
	fill(number, BASE, 65537);
	find(&roll, number, PM_ALLOCATION_PATTERN);
	assert_int_equal(roll.pattern.group_count, 0);
	fill(number, BASE, 0);
	find(&roll, number, PM_ALLOCATION_PATTERN);
	assert_int_equal(roll.pattern.group_count, 0);
	pm_arena_free(&roll.arena);
}

static void test_groups(void **state)
{
	(void)state;
	struct roll roll = { .arena = { 0 } };
	uint64_t number[PORTS];
	/* two blocks: seven and six ports */
	fill(number, BASE, 1);
	for (size_t i = 7; i < PORTS; i++)
		number[i] = 0x00005E0053A5 + 2 * (i - 7);
	find(&roll, number, PM_ALLOCATION_PATTERN);
	assert_int_equal(roll.pattern.group_count, 2);
	assert_int_equal(breaks(&roll), 0);
	assert_int_equal(roll.pattern.expect[6].group, 0);
	assert_int_equal(roll.pattern.expect[7].group, 1);
	/* a slip in each */
	number[3] ^= 0x0000000000F0;
	number[10] ^= 0x000000300000;
	find(&roll, number, PM_ALLOCATION_PATTERN);
	assert_int_equal(breaks(&roll), 2);
	assert_true(expected(&roll, 3) == BASE + 3);
	assert_true(expected(&roll, 10) == 0x00005E0053A5 + 6);
	/* the management port in a block of its own: no rule for it */
	fill(number, BASE, 1);
	number[0] = 0x00005E0054C7;
	find(&roll, number, PM_ALLOCATION_PATTERN);
	assert_int_equal(roll.pattern.group_count, 1);
	assert_int_equal(breaks(&roll), 0);
	assert_true(expected(&roll, 0) == NONE);
	assert_true(expected(&roll, 1) == BASE + 1);
	pm_arena_free(&roll.arena);
}

/* One wrong hex digit: every port, every place, every wrong value. It must
 * name that port, and no other, and what belongs there. */
static void test_every_wrong_digit(void **state)
{
	(void)state;
	static const struct { uint64_t base; int64_t step; } rules[] = { { BASE, 1 }, { 0x00005E005340, 4 }, { 0x00005E0053F8, -1 } };
	struct roll roll = { .arena = { 0 } };
	uint64_t number[PORTS];
	for (size_t r = 0; r < COUNT(rules); r++) {
		size_t tried = 0;
		for (size_t port = 0; port < PORTS; port++)
			for (unsigned place = 0; place < 12; place++)
				for (uint64_t other = 1; other < 16; other++, tried++) {
					fill(number, rules[r].base, rules[r].step);
					uint64_t right = number[port];
					number[port] ^= other << 4 * (11 - place);
					find(&roll, number, PM_ALLOCATION_PATTERN);
					const struct pm_expect *e = &roll.pattern.expect[port];
					if (breaks(&roll) != 1 || !e->breaks || expected(&roll, port) != right)
						fail_msg("port %zu place %u: %zu breaks", port, place, breaks(&roll));
					assert_true(e->slip.kind == PM_SLIP_WRONG || e->slip.kind == PM_SLIP_LOOK_ALIKE);
					assert_int_equal(e->slip.at, place + 1);
				}
		assert_int_equal(tried, PORTS * 12 * 15);
		printf("# figure %zu single wrong digits found and put right, step %d\n", tried, (int)rules[r].step);
	}
	pm_arena_free(&roll.arena);
}

static void test_missing(void **state)
{
	(void)state;
	struct roll roll = { .arena = { 0 } };
	uint64_t number[PORTS];
	/* each port alone, and each pair of them: a hint where the rule reaches */
	for (size_t a = 0; a < PORTS; a++)
		for (size_t b = a; b < PORTS; b++) {
			fill(number, BASE, 1);
			number[a] = number[b] = NONE;
			find(&roll, number, PM_ALLOCATION_PATTERN);
			assert_int_equal(breaks(&roll), 0);
			/* two missing at one end: how far the run goes is not known */
			bool end = a != b && ((a == 0 && b == 1) || (a == PORTS - 2 && b == PORTS - 1));
			for (size_t i = 0; i < PORTS; i++)
				if (!(end && (i == a || i == b)))
					assert_true(expected(&roll, i) == BASE + i);
			if (end)
				assert_true(expected(&roll, a) == NONE || expected(&roll, b) == NONE);
		}
	pm_arena_free(&roll.arena);
}

static void test_swapped(void **state)
{
	(void)state;
	struct roll roll = { .arena = { 0 } };
	uint64_t number[PORTS];
	for (size_t a = 0; a < PORTS; a++)
		for (size_t b = a + 1; b < PORTS; b++) {
			fill(number, BASE, 1);
			number[a] = BASE + b;
			number[b] = BASE + a;
			find(&roll, number, PM_ALLOCATION_PATTERN);
			/* at the end of the run only what one slip explains is claimed */
			for (size_t i = 0; i < PORTS; i++) {
				bool end = (i == 0 || i == PORTS - 1);
				if (i == a || i == b)
					assert_true(roll.pattern.expect[i].breaks || end);
				else
					assert_false(roll.pattern.expect[i].breaks);
				assert_true(expected(&roll, i) == BASE + i || (end && expected(&roll, i) == NONE));
			}
		}
	pm_arena_free(&roll.arena);
}

static void test_says_nothing(void **state)
{
	(void)state;
	struct roll roll = { .arena = { 0 } };
	uint64_t number[PORTS];
	fill(number, BASE, 1);
	number[4] ^= 0xF;
	static const enum pm_allocation silent[] = { PM_ALLOCATION_FREE, PM_ALLOCATION_SHARED };
	for (size_t i = 0; i < COUNT(silent); i++) {
		find(&roll, number, silent[i]);
		assert_int_equal(roll.pattern.group_count, 0);
		assert_int_equal(breaks(&roll), 0);
		assert_true(expected(&roll, 4) == NONE);
	}
	/* two readings make no rule, three do */
	for (size_t readings = 0; readings <= 3; readings++) {
		fill(number, BASE, 1);
		for (size_t i = readings; i < PORTS; i++)
			number[i] = NONE;
		find(&roll, number, PM_ALLOCATION_PATTERN);
		assert_int_equal(roll.pattern.group_count, readings == 3);
	}
	/* no majority inside the run: three keep it, three do not */
	for (size_t i = 0; i < PORTS; i++)
		number[i] = NONE;
	number[0] = BASE, number[3] = BASE + 3, number[6] = BASE + 6;
	number[1] = 0x00005E00AA31, number[2] = 0x00005E00BC07, number[4] = 0x00005E001177;
	find(&roll, number, PM_ALLOCATION_PATTERN);
	assert_int_equal(roll.pattern.group_count, 0);
	/* an empty roster is no trouble */
	roll.roster.count = 0;
	assert_true(pm_pattern_find(&roll.roster, &roll.gear, &roll.arena, &roll.pattern));
	assert_int_equal(roll.pattern.group_count, 0);
	pm_arena_free(&roll.arena);
}

/* A reading in conflict has no vote, but the rule says what belongs there. */
static void test_conflict_has_no_vote(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_muster(&f);
	fixture_say(&f, "port/port5", "00-00-5E-00-53-51");
	struct pm_result *result = fixture_check(&f);
	char text[PM_EUI48_TEXT];
	assert_int_equal(result->pattern.group[0].agreeing, PORTS - 1);
	assert_string_equal(pm_eui48_text(&result->pattern.expect[5].address, text), "00-00-5E-00-53-15");
	fixture_forget(&f);
}

/* xorshift64, so that every run sees the same numbers. */
static uint64_t next(uint64_t *seed)
{
	*seed ^= *seed << 13;
	*seed ^= *seed >> 7;
	*seed ^= *seed << 17;
	return *seed;
}

/* Addresses without any rule: a group would be a false alarm. */
static void test_false_alarms(void **state)
{
	(void)state;
	static const struct { const char *what; uint64_t mask; size_t most; } spaces[] = {
		{ "the last 24 bits random", 0xFFFFFF, 0 },
		{ "the last 16 bits random", 0xFFFF, 30 },
		{ "the last 8 bits random", 0xFF, 1000 },
	};
	struct roll roll = { .arena = { 0 } };
	uint64_t number[PORTS], seed = 0x9E3779B97F4A7C15;
	for (size_t s = 0; s < COUNT(spaces); s++) {
		size_t groups = 0, blamed = 0;
		for (size_t trial = 0; trial < 10000; trial++) {
			for (size_t i = 0; i < PORTS; i++)
				number[i] = BASE ^ (next(&seed) & spaces[s].mask);
			find(&roll, number, PM_ALLOCATION_PATTERN);
			groups += roll.pattern.group_count > 0;
			blamed += breaks(&roll) > 0;
		}
		printf("# figure false rules in 10,000 random rosters, %s: %zu; a port blamed: %zu\n",
		       spaces[s].what, groups, blamed);
		assert_true(groups <= spaces[s].most);
	}
	pm_arena_free(&roll.arena);
}

/* A management port outside the run that is by chance one digit off: it can't
 * be told from a slip. Count how often, over every place in its last octet. */
static void test_lone_neighbour(void **state)
{
	(void)state;
	struct roll roll = { .arena = { 0 } };
	uint64_t number[PORTS];
	size_t blamed = 0;
	for (uint64_t last = 0; last < 256; last++) {
		fill(number, BASE, 1);
		number[0] = (BASE & ~(uint64_t)0xFF) | last;
		if (last > 0x10 && last <= 0x10 + PORTS - 1)
			continue;   /* a port's own */
		find(&roll, number, PM_ALLOCATION_PATTERN);
		struct pm_slip slip = roll.pattern.expect[0].slip;
		assert_int_equal(roll.pattern.expect[0].breaks, roll.pattern.expect[0].group != PM_NO_GROUP && last != 0x10);
		assert_true(!roll.pattern.expect[0].breaks || pm_slip_single(slip.kind));
		blamed += breaks(&roll);
	}
	printf("# figure %zu of 243 other last octets of a lone first port read as a slip\n", blamed);
	pm_arena_free(&roll.arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_steps),          cmocka_unit_test(test_groups),
		cmocka_unit_test(test_every_wrong_digit), cmocka_unit_test(test_missing),
		cmocka_unit_test(test_swapped),        cmocka_unit_test(test_says_nothing),
		cmocka_unit_test(test_conflict_has_no_vote),
		cmocka_unit_test(test_false_alarms),   cmocka_unit_test(test_lone_neighbour),
	};
	return cmocka_run_group_tests_name("numbering", tests, NULL, NULL);
}
