/* Open listings: each is recognised and read, in pieces of any size, and what
 * is none is reported or left to the console's reader. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "capture/source.h"
#include "listing_shapes.h"
#include "source_read.h"
#include "source_shapes.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

static void test_shapes(void **state)
{
	(void)state;
	size_t failed = 0;
	for (size_t i = 0; i < COUNT(source_shapes); i++) {
		const struct source_shape *shape = &source_shapes[i];
		struct pm_arena arena;
		enum source_kind kind;
		pm_arena_init(&arena);
		const char *got = read_split(shape->text, strlen(shape->text), 0, SIZE_MAX, SOURCE_AUTO, &kind, &arena);
		if (kind != shape->kind || strcmp(got, shape->expected) != 0) {
			print_error("%s:\nas %s\n%sexpected as %s:\n%s\n", shape->what, source_word(kind), got,
			            source_word(shape->kind), shape->expected);
			failed++;
		}
		pm_arena_free(&arena);
	}
	assert_int_equal(failed, 0);
}

/* However the bytes come in pieces, the listing is the same. */
static void test_splits(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(source_shapes); i++) {
		const char *text = source_shapes[i].text;
		size_t length = strlen(text);
		for (int given = 0; given < 2; given++) {
			enum source_kind kind, as = given ? source_shapes[i].kind : SOURCE_AUTO;
			for (size_t split = 0; split <= length; split++) {
				struct pm_arena arena;
				pm_arena_init(&arena);
				assert_string_equal(source_shapes[i].expected, read_split(text, length, split, SIZE_MAX, as, &kind, &arena));
				assert_int_equal(kind, source_shapes[i].kind);
				pm_arena_free(&arena);
			}
			struct pm_arena arena;
			pm_arena_init(&arena);
			assert_string_equal(source_shapes[i].expected, read_split(text, length, 0, 1, as, &kind, &arena));
			pm_arena_free(&arena);
		}
	}
}

/* Is the reading one of those, or its address under a name that the roster lacks? */
static bool is_among(const struct listing_reading *reading, const struct listing *whole)
{
	for (size_t i = 0; i < whole->count; i++)
		if (pm_eui48_compare(&whole->reading[i].address, &reading->address) == 0
		    && (reading->port == PM_NO_PORT || reading->port == whole->reading[i].port)) return true;
	return false;
}

static void read_cut(const char *text, size_t length, enum source_kind kind, struct pm_arena *arena, struct listing *listing)
{
	struct pm_gear gear = roster_gear();
	struct source *source = source_begin(listing, &gear, arena, kind);
	assert_non_null(source);
	assert_true(source_feed(source, text, length));
	assert_true(source_end(source, NULL));
}

/* Cut off anywhere, a listing never gives an address or a port that is not in it. */
static void test_cuts(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(source_shapes); i++) {
		const struct source_shape *shape = &source_shapes[i];
		if (shape->kind == SOURCE_CONSOLE) continue;
		struct pm_arena arena;
		struct listing whole, cut;
		pm_arena_init(&arena);
		read_cut(shape->text, strlen(shape->text), shape->kind, &arena, &whole);
		for (size_t length = 0; length < strlen(shape->text); length++) {
			read_cut(shape->text, length, shape->kind, &arena, &cut);
			for (size_t k = 0; k < cut.count; k++)
				if (!is_among(&cut.reading[k], &whole))
					fail_msg("%s, %zu bytes: %s", shape->what, length, listing_text(&cut, true, &arena));
		}
		pm_arena_free(&arena);
	}
}

static void test_words(void **state)
{
	(void)state;
	enum source_kind kind = SOURCE_AUTO;
	for (size_t i = 0; i < SOURCE_KINDS; i++) {
		assert_true(source_find(source_word((enum source_kind)i), &kind));
		assert_int_equal(kind, i);
		assert_true(source_title((enum source_kind)i)[0]);
	}
	assert_false(source_find("no such kind", &kind));
	assert_false(source_find("", &kind));
	assert_false(source_find("auto", &kind));
	assert_int_equal(kind, SOURCE_KINDS - 1);
}

/* --- console text stays console text ------------------------------------------------ */

