#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/registry.h"
#include "registry_sample.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))

static const struct {
	uint64_t address;
	enum pm_assignment assignment;
	unsigned bits;
	const char *prefix;
	const char *holder;
	enum pm_register from;
	unsigned holders;
} cases[] = {
	/* 24 bits: first, last and neighbours of a block */
	{ 0x00005E000000, PM_ASSIGNED, 24, "00005E", "numbers office", PM_MA_L, 1 },
	{ 0x00005EFFFFFF, PM_ASSIGNED, 24, "00005E", "numbers office", PM_MA_L, 1 },
	{ 0x00005DFFFFFF, PM_UNASSIGNED, 0, "", "", PM_MA_L, 0 },
	{ 0x00005F000000, PM_UNASSIGNED, 0, "", "", PM_MA_L, 0 },
	{ 0xFCFFFF000001, PM_ASSIGNED, 24, "FCFFFF", "last maker", PM_MA_L, 1 },
	{ 0x123456000000, PM_NOT_APPLICABLE, 0, "", "", PM_MA_L, 0 },   /* 12 is local */
	{ 0x103456000000, PM_UNASSIGNED, 0, "", "", PM_MA_L, 0 },
	{ 0x080030ABCDEF, PM_ASSIGNED, 24, "080030", "first of three", PM_MA_L, 3 },
	{ 0x100000000001, PM_ASSIGNED, 24, "100000", "", PM_MA_L, 1 },
	/* 28 bits, and the smaller block in it */
	{ 0x741AE0900000, PM_ASSIGNED, 28, "741AE09", "middle maker", PM_MA_M, 1 },
	{ 0x741AE0954FFF, PM_ASSIGNED, 28, "741AE09", "middle maker", PM_MA_M, 1 },
	{ 0x741AE0955000, PM_ASSIGNED, 36, "741AE0955", "smallest inside the middle", PM_MA_S, 1 },
	{ 0x741AE0955FFF, PM_ASSIGNED, 36, "741AE0955", "smallest inside the middle", PM_MA_S, 1 },
	{ 0x741AE0956000, PM_ASSIGNED, 28, "741AE09", "middle maker", PM_MA_M, 1 },
	{ 0x741AE0F00000, PM_BLOCK_UNLISTED, 24, "741AE0", "the authority", PM_MA_L, 1 },
	/* 36 bits, with leading zeros in the prefix */
	{ 0x001BC5000FFF, PM_ASSIGNED, 36, "001BC5000", "small maker", PM_MA_S, 1 },
	{ 0x001BC5001000, PM_BLOCK_UNLISTED, 24, "001BC5", "the authority", PM_MA_L, 1 },
	{ 0x0050C27D5ABC, PM_ASSIGNED, 36, "0050C27D5", "old small maker", PM_IAB, 1 },
	{ 0x0050C27D6000, PM_UNASSIGNED, 0, "", "", PM_MA_L, 0 },
	/* the parent has no row of its own */
	{ 0x1C8879012345, PM_ASSIGNED, 28, "1C88790", "middle maker", PM_MA_M, 1 },
	{ 0x1C8879F12345, PM_BLOCK_UNLISTED, 0, "", "", PM_MA_L, 0 },
	/* bits come before rows */
	{ 0x1100AA000001, PM_NOT_APPLICABLE, 0, "", "", PM_MA_L, 0 },
	{ 0xAA0004000001, PM_NOT_APPLICABLE, 0, "", "", PM_MA_L, 0 },
	{ 0xFFFFFFFFFFFF, PM_NOT_APPLICABLE, 0, "", "", PM_MA_L, 0 },
};

