/* Zones read from TZif bytes: instants, wall times, hostile bytes, and no memory.
 * The arena is compiled in with a malloc that can be told to fail. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static size_t asked, fail_at;

static void *counting_malloc(size_t size)
{
	return ++asked == fail_at ? NULL : malloc(size);
}

#define malloc counting_malloc
#include "core/arena.c"
#undef malloc

#include "portmuster/zone.h"
#include "zone_bytes.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define AREA "Area/Place"

static struct pm_arena arena;

static int64_t at(const char *time)
{
	struct pm_when when;
	if (!pm_when_read(time, &when, NULL))
		fail_msg("%s is no time", time);
	return when.second;
}

static int64_t wall(const char *time)
{
	int64_t second;
	if (!pm_wall_read(time, &second, NULL))
		fail_msg("%s is no wall time", time);
	return second;
}

static bool read_bytes(const struct zone_bytes *z, struct pm_zone *zone, struct pm_fault *fault)
{
	/* a copy of the very size: a read beyond it is seen by the sanitizer */
	unsigned char *copy = malloc(z->length ? z->length : 1);
	assert_non_null(copy);
	memcpy(copy, z->byte, z->length);
	bool good = pm_zone_read(zone, AREA, copy, z->length, &arena, fault);
	free(copy);
	return good;
}

static struct pm_zone zone_of(const struct zone_bytes *z)
{
	struct pm_zone zone;
	struct pm_fault fault = { 0 };
	if (!read_bytes(z, &zone, &fault))
		fail_msg("refused: %s", fault.message);
	return zone;
}

static struct pm_zone by_footer(const char *footer)
{
	struct zone_bytes z;
	zone_put_footer(&z, footer);
	return zone_of(&z);
}

static void refuse(const struct zone_bytes *z, const char *why)
{
	struct pm_zone zone;
	struct pm_fault fault = { 0 };
	if (read_bytes(z, &zone, &fault))
		fail_msg("accepted, though: %s", why);
	assert_int_equal(fault.kind, PM_FAULT_SYNTAX);
	if (!strstr(fault.message, why))
		fail_msg("refused as \"%s\", not as: %s", fault.message, why);
	assert_non_null(strstr(fault.message, AREA));
	assert_int_equal(zone.kind_count, 0);
}

/* --- instants --- */