static void test_console_shapes(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(shapes); i++) {
		struct pm_arena arena;
		enum source_kind kind;
		pm_arena_init(&arena);
		read_split(shapes[i].log, strlen(shapes[i].log), 0, SIZE_MAX, SOURCE_AUTO, &kind, &arena);
		if (kind != SOURCE_CONSOLE) fail_msg("%s: read as %s", shapes[i].what, source_word(kind));
		pm_arena_free(&arena);
	}
}

static void test_console_logs(void **state)
{
	(void)state;
	static const char *const logs[] = {
		"tests/unit/logs/harbour.log", "tests/unit/logs/meadow.log", "tests/unit/logs/narrow.log", "tests/unit/logs/orchard.log",
		"tests/unit/logs/torn.log", "data/demo/first-listing.log", "data/demo/second-listing.log",
	};
	static char bytes[65536];
	for (size_t i = 0; i < COUNT(logs); i++) {
		struct pm_arena arena;
		struct listing plain;
		struct pm_gear gear = roster_gear();
		enum source_kind kind;
		FILE *file = fopen(logs[i], "rb");
		if (!file) fail_msg("%s: not there; run from the top of the tree", logs[i]);
		size_t length = fread(bytes, 1, sizeof bytes, file);
		fclose(file);
		pm_arena_init(&arena);
		assert_true(listing_read(bytes, length, &gear, &arena, &plain));
		assert_true(plain.count > 0);
		assert_string_equal(listing_text(&plain, true, &arena), read_split(bytes, length, 100, 4000, SOURCE_AUTO, &kind, &arena));
		assert_int_equal(kind, SOURCE_CONSOLE);
		pm_arena_free(&arena);
	}
}

/* --- large and bad ------------------------------------------------------------------------ */

struct heap {
	char *bytes;
	size_t length, room;
};

static void put(struct heap *heap, const char *text, size_t length)
{
	if (heap->length + length > heap->room) {
		heap->room = (heap->length + length) * 2;
		heap->bytes = realloc(heap->bytes, heap->room);
		assert_non_null(heap->bytes);
	}
	memcpy(heap->bytes + heap->length, text, length);
	heap->length += length;
}

static void put_times(struct heap *heap, const char *text, size_t times)
{
	while (times--) put(heap, text, strlen(text));
}

/* Hand it over in pieces of 64 KiB; the arena stays small. */
static const char *read_heap(struct heap *heap, enum source_kind as, struct pm_arena *arena)
{
	pm_arena_init(arena);
	const char *got = read_split(heap->bytes, heap->length, 0, 65536, as, NULL, arena);
	assert_true(arena->bytes < 1 << 20);
	heap->length = 0;
	return got;
}

static void test_deep(void **state)
{
	(void)state;
	static const struct { enum source_kind kind; const char *head, *again, *expected; } cases[] = {
		{ SOURCE_YANG_JSON, "{\"ietf-interfaces:interfaces\":", "[", "1:542 nested too deeply: \n" },
		{ SOURCE_YANG_JSON, "{\"ietf-interfaces:interfaces\":{\"interface\":[", "{\"a\":", "1:2590 nested too deeply: \n" },
		{ SOURCE_IP_LINK_JSON, "", "[", "1:513 nested too deeply: \n" },
		{ SOURCE_YANG_XML, "<interfaces>", "<a>", "1:612 nested too deeply: \n" },
	};
	struct heap heap = { 0 };
	struct pm_arena arena;
	for (size_t i = 0; i < COUNT(cases); i++) {
		put_times(&heap, cases[i].head, 1);
		put_times(&heap, cases[i].again, 100000);
		assert_string_equal(read_heap(&heap, cases[i].kind, &arena), cases[i].expected);
		pm_arena_free(&arena);
	}
	free(heap.bytes);
}

