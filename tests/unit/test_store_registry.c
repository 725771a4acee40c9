#include <fcntl.h>
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

#include "store/map.h"
#include "store/registry_build.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))
#define HEAD "Registry,Assignment,Organization Name,Organization Address\r\n"

static char folder[64], path[96];

static const char *const files[] = { "oui.csv", "mam.csv", "oui36.csv", "iab.csv", ".lastupdate" };

/* Invented holders; the prefixes show each shape that the files have. */
static const char oui[] = HEAD
	"MA-L,FCFFAA,the authority,\r\n"                          /* split, no block listed yet */
	"MA-L,741AE0,the authority,\"several\nlines\"\r\n"
	"MA-L,001BC5,the authority,\r\n"
	"MA-L,080030,first of two,\r\n"
	"MA-L,080030,second of two,\r\n"
	"MA-L,00005E,\"maker, with a comma\",x\r\n"
	"MA-L,10aabb, stray spaces\t,\r\n"
	"MA-L,100000,=SUM(1),\r\n"
	"MA-L,180000,\xC3\x89tablissement,\r\n";
static const char mam[] = HEAD "MA-M,741AE09,middle maker,\r\nMA-M,1C88790,middle maker,\r\n";
static const char oui36[] = HEAD "MA-S,001BC5000,small maker,\r\n";
static const char iab[] = HEAD "IAB,0050C27D5,old small maker,\r\n";

static void put_file(const char *name, const char *text)
{
	char file[128];
	snprintf(file, sizeof file, "%s/%s", folder, name);
	FILE *out = fopen(file, "wb");
	assert_non_null(out);
	assert_int_equal(fwrite(text, 1, strlen(text), out), strlen(text));
	assert_int_equal(fclose(out), 0);
}

static int set_up(void **state)
{
	(void)state;
	strcpy(folder, "/tmp/registry.XXXXXX");
	if (!mkdtemp(folder))
		return -1;
	snprintf(path, sizeof path, "%s/registry.idx", folder);
	put_file("oui.csv", oui);
	put_file("mam.csv", mam);
	put_file("oui36.csv", oui36);
	put_file("iab.csv", iab);
	put_file(".lastupdate", "1768435200\n");   /* 2026-01-15T00:00:00Z */
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	char file[128];
	for (size_t i = 0; i < COUNT(files); i++) {
		snprintf(file, sizeof file, "%s/%s", folder, files[i]);
		unlink(file);
	}
	unlink(path);
	return rmdir(folder);
}

static void test_build_and_find(void **state)
{
	(void)state;
	static const struct {
		uint64_t address;
		enum pm_assignment assignment;
		unsigned bits, holders;
		const char *holder;
	} cases[] = {
		{ 0x00005E005301, PM_ASSIGNED, 24, 1, "maker, with a comma" },
		{ 0x080030000001, PM_ASSIGNED, 24, 2, "first of two" },
		{ 0x10AABB000001, PM_ASSIGNED, 24, 1, " stray spaces\t" },
		{ 0x100000000001, PM_ASSIGNED, 24, 1, "=SUM(1)" },
		{ 0x180000000001, PM_ASSIGNED, 24, 1, "\xC3\x89tablissement" },
		{ 0x741AE0900001, PM_ASSIGNED, 28, 1, "middle maker" },
		{ 0x741AE0F00001, PM_BLOCK_UNLISTED, 24, 1, "the authority" },
		{ 0x1C8879000001, PM_ASSIGNED, 28, 1, "middle maker" },
		{ 0x1C8879100001, PM_BLOCK_UNLISTED, 0, 0, "" },        /* the parent has no row */
		{ 0x001BC5000001, PM_ASSIGNED, 36, 1, "small maker" },
		{ 0x001BC5FFF001, PM_BLOCK_UNLISTED, 24, 1, "the authority" },
		{ 0x0050C27D5001, PM_ASSIGNED, 36, 1, "old small maker" },
		{ 0x0050C204D001, PM_BLOCK_UNLISTED, 0, 0, "" },
		{ 0xFCFFAA000001, PM_BLOCK_UNLISTED, 24, 1, "the authority" },
		{ 0x20AABB000001, PM_UNASSIGNED, 0, 0, "" },
	};
	struct pm_fault fault = { 0 };
	struct store_map map;
	if (!store_registry_build(folder, path, &fault))
		fail_msg("%s: %s", fault.file, fault.message);
	assert_true(store_map_open(&map, path, &fault));
	assert_true(pm_registry_check(&map.registry, &fault));
	assert_string_equal(map.registry.origin, folder);
	assert_string_equal(map.registry.dated, "2026-01-15");
	assert_int_equal(map.registry.rows[PM_MA_L], 9);
	assert_int_equal(map.registry.rows[PM_MA_M], 2);
	assert_int_equal(map.registry.rows[PM_MA_S], 1);
	assert_int_equal(map.registry.rows[PM_IAB], 1);
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_eui48 address = pm_eui48_from(cases[i].address);
		struct pm_block block;
		enum pm_assignment got = pm_registry_find(&map.registry, &address, &block);
		if (got != cases[i].assignment || block.bits != cases[i].bits)
			fail_msg("%012llX: %d, %u bits", (unsigned long long)cases[i].address, (int)got, block.bits);
		assert_string_equal(block.holder, cases[i].holder);
		assert_int_equal(block.holders, cases[i].holders);
	}
	store_map_close(&map);
	store_map_close(&map);   /* twice does no harm */
}

