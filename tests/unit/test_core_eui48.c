#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/eui48.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))

static const struct {
	const char *text;
	uint64_t number;
	enum pm_notation notation;
} good[] = {
	/* one of each notation, either case */
	{ "00-00-5E-00-53-01", 0x00005E005301, PM_HYPHEN },        /* RFC 7042 1.1 */
	{ "00-00-5e-00-53-01", 0x00005E005301, PM_HYPHEN },
	{ "00:00:5e:00:53:01", 0x00005E005301, PM_COLON },         /* RFC 6991 */
	{ "00:00:5E:00:53:01", 0x00005E005301, PM_COLON },
	{ "0:0:5e:0:53:1", 0x00005E005301, PM_COLON_SHORT },       /* RFC 2579, hint 1x: */
	{ "0:0:5E:0:53:1", 0x00005E005301, PM_COLON_SHORT },
	{ "0000.5e00.5301", 0x00005E005301, PM_DOT_FOUR },         /* common practice, no source */
	{ "0000.5E00.5301", 0x00005E005301, PM_DOT_FOUR },
	{ "00.00.5e.00.53.01", 0x00005E005301, PM_DOT_TWO },
	{ "00005E005301", 0x00005E005301, PM_BARE },
	{ "00005e005301", 0x00005E005301, PM_BARE },
	{ "00 00 5E 00 53 01", 0x00005E005301, PM_SPACED },
	/* mixed case is one address all the same */
	{ "aB-Cd-Ef-01-23-45", 0xABCDEF012345, PM_HYPHEN },
	/* blanks around and between groups */
	{ "  00-00-5E-00-53-01", 0x00005E005301, PM_HYPHEN },
	{ "00-00-5E-00-53-01 \t", 0x00005E005301, PM_HYPHEN },
	{ "00 - 00 - 5E - 00 - 53 - 01", 0x00005E005301, PM_HYPHEN },
	{ "00: 00:5E :00:53:01", 0x00005E005301, PM_COLON },
	{ "0000. 5e00 .5301", 0x00005E005301, PM_DOT_FOUR },
	/* typographic dashes: U+2010, U+2011, U+2012, U+2013, U+2014, U+2015, U+2212 */
	{ "00\xE2\x80\x90" "00\xE2\x80\x91" "5E\xE2\x80\x92" "00\xE2\x80\x93" "53\xE2\x80\x94" "01",
	  0x00005E005301, PM_HYPHEN },
	{ "00\xE2\x80\x95" "00-5E\xE2\x88\x92" "00-53-01", 0x00005E005301, PM_HYPHEN },
	/* extremes */
	{ "00-00-00-00-00-00", 0, PM_HYPHEN },
	{ "FF-FF-FF-FF-FF-FF", 0xFFFFFFFFFFFF, PM_HYPHEN },
	{ "0:0:0:0:0:0", 0, PM_COLON_SHORT },
	/* would be a number with an exponent to a spreadsheet */
	{ "00005E000110", 0x00005E000110, PM_BARE },
};

static void test_read_good(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(good); i++) {
		struct pm_eui48 address;
		enum pm_notation notation;
		struct pm_eui48_fault fault = { PM_EUI48_LONG, 77 };
		if (!pm_eui48_read(good[i].text, strlen(good[i].text), &address, &notation, &fault))
			fail_msg("\"%s\": %s at %u", good[i].text, pm_eui48_reason_text(fault.reason), fault.column);
		if (pm_eui48_number(&address) != good[i].number || notation != good[i].notation)
			fail_msg("\"%s\" read as %012llx, notation %d", good[i].text,
			         (unsigned long long)pm_eui48_number(&address), (int)notation);
		assert_true(pm_eui48_parse(good[i].text, &address));
	}
}

