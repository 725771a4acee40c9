/* Patterns of a gear profile: what they read, what the usual rules still read,
 * and near misses. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "capture/listing.h"
#include "listing_text.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

struct dialect_case {
	const char *what;
	const char *interface_line, *address_line, *serial_line;
	const char *log, *expected;
};

#define LEAF "^~~ .*leaf ([a-zA-Z0-9 ]+)$"
#define TRUE_NAME "^ +true name +(.*)$"
#define PLATE "^plate ([^ ]+) of"

/* A listing of an invented gear that hides its addresses among others. */
#define HIDDEN \
	"plate EG12-26-00417 of 1999\n~~ gate one, leaf port1\n   pale 00-00-5E-00-53-81\n   true name 0000.5e00.5301\n" \
	"~~ gate two, leaf Port 2\n   pale 00-00-5E-00-53-82\n   true name 0000.5e00.5302\n"

static const struct dialect_case cases[] = {
	{ "without patterns nothing tells which address is whose", NULL, NULL, NULL, HIDDEN, "" },
	{ "all three", LEAF, TRUE_NAME, PLATE, HIDDEN,
	  "4 port1 00-00-5E-00-53-01\n7 port2 00-00-5E-00-53-02\n1 serial EG12-26-00417\n" },
	{ "names only: the usual rules read the addresses below", LEAF, NULL, NULL,
	  "~~ gate one, leaf port1\n   hardware address 00-00-5E-00-53-01\n   peer 00-00-5E-00-53-99\n~~ leaf port2\n   00-00-5E-00-53-02\n",
	  "2 port1 00-00-5E-00-53-01\n5 port2 00-00-5E-00-53-02\n" },
	{ "names only, the address in the same line", "^[0-9]+\\) ([a-z0-9]+) =", NULL, NULL,
	  "17) port1 = up 00-00-5E-00-53-01 yes\n18) mgmt = down 00-00-5E-00-53-00 no\n",
	  "1 port1 00-00-5E-00-53-01\n2 mgmt 00-00-5E-00-53-00\n" },
	{ "names and addresses in one line", "^[0-9]+\\) ([a-z0-9]+) =", "= ([^ ]+) /", NULL,
	  "17) port1 = 00-00-5E-00-53-01 / mac 00-00-5E-00-53-99\n18) mgmt = 00-00-5E-00-53-00 / mac 00-00-5E-00-53-98\n",
	  "1 port1 00-00-5E-00-53-01\n2 mgmt 00-00-5E-00-53-00\n" },
	{ "addresses only: the usual rules find the names", NULL, TRUE_NAME, NULL,
	  "port1 is up\n   hardware address 00-00-5E-00-53-81\n   true name 00-00-5E-00-53-01\nport2 is up\n   hardware address 00-00-5E-00-53-02\n",
	  "3 port1 00-00-5E-00-53-01\n5 port2 00-00-5E-00-53-02\n" },
	{ "what the usual rules take for a name is none", LEAF, TRUE_NAME, NULL,
	  "~~ leaf port1\n   port9 faces north\n      colour red\n   true name 00-00-5E-00-53-01\n", "4 port1 00-00-5E-00-53-01\n" },
	{ "an address without an interface", LEAF, TRUE_NAME, NULL,
	  "   true name 00-00-5E-00-53-01\n", "1:14 an address of an interface without a name: 00-00-5E-00-53-01\n" },
	{ "behind a prompt", LEAF, TRUE_NAME, NULL,
	  "~~ leaf port1\neg12> badge\n   true name 00-00-5E-00-53-F0\n", "3:14 an address of an interface without a name: 00-00-5E-00-53-F0\n" },
	{ "of the unit as a whole", LEAF, TRUE_NAME, NULL,
	  "~~ leaf port1\n   true name none\n\nThe chassis\n   true name 00-00-5E-00-53-F0\n",
	  "5:14 an address of an interface without a name: 00-00-5E-00-53-F0\n" },
	{ "a blank line within", LEAF, TRUE_NAME, NULL, "~~ leaf port1\n\n   true name 00-00-5E-00-53-01\n", "3 port1 00-00-5E-00-53-01\n" },
	{ "malformed, and none", LEAF, TRUE_NAME, NULL,
	  "~~ leaf port1\n   true name 00-00-5E-00-53-0O\n~~ leaf port2\n   true name none\n~~ leaf port3\n   true name AA-BB-CC-DD-EE\n",
	  "2:30 a letter that is no hex digit but looks like one: 00-00-5E-00-53-0O\n"
	  "6:28 digits are missing: an address has 12: AA-BB-CC-DD-EE\n" },
	{ "another address, and the same again", LEAF, TRUE_NAME, NULL,
	  "~~ leaf port1\n   true name 00-00-5E-00-53-01\n~~ leaf port1\n   true name 00:00:5e:00:53:01\n~~ leaf PO 01\n   true name 00-00-5E-00-53-10\n",
	  "2 port1 00-00-5E-00-53-01\n6 port1 00-00-5E-00-53-10\n6:14 another address for port1 than on line 2: 00-00-5E-00-53-10\n" },
	{ "names cut short, and strangers", LEAF, TRUE_NAME, NULL,
	  "~~ leaf PO07\n   true name 00-00-5E-00-53-07\n~~ leaf M\n   true name 00-00-5E-00-53-00\n~~ leaf port13\n   true name 00-00-5E-00-53-0D\n",
	  "2 port7 00-00-5E-00-53-07\n4 mgmt 00-00-5E-00-53-00\n6 port13? 00-00-5E-00-53-0D\n" },
	{ "lines like a prompt and like a log", "^(port[0-9]+)# ", "^12:30:05 (.*)$", NULL,
	  "port1# up\n12:30:05 00-00-5E-00-53-01\n", "2 port1 00-00-5E-00-53-01\n" },
	{ "an interface among others' addresses", LEAF, TRUE_NAME, NULL,
	  "~~ leaf port1\n   true name 00-00-5E-00-53-01\nNeighbours:\n  port3 00-00-5E-00-53-99\n  ~~ none\n~~ leaf port2\n   true name 00-00-5E-00-53-02\n",
	  "2 port1 00-00-5E-00-53-01\n7 port2 00-00-5E-00-53-02\n" },
	{ "the same, names only", LEAF, NULL, NULL,
	  "Neighbours:\n  port3 00-00-5E-00-53-99\n~~ leaf port2\n   00-00-5E-00-53-02\n", "4 port2 00-00-5E-00-53-02\n" },
	{ "a serial number of one's own, and the usual one elsewhere", NULL, NULL, PLATE,
	  "plate 00417 of serial number 99999\n", "1 serial 00417\n" },
	{ "a group that took nothing", "^~~ leaf ?([a-z0-9]*)$", "^ +true name ?(.*)$", "^plate ?(x)?",
	  "~~ leaf\n   true name\nplate\nport1 00-00-5E-00-53-01\n", "4 port1 00-00-5E-00-53-01\n" },
	{ "no expression, and one without a group, count as not given", "^~~ leaf (", "^ +true name .*$", "[", "port1 00-00-5E-00-53-01\n",
	  "1 port1 00-00-5E-00-53-01\n" },
	{ "a name in a line like a heading", "^(mgmt)  ", NULL, NULL,
	  "mgmt  link name  hardware address\n   00-00-5E-00-53-00\n", "2 mgmt 00-00-5E-00-53-00\n" },
	/* 80 columns */
	{ "a full line before a name is not joined with it", "^([0-9]+) leaf$", TRUE_NAME, NULL,
	  "0 leaf\n   true name 00-00-5E-00-53-F0\n   remark ..................................................... 00-00-5E-00-53-0\n"
	  "1 leaf\n   true name 00-00-5E-00-53-F1\n",
	  "2 0? 00-00-5E-00-53-F0\n5 1? 00-00-5E-00-53-F1\n" },
	{ "an address broken at the terminal's width", LEAF, "^ +true name \\.* ?(.*)$", NULL,
	  "~~ leaf port1\n   true name ................................................... 00-00-5E-00-5\n3-01\n",
	  "2 port1 00-00-5E-00-53-01\n" },
};

