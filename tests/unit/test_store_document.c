#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <time.h>

#include "scratch.h"
#include "store/document.h"

#define HEAD "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: RG-07\n"
#define READING "  - of: port/port1\n    value: 00-00-5E-00-53-01\n    source: typed\n    by: A\n    at: \"2026-03-01T09:00:00Z\"\n"

static bool parse(const char *text, size_t length, struct store_job *job, struct pm_fault *fault)
{
	*fault = (struct pm_fault){ 0 };
	return store_job_parse(text, length, "x.yaml", job, fault);
}

/* --- what is refused, and where --- */

struct refusal {
	const char *name, *text;
	size_t length;              /* 0: as far as the terminator */
	enum pm_fault_kind kind;
	uint32_t line, column;
	const char *says;           /* part of the message */
	const char *remedy;         /* part of the remedy, or null */
};

static const struct refusal refusals[] = {
	{ "empty", "", 0, PM_FAULT_SYNTAX, 1, 1, "no document", NULL },
	{ "only a comment", "# nothing\n", 0, PM_FAULT_SYNTAX, 1, 1, "no document", NULL },
	{ "scalar at the top", "hello\n", 0, PM_FAULT_SYNTAX, 1, 1, "a text, not a mapping", "format: 1" },
	{ "list at the top", "- a\n- b\n", 0, PM_FAULT_SYNTAX, 1, 1, "a list, not a mapping", NULL },
	{ "no format", "plan: flood\n", 0, PM_FAULT_VALUE, 1, 1, "lacks the key format", NULL },
	{ "newer", "format: 2\nplan: x\n", 0, PM_FAULT_NEWER, 1, 9, "format 2", "newer portmuster" },
	{ "newer, quoted", "format: \"17\"\n", 0, PM_FAULT_NEWER, 1, 9, "format 17", NULL },
	{ "newer before any other fault", "site: []\nformat: 3\n", 0, PM_FAULT_NEWER, 2, 9, "format 3", NULL },
	{ "format zero", "format: 0\n", 0, PM_FAULT_VALUE, 1, 9, "from 1 to 1", NULL },
	{ "format in words", "format: one\n", 0, PM_FAULT_VALUE, 1, 9, "\"one\"", NULL },
	{ "format 1.0", "format: 1.0\n", 0, PM_FAULT_VALUE, 1, 9, "\"1.0\"", NULL },
	{ "no plan", "format: 1\ngear: g\nsite: {code: a}\n", 0, PM_FAULT_VALUE, 1, 1, "lacks the key plan", NULL },
	{ "empty plan", "format: 1\nplan: \"\"\n", 0, PM_FAULT_VALUE, 2, 7, "empty plan", NULL },
	{ "no site", "format: 1\nplan: p\ngear: g\n", 0, PM_FAULT_VALUE, 1, 1, "lacks the key site", NULL },
	{ "no code", "format: 1\nplan: p\ngear: g\nsite:\n  name: x\n", 0, PM_FAULT_VALUE, 5, 3, "site lacks the key code", NULL },
	{ "site is a text", "format: 1\nplan: p\ngear: g\nsite: x\n", 0, PM_FAULT_VALUE, 4, 7, "site must be a mapping", NULL },
	{ "plan is a list", "format: 1\nplan: [p]\n", 0, PM_FAULT_VALUE, 2, 7, "plan must be a text", NULL },
	{ "flag", HEAD "  live: true\n", 0, PM_FAULT_VALUE, 6, 9, "yes or no, not \"true\"", "yes or no" },
	{ "flag in capitals", HEAD "  live: Yes\n", 0, PM_FAULT_VALUE, 6, 9, "\"Yes\"", NULL },
	{ "wait", HEAD "practice:\n  wait: -1\n", 0, PM_FAULT_VALUE, 7, 9, "0 to 86400", NULL },
	{ "wait too long", HEAD "practice:\n  wait: 86401\n", 0, PM_FAULT_VALUE, 7, 9, "\"86401\"", NULL },
	{ "readings is a mapping", HEAD "readings:\n  of: x\n", 0, PM_FAULT_VALUE, 7, 3, "readings must be a list", NULL },
	{ "a reading is a text", HEAD "readings:\n  - x\n", 0, PM_FAULT_VALUE, 7, 5, "an entry of readings", NULL },
	{ "a reading without source", HEAD "readings:\n  - of: x\n    value: y\n    by: A\n    at: z\n", 0,
	  PM_FAULT_VALUE, 7, 5, "reading lacks the key source", NULL },
	{ "a reading without at", HEAD "readings:\n  - of: x\n    value: y\n    source: typed\n    by: A\n", 0,
	  PM_FAULT_VALUE, 7, 5, "lacks the key at", NULL },
	{ "unknown source", HEAD "readings:\n" READING "  - of: x\n    value: y\n    source: guessed\n", 0,
	  PM_FAULT_VALUE, 14, 13, "unknown source \"guessed\"", "console, typed, label, measured, stated, desk, skipped or withdrawn" },
	{ "unknown gate", HEAD "waivers:\n  - phase: p\n    gate: shut\n", 0, PM_FAULT_VALUE, 8, 11, "gate \"shut\"", "open or close" },
	{ "a waiver without reason", HEAD "waivers:\n  - {phase: p, gate: open, condition: c, by: b, at: z}\n", 0,
	  PM_FAULT_VALUE, 7, 5, "waiver lacks the key reason", NULL },
	/* syntax */
	{ "key twice", HEAD "plan: other\n", 0, PM_FAULT_SYNTAX, 6, 1, "key \"plan\" stands twice", "line 2" },
	{ "unknown key twice", HEAD "x: {a: 1, b: 2, \"a\": 3}\n", 0, PM_FAULT_SYNTAX, 6, 17, "key \"a\"", NULL },
	{ "anchor", HEAD "x: &a 1\n", 0, PM_FAULT_SYNTAX, 6, 4, "an anchor", "begins with &" },
	{ "anchor on a mapping", HEAD "x: &a\n  y: 1\n", 0, PM_FAULT_SYNTAX, 6, 4, "an anchor", NULL },
	{ "alias", HEAD "x: *a\n", 0, PM_FAULT_SYNTAX, 6, 4, "an alias", "begins with *" },
	{ "alias as key", HEAD "*a : 1\n", 0, PM_FAULT_SYNTAX, 6, 1, "an alias", NULL },
	{ "merge key", HEAD "<<: *a\n", 0, PM_FAULT_SYNTAX, 6, 5, "an alias", NULL },
	{ "tag", HEAD "x: !!int 1\n", 0, PM_FAULT_SYNTAX, 6, 4, "a tag", NULL },
	{ "lone tag", HEAD "x: ! 1\n", 0, PM_FAULT_SYNTAX, 6, 4, "a tag", NULL },
	{ "verbatim tag", HEAD "x: !<tag:example.org,2026:x> [1]\n", 0, PM_FAULT_SYNTAX, 6, 4, "a tag", NULL },
	{ "tag directive", "%TAG !e! tag:example.org,2026:\n---\n" HEAD, 0, PM_FAULT_SYNTAX, 1, 1, "a tag directive", NULL },
	{ "second document", HEAD "---\nformat: 1\n", 0, PM_FAULT_SYNTAX, 6, 1, "second document", NULL },
	{ "second document after the end", HEAD "...\n---\n", 0, PM_FAULT_SYNTAX, 7, 1, "second document", NULL },
	{ "key is a list", HEAD "? [a]\n: 1\n", 0, PM_FAULT_SYNTAX, 6, 3, "a key must be a text", NULL },
	{ "open bracket", HEAD "x: [1, 2\n", 0, PM_FAULT_SYNTAX, 7, 1, "not YAML", NULL },
	{ "open quote", HEAD "x: \"1\n", 0, PM_FAULT_SYNTAX, 7, 1, "not YAML", NULL },
	{ "tab indentation", HEAD "\tx: 1\n", 0, PM_FAULT_SYNTAX, 6, 1, "not YAML", NULL },
	{ "NUL", HEAD "x: a\0b\n", sizeof HEAD "x: a\0b\n" - 1, PM_FAULT_SYNTAX, 6, 5, "U+0000", NULL },
	{ "NUL by escape", HEAD "x: \"a\\0b\"\n", 0, PM_FAULT_SYNTAX, 6, 4, "NUL", NULL },
	{ "escape character", HEAD "# \x1b[2J\n", 0, PM_FAULT_SYNTAX, 6, 3, "U+001B", NULL },
	{ "C1 control", HEAD "x: \xC2\x9B\n", 0, PM_FAULT_SYNTAX, 6, 4, "U+009B", NULL },
	{ "NEL", HEAD "x: a\xC2\x85" "b\n", 0, PM_FAULT_SYNTAX, 6, 5, "U+0085", "\\u0085" },
	{ "line separator after wide text", HEAD "x: \xC3\xA9\xF0\x9F\x92\xA7\xE2\x80\xA8\n", 0, PM_FAULT_SYNTAX, 6, 6, "U+2028", NULL },
	{ "Latin 1", HEAD "x: caf\xE9\n", 0, PM_FAULT_SYNTAX, 6, 7, "byte E9", "UTF-8" },
	{ "overlong", HEAD "x: \xC0\xAF\n", 0, PM_FAULT_SYNTAX, 6, 4, "byte C0", NULL },
	{ "surrogate", HEAD "x: \xED\xA0\x80\n", 0, PM_FAULT_SYNTAX, 6, 4, "byte ED", NULL },
	{ "cut off", HEAD "x: \xE2\x82", 0, PM_FAULT_SYNTAX, 6, 4, "byte E2", NULL },
	{ "UTF-16", "\xFF\xFE" "f\0", 4, PM_FAULT_SYNTAX, 1, 1, "byte FF", NULL },
	{ "late byte order mark", HEAD "x: \xEF\xBB\xBF\n", 0, PM_FAULT_SYNTAX, 6, 4, "byte order mark", NULL },
	{ "column counts characters", HEAD "x: {\xC3\xA9\xC3\xA9\xC3\xA9: 1, \xC3\xA9\xC3\xA9\xC3\xA9: 2}\n", 0,
	  PM_FAULT_SYNTAX, 6, 13, "stands twice", NULL },
	{ "CRLF counts one line", "format: 1\r\nplan: p\r\nplan: q\r\n", 0, PM_FAULT_SYNTAX, 3, 1, "stands twice", NULL },
	{ "byte order mark takes no column", "\xEF\xBB\xBF" "format: 9\n", 0, PM_FAULT_NEWER, 1, 9, "format 9", NULL },
};