static const struct {
	const char *text;
	enum pm_eui48_reason reason;
	unsigned column;
} bad[] = {
	{ "", PM_EUI48_EMPTY, 1 },
	{ "   ", PM_EUI48_EMPTY, 1 },
	/* five octets */
	{ "00-00-5E-00-53", PM_EUI48_SHORT, 15 },
	{ "00:00:5e:00:53", PM_EUI48_SHORT, 15 },
	/* zeros dropped here and kept there: a digit is lost */
	{ "00:00:5e:00:5:01", PM_EUI48_SHORT, 14 },
	{ "00:0:5e:00:53:1", PM_EUI48_SHORT, 5 },
	{ "0:0:5e:0:53:01", PM_EUI48_SHORT, 2 },
	{ "00005E00530", PM_EUI48_SHORT, 12 },
	{ "0000.5e00", PM_EUI48_SHORT, 10 },
	{ "12", PM_EUI48_SHORT, 3 },
	/* seven */
	{ "00-00-5E-00-53-01-02", PM_EUI48_LONG, 19 },
	{ "00005E0053010", PM_EUI48_LONG, 13 },
	/* eight octets are an EUI-64, never cut down */
	{ "00-00-5E-FF-FE-00-53-01", PM_EUI48_EUI64, 1 },
	{ "0000:5eff:fe00:5301", PM_EUI48_OCTET_LONG, 3 },
	{ "00005EFFFE005301", PM_EUI48_EUI64, 1 },
	{ "0000.5eff.fe00.5301", PM_EUI48_EUI64, 1 },
	{ " 00:00:5e:ff:fe:00:53:01", PM_EUI48_EUI64, 2 },
	/* separators of two kinds */
	{ "00-00:5E-00-53-01", PM_EUI48_MIXED, 6 },
	{ "00:00:5e:00:53-01", PM_EUI48_MIXED, 15 },
	{ "00-00-5E 00-53-01", PM_EUI48_MIXED, 9 },
	/* a letter that looks like a digit */
	{ "00-00-5E-00-53-O1", PM_EUI48_LOOK_ALIKE, 16 },
	{ "oo-00-5E-00-53-01", PM_EUI48_LOOK_ALIKE, 1 },
	{ "00-00-5E-00-53-0l", PM_EUI48_LOOK_ALIKE, 17 },
	{ "00-00-SE-00-53-01", PM_EUI48_LOOK_ALIKE, 7 },
	{ "00-00-5E-00-53-Z1", PM_EUI48_LOOK_ALIKE, 16 },
	{ "00-00-5E-00-G3-01", PM_EUI48_LOOK_ALIKE, 13 },
	/* a character that is none of it */
	{ "00-00-5E-00-53-0x", PM_EUI48_NOT_HEX, 17 },
	{ "00-00-5E-00-53-01\n", PM_EUI48_NOT_HEX, 18 },
	{ "00-00-5E-00-53-01\r", PM_EUI48_NOT_HEX, 18 },
	{ "00/00/5E/00/53/01", PM_EUI48_NOT_HEX, 3 },
	{ "00_00_5E_00_53_01", PM_EUI48_NOT_HEX, 3 },
	{ "0x00005E005301", PM_EUI48_NOT_HEX, 2 },
	{ "\xC3\xA9" "0-00-5E-00-53-01", PM_EUI48_NOT_HEX, 1 },
	{ "00-\xFF" "0-5E-00-53-01", PM_EUI48_NOT_HEX, 4 },
	/* full-width digits are not digits */
	{ "\xEF\xBC\x90" "0-00-5E-00-53-01", PM_EUI48_NOT_HEX, 1 },
	/* columns count characters: a dash of three bytes is one */
	{ "00\xE2\x80\x93" "00\xE2\x80\x93" "5X-00-53-01", PM_EUI48_NOT_HEX, 8 },
	/* an octet of three digits */
	{ "00-00-5E0-00-53-01", PM_EUI48_OCTET_LONG, 9 },
	{ "000:0:5e:0:53:1", PM_EUI48_OCTET_LONG, 3 },
	/* no digit between separators */
	{ "00--5E-00-53-01", PM_EUI48_OCTET_EMPTY, 4 },
	{ "-00-00-5E-00-53-01", PM_EUI48_OCTET_EMPTY, 1 },
	{ "00-00-5E-00-53-01-", PM_EUI48_OCTET_EMPTY, 19 },
	{ "::1", PM_EUI48_OCTET_EMPTY, 1 },
	/* dropped zeros are usual with colons only */
	{ "0-0-5E-0-53-1", PM_EUI48_SHORT, 2 },
	{ "0.0.5e.0.53.1", PM_EUI48_SHORT, 2 },
	{ "000.5e00.5301", PM_EUI48_UNEVEN, 4 },
	{ "00000.5e00.5301", PM_EUI48_OCTET_LONG, 5 },
};