static void test_find(void **state)
{
	(void)state;
	size_t length;
	unsigned char *bytes = sample_index(&length);
	struct pm_registry registry;
	struct pm_fault fault = { 0 };
	assert_true(pm_registry_open(&registry, bytes, length, &fault));
	assert_true(pm_registry_check(&registry, &fault));
	assert_string_equal(registry.origin, "a test");
	assert_string_equal(registry.dated, "2026-01-15");
	assert_int_equal(registry.rows[PM_MA_L], 10);
	assert_int_equal(registry.rows[PM_IAB], 1);
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_eui48 address = pm_eui48_from(cases[i].address);
		struct pm_block block;
		char prefix[10];
		enum pm_assignment got = pm_registry_find(&registry, &address, &block);
		if (got != cases[i].assignment || block.bits != cases[i].bits)
			fail_msg("%012llX: %d with %u bits", (unsigned long long)cases[i].address, (int)got, block.bits);
		assert_string_equal(pm_block_prefix(&block, prefix), cases[i].prefix);
		assert_string_equal(block.holder, cases[i].holder);
		assert_int_equal(block.from, cases[i].from);
		assert_int_equal(block.holders, cases[i].holders);
	}
	free(bytes);
}

static void test_register_names(void **state)
{
	(void)state;
	assert_string_equal(pm_register_name(PM_MA_L), "MA-L");
	assert_string_equal(pm_register_name(PM_MA_M), "MA-M");
	assert_string_equal(pm_register_name(PM_MA_S), "MA-S");
	assert_string_equal(pm_register_name(PM_IAB), "IAB");
}

/* Use an index in every way; the sanitizer watches. Returns a sum over all that
 * was read, so that nothing is optimised away. */
static size_t use(const struct pm_registry *registry)
{
	size_t sum = strlen(registry->origin) + strlen(registry->dated);
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_eui48 address = pm_eui48_from(cases[i].address);
		struct pm_block block;
		char prefix[10];
		pm_registry_find(registry, &address, &block);
		sum += strlen(block.holder) + strlen(pm_block_prefix(&block, prefix)) + block.holders;
		sum += strlen(pm_register_name(block.from));
	}
	return sum + pm_registry_check(registry, NULL);
}

static void test_cut_at_every_length(void **state)
{
	(void)state;
	size_t length;
	unsigned char *bytes = sample_index(&length);
	for (size_t cut = 0; cut < length; cut++) {
		/* memory of its own, with nothing after it */
		unsigned char *part = malloc(cut ? cut : 1);
		struct pm_registry registry;
		struct pm_fault fault = { 0 };
		assert_non_null(part);
		memcpy(part, bytes, cut);
		assert_false(pm_registry_open(&registry, part, cut, &fault));
		assert_true(fault.kind == PM_FAULT_SYNTAX);
		assert_true(fault.message[0] && fault.remedy[0]);
		free(part);
	}
	/* one byte more is not the index either */
	unsigned char *longer = calloc(1, length + 1);
	struct pm_registry registry;
	assert_non_null(longer);
	memcpy(longer, bytes, length);
	assert_false(pm_registry_open(&registry, longer, length + 1, NULL));
	free(longer);
	free(bytes);
}

/* Every single bit turned: refused at opening or at the check, never read out
 * of bounds. */
static void test_every_bit(void **state)
{
	(void)state;
	size_t length, opened = 0, sum = 0;
	unsigned char *bytes = sample_index(&length);
	for (size_t bit = 0; bit < length * 8; bit++) {
		struct pm_registry registry;
		bytes[bit / 8] ^= (unsigned char)(1u << bit % 8);
		if (pm_registry_open(&registry, bytes, length, NULL)) {
			opened++;
			sum += use(&registry);
			if (pm_registry_check(&registry, NULL))
				fail_msg("bit %zu turned and not noticed", bit);
		}
		bytes[bit / 8] ^= (unsigned char)(1u << bit % 8);
	}
	assert_true(opened > 0 && sum > 0);
	free(bytes);
}