static void test_refusals(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++) {
		const struct refusal *row = &refusals[i];
		struct store_job job;
		struct pm_fault fault;
		size_t length = row->length ? row->length : strlen(row->text);
		bool good = parse(row->text, length, &job, &fault);
		if (good || fault.kind != row->kind || fault.line != row->line || fault.column != row->column ||
		    !strstr(fault.message, row->says) || (row->remedy && !strstr(fault.remedy, row->remedy)) ||
		    strcmp(fault.file, "x.yaml"))
			fail_msg("%s: %s %u:%u %s; %s", row->name, good ? "accepted" : pm_fault_word(fault.kind),
			         fault.line, fault.column, fault.message, fault.remedy);
	}
}

/* --- what is no job at all --- */

static void test_no_job(void **state)
{
	(void)state;
	static const struct { const char *name, *text; bool none; } rows[] = {
		{ "answers", "format: 1\nstart: \"2026-03-01T09:00:00Z\"\nanswers: []\n", true },
		{ "no format either", "a: 1\n", true },
		{ "one key, no value", "x:\n", true },
		{ "in braces", "{\"id\": \"p\"}", true },
		{ "deeper keys do not count", "layout: {site: x, readings: y}\n", true },
		{ "the names as values", "format: 1\nplan: site\ngear: readings\n", true },
		{ "a longer name", "sites: []\nreading: x\n", true },
		{ "another case", "Site: {code: x}\n", true },
		{ "a site alone", "site: {code: x}\n", false },
		{ "an empty site", "format: 1\nsite:\n", false },
		{ "quoted", "\"site\": x\n", false },
		{ "readings alone", "format: 1\nreadings: []\n", false },
		{ "no key", "{}\n", false },
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct store_job job;
		struct pm_fault fault;
		struct pm_arena arena;
		pm_arena_init(&arena);
		assert_false(parse(rows[i].text, strlen(rows[i].text), &job, &fault));
		assert_int_equal(fault.kind, PM_FAULT_VALUE);
		fault = (struct pm_fault){ 0 };
		if (store_no_job(rows[i].text, strlen(rows[i].text), "x.yaml", &arena, &fault) != rows[i].none)
			fail_msg("%s", rows[i].name);
		assert_int_equal(fault.kind, PM_FAULT_NONE);
		pm_arena_free(&arena);
	}
	struct pm_arena arena;
	struct pm_fault fault = { 0 };
	pm_arena_init(&arena);
	assert_false(store_no_job("- a\n", 4, "x.yaml", &arena, &fault));
	assert_int_equal(fault.kind, PM_FAULT_NONE);
	assert_false(store_no_job("a: [\n", 5, "x.yaml", &arena, &fault));
	assert_int_equal(fault.kind, PM_FAULT_SYNTAX);
	pm_arena_free(&arena);
}