static void test_read_bad(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(bad); i++) {
		struct pm_eui48 address = { { 1, 2, 3, 4, 5, 6 } };
		const struct pm_eui48 before = address;
		struct pm_eui48_fault fault = { PM_EUI48_OK, 0 };
		if (pm_eui48_read(bad[i].text, strlen(bad[i].text), &address, NULL, &fault))
			fail_msg("\"%s\" accepted", bad[i].text);
		if (fault.reason != bad[i].reason || fault.column != bad[i].column)
			fail_msg("\"%s\": %s at %u, expected %s at %u", bad[i].text,
			         pm_eui48_reason_text(fault.reason), fault.column,
			         pm_eui48_reason_text(bad[i].reason), bad[i].column);
		assert_memory_equal(&address, &before, sizeof address);
		assert_false(pm_eui48_parse(bad[i].text, &address));
	}
}

static void test_zero_byte_and_null(void **state)
{
	(void)state;
	struct pm_eui48 address;
	struct pm_eui48_fault fault;
	assert_false(pm_eui48_read("00005E005301\0", 13, &address, NULL, &fault));
	assert_int_equal(fault.reason, PM_EUI48_NOT_HEX);
	assert_int_equal(fault.column, 13);
	assert_true(pm_eui48_read("00005E005301junk", 12, &address, NULL, NULL));
	assert_false(pm_eui48_parse(NULL, &address));
}

/* One wrong character at each place of each notation is refused there. */
static void test_every_place(void **state)
{
	(void)state;
	const struct pm_eui48 address = pm_eui48_from(0xABCDEF123456);
	for (int n = 0; n < PM_NOTATIONS; n++) {
		char text[PM_EUI48_TEXT];
		size_t length = pm_eui48_write(&address, (enum pm_notation)n, false, text);
		for (size_t i = 0; i < length; i++) {
			struct pm_eui48 got;
			struct pm_eui48_fault fault;
			char kept = text[i];
			text[i] = '#';
			assert_false(pm_eui48_read(text, length, &got, NULL, &fault));
			assert_int_equal(fault.reason, PM_EUI48_NOT_HEX);
			assert_int_equal(fault.column, i + 1);
			text[i] = kept;
		}
	}
}

static void test_write(void **state)
{
	(void)state;
	static const struct { enum pm_notation notation; bool lower; const char *text; } forms[] = {
		{ PM_HYPHEN, false, "00-00-5E-00-53-01" },  { PM_HYPHEN, true, "00-00-5e-00-53-01" },
		{ PM_COLON, true, "00:00:5e:00:53:01" },    { PM_COLON_SHORT, true, "0:0:5e:0:53:1" },
		{ PM_DOT_FOUR, true, "0000.5e00.5301" },    { PM_DOT_TWO, false, "00.00.5E.00.53.01" },
		{ PM_BARE, false, "00005E005301" },         { PM_SPACED, false, "00 00 5E 00 53 01" },
	};
	const struct pm_eui48 address = pm_eui48_from(0x00005E005301);
	char text[PM_EUI48_TEXT];
	for (size_t i = 0; i < COUNT(forms); i++) {
		assert_int_equal(pm_eui48_write(&address, forms[i].notation, forms[i].lower, text),
		                 strlen(forms[i].text));
		assert_string_equal(text, forms[i].text);
	}
	assert_string_equal(pm_eui48_text(&address, text), "00-00-5E-00-53-01");
}

