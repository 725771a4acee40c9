/* The course of one job through its gates: what opens when, what reopens, and
 * that nothing gets stuck. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static void clock_at(struct fixture *f, int64_t second) { f->the_case.now = pm_when_utc(second); }

static void assert_phase(struct fixture *f, size_t phase, bool open)
{
	struct pm_result *result = fixture_check(f);
	if (result->phase != phase || (phase < FIXTURE_PHASES && result->gates.open[phase] != open))
		fail_msg("phase %zu, %s; %zu, %s expected", result->phase,
		         result->phase < FIXTURE_PHASES && result->gates.open[result->phase] ? "open" : "shut", phase, open ? "open" : "shut");
}

static void test_all_phases(void **state)
{
	(void)state;
	for (size_t reach = PREPARE; reach <= FIXTURE_PHASES; reach++) {
		struct fixture f;
		fixture_init(&f);
		fixture_reach(&f, reach);
		/* up to the appointment the next move can be made at once */
		assert_phase(&f, reach, reach != CUTOVER);
		assert_int_equal(f.result.ready, reach != CUTOVER);
		assert_int_equal(pm_findings_count(&f.result.findings, PM_STOP), 0);
		fixture_forget(&f);
	}
}

/* The window to the second: shut, open, open, missed. */
static void test_window(void **state)
{
	(void)state;
	static const struct { int64_t now; size_t phase; bool open; } clock[] = {
		{ FIXTURE_NOW, CUTOVER, false }, { FIXTURE_OPENS - 1, CUTOVER, false }, { FIXTURE_OPENS, CUTOVER, true },
		{ FIXTURE_OPENS + 1, CUTOVER, true }, { FIXTURE_ENDS, CUTOVER, true }, { FIXTURE_ENDS + 1, BOOK, true },
	};
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, CUTOVER);
	for (size_t i = 0; i < COUNT(clock); i++) {
		clock_at(&f, clock[i].now);
		assert_phase(&f, clock[i].phase, clock[i].open);
	}
	/* missed: a new window leads on again */
	fixture_say(&f, "desk/appointment", "2026-01-09T09:00:00Z/2026-01-09T11:00:00Z");
	assert_phase(&f, BOOK, true);   /* they are told of it */
	fixture_say(&f, "step/told", "whole");
	assert_phase(&f, CUTOVER, false);
	clock_at(&f, FIXTURE_OPENS + 86400);
	assert_phase(&f, CUTOVER, true);
	fixture_forget(&f);
}

/* Begun inside the window: the gate stays open behind the technician, to the end. */
static void test_begun(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, CUTOVER);
	clock_at(&f, FIXTURE_ENDS);
	fixture_say(&f, "step/go", "whole");
	clock_at(&f, FIXTURE_ENDS + 5 * 3600);
	assert_phase(&f, CUTOVER, true);
	fixture_say(&f, "step/verdict", "whole");
	assert_phase(&f, CLOSE, true);
	fixture_forget(&f);
	/* told to wait inside the window is no beginning: it must be booked again */
	fixture_init(&f);
	fixture_reach(&f, CUTOVER);
	clock_at(&f, FIXTURE_ENDS - 60);
	fixture_say(&f, "step/go", "damaged");
	clock_at(&f, FIXTURE_ENDS + 60);
	assert_phase(&f, BOOK, true);
	fixture_say(&f, "step/go", "whole");
	assert_phase(&f, BOOK, true);
	fixture_forget(&f);
	/* a site without live service needs no window to connect, but a booking all the same */
	fixture_init(&f);
	fixture_reach(&f, CUTOVER);
	f.job.live = false;
	assert_phase(&f, CUTOVER, true);
	fixture_forget(&f);
}

static void replace_serial(struct fixture *f, const char *serial)
{
	fixture_withdraw(f, "router/serial", NULL);
	fixture_twice(f, "router/serial", serial);
}

/* A fact changed after acceptance reopens registration, and only that: the
 * phases before it stay closed, so that the sheet can be sent again. */
