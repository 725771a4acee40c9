/* QR codes: what ISO/IEC 18004 fixes about every one of them, the capacities
 * of its table 7 and its annex's sample (both from memory). The texts
 * themselves are read back in tests/outside/test_packet.py. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/text.h"
#include "report/qr.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* A text of `length` lower case letters, which no denser mode takes. */
static const char *letters(struct pm_arena *arena, size_t length)
{
	char *text = pm_arena_alloc(arena, length + 1);
	for (size_t i = 0; i < length; i++)
		text[i] = (char)('a' + i % 26);
	return text;
}

static void finder_at(const struct qr *qr, unsigned left, unsigned top)
{
	for (unsigned y = 0; y < 7; y++)
		for (unsigned x = 0; x < 7; x++) {
			bool ring = (x == 1 || x == 5) ? y >= 1 && y <= 5 : (y == 1 || y == 5) && x >= 1 && x <= 5;
			assert_int_equal(qr_dark(qr, left + x, top + y), !ring);
		}
}

/* The format information of one of its two places, highest bit first. */
static unsigned format_of(const struct qr *qr, bool second)
{
	static const uint8_t place[15][2] = {
		{ 0, 8 }, { 1, 8 }, { 2, 8 }, { 3, 8 }, { 4, 8 }, { 5, 8 }, { 7, 8 }, { 8, 8 },
		{ 8, 7 }, { 8, 5 }, { 8, 4 }, { 8, 3 }, { 8, 2 }, { 8, 1 }, { 8, 0 },
	};
	unsigned format = 0;
	for (unsigned i = 0; i < 15; i++) {
		unsigned x = place[i][0], y = place[i][1];
		if (second)
			x = i < 7 ? 8 : qr->size - 15 + i, y = i < 7 ? qr->size - 1 - i : 8;
		format = format << 1 | qr_dark(qr, x, y);
	}
	return format ^ 0x5412;
}

/* The remainder by the generator x^10+x^8+x^5+x^4+x^2+x+1: 0 for a sound one. */
static unsigned format_remainder(unsigned format)
{
	for (int bit = 14; bit >= 10; bit--)
		if (format >> bit & 1)
			format ^= 0x537u << (bit - 10);
	return format;
}

static void is_well_formed(const struct qr *qr)
{
	assert_in_range(qr->version, 1, QR_MOST_VERSION);
	assert_int_equal(qr->size, 17 + 4 * qr->version);
	finder_at(qr, 0, 0);
	finder_at(qr, qr->size - 7, 0);
	finder_at(qr, 0, qr->size - 7);
	for (unsigned i = 0; i < 8; i++) {
		assert_false(qr_dark(qr, 7, i) || qr_dark(qr, i, 7));
		assert_false(qr_dark(qr, qr->size - 8, i) || qr_dark(qr, qr->size - 1 - i, 7));
		assert_false(qr_dark(qr, 7, qr->size - 1 - i) || qr_dark(qr, i, qr->size - 8));
	}
	for (unsigned i = 8; i < qr->size - 8; i++) {
		assert_int_equal(qr_dark(qr, i, 6), i % 2 == 0);
		assert_int_equal(qr_dark(qr, 6, i), i % 2 == 0);
	}
	assert_true(qr_dark(qr, 8, qr->size - 8));
	assert_int_equal(format_of(qr, false), format_of(qr, true));
	assert_int_equal(format_remainder(format_of(qr, false)), 0);
	/* 00 is M, 01 is L */
	assert_int_equal(format_of(qr, false) >> 13, qr->level == 'M' ? 0 : 1);
	for (size_t i = 0; i < (size_t)qr->size * qr->size; i++)
		assert_in_range(qr->bits[i], 0, 1);
}

static void capacities(void **state)
{
	(void)state;
	static const struct { size_t bytes; unsigned version; char level; } cases[] = {
		{ 1, 1, 'M' }, { 14, 1, 'M' }, { 15, 2, 'M' }, { 26, 2, 'M' }, { 27, 3, 'M' }, { 213, 10, 'M' }, { 214, 11, 'M' },
		{ 666, 20, 'M' }, { 667, 21, 'M' }, { 997, 25, 'M' }, { 998, 22, 'L' }, { 1003, 22, 'L' }, { 1004, 23, 'L' },
		{ 1273, 25, 'L' },
	};
	struct pm_arena arena;
	pm_arena_init(&arena);
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct qr qr;
		struct pm_fault fault = { 0 };
		assert_true(qr_matrix(letters(&arena, cases[i].bytes), &arena, &qr, &fault));
		assert_int_equal(qr.version, cases[i].version);
		assert_int_equal(qr.level, cases[i].level);
		is_well_formed(&qr);
	}
	pm_arena_free(&arena);
}

