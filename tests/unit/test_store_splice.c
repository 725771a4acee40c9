#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "portmuster/text.h"
#include "store/document.h"

#define HEAD "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: RG-07\n"
#define FLOW "format: 1, plan: p, gear: g, site: {code: a}"

/* The new entry as it stands in a block with the dash after `in` blanks. */
#define ENTRY(in, nl) \
	in "- of: \"port/port2\"" nl in "  value: \"00-00-5E-00-53-02\"" nl in "  source: \"console\"" nl \
	in "  by: \"B \\\"x\\\"\"" nl in "  at: \"2026-03-01T10:00:00Z\"" nl in "  capture: \"c1\"" nl
#define BRACES \
	"{of: \"port/port2\", value: \"00-00-5E-00-53-02\", source: \"console\", by: \"B \\\"x\\\"\", " \
	"at: \"2026-03-01T10:00:00Z\", capture: \"c1\"}"
#define OLD "of: a, value: b, source: typed, by: c, at: d"

static struct pm_reading new_reading(void)
{
	return (struct pm_reading){
		.of = { .text = "port/port2" }, .value = { .text = "00-00-5E-00-53-02" }, .source = PM_SOURCE_CONSOLE,
		.by = { .text = "B \"x\"" }, .at = { .text = "2026-03-01T10:00:00Z" }, .capture = { .text = "c1" },
	};
}

/* A text with `@` where the edit takes place: left of it and right of it every
 * byte must stay. `gone` is what the edit takes out there. */
struct layout {
	const char *name, *text, *gone, *added;
};

/* The layout with `middle` at its mark. */
static char *with(const char *text, const char *middle, size_t *length)
{
	const char *mark = strchr(text, '@');
	char *out = malloc(strlen(text) + strlen(middle) + 1);
	assert_non_null(mark);
	assert_non_null(out);
	memcpy(out, text, (size_t)(mark - text));
	strcpy(out + (mark - text), middle);
	strcat(out, mark + 1);
	*length = strlen(out);
	return out;
}

static void load(const char *name, const char *text, size_t length, struct store_job *job)
{
	struct pm_fault fault = { 0 };
	if (!store_job_parse(text, length, "x.yaml", job, &fault))
		fail_msg("%s: %u:%u %s\n%s", name, fault.line, fault.column, fault.message, text);
}

static void compare(const char *name, const struct store_job *job, const char *text, const char *added)
{
	size_t length;
	char *expected = with(text, added, &length);
	if (job->length != length || memcmp(job->text, expected, length))
		fail_msg("%s:\n--- expected\n%s\n--- got\n%s", name, expected, job->text);
	free(expected);
}

