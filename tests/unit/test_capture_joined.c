/* Logs put together in one file: whatever the order, each line is read by its own
 * reader, and nothing is lost without a word. And what is no text at all. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/text.h"
#include "source_read.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* --- any order ------------------------------------------------------------------------- */

struct reads {
	unsigned line;       /* from 1 in the section */
	const char *what;
};

#define READS_MOST 4

static const struct section {
	enum source_kind kind;
	const char *text;
	unsigned lines;
	struct reads reads[READS_MOST];
} sections[] = {
	{ SOURCE_CONSOLE,
	  "port1 is up\n    hardware address 00-00-5E-00-53-01\nport2 is down\n    hardware address 0000.5e00.5302\n\nSerial number: EG12-26-00417\n", 6,
	  { { 2, "port1 00-00-5E-00-53-01" }, { 4, "port2 00-00-5E-00-53-02" } } },
	{ SOURCE_IP_LINK,
	  "1: lo: <LOOPBACK,UP> mtu 65536 qdisc noqueue state UNKNOWN\n    link/loopback 00:00:00:00:00:00 brd 00:00:00:00:00:00\n"
	  "3: port3@port1: <BROADCAST> mtu 1500 qdisc noop state DOWN\n    link/ether 00:00:5e:00:53:03 brd ff:ff:ff:ff:ff:ff\n", 4,
	  { { 4, "port3 00-00-5E-00-53-03" } } },
	{ SOURCE_IFMIB,
	  "SNMPv2-MIB::sysDescr.0 = STRING: gauge unit\nsecond line of it\nIF-MIB::ifName.4 = STRING: port4\nIF-MIB::ifName.5 = STRING: port5\n"
	  "IF-MIB::ifPhysAddress.4 = STRING: 0:0:5e:0:53:4\nIF-MIB::ifPhysAddress.5 = STRING: 0:0:5e:0:53:5\n", 6,
	  { { 5, "port4 00-00-5E-00-53-04" }, { 6, "port5 00-00-5E-00-53-05" } } },
};

#define SECTIONS COUNT(sections)

static void put_returns(struct pm_text *out, const char *text, bool returns)
{
	for (; *text; text++) {
		if (returns && *text == '\n') pm_text_char(out, '\r');
		pm_text_char(out, *text);
	}
}

/* The sections in an order, with `between` after each; and what is read of them. */
static void compose(const size_t *order, size_t count, const char *between, bool returns, struct pm_text *out, struct pm_text *expected)
{
	unsigned line = 0, serial = 0, more = 0;
	for (const char *c = between; *c; c++) more += *c == '\n';
	for (size_t i = 0; i < count; i++) {
		const struct section *s = &sections[order[i]];
		put_returns(out, s->text, returns);
		put_returns(out, between, returns);
		for (size_t k = 0; k < READS_MOST && s->reads[k].what; k++)
			pm_text_add(expected, "%u %s\n", line + s->reads[k].line, s->reads[k].what);
		if (s->kind == SOURCE_CONSOLE) serial = line + s->lines;
		line += s->lines + more;
	}
	if (serial) pm_text_add(expected, "%u serial EG12-26-00417\n", serial);
}

static const char *const betweens[] = { "", "\n", "eg-12> roll\n", "# the next one\n\n", "gauge:~$ ip link\n\n\n" };

static void check_order(const size_t *order, size_t count)
{
	for (size_t b = 0; b < COUNT(betweens); b++)
		for (int returns = 0; returns < 2; returns++) {
			struct pm_arena arena;
			struct pm_text text, expected;
			enum source_kind kind;
			pm_arena_init(&arena);
			pm_text_grow(&text, &arena);
			pm_text_grow(&expected, &arena);
			compose(order, count, betweens[b], returns, &text, &expected);
			const char *got = read_split(text.data, text.length, 0, SIZE_MAX, SOURCE_AUTO, &kind, &arena);
			if (strcmp(got, expected.data) != 0) fail_msg("%s\nread as:\n%sexpected:\n%s", text.data, got, expected.data);
			assert_int_equal(kind, sections[order[0]].kind);
			for (size_t split = 1; split < text.length; split++) {
				struct pm_arena again;
				pm_arena_init(&again);
				assert_string_equal(got, read_split(text.data, text.length, split, split & 1 ? 1 : SIZE_MAX, SOURCE_AUTO, &kind, &again));
				pm_arena_free(&again);
			}
			pm_arena_free(&arena);
		}
}