/* --- what is accepted --- */

static void test_every_scalar_is_text(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault;
	const char *text =
		"%YAML 1.2\n---\n# head\nformat: '1'\nplan: NO\ngear: 12E456\nplan-digest: 0123456\nunknown: [1, {a: b}]\n"
		"site: {code: 52:54:00:12:34:56, name: ~, zone: 1.10, unit: \"12:30\", live: yes, crew: null}\n"
		"practice:\nreadings:\n" READING "waivers: ~\n...\n";
	if (!parse(text, strlen(text), &job, &fault))
		fail_msg("%u:%u %s", fault.line, fault.column, fault.message);
	assert_int_equal(job.job.format, 1);
	assert_string_equal(job.job.plan.text, "NO");
	assert_int_equal(job.job.plan.line, 5);
	assert_int_equal(job.job.plan.column, 7);
	assert_string_equal(job.job.gear.text, "12E456");
	assert_string_equal(job.job.plan_digest.text, "0123456");
	assert_string_equal(job.job.code.text, "52:54:00:12:34:56");
	assert_string_equal(job.job.name.text, "~");
	assert_string_equal(job.job.zone.text, "1.10");
	assert_string_equal(job.job.unit.text, "12:30");
	assert_string_equal(job.job.crew.text, "null");
	assert_null(job.job.parent.text);
	assert_true(job.job.live);
	assert_true(job.job.practice);
	assert_int_equal(job.job.practice_wait, 0);
	assert_int_equal(job.job.reading_count, 1);
	assert_int_equal(job.job.waiver_count, 0);
	const struct pm_reading *reading = &job.job.readings[0];
	assert_string_equal(reading->of.text, "port/port1");
	assert_string_equal(reading->value.text, "00-00-5E-00-53-01");
	assert_int_equal(reading->value.line, 13);
	assert_int_equal(reading->value.column, 12);
	assert_int_equal(reading->source, PM_SOURCE_TYPED);
	assert_true(reading->when.known);
	/* 2026-03-01T09:00:00Z, by `date -d ... +%s` */
	assert_int_equal(reading->when.second, 1772355600);
	assert_null(reading->note.text);
	assert_string_equal(job.job.file, "x.yaml");
	assert_string_equal(job.disk_digest, "");
	assert_int_equal(job.length, strlen(text));
	assert_memory_equal(job.text, text, job.length);
	store_job_free(&job);
	assert_null(job.text);
}