static const struct layout layouts[] = {
	{ "no key", HEAD "@", "", "readings:\n" ENTRY("  ", "\n") },
	{ "no key, no final newline", "format: 1\nplan: p\ngear: g\nsite:\n  code: a@", "", "\nreadings:\n" ENTRY("  ", "\n") },
	{ "no key, comments at the end", HEAD "# one\n\n# two\n@", "", "readings:\n" ENTRY("  ", "\n") },
	{ "no key, document end", HEAD "@...\n# after\n", "", "readings:\n" ENTRY("  ", "\n") },
	{ "no key, indented top", "  format: 1\n  plan: p\n  gear: g\n  site: {code: a}\n@", "", "  readings:\n" ENTRY("    ", "\n") },
	{ "no key, flow top", "{" FLOW "@}\n", "", ", readings: [" BRACES "]" },
	{ "no key, flow top on lines", "{\n  " FLOW "@ # last\n}\n", "", ", readings: [" BRACES "]" },
	{ "no key, flow top, comma", "{" FLOW "@,}\n", "", ", readings: [" BRACES "]" },
	{ "no key, ends with block text", HEAD "note: |\n  line one\n\n  line two\n@", "", "readings:\n" ENTRY("  ", "\n") },
	{ "no key, ends with block text, no newline", HEAD "note: |\n  line@", "", "\nreadings:\n" ENTRY("  ", "\n") },
	{ "nothing", HEAD "readings:\n@", "", ENTRY("  ", "\n") },
	{ "nothing, no final newline", HEAD "readings:@", "", "\n" ENTRY("  ", "\n") },
	{ "nothing, then a comment", HEAD "readings: # none\n@waivers: []\n", "", ENTRY("  ", "\n") },
	{ "nothing, then comment lines", HEAD "readings:\n  # none yet\n@# outer\nwaivers: []\n", "", ENTRY("  ", "\n") },
	{ "nothing, CRLF", "format: 1\r\nplan: p\r\ngear: g\r\nsite:\r\n  code: a\r\nreadings:\r\n@unknown: 1\r\n", "", ENTRY("  ", "\r\n") },
	{ "nothing, old Macintosh", "format: 1\rplan: p\rgear: g\rsite:\r  code: a\rreadings:\r@", "", ENTRY("  ", "\r") },
	{ "nothing, flow top", "{" FLOW ", readings: @, x: 1}\n", "", "[" BRACES "]" },
	{ "null, flow top", "{" FLOW ", readings: @}\n", "null", "[" BRACES "]" },
	{ "brackets, flow top", "{" FLOW ", readings: [@]}\n", "", BRACES },
	{ "brackets with a comment", HEAD "readings: [@ # none\n  ]\n", "", BRACES },
	{ "brackets, entries", HEAD "readings: [{" OLD "}@]\nx: 1\n", "", ", " BRACES },
	{ "brackets, comma", HEAD "readings: [\n  {" OLD "}@, # old\n]\n", "", ", " BRACES },
	{ "block", HEAD "readings:\n  - " "of: a\n    value: b\n    source: typed\n    by: c\n    at: d\n@", "", ENTRY("  ", "\n") },
	{ "block, no final newline", HEAD "readings:\n  - of: a\n    value: b\n    source: typed\n    by: c\n    at: d@", "", "\n" ENTRY("  ", "\n") },
	{ "block, not indented", HEAD "readings:\n- of: a\n  value: b\n  source: typed\n  by: c\n  at: d\n@waivers: []\n", "", ENTRY("", "\n") },
	{ "block, deep", HEAD "readings:\n      - of: a\n        value: b\n        source: typed\n        by: c\n        at: d\n@", "", ENTRY("      ", "\n") },
	{ "block, braces inside", HEAD "readings:\n  - {" OLD "}\n@", "", ENTRY("  ", "\n") },
	{ "block, braces over lines", HEAD "readings:\n  - {of: a, value: b,\n     source: typed, by: c, at: d\n   } # done\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, own comment", HEAD "readings:\n  - {" OLD "} # first\n    # of the first\n   # still\n@  # of the next\n# outer\nx: 1\n", "", ENTRY("  ", "\n") },
	{ "block, blank lines", HEAD "readings:\n\n  - {" OLD "}\n@\n\nx: 1\n", "", ENTRY("  ", "\n") },
	{ "block, dash alone", HEAD "readings:\n  -\n    of: a\n    value: b\n    source: typed\n    by: c\n    at: d\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, last value empty", HEAD "readings:\n  - of: a\n    source: typed\n    by: c\n    at: d\n    value:\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, last value nothing, no newline", HEAD "readings:\n  - of: a\n    source: typed\n    by: c\n    at: d\n    value:@", "", "\n" ENTRY("  ", "\n") },
	{ "block, last value on lines", HEAD "readings:\n  - of: a\n    source: typed\n    by: c\n    at: d\n    value: one\n      two # c\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, last value block text", HEAD "readings:\n  - of: a\n    source: typed\n    by: c\n    at: d\n    value: |\n      one\n      # no comment\n\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, block text without newline", HEAD "readings:\n  - of: a\n    source: typed\n    by: c\n    at: d\n    value: |\n      one@", "", "\n" ENTRY("  ", "\n") },
	{ "block, quoted text on lines", HEAD "readings:\n  - of: a\n    source: typed\n    by: c\n    at: d\n    value: \"one\n      two\"\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, unknown nested", HEAD "readings:\n  - of: a\n    value: b\n    source: typed\n    by: c\n    at: d\n    x:\n      - y:\n          - z\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, document end", HEAD "readings:\n  - {" OLD "}\n@...\n", "", ENTRY("  ", "\n") },
	{ "block, before another list", HEAD "readings:\n  - {" OLD "}\n@waivers:\n  - {phase: p, gate: open, condition: c, by: b, reason: r, at: t}\n", "", ENTRY("  ", "\n") },
	{ "block, wide characters", "# \xF0\x9F\x92\xA7 gau\xC3\xA9\nformat: 1\nplan: p\ngear: g\nsite: {code: \"\xE6\xB0\xB4\"}\nreadings:\n"
	  "  - {of: a, value: \"\xF0\x9F\x92\xA7\", source: typed, by: \xC3\x89, at: d} # \xE6\xB0\xB4\n@x: \xE6\xB0\xB4\n", "", ENTRY("  ", "\n") },
	{ "block, byte order mark", "\xEF\xBB\xBF" HEAD "readings:\n  - {" OLD "}\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, CRLF", "format: 1\r\nplan: p\r\ngear: g\r\nsite: {code: a}\r\nreadings:\r\n  - {" OLD "}\r\n@x: 1\r\n", "", ENTRY("  ", "\r\n") },
	{ "block, tabs before a comment", HEAD "readings:\t# c\n  - {" OLD "}\t# c\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "block, quoted key", HEAD "\"readings\" :\n  - {" OLD "}\n@x: 1\n", "", ENTRY("  ", "\n") },
	{ "key with a question mark", HEAD "? readings\n: - {" OLD "}\n@x: 1\n", "", ENTRY("  ", "\n") },
};

