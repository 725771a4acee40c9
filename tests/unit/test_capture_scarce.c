/* Each open listing read with the Nth allocation failing, for every N: the reader
 * says so and gives everything back. Our own allocations are wrapped by the
 * linker, the XML library's through its hooks; the JSON library does not tell
 * what it had no memory for. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <libxml/parser.h>

#include "listing_text.h"
#include "source_shapes.h"

static bool armed;
static size_t asked, fail_at;
static long held;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void __real_free(void *block);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);
void __wrap_free(void *block);

static bool refused(void)
{
	return armed && ++asked == fail_at;
}

void *__wrap_malloc(size_t size)
{
	void *block = refused() ? NULL : __real_malloc(size);
	held += armed && block;
	return block;
}

void *__wrap_calloc(size_t count, size_t size)
{
	void *block = refused() ? NULL : __real_calloc(count, size);
	held += armed && block;
	return block;
}

void *__wrap_realloc(void *old, size_t size)
{
	void *block = refused() ? NULL : __real_realloc(old, size);
	held += armed && block && !old;
	return block;
}

void __wrap_free(void *block)
{
	held -= armed && block;
	__real_free(block);
}

static char *copy(const char *text)
{
	char *block = __wrap_malloc(strlen(text) + 1);
	return block ? strcpy(block, text) : NULL;
}

/* The XML library says on standard error that it has no memory for a parser. */
static void silent(void *context, const char *format, ...)
{
	(void)context, (void)format;
}

/* True when nothing failed. */
static bool read_shape(const struct source_shape *shape, size_t at)
{
	struct pm_arena arena, shown;
	struct listing listing;
	struct pm_gear gear = roster_gear();
	enum source_kind kind;
	asked = 0, held = 0, fail_at = at;
	pm_arena_init(&arena);
	armed = true;
	struct source *source = source_begin(&listing, &gear, &arena, SOURCE_AUTO);
	bool good = source != NULL;
	if (source && !source_feed(source, shape->text, strlen(shape->text))) good = false;
	if (source && !source_end(source, &kind)) good = false;
	size_t used = asked;
	armed = false;
	fail_at = 0;
	assert_true(listing_is_sound(&listing, &gear));
	pm_arena_init(&shown);
	const char *got = listing_text(&listing, true, &shown);
	if (good && strcmp(got, shape->expected) != 0) fail_msg("%s, allocation %zu: taken for whole:\n%s", shape->what, at, got);
	pm_arena_free(&shown);
	if (used < at && !good) fail_msg("%s: failed with all its memory", shape->what);
	/* The XML library can do without some of what it asks for. */
	if (used >= at && shape->kind != SOURCE_YANG_XML) assert_false(good);
	armed = true;
	pm_arena_free(&arena);
	xmlResetLastError();
	armed = false;
	if (held) fail_msg("%s, allocation %zu: %ld not given back", shape->what, at, held);
	return used < at;
}

static void test_shortage(void **state)
{
	(void)state;
	size_t most = 0;
	for (size_t i = 0; i < sizeof source_shapes / sizeof source_shapes[0]; i++) {
		size_t at = 1;
		while (!read_shape(&source_shapes[i], at)) at++;
		if (at > most) most = at;
	}
	assert_true(most > 10);
}

int main(void)
{
	if (xmlMemSetup(__wrap_free, __wrap_malloc, __wrap_realloc, copy) != 0) return 1;
	xmlInitParser();
	xmlSetGenericErrorFunc(NULL, silent);
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_shortage) };
	int failed = cmocka_run_group_tests(tests, NULL, NULL);
	xmlCleanupParser();
	return failed;
}
