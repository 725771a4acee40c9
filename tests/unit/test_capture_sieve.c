/* What the first look at a log catches, and what it lets lie. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "capture/sieve_parts.h"
#include "capture/words.h"
#include "listing_text.h"

static void note(void *context, size_t at)
{
	(void)at;
	*(bool *)context = true;
}

static bool is_caught(const struct pm_gear *gear, const char *text)
{
	char space[SIEVE_MARGIN + 256 + 2 * SIEVE_MARGIN];
	struct sieve sieve;
	bool caught = false;
	assert_true(sieve_init(&sieve, gear));
	memset(space, '\n', sizeof space);
	memcpy(space + SIEVE_MARGIN, text, strlen(text));
	sieve_run(&sieve, space + SIEVE_MARGIN, strlen(text) / SIEVE_UNIT + 1, note, &caught);
	return caught;
}

/* Every word that gives an address or a serial number its sense, wherever it
 * stands in the vectors. */
static void test_words(void **state)
{
	(void)state;
	struct pm_word serial = { "unit number", 1, 1 };
	struct pm_gear gear = { .console = { .serials = { &serial, 1 } } };
	size_t words_seen = 0;
	for (const struct word_row *row = word_table; row->word; row++) {
		if (!(row->kind & (WORD_ADDRESS | WORD_HARDWARE | WORD_SERIAL))) continue;
		words_seen++;
		for (int shape = 0; shape < 3; shape++)
			for (int pad = 0; pad < 140; pad++) {
				char text[256], word[32];
				size_t n = 0;
				for (; row->word[n]; n++) word[n] = (char)(shape == 0 || (shape == 1 && n) ? row->word[n] : pm_upper((unsigned char)row->word[n]));
				word[n] = '\0';
				snprintf(text, sizeof text, "%*s%s: x", pad, "", word);
				if (!is_caught(NULL, text)) fail_msg("\"%s\" is not caught", text);
			}
	}
	assert_true(words_seen >= 31);
	assert_true(is_caught(&gear, "the UNIT NUMBER is"));
	assert_false(is_caught(NULL, "the UNIT NUMBER is"));
	for (size_t i = 0; i < 5; i++) {
		static const char *const compound[] = { "hw-addr", "MAC_address", "phys-address", "burned-in", "serial-no" };
		assert_true(is_caught(NULL, compound[i]));
	}
	for (size_t i = 0; i < 8; i++) {
		static const char *const other[] = { "whether", "machine", "hybrid", "variable", "returns", "does-not", "status", "added" };
		assert_false(is_caught(NULL, other[i]));
	}
}

/* Every address in every notation, wherever it stands, and what no address is. */
static void test_forms(void **state)
{
	(void)state;
	for (uint32_t i = 0; i < 256; i++)
		for (int notation = 0; notation < PM_NOTATIONS; notation++)
			for (int lower = 0; lower < 2; lower++) {
				struct pm_eui48 address = pm_eui48_from(0x00005E005300u + i);
				char text[256], written[PM_EUI48_TEXT];
				pm_eui48_write(&address, (enum pm_notation)notation, lower, written);
				snprintf(text, sizeof text, "%*s%s%s", (int)(i % 130), "", written, i & 1 ? "" : " up");
				if (!is_caught(NULL, text)) fail_msg("\"%s\" is not caught", text);
			}
	static const char *const other[] = {
		"2026-02-03 04:05:06", "198.51.100.23:443 to 192.0.2.1:1024", "123456789012 octets", "5f9c0f1e1b5e4c1f9f0e", "12:30:05",
		"0006b7e0  80fb 92bc 7378 1f92  6a55 cc20 3200 4691", "-----------------", ". . . . . . . . . .", "1.2.3 4.5.6 7-8", "00 00 5E 00 53",
	};
	for (size_t i = 0; i < sizeof other / sizeof other[0]; i++)
		if (is_caught(NULL, other[i])) fail_msg("\"%s\" is caught", other[i]);
}

/* Line feeds and odd bytes, wherever they stand. */
static void test_lines(void **state)
{
	(void)state;
	for (size_t at = 0; at < 130; at++) {
		char text[3 * SIEVE_UNIT + SIEVE_MARGIN];
		unsigned char odd[3];
		uint32_t feed[3 * SIEVE_UNIT + 1];
		struct sieve_index index = { .odd = odd, .feed = feed, .room = sizeof feed / sizeof feed[0] };
		static const struct { const char *bytes; bool odd; size_t feeds; } cases[] = {
			{ "\n", false, 1 }, { "\r\n", false, 1 }, { "\r\r\n", false, 1 }, { "\n\n\n\n\n", false, 5 }, { "\rx", true, 0 }, { "\t", true, 0 },
			{ "\x1b", true, 0 }, { "\x7f", true, 0 }, { "\x80", true, 0 }, { "\xff", true, 0 }, { "~ ", false, 0 },
		};
		for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
			memset(text, 'x', sizeof text);
			memcpy(text + at, cases[k].bytes, strlen(cases[k].bytes));
			sieve_lines(text, 3, &index);
			assert_int_equal(index.units, 3);
			assert_int_equal(index.any_odd, cases[k].odd);
			assert_int_equal(odd[0] | odd[1] | odd[2], cases[k].odd);
			assert_int_equal(index.feeds, cases[k].feeds);
			assert_int_equal(sieve_count(text, 3 * SIEVE_UNIT - 1), cases[k].feeds);
			for (size_t i = 0; i < index.feeds; i++) assert_int_equal(text[feed[i]], '\n');
		}
		/* Full: it stops before there is no room. */
		memset(text, '\n', sizeof text);
		index.room = 2 * SIEVE_UNIT;
		sieve_lines(text, 3, &index);
		assert_int_equal(index.units, 1);
		assert_int_equal(index.feeds, SIEVE_UNIT);
	}
	char many[20000];
	memset(many, '\n', sizeof many);
	for (size_t length = 0; length < sizeof many; length += 997) assert_int_equal(sieve_count(many, length), length);
}