static void what_does_not_fit(void **state)
{
	(void)state;
	static const size_t lengths[] = { 1274, 2953, 2954, 8000 };
	struct pm_arena arena;
	struct qr qr = { .size = 1 };
	struct pm_fault fault = { 0 };
	pm_arena_init(&arena);
	for (size_t i = 0; i < COUNT(lengths); i++) {
		fault = (struct pm_fault){ 0 };
		assert_false(qr_matrix(letters(&arena, lengths[i]), &arena, &qr, &fault));
		assert_int_equal(fault.kind, PM_FAULT_LIMIT);
		assert_true(fault.message[0] && fault.remedy[0]);
	}
	assert_false(qr_matrix("", &arena, &qr, &fault));
	assert_int_equal(fault.kind, PM_FAULT_VALUE);
	assert_false(qr_matrix(NULL, &arena, &qr, &fault));
	assert_int_equal(fault.kind, PM_FAULT_VALUE);
	assert_int_equal(qr.size, 1);
	pm_arena_free(&arena);
}

/* Is the module of a version 1 code taken by a pattern or the format? */
static bool reserved(unsigned x, unsigned y)
{
	return x == 6 || y == 6 || (x < 9 && (y < 9 || y > 12)) || (x > 12 && y < 9);
}

static bool masked(unsigned mask, unsigned x, unsigned y)
{
	switch (mask) {
	case 0: return (x + y) % 2 == 0;
	case 1: return y % 2 == 0;
	case 2: return x % 3 == 0;
	case 3: return (x + y) % 3 == 0;
	case 4: return (y / 2 + x / 3) % 2 == 0;
	case 5: return x * y % 2 + x * y % 3 == 0;
	case 6: return (x * y % 2 + x * y % 3) % 2 == 0;
	default: return (x * y % 3 + (x + y) % 2) % 2 == 0;
	}
}

/* "01234567" as version 1-M: the standard's annex works it out codeword by
 * codeword. Which mask is best is left to the encoder. */
static void the_standards_sample(void **state)
{
	(void)state;
	static const uint8_t sample[26] = {
		0x10, 0x20, 0x0C, 0x56, 0x61, 0x80, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11,
		0xA5, 0x24, 0xD4, 0xC1, 0xED, 0x36, 0xC7, 0x87, 0x2C, 0x55,
	};
	struct pm_arena arena;
	struct qr qr;
	struct pm_fault fault;
	pm_arena_init(&arena);
	assert_true(qr_matrix("01234567", &arena, &qr, &fault));
	assert_int_equal(qr.version, 1);
	is_well_formed(&qr);
	unsigned mask = format_of(&qr, false) >> 10 & 7;
	uint8_t read[26] = { 0 };
	size_t bit = 0;
	bool upward = true;
	for (int right = 20; right > 0; right -= 2, upward = !upward) {
		if (right == 6)
			right--;
		for (unsigned step = 0; step < 21; step++)
			for (unsigned side = 0; side < 2; side++) {
				unsigned x = (unsigned)right - side, y = upward ? 20 - step : step;
				if (reserved(x, y))
					continue;
				assert_in_range(bit, 0, 26 * 8 - 1);
				read[bit / 8] = (uint8_t)(read[bit / 8] << 1 | (qr_dark(&qr, x, y) != masked(mask, x, y)));
				bit++;
			}
	}
	assert_int_equal(bit, 26 * 8);
	assert_memory_equal(read, sample, sizeof sample);
	pm_arena_free(&arena);
}

static void same_text_same_code(void **state)
{
	(void)state;
	const char *text = "portmuster-seal 1\nsite=TB-01\nport mgmt=00-00-5E-00-53-20\n \xC3\xA9\xE6\xB0\xB4\n";
	struct pm_arena arena;
	struct qr one, two;
	struct pm_fault fault;
	pm_arena_init(&arena);
	assert_true(qr_matrix(text, &arena, &one, &fault));
	assert_true(qr_matrix(text, &arena, &two, &fault));
	is_well_formed(&one);
	assert_int_equal(one.size, two.size);
	assert_memory_equal(one.bits, two.bits, (size_t)one.size * one.size);
	pm_arena_free(&arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(capacities), cmocka_unit_test(what_does_not_fit), cmocka_unit_test(the_standards_sample),
		cmocka_unit_test(same_text_same_code),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
