/* Lines that are too long: wherever their pieces begin and end, no address is
 * read wrong, and those that stand beside their names are read. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "capture/clean.h"
#include "portmuster/text.h"
#include "source_read.h"

#define MOST CLEAN_MOST_COLUMNS
#define STEP (CLEAN_MOST_COLUMNS - CLEAN_OVERLAP)
#define TOO_LONG "1:4097 the line is too long and was read in pieces: \n"
#define ROOM (1u << 20)

static char text[ROOM];

static const char *read_text(size_t length, size_t piece, struct pm_arena *arena)
{
	pm_arena_init(arena);
	return read_split(text, length, 0, piece, SOURCE_CONSOLE, NULL, arena);
}

/* `head`, filler up to column `at`, `what`, filler up to `length` columns. */
static size_t compose(const char *head, const char *filler, size_t at, const char *what, size_t length)
{
	size_t n = strlen(filler), head_length = strlen(head), what_length = strlen(what);
	for (size_t i = 0; i < length; i++) text[i] = filler[i % n];
	memcpy(text, head, head_length);
	if (at > head_length) text[at - 1] = ' ';
	memcpy(text + at, what, what_length);
	if (at + what_length < length) text[at + what_length] = ' ';
	text[length] = '\n';
	return length + 1;
}

static const char *const fillers[] = { "dry and dry, ", "x", "level 4.12 m; ", "            ", "(a)" };

/* An address before, on and behind each cut, in each notation. */
static void test_seams(void **state)
{
	(void)state;
	struct pm_eui48 address = pm_eui48_from(0x00005E00531Fu);
	for (int notation = 0; notation < PM_NOTATIONS; notation++)
		for (size_t f = 0; f < sizeof fillers / sizeof fillers[0]; f++)
			for (size_t cut = MOST; cut <= MOST + 2 * STEP; cut += STEP)
				for (size_t at = cut - 300; at < cut + 40; at += at + 24 < cut ? 9 : 1) {
					char what[64], written[PM_EUI48_TEXT];
					struct pm_arena arena;
					pm_eui48_write(&address, (enum pm_notation)notation, true, written);
					snprintf(what, sizeof what, "port1 mac %s", written);
					size_t length = compose("", fillers[f], at, what, cut + 3000);
					const char *got = read_text(length, SIZE_MAX, &arena);
					if (strcmp(got, "1 port1 00-00-5E-00-53-1F\n" TOO_LONG) != 0)
						fail_msg("notation %d, filler %zu, at %zu: %s", notation, f, at, got);
					pm_arena_free(&arena);
				}
}

/* The same with the name at the line's head and nothing else that may be one; and
 * with the line ending wherever the address does. */
static void test_head(void **state)
{
	(void)state;
	for (size_t f = 0; f < 3; f++)
		for (size_t at = MOST - 40; at < MOST + 40; at++)
			for (int ends = 0; ends < 2; ends++) {
				struct pm_arena arena;
				static const char what[] = " 0:0:5e:0:53:1f";
				size_t end = at + sizeof what - 1, length = compose("port1 ", fillers[f], at, what, ends ? end : 9000);
				const char *got = read_text(length, SIZE_MAX, &arena);
				const char *expected = length - 1 > MOST ? "1 port1 00-00-5E-00-53-1F\n" TOO_LONG : "1 port1 00-00-5E-00-53-1F\n";
				if (strcmp(got, expected) != 0) fail_msg("filler %zu, at %zu: %s", f, at, got);
				pm_arena_free(&arena);
			}
}

/* Eight octets are none of an interface, wherever the cut falls; nor is a row. */
static void test_no_address(void **state)
{
	(void)state;
	static const char *const what[] = {
		"port1 00 00 5E 00 53 1F 02 03", "port1 00-00-5E-00-53-1F-02-03", "port1 mac 0000.5e00.531f.0203",
		"port1 00 00 5E 00 53 1F 02 03 04 05 06 07 08 09 0A 0B 0C 0D 0E 0F",
	};
	for (size_t w = 0; w < sizeof what / sizeof what[0]; w++)
		for (size_t at = MOST - 300; at < MOST + 40; at++) {
			struct pm_arena arena;
			struct listing listing;
			size_t length = compose("", "dry and ", at, what[w], 9000);
			pm_arena_init(&arena);
			assert_true(listing_read(text, length, NULL, &arena, &listing));
			if (listing.count) fail_msg("%s at %zu", what[w], at);
			pm_arena_free(&arena);
		}
}