/* Keys that the format does not have, with where they stand and what they were meant to be. */
static void test_stray_keys(void **state)
{
	(void)state;
	static const struct { const char *text, *key, *inside, *meant; unsigned line, column; } rows[] = {
		{ HEAD "reaidngs: []\n", "reaidngs", "job", "readings", 6, 1 },
		{ HEAD "later: [1, {a: b}]\n", "later", "job", NULL, 6, 1 },
		{ HEAD "readings:\n  - {of: x, value: y, source: typed, by: A, at: z, nots: n}\n", "nots", "reading", "note", 7, 52 },
		{ "format: 1\nplan: p\ngear: g\nsite:\n  code: A\n  lvie: yes\n", "lvie", "site", "live", 6, 3 },
		{ "format: 1\nplan: p\ngear: g\nsite:\n  code: A\n  Live: yes\n", "Live", "site", "live", 6, 3 },
		{ HEAD "\"\": 1\n", "", "job", NULL, 6, 1 },
		{ HEAD "x-crane: 1\nreadings:\n  - {of: x, value: y, source: typed, by: A, at: z, x-: n}\n", NULL, NULL, NULL, 0, 0 },
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct store_job job;
		struct pm_fault fault;
		if (!parse(rows[i].text, strlen(rows[i].text), &job, &fault))
			fail_msg("row %zu: %s", i, fault.message);
		assert_int_equal(job.job.strays.count, rows[i].key ? 1 : 0);
		if (rows[i].key) {
			const struct pm_stray_key *stray = &job.job.strays.item[0];
			assert_string_equal(stray->key.text, rows[i].key);
			assert_string_equal(stray->inside, rows[i].inside);
			assert_string_equal(stray->meant ? stray->meant : "none", rows[i].meant ? rows[i].meant : "none");
			assert_int_equal(stray->key.line, rows[i].line);
			assert_int_equal(stray->key.column, rows[i].column);
		}
		store_job_free(&job);
	}
}

