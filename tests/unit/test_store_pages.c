/* docs/format.md says what the field tables say. Run from the top of the tree. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include "pages.h"
#include "store/fields.h"

static void format(void **state)
{
	(void)state;
	struct pm_arena arena;
	pm_arena_init(&arena);
	char *page = store_format_page(&arena);
	assert_non_null(page);
	if (!page_matches("docs/format.md", page))
		fail_msg("docs/format.md differs from the field tables: run make docs");
	pm_arena_free(&arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(format) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
