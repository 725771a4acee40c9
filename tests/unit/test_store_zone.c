/* Looking a time zone up: in folders made here, and in the installed data. The arena is
 * compiled in with a malloc that can be told to fail. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static size_t asked, fail_at;

static void *counting_malloc(size_t size)
{
	return ++asked == fail_at ? NULL : malloc(size);
}

#define malloc counting_malloc
#include "core/arena.c"
#undef malloc

#include "fixture.h"
#include "scratch.h"
#include "store/zone_file.h"
#include "zone_bytes.h"

static char folder[120];

static void put(const char *name, const void *bytes, size_t length)
{
	char path[200];
	snprintf(path, sizeof path, "%s/%s", folder, name);
	assert_true(scratch_write(path, bytes, length));
}

static void put_zone(const char *name, const char *footer)
{
	struct zone_bytes z;
	zone_put_footer(&z, footer);
	put(name, z.byte, z.length);
}

static void make(const char *name)
{
	char path[200];
	snprintf(path, sizeof path, "%s/%s", folder, name);
	assert_int_equal(mkdir(path, 0700), 0);
}

static int begin(void **state)
{
	(void)state;
	char path[200];
	static char large[PM_ZONE_MOST_BYTES + 10];
	if (!scratch_make(folder, sizeof folder))
		return 1;
	make("Basin");
	make("Basin/Lower");
	make("Hills");
	make("Etc");
	make("right");
	make("right/Basin");
	put_zone("Etc/UTC", "UTC0");
	put_zone("Basin/Orsketh", ZONE_CET);
	put_zone("Basin/Vintrow_Ford", ZONE_EST_EDT);
	put_zone("Basin/Lower/Pellarn", ZONE_0545);
	put_zone("Hills/Dunvorrel", ZONE_1245);
	put_zone("Hills/Dunvorrem", ZONE_1245);
	put_zone("right/Basin/Orsketh", ZONE_CET);
	put_zone("localtime", ZONE_CET);
	put_zone("Basin/table.tab", ZONE_CET);
	put("Basin/Torn", "TZif2", 5);
	put("Basin/Large", large, sizeof large);
	snprintf(path, sizeof path, "%s/Basin/Pipe", folder);
	if (mkfifo(path, 0600) != 0)
		return 1;
	snprintf(path, sizeof path, "%s/Loop", folder);
	if (symlink(".", path) != 0)
		return 1;
	snprintf(path, sizeof path, "%s/Hills/Linked", folder);
	if (symlink("../Basin/Orsketh", path) != 0)
		return 1;
	return setenv("TZDIR", folder, 1);
}

static int end(void **state)
{
	(void)state;
	scratch_remove(folder);
	return 0;
}

static void test_found(void **state)
{
	(void)state;
	static const struct { const char *name; int32_t offset; } zones[] = {
		{ "Basin/Orsketh", 7200 }, { "Basin/Vintrow_Ford", -14400 }, { "Basin/Lower/Pellarn", 20700 }, { "Hills/Linked", 7200 },
		{ "Etc/UTC", 0 }, { "Loop/Basin/Orsketh", 7200 },
	};
	for (size_t i = 0; i < COUNT(zones); i++) {
		struct store_zone zone;
		struct pm_fault fault;
		store_zone_open(&zone, zones[i].name, false);
		assert_int_equal(zone.look.standing, PM_LOOK_FOUND);
		assert_null(zone.look.zone);
		store_zone_close(&zone);
		store_zone_open(&zone, zones[i].name, true);
		assert_int_equal(zone.look.standing, PM_LOOK_FOUND);
		assert_string_equal(zone.look.zone->name, zones[i].name);
		assert_int_equal(pm_zone_at(zone.look.zone, 1783000000).offset, zones[i].offset);   /* July 2026 */
		assert_true(store_zone_may(&zone, zones[i].name, (struct pm_place){ 0 }, &fault));
		store_zone_close(&zone);
		assert_null(zone.look.zone);
	}
}