/* However many there are, some are told. */
static void test_many_stray_keys(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault;
	char text[4096];
	size_t length = (size_t)snprintf(text, sizeof text, HEAD);
	for (unsigned i = 0; i < 200; i++)
		length += (size_t)snprintf(text + length, sizeof text - length, "k%u: 1\n", i);
	assert_true(parse(text, length, &job, &fault));
	assert_int_equal(job.job.strays.count, 20);
	assert_string_equal(job.job.strays.item[19].key.text, "k19");
	store_job_free(&job);
}

static void test_practice_only_when_there(void **state)
{
	(void)state;
	static const struct { const char *text; bool practice; int64_t wait; } rows[] = {
		{ HEAD, false, 0 }, { HEAD "practice:\n", true, 0 }, { HEAD "practice: {}\n", true, 0 },
		{ HEAD "practice: ~\n", false, 0 }, { HEAD "practice: {wait: 2}\n", true, 2 },
		{ HEAD "practice:\n  # wait: 5\n", true, 0 },
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct store_job job;
		struct pm_fault fault;
		assert_true(parse(rows[i].text, strlen(rows[i].text), &job, &fault));
		assert_int_equal(job.job.practice, rows[i].practice);
		assert_int_equal(job.job.practice_wait, rows[i].wait);
		store_job_free(&job);
	}
}

static void test_malformed_time_loads(void **state)
{
	(void)state;
	static const char *const times[] = { "yesterday", "2026-02-29T00:00:00Z", "\"\"", "2026-03-01 09:00", "2026-03-01T09:00:00" };
	for (size_t i = 0; i < sizeof times / sizeof *times; i++) {
		char text[512];
		struct store_job job;
		struct pm_fault fault;
		snprintf(text, sizeof text, HEAD "readings:\n  - {of: x, value: '', source: stated, by: A, at: %s}\n", times[i]);
		if (!parse(text, strlen(text), &job, &fault))
			fail_msg("%s: %s", times[i], fault.message);
		assert_false(job.job.readings[0].when.known);
		assert_non_null(job.job.readings[0].at.text);
		assert_string_equal(job.job.readings[0].value.text, "");
		store_job_free(&job);
	}
}