static void test_instants(void **state)
{
	(void)state;
	static const struct { const char *footer, *at, *abbreviation; int32_t offset; bool summer; } cases[] = {
		/* EST5EDT 2026: changes on 8 March and 1 November */
		{ ZONE_EST_EDT, "2026-03-08T06:59:59Z", "EST", -18000, false },
		{ ZONE_EST_EDT, "2026-03-08T07:00:00Z", "EDT", -14400, true },
		{ ZONE_EST_EDT, "2026-11-01T05:59:59Z", "EDT", -14400, true },
		{ ZONE_EST_EDT, "2026-11-01T06:00:00Z", "EST", -18000, false },
		{ ZONE_EST_EDT, "2026-01-01T00:00:00Z", "EST", -18000, false },
		{ ZONE_EST_EDT, "2025-12-31T23:59:59Z", "EST", -18000, false },
		{ ZONE_0545, "2026-01-15T03:15:00Z", "+0545", 20700, false },
		/* of the south: summer at the turn of the year; changes at 14:00 UTC */
		{ ZONE_1245, "2026-01-14T19:15:00Z", "+1345", 49500, true },
		{ ZONE_1245, "2026-04-04T13:59:59Z", "+1345", 49500, true },
		{ ZONE_1245, "2026-04-04T14:00:00Z", "+1245", 45900, false },
		{ ZONE_1245, "2026-09-26T13:59:59Z", "+1245", 45900, false },
		{ ZONE_1245, "2026-09-26T14:00:00Z", "+1345", 49500, true },
		{ ZONE_CET, "2026-03-29T00:59:59Z", "CET", 3600, false },
		{ ZONE_CET, "2026-03-29T01:00:00Z", "CEST", 7200, true },
		{ ZONE_CET, "2026-10-25T00:59:59Z", "CEST", 7200, true },
		{ ZONE_CET, "2026-10-25T01:00:00Z", "CET", 3600, false },
		{ ZONE_IST_GMT, "2026-07-01T00:00:00Z", "IST", 3600, false },
		{ ZONE_IST_GMT, "2026-12-01T00:00:00Z", "GMT", 0, true },
		/* 01:00 UTC on the last Sunday of March is 23:00 the evening before at -2 */
		{ ZONE_MINUS_2, "2026-03-29T00:59:59Z", "-02", -7200, false },
		{ ZONE_MINUS_2, "2026-03-29T01:00:00Z", "-01", -3600, true },
		/* summer time all year, as RFC 9636 section 3.3 writes it */
		{ "XXX3EDT4,0/0,J365/23", "2026-01-01T02:59:59Z", "EDT", -14400, true },
		{ "XXX3EDT4,0/0,J365/23", "2026-01-01T03:00:00Z", "EDT", -14400, true },
		{ "XXX3EDT4,0/0,J365/23", "2026-07-01T00:00:00Z", "EDT", -14400, true },
		/* Jn passes over 29 February, n does not: in 2028 day 59 is that day, J60 is 1 March */
		{ "AAA0BBB,J60/0,J300/0", "2028-02-29T23:59:59Z", "AAA", 0, false },
		{ "AAA0BBB,J60/0,J300/0", "2028-03-01T00:00:00Z", "BBB", 3600, true },
		{ "AAA0BBB,59/0,J300/0", "2028-02-28T23:59:59Z", "AAA", 0, false },
		{ "AAA0BBB,59/0,J300/0", "2028-02-29T00:00:00Z", "BBB", 3600, true },
		{ "AAA0BBB,59/0,J300/0", "2027-02-28T23:59:59Z", "AAA", 0, false },
		{ "AAA0BBB,59/0,J300/0", "2027-03-01T00:00:00Z", "BBB", 3600, true },
		/* a week that the month has not: the last one (POSIX: week 5) */
		{ "AAA0BBB,M2.5.0/0,M8.5.3/0", "2026-02-22T00:00:00Z", "BBB", 3600, true },
		{ "AAA0BBB,M2.5.0/0,M8.5.3/0", "2026-02-21T23:59:59Z", "AAA", 0, false },
		{ "AAA0BBB,M2.5.0/0,M8.5.3/1", "2026-08-26T00:00:00Z", "AAA", 0, false },
		/* a time of nearly a week */
		{ "AAA0BBB,M3.1.0/-167,M10.1.0/167", "2026-02-22T01:00:00Z", "BBB", 3600, true },
		{ "AAA0BBB,M3.1.0/-167,M10.1.0/167", "2026-02-22T00:59:59Z", "AAA", 0, false },
		{ "<+1:2>0", "2026-02-22T00:59:59Z", NULL, 0, false },
		{ "EST5EDT4:30:15,M3.2.0,M11.1.0", "2026-07-01T00:00:00Z", "EDT", -16215, true },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct zone_bytes z;
		if (!cases[i].abbreviation) {
			zone_put_footer(&z, cases[i].footer);
			refuse(&z, "no TZ string");
			continue;
		}
		struct pm_zone zone = by_footer(cases[i].footer);
		struct pm_zone_time time = pm_zone_at(&zone, at(cases[i].at));
		if (time.offset != cases[i].offset || time.summer != cases[i].summer ||
		    strcmp(time.abbreviation, cases[i].abbreviation) != 0)
			fail_msg("%s at %s: %d %s", cases[i].footer, cases[i].at, time.offset, time.abbreviation);
	}
}

/* EST5EDT from 1967 to 1968 by a table alone, as version 1 and as version 2. */
static const int64_t changes[] = { -84387600, -68666400, -52938000, -37216800 };
static const unsigned char change_to[] = { 1, 0, 1, 0 };
static const struct zone_kind kinds[] = { { -18000, 0, 0 }, { -14400, 1, 4 } };
#define OLD_RULES "EST5EDT,M4.5.0,M10.5.0"
static const struct zone_block table = { changes, change_to, 4, kinds, 2, "EST.EDT.", 0 };