/* Megabytes where a few bytes belong. */
static void test_long(void **state)
{
	(void)state;
	static const struct { enum source_kind kind; const char *head, *again, *tail, *expected; } cases[] = {
		{ SOURCE_YANG_JSON, "{\"ietf-interfaces:interfaces\":{\"interface\":[{\"name\":\"", "x",
		  "\"},{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53:01\"}]}}", "1 port1 00-00-5E-00-53-01\n1:45 too long for one interface in JSON: \n" },
		{ SOURCE_YANG_JSON, "{\"", "x", "\":{},\"ietf-interfaces:interfaces\":{\"interface\":[{\"name\":\"port1\",\"phys-address\":\"00:00:5e:00:53:01\"}]}}",
		  "1 port1 00-00-5E-00-53-01\n" },
		{ SOURCE_YANG_XML, "<interfaces><interface><name>port1</name><description>", "x",
		  "</description><phys-address>00:00:5e:00:53:01</phys-address></interface></interfaces>", "1 port1 00-00-5E-00-53-01\n" },
		{ SOURCE_YANG_XML, "<interfaces a=\"", ">", "\"/>", "1:69633 a tag or comment too long to be read: \n" },
		{ SOURCE_YANG_XML, "<interfaces><!--", ">", "--></interfaces>", "1:69633 a tag or comment too long to be read: \n" },
		{ SOURCE_YANG_XML, "<interfaces ", "a=\"\" ", "/>", "1:69633 a tag or comment too long to be read: \n" },
		{ SOURCE_IFMIB, "IF-MIB::ifName.1 = STRING: port1\nIF-MIB::ifPhysAddress.1 = STRING: ", "0:", "\n",
		  "2:1025 the line is too long and was cut: \n" },
		{ SOURCE_IP_LINK, "1: port1: <UP> mtu 1500\n    link/ether ", "0:", "\n",
		  "2:4097 the line is too long and was cut: \n" },
	};
	struct heap heap = { 0 };
	struct pm_arena arena;
	size_t failed = 0;
	for (size_t i = 0; i < COUNT(cases); i++) {
		put_times(&heap, cases[i].head, 1);
		put_times(&heap, cases[i].again, 1 << 20);
		put_times(&heap, cases[i].tail, 1);
		const char *got = read_heap(&heap, cases[i].kind, &arena);
		if (strcmp(got, cases[i].expected) != 0) {
			print_error("%s%s...:\n%sexpected:\n%s", cases[i].head, cases[i].again, got, cases[i].expected);
			failed++;
		}
		pm_arena_free(&arena);
	}
	free(heap.bytes);
	assert_int_equal(failed, 0);
}

/* Documents of every length one behind the other: where each ends is found
 * whatever stands in one piece of the parser's. */
static void test_joined(void **state)
{
	(void)state;
	struct heap heap = { 0 };
	struct pm_arena arena;
	char expected[16384];
	for (int turn = 0; turn < 2; turn++) {
		struct pm_text text;
		pm_text_fixed(&text, expected, sizeof expected);
		for (unsigned i = 0; i < 240; i++) {
			char one[400];
			struct pm_text document;
			pm_text_fixed(&document, one, sizeof one);
			pm_text_add(&document, turn ? "{\"ietf-interfaces:interface\":{\"name\":\"lan %u\",\n\"phys-address\":\"00:00:5e:00:53:%02x\",\"x\":\""
			                            : "<interface " YANG_NS "><name>lan %u</name>\r\n<phys-address>00:00:5e:00:53:%02x</phys-address><x>", i, i);
			put(&heap, one, document.length);
			put_times(&heap, "\xC3\xA9", i * 7 % 501);
			put_times(&heap, turn ? "\"}}" : "</x></interface>", 1);
			pm_text_add(&text, "%u lan %u? 00-00-5E-00-53-%02X\n", i + 2, i, i);
		}
		assert_false(text.cut);
		assert_string_equal(read_heap(&heap, turn ? SOURCE_YANG_JSON : SOURCE_YANG_XML, &arena), expected);
		pm_arena_free(&arena);
	}
	free(heap.bytes);
}

/* A walk of more interfaces than anything has. */
static void test_many_rows(void **state)
{
	(void)state;
	struct heap heap = { 0 };
	struct pm_arena arena;
	struct listing listing;
	for (unsigned i = 1; i <= 70000; i++) {
		char line[80];
		struct pm_text text;
		pm_text_fixed(&text, line, sizeof line);
		pm_text_add(&text, "IF-MIB::ifPhysAddress.%u = STRING: 0:0:5e:0:53:%x\n", i, i & 0xFF);
		put(&heap, line, text.length);
	}
	pm_arena_init(&arena);
	struct source *source = source_begin(&listing, NULL, &arena, SOURCE_IFMIB);
	assert_non_null(source);
	assert_true(source_feed(source, heap.bytes, heap.length));
	assert_true(source_end(source, NULL));
	assert_int_equal(listing.count, 0);
	assert_int_equal(listing.lines, 70000);
	assert_string_equal(listing.problem[0].reason, "more interfaces than are read");
	assert_int_equal(listing.problem[0].line, 65537);
	pm_arena_free(&arena);
	free(heap.bytes);
}