static void test_unknown(void **state)
{
	(void)state;
	static const struct { const char *name, *meant; } zones[] = {
		{ "Nowhere/Zone", NULL },
		{ "Basin/Orsketg", "Basin/Orsketh" },       /* one slip */
		{ "Basin/Orskteh", "Basin/Orsketh" },
		{ "Basin/Vintrowford", "Basin/Vintrow_Ford" },
		{ "Basin/Vintrow Ford", "Basin/Vintrow_Ford" },
		{ "basin/orsketh", "Basin/Orsketh" },
		{ "orsketh", "Basin/Orsketh" },
		{ "Hills/Orsketh", "Basin/Orsketh" },
		{ "Pellarn", "Basin/Lower/Pellarn" },
		{ "Pelarn", "Basin/Lower/Pellarn" },
		{ "Hills/Dunvorre", "Hills/Dunvorrel" },    /* of two that are as near, the first */
		{ "right/Basin/Orsketh", "Basin/Orsketh" }, /* counts leap seconds */
		{ "posix/Basin/Orsketh", "Basin/Orsketh" },
		{ "../Basin/Orsketh", "Basin/Orsketh" },
		{ "/etc/passwd", NULL }, { "..", NULL }, { "Basin/../Etc/UTC", "Etc/UTC" }, { "Basin//Orsketh", "Basin/Orsketh" }, { "Basin/", NULL },
		{ "Basin", NULL }, { "Basin/Lower", NULL }, { "Basin/table.tab", NULL }, { "localtime", NULL }, { "Basin/Pipe", NULL },
		{ "", NULL }, { " ", NULL }, { "-", NULL }, { "UTCX", NULL }, { "Basin/Orsketh\n", "Basin/Orsketh" }, { "Basin/\x1B[2J", NULL },
		{ "Basin/OrskethBasin/OrskethBasin/OrskethBasin/OrskethBasin/OrskethBasin/OrskethBasin/Orsketh", NULL },
	};
	for (size_t i = 0; i < COUNT(zones); i++)
		for (int whole = 0; whole < 2; whole++) {
			struct store_zone zone;
			struct pm_fault fault = { 0 };
			store_zone_open(&zone, zones[i].name, whole);
			if (zone.look.standing != PM_LOOK_UNKNOWN)
				fail_msg("%s is not unknown", zones[i].name);
			assert_null(zone.look.zone);
			assert_string_equal(zone.look.why, "no such time zone");
			if (!pm_same(zone.look.meant, zones[i].meant))
				fail_msg("%s: meant is %s", zones[i].name, zone.look.meant ? zone.look.meant : "nothing");
			assert_false(store_zone_may(&zone, zones[i].name, (struct pm_place){ "list.csv", 3, 9 }, &fault));
			assert_int_equal(fault.kind, PM_FAULT_VALUE);
			assert_true(fault.line == 3 && fault.column == 9);
			assert_non_null(strstr(fault.remedy, zones[i].meant ? zones[i].meant : folder));
			assert_null(strchr(fault.message, 0x1B));
			store_zone_close(&zone);
		}
}

static void expect_unchecked(const char *name, const char *why)
{
	struct store_zone zone;
	struct pm_fault fault;
	store_zone_open(&zone, name, true);
	assert_int_equal(zone.look.standing, PM_LOOK_UNCHECKED);
	assert_null(zone.look.zone);
	if (!strstr(zone.look.why, why))
		fail_msg("%s: %s, not %s", name, zone.look.why, why);
	/* what could not be looked up is no reason to refuse */
	assert_true(store_zone_may(&zone, name, (struct pm_place){ 0 }, &fault));
	store_zone_close(&zone);
}