static void test_table(void **state)
{
	(void)state;
	struct zone_bytes z[3] = { { .length = 0 } };
	zone_put_block(&z[0], '\0', 4, &table);
	zone_put_file(&z[1], &table, "");
	zone_put_file(&z[2], &table, OLD_RULES);
	for (int i = 0; i < 3; i++) {
		struct pm_zone zone = zone_of(&z[i]);
		assert_string_equal(zone.name, AREA);
		assert_int_equal(pm_zone_at(&zone, INT64_MIN).offset, -18000);
		for (int k = 0; k < 4; k++) {
			assert_int_equal(pm_zone_at(&zone, changes[k]).offset, kinds[change_to[k]].offset);
			assert_int_equal(pm_zone_at(&zone, changes[k] - 1).offset, kinds[!change_to[k]].offset);
		}
		/* what the last change began goes on, unless a footer knows more */
		assert_int_equal(pm_zone_at(&zone, at("2026-07-01T00:00:00Z")).offset, i == 2 ? -14400 : -18000);
	}
}

static void test_far(void **state)
{
	(void)state;
	struct pm_zone zone = by_footer(ZONE_1245);
	const int64_t far[] = { INT64_MIN, INT64_MIN + 1, -((int64_t)1 << 59), (int64_t)1 << 59, INT64_MAX - 1, INT64_MAX };
	for (size_t i = 0; i < COUNT(far); i++) {
		int32_t offset = pm_zone_at(&zone, far[i]).offset;
		assert_true(offset == 45900 || offset == 49500);
		assert_true(pm_zone_wall(&zone, far[i]).count <= 2);
	}
}

static void test_as_times(void **state)
{
	(void)state;
	char text[PM_WHEN_TEXT];
	struct pm_zone zone = by_footer(ZONE_0545);
	assert_string_equal(pm_when_write(pm_zone_when(&zone, at("2026-01-15T03:15:00Z")), text), "2026-01-15T09:00:00+05:45");
	/* RFC 3339 has whole minutes: local mean time is written in UTC */
	zone = by_footer("LMT4:56:02");
	assert_string_equal(pm_when_write(pm_zone_when(&zone, at("2026-01-15T03:15:00Z")), text), "2026-01-15T03:15:00Z");
}

/* --- wall times --- */

static void test_walls(void **state)
{
	(void)state;
	static const struct { const char *footer, *wall; unsigned count; const char *first, *second; } cases[] = {
		/* the check values: RFC 5545 section 3.3.5 for the first two */
		{ ZONE_EST_EDT, "2026-03-08 02:30", 0, "2026-03-08T07:30:00Z", NULL },
		{ ZONE_EST_EDT, "2026-11-01 01:30", 2, "2026-11-01T05:30:00Z", "2026-11-01T06:30:00Z" },
		{ ZONE_0545, "2026-01-15 09:00", 1, "2026-01-15T03:15:00Z", NULL },
		{ ZONE_1245, "2026-01-15 09:00", 1, "2026-01-14T19:15:00Z", NULL },
		/* the edges: a gap begins at its first minute and ends before the next hour */
		{ ZONE_EST_EDT, "2026-03-08 01:59:59", 1, "2026-03-08T06:59:59Z", NULL },
		{ ZONE_EST_EDT, "2026-03-08 02:00", 0, "2026-03-08T07:00:00Z", NULL },
		{ ZONE_EST_EDT, "2026-03-08 02:59:59", 0, "2026-03-08T07:59:59Z", NULL },
		{ ZONE_EST_EDT, "2026-03-08 03:00", 1, "2026-03-08T07:00:00Z", NULL },
		{ ZONE_EST_EDT, "2026-11-01 00:59:59", 1, "2026-11-01T04:59:59Z", NULL },
		{ ZONE_EST_EDT, "2026-11-01 01:00", 2, "2026-11-01T05:00:00Z", "2026-11-01T06:00:00Z" },
		{ ZONE_EST_EDT, "2026-11-01 01:59:59", 2, "2026-11-01T05:59:59Z", "2026-11-01T06:59:59Z" },
		{ ZONE_EST_EDT, "2026-11-01 02:00", 1, "2026-11-01T07:00:00Z", NULL },
		{ ZONE_1245, "2026-09-27 02:45", 0, "2026-09-26T14:00:00Z", NULL },
		{ ZONE_1245, "2026-04-05 03:00", 2, "2026-04-04T13:15:00Z", "2026-04-04T14:15:00Z" },
		{ ZONE_IST_GMT, "2026-03-29 01:30", 0, "2026-03-29T01:30:00Z", NULL },
		{ ZONE_IST_GMT, "2026-10-25 01:30", 2, "2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z" },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_zone zone = by_footer(cases[i].footer);
		struct pm_wall found = pm_zone_wall(&zone, wall(cases[i].wall));
		if (found.count != cases[i].count || found.second[0] != at(cases[i].first) ||
		    (found.count == 2 && found.second[1] != at(cases[i].second)))
			fail_msg("%s: %u, %lld, %lld", cases[i].wall, found.count, (long long)found.second[0], (long long)found.second[1]);
	}
	struct pm_zone zone = by_footer(ZONE_EST_EDT);
	struct pm_wall gap = pm_zone_wall(&zone, wall("2026-03-08 02:30"));
	assert_int_equal(gap.from, wall("2026-03-08 02:00"));
	assert_int_equal(gap.to, wall("2026-03-08 03:00"));
}

