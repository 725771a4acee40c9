/* The pages made from the core's tables say what the tables say, and the tables
 * have every word that a page needs. Run from the top of the tree. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include "pages.h"
#include "portmuster/finding.h"
#include "portmuster/gate.h"
#include "report/pages.h"

static void page_is_current(const char *path, char *(*make)(struct pm_arena *))
{
	struct pm_arena arena;
	pm_arena_init(&arena);
	char *page = make(&arena);
	assert_non_null(page);
	if (!page_matches(path, page))
		fail_msg("%s differs from the tables: run make docs", path);
	pm_arena_free(&arena);
}

static void findings(void **state)
{
	(void)state;
	page_is_current("docs/findings.md", report_findings_page);
}

static void conditions(void **state)
{
	(void)state;
	page_is_current("docs/conditions.md", report_conditions_page);
}

static void ranges(void **state)
{
	(void)state;
	page_is_current("docs/ranges.md", report_ranges_page);
}

static void every_code_has_its_words(void **state)
{
	(void)state;
	for (int i = 0; i < PM_CODES; i++) {
		const struct pm_code_row *row = pm_code_row((enum pm_code)i);
		enum pm_code found;
		assert_non_null(row->name);
		assert_true(row->title && row->why && row->remedy && row->source);
		assert_true(pm_code_find(row->name, &found));
		assert_int_equal(found, i);
		/* a remedy is a sentence part: lower case first, no full stop */
		assert_true(row->remedy[0] >= 'a' && row->remedy[0] <= 'z');
		assert_true(row->remedy[strlen(row->remedy) - 1] != '.');
	}
}

static void every_condition_is_found(void **state)
{
	(void)state;
	size_t count;
	const struct pm_condition *row = pm_condition_table(&count);
	assert_true(count >= 15);
	for (size_t i = 0; i < count; i++) {
		assert_ptr_equal(pm_condition_find(row[i].name, NULL), &row[i]);
		assert_true(row[i].meaning && row[i].who && row[i].met);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(findings), cmocka_unit_test(conditions), cmocka_unit_test(ranges),
		cmocka_unit_test(every_code_has_its_words), cmocka_unit_test(every_condition_is_found),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