static void test_layouts_read_alike(void **state)
{
	(void)state;
	static const char *const texts[] = {
		HEAD "readings:\n" READING,
		"\xEF\xBB\xBF" HEAD "readings:\n" READING,
		"format: 1\r\nplan: flood\r\ngear: eg-12\r\nsite:\r\n  code: RG-07\r\nreadings:\r\n- of: port/port1\r\n"
		"  value: 00-00-5E-00-53-01\r\n  source: typed\r\n  by: A\r\n  at: 2026-03-01T09:00:00Z\r\n",
		"{\"format\": \"1\", \"plan\": \"flood\", \"gear\": \"eg-12\", \"site\": {\"code\": \"RG-07\"}, \"readings\": [{\"of\": "
		"\"port/port1\", \"value\": \"00-00-5E-00-53-01\", \"source\": \"typed\", \"by\": \"A\", \"at\": \"2026-03-01T09:00:00Z\"}]}",
		HEAD "readings:\n  - of: |\n      port/port1\n\n    value: >-\n      00-00-5E-00-53-01\n    source: typed\n    by: A\n"
		"    at: 2026-03-01T09:00:00Z",
	};
	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
		struct store_job job;
		struct pm_fault fault;
		if (!parse(texts[i], strlen(texts[i]), &job, &fault))
			fail_msg("%zu: %u:%u %s", i, fault.line, fault.column, fault.message);
		assert_string_equal(job.job.plan.text, "flood");
		assert_string_equal(job.job.code.text, "RG-07");
		assert_int_equal(job.job.reading_count, 1);
		assert_string_equal(job.job.readings[0].of.text, "port/port1");
		assert_string_equal(job.job.readings[0].value.text, "00-00-5E-00-53-01");
		store_job_free(&job);
	}
}

/* --- bounds --- */