static void test_orders(void **state)
{
	(void)state;
	for (size_t a = 0; a < SECTIONS; a++)
		for (size_t b = 0; b < SECTIONS; b++) {
			if (a == b) continue;
			check_order((size_t[]){ a, b }, 2);
			check_order((size_t[]){ a, b, 3 - a - b }, 3);
		}
}

/* With much of the console's before, between and behind, handed over in pieces
 * that are read the faster way, the same is read. */
static void test_long(void **state)
{
	(void)state;
	static const char filler[] = "2026-02-03 12:30:05 gauge[7]: level 231 = low, 4 < 5\nIF-MIB is a word\n12: dry\n1.3 = x\n";
	static const size_t pieces[] = { 1000, 4096, 32768, 40000, 65536, SIZE_MAX };
	struct pm_arena arena;
	struct pm_text text, expected;
	unsigned line = 0;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	pm_text_grow(&expected, &arena);
	for (size_t i = 0; i < SECTIONS; i++) {
		for (int n = 0; n < 1000; n++, line += 4) pm_text_str(&text, filler);
		pm_text_str(&text, sections[i].text);
		for (size_t k = 0; k < READS_MOST && sections[i].reads[k].what; k++)
			pm_text_add(&expected, "%u %s\n", line + sections[i].reads[k].line, sections[i].reads[k].what);
		line += sections[i].lines;
	}
	for (int n = 0; n < 1000; n++) pm_text_str(&text, filler);
	pm_text_str(&expected, "4006 serial EG12-26-00417\n");
	assert_false(text.cut || expected.cut);
	for (size_t i = 0; i < COUNT(pieces); i++) {
		struct pm_arena again;
		enum source_kind kind;
		pm_arena_init(&again);
		assert_string_equal(read_split(text.data, text.length, 0, pieces[i], SOURCE_AUTO, &kind, &again), expected.data);
		assert_true(again.bytes < 65536);
		pm_arena_free(&again);
	}
	pm_arena_free(&arena);
}

/* --- what they say of each other, and lines that are nobody's -------------------------------- */

#define HEAD3 "3: port3: <UP> mtu 1500 state UP\n"
#define LINK3 "    link/ether 00:00:5e:00:53:03 brd ff:ff:ff:ff:ff:ff\n"
#define WALK4 "IF-MIB::ifName.4 = STRING: port4\nIF-MIB::ifPhysAddress.4 = STRING: 0:0:5e:0:53:4\n"

