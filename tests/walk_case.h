/* walk_case.h - a case of the wizard's tests: a practice site at its first step,
 * gone again when the case is over. */
#ifndef TESTS_WALK_CASE_H
#define TESTS_WALK_CASE_H

#include "walk_course.h"

static struct walk_fixture f;

static int at_first_step(void **state)
{
	(void)state;
	walk_start(&f);
	walk_key(&f, KEYS_ENTER);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	walk_end(&f);
	return 0;
}

/* A file whose cases begin further on defines the function that leads there. */
#ifndef CASE_BEGINS
#define CASE_BEGINS at_first_step
#endif
#define CASE(name) cmocka_unit_test_setup_teardown(name, CASE_BEGINS, tear_down)

#endif