static const struct { const char *file, *text; enum pm_fault_kind kind; uint32_t line, column; const char *says; } faulty[] = {
	{ "oui.csv", "", PM_FAULT_SYNTAX, 0, 0, "empty" },
	{ "oui.csv", "Registry,Assignment,Holder\r\n", PM_FAULT_SYNTAX, 1, 0, "Organization Name" },
	{ "oui.csv", HEAD "MA-L,00005E\r\n", PM_FAULT_SYNTAX, 2, 1, "2 fields" },
	{ "oui.csv", HEAD "MA-L,00005,a,\r\n", PM_FAULT_VALUE, 2, 6, "\"00005\"" },
	{ "oui.csv", HEAD "MA-L,00005E0,a,\r\n", PM_FAULT_VALUE, 2, 6, "6 hex digits" },
	{ "oui.csv", HEAD "MA-L,00005G,a,\r\n", PM_FAULT_VALUE, 2, 6, "6 hex digits" },
	{ "oui.csv", HEAD "MA-L,00005E,\"a\nb\",\r\nMA-M,00005F,a,\r\n", PM_FAULT_VALUE, 4, 1, "\"MA-M\"" },
	{ "mam.csv", HEAD "MA-M,741AE0,a,\r\n", PM_FAULT_VALUE, 2, 6, "7 hex digits" },
	{ "oui36.csv", HEAD "MA-S,001BC5000,\"a\r\n", PM_FAULT_SYNTAX, 2, 16, "not closed" },
	{ "iab.csv", HEAD "IAB,0050C27D5,a\x1B\"[2J,\r\n", PM_FAULT_SYNTAX, 2, 17, "a quote inside" },
	{ "iab.csv", HEAD "IAB,\x1B[2J,a,\r\n", PM_FAULT_VALUE, 2, 5, "\"\\x1B[2J\"" },
};

static void test_faulty_files(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(faulty); i++) {
		struct pm_fault fault = { 0 };
		tear_down(NULL);
		assert_int_equal(set_up(NULL), 0);
		put_file(faulty[i].file, faulty[i].text);
		assert_false(store_registry_build(folder, path, &fault));
		if (fault.kind != faulty[i].kind || fault.line != faulty[i].line ||
		    fault.column != faulty[i].column || !strstr(fault.message, faulty[i].says))
			fail_msg("case %zu: %s at %u:%u: %s", i, pm_fault_word(fault.kind), fault.line,
			         fault.column, fault.message);
		assert_non_null(strstr(fault.file, faulty[i].file));
		assert_int_not_equal(access(path, F_OK), 0);   /* nothing was written */
	}
}

static void test_missing_files(void **state)
{
	(void)state;
	for (size_t i = 0; i < 4; i++) {
		char file[128];
		struct pm_fault fault = { 0 };
		tear_down(NULL);
		assert_int_equal(set_up(NULL), 0);
		snprintf(file, sizeof file, "%s/%s", folder, files[i]);
		assert_int_equal(unlink(file), 0);
		assert_false(store_registry_build(folder, path, &fault));
		assert_int_equal(fault.kind, PM_FAULT_MISSING);
		assert_non_null(strstr(fault.file, files[i]));
	}
}

static void test_date(void **state)
{
	(void)state;
	static const struct { const char *text, *date; } rows[] = {
		{ "1661630937\n", "2022-08-27" },
		{ "2024-07-22\n", "2024-07-22" },
		{ "2024-07-22T10:00:00Z", "2024-07-22" },
		{ "2024-07-22 10:00", "2024-07-22" },
		/* not dates: the newest file's time counts, set below to 2025-03-04 */
		{ "yesterday", "2025-03-04" },
		{ "2024-02-30", "2025-03-04" },
		{ "20240722", "2025-03-04" },
		{ "99999999999999999999", "2025-03-04" },
		{ "", "2025-03-04" },
		{ "2024-7-2", "2025-03-04" },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct pm_fault fault = { 0 };
		struct store_map map;
		put_file(".lastupdate", rows[i].text);
		for (size_t f = 0; f < 4; f++) {
			char file[128];
			snprintf(file, sizeof file, "%s/%s", folder, files[f]);
			/* 2025-03-04T00:00:00Z, the others a day earlier each */
			struct timespec time = { 1741046400 - 86400 * (time_t)f, 0 };
			const struct timespec times[2] = { time, time };
			assert_int_equal(utimensat(AT_FDCWD, file, times, 0), 0);
		}
		assert_true(store_registry_build(folder, path, &fault));
		assert_true(store_map_open(&map, path, &fault));
		if (strcmp(map.registry.dated, rows[i].date) != 0)
			fail_msg("\"%s\" dated %s", rows[i].text, map.registry.dated);
		store_map_close(&map);
	}
}

static void test_map_refuses(void **state)
{
	(void)state;
	struct store_map map;
	struct pm_fault fault = { 0 };
	assert_false(store_map_open(&map, path, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_false(store_map_open(&map, folder, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
	assert_false(store_map_open(&map, "/dev/null", &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
	put_file("registry.idx", "");
	assert_false(store_map_open(&map, path, &fault));
	assert_int_equal(fault.kind, PM_FAULT_SYNTAX);
	put_file("registry.idx", "PMREGIX1 and then something else altogether, for long enough to be as long as a header is");
	assert_false(store_map_open(&map, path, &fault));
	assert_int_equal(fault.kind, PM_FAULT_SYNTAX);
	assert_string_equal(fault.file, path);
	assert_null(map.bytes);
	/* a fifo must not hold the program up */
	assert_int_equal(unlink(path), 0);
	assert_int_equal(mkfifo(path, 0600), 0);
	assert_false(store_map_open(&map, path, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
}

#define CASE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(test_build_and_find),
		CASE(test_faulty_files),
		CASE(test_missing_files),
		CASE(test_date),
		CASE(test_map_refuses),
	};
	return cmocka_run_group_tests_name("registry files", tests, NULL, NULL);
}
