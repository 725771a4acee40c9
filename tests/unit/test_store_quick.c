/* The quick reader against libyaml: what it reads is the very same tree. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <glob.h>
#include <stdlib.h>

#include "many_jobs.h"
#include "portmuster/text.h"
#include "scratch.h"
#include "store/document.h"
#include "store/utf8_scan.h"
#include "store/yaml_quick.h"

static bool same_node(const struct store_node *a, const struct store_node *b)
{
	if (a->kind != b->kind || a->plain != b->plain || a->block != b->block || a->line != b->line || a->column != b->column ||
	    a->start != b->start || a->end != b->end || a->length != b->length || a->count != b->count || !a->text != !b->text)
		return false;
	if (a->text && (memcmp(a->text, b->text, a->length) != 0 || a->text[a->length] || b->text[b->length]))
		return false;
	const struct store_node *left = a->first, *right = b->first;
	for (; left && right; left = left->next, right = right->next)
		if (!same_node(left, right) || (left == a->last) != (right == b->last))
			return false;
	return !left && !right;
}

static bool quick_reads(const char *text, size_t length, struct pm_arena *arena, struct store_tree *tree)
{
	struct store_scan scan;
	*tree = (struct store_tree){ .file = "x", .source = text, .length = length, .document_end = length };
	return store_scan_text(&scan, text, length, "x", arena, NULL) && scan.plain && store_quick_read(tree, arena);
}

/* Is the text read quickly? Then libyaml must agree in everything. */
static bool agree(const char *text, size_t length)
{
	struct pm_arena arena;
	struct store_tree quick, slow;
	struct pm_fault fault = { 0 };
	pm_arena_init(&arena);
	bool taken = quick_reads(text, length, &arena, &quick);
	if (taken) {
		if (!store_tree_read_events(text, length, "x", &arena, &slow, &fault))
			fail_msg("libyaml refuses: %s, line %u, in:\n%.*s", fault.message, fault.line, (int)length, text);
		if (!same_node(quick.root, slow.root) || quick.document_end != slow.document_end)
			fail_msg("read otherwise:\n%.*s", (int)length, text);
	}
	pm_arena_free(&arena);
	return taken;
}

static void test_files(void **state)
{
	(void)state;
	static const char *const patterns[] = { "data/*/*.yaml", "data/demo/fleet/*.yaml" };
	size_t jobs = 0;
	for (size_t i = 0; i < 2; i++) {
		glob_t found;
		assert_int_equal(glob(patterns[i], 0, NULL, &found), 0);
		for (size_t k = 0; k < found.gl_pathc; k++) {
			size_t length = 0;
			char *text = scratch_read(found.gl_pathv[k], &length);
			assert_non_null(text);
			bool taken = agree(text, length);
			/* the whole point: a job file is read quickly */
			if (i == 1) {
				assert_true(taken);
				jobs++;
			}
			free(text);
		}
		globfree(&found);
	}
	assert_true(jobs >= 8);
	static char text[MANY_JOBS_ROOM];
	for (unsigned i = 0; i < 50; i++)
		assert_true(agree(text, many_job(i, text)));
}

/* Documents that are read quickly. */
static const char *const taken[] = {
	"a: b", "a: \"b\"\n", "a: \"\"\n", "a: 1\nb: \"2\" # c\n", "# c\n\n  # d\na: b c  d \n", "a:\n  b: \"c\"\nd: e\n",
	"a:\n  - { b: \"c\", d: \"e\" }\n  - {}\n", "a: [ \"b\", [], { c: [\"d\"] } ]\n", "a: {}\n", "  a: b\n  c: d\n",
	"a:\n  - b: \"c\"\n    d: e\n  - \"f\"\n  - [\"g\"]\n", "a: # c\n    b: \"c\"\n", "a:\n  b:\n    c:\n      - d: \"e\"\n",
	"a: { b: \"c\",\n d: \"e\"\n\n}\n", "a:   \"b\"   \n", "a:\n\n\n  b: c\n\n\n", "a-b_c: d/e.f-g_h\n", "a: {b: \"c\",d: {e: \"f\"}}\n",
};