/* Half a megabyte before and behind, fed in pieces of any size; flat memory. */
static void test_far(void **state)
{
	(void)state;
	static const size_t pieces[] = { 1, 1000, 40000, SIZE_MAX };
	for (size_t f = 0; f < sizeof fillers / sizeof fillers[0]; f++)
		for (size_t p = 0; p < sizeof pieces / sizeof pieces[0]; p++) {
			struct pm_arena arena;
			size_t length = compose("", fillers[f], 500000, "port1 00-00-5E-00-53-01", ROOM - 100);
			memcpy(text + length, "port2 00-00-5E-00-53-02\n", 24);
			assert_string_equal(read_text(length + 24, pieces[p], &arena), "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n" TOO_LONG);
			assert_true(arena.bytes < 65536);
			pm_arena_free(&arena);
		}
}

/* Thousands in one line: all of them, each its own. */
static void test_many(void **state)
{
	(void)state;
	static const struct { const char *name, *address, *behind; } layout[] = {
		{ "port", " 00-00-5E-00-53-0", " up 1500 bytes " },
		{ "{\"name\": \"port", "\", \"link\": \"up\", \"mac\": \"00:00:5e:00:53:0", "\"}, " },
		{ "port", ": hardware address 0:0:5e:0:53:", "; " },
	};
	for (size_t l = 0; l < sizeof layout / sizeof layout[0]; l++)
		for (unsigned count = 12; count <= 3012; count += 1000) {
			struct pm_arena arena;
			char expected[2000];
			struct pm_text line, want;
			pm_text_fixed(&line, text, sizeof text);
			pm_text_fixed(&want, expected, sizeof expected);
			for (unsigned i = 0; i < count; i++)
				pm_text_add(&line, "%s%u%s%X%s", layout[l].name, i % 12 + 1, layout[l].address, i % 12 + 1, layout[l].behind);
			for (unsigned i = 1; i <= 12; i++) pm_text_add(&want, "1 port%u 00-00-5E-00-53-%02X\n", i, i);
			pm_text_char(&line, '\n');
			if (line.length > MOST) pm_text_str(&want, TOO_LONG);
			assert_false(line.cut || want.cut);
			assert_string_equal(read_text(line.length, SIZE_MAX, &arena), expected);
			pm_arena_free(&arena);
		}
}

/* Nothing is guessed. */
static void test_open(void **state)
{
	(void)state;
	static const struct { const char *head; size_t at; const char *what, *expected; } cases[] = {
		/* two names, and the address beside neither */
		{ "port1 and port2 ", 5000, "00-00-5E-00-53-01",
		  TOO_LONG "1:5001 so long a line leaves open which interface has this address: 00-00-5E-00-53-01\n" },
		{ "no name ", 5000, "00-00-5E-00-53-01", TOO_LONG },
		{ "port1 ", 5000, "peer mac 00-00-5E-00-53-01", TOO_LONG },
		{ "port1 00-00-5E-00-53-01 ", 5000, "port2 and its mac 00-00-5E-00-53-02", "1 port1 00-00-5E-00-53-01\n1 port2 00-00-5E-00-53-02\n" TOO_LONG },
		{ "port1 ", 5000, "hardware address 00-00-5E-00-53", TOO_LONG "1:5032 digits are missing: an address has 12: 00-00-5E-00-53\n" },
		{ "port1 ", 5000, "serial number EG12-26-00417", "1 serial EG12-26-00417\n" TOO_LONG },
		{ "[  12.5] port1 ", 5000, "port1 00-00-5E-00-53-01", TOO_LONG },
		{ "eg-12> port1 ", 5000, "port1 00-00-5E-00-53-01", TOO_LONG },
		{ "neighbours: ", 3900, "port1 00-00-5E-00-53-01", TOO_LONG },
		{ "neighbours: ", 5000, "port1 00-00-5E-00-53-01", TOO_LONG },
	};
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct pm_arena arena;
		size_t length = compose(cases[i].head, "dry and ", cases[i].at, cases[i].what, 9000);
		const char *got = read_text(length, SIZE_MAX, &arena);
		if (strcmp(got, cases[i].expected) != 0) fail_msg("%s:\n%s", cases[i].what, got);
		pm_arena_free(&arena);
	}
}

