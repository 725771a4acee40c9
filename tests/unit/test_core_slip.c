#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/slip.h"
#include "portmuster/text.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const struct {
	const char *right, *seen;
	enum pm_slip_kind kind;
	size_t at;
	const char *say;
} cases[] = {
	{ "00005E005301", "00005E005301", PM_SLIP_NONE, 0, "no difference" },
	{ "00005e005301", "00005E005301", PM_SLIP_NONE, 0, "no difference" },
	{ "", "", PM_SLIP_NONE, 0, "no difference" },
	{ "00005E00530B", "00005e005308", PM_SLIP_LOOK_ALIKE, 12, "character 12 reads 8 where B belongs (look-alike)" },
	{ "00005E005301", "D0005E005301", PM_SLIP_LOOK_ALIKE, 1, "character 1 reads D where 0 belongs (look-alike)" },
	{ "00005E005301", "00005E005304", PM_SLIP_WRONG, 12, "character 12 reads 4 where 1 belongs (one wrong character)" },
	{ "ABCD", "BACD", PM_SLIP_NEIGHBOURS, 1, "characters 1 and 2 stand in each other's place (swapped neighbours)" },
	{ "ABCD", "ABDC", PM_SLIP_NEIGHBOURS, 3, "characters 3 and 4 stand in each other's place (swapped neighbours)" },
	{ "ABCD", "CBAD", PM_SLIP_JUMP, 1, "characters 1 and 3 stand in each other's place (swapped across one)" },
	{ "1224", "1334", PM_SLIP_TWIN, 2, "characters 2 and 3 read 33 where 22 belongs (wrong twin)" },
	{ "1A14", "2A24", PM_SLIP_JUMP_TWIN, 1, "characters 1 and 3 read 2 where 1 belongs (wrong twin across one)" },
	{ "005E53", "5E0053", PM_SLIP_PAIRS, 1, "the pairs at characters 1 and 3 stand in each other's place (swapped pairs)" },
	{ "ABCD", "ACD", PM_SLIP_DROPPED, 2, "character 2, B, is left out (dropped character)" },
	{ "ABCD", "BCD", PM_SLIP_DROPPED, 1, "character 1, A, is left out (dropped character)" },
	{ "ABCD", "ABC", PM_SLIP_DROPPED, 4, "character 4, D, is left out (dropped character)" },
	{ "ABCD", "ABBCD", PM_SLIP_DOUBLED, 3, "character 3, B, is written twice (doubled character)" },
	{ "ABCD", "ABXCD", PM_SLIP_EXTRA, 3, "character 3, X, is one too many (one character too many)" },
	{ "ABCD", "XABCD", PM_SLIP_EXTRA, 1, "character 1, X, is one too many (one character too many)" },
	{ "", "A", PM_SLIP_EXTRA, 1, "character 1, A, is one too many (one character too many)" },
	{ "A", "", PM_SLIP_DROPPED, 1, "character 1, A, is left out (dropped character)" },
	/* near misses: none of them is one slip */
	{ "ABCD", "BACE", PM_SLIP_SEVERAL, 1, "several differences" },
	{ "ABCD", "BADC", PM_SLIP_SEVERAL, 1, "several differences" },
	{ "ABCD", "BCAD", PM_SLIP_SEVERAL, 1, "several differences" },
	{ "1224", "1354", PM_SLIP_SEVERAL, 2, "several differences" },
	{ "1234", "1554", PM_SLIP_SEVERAL, 2, "several differences" },
	{ "ABCD", "DBCA", PM_SLIP_SEVERAL, 1, "several differences" },
	{ "005E53", "5E0054", PM_SLIP_SEVERAL, 1, "several differences" },
	{ "ABCDEF", "DEFABC", PM_SLIP_SEVERAL, 1, "several differences" },
	{ "ABCD", "AB", PM_SLIP_SEVERAL, 0, "several differences" },
	{ "ABCD", "ACB", PM_SLIP_SEVERAL, 0, "several differences" },
	{ "ABCD", "ABXXCD", PM_SLIP_SEVERAL, 0, "several differences" },
	{ "ABCD", "BAXCD", PM_SLIP_SEVERAL, 0, "several differences" },
};

