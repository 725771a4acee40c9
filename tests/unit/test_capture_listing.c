/* Listings of invented shapes, what must be read from them, and near misses
 * that must not be. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "capture/listing.h"
#include "capture/words.h"
#include "listing_shapes.h"
#include "portmuster/roster.h"
#include "portmuster/text.h"

/* --- the gear: twelve ports and one for management -------------------------------- */

static struct pm_port port[13] = {
	{ .name = { "mgmt", 1, 1 } }, { .name = { "port1", 1, 1 } }, { .name = { "port2", 1, 1 } },
	{ .name = { "port3", 1, 1 } }, { .name = { "port4", 1, 1 } }, { .name = { "port5", 1, 1 } },
	{ .name = { "port6", 1, 1 } }, { .name = { "port7", 1, 1 } }, { .name = { "port8", 1, 1 } },
	{ .name = { "port9", 1, 1 } }, { .name = { "port10", 1, 1 } }, { .name = { "port11", 1, 1 } },
	{ .name = { "port12", 1, 1 } },
};
static struct pm_word pager = { "-- space for the rest --", 1, 1 }, serial = { "unit number", 1, 1 };
static const struct pm_gear eg12 = {
	.ports = port, .port_count = 13,
	.console = { .pagers = { &pager, 1 }, .serials = { &serial, 1 } },
};

/* --- a listing as text: one item a line ------------------------------------------- */

static void describe(const struct listing *listing, bool gear, struct pm_text *out)
{
	char text[PM_EUI48_TEXT];
	for (size_t i = 0; i < listing->count; i++)
		pm_text_add(out, "%u %s%s %s\n", listing->reading[i].line, listing->reading[i].interface,
		            gear && listing->reading[i].port == PM_NO_PORT ? "?" : "",
		            pm_eui48_text(&listing->reading[i].address, text));
	for (size_t i = 0; i < listing->serial_count; i++)
		pm_text_add(out, "%u serial %s\n", listing->serial[i].line, listing->serial[i].text);
	for (size_t i = 0; i < listing->problem_count; i++)
		pm_text_add(out, "%u:%u %s: %s\n", listing->problem[i].line, listing->problem[i].column,
		            listing->problem[i].reason, listing->problem[i].text);
}

/* Read in pieces: `split` bytes first, then pieces of `piece` bytes. */
static const char *read_split(const char *bytes, size_t length, size_t split, size_t piece, bool gear,
                        struct pm_arena *arena)
{
	struct listing listing;
	struct listing_reader *reader = listing_begin(&listing, gear ? &eg12 : NULL, arena);
	assert_non_null(reader);
	assert_true(listing_feed(reader, bytes, split));
	for (size_t at = split; at < length; at += length - at < piece ? length - at : piece)
		assert_true(listing_feed(reader, bytes + at, length - at < piece ? length - at : piece));
	assert_true(listing_end(reader));
	struct pm_text out;
	pm_text_grow(&out, arena);
	describe(&listing, gear, &out);
	assert_false(arena->failed);
	return out.data ? out.data : "";
}

static void test_shapes(void **state)
{
	(void)state;
	size_t failed = 0;
	for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
		for (int gear = NO_GEAR; gear <= WITH_GEAR; gear++) {
			if (!(shapes[i].gear & gear)) continue;
			struct pm_arena arena;
			pm_arena_init(&arena);
			const char *got = read_split(shapes[i].log, strlen(shapes[i].log), 0, SIZE_MAX,
			                             gear == WITH_GEAR, &arena);
			if (!shapes[i].expected || strcmp(got, shapes[i].expected) != 0) {
				print_error("%s, %s gear:\n%sexpected:\n%s\n", shapes[i].what,
				            gear == WITH_GEAR ? "with" : "no", got, shapes[i].expected ? shapes[i].expected : "?\n");
				failed++;
			}
			pm_arena_free(&arena);
		}
	}
	assert_int_equal(failed, 0);
}

/* --- the same in every notation, case and order ------------------------------------ */

static struct pm_eui48 address_of(unsigned i)
{
	return pm_eui48_from(0x00005E005300u + 0x0A + i);   /* documentation range, RFC 9542 2.1.4 */
}

static const char *const layouts[] = {   /* %n is the name, %a the address */
	"%n  up  %a  full  1500\n",
	"%a  up  %n\n",
	"%n %a\n",
	"%n is up, line is clean\n    mtu 1500\n    hardware address %a\n    rx 12 tx 13\n",
	"%n:\n  link: down\n  MAC Address: %a\n\n",
	"%n\n    gateway 192.0.2.1 via 00-00-5E-00-53-FE\n    phys-address = %a\n",
	"interface: %n\nstate: up\naddress: %a\n\n",
	"state=up name=%n mac=%a mtu=1500\n",
	"| %n | up | %a |\n",
	"(%n) ether %a brd ff:ff:ff:ff:ff:ff\n",
};