/* --- what a terminal does in such a line ------------------------------------------------------- */

static void test_terminal(void **state)
{
	(void)state;
	static const struct { const char *behind, *expected; } cases[] = {
		{ "port1 00-00-5E-00-53-01\r", "1 port1 00-00-5E-00-53-01\n" TOO_LONG },
		{ "port1 00-00-5E-00-53-02\b1", "1 port1 00-00-5E-00-53-01\n" TOO_LONG },
		{ "port1 \x1b[33m00-00-5E-00-53-01\x1b[0m", "1 port1 00-00-5E-00-53-01\n" TOO_LONG },
		{ "port1\t00-00-5E-00-53-01", "1 port1 00-00-5E-00-53-01\n" TOO_LONG },
		/* written back into what was read already */
		{ "\rport1 00-00-5E-00-53-01", TOO_LONG },
		{ "\x1b[3Gport1 00-00-5E-00-53-01", TOO_LONG },
	};
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		for (size_t at = MOST - 60; at < MOST + 60; at++) {
			struct pm_arena arena;
			for (size_t k = 0; k < at; k++) text[k] = k % 7 == 6 ? ' ' : 'x';
			text[at - 1] = ' ';
			size_t length = at, more = strlen(cases[i].behind);
			memcpy(text + length, cases[i].behind, more);
			length += more;
			for (size_t k = 0; i < 4 && i && k < 200; k++) text[length++] = k % 7 ? 'y' : ' ';
			text[length++] = '\n';
			const char *got = read_text(length, SIZE_MAX, &arena);
			bool whole = length - 1 <= MOST + (i == 0);
			if (i < 4 && !whole && strcmp(got, cases[i].expected) != 0) fail_msg("case %zu at %zu: %s", i, at, got);
			if (i >= 4 && at > MOST && strcmp(got, cases[i].expected) != 0) fail_msg("case %zu at %zu: %s", i, at, got);
			pm_arena_free(&arena);
		}
}

/* --- open listings have such lines too ----------------------------------------------------------- */

static void test_open_listings(void **state)
{
	(void)state;
	static const struct { enum source_kind as; const char *head, *blanks_to, *expected; size_t most; } cases[] = {
		{ SOURCE_IP_LINK, "1: port1: <UP> mtu 1500\n    link/ether", "0:0:5e:0:53:1f", "2:4097 the line is too long and was cut: \n", 4096 },
		{ SOURCE_IFMIB, "IF-MIB::ifName.1 = STRING: port1\nIF-MIB::ifPhysAddress.1 = STRING:", "0:0:5e:0:53:1f",
		  "2:1025 the line is too long and was cut: \n", 1024 },
		{ SOURCE_IFMIB, "IF-MIB::ifPhysAddress.1 = STRING: 0:0:5e:0:53:1f\nIF-MIB::ifName.1 = STRING:", "port12",
		  "2:1025 the line is too long and was cut: \n1:35 an address of an interface without a name: 0:0:5e:0:53:1f\n", 1024 },
	};
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		for (size_t over = 1; over < strlen(cases[i].blanks_to); over++) {
			struct pm_arena arena;
			const char *second = strchr(cases[i].head, '\n') + 1;
			size_t n = strlen(cases[i].head), what = strlen(cases[i].blanks_to);
			size_t end = (size_t)(second - cases[i].head) + cases[i].most + over;
			memset(text, ' ', end);
			memcpy(text, cases[i].head, n);
			memcpy(text + end - what, cases[i].blanks_to, what);
			text[end] = '\n';
			pm_arena_init(&arena);
			const char *got = read_split(text, end + 1, 0, SIZE_MAX, cases[i].as, NULL, &arena);
			if (strcmp(got, cases[i].expected) != 0) fail_msg("case %zu, %zu over: %s", i, over, got);
			pm_arena_free(&arena);
		}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_seams), cmocka_unit_test(test_head), cmocka_unit_test(test_no_address),
		cmocka_unit_test(test_far), cmocka_unit_test(test_many), cmocka_unit_test(test_open),
		cmocka_unit_test(test_terminal), cmocka_unit_test(test_open_listings),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