static const struct joined {
	const char *what;
	enum source_kind as;
	const char *text, *expected;
} joined[] = {
	{ "the same address twice", SOURCE_AUTO, HEAD3 LINK3 "port3 00-00-5E-00-53-03\n", "2 port3 00-00-5E-00-53-03\n" },
	{ "another one", SOURCE_AUTO, HEAD3 LINK3 "port3 00-00-5E-00-53-33\n",
	  "2 port3 00-00-5E-00-53-03\n3 port3 00-00-5E-00-53-33\n3:1 another address for port3 than on line 2: 00-00-5E-00-53-33\n" },
	{ "what one reader said already", SOURCE_AUTO, "port1 00-00-5E-00-53-01\nport1 00-00-5E-00-53-11\n" HEAD3 LINK3,
	  "1 port1 00-00-5E-00-53-01\n2 port1 00-00-5E-00-53-11\n4 port3 00-00-5E-00-53-03\n"
	  "2:7 another address for port1 than on line 1: 00-00-5E-00-53-11\n" },
	{ "a walk in two parts", SOURCE_AUTO, "IF-MIB::ifName.4 = STRING: port4\nport1 00-00-5E-00-53-01\nIF-MIB::ifPhysAddress.4 = STRING: 0:0:5e:0:53:4\n",
	  "2 port1 00-00-5E-00-53-01\n3 port4 00-00-5E-00-53-04\n" },
	{ "an indented row behind ip link", SOURCE_AUTO, HEAD3 LINK3 "  port1  00-00-5E-00-53-01\n", "2 port3 00-00-5E-00-53-03\n3 port1 00-00-5E-00-53-01\n" },
	{ "a head broken by the terminal, a pager, colours", SOURCE_AUTO,
	  "3: port3@port1: <BROADCAST,MULTICAST,M-DOWN> mtu 1500 qdisc noop state DOWN mode D\nEFAULT group default\n--More--\r        \r    link/ether \x1b[33m00:00:5e:00:53:03\x1b[0m brd ff:ff:ff:ff:ff:ff\n"
	  "    altname gauge-line\n", "3 port3 00-00-5E-00-53-03\n" },
	{ "a quote that is not closed takes no lines of others", SOURCE_AUTO,
	  "iso.3.6.1.2.1.2.2.1.6.4 = STRING: \"ab\nport1 is up\n    hardware address 00-00-5E-00-53-01\n",
	  "3 port1 00-00-5E-00-53-01\n1:36 a quote is missing behind the address: ab\n" },
	{ "nor does one of a name", SOURCE_AUTO,
	  "iso.3.6.1.2.1.2.2.1.2.4 = STRING: \"por\nport1 is up\n    hardware address 00-00-5E-00-53-01\n", "3 port1 00-00-5E-00-53-01\n" },
	{ "JSON behind a walk", SOURCE_AUTO, WALK4 "[{\"ifname\":\"port1\",\"link_type\":\"ether\",\"address\":\"00:00:5e:00:53:01\"}]\n",
	  "2 port4 00-00-5E-00-53-04\n3 port1 00-00-5E-00-53-01\n"
	  "3:1 another listing begins here, and is read as console text: put it into a file of its own: [{\"ifname\":\"port1\",\"link_type\":\"ether\",\"address\":\"00:00:5e:0...\n" },
	{ "XML behind ip link", SOURCE_AUTO, HEAD3 LINK3 "<?xml version=\"1.0\"?>\n",
	  "2 port3 00-00-5E-00-53-03\n3:1 another listing begins here, and is read as console text: put it into a file of its own: <?xml version=\"1.0\"?>\n" },
	{ "a prompt alone is no console text", SOURCE_AUTO, HEAD3 LINK3 "gauge:~$ exit\n# end\n", "2 port3 00-00-5E-00-53-03\n" },
	/* when it is said what the text is */
	{ "ip link and no more", SOURCE_IP_LINK, HEAD3 LINK3 "port1 00-00-5E-00-53-01\nport2 00-00-5E-00-53-02\n",
	  "2 port3 00-00-5E-00-53-03\n3:1 text outside of the listing: port1 00-00-5E-00-53-01\n" },
	{ "a walk and no more", SOURCE_IFMIB, WALK4 "port1 00-00-5E-00-53-01\nport2 00-00-5E-00-53-02\n",
	  "2 port4 00-00-5E-00-53-04\n3:1 text outside of the listing: port1 00-00-5E-00-53-01\n" },
	{ "a walk with a description of several lines", SOURCE_IFMIB, "iso.3.6.1.2.1.1.1.0 = STRING: gauge unit\nof the river\n" WALK4, "4 port4 00-00-5E-00-53-04\n" },
	/* near misses */
	{ "lines like those of a walk", SOURCE_AUTO, "port1 00-00-5E-00-53-01\nif.1 = port2\n1: x\n1.3.6 = 5\niso 4 = 5\n", "1 port1 00-00-5E-00-53-01\n" },
	{ "a numbered row between", SOURCE_AUTO, "port1 00-00-5E-00-53-01\n2: port2: <up> 00-00-5E-00-53-02\n", "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n" },
};

static void test_joined(void **state)
{
	(void)state;
	size_t failed = 0;
	for (size_t i = 0; i < COUNT(joined); i++) {
		size_t length = strlen(joined[i].text);
		for (size_t split = 0; split <= length; split++) {
			struct pm_arena arena;
			enum source_kind kind;
			pm_arena_init(&arena);
			const char *got = read_split(joined[i].text, length, split, split & 1 ? 1 : SIZE_MAX, joined[i].as, &kind, &arena);
			bool same = strcmp(got, joined[i].expected) == 0;
			if (!same) print_error("%s, cut at %zu:\n%sexpected:\n%s\n", joined[i].what, split, got, joined[i].expected);
			pm_arena_free(&arena);
			failed += !same;
			if (!same) break;
		}
	}
	assert_int_equal(failed, 0);
}

