#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/range.h"

/* `name` is a part of the name that the row must have; null: no row. */
static const struct {
	const char *address;
	enum pm_range_kind kind;
	const char *name;
	const char *source;
} cases[] = {
	{ "00-00-5E-00-53-00", PM_RANGE_DOCUMENTATION, "documentation", "RFC 9542 2.1.4" },
	{ "00-00-5E-00-53-FF", PM_RANGE_DOCUMENTATION, "documentation", "RFC 9542 2.1.4" },
	{ "00-00-5E-00-52-FF", PM_RANGE_NULL, NULL, "RFC 9542 2.1.4, one below" },
	{ "00-00-5E-00-54-00", PM_RANGE_NULL, NULL, "RFC 9542 2.1.4, one above" },
	{ "01-00-5E-90-10-00", PM_RANGE_DOCUMENTATION, "documentation multicast", "RFC 9542 2.1.4" },
	{ "01-00-5E-90-10-FF", PM_RANGE_DOCUMENTATION, "documentation multicast", "RFC 9542 2.1.4" },
	{ "01-00-5E-90-0F-FF", PM_RANGE_NULL, NULL, "RFC 9542 2.1.4, one below" },
	{ "01-00-5E-90-11-00", PM_RANGE_NULL, NULL, "RFC 9542 2.1.4, one above" },
	{ "00-00-5E-00-01-01", PM_RANGE_RESERVED, "VRRP IPv4 virtual router", "RFC 9568 7.3" },
	{ "00-00-5E-00-01-FF", PM_RANGE_RESERVED, "VRRP IPv4 virtual router", "RFC 9568 7.3" },
	{ "00-00-5E-00-02-01", PM_RANGE_RESERVED, "VRRP IPv6 virtual router", "RFC 9568 7.3" },
	{ "00-00-5E-00-02-FF", PM_RANGE_RESERVED, "VRRP IPv6 virtual router", "RFC 9568 7.3" },
	{ "00-00-5E-00-01-00", PM_RANGE_RESERVED, "VRID 0 is not valid", "RFC 9568 7.3" },
	{ "00-00-5E-00-02-00", PM_RANGE_RESERVED, "VRID 0 is not valid", "RFC 9568 7.3" },
	{ "00-00-5E-00-03-00", PM_RANGE_NULL, NULL, "RFC 9568 7.3, one above" },
	{ "00-00-5E-00-00-01", PM_RANGE_RESERVED, "IANA reserved", "RFC 9542" },
	{ "00-00-5D-FF-FF-FF", PM_RANGE_NULL, NULL, "RFC 9542, one below the block" },
	{ "01-00-5E-00-00-01", PM_RANGE_GROUP, "IPv4 multicast", "RFC 9542" },
	{ "01-00-5E-7F-FF-FF", PM_RANGE_GROUP, "IPv4 multicast", "RFC 9542" },
	{ "01-00-5E-80-00-00", PM_RANGE_GROUP, "MPLS multicast", "RFC 9542" },
	{ "01-00-5E-8F-FF-FF", PM_RANGE_GROUP, "MPLS multicast", "RFC 9542" },
	{ "01-00-5E-90-00-02", PM_RANGE_NULL, NULL, "RFC 9542, above the MPLS block" },
	{ "33-33-00-00-00-01", PM_RANGE_GROUP, "IPv6 multicast", "RFC 9542 2.3.1" },
	{ "33-33-FF-FF-FF-FF", PM_RANGE_GROUP, "IPv6 multicast", "RFC 9542 2.3.1" },
	{ "33-34-00-00-00-00", PM_RANGE_NULL, NULL, "RFC 9542 2.3.1, one above" },
	{ "01-80-C2-00-00-00", PM_RANGE_GROUP, "bridge", "IEEE 802.1Q, secondary source" },
	{ "01-80-C2-00-00-03", PM_RANGE_GROUP, "port access", "IEEE 802.1Q, secondary source" },
	{ "01-80-C2-00-00-0E", PM_RANGE_GROUP, "LLDP", "IEEE 802.1Q, secondary source" },
	{ "01-80-C2-00-00-0F", PM_RANGE_GROUP, "reserved group address", "IEEE 802.1Q, secondary source" },
	{ "01-80-C2-00-00-10", PM_RANGE_NULL, NULL, "IEEE 802.1Q, one above the sixteen" },
	{ "CF-00-00-00-00-00", PM_RANGE_RESERVED, "CF series", "RFC 7042" },
	{ "D0-00-00-00-00-00", PM_RANGE_NULL, NULL, "RFC 7042, one above the series" },
	{ "FF-FF-FF-FF-FF-FF", PM_RANGE_BROADCAST, "broadcast", "from memory" },
	{ "FF-FF-FF-FF-FF-FE", PM_RANGE_NULL, NULL, "from memory" },
	{ "00-00-00-00-00-00", PM_RANGE_NULL, "null address", "from memory" },
	{ "00-00-00-00-00-01", PM_RANGE_NULL, NULL, "from memory" },
	{ "02-00-00-00-00-01", PM_RANGE_NULL, NULL, "local, no named range" },
};

