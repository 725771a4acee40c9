/* The walk without a terminal: the same keys, so the same refusals. */
#include "walk_course.h"

static struct walk_fixture f;

static int set_up(void **state)
{
	(void)state;
	walk_start(&f);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	walk_end(&f);
	return 0;
}

static void nobody(void *context, const char *line)
{
	(void)context;
	(void)line;
}

static bool has_step(const char *line, size_t length, const char *step)
{
	char wanted[80];
	snprintf(wanted, sizeof wanted, "\"%s\"", step);
	for (size_t i = 0; i + strlen(wanted) <= length; i++)
		if (strncmp(line + i, wanted, strlen(wanted)) == 0)
			return true;
	return false;
}

/* The practice site's own answers but those of the steps named; `swap`, when given,
 * stands for the text `of` in what is left. */
static bool walk_without(const char *const *steps, size_t count, const char *of, const char *swap, struct pm_fault *fault)
{
	char path[400], text[16000];
	size_t length = 0, used = 0;
	char *whole = scratch_read("data/demo/answers.yaml", &length);
	assert_non_null(whole);
	for (const char *line = whole; *line; ) {
		size_t end = strcspn(line, "\n") + 1;
		bool left = false;
		for (size_t i = 0; i < count; i++)
			left = left || has_step(line, end, steps[i]);
		if (!left) {
			memcpy(text + used, line, end);
			used += end;
		}
		line += end;
	}
	text[used] = '\0';
	free(whole);
	char *at = of ? strstr(text, of) : NULL;
	if (of) {
		assert_non_null(at);
		memmove(at + strlen(swap), at + strlen(of), strlen(at + strlen(of)) + 1);
		memcpy(at, swap, strlen(swap));
	}
	snprintf(path, sizeof path, "%s/answers.yaml", f.folder);
	assert_true(scratch_write(path, text, strlen(text)));
	return drive_unattended(&f.session, path, nobody, NULL, fault);
}

static void the_practice_site_is_walked_to_its_end(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	if (!walk_without(NULL, 0, NULL, NULL, &fault))
		fail_msg("%u: %s", fault.line, fault.message);
	assert_int_equal(f.session.result.phase, f.session.plan.plan.phase_count);
	session_look_for_sheet(&f.session);
	assert_true(f.session.sheet_there);
}

/* Nothing from connect to data-seen was said: it carries nothing. */
static void the_good_verdict_is_refused_here_too(void **state)
{
	(void)state;
	static const char *const steps[] = {
		"connect", "config", "credentials", "on-air", "round-trip", "loss", "data-seen",
	};
	struct pm_fault fault = { 0 };
	assert_false(walk_without(steps, sizeof steps / sizeof *steps, NULL, NULL, &fault));
	assert_non_null(strstr(fault.message, "step \"verdict\" took no answer: not yet, for \"Connect the terminal"));
	assert_false(f.session.result.gates.closed[5]);
	assert_false(f.session.result.gates.open[6]);
	assert_null(pm_fact_last(&f.session.job.job, "step/verdict"));
	assert_null(pm_fact_last(&f.session.job.job, "step/old-wiped"));
}

static void one_gap_is_enough(void **state)
{
	(void)state;
	static const char *const steps[] = { "on-air" };
	struct pm_fault fault = { 0 };
	assert_false(walk_without(steps, 1, NULL, NULL, &fault));
	assert_non_null(strstr(fault.message, "not yet, for \"Have the transmitter released\": not answered"));
}

static void a_note_that_is_lacking_stops_it(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	assert_false(walk_without(NULL, 0, ", note: \"site electrician\"", "", &fault));
	assert_non_null(strstr(fault.message, "step \"dead\" took no answer: type the role of the one who tested"));
}

static void a_sheet_that_is_lacking_stops_it(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	assert_false(walk_without(NULL, 0, "sheet: \"yes\", ", "", &fault));
	assert_non_null(strstr(fault.message, "step \"sheet\" took no answer: no sheet lies beside the job file"));
}

static void a_short_window_stops_it(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	assert_false(walk_without(NULL, 0, "2026-09-14T14:00:00Z", "2026-09-14T11:00:00Z", &fault));
	assert_non_null(strstr(fault.message, "step \"appointment\" took no answer: that window is 1 h 00 min long"));
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(the_practice_site_is_walked_to_its_end), CASE(the_good_verdict_is_refused_here_too), CASE(one_gap_is_enough),
		CASE(a_note_that_is_lacking_stops_it), CASE(a_sheet_that_is_lacking_stops_it), CASE(a_short_window_stops_it),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