/* A whole day that was left out, as tzdata has 2011-12-30 of one zone. */
static void test_day_left_out(void **state)
{
	(void)state;
	static const int64_t change[] = { 1325239200 };
	static const unsigned char to[] = { 1 };
	static const struct zone_kind kind[] = { { -36000, 1, 0 }, { 50400, 1, 4 } };
	struct zone_bytes z;
	zone_put_file(&z, &(struct zone_block){ change, to, 1, kind, 2, "-10.+14.", 0 }, "");
	struct pm_zone zone = zone_of(&z);
	assert_int_equal(change[0], at("2011-12-30T10:00:00Z"));
	struct pm_wall gap = pm_zone_wall(&zone, wall("2011-12-30 12:00"));
	assert_int_equal(gap.count, 0);
	assert_int_equal(gap.second[0], at("2011-12-30T22:00:00Z"));
	assert_int_equal(gap.from, wall("2011-12-30 00:00"));
	assert_int_equal(gap.to, wall("2011-12-31 00:00"));
	assert_int_equal(pm_zone_wall(&zone, wall("2011-12-29 23:59:59")).second[0], change[0] - 1);
	assert_int_equal(pm_zone_wall(&zone, wall("2011-12-31 00:00")).second[0], change[0]);
}

static void test_wall_text(void **state)
{
	(void)state;
	int64_t second = 7;
	const char *why = NULL;
	assert_true(pm_wall_read("2026-10-13 09:00", &second, &why));
	assert_int_equal(second, at("2026-10-13T09:00:00Z"));
	assert_true(pm_wall_read("2026-10-13T09:00:05", &second, &why));
	assert_int_equal(second, at("2026-10-13T09:00:05Z"));
	second = 7;
	static const char *const bad[] = {
		"", "2026-10-13", "2026-10-13 9:00", "2026-10-13 09:00Z", "2026-10-13 24:00", "2026-02-29 09:00", "2026-10-13 09:00:5",
		"2026-10-13 09:00+0", "2026-10-13 09:00:00Z", "2026-10-13  09:0", " 2026-10-13 09:0", "2026-10-13 09:00:00.5", NULL,
	};
	for (size_t i = 0; i < COUNT(bad); i++) {
		why = NULL;
		assert_false(pm_wall_read(bad[i], &second, &why));
		assert_non_null(why);
		assert_int_equal(second, 7);
	}
	assert_false(pm_wall_read("nothing", &second, NULL));
}

/* --- hostile bytes --- */

#define HEADER 44
#define COUNTS 20   /* where the six counts stand in a header */
#define FIRST 51    /* bytes of the empty 32-bit block with its header */