/* Many at once, and a header that lies about its counts and offsets. */
static void test_random_damage(void **state)
{
	(void)state;
	size_t length, opened = 0, sum = 0;
	unsigned char *bytes = sample_index(&length);
	unsigned char *copy = malloc(length);
	uint64_t seed = 88172645463325252u;
	assert_non_null(copy);
	for (int round = 0; round < 20000; round++) {
		memcpy(copy, bytes, length);
		unsigned flips = 1 + round % 12;
		for (unsigned i = 0; i < flips; i++) {
			seed ^= seed << 13;
			seed ^= seed >> 7;
			seed ^= seed << 17;
			/* every third round in the rows and names only, so that it opens */
			size_t from = round % 3 ? 0 : PM_REGISTRY_HEADER;
			copy[from + seed % (length - from)] ^= (unsigned char)(1u << (seed >> 32) % 8);
		}
		struct pm_registry registry;
		if (pm_registry_open(&registry, copy, length, NULL)) {
			opened++;
			sum += use(&registry);
		}
	}
	assert_true(opened > 1000 && sum > 0);
	free(copy);
	free(bytes);
}

static void put32(unsigned char *at, uint32_t value)
{
	for (unsigned i = 0; i < 4; i++)
		at[i] = (unsigned char)(value >> 8 * i);
}

/* Header fields at their extremes (docs/registry.md has the offsets). */
static void test_lying_header(void **state)
{
	(void)state;
	static const size_t fields[] = { 8, 28, 32, 36, 40, 44, 48, 52 };
	static const uint32_t values[] = { 0xFFFFFFFF, 0x80000000, 0x7FFFFFFF, 0x15555556, 0x10000, 1000 };
	size_t length;
	unsigned char *bytes = sample_index(&length);
	for (size_t f = 0; f < COUNT(fields); f++)
		for (size_t v = 0; v < COUNT(values); v++) {
			unsigned char kept[4];
			struct pm_registry registry;
			memcpy(kept, bytes + fields[f], 4);
			put32(bytes + fields[f], values[v]);
			assert_false(pm_registry_open(&registry, bytes, length, NULL));
			memcpy(bytes + fields[f], kept, 4);
		}
	/* a count of rows that wraps round in 32 bits must not add up again */
	put32(bytes + 28, (uint32_t)COUNT(sample_24) + 0x40000000u);
	struct pm_registry registry;
	assert_false(pm_registry_open(&registry, bytes, length, NULL));
	free(bytes);
}

static void test_other_version(void **state)
{
	(void)state;
	size_t length;
	unsigned char *bytes = sample_index(&length);
	struct pm_registry registry;
	struct pm_fault fault = { 0 };
	bytes[7] = '2';
	assert_false(pm_registry_open(&registry, bytes, length, &fault));
	assert_int_equal(fault.kind, PM_FAULT_NEWER);
	free(bytes);
}

/* A row that names a place outside is no assignment. */
static void test_bad_name_is_no_assignment(void **state)
{
	(void)state;
	size_t length;
	unsigned char *bytes = sample_index(&length);
	struct pm_registry registry;
	struct pm_block block;
	struct pm_eui48 address = pm_eui48_from(0x00005E005301);
	put32(bytes + PM_REGISTRY_HEADER + 8, 0xFFFFFFFF);
	assert_true(pm_registry_open(&registry, bytes, length, NULL));
	assert_int_equal(pm_registry_find(&registry, &address, &block), PM_UNASSIGNED);
	assert_false(pm_registry_check(&registry, NULL));
	free(bytes);
}

static void test_size_limit(void **state)
{
	(void)state;
	struct pm_registry_layout layout = { .count = { 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF } };
	assert_int_equal(pm_registry_size(&layout), 0);
	layout = (struct pm_registry_layout){ .count = { 1, 0, 0 }, .names_length = 1 };
	assert_int_equal(pm_registry_size(&layout), PM_REGISTRY_HEADER + PM_REGISTRY_ROW + 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_find),
		cmocka_unit_test(test_register_names),
		cmocka_unit_test(test_cut_at_every_length),
		cmocka_unit_test(test_every_bit),
		cmocka_unit_test(test_random_damage),
		cmocka_unit_test(test_lying_header),
		cmocka_unit_test(test_other_version),
		cmocka_unit_test(test_bad_name_is_no_assignment),
		cmocka_unit_test(test_size_limit),
	};
	return cmocka_run_group_tests_name("registry", tests, NULL, NULL);
}