/* The listing of thirteen interfaces; `pad` blanks stand before each address. */
static size_t compose(const char *layout, enum pm_notation notation, bool lower, size_t pad,
                      char *out, size_t room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	for (unsigned i = 0; i < 13; i++) {
		struct pm_eui48 address = address_of(i);
		char written[PM_EUI48_TEXT];
		pm_eui48_write(&address, notation, lower, written);
		for (const char *c = layout; *c; c++) {
			if (c[0] != '%') {
				pm_text_char(&text, *c);
			} else if (*++c == 'n') {
				pm_text_str(&text, port[i].name.text);
			} else {
				for (size_t k = 0; k < pad; k++) pm_text_char(&text, k + 1 == pad ? ' ' : '.');
				pm_text_str(&text, written);
			}
		}
	}
	assert_false(text.cut);
	return text.length;
}

/* All thirteen, or all but the first `less`, each with its own address, nothing else. */
static bool all_there(const struct listing *listing, unsigned less)
{
	if (listing->count != 13 - less || listing->problem_count) return false;
	for (unsigned i = less; i < 13; i++) {
		struct pm_eui48 address = address_of(i);
		const struct listing_reading *reading = &listing->reading[i - less];
		if (strcmp(reading->interface, port[i].name.text) != 0
		    || pm_eui48_compare(&reading->address, &address) != 0) return false;
	}
	return true;
}

static void test_notations(void **state)
{
	(void)state;
	char log[8192];
	for (size_t l = 0; l < sizeof layouts / sizeof layouts[0]; l++)
		for (int notation = 0; notation < PM_NOTATIONS; notation++)
			for (int form = 0; form < 4; form++) {
				struct pm_arena arena;
				struct listing listing;
				pm_arena_init(&arena);
				size_t length = compose(layouts[l], (enum pm_notation)notation, form & 1, 0, log, sizeof log);
				assert_true(listing_read(log, length, form & 2 ? &eg12 : NULL, &arena, &listing));
				/* Without gear a word behind the address is not known for a name. */
				if (!all_there(&listing, l == 1 && !(form & 2))) fail_msg("layout %zu, notation %d, form %d:\n%s", l, notation, form, log);
				pm_arena_free(&arena);
			}
}

/* Break every line at `width` columns, as a terminal does. */
static size_t wrapped(const char *in, size_t length, size_t width, char *out)
{
	size_t column = 0, n = 0;
	for (size_t i = 0; i < length; i++) {
		if (in[i] != '\n' && column == width) out[n++] = '\n', column = 0;
		out[n++] = in[i];
		column = in[i] == '\n' ? 0 : column + 1;
	}
	return n;
}

/* The seam is moved through every row by padding it, at several widths. */
static void test_wraps(void **state)
{
	(void)state;
	static const size_t widths[] = { 80, 132, 100, 57 };
	static const enum pm_notation notations[] = { PM_HYPHEN, PM_COLON, PM_DOT_FOUR, PM_DOT_TWO, PM_BARE, PM_SPACED, PM_COLON_SHORT };
	static char log[16384], broken[16384];
	size_t cases = 0, failed = 0;
	for (size_t l = 0; l < sizeof layouts / sizeof layouts[0]; l++)
		for (size_t w = 0; w < sizeof widths / sizeof widths[0]; w++)
			for (size_t n = 0; n < sizeof notations / sizeof notations[0]; n++)
				for (size_t at = 0; at < 100; at++) {
					size_t pad = widths[w] - 40 + at / 2;
					bool gear = at & 1;
					struct pm_arena arena;
					struct listing listing;
					pm_arena_init(&arena);
					size_t length = compose(layouts[l], notations[n], true, pad, log, sizeof log);
					size_t size = wrapped(log, length, widths[w], broken);
					assert_true(listing_read(broken, size, gear ? &eg12 : NULL, &arena, &listing));
					cases++;
					if (!all_there(&listing, l == 1 && !gear) && ++failed <= 6) {
						struct pm_text out;
						pm_text_grow(&out, &arena);
						describe(&listing, true, &out);
						print_error("layout %zu, gear %d, width %zu, notation %zu, pad %zu:\n%.*s\n%s\n", l, gear, widths[w], n, pad,
						            600, broken, out.data ? out.data : "");
					}
					pm_arena_free(&arena);
				}
	if (failed) fail_msg("%zu of %zu wrapped listings", failed, cases);
}