static void test_refused(void **state)
{
	(void)state;
	struct zone_bytes z, good;
	zone_put_file(&good, &table, OLD_RULES);
	zone_of(&good);
	const struct { size_t at; unsigned char byte; const char *why; } bytes[] = {
		{ 0, 'X', "no TZif header" }, { 3, 'F', "no TZif header" }, { 4, '1', "version" }, { 4, 'A', "version" },
		{ FIRST, 'X', "no TZif header" }, { FIRST + 4, '3', "two headers" },
		{ COUNTS + 12, 0xFF, "ends within its data" },              /* changes of the first block */
		{ FIRST + COUNTS + 12, 0xFF, "ends within its data" },      /* and of the second */
		{ FIRST + COUNTS, 0xFF, "ends within its data" }, { FIRST + COUNTS + 4, 0xFF, "ends within its data" },
		{ FIRST + COUNTS + 8, 0xFF, "ends within its data" }, { FIRST + COUNTS + 16, 0xFF, "ends within its data" },
		{ FIRST + COUNTS + 20, 0xFF, "ends within its data" },
		{ FIRST + COUNTS + 19, 0, "no kinds" },
		{ FIRST + COUNTS + 3, 1, "marks that do not match" }, { FIRST + COUNTS + 7, 1, "marks that do not match" },
		{ FIRST + HEADER, 0x80, "further than" }, { FIRST + HEADER, 0x08, "further than" },
		{ FIRST + HEADER + 8, 0xF8, "do not ascend" },
		{ FIRST + HEADER + 32, 2, "a kind of time that it lacks" },
		{ FIRST + HEADER + 36, 0x7F, "beyond a day" }, { FIRST + HEADER + 37, 0x00, "beyond a day" },
		{ FIRST + HEADER + 40, 2, "summer time mark" },
		{ FIRST + HEADER + 41, 3, "abbreviation" }, { FIRST + HEADER + 41, 8, "abbreviation" }, { FIRST + HEADER + 41, 255, "abbreviation" },
		{ FIRST + HEADER + 48, ' ', "abbreviation" }, { FIRST + HEADER + 48, 0x1B, "abbreviation" },
		{ FIRST + HEADER + 55, 'X', "abbreviation" },               /* the last one without its end */
		{ FIRST + HEADER + 56, 'X', "no footer" },
		{ (size_t)good.length - 1, 'X', "no footer" },
	};
	for (size_t i = 0; i < COUNT(bytes); i++) {
		z = good;
		z.byte[bytes[i].at] = bytes[i].byte;
		refuse(&z, bytes[i].why);
	}
	/* two changes at one instant */
	z = good;
	memcpy(z.byte + FIRST + HEADER + 8, z.byte + FIRST + HEADER, 8);
	refuse(&z, "do not ascend");
	z = good;
	z.byte[z.length++] = '\n';
	refuse(&z, "something after the footer");
	zone_put_file(&z, &table, "EST6EDT,M4.5.0,M10.5.0");
	refuse(&z, "contradicts");
	zone_put_file(&z, &table, ZONE_EST_EDT);   /* summer time until November */
	refuse(&z, "contradicts");
	struct zone_block leap = table;
	leap.leaps = 1;
	zone_put_file(&z, &leap, OLD_RULES);
	refuse(&z, "leap seconds");
	z.length = 0;
	zone_put_block(&z, '\0', 4, &leap);
	refuse(&z, "leap seconds");
	z.length = 0;
	zone_put_block(&z, '\0', 4, &table);
	z.byte[z.length++] = 0;
	refuse(&z, "something after the data");
}

static void test_footers_refused(void **state)
{
	(void)state;
	static const char *const bad[] = {
		"EST", "ES5", "5", "EST5EDT", "EST5EDT,", "EST5EDT,M3.2.0", "EST5EDT,M3.2.0,", "EST5EDT,M3.2.0,M11.1.0,", "EST25", "EST5:60",
		"EST5:00:60", "EST-", "EST+-5", "<EST5", "<>5", "<E T>5", "EST5 ", " EST5", "EST5EDT,M13.2.0,M11.1.0", "EST5EDT,M0.2.0,M11.1.0",
		"EST5EDT,M3.6.0,M11.1.0", "EST5EDT,M3.0.0,M11.1.0", "EST5EDT,M3.2.7,M11.1.0", "EST5EDT,J0,J365", "EST5EDT,J366,J1",
		"EST5EDT,366,1", "EST5EDT,M3.2.0/168,M11.1.0", "EST5EDT,M3.2.0/,M11.1.0", "EST5EDT,M3.2,M11.1.0", "EST5ED,M3.2.0,M11.1.0",
		"EST5EDT4,", "EST5EDT4M3.2.0,M11.1.0", "EST00005", "ABCDEFGHIJKLMNOPQRSTUVWXYZABCDEF5", "EST5:", "EST5:0:", "/etc/localtime", ":UTC",
	};
	for (size_t i = 0; i < COUNT(bad); i++) {
		struct zone_bytes z;
		zone_put_footer(&z, bad[i]);
		refuse(&z, "no TZ string");
	}
}

