#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/gear.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* `column`: the first character that does not fit; 0: it fits. */
static const struct { const char *form, *text; unsigned column; } cases[] = {
	{ NULL, "anything", 0 }, { "", "anything", 0 }, { NULL, NULL, 0 }, { "", NULL, 0 },
	{ "9", "0", 0 }, { "9", "9", 0 }, { "9", "A", 1 }, { "9", "", 1 }, { "9", NULL, 1 }, { "9", "12", 2 },
	{ "A", "A", 0 }, { "A", "Z", 0 }, { "A", "a", 1 }, { "A", "1", 1 }, { "A", "\xC3\x89", 1 },
	{ "H", "0", 0 }, { "H", "F", 0 }, { "H", "G", 1 }, { "H", "f", 1 }, { "H", "@", 1 },
	{ "?", "0", 0 }, { "?", "Q", 0 }, { "?", "q", 1 }, { "?", "-", 1 }, { "?", "?", 1 },
	{ "EG12-99-99999", "EG12-26-00417", 0 },     /* E, G, 1, 2 and the hyphen stand for themselves */
	{ "EG12-99-99999", "EG13-26-00417", 4 }, { "EG12-99-99999", "EG12-2B-00417", 7 },
	{ "HA-9", "HA-9", 1 }, { "HA-9", "CZ-9", 0 }, { "\\H\\A-9", "HA-9", 0 }, { "\\H\\A-9", "CZ-9", 1 },
	{ "GS-9999", "GS-0417", 0 }, { "GS-9999", "GS-041", 7 }, { "GS-9999", "GS-04170", 8 }, { "GS-9999", "GS-O417", 4 },
	{ "GS-9999", "gs-0417", 1 }, { "GS-9999", "GS 0417", 3 }, { "GS-9999", "GS-0417 ", 8 }, { "GS-9999", " GS-0417", 1 },
	{ "\\9", "9", 0 }, { "\\9", "8", 1 }, { "\\A\\?\\H", "A?H", 0 }, { "\\A\\?\\H", "A?h", 3 },
	{ "\\\\", "\\", 0 }, { "9\\", "1\\", 0 }, { "9\\", "1", 2 },
};

static void test_match(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(cases); i++) {
		unsigned column = 0;
		bool fits = pm_form_match(cases[i].form, cases[i].text, &column);
		if (fits != (cases[i].column == 0) || column != cases[i].column)
			fail_msg("%s on %s: column %u", cases[i].form, cases[i].text, column);
		assert_int_equal(pm_form_match(cases[i].form, cases[i].text, NULL), fits);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_match) };
	return cmocka_run_group_tests_name("forms", tests, NULL, NULL);
}