/* Where nothing says which one is right: the sentence is the same for both. */
static const struct { const char *first, *second, *say; } differing[] = {
	{ "00005E00531A", "00005E005312", "they differ in digit 12: A in the first, 2 in the second" },
	{ "00005E00530B", "00005e005308", "they differ in digit 12: B in the first, 8 in the second (look-alike)" },
	{ "ABCD", "BACD", "they differ in digits 1 and 2, which change places (swapped neighbours)" },
	{ "ABCD", "CBAD", "they differ in digits 1 and 3, which change places (swapped across one)" },
	{ "1224", "1334", "they differ in digits 2 and 3: 22 in the first, 33 in the second" },
	{ "1A14", "2A24", "they differ in digits 1 and 3: 1 in the first, 2 in the second" },
	{ "005E53", "5E0053", "they differ in the pairs at digits 1 and 3, which change places (swapped pairs)" },
	{ "ABCD", "ACD", "they differ in digit 2: B in the first, nothing in the second" },
	{ "ABCD", "ABBCD", "they differ in digit 3: nothing in the first, B in the second" },
	{ "ABCD", "ABXCD", "they differ in digit 3: nothing in the first, X in the second" },
	{ "ABCD", "DBCX", "they differ in several places" },
	{ "ABCD", "abcd", "no difference" },
};

static void test_differing(void **state)
{
	(void)state;
	char said[120], back[120];
	for (size_t i = 0; i < COUNT(differing); i++) {
		pm_slip_differ(pm_slip_between(differing[i].first, differing[i].second), "digit", said, sizeof said);
		assert_string_equal(said, differing[i].say);
		pm_slip_differ(pm_slip_between(differing[i].second, differing[i].first), "digit", back, sizeof back);
		assert_null(strstr(said, "belongs"));
		assert_int_equal(strlen(said) == strlen(back), true);   /* neither order is told apart */
	}
}

static void test_kinds(void **state)
{
	(void)state;
	bool met[PM_SLIPS] = { false };
	for (size_t i = 0; i < COUNT(cases); i++) {
		char said[120];
		struct pm_slip slip = pm_slip_between(cases[i].right, cases[i].seen);
		if (slip.kind != cases[i].kind || slip.at != cases[i].at)
			fail_msg("%s -> %s: %s at %zu", cases[i].right, cases[i].seen, pm_slip_name(slip.kind), slip.at);
		assert_string_equal(pm_slip_say(slip, "character", said, sizeof said), cases[i].say);
		assert_int_equal(pm_slip_single(slip.kind), slip.kind != PM_SLIP_NONE && slip.kind != PM_SLIP_SEVERAL);
		met[slip.kind] = true;
	}
	for (int kind = 0; kind < PM_SLIPS; kind++)
		assert_true(met[kind]);
}

static void test_look_alikes(void **state)
{
	(void)state;
	static const char pairs[][3] = { "O0", "D0", "Q0", "B8", "I1", "L1", "S5", "Z2", "G6", "68", "C0", "6B", "UV" };
	static const char apart[][3] = { "01", "AE", "19", "25", "X0", "A1", "F0", "D8", "BD" };
	for (size_t i = 0; i < COUNT(pairs); i++) {
		assert_true(pm_look_alike(pairs[i][0], pairs[i][1]));
		assert_true(pm_look_alike(pm_lower(pairs[i][1]), pm_lower(pairs[i][0])));
	}
	for (size_t i = 0; i < COUNT(apart); i++)
		assert_false(pm_look_alike(apart[i][0], apart[i][1]));
	for (int a = -1; a < 128; a++) {
		assert_false(pm_look_alike(a, a));
		assert_false(pm_look_alike(a, pm_lower(a)));
		assert_false(pm_look_alike(a, 0));
		for (int b = -1; b < 128; b++)
			assert_int_equal(pm_look_alike(a, b), pm_look_alike(b, a));
	}
}

/* What a careful reader would call the difference, by another way than the
 * core's: try each kind of slip at each place and see which one gives `seen`. */
static bool gives(enum pm_slip_kind kind, const char *right, size_t at, const char *seen)
{
	char text[40];
	size_t n = strlen(right);
	strcpy(text, right);
	switch (kind) {
	case PM_SLIP_NEIGHBOURS:
		if (at + 1 >= n)
			return false;
		text[at] = right[at + 1], text[at + 1] = right[at];
		break;
	case PM_SLIP_JUMP:
		if (at + 2 >= n)
			return false;
		text[at] = right[at + 2], text[at + 2] = right[at];
		break;
	case PM_SLIP_TWIN:
	case PM_SLIP_JUMP_TWIN: {
		size_t other = at + (kind == PM_SLIP_TWIN ? 1 : 2);
		if (other >= n || right[at] != right[other])
			return false;
		text[at] = text[other] = seen[at];
		break;
	}
	case PM_SLIP_PAIRS:
		if (at + 3 >= n)
			return false;
		memcpy(text + at, right + at + 2, 2);
		memcpy(text + at + 2, right + at, 2);
		break;
	case PM_SLIP_DROPPED:
		memmove(text + at, text + at + 1, n - at);
		break;
	default:
		return false;
	}
	return strcmp(text, seen) == 0;
}