static void test_add_reading(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof layouts / sizeof *layouts; i++) {
		const struct layout *row = &layouts[i];
		struct store_job job;
		struct pm_fault fault = { 0 };
		struct pm_reading reading = new_reading();
		size_t length;
		char *before = with(row->text, row->gone, &length);
		load(row->name, before, length, &job);
		free(before);
		size_t readings = job.job.reading_count;
		if (!store_job_add_reading(&job, &reading, &fault))
			fail_msg("%s: %s; %s", row->name, fault.message, fault.remedy);
		compare(row->name, &job, row->text, row->added);
		assert_int_equal(job.job.reading_count, readings + 1);
		const struct pm_reading *got = &job.job.readings[readings];
		assert_string_equal(got->by.text, "B \"x\"");
		assert_int_equal(got->source, PM_SOURCE_CONSOLE);
		assert_true(got->when.known);
		assert_null(got->note.text);
		/* And once more: what we wrote is a layout like any other. */
		if (!store_job_add_reading(&job, &reading, &fault))
			fail_msg("%s, again: %s", row->name, fault.message);
		assert_int_equal(job.job.reading_count, readings + 2);
		store_job_free(&job);
	}
}

/* Where "~" or "[]" gives way to a block, two places change: what is taken out
 * and the lines below. */