static double seconds(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

/* Much of one thing; what it must come to. */
static void check_bulk(const char *name, const char *head, const char *piece, size_t size, enum pm_fault_kind kind, const char *says)
{
	size_t each = strlen(piece), at = strlen(head);
	char *text = malloc(size + 1);
	struct store_job job;
	struct pm_fault fault;
	assert_non_null(text);
	memcpy(text, head, at);
	for (; at + each <= size; at += each)
		memcpy(text + at, piece, each);
	text[at] = '\0';
	double start = seconds();
	bool good = parse(text, at, &job, &fault);
	double took = seconds() - start;
	if (good)
		store_job_free(&job);
	free(text);
	if (good || fault.kind != kind || !strstr(fault.message, says))
		fail_msg("%s: %s %s", name, good ? "accepted" : pm_fault_word(fault.kind), fault.message);
	if (took > 2.0)
		fail_msg("%s took %.1f s", name, took);
}

static void test_bounds(void **state)
{
	(void)state;
	check_bulk("brackets", HEAD "x: ", "[", 1 << 20, PM_FAULT_LIMIT, "16 deep");
	check_bulk("braces", HEAD "x: ", "{a: ", 1 << 20, PM_FAULT_LIMIT, "16 deep");
	check_bulk("dashes", HEAD "x:\n  ", "- ", 1 << 20, PM_FAULT_LIMIT, "16 deep");
	check_bulk("anchors", HEAD, "x: &a [1]\n", 1 << 20, PM_FAULT_SYNTAX, "an anchor");
	check_bulk("a key over and over", HEAD, "x: 1\n", 1 << 20, PM_FAULT_SYNTAX, "stands twice");
	check_bulk("question marks", HEAD, "? ", 1 << 20, PM_FAULT_SYNTAX, "a key must be a text");
	check_bulk("spaces", HEAD, " ", (4u << 20) + 1, PM_FAULT_LIMIT, "larger than 4194304 bytes");
	check_bulk("list", HEAD "x: y", "\n- a", 1 << 20, PM_FAULT_SYNTAX, "not YAML");
}

static void test_many_values(void **state)
{
	(void)state;
	size_t room = 4u << 20;
	char *text = malloc(room);
	struct store_job job;
	struct pm_fault fault;
	assert_non_null(text);
	strcpy(text, HEAD "x:\n");
	size_t at = strlen(text);
	for (int i = 0; at + 16 < room && i < 300000; i++)
		at += (size_t)sprintf(text + at, "- a\n");
	assert_false(parse(text, at, &job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LIMIT);
	strcpy(text, HEAD "x:\n");
	at = strlen(text);
	for (int i = 0; i < 257; i++)
		at += (size_t)sprintf(text + at, "  k%d: v\n", i);
	assert_false(parse(text, at, &job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LIMIT);
	assert_int_equal(fault.line, 6 + 257);
	free(text);
}

static void test_depth_edge(void **state)
{
	(void)state;
	/* The top mapping is the first level: 15 more are in order, 16 are not. */
	static const struct { const char *text; bool good; } rows[] = {
		{ HEAD "x: [[[[[[[[[[[[[[[]]]]]]]]]]]]]]]\n", true },
		{ HEAD "x: [[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]\n", false },
	};
	for (size_t i = 0; i < 2; i++) {
		struct store_job job;
		struct pm_fault fault;
		assert_int_equal(parse(rows[i].text, strlen(rows[i].text), &job, &fault), rows[i].good);
		if (rows[i].good)
			store_job_free(&job);
		else
			assert_int_equal(fault.column, 4 + 15);
	}
}

/* --- from files --- */

static char folder[200];

static int make_folder(void **state)
{
	(void)state;
	return scratch_make(folder, sizeof folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
	(void)state;
	scratch_remove(folder);
	return 0;
}

static const char *in_folder(const char *name)
{
	static char path[300];
	snprintf(path, sizeof path, "%s/%s", folder, name);
	return path;
}

static void test_load(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	const char *path = in_folder("a.yaml");
	assert_true(scratch_write(path, HEAD, strlen(HEAD)));
	assert_true(store_job_load(path, &job, &fault));
	assert_string_equal(job.path, path);
	assert_string_equal(job.job.file, path);
	char digest[65];
	store_job_digest(&job, digest);
	assert_int_equal(strlen(digest), 64);
	store_job_free(&job);

	assert_false(store_job_load(in_folder("none.yaml"), &job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_false(store_job_load(folder, &job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
	assert_non_null(strstr(fault.message, "a folder"));
	assert_false(store_job_load("/dev/null", &job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
	path = in_folder("pipe");
	assert_int_equal(mkfifo(path, 0600), 0);
	assert_false(store_job_load(path, &job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
}

static void test_load_too_large(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	const char *path = in_folder("large.yaml");
	FILE *file = fopen(path, "wb");
	assert_non_null(file);
	assert_int_equal(fseek(file, STORE_MOST_BYTES, SEEK_SET), 0);
	fputc('\n', file);
	fclose(file);
	assert_false(store_job_load(path, &job, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LIMIT);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_refusals),
		cmocka_unit_test(test_no_job),
		cmocka_unit_test(test_every_scalar_is_text),
		cmocka_unit_test(test_stray_keys),
		cmocka_unit_test(test_many_stray_keys),
		cmocka_unit_test(test_practice_only_when_there),
		cmocka_unit_test(test_malformed_time_loads),
		cmocka_unit_test(test_layouts_read_alike),
		cmocka_unit_test(test_bounds),
		cmocka_unit_test(test_many_values),
		cmocka_unit_test(test_depth_edge),
		cmocka_unit_test(test_load),
		cmocka_unit_test(test_load_too_large),
	};
	return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