/* Whatever is written is read again as the same address in the same notation. */
static void test_round_trip(void **state)
{
	(void)state;
	uint64_t seed = 0x9E3779B97F4A7C15u;
	for (int i = 0; i < 20000; i++) {
		seed = seed * 6364136223846793005u + 1442695040888963407u;
		struct pm_eui48 address = pm_eui48_from(seed >> 16), got;
		for (int n = 0; n < PM_NOTATIONS; n++) {
			char text[PM_EUI48_TEXT];
			enum pm_notation notation;
			size_t length = pm_eui48_write(&address, (enum pm_notation)n, i & 1, text);
			assert_int_equal(strlen(text), length);
			assert_true(pm_eui48_read(text, length, &got, &notation, NULL));
			assert_int_equal(pm_eui48_compare(&address, &got), 0);
			/* nothing was dropped when no octet begins with a zero */
			if (!(n == PM_COLON_SHORT && notation == PM_COLON))
				assert_int_equal(notation, n);
		}
	}
}

static void test_number_and_order(void **state)
{
	(void)state;
	struct pm_eui48 low = pm_eui48_from(0x00005E0052FF), high = pm_eui48_from(0x00005E005300);
	assert_true(pm_eui48_compare(&low, &high) < 0);
	assert_true(pm_eui48_compare(&high, &low) > 0);
	assert_int_equal(pm_eui48_compare(&low, &low), 0);
	struct pm_eui48 wide = pm_eui48_from(0xFFFF123456789ABCu);   /* the low 48 bits */
	assert_true(pm_eui48_number(&wide) == 0x123456789ABCu);
	assert_int_equal(wide.octet[0], 0x12);
}

/* RFC 9542 figure 1 and table 2. */
static void test_bits(void **state)
{
	(void)state;
	static const struct { const char *address; bool group, local; const char *quadrant; } rows[] = {
		{ "00-00-5E-00-53-00", false, false, NULL },
		{ "01-00-5E-90-10-00", true, false, NULL },
		{ "02-00-00-00-00-01", false, true, "AAI" },
		{ "06-00-00-00-00-01", false, true, "reserved" },
		{ "0A-00-00-00-00-01", false, true, "ELI" },
		{ "0E-00-00-00-00-01", false, true, "SAI" },
		{ "03-00-00-00-00-01", true, true, "AAI" },
		{ "07-00-00-00-00-01", true, true, "reserved" },
		{ "0B-00-00-00-00-01", true, true, "ELI" },
		{ "0F-00-00-00-00-01", true, true, "SAI" },
		{ "04-00-00-00-00-01", false, false, NULL },   /* Y and Z mean nothing when universal */
		{ "08-00-00-00-00-01", false, false, NULL },
		{ "0C-00-00-00-00-01", false, false, NULL },
		{ "CF-00-00-00-00-00", true, true, "SAI" },     /* RFC 7042: group, local */
		{ "33-33-00-00-00-01", true, true, "AAI" },
		{ "11-00-AA-00-00-01", true, false, NULL },
		{ "AA-00-04-00-00-01", false, true, "ELI" },
		{ "02-07-01-00-00-01", false, true, "AAI" },
		{ "FF-FF-FF-FF-FF-FF", true, true, "SAI" },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct pm_eui48 address;
		assert_true(pm_eui48_parse(rows[i].address, &address));
		if (pm_eui48_is_group(&address) != rows[i].group || pm_eui48_is_local(&address) != rows[i].local)
			fail_msg("%s: wrong bits", rows[i].address);
		const char *quadrant = pm_eui48_quadrant(&address);
		if (!rows[i].quadrant)
			assert_null(quadrant);
		else
			assert_string_equal(quadrant, rows[i].quadrant);
	}
}

/* RFC 2464 section 4. */
static void test_modified_eui64(void **state)
{
	(void)state;
	static const uint8_t expected[8] = { 0x36, 0x56, 0x78, 0xFF, 0xFE, 0x9A, 0xBC, 0xDE };
	struct pm_eui48 address = pm_eui48_from(0x3456789ABCDE);
	uint8_t out[8];
	pm_eui48_modified_eui64(&address, out);
	assert_memory_equal(out, expected, 8);
	/* inverted, not set: a local address loses the bit */
	address = pm_eui48_from(0x020000000001);
	pm_eui48_modified_eui64(&address, out);
	assert_int_equal(out[0], 0x00);
}

static bool has(const struct pm_eui48 *near, size_t count, uint64_t number)
{
	for (size_t i = 0; i < count; i++)
		if (pm_eui48_number(&near[i]) == number)
			return true;
	return false;
}