static void test_unchecked(void **state)
{
	(void)state;
	char path[200];
	expect_unchecked("Basin/Torn", "it ends within a header");
	expect_unchecked("Basin/Large", "larger than");
	if (geteuid() != 0) {
		snprintf(path, sizeof path, "%s/Basin/Orsketh", folder);
		assert_int_equal(chmod(path, 0), 0);
		expect_unchecked("Basin/Orsketh", "can't open");
		assert_int_equal(chmod(path, 0600), 0);
	}
	/* a folder that is not there, and one that has no zones */
	setenv("TZDIR", "/nonexistent", 1);
	expect_unchecked("Basin/Orsketh", "the time zone data is not installed");
	expect_unchecked("../x", "the time zone data is not installed");
	snprintf(path, sizeof path, "%s/Basin", folder);
	setenv("TZDIR", path, 1);
	expect_unchecked("Basin/Orsketh", "the time zone data is not installed");
	setenv("TZDIR", folder, 1);
}

static void test_jobs(void **state)
{
	(void)state;
	struct fixture f;
	struct store_zone zone;
	fixture_init(&f);
	store_zone_open_for(&zone, &f.job, true);
	assert_int_equal(zone.look.standing, PM_LOOK_UNCHECKED);
	assert_null(zone.look.zone);
	assert_int_equal(zone.arena.bytes, 0);
	store_zone_close(&zone);
	f.job.zone = word("Basin/Orsketh");
	store_zone_open_for(&zone, &f.job, false);
	assert_int_equal(zone.look.standing, PM_LOOK_FOUND);
	assert_null(zone.look.zone);
	assert_int_equal(zone.arena.bytes, 0);
	store_zone_close(&zone);
	fixture_say(&f, "desk/appointment", FIXTURE_WINDOW);
	store_zone_open_for(&zone, &f.job, false);
	assert_non_null(zone.look.zone);
	store_zone_close(&zone);
	fixture_forget(&f);
}

static void test_memory(void **state)
{
	(void)state;
	static const char *const names[] = { "Basin/Orsketh", "Basin/Orsketg" };
	for (size_t i = 0; i < COUNT(names); i++) {
		size_t failures = 0;
		for (fail_at = 1;; fail_at++) {
			struct store_zone zone;
			asked = 0;
			store_zone_open(&zone, names[i], true);
			bool spared = asked < fail_at;
			if (!spared && i == 0) {
				assert_int_equal(zone.look.standing, PM_LOOK_UNCHECKED);
				assert_string_equal(zone.look.why, "out of memory");
			} else if (!spared) {
				assert_int_equal(zone.look.standing, PM_LOOK_UNKNOWN);
				assert_null(zone.look.meant);
			}
			assert_int_equal(zone.look.zone != NULL, spared && i == 0);
			store_zone_close(&zone);
			failures += !spared;
			if (spared)
				break;
		}
		fail_at = 0;
		assert_true(failures > 0);
	}
}

static void test_installed(void **state)
{
	(void)state;
	struct store_zone zone;
	unsetenv("TZDIR");
	store_zone_open(&zone, "WET", true);
	if (zone.look.standing == PM_LOOK_UNCHECKED)
		fail_msg("the time zone data is not installed (Debian package tzdata)");
	assert_int_equal(zone.look.standing, PM_LOOK_FOUND);
	assert_int_equal(pm_zone_at(zone.look.zone, 1783000000).offset, 3600);
	store_zone_close(&zone);
	static const struct { const char *name, *meant; } zones[] = {
		{ "EST5EDX", "EST5EDT" }, { "est5edt", "EST5EDT" }, { "Etc/Universall", "Etc/Universal" },
		{ "CEST", NULL }, { "Nowhere/Zone", NULL },
	};
	for (size_t i = 0; i < COUNT(zones); i++) {
		store_zone_open(&zone, zones[i].name, false);
		assert_int_equal(zone.look.standing, PM_LOOK_UNKNOWN);
		if (!pm_same(zone.look.meant, zones[i].meant))
			fail_msg("%s: meant is %s", zones[i].name, zone.look.meant ? zone.look.meant : "nothing");
		store_zone_close(&zone);
	}
	setenv("TZDIR", folder, 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_found), cmocka_unit_test(test_unknown), cmocka_unit_test(test_unchecked),
		cmocka_unit_test(test_jobs), cmocka_unit_test(test_memory), cmocka_unit_test(test_installed),
	};
	return cmocka_run_group_tests_name("zone files", tests, begin, end);
}
