#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static struct pm_word alias_1[] = { { "uplink", 0, 0 } }, alias_2[] = { { "p5", 0, 0 }, { "slot 0/02", 0, 0 } };

static const struct pm_port ports[] = {
	{ .name = { "mgmt", 0, 0 } },
	{ .name = { "port1", 0, 0 } },
	{ .name = { "port2", 0, 0 }, .aliases = { alias_1, 1 } },
	{ .name = { "port11", 0, 0 } },
	{ .name = { "port12", 0, 0 } },
	{ .name = { "port1-2", 0, 0 } },
	{ .name = { "probe1", 0, 0 } },
	{ .name = { "console", 0, 0 }, .aliases = { alias_2, 2 } },
};

static const struct { const char *name; size_t port; const char *why; } names[] = {
	{ "port1", 1, "as written" }, { "PORT1", 1, "case" }, { "Port 1", 1, "blank" }, { "port_1", 1, "underscore" },
	{ "port-01", 1, "hyphen and leading zero" }, { "port001", 1, "leading zeros" }, { " port1 ", 1, "blanks around" },
	{ "p\to\trt1", 1, "tabs" }, { "po1", 1, "cut short" },
	{ "p1", PM_NO_PORT, "port1 or probe1" }, { "pr1", 6, "cut short, one port only" }, { "probe01", 6, "leading zero" },
	{ "port10", PM_NO_PORT, "no such number" }, { "port0", PM_NO_PORT, "no such number" }, { "port100", PM_NO_PORT, "a longer number" },
	{ "port", PM_NO_PORT, "no number" }, { "1", PM_NO_PORT, "a bare number" }, { "port1x", PM_NO_PORT, "something after it" },
	{ "xport1", PM_NO_PORT, "something before it" }, { "ort1", PM_NO_PORT, "cut at the front" },
	{ "port11", 3, "two digits" }, { "port 1 1", PM_NO_PORT, "a separator keeps digits apart" }, { "p11", 3, "one port only" },
	{ "port12", 4, "not port1-2" }, { "port1-2", 5, "not port12" }, { "port1 2", 5, "another separator" },
	{ "port 01_02", 5, "zeros in both numbers" }, { "port1--2", 5, "two separators" }, { "port1 - 2", 5, "blanks around it" },
	{ "port1/2", PM_NO_PORT, "a stroke is no separator here" },
	{ "m", 0, "one letter, one port" }, { "mg", 0, "cut short" }, { "mgmt", 0, "as written" }, { "mgmt0", PM_NO_PORT, "no number there" },
	{ "mgmtx", PM_NO_PORT, "longer" }, { "uplink", 2, "alias" }, { "UP", 2, "alias cut short" }, { "p5", 7, "alias that looks like a number" },
	{ "port5", PM_NO_PORT, "the alias p5 is no abbreviation" }, { "slot0/2", 7, "zeros in an alias" }, { "slot0/02", 7, "zeros in an alias" },
	{ "", PM_NO_PORT, "empty" }, { "  ", PM_NO_PORT, "blank" }, { "-", PM_NO_PORT, "a hyphen alone" },
};

static void test_names(void **state)
{
	(void)state;
	struct pm_port copy[COUNT(ports)];
	memcpy(copy, ports, sizeof ports);
	const struct pm_gear gear = { .ports = copy, .port_count = COUNT(copy) };
	struct pm_fault fault;
	assert_true(pm_gear_valid(&gear, &fault));
	for (size_t i = 0; i < COUNT(names); i++) {
		size_t found = pm_roster_find(&gear, names[i].name, strlen(names[i].name));
		if (found != names[i].port)
			fail_msg("\"%s\" (%s): %zd", names[i].name, names[i].why, (ssize_t)found);
	}
	/* the length counts, not the terminator */
	assert_int_equal(pm_roster_find(&gear, "port12", 5), 1);
	char longest[200];
	memset(longest, 'p', sizeof longest);
	assert_int_equal(pm_roster_find(&gear, longest, sizeof longest), PM_NO_PORT);
	/* every name means its own port, an exact match wins over an abbreviation */
	for (size_t i = 0; i < COUNT(copy); i++)
		assert_int_equal(pm_roster_find(&gear, copy[i].name.text, strlen(copy[i].name.text)), i);
}