static void test_near(void **state)
{
	(void)state;
	static const struct { const char *text; uint64_t meant; bool first; } rows[] = {
		{ "00-00-5E-00-53-O1", 0x00005E005301, true },      /* O for 0 */
		{ "00-00-5E-00-53-0I", 0x00005E005301, true },      /* I for 1 */
		{ "00-00-5E-00-53-0l", 0x00005E005301, true },      /* l for 1 */
		{ "00-00-SE-00-S3-01", 0x00005E005301, true },      /* S for 5, twice */
		{ "00-00-5E-00-53-Z1", 0x00005E005321, true },      /* Z for 2 */
		{ "00-00-5E-00-53-G1", 0x00005E005361, true },      /* G for 6 */
		{ "00-00-5E-00-53-O1", 0x00005E0053D1, false },     /* or for D */
		{ "00-00-5EE-00-53-01", 0x00005E005301, true },     /* a doubled digit */
		{ "00-00--5E-00-53-01", 0x00005E005301, true },     /* a doubled separator */
		{ "0A005E0BB5301", 0x0A005E0B5301, false },         /* one of several that fit */
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct pm_eui48 near[32];
		size_t count = pm_eui48_near(rows[i].text, strlen(rows[i].text), near, COUNT(near));
		if (!has(near, count, rows[i].meant))
			fail_msg("\"%s\": %zu suggestions without the expected one", rows[i].text, count);
		if (rows[i].first)
			assert_true(pm_eui48_number(&near[0]) == rows[i].meant);
		/* no suggestion twice */
		for (size_t a = 0; a < count; a++)
			for (size_t b = 0; b < a; b++)
				assert_int_not_equal(pm_eui48_compare(&near[a], &near[b]), 0);
	}
}

static void test_near_keeps_quiet(void **state)
{
	(void)state;
	static const char *const texts[] = {
		"", "00-00-5E-00-53", "00005E00530", "12", "00-00-5E-00-53-01", "port1", "00-00-5E-00-53-??",
		"00-00-5E-FF-FE-00-53-01",
	};
	for (size_t i = 0; i < COUNT(texts); i++) {
		struct pm_eui48 near[8];
		if (pm_eui48_near(texts[i], strlen(texts[i]), near, COUNT(near)) != 0)
			fail_msg("\"%s\" got a suggestion", texts[i]);
	}
}

static void test_near_stays_in_room(void **state)
{
	(void)state;
	struct pm_eui48 near[3];
	static const uint8_t untouched[6] = { 0xEE, 0xEE, 0xEE, 0xEE, 0xEE, 0xEE };
	memset(near, 0xEE, sizeof near);
	assert_int_equal(pm_eui48_near("0123456789ABC", 13, near, 2), 2);
	assert_memory_equal(near[2].octet, untouched, 6);
	assert_int_equal(pm_eui48_near("0123456789ABC", 13, near, 0), 0);
}

static void test_reasons_have_words(void **state)
{
	(void)state;
	for (int r = 0; r <= PM_EUI48_REASONS; r++) {
		const char *text = pm_eui48_reason_text((enum pm_eui48_reason)r);
		assert_non_null(text);
		assert_true(text[0] >= 'a' && text[0] <= 'z');
		assert_int_not_equal(text[strlen(text) - 1], '.');
		for (int other = 0; other < r && r < PM_EUI48_REASONS; other++)
			assert_string_not_equal(text, pm_eui48_reason_text((enum pm_eui48_reason)other));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_read_good),
		cmocka_unit_test(test_read_bad),
		cmocka_unit_test(test_zero_byte_and_null),
		cmocka_unit_test(test_every_place),
		cmocka_unit_test(test_write),
		cmocka_unit_test(test_round_trip),
		cmocka_unit_test(test_number_and_order),
		cmocka_unit_test(test_bits),
		cmocka_unit_test(test_modified_eui64),
		cmocka_unit_test(test_near),
		cmocka_unit_test(test_near_keeps_quiet),
		cmocka_unit_test(test_near_stays_in_room),
		cmocka_unit_test(test_reasons_have_words),
	};
	return cmocka_run_group_tests_name("EUI-48", tests, NULL, NULL);
}