/* Every shorter file is refused, and every flipped bit is read within its bounds. */
static void test_mangled(void **state)
{
	(void)state;
	struct zone_bytes files[3] = { { .length = 0 } };
	zone_put_file(&files[0], &table, OLD_RULES);
	zone_put_block(&files[1], '\0', 4, &table);
	zone_put_footer(&files[2], ZONE_1245);
	size_t refused = 0;
	for (size_t f = 0; f < 3; f++) {
		for (size_t length = 0; length < files[f].length; length++) {
			struct zone_bytes z = files[f];
			z.length = length;
			refuse(&z, "");
		}
		for (size_t bit = 0; bit < files[f].length * 8; bit++) {
			struct zone_bytes z = files[f];
			struct pm_zone zone;
			struct pm_fault fault = { 0 };
			z.byte[bit / 8] ^= (unsigned char)(1u << bit % 8);
			if (!read_bytes(&z, &zone, &fault)) {
				refused++;
				continue;
			}
			int64_t second = at("2026-03-08T07:30:00Z");
			struct pm_wall found = pm_zone_wall(&zone, second + pm_zone_at(&zone, second).offset);
			assert_true(found.count == 1 ? found.second[0] == second
			                             : found.count == 2 && found.second[0] <= second && second <= found.second[1]);
		}
		pm_arena_free(&arena);
	}
	assert_true(refused > 500);
}

static void test_too_large(void **state)
{
	(void)state;
	struct pm_zone zone;
	struct pm_fault fault;
	char *bytes = calloc(1, PM_ZONE_MOST_BYTES + 1);
	assert_non_null(bytes);
	assert_false(pm_zone_read(&zone, "x\x1B[2J", bytes, PM_ZONE_MOST_BYTES + 1, &arena, &fault));
	assert_non_null(strstr(fault.message, "too large"));
	/* a name from outside is shown, not obeyed */
	assert_null(strchr(fault.message, 0x1B));
	free(bytes);
}

static void test_memory(void **state)
{
	(void)state;
	struct zone_bytes z;
	size_t tried = 0, failed = 0;
	zone_put_file(&z, &table, OLD_RULES);
	/* an arena asks for a block now and then: one that is full asks at once */
	for (size_t before = 0; before < 5000; before += 8)
		for (fail_at = 1; fail_at < 4; fail_at++) {
			struct pm_zone zone;
			struct pm_fault fault = { 0 };
			pm_arena_free(&arena);
			asked = 0;
			if (before && !pm_arena_alloc(&arena, before))
				continue;
			tried++;
			if (read_bytes(&z, &zone, &fault)) {
				assert_string_equal(zone.summer.abbreviation, "EDT");
				assert_string_equal(zone.kind[1].abbreviation, "EDT");
				continue;
			}
			failed++;
			assert_int_equal(fault.kind, PM_FAULT_MEMORY);
			assert_null(zone.kind);
		}
	fail_at = 0;
	assert_true(failed > 10 && tried > failed);
	pm_arena_free(&arena);
}

static int begin(void **state)
{
	(void)state;
	pm_arena_init(&arena);
	return 0;
}

static int end(void **state)
{
	(void)state;
	pm_arena_free(&arena);
	return 0;
}

int main(void)
{
#define CASE(name) cmocka_unit_test_setup_teardown(name, begin, end)
	const struct CMUnitTest tests[] = {
		CASE(test_instants), CASE(test_table), CASE(test_far), CASE(test_as_times), CASE(test_walls), CASE(test_day_left_out),
		CASE(test_wall_text), CASE(test_refused), CASE(test_footers_refused), CASE(test_mangled),
		CASE(test_too_large), CASE(test_memory),
	};
	return cmocka_run_group_tests_name("zones", tests, NULL, NULL);
}