/* And such as are left to libyaml, be they right or wrong. */
static const char *const left[] = {
	"", "\n", "# c\n", "a", "a:", "a:\n", "a: |\n  b\n", "a: >\n  b\n", "a: 'b'\n", "a: \"b\\n\"\n", "a: \"b\n  c\"\n", "a: b\n  c\n",
	"a: b: c\n", "a: \"b\" c\n", "a: \"b\"#c\n", "a:\"b\"\n", "a : b\n", "\ta: b\n", "a:\tb\n", "a: \"b\tc\"\n", "? a\n: b\n", "\"a\": b\n",
	"- a\n", "a:\n- b\n", "a:\n  - b\n", "a:\n  -\n    b: c\n", "a: &x b\n", "a: *x\n", "a: !x b\n", "a: ~\n", "a: {b: c}\n", "a: {\"b\": \"c\"}\n",
	"a: {b: \"c\",}\n", "a: {b:\"c\"}\n", "a: {b : \"c\"}\n", "a: [ \"b\": \"c\" ]\n", "a: { b }\n", "a: { # c\n}\n", "a: b\na: c\n", "a: {b: \"c\", b: \"d\"}\n",
	"a: b\n c: d\n", "  a: b\nc: d\n", "a:\n    b: c\n  d: e\n", "---\na: b\n", "a: b\n...\n", "a: b\n---\nc: d\n", "%YAML 1.1\n---\na: b\n",
	"\xEF\xBB\277a: b\n", "a: \"\xC3\xBC\"\n", "a: b\r\n", "a: \"b", "a: [\"b\"", "a: {b: \"c\"", "{a: \"b\"}\n", "[\"a\"]\n", "a: -b\n", "a: ,b\n",
	"a:\n  \"b\"\n", "a:\n  { b: \"c\" }\n", "a: b # c\n  d\n", "a: b\n# c\n  d\n",
};

static void test_which(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof taken / sizeof *taken; i++)
		if (!agree(taken[i], strlen(taken[i])))
			fail_msg("left to libyaml: %s", taken[i]);
	for (size_t i = 0; i < sizeof left / sizeof *left; i++)
		if (agree(left[i], strlen(left[i])))
			fail_msg("read quickly: %s", left[i]);
}

static void test_bounds(void **state)
{
	(void)state;
	/* as deep as may be, and one deeper */
	for (int deep = STORE_MOST_DEPTH - 1; deep <= STORE_MOST_DEPTH; deep++) {
		char text[200] = "a: ";
		memset(text + 3, '[', (size_t)deep);
		memset(text + 3 + deep, ']', (size_t)deep);
		text[3 + 2 * deep] = '\0';
		assert_int_equal(agree(text, strlen(text)), deep < STORE_MOST_DEPTH);
	}
	/* as many keys as may be, and one more */
	for (int keys = STORE_MOST_KEYS; keys <= STORE_MOST_KEYS + 1; keys++) {
		static char text[8000];
		size_t used = 0;
		for (int i = 0; i < keys; i++)
			used += (size_t)snprintf(text + used, sizeof text - used, "k%d: v\n", i);
		assert_int_equal(agree(text, used), keys == STORE_MOST_KEYS);
	}
}

static uint32_t seed = 1;

static uint32_t draw(uint32_t below)
{
	seed = seed * 1664525u + 1013904223u;
	return (seed >> 8) % below;
}

/* Put in, take out or exchange one of the characters that structure is made of. */
static size_t disturb(char *text, size_t length, size_t room)
{
	static const char signs[] = "\n\n  :-\"{}[],#ab1\t'&*!|>?%~.\\/_";
	size_t at = draw((uint32_t)length + 1);
	switch (draw(4)) {
	case 0:
		if (at < length) {
			memmove(text + at, text + at + 1, length - at - 1);
			return length - 1;
		}
		return length;
	case 1:
		if (at < length)
			text[at] = signs[draw(sizeof signs - 1)];
		return length;
	case 2: {   /* a piece once more, elsewhere */
		size_t from = draw((uint32_t)length + 1), many = draw(12);
		if (from + many > length || length + many > room)
			return length;
		char piece[12];
		memcpy(piece, text + from, many);
		memmove(text + at + many, text + at, length - at);
		memcpy(text + at, piece, many);
		return length + many;
	}
	default:
		if (length + 1 > room)
			return length;
		memmove(text + at + 1, text + at, length - at);
		text[at] = signs[draw(sizeof signs - 1)];
		return length + 1;
	}
}

static void test_disturbed(void **state)
{
	(void)state;
	const char *wanted = getenv("PM_QUICK_RUNS");
	unsigned long runs = wanted ? strtoul(wanted, NULL, 10) : 60000, read = 0;
	for (unsigned long i = 0; i < runs; i++) {
		char text[1024];
		const size_t count = sizeof taken / sizeof *taken;
		size_t which = draw((uint32_t)count + 2), length;
		if (which < count) {
			length = strlen(taken[which]);
			memcpy(text, taken[which], length);
		} else {
			/* some lines out of a job */
			static char job[MANY_JOBS_ROOM];
			size_t whole = many_job(draw(1000), job);
			length = 300 + draw(500);
			length = length < whole ? length : whole;
			while (length > 2 && strncmp(job + length - 3, " }\n", 3) != 0)
				length--;
			memcpy(text, job, length);
		}
		for (uint32_t times = draw(4) + 1; times <= 4; times++)
			length = disturb(text, length, sizeof text);
		read += agree(text, length);
	}
	/* enough of them are still read for the comparison to say something */
	assert_true(read > runs / 20);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_files),
		cmocka_unit_test(test_which),
		cmocka_unit_test(test_bounds),
		cmocka_unit_test(test_disturbed),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