static void test_gear_valid(void **state)
{
	(void)state;
	static struct pm_word same[] = { { "PORT 02", 7, 3 } }, blank[] = { { "-", 7, 3 } }, null[] = { { NULL, 7, 3 } };
	static struct pm_word short_prefix[] = { { "00-00-5", 8, 3 } }, long_prefix[] = { { "00-00-5E-00-53-01", 8, 3 } }, odd_prefix[] = { { "00:00:5E", 8, 3 } },
		good_prefix[] = { { "00-00-5E", 8, 3 }, { "001BC5-0-0-1", 8, 3 } };
	const struct { const char *message; struct pm_port second; struct pm_words prefixes; int64_t least, most; size_t count; uint32_t line; } faults[] = {
		{ NULL, { .name = { "port2", 6, 1 } }, { NULL, 0 }, 0, 0, 2, 0 },
		{ NULL, { .name = { "port2", 6, 1 } }, { good_prefix, 2 }, 300, 300, 2, 0 },
		{ "a gear profile needs at least one port", { .name = { "port2", 6, 1 } }, { NULL, 0 }, 0, 0, 0, 1 },
		{ "port 2 has no name", { .name = { "", 6, 1 } }, { NULL, 0 }, 0, 0, 2, 6 },
		{ "port name \"port01\" does not mean one port only", { .name = { "PORT-1", 6, 1 } }, { NULL, 0 }, 0, 0, 2, 5 },
		{ "port name \"port01\" does not mean one port only", { .name = { "port2", 6, 1 }, .aliases = { (struct pm_word[]){ { "port1", 7, 3 } }, 1 } }, { NULL, 0 }, 0, 0, 2, 5 },
		{ NULL, { .name = { "port2", 6, 1 }, .aliases = { same, 1 } }, { NULL, 0 }, 0, 0, 2, 0 },
		{ "port name \"-\" does not mean one port only", { .name = { "port2", 6, 1 }, .aliases = { blank, 1 } }, { NULL, 0 }, 0, 0, 2, 7 },
		{ "port name nothing does not mean one port only", { .name = { "port2", 6, 1 }, .aliases = { null, 1 } }, { NULL, 0 }, 0, 0, 2, 7 },
		{ "a prefix is 6 to 11 hex digits with hyphens", { .name = { "port2", 6, 1 } }, { short_prefix, 1 }, 0, 0, 2, 8 },
		{ "a prefix is 6 to 11 hex digits with hyphens", { .name = { "port2", 6, 1 } }, { long_prefix, 1 }, 0, 0, 2, 8 },
		{ "a prefix is 6 to 11 hex digits with hyphens", { .name = { "port2", 6, 1 } }, { odd_prefix, 1 }, 0, 0, 2, 8 },
		{ "the longest boot time is below the shortest", { .name = { "port2", 6, 1 } }, { NULL, 0 }, 301, 300, 2, 1 },
	};
	for (size_t i = 0; i < COUNT(faults); i++) {
		struct pm_port two[2] = { { .name = { "port01", 5, 1 } }, faults[i].second };
		struct pm_gear gear = { .file = "g.yaml", .id = { "g", 1, 1 }, .ports = two, .port_count = faults[i].count,
		                        .prefixes = faults[i].prefixes, .boot_least = faults[i].least, .boot_most = faults[i].most };
		struct pm_fault fault = { .kind = PM_FAULT_NONE };
		bool good = pm_gear_valid(&gear, &fault);
		if (good != !faults[i].message)
			fail_msg("row %zu: %s", i, good ? "accepted" : fault.message);
		if (good)
			continue;
		assert_string_equal(fault.message, faults[i].message);
		assert_int_equal(fault.line, faults[i].line);
		assert_string_equal(fault.file, "g.yaml");
	}
	/* one alias on two ports */
	struct pm_port two[2] = { { .name = { "a1", 5, 1 }, .aliases = { (struct pm_word[]){ { "x", 5, 9 } }, 1 } },
	                          { .name = { "b1", 6, 1 }, .aliases = { (struct pm_word[]){ { "X", 6, 9 } }, 1 } } };
	struct pm_gear gear = { .id = { "g", 1, 1 }, .ports = two, .port_count = 2 };
	struct pm_fault fault;
	assert_false(pm_gear_valid(&gear, &fault));
	assert_string_equal(fault.message, "port name \"x\" does not mean one port only");
}

static void test_call(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_muster(&f);
	fixture_say(&f, "port/port3", "00-00-5E-00-53-99");         /* conflict */
	fixture_withdraw(&f, "port/port4", NULL);                   /* open */
	fixture_withdraw(&f, "port/port5", NULL);
	fixture_say(&f, "port/port5", "00-00-5E-00-53");            /* malformed */
	fixture_withdraw(&f, "port/port6", NULL);
	fixture_say(&f, "port/port6", "0000.5e00.5316");            /* held */
	fixture_read(&f, "port/port7", NULL, PM_SOURCE_SKIPPED, NULL, FIXTURE_NOW);
	struct pm_roster roster;
	assert_true(pm_roster_call(&f.job, &f.gear, &f.arena, &roster));
	assert_int_equal(roster.count, FIXTURE_PORTS);
	assert_int_equal(roster.confirmed, FIXTURE_PORTS - 5);
	assert_int_equal(roster.held, FIXTURE_PORTS - 4);
	assert_int_equal(roster.call[3].fact.standing, PM_CONFLICT);
	assert_true(roster.call[3].valid);
	assert_int_equal(roster.call[4].fact.standing, PM_OPEN);
	assert_false(roster.call[4].valid);
	assert_int_equal(roster.call[5].fact.standing, PM_HELD);
	assert_false(roster.call[5].valid);
	assert_int_equal(roster.call[5].fault.reason, PM_EUI48_SHORT);
	assert_true(roster.call[6].valid);
	assert_int_equal(pm_eui48_number(&roster.call[6].address), 0x00005E005316);
	assert_int_equal(roster.call[7].fact.standing, PM_SKIPPED);
	assert_false(roster.call[7].valid);
	fixture_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_names), cmocka_unit_test(test_gear_valid), cmocka_unit_test(test_call) };
	return cmocka_run_group_tests_name("roster", tests, NULL, NULL);
}
