/* Who can supply what a gate lacks: one answer for the check, the wizard and the review,
 * whether it is the phase's turn or not. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include "fleet_fixture.h"

static struct fleet_fixture f;

static const char *who_of(size_t phase, bool closing, const char *condition)
{
	const struct pm_result *result = fixture_check(&f.job);
	for (size_t i = 0; i < result->gates.count; i++) {
		const struct pm_gate_line *line = &result->gates.line[i];
		if (line->phase == phase && line->closing == closing && pm_same(line->need->condition.text, condition))
			return line->met ? "met" : line->who;
	}
	return "no such line";
}

static void begin(void)
{
	fleet_init(&f);
	fleet_job(&f, "TB-01", NULL);
	f.job.phases[REGISTER].who = word("desk");
	f.job.phases[BOOK].who = word("operations centre");
	f.job.phases[CUTOVER].who = word("Lead");
}

static void end(void)
{
	fixture_forget(&f.job);
	fleet_forget(&f);
}

static void steps(void **state)
{
	(void)state;
	static const struct { size_t reach, phase; const char *decision, *who; } rows[] = {
		{ PREPARE, PREPARE, NULL, "technician" }, { PREPARE, MUSTER, NULL, "technician" },
		/* not begun yet, and current: the same */
		{ PREPARE, REGISTER, NULL, "lead" }, { REGISTER, REGISTER, NULL, "lead" },
		{ REGISTER, REGISTER, "", "operations centre" }, { REGISTER, REGISTER, "rejected", "lead" },
		{ REGISTER, REGISTER, "accepted", "met" },
		{ PREPARE, BOOK, NULL, "operations centre" }, { BOOK, BOOK, NULL, "operations centre" },
		{ PREPARE, CLOSE, NULL, "technician" },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		begin();
		fixture_reach(&f.job, rows[i].reach);
		if (rows[i].decision)
			fixture_register(&f.job, rows[i].decision[0] ? rows[i].decision : NULL);
		const char *who = who_of(rows[i].phase, true, "steps-done");
		if (strcmp(who, rows[i].who) != 0)
			fail_msg("row %zu: %s", i, who);
		end();
	}
}

/* What only time will open is with whom the plan names; what time will not, with whom
 * the table does. */
static void time_alone(void **state)
{
	(void)state;
	begin();
	fixture_reach(&f.job, CUTOVER);
	assert_string_equal(who_of(CUTOVER, false, "appointment-open"), "lead");
	f.job.the_case.now = pm_when_utc(FIXTURE_ENDS + 1);
	assert_string_equal(who_of(CUTOVER, false, "appointment-open"), "operations centre");
	end();
	begin();
	assert_string_equal(who_of(CUTOVER, false, "appointment-open"), "operations centre");
	assert_string_equal(who_of(PREPARE, true, "kit-complete"), "lead");
	end();
}

/* The summary's holder is the who of the first line that is not met. */
static void one_answer(void **state)
{
	(void)state;
	for (size_t reach = PREPARE; reach < FIXTURE_PHASES; reach++) {
		begin();
		fixture_reach(&f.job, reach);
		const struct pm_result *result = fixture_check(&f.job);
		const char *who = NULL;
		for (size_t i = 0; i < result->gates.count && !who; i++)
			if (result->gates.line[i].phase == result->phase && !result->gates.line[i].met)
				who = result->gates.line[i].who;
		assert_non_null(who);
		who = fixture_text(&f.job, "%s", who);
		const struct pm_site_summary *site = fleet_add_job(&f);
		assert_string_equal(site->waits_who, who);
		assert_string_equal(pm_holder_word(site->holder), who);
		fleet_forget(&f);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(steps), cmocka_unit_test(time_alone), cmocka_unit_test(one_answer) };
	return cmocka_run_group_tests_name("who", tests, NULL, NULL);
}