static void test_add_to_nothing(void **state)
{
	(void)state;
	static const struct { const char *before, *after; } rows[] = {
		{ HEAD "readings: []\nx: 1\n", HEAD "readings:\n" ENTRY("  ", "\n") "x: 1\n" },
		{ HEAD "readings: [ ] # none\nx: 1\n", HEAD "readings: # none\n" ENTRY("  ", "\n") "x: 1\n" },
		{ HEAD "readings: []", HEAD "readings:\n" ENTRY("  ", "\n") },
		{ HEAD "readings: ~\r\n", HEAD "readings:\r\n" ENTRY("  ", "\n") },
		{ HEAD "readings:   null # none\n  # more\nx: 1\n", HEAD "readings: # none\n  # more\n" ENTRY("  ", "\n") "x: 1\n" },
		{ HEAD "readings:\n  []\nx: 1\n", HEAD "readings:\n\n" ENTRY("  ", "\n") "x: 1\n" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct store_job job;
		struct pm_fault fault = { 0 };
		struct pm_reading reading = new_reading();
		load(rows[i].before, rows[i].before, strlen(rows[i].before), &job);
		if (!store_job_add_reading(&job, &reading, &fault))
			fail_msg("%s: %s", rows[i].before, fault.message);
		assert_string_equal(job.text, rows[i].after);
		assert_int_equal(job.job.reading_count, 1);
		store_job_free(&job);
	}
}

static void test_many_readings(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	load("many", HEAD, strlen(HEAD), &job);
	for (int i = 0; i < 60; i++) {
		char value[20];
		struct pm_reading reading = new_reading();
		snprintf(value, sizeof value, "00-00-5E-00-53-%02X", (unsigned)i);
		reading.value.text = value;
		assert_true(store_job_add_reading(&job, &reading, &fault));
	}
	assert_int_equal(job.job.reading_count, 60);
	assert_string_equal(job.job.readings[59].value.text, "00-00-5E-00-53-3B");
	assert_memory_equal(job.text, HEAD "readings:\n  - of:", strlen(HEAD) + 17);
	/* Text of the job's own may be given back to it. */
	assert_true(store_job_add_reading(&job, &job.job.readings[3], &fault));
	assert_string_equal(job.job.readings[60].value.text, "00-00-5E-00-53-03");
	store_job_free(&job);
}

static void test_add_waiver(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	struct pm_waiver waiver = {
		.phase = { .text = "fit" }, .gate = { .text = "close" }, .condition = { .text = "free-of kit-short" },
		.by = { .text = "L" }, .reason = { .text = "spare strap on the way" }, .when = pm_when_utc(1772355600),
	};
	load("waiver", HEAD "readings:\n- {" OLD "}\n", strlen(HEAD "readings:\n- {" OLD "}\n"), &job);
	assert_true(store_job_add_waiver(&job, &waiver, &fault));
	assert_string_equal(job.text, HEAD "readings:\n- {" OLD "}\nwaivers:\n  - phase: \"fit\"\n    gate: \"close\"\n"
	                    "    condition: \"free-of kit-short\"\n    by: \"L\"\n    reason: \"spare strap on the way\"\n"
	                    "    at: \"2026-03-01T09:00:00Z\"\n");
	assert_int_equal(job.job.waiver_count, 1);
	assert_int_equal(job.job.waivers[0].when.second, 1772355600);
	/* with a note, who typed it stands there too */
	waiver.note.text = "by telephone; typed by T";
	assert_true(store_job_add_waiver(&job, &waiver, &fault));
	assert_non_null(strstr(job.text, "    at: \"2026-03-01T09:00:00Z\"\n    note: \"by telephone; typed by T\"\n"));
	assert_string_equal(job.job.waivers[1].note.text, "by telephone; typed by T");
	/* Refused as a whole: nothing changes. */
	char *before = strdup(job.text);
	waiver.gate.text = "ajar";
	assert_false(store_job_add_waiver(&job, &waiver, &fault));
	assert_int_equal(fault.kind, PM_FAULT_VALUE);
	waiver.gate.text = "open";
	waiver.reason.text = "";
	assert_false(store_job_add_waiver(&job, &waiver, &fault));
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	assert_string_equal(job.text, before);
	assert_int_equal(job.job.waiver_count, 2);
	free(before);
	store_job_free(&job);
}

static void test_refused_values(void **state)
{
	(void)state;
	static const char *const bad[] = { "a\nb", "a\tb", "a\rb", "\x1b[2J", "\x7f", "\xC2\x85", "\xC2\x9B", "caf\xE9", "\xED\xA0\x80", "\xC0\xAF" };
	struct store_job job;
	struct pm_fault fault = { 0 };
	load("refused", HEAD, strlen(HEAD), &job);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		struct pm_reading reading = new_reading();
		reading.note.text = bad[i];
		fault = (struct pm_fault){ 0 };
		assert_false(store_job_add_reading(&job, &reading, &fault));
		assert_int_equal(fault.kind, PM_FAULT_VALUE);
		assert_non_null(strstr(fault.message, " in note "));
		assert_false(store_job_set(&job, "site.name", bad[i], &fault));
		assert_int_equal(fault.kind, PM_FAULT_VALUE);
		for (const char *at = fault.message; *at; at++)
			assert_true((unsigned char)*at >= 0x20 && *at != 0x7F);
	}
	struct pm_reading reading = new_reading();
	reading.by.text = NULL;
	assert_false(store_job_add_reading(&job, &reading, &fault));
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	reading = new_reading();
	reading.value.text = NULL;   /* may be empty */
	assert_true(store_job_add_reading(&job, &reading, &fault));
	assert_string_equal(job.job.readings[0].value.text, "");
	store_job_free(&job);
}