/* Lines of every length, some of which just fill a width: none is joined. */
static void test_full_lines(void **state)
{
	(void)state;
	static char log[16384];
	size_t cases = 0, failed = 0;
	for (size_t l = 0; l < sizeof layouts / sizeof layouts[0]; l++)
		for (int notation = 0; notation < PM_NOTATIONS; notation++)
			for (size_t pad = 0; pad < 125; pad++)
				for (int gear = 0; gear < 2; gear++) {
					struct pm_arena arena;
					struct listing listing;
					pm_arena_init(&arena);
					size_t length = compose(layouts[l], (enum pm_notation)notation, true, pad, log, sizeof log);
					assert_true(listing_read(log, length, gear ? &eg12 : NULL, &arena, &listing));
					cases++;
					if (!all_there(&listing, l == 1 && !gear) && ++failed <= 6) {
						struct pm_text out;
						pm_text_grow(&out, &arena);
						describe(&listing, true, &out);
						print_error("layout %zu, gear %d, notation %d, pad %zu:\n%.*s\n%s\n", l, gear, notation, pad,
						            600, log, out.data ? out.data : "");
					}
					pm_arena_free(&arena);
				}
	if (failed) fail_msg("%zu of %zu full lines", failed, cases);
}

/* --- pieces, garbage, sizes -------------------------------------------------------- */

/* Splitting the bytes anywhere changes nothing. */
static void test_splits(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
		struct pm_arena arena;
		size_t length = strlen(shapes[i].log);
		pm_arena_init(&arena);
		const char *whole = read_split(shapes[i].log, length, 0, SIZE_MAX, true, &arena);
		assert_string_equal(whole, read_split(shapes[i].log, length, 0, 1, true, &arena));
		for (size_t split = 1; split < length; split++)
			assert_string_equal(whole, read_split(shapes[i].log, length, split, SIZE_MAX, true, &arena));
		pm_arena_free(&arena);
	}
}

static uint32_t random_next(uint32_t *seed)
{
	*seed ^= *seed << 13, *seed ^= *seed >> 17, *seed ^= *seed << 5;
	return *seed;
}

static void assert_safe(const char *text)
{
	for (; *text; text++)
		assert_false((unsigned char)*text < 0x20 || *text == 0x7F);
}

static void assert_listing_safe(const struct listing *listing)
{
	for (size_t i = 0; i < listing->count; i++) assert_safe(listing->reading[i].interface);
	for (size_t i = 0; i < listing->serial_count; i++) assert_safe(listing->serial[i].text);
	for (size_t i = 0; i < listing->problem_count; i++) {
		assert_safe(listing->problem[i].text);
		assert_safe(listing->problem[i].reason);
		assert_true(listing->problem[i].line >= 1 && listing->problem[i].column >= 1);
	}
}

/* Pieces of listings, of terminal sequences and plain noise in any order. */
static void test_garbage(void **state)
{
	(void)state;
	static const char *const piece[] = {
		"port1", "mgmt ", "00-00-5E-00-53-01", "00:00:5e:", "0000.5e00.5303 ", "00 00 5E 00 53 01", "hardware address ",
		"serial number ", "EG12-26-00417", "\n", "\r\n", "\r", "\b \b", "\x1b[K", "\x1b[7m--More--\x1b[m", "\x1b]0;", "\x07",
		"--More--", "    ", "\t", "peer ", "Name  Address\n", "eg12> ", "[ 1.2] ", "\xE2\x80\x90", "\xFF", "\xC2\x9B", "=", ":", "|",
		"\xE2\x80\xAE", "\x1b[200C", "\x1b[1;99999999999X", "................................................................",
	};
	uint32_t seed = 2463534242u;
	for (int round = 0; round < 3000; round++) {
		char log[2048];
		size_t length = 0, pieces = random_next(&seed) % 60;
		while (pieces--) {
			uint32_t pick = random_next(&seed) % (sizeof piece / sizeof piece[0] + 3);
			if (pick < sizeof piece / sizeof piece[0]) {
				size_t n = strlen(piece[pick]);
				if (length + n > sizeof log) break;
				memcpy(log + length, piece[pick], n);
				length += n;
			} else if (length < sizeof log) {
				log[length++] = (char)random_next(&seed);
			}
		}
		struct pm_arena arena;
		struct listing listing;
		pm_arena_init(&arena);
		assert_true(listing_read(log, length, round & 1 ? &eg12 : NULL, &arena, &listing));
		assert_listing_safe(&listing);
		const char *whole = read_split(log, length, 0, SIZE_MAX, round & 1, &arena);
		assert_string_equal(whole, read_split(log, length, 0, 1, round & 1, &arena));
		assert_string_equal(whole, read_split(log, length, length / 2, 7, round & 1, &arena));
		pm_arena_free(&arena);
	}
}