/* Each part is told with the line where it begins. */
static void test_parts(void **state)
{
	(void)state;
	static const char text[] = "eg-12> all\n" HEAD3 LINK3 "\nport1 00-00-5E-00-53-01\n" HEAD3 LINK3 WALK4;
	struct pm_arena arena;
	struct listing listing;
	struct source_parts parts;
	pm_arena_init(&arena);
	struct source *source = source_begin(&listing, NULL, &arena, SOURCE_AUTO);
	assert_non_null(source);
	assert_true(source_feed(source, text, sizeof text - 1));
	assert_true(source_end_parts(source, &parts));
	assert_int_equal(parts.count, 3);
	assert_int_equal(parts.kind[0], SOURCE_IP_LINK);
	assert_int_equal(parts.line[0], 1);
	assert_int_equal(parts.kind[1], SOURCE_CONSOLE);
	assert_int_equal(parts.line[1], 5);
	assert_int_equal(parts.kind[2], SOURCE_IFMIB);
	assert_int_equal(parts.line[2], 8);
	assert_int_equal(listing.lines, 9);
	assert_int_equal(listing.count, 3);
	pm_arena_free(&arena);
}

/* --- no text ------------------------------------------------------------------------------------ */

static uint32_t seed;

static char any_byte(void)
{
	seed ^= seed << 13, seed ^= seed >> 17, seed ^= seed << 5;
	return (char)(seed >> 9);
}

/* One problem, on the line of the first byte that is no text; however it comes. */
static void test_noise(void **state)
{
	(void)state;
	static const size_t sizes[] = { 2, 40, 4000, 200000 }, pieces[] = { 1000, 65536, SIZE_MAX };
	static char bytes[200100];
	for (size_t i = 0; i < COUNT(sizes); i++) {
		const char *first = NULL;
		struct pm_arena arenas[COUNT(pieces)];
		seed = 2463534242u + (uint32_t)i;
		memcpy(bytes, "dry\nand dry\n", 12);
		for (size_t k = 0; k < sizes[i]; k++) bytes[12 + k] = k < 2 ? '\xFF' : any_byte();
		for (size_t p = 0; p < COUNT(pieces); p++) {
			enum source_kind kind;
			pm_arena_init(&arenas[p]);
			const char *got = read_split(bytes, 12 + sizes[i], 0, pieces[p], SOURCE_AUTO, &kind, &arenas[p]);
			assert_ptr_equal(strstr(got, "3:1 bytes that are no text, "), got);
			assert_ptr_equal(strchr(got, '\n') + 1, got + strlen(got));
			if (p == 0) first = got;
			assert_string_equal(got, first);
		}
		for (size_t p = 0; p < COUNT(pieces); p++) pm_arena_free(&arenas[p]);
	}
}

/* A few such bytes around what was read need no word; many do. */
static void test_some_noise(void **state)
{
	(void)state;
	static char text[30000];
	for (int many = 0; many < 2; many++)
		for (size_t piece = 500; piece <= 40000; piece += 39500) {
			struct pm_arena arena;
			enum source_kind kind;
			size_t length = many ? 20000 : 40;
			pm_arena_init(&arena);
			for (size_t i = 0; i < length; i++) text[i] = i % 100 == 99 ? '\n' : '\x01';
			memcpy(text + length, "\nport1 00-00-5E-00-53-01\n", 26);
			const char *got = read_split(text, length + 25, 0, piece, SOURCE_AUTO, &kind, &arena);
			assert_string_equal(got, many ? "202 port1 00-00-5E-00-53-01\n1:1 bytes that are no text, 19800 in all: \n" : "2 port1 00-00-5E-00-53-01\n");
			pm_arena_free(&arena);
		}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_orders), cmocka_unit_test(test_long), cmocka_unit_test(test_joined),
		cmocka_unit_test(test_parts), cmocka_unit_test(test_noise), cmocka_unit_test(test_some_noise),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