/* --- every width of vectors the same ----------------------------------------------------------- */

#ifdef SIEVE_MAY_BE_WIDE
struct finds {
	size_t at[4096], count;
};

static void keep(void *context, size_t at)
{
	struct finds *finds = context;
	assert_true(finds->count < 4096);
	finds->at[finds->count++] = at;
}
#endif

static void test_widths(void **state)
{
	(void)state;
#ifdef SIEVE_MAY_BE_WIDE
	static const char often[] = "00053abdehmnrstuwy-::..  /_";
	static struct finds narrow, wide;
	struct sieve sieve;
	uint32_t seed = 2463534242u;
	size_t found = 0;
	if (!__builtin_cpu_supports("avx2")) {
		/* there they must never be taken */
		assert_ptr_equal(sieve_chosen(), &sieve_narrow);
		return;
	}
	assert_ptr_equal(sieve_chosen(), &sieve_wide);
	assert_true(sieve_init(&sieve, NULL));
	for (int round = 0; round < 4000; round++) {
		char space[SIEVE_MARGIN + 6 * SIEVE_UNIT + SIEVE_MARGIN];
		unsigned char odd[2][6];
		uint32_t feed[2][6 * SIEVE_UNIT + 1];
		for (size_t i = 0; i < sizeof space; i++) {
			seed ^= seed << 13, seed ^= seed >> 17, seed ^= seed << 5;
			space[i] = seed % 300 < 255 && round % 4 ? often[seed / 300 % (sizeof often - 1)] : (char)(seed / 300);
		}
		narrow.count = wide.count = 0;
		sieve_narrow.run(&sieve, space + SIEVE_MARGIN, 6, keep, &narrow);
		sieve_wide.run(&sieve, space + SIEVE_MARGIN, 6, keep, &wide);
		assert_int_equal(narrow.count, wide.count);
		assert_memory_equal(narrow.at, wide.at, narrow.count * sizeof narrow.at[0]);
		found += narrow.count;
		struct sieve_index a = { .odd = odd[0], .feed = feed[0], .room = 6 * SIEVE_UNIT + 1 }, b = { .odd = odd[1], .feed = feed[1], .room = a.room };
		sieve_narrow.lines(space + SIEVE_MARGIN, 6, &a);
		sieve_wide.lines(space + SIEVE_MARGIN, 6, &b);
		assert_int_equal(a.feeds, b.feeds);
		assert_memory_equal(feed[0], feed[1], a.feeds * sizeof feed[0][0]);
		assert_memory_equal(odd[0], odd[1], sizeof odd[0]);
		size_t from = (size_t)round % 70, to = (size_t)round % sizeof space;
		assert_int_equal(sieve_narrow.heads(space, from, to), sieve_wide.heads(space, from, to));
		assert_int_equal(sieve_narrow.count(space, (size_t)round % sizeof space), sieve_wide.count(space, (size_t)round % sizeof space));
	}
	assert_true(found > 4000);
#else
	assert_ptr_equal(sieve_chosen(), &sieve_narrow);
#endif
}

/* A digit or colon, a blank and one of two marks, wherever they stand. */
static void test_heads(void **state)
{
	(void)state;
	static const struct { const char *text; bool found; } cases[] = {
		{ "4 =", true }, { ": <", true }, { "0 <", true }, { "9 =", true }, { ": =", true },
		{ "a =", false }, { "4= ", false }, { "4 >", false }, { "; <", false }, { "/ =", false }, { "4\t=", false }, { "4 ;", false },
	};
	char space[400];
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		for (size_t at = 0; at + 3 <= sizeof space; at++) {
			memset(space, ' ', sizeof space);
			memcpy(space + at, cases[i].text, 3);
			size_t found = cases[i].found ? at + 2 : sizeof space;
			assert_int_equal(sieve_heads(space, 0, sizeof space), found);
			assert_int_equal(sieve_narrow.heads(space, 0, sizeof space), found);
			assert_int_equal(sieve_heads(space, at + 2, sizeof space), found);
			assert_int_equal(sieve_heads(space, at + 3, sizeof space), sizeof space);
			assert_int_equal(sieve_heads(space, 0, at + 2), at + 2);
		}
	assert_int_equal(sieve_heads("", 0, 0), 0);
	assert_int_equal(sieve_heads("=", 0, 1), 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_words), cmocka_unit_test(test_forms), cmocka_unit_test(test_lines),
		cmocka_unit_test(test_widths), cmocka_unit_test(test_heads),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