/* --- setting one text --- */

struct setting {
	const char *name, *key, *value;
	const char *text, *gone, *added;
};

static const struct setting settings[] = {
	{ "plain", "plan", "ebb", "format: 1\nplan: @ # which\ngear: g\nsite: {code: a}\n", "flood", "\"ebb\"" },
	{ "quoted", "plan", "a \"b\" \\c", "format: 1\nplan: @\ngear: g\nsite: {code: a}\n", "'it''s'", "\"a \\\"b\\\" \\\\c\"" },
	{ "on lines", "plan", "x", "format: 1\nplan: @ # c\ngear: g\nsite: {code: a}\n", "one\n  two", "\"x\"" },
	{ "block text", "site.name", "x", HEAD "  name: @  due: 2026-05-01\n", "|\n    one\n    two\n", "\"x\"\n" },
	{ "block text, blank lines", "site.name", "x", HEAD "  name: @# c\nz: 1\n", ">-\n    one\n\n    two\n\n", "\"x\"\n" },
	{ "block text at the end", "site.name", "x", HEAD "  name: @", "|\n    one", "\"x\"" },
	{ "nothing", "site.due", "2026-05-01", HEAD "  due:@\n  name: x\n", "", " \"2026-05-01\"" },
	{ "nothing, then a comment", "site.due", "2026-05-01", HEAD "  due:@ # when\n", "", " \"2026-05-01\"" },
	{ "in braces", "site.code", "RG-08", "format: 1\nplan: p\ngear: g\nsite: {code: @, x: 1}\n", "RG-07", "\"RG-08\"" },
	{ "nothing in braces", "site.name", "N", "format: 1\nplan: p\ngear: g\nsite: {name: @, code: a}\n", "", "\"N\"" },
	{ "wide characters before", "site.name", "N", "# \xF0\x9F\x92\xA7\nformat: 1\nplan: p\ngear: g\nsite: {code: \"\xE6\xB0\xB4\", name: @}\n", "\xC3\xA9\xC3\xA9", "\"N\"" },
	{ "missing at the top", "gear-digest", "ab", HEAD "x: 1\n@", "", "gear-digest: \"ab\"\n" },
	{ "missing, after readings", "gear-digest", "ab", HEAD "readings:\n  - {" OLD "}\n@", "", "gear-digest: \"ab\"\n" },
	{ "missing in a mapping", "site.due", "2026-05-01", HEAD "@x: 1\n", "", "  due: \"2026-05-01\"\n" },
	{ "missing in a mapping, its comment", "site.due", "d", "format: 1\nplan: p\ngear: g\nsite:\n   code: a # c\n    # more\n@   # x\nz: 1\n", "", "   due: \"d\"\n" },
	{ "missing in a mapping, no newline", "site.due", "d", "format: 1\nplan: p\ngear: g\nsite:\n  code: a@", "", "\n  due: \"d\"\n" },
	{ "missing in braces", "site.due", "d", "{" "format: 1, plan: p, gear: g, site: {code: a@}}\n", "", ", due: \"d\"" },
	{ "missing mapping", "practice.wait", "3", HEAD "@", "", "practice:\n  wait: \"3\"\n" },
	{ "missing mapping in braces", "practice.wait", "3", "{" FLOW "@}", "", ", practice: {wait: \"3\"}" },
	{ "empty mapping", "practice.wait", "3", HEAD "practice:\n@x: 1\n", "", "  wait: \"3\"\n" },
	{ "braces of nothing, in braces", "practice.wait", "3", "{" FLOW ", practice: {@}}", "", "wait: \"3\"" },
	{ "CRLF", "site.due", "d", "format: 1\r\nplan: p\r\ngear: g\r\nsite:\r\n  code: a\r\n@x: 1\r\n", "", "  due: \"d\"\r\n" },
	{ "flag", "site.live", "yes", HEAD "  live: @\n", "no", "\"yes\"" },
};