static void test_changed_fact(void **state)
{
	(void)state;
	static const size_t reached[] = { BOOK, CUTOVER, CLOSE };
	for (size_t i = 0; i < COUNT(reached); i++) {
		struct fixture f;
		fixture_init(&f);
		fixture_reach(&f, reached[i]);
		assert_phase(&f, reached[i], reached[i] != CUTOVER);
		replace_serial(&f, "EG12-26-00418");
		assert_phase(&f, REGISTER, true);
		const struct pm_finding *finding = fixture_finding(&f, PM_SEAL_CHANGED, NULL);
		assert_non_null(finding);
		assert_int_equal(finding->severity, PM_STOP);
		assert_int_equal(finding->phase, REGISTER);
		assert_non_null(strstr(finding->message, fixture_seal(&f)));
		assert_true(f.result.gates.closed[PREPARE] && f.result.gates.closed[MUSTER]);
		assert_false(fixture_line(&f, CUTOVER, false, "registration-accepted")->met);
		assert_false(f.result.ready);
		/* sent again: the old acceptance counts for nothing */
		fixture_register(&f, NULL);
		assert_phase(&f, REGISTER, true);
		assert_null(fixture_finding(&f, PM_SEAL_CHANGED, NULL));
		fixture_say(&f, "desk/decision", "accepted");
		assert_phase(&f, reached[i], reached[i] != CUTOVER);
		/* changed back: the sheet that stands is now the wrong one */
		replace_serial(&f, "EG12-26-00417");
		assert_phase(&f, REGISTER, true);
		assert_non_null(fixture_finding(&f, PM_SEAL_CHANGED, NULL));
		fixture_forget(&f);
	}
}

/* A second reading that contradicts a registered one reopens too: the seal has
 * lost a value; withdrawing it closes the gate again without the desk. */
static void test_late_conflict(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, CUTOVER);
	fixture_say(&f, "port/port6", "00-00-5E-00-53-61");
	assert_phase(&f, MUSTER, true);
	assert_non_null(fixture_finding(&f, PM_READING_CONFLICT, "port6"));
	assert_non_null(fixture_finding(&f, PM_SEAL_CHANGED, NULL));
	fixture_withdraw(&f, "port/port6", "00:00:5e:00:53:61");
	assert_phase(&f, CUTOVER, false);
	assert_int_equal(pm_findings_count(&f.result.findings, PM_STOP), 0);
	fixture_forget(&f);
}

static void test_rejected(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, REGISTER);
	fixture_register(&f, "rejected");
	assert_phase(&f, REGISTER, true);
	assert_string_equal(fixture_line(&f, REGISTER, true, "registration-accepted")->why, "the latest sheet was rejected: ref 7");
	/* correcting is what a rejection asks for: no finding for it */
	replace_serial(&f, "EG12-26-00419");
	assert_phase(&f, REGISTER, true);
	assert_null(fixture_finding(&f, PM_SEAL_CHANGED, NULL));
	fixture_register(&f, "accepted");
	assert_phase(&f, BOOK, true);
	/* a rejection after all */
	fixture_say(&f, "desk/decision", "rejected");
	assert_phase(&f, REGISTER, true);
	fixture_withdraw(&f, "desk/decision", "rejected");
	assert_phase(&f, BOOK, true);
	fixture_forget(&f);
}

static struct pm_waiver waiver(const char *phase, const char *gate, const char *condition, const char *by, const char *reason)
{
	return (struct pm_waiver){ .phase = word(phase), .gate = word(gate), .condition = { condition, 55, 3 }, .by = word(by),
	                           .reason = word(reason), .at = word("2026-01-01T09:00:00Z"), .when = pm_when_utc(FIXTURE_NOW) };
}

static void break_pattern(struct fixture *f)
{
	fixture_reach(f, REGISTER);
	fixture_withdraw(f, "port/port3", NULL);
	fixture_twice(f, "port/port3", "00-00-5E-00-53-93");
}

static void test_waiver(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	break_pattern(&f);
	f.job.waiver_count = 1;
	f.waivers[0] = waiver("muster", "close", "free-of pattern-break", "a lead", "card was \x1B swapped");
	assert_phase(&f, REGISTER, true);
	const struct pm_gate_line *line = fixture_line(&f, MUSTER, true, "free-of pattern-break");
	assert_true(line->met && line->waived);
	assert_string_equal(line->why, "1 finding of pattern-break; waived by \"a lead\": \"card was \\x1B swapped\"");
	assert_true(fixture_finding(&f, PM_PATTERN_BREAK, "port3")->waived);
	assert_int_equal(pm_findings_count(&f.result.findings, PM_STOP), 0);
	assert_true(f.result.ready);
	assert_true(fixture_line(&f, MUSTER, true, "no-stops")->met);
	assert_null(fixture_finding(&f, PM_WAIVER_VOID, NULL));
	/* it stays when there is nothing left to waive, and says nothing then */
	fixture_withdraw(&f, "port/port3", NULL);
	fixture_twice(&f, "port/port3", fixture_address(&f, 3));
	assert_phase(&f, REGISTER, true);
	line = fixture_line(&f, MUSTER, true, "free-of pattern-break");
	assert_true(line->met && !line->waived);
	assert_string_equal(line->why, "no pattern-break");
	assert_null(fixture_finding(&f, PM_WAIVER_VOID, NULL));
	fixture_forget(&f);
}