static enum pm_slip_kind judge(const char *right, const char *seen)
{
	static const enum pm_slip_kind order[] = { PM_SLIP_NEIGHBOURS, PM_SLIP_TWIN, PM_SLIP_JUMP, PM_SLIP_JUMP_TWIN, PM_SLIP_PAIRS };
	size_t n = strlen(right), differ = 0, where = 0;
	for (size_t i = 0; i < n; i++)
		if (right[i] != seen[i])
			differ++, where = i;
	if (differ == 0)
		return PM_SLIP_NONE;
	if (differ == 1)
		return pm_look_alike(right[where], seen[where]) ? PM_SLIP_LOOK_ALIKE : PM_SLIP_WRONG;
	for (size_t k = 0; k < COUNT(order); k++)
		for (size_t at = 0; at < n; at++)
			if (gives(order[k], right, at, seen))
				return order[k];
	return PM_SLIP_SEVERAL;
}

/* Every pair of words of length 5 over three characters. */
static void test_all_short_pairs(void **state)
{
	(void)state;
	char right[6] = { 0 }, seen[6] = { 0 };
	size_t pairs = 0, single = 0;
	for (unsigned r = 0; r < 243; r++)
		for (unsigned s = 0; s < 243; s++, pairs++) {
			for (unsigned i = 0, a = r, b = s; i < 5; i++, a /= 3, b /= 3)
				right[i] = "0D7"[a % 3], seen[i] = "0D7"[b % 3];
			struct pm_slip slip = pm_slip_between(right, seen);
			single += pm_slip_single(slip.kind);
			if (slip.kind != judge(right, seen))
				fail_msg("%s -> %s: %s", right, seen, pm_slip_name(slip.kind));
		}
	printf("# figure %zu pairs of five characters classed as by the test's own judge, %zu of them one slip\n", pairs, single);
}

static const char *const samples[] = { "00005E005301", "A1B2C3D4E5F6", "001122334455", "FFFFFFFFFFFF", "EG122600417" };

/* Every single substitution, swap, drop and double of the samples. */
static void test_every_single_slip(void **state)
{
	(void)state;
	size_t tried = 0;
	for (size_t i = 0; i < COUNT(samples); i++) {
		const char *right = samples[i];
		size_t n = strlen(right);
		char seen[40];
		for (size_t at = 0; at < n; at++) {
			for (int c = 0; c < 36; c++, tried++) {
				strcpy(seen, right);
				seen[at] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"[c];
				struct pm_slip slip = pm_slip_between(right, seen);
				assert_int_equal(slip.kind, judge(right, seen));
				if (seen[at] != right[at]) {
					assert_int_equal(slip.at, at + 1);
					assert_int_equal(slip.right, right[at]);
					assert_int_equal(slip.seen, seen[at]);
				}
			}
			strcpy(seen, right);
			memmove(seen + at, right + at + 1, n - at);
			struct pm_slip slip = pm_slip_between(right, seen);
			assert_int_equal(slip.kind, PM_SLIP_DROPPED);
			assert_true(gives(PM_SLIP_DROPPED, right, slip.at - 1, seen));
			memcpy(seen, right, at + 1);
			strcpy(seen + at + 1, right + at);
			slip = pm_slip_between(right, seen);
			assert_int_equal(slip.kind, PM_SLIP_DOUBLED);
			assert_int_equal(pm_upper(slip.seen), right[at]);
			tried += 2;
			if (at + 1 < n && right[at] != right[at + 1]) {
				strcpy(seen, right);
				seen[at] = right[at + 1], seen[at + 1] = right[at];
				slip = pm_slip_between(right, seen);
				assert_int_equal(slip.kind, PM_SLIP_NEIGHBOURS);
				assert_int_equal(slip.at, at + 1);
				tried++;
			}
		}
	}
	printf("# figure %zu single slips of %zu samples classed right\n", tried, COUNT(samples));
}

static void test_short_room(void **state)
{
	(void)state;
	for (size_t room = 1; room < 90; room++) {
		char out[96];
		memset(out, 0x55, sizeof out);
		pm_slip_say(pm_slip_between("005E53", "5E0053"), "character", out, room);
		assert_true(strlen(out) < room);
		assert_int_equal(out[room], 0x55);
	}
	assert_string_equal(pm_slip_name(PM_SLIPS), "unknown");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_kinds), cmocka_unit_test(test_differing),           cmocka_unit_test(test_look_alikes),
		cmocka_unit_test(test_all_short_pairs), cmocka_unit_test(test_every_single_slip),
		cmocka_unit_test(test_short_room),
	};
	return cmocka_run_group_tests_name("slips", tests, NULL, NULL);
}