static void test_set(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof settings / sizeof *settings; i++) {
		const struct setting *row = &settings[i];
		struct store_job job;
		struct pm_fault fault = { 0 };
		size_t length;
		char *before = with(row->text, row->gone, &length);
		load(row->name, before, length, &job);
		free(before);
		if (!store_job_set(&job, row->key, row->value, &fault))
			fail_msg("%s: %u:%u %s", row->name, fault.line, fault.column, fault.message);
		compare(row->name, &job, row->text, row->added);
		store_job_free(&job);
	}
}

static void test_set_values(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	load("set", HEAD "practice: {}\n", strlen(HEAD "practice: {}\n"), &job);
	assert_true(store_job_set(&job, "practice.wait", "7", &fault));
	assert_string_equal(job.text, HEAD "practice:\n  wait: \"7\"\n");
	assert_int_equal(job.job.practice_wait, 7);
	assert_true(store_job_set(&job, "site.due", "2026-05-01", &fault));
	assert_string_equal(job.job.due.text, "2026-05-01");
	assert_true(store_job_set(&job, "site.due", "2026-06-01", &fault));
	assert_string_equal(job.job.due.text, "2026-06-01");

	static const struct { const char *key, *value; enum pm_fault_kind kind; } bad[] = {
		{ "colour", "red", PM_FAULT_USAGE }, { "site", "x", PM_FAULT_USAGE }, { "readings", "x", PM_FAULT_USAGE },
		{ "site.colour", "x", PM_FAULT_USAGE }, { "plan.x", "x", PM_FAULT_USAGE }, { "site.code.x", "x", PM_FAULT_USAGE },
		{ "", "x", PM_FAULT_USAGE }, { "site.", "x", PM_FAULT_USAGE }, { ".code", "x", PM_FAULT_USAGE },
		{ "site.live", "true", PM_FAULT_VALUE }, { "site.code", "", PM_FAULT_VALUE }, { "practice.wait", "x", PM_FAULT_VALUE },
		{ "format", "2", PM_FAULT_NEWER },
	};
	char *before = strdup(job.text);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		fault = (struct pm_fault){ 0 };
		if (store_job_set(&job, bad[i].key, bad[i].value, &fault) || fault.kind != bad[i].kind)
			fail_msg("%s: %s", bad[i].key, fault.message);
		assert_string_equal(job.text, before);
		assert_string_equal(job.job.code.text, "RG-07");
	}
	free(before);
	store_job_free(&job);
}

/* A layout without a safe place is refused and nothing changes. */
static void test_no_place(void **state)
{
	(void)state;
	static const char *const texts[] = { "{" FLOW ", readings}\n", HEAD "? readings\n", HEAD "? readings\n# none\n" };
	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
		struct store_job job;
		struct pm_fault fault = { 0 };
		struct pm_reading reading = new_reading();
		load("no place", texts[i], strlen(texts[i]), &job);
		assert_false(store_job_add_reading(&job, &reading, &fault));
		assert_int_equal(fault.kind, PM_FAULT_SYNTAX);
		assert_non_null(strstr(fault.message, "no safe place"));
		assert_string_equal(job.text, texts[i]);
		assert_int_equal(job.job.reading_count, 0);
		store_job_free(&job);
	}
}

static void test_growth_is_bounded(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault = { 0 };
	struct pm_reading reading = new_reading();
	size_t length = STORE_MOST_BYTES - 20, head = strlen(HEAD);
	char *text = malloc(length + 1);
	assert_non_null(text);
	memset(text, '#', length);
	memcpy(text, HEAD, head);
	text[length - 1] = '\n';
	text[length] = '\0';
	load("full", text, length, &job);
	free(text);
	assert_false(store_job_add_reading(&job, &reading, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LIMIT);
	assert_int_equal(job.length, length);
	store_job_free(&job);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_add_reading),
		cmocka_unit_test(test_add_to_nothing),
		cmocka_unit_test(test_many_readings),
		cmocka_unit_test(test_add_waiver),
		cmocka_unit_test(test_refused_values),
		cmocka_unit_test(test_set),
		cmocka_unit_test(test_set_values),
		cmocka_unit_test(test_no_place),
		cmocka_unit_test(test_growth_is_bounded),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