static void test_named_ranges(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct pm_eui48 address;
		assert_true(pm_eui48_parse(cases[i].address, &address));
		const struct pm_range *row = pm_range_find(&address);
		if (!cases[i].name) {
			if (row)
				fail_msg("%s: \"%s\" found, none expected (%s)", cases[i].address, row->name, cases[i].source);
			continue;
		}
		if (!row || !strstr(row->name, cases[i].name) || row->kind != cases[i].kind)
			fail_msg("%s: \"%s\" found, \"%s\" expected (%s)", cases[i].address,
			         row ? row->name : "nothing", cases[i].name, cases[i].source);
	}
}

/* The bits that a range's addresses have must fit what the range is said to be. */
static void test_table_is_sound(void **state)
{
	(void)state;
	size_t count;
	const struct pm_range *table = pm_range_table(&count);
	assert_true(count > 10);
	for (size_t i = 0; i < count; i++) {
		const struct pm_range *row = &table[i];
		assert_true(row->first <= row->last);
		assert_true(row->last <= 0xFFFFFFFFFFFF);
		assert_true(row->name[0] && row->source[0]);
		struct pm_eui48 first = pm_eui48_from(row->first), last = pm_eui48_from(row->last);
		if (row->kind == PM_RANGE_GROUP || row->kind == PM_RANGE_BROADCAST) {
			assert_true(pm_eui48_is_group(&first));
			assert_true(pm_eui48_is_group(&last));
		}
		/* a row that another of the same span hides could never be found */
		for (size_t j = 0; j < i; j++)
			assert_false(table[j].first == row->first && table[j].last == row->last);
	}
}

/* Rows either nest or are apart: "the most specific" is then never a tie. */
static void test_rows_nest(void **state)
{
	(void)state;
	size_t count;
	const struct pm_range *table = pm_range_table(&count);
	for (size_t i = 0; i < count; i++)
		for (size_t j = 0; j < count; j++) {
			const struct pm_range *a = &table[i], *b = &table[j];
			bool apart = a->last < b->first || b->last < a->first;
			bool inside = a->first >= b->first && a->last <= b->last;
			bool around = b->first >= a->first && b->last <= a->last;
			assert_true(apart || inside || around);
		}
}

/* The virtual router's number is the last octet (RFC 9568 7.3). */
static void test_last_octet(void **state)
{
	(void)state;
	struct pm_eui48 address = pm_eui48_from(0x00005E000101);
	assert_string_equal(pm_range_find(&address)->last_octet, "VRID");
	address = pm_eui48_from(0x00005E0002FF);
	assert_string_equal(pm_range_find(&address)->last_octet, "VRID");
	address = pm_eui48_from(0x00005E000100);
	assert_null(pm_range_find(&address)->last_octet);
	address = pm_eui48_from(0x00005E005301);
	assert_null(pm_range_find(&address)->last_octet);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_named_ranges),
		cmocka_unit_test(test_table_is_sound),
		cmocka_unit_test(test_rows_nest),
		cmocka_unit_test(test_last_octet),
	};
	return cmocka_run_group_tests_name("named ranges", tests, NULL, NULL);
}