static void test_waiver_void(void **state)
{
	(void)state;
	const struct { struct pm_waiver waiver; const char *message; } voids[] = {
		{ waiver("muster", "close", "free-of pattern-break", "", "because"), "waiver of \"free-of pattern-break\": it lacks a name or a reason" },
		{ waiver("muster", "close", "free-of pattern-break", NULL, "because"), "waiver of \"free-of pattern-break\": it lacks a name or a reason" },
		{ waiver("muster", "close", "free-of pattern-break", "a lead", ""), "waiver of \"free-of pattern-break\": it lacks a name or a reason" },
		{ waiver("muster", "open", "free-of pattern-break", "a lead", "because"), "waiver of \"free-of pattern-break\": the plan allows no such waiver at that gate" },
		{ waiver("close", "close", "free-of pattern-break", "a lead", "because"), "waiver of \"free-of pattern-break\": the plan allows no such waiver at that gate" },
		{ waiver("muster", "close", "free-of  pattern-break", "a lead", "because"), "waiver of \"free-of  pattern-break\": the plan allows no such waiver at that gate" },
		{ waiver("muster", "close", "no-stops", "a lead", "because"), "waiver of \"no-stops\": the plan allows no such waiver at that gate" },
		{ waiver("muster", "close", "roster-confirmed", "a lead", "because"), "waiver of \"roster-confirmed\": the plan allows no such waiver at that gate" },
		{ waiver("cutover", "open", "appointment-open", "a lead", "because"), "waiver of \"appointment-open\": the plan allows no such waiver at that gate" },
		{ waiver(NULL, NULL, NULL, "a lead", "because"), "waiver of nothing: the plan allows no such waiver at that gate" },
	};
	for (size_t i = 0; i < COUNT(voids); i++) {
		struct fixture f;
		fixture_init(&f);
		break_pattern(&f);
		f.job.waiver_count = 1;
		f.waivers[0] = voids[i].waiver;
		assert_phase(&f, MUSTER, true);
		assert_false(fixture_line(&f, MUSTER, true, "free-of pattern-break")->met);
		assert_false(fixture_finding(&f, PM_PATTERN_BREAK, NULL)->waived);
		const struct pm_finding *finding = fixture_finding(&f, PM_WAIVER_VOID, NULL);
		assert_non_null(finding);
		assert_string_equal(finding->message, voids[i].message);
		assert_int_equal(finding->place.line, 55);
		assert_int_equal(pm_findings_count(&f.result.findings, PM_STOP), 1);
		fixture_forget(&f);
	}
}

/* Kit that is short may be waived; the finding itself stays to be seen. */
static void test_waived_kit(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, MUSTER);
	fixture_say(&f, "kit/screws", "3");
	assert_phase(&f, PREPARE, true);
	f.job.waiver_count = 1;
	f.waivers[0] = waiver("prepare", "close", "kit-complete", "a lead", "three will hold");
	assert_phase(&f, MUSTER, true);
	assert_non_null(fixture_finding(&f, PM_KIT_SHORT, NULL));
	/* it does not stand for what was not asked: every item must be counted */
	fixture_withdraw(&f, "kit/screws", NULL);
	assert_phase(&f, PREPARE, true);
	fixture_forget(&f);
}

/* The verdict that the swap failed leads into the last phase, which then asks
 * for the way back and cannot close as if all were well. */
static void test_failed_cutover(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, CUTOVER);
	clock_at(&f, FIXTURE_OPENS);
	fixture_say(&f, "step/go", "whole");
	fixture_say(&f, "step/verdict", "damaged");
	assert_phase(&f, CLOSE, true);
	fixture_say(&f, "step/records", "kept");
	assert_phase(&f, CLOSE, true);
	assert_false(fixture_line(&f, CLOSE, true, "answered verdict")->met);
	assert_true(fixture_line(&f, CLOSE, true, "steps-done")->met);   /* old/serial is not asked for */
	assert_non_null(fixture_finding(&f, PM_STEP_HALTED, NULL));
	fixture_forget(&f);
}