static void test_long_line(void **state)
{
	(void)state;
	const size_t size = 1 << 20;
	char *log = malloc(size + 64);
	assert_non_null(log);
	for (int kind = 0; kind < 3; kind++) {
		static const char filler[] = { 'x', '\0', '0' };
		struct pm_arena arena;
		struct listing listing;
		pm_arena_init(&arena);
		memset(log, filler[kind], size);
		memcpy(log + size, "\nport1 00-00-5E-00-53-01\n", 26);
		assert_true(listing_read(log, size + 25, &eg12, &arena, &listing));
		assert_int_equal(listing.count, 1);
		assert_int_equal(listing.reading[0].line, 2);
		assert_int_equal(listing.problem_count, kind != 1);   /* NUL bytes take no room */
		assert_true(arena.bytes < 16384);
		pm_arena_free(&arena);
	}
	free(log);
}

/* NUL bytes between the characters do not hide an address. */
static void test_nul(void **state)
{
	(void)state;
	static const char log[] = "port1\0 \0hw\0addr \0" "00-00-5E\0-00-53-01\0\n";
	struct pm_arena arena;
	pm_arena_init(&arena);
	assert_string_equal(read_split(log, sizeof log - 1, 0, 3, true, &arena), "1 port1 00-00-5E-00-53-01\n");
	pm_arena_free(&arena);
}

/* The same interfaces over and over take no more memory. */
static void test_flat(void **state)
{
	(void)state;
	char log[8192];
	size_t length = compose(layouts[3], PM_COLON, true, 0, log, sizeof log);
	for (int gear = 0; gear < 2; gear++) {
		struct pm_arena arena;
		struct listing listing;
		pm_arena_init(&arena);
		struct listing_reader *reader = listing_begin(&listing, gear ? &eg12 : NULL, &arena);
		assert_non_null(reader);
		for (int i = 0; i < 300; i++) assert_true(listing_feed(reader, log, length));
		assert_true(listing_end(reader));
		assert_true(all_there(&listing, 0));
		assert_int_equal(listing.lines, 300 * 13 * 4);
		assert_true(arena.bytes < 4096);
		pm_arena_free(&arena);
	}
}

/* Many problems are cut off, and that is said. */
static void test_many_problems(void **state)
{
	(void)state;
	struct pm_arena arena;
	struct listing listing;
	pm_arena_init(&arena);
	struct listing_reader *reader = listing_begin(&listing, &eg12, &arena);
	for (int i = 0; i < 3000; i++) assert_true(listing_feed(reader, "port1\n  mac 00-00-5E-00-53\n", 27));
	assert_true(listing_end(reader));
	assert_int_equal(listing.problem_count, 1001);
	assert_string_equal(listing.problem[1000].reason, "more problems than are listed");
	pm_arena_free(&arena);
}

static void test_words_sorted(void **state)
{
	(void)state;
	for (const struct word_row *row = word_table; row->word; row++) {
		assert_int_equal(word_kind(row->word, strlen(row->word)), row->kind);
		if (row[1].word) assert_true(strcmp(row->word, row[1].word) < 0);
	}
	assert_int_equal(word_kind("Phys-Address", 12), word_kind("physaddress", 11));
	assert_int_equal(word_kind("quince", 6), 0);
}

/* --- whole logs in files ------------------------------------------------------------- */

static char *slurp(const char *path, size_t *length)
{
	FILE *file = fopen(path, "rb");
	if (!file) fail_msg("no %s", path);
	char *bytes = malloc(1 << 16);
	assert_non_null(bytes);
	*length = fread(bytes, 1, (1 << 16) - 1, file);
	bytes[*length] = '\0';
	fclose(file);
	return bytes;
}

static void test_logs(void **state)
{
	(void)state;
	static const char *const names[] = { "harbour", "orchard", "meadow", "narrow", "torn" };
	size_t failed = 0;
	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
		char path[128];
		size_t length, expected_length;
		struct pm_arena arena;
		pm_arena_init(&arena);
		snprintf(path, sizeof path, "tests/unit/logs/%s.log", names[i]);
		char *log = slurp(path, &length);
		snprintf(path, sizeof path, "tests/unit/logs/%s.expected", names[i]);
		char *expected = slurp(path, &expected_length);
		const char *got = read_split(log, length, 0, SIZE_MAX, true, &arena);
		if (strcmp(got, expected) != 0) {
			print_error("%s:\n%s\n", names[i], got);
			failed++;
		}
		for (size_t piece = 1; piece < 100; piece += 7)
			assert_string_equal(got, read_split(log, length, 0, piece, true, &arena));
		free(log);
		free(expected);
		pm_arena_free(&arena);
	}
	assert_int_equal(failed, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_shapes), cmocka_unit_test(test_notations), cmocka_unit_test(test_wraps),
		cmocka_unit_test(test_full_lines), cmocka_unit_test(test_splits), cmocka_unit_test(test_garbage),
		cmocka_unit_test(test_long_line), cmocka_unit_test(test_nul), cmocka_unit_test(test_flat),
		cmocka_unit_test(test_many_problems), cmocka_unit_test(test_words_sorted), cmocka_unit_test(test_logs),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