/* Nothing outside is asked for, and nothing inside grows. */
static void test_document_types(void **state)
{
	(void)state;
	static const char *const texts[] = {
		"<!DOCTYPE a SYSTEM \"file:///etc/hostname\">\n<interfaces " YANG_NS "/>\n",
		"<!DOCTYPE a [ <!ENTITY x SYSTEM \"file:///etc/hostname\"> ]>\n<interfaces " YANG_NS "><interface><name>&x;</name></interface></interfaces>\n",
		"<!DOCTYPE a [ <!ENTITY b \"bbbbbbbb\"> <!ENTITY c \"&b;&b;&b;&b;\"> <!ENTITY d \"&c;&c;&c;&c;\"> ]>\n<interfaces " YANG_NS ">&d;</interfaces>\n",
	};
	struct pm_arena arena;
	enum source_kind kind;
	for (size_t i = 0; i < COUNT(texts); i++) {
		pm_arena_init(&arena);
		const char *got = read_split(texts[i], strlen(texts[i]), 0, SIZE_MAX, SOURCE_AUTO, &kind, &arena);
		assert_int_equal(kind, SOURCE_YANG_XML);
		assert_non_null(strstr(got, "a document type (DOCTYPE) is not read: a\n"));
		pm_arena_free(&arena);
	}
	static const char undefined[] = "<interfaces " YANG_NS "><interface><name>&x;</name></interface></interfaces>\n";
	pm_arena_init(&arena);
	const char *got = read_split(undefined, strlen(undefined), 0, SIZE_MAX, SOURCE_AUTO, &kind, &arena);
	assert_non_null(strstr(got, "not readable as XML: Entity 'x' not defined\n"));
	pm_arena_free(&arena);
}

/* --- noise ---------------------------------------------------------------------------------- */

static uint32_t random_next(uint32_t *seed)
{
	*seed ^= *seed << 13, *seed ^= *seed >> 17, *seed ^= *seed << 5;
	return *seed;
}

/* Every shape with bytes changed, lost, doubled or cut off, and plain noise, as
 * every kind: it ends, is safe to show, and does not hang on the pieces. */
static void test_noise(void **state)
{
	(void)state;
	uint32_t seed = 2463534242u;
	static char bytes[8192];
	for (int round = 0; round < 6000; round++) {
		size_t length = random_next(&seed) % 600;
		if (round % 5 == 0) {
			for (size_t i = 0; i < length; i++) bytes[i] = (char)random_next(&seed);
		} else {
			const char *text = source_shapes[random_next(&seed) % COUNT(source_shapes)].text;
			length = strlen(text);
			memcpy(bytes, text, length);
			for (uint32_t n = random_next(&seed) % 4; length && n; n--) {
				size_t at = random_next(&seed) % length;
				switch (random_next(&seed) % 4) {
				case 0: bytes[at] = (char)random_next(&seed); break;
				case 1: length = at; break;
				case 2: memmove(bytes + at, bytes + at + 1, length - at - 1); length--; break;
				case 3: memmove(bytes + at + 1, bytes + at, length - at); length++; break;
				}
			}
		}
		struct pm_arena arena;
		enum source_kind whole, kind, as = (enum source_kind)(random_next(&seed) % (SOURCE_KINDS + 1));
		pm_arena_init(&arena);
		const char *got = read_split(bytes, length, 0, SIZE_MAX, as, &whole, &arena);
		assert_string_equal(got, read_split(bytes, length, length / 2, 7, as, &kind, &arena));
		assert_int_equal(whole, kind);
		pm_arena_free(&arena);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_shapes), cmocka_unit_test(test_splits), cmocka_unit_test(test_cuts), cmocka_unit_test(test_words),
		cmocka_unit_test(test_console_shapes), cmocka_unit_test(test_console_logs), cmocka_unit_test(test_deep),
		cmocka_unit_test(test_long), cmocka_unit_test(test_joined), cmocka_unit_test(test_many_rows),
		cmocka_unit_test(test_document_types), cmocka_unit_test(test_noise),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