/* A site that carries the service over a stop was never proved: nothing of the last
 * phase may be done, until it is put right or said to have failed. */
static void test_founded_cutover(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	f.close[CUTOVER][0].condition = f.open[CLOSE][0].condition = word("outcome-founded verdict");
	fixture_reach(&f, CUTOVER);
	clock_at(&f, FIXTURE_OPENS);
	fixture_say(&f, "step/verdict", "whole");
	assert_phase(&f, CUTOVER, true);
	assert_false(f.result.gates.open[CLOSE]);
	fixture_say(&f, "step/go", "damaged");
	assert_phase(&f, CUTOVER, true);
	assert_false(f.result.gates.open[CLOSE]);
	fixture_say(&f, "step/verdict", "damaged");
	assert_phase(&f, CLOSE, true);
	fixture_say(&f, "step/verdict", "whole");
	fixture_say(&f, "step/go", "whole");
	assert_phase(&f, CLOSE, true);
	/* once the way back was begun, what was proved before it says nothing any more */
	fixture_say(&f, "step/back", "leads are back");
	assert_phase(&f, CUTOVER, true);
	assert_string_equal(fixture_line(&f, CUTOVER, true, "outcome-founded verdict")->why,
	                    "\"verdict\": known, but before it \"go\": answered before the way back was begun");
	fixture_say(&f, "step/verdict", "damaged");
	assert_true(fixture_check(&f)->gates.open[CLOSE]);
	fixture_say(&f, "step/verdict", "whole");
	assert_phase(&f, CUTOVER, true);
	fixture_say(&f, "step/go", "whole");
	assert_phase(&f, CLOSE, true);
	/* and what comes to light later shuts it again */
	fixture_say(&f, "step/go", "missing");
	assert_phase(&f, CUTOVER, true);
	assert_false(f.result.gates.open[CLOSE]);
	fixture_forget(&f);
}

/* An answer without the note that it needs is told among the findings. */
static void test_note_lacking(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	f.steps[PREPARE][1].note = word("who looked");
	fixture_reach(&f, MUSTER);
	fixture_check(&f);
	const struct pm_finding *finding = fixture_finding(&f, PM_ANSWER_UNKNOWN, NULL);
	assert_non_null(finding);
	assert_string_equal(finding->message, "\"look\" was answered \"whole\" without its note, \"who looked\"");
	fixture_say(&f, "step/look", "so so");
	fixture_check(&f);
	assert_string_equal(fixture_finding(&f, PM_ANSWER_UNKNOWN, NULL)->message,
	                    "\"look\" was answered \"so so\", which is none of its answers");
	fixture_say(&f, "step/look", "whole")->note = word("the crew");
	fixture_check(&f);
	assert_null(fixture_finding(&f, PM_ANSWER_UNKNOWN, NULL));
	fixture_forget(&f);
}

/* Who decided, why, how, and who typed it stand behind a waived condition. */
static void test_waiver_note(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, MUSTER);
	fixture_say(&f, "kit/screws", "3");
	f.job.waiver_count = 1;
	f.waivers[0] = waiver("prepare", "close", "kit-complete", "a lead", "three will hold");
	f.waivers[0].note = word("by telephone; typed by tech 1");
	assert_phase(&f, MUSTER, true);
	assert_string_equal(fixture_line(&f, PREPARE, true, "kit-complete")->why,
	                    "short of rack screws; waived by \"a lead\": \"three will hold\", \"by telephone; typed by tech 1\"");
	fixture_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_all_phases),   cmocka_unit_test(test_window),      cmocka_unit_test(test_begun),
		cmocka_unit_test(test_changed_fact), cmocka_unit_test(test_late_conflict), cmocka_unit_test(test_rejected),
		cmocka_unit_test(test_waiver),       cmocka_unit_test(test_waiver_void), cmocka_unit_test(test_waived_kit),
		cmocka_unit_test(test_failed_cutover), cmocka_unit_test(test_founded_cutover), cmocka_unit_test(test_note_lacking),
		cmocka_unit_test(test_waiver_note),
	};
	return cmocka_run_group_tests_name("the course of a job", tests, NULL, NULL);
}