static const char *read_split(const struct dialect_case *c, size_t split, size_t piece, struct pm_arena *arena)
{
	struct listing listing;
	struct pm_gear gear = roster_gear();
	size_t length = strlen(c->log);
	gear.console.interface_line = (struct pm_word){ c->interface_line, 1, 1 };
	gear.console.address_line = (struct pm_word){ c->address_line, 1, 1 };
	gear.console.serial_line = (struct pm_word){ c->serial_line, 1, 1 };
	struct listing_reader *reader = listing_begin(&listing, &gear, arena);
	assert_non_null(reader);
	assert_true(listing_feed(reader, c->log, split));
	for (size_t at = split; at < length; at += length - at < piece ? length - at : piece)
		assert_true(listing_feed(reader, c->log + at, length - at < piece ? length - at : piece));
	assert_true(listing_end(reader));
	assert_true(listing_is_sound(&listing, &gear));
	const char *text = listing_text(&listing, true, arena);
	assert_non_null(text);
	return text;
}

static void test_cases(void **state)
{
	(void)state;
	size_t failed = 0;
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_arena arena;
		pm_arena_init(&arena);
		const char *got = read_split(&cases[i], 0, SIZE_MAX, &arena);
		if (strcmp(got, cases[i].expected) != 0) {
			print_error("%s:\n%sexpected:\n%s\n", cases[i].what, got, cases[i].expected);
			failed++;
		}
		pm_arena_free(&arena);
	}
	assert_int_equal(failed, 0);
}

static void test_splits(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(cases); i++) {
		for (size_t split = 0; split <= strlen(cases[i].log); split++) {
			struct pm_arena arena;
			pm_arena_init(&arena);
			assert_string_equal(read_split(&cases[i], split, SIZE_MAX, &arena), cases[i].expected);
			assert_string_equal(read_split(&cases[i], split, 1, &arena), cases[i].expected);
			pm_arena_free(&arena);
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_cases), cmocka_unit_test(test_splits) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
