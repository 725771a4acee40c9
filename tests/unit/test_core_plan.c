#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"


static struct pm_word at(const char *text)
{
	return (struct pm_word){ text, 42, 7 };
}

static void no_phases(struct fixture *f) { f->plan.phase_count = 0; f->plan.id = at("plan"); }
static void phase_twice(struct fixture *f) { f->phases[BOOK].id = at("muster"); }
static void phase_nameless(struct fixture *f) { f->phases[BOOK].id = at(""); f->phases[BOOK].title = at("Book"); }
static void phase_null(struct fixture *f) { f->phases[BOOK].id.text = NULL; f->phases[BOOK].title = at("Book"); }
static void phase_empty(struct fixture *f) { f->phases[BOOK].step_count = 0; f->phases[BOOK].id = at("book"); }
static void step_twice(struct fixture *f) { f->steps[BOOK][1].id = at("look"); }
static void step_nameless(struct fixture *f) { f->steps[BOOK][1].id = at(""); }
static void kit_twice(struct fixture *f) { f->kit[1].id = at("lead"); }
static void kit_nameless(struct fixture *f) { f->kit[1].id = at(""); f->kit[1].name = at("screws"); }
static void kit_absent(struct fixture *f) { f->plan.kit_count = 0; f->steps[PREPARE][0].id = at("kit"); }
static void need_unknown(struct fixture *f) { f->open[BOOK][0].condition = at("phase-done register"); }
static void need_null(struct fixture *f) { f->open[BOOK][0].condition = at(NULL); }
static void need_bare(struct fixture *f) { f->close[CLOSE][1].condition = at("answered"); }
static void need_blank(struct fixture *f) { f->close[CLOSE][1].condition = at("answered  "); }
static void need_overarmed(struct fixture *f) { f->close[CLOSE][0].condition = at("steps-done muster"); }
static void need_no_phase(struct fixture *f) { f->open[BOOK][0].condition = at("phase-closed resister"); }
static void need_no_step(struct fixture *f) { f->close[CLOSE][1].condition = at("answered verdicts"); }
static void need_no_code(struct fixture *f) { f->close[MUSTER][2].condition = at("free-of pattern-brake"); }
static void need_itself(struct fixture *f) { f->open[BOOK][0].condition = at("phase-closed book"); }
static void need_later(struct fixture *f) { f->open[BOOK][0].condition = at("phase-closed cutover"); }
static void need_waived(struct fixture *f) { f->close[CLOSE][2] = (struct pm_need){ at("no-stops"), true }; }
static void no_proceed(struct fixture *f) { f->steps[PREPARE][1].id = at("look"); f->steps[PREPARE][1].proceed.count = 0; }
static void both_ways(struct fixture *f) { f->bad[1] = at("whole"); }
static void no_unit(struct fixture *f) { f->steps[MUSTER][0].id = at("volts"); f->steps[MUSTER][0].unit.text = NULL; }
static void no_source(struct fixture *f) { f->steps[MUSTER][0].id = at("volts"); f->steps[MUSTER][0].limit_source.text = ""; }
static void limits_crossed(struct fixture *f) { f->steps[MUSTER][0].id = at("volts"); f->steps[MUSTER][0].least.millionths = 254000000; }
static void no_fact(struct fixture *f) { f->steps[PREPARE][3].id = at("serial"); f->steps[PREPARE][3].fact.text = NULL; }
static void no_code_fact(struct fixture *f) { f->steps[PREPARE][4].id = at("unit"); f->steps[PREPARE][4].fact.text = ""; }
static void no_wait(struct fixture *f) { f->steps[MUSTER][1].id = at("boot"); f->steps[MUSTER][1].wait.text = NULL; }
static void bad_wait(struct fixture *f) { f->steps[MUSTER][1].id = at("boot"); f->steps[MUSTER][1].wait.text = "420 300"; }
static void killer_skippable(struct fixture *f) { f->steps[PREPARE][2].id = at("contact"); f->steps[PREPARE][2].critical = true; }
static void branch_nowhere(struct fixture *f) { f->steps[CUTOVER][2].only_step = at("verdicts"); }
static void branch_itself(struct fixture *f) { f->steps[CUTOVER][2].only_step = at("back"); }
static void branch_answer(struct fixture *f) { f->steps[CUTOVER][2].only_answer = at("broken"); }
static void branch_no_answer(struct fixture *f) { f->steps[CUTOVER][2].only_answer = at(NULL); }

static void note_on_text(struct fixture *f) { f->steps[PREPARE][2].id = at("contact"); f->steps[PREPARE][2].note = word("who"); }
static void words_on_answer(struct fixture *f) { f->steps[PREPARE][1].id = at("look"); f->steps[PREPARE][1].words = true; }
static void contact_on_answer(struct fixture *f) { f->steps[PREPARE][1].id = at("look"); f->steps[PREPARE][1].contact = true; }
static void sheet_on_sent(struct fixture *f) { f->steps[REGISTER][0].id = at("sent"); f->steps[REGISTER][0].sheet = true; }
static void minutes_on_wait(struct fixture *f) { f->steps[MUSTER][1].id = at("boot"); f->steps[MUSTER][1].least_minutes = 5; }
static void show(struct fixture *f, const char *of) { f->bad[0] = at(of); f->steps[BOOK][0].show = (struct pm_words){ f->bad, 1 }; }
static void show_nothing(struct fixture *f) { show(f, NULL); }
static void show_no_step(struct fixture *f) { show(f, "step/nowhere"); }
static void show_no_fact(struct fixture *f) { show(f, "site/name"); }

static const struct { void (*plant)(struct fixture *); const char *message; } faults[] = {
	{ no_phases, "a plan needs at least one phase" },
	{ phase_twice, "phase \"muster\" stands twice" },
	{ phase_nameless, "a phase without an id" }, { phase_null, "a phase without an id" },
	{ phase_empty, "phase \"book\" has no step" },
	{ step_twice, "step \"look\" stands twice" }, { step_nameless, "a step without an id" },
	{ kit_twice, "kit item \"lead\" stands twice" }, { kit_nameless, "a kit item without an id" },
	{ kit_absent, "step \"kit\" lacks a kit list in the plan" },
	{ need_unknown, "unknown condition \"phase-done register\"" }, { need_null, "unknown condition nothing" },
	{ need_bare, "condition \"answered\" lacks what it is about" }, { need_blank, "condition \"answered  \" lacks what it is about" },
	{ need_overarmed, "condition \"steps-done muster\" takes nothing after its name" },
	{ need_no_phase, "condition \"phase-closed resister\" names no known PHASE" },
	{ need_no_step, "condition \"answered verdicts\" names no known STEP" },
	{ need_no_code, "condition \"free-of pattern-brake\" names no known CODE" },
	{ need_itself, "condition \"phase-closed book\" waits for a phase that does not come before" },
	{ need_later, "condition \"phase-closed cutover\" waits for a phase that does not come before" },
	{ need_waived, "condition \"no-stops\" can't be waived" },
	{ no_proceed, "step \"look\" lacks proceed, the answers that let the job go on" },
	{ both_ways, "answer \"whole\" both proceeds and halts" },
	{ no_unit, "step \"volts\" lacks unit" }, { no_source, "step \"volts\" lacks limit-source, where its limits come from" },
	{ limits_crossed, "step \"volts\" lacks limits in order: least is above most" },
	{ no_fact, "step \"serial\" lacks fact, what it reads" }, { no_code_fact, "step \"unit\" lacks fact, what it reads" },
	{ no_wait, "step \"boot\" lacks wait: \"boot\", or the least and the most seconds as in \"300 420\"" },
	{ bad_wait, "step \"boot\" lacks wait: \"boot\", or the least and the most seconds as in \"300 420\"" },
	{ killer_skippable, "step \"contact\" is critical and can't be skippable" },
	{ branch_nowhere, "only-if names no other step: \"verdicts\"" }, { branch_itself, "only-if names no other step: \"back\"" },
	{ note_on_text, "step \"contact\" asks for no answer and has no use for note" },
	{ words_on_answer, "step \"look\" asks for no text and has no use for words" },
	{ contact_on_answer, "step \"look\" asks for no text and has no use for contact" },
	{ sheet_on_sent, "step \"sent\" asks for no answer and has no use for sheet" },
	{ minutes_on_wait, "step \"boot\" asks for no appointment and has no use for least-minutes" },
	{ show_nothing, "show names no fact of the job: nothing" }, { show_no_step, "show names no fact of the job: \"step/nowhere\"" },
	{ show_no_fact, "show names no fact of the job: \"site/name\"" },
	{ branch_answer, "only-if names no answer of that step: \"broken\"" }, { branch_no_answer, "only-if names no answer of that step: nothing" },
};

static void test_faults(void **state)
{
	(void)state;
	struct fixture f;
	struct pm_fault fault = { .kind = PM_FAULT_NONE };
	fixture_init(&f);
	if (!pm_plan_valid(&f.plan, &fault))
		fail_msg("the fixture's own plan: %s", fault.message);
	assert_int_equal(fault.kind, PM_FAULT_NONE);
	for (size_t i = 0; i < COUNT(faults); i++) {
		fixture_init(&f);
		faults[i].plant(&f);
		fault = (struct pm_fault){ .kind = PM_FAULT_NONE };
		if (pm_plan_valid(&f.plan, &fault))
			fail_msg("accepted, should have been: %s", faults[i].message);
		assert_string_equal(fault.message, faults[i].message);
		assert_int_equal(fault.kind, PM_FAULT_VALUE);
		assert_string_equal(fault.file, "plan.yaml");
		if (fault.line != 42 || fault.column != 7)
			fail_msg("\"%s\" at %u:%u", fault.message, fault.line, fault.column);
		assert_false(pm_plan_valid(&f.plan, NULL));
	}
}

/* Every row that may never be waived is refused when a plan lets it be. */
static void test_never_waived(void **state)
{
	(void)state;
	size_t count, refused = 0;
	const struct pm_condition *table = pm_condition_table(&count);
	for (size_t i = 0; i < count; i++) {
		struct fixture f;
		struct pm_fault fault;
		const char *argument = table[i].argument;
		fixture_init(&f);
		const char *given = !argument ? "" : pm_same(argument, "PHASE") ? " muster" : pm_same(argument, "STEP") ? " boot"
		                    : pm_same(argument, "CODE") ? " seal-changed" : " router/serial";
		f.close[CLOSE][1] = (struct pm_need){ word(fixture_text(&f, "%s%s", table[i].name, given)), true };
		bool good = pm_plan_valid(&f.plan, &fault);
		if (good == table[i].never_waived)
			fail_msg("%s: %s", table[i].name, good ? "may be waived" : fault.message);
		refused += !good;
		assert_true(table[i].meaning[0] && table[i].who[0]);
		const char *rest = "";
		assert_ptr_equal(pm_condition_find(f.close[CLOSE][1].condition.text, &rest), &table[i]);
		assert_true(argument ? pm_same(rest, given + 1) : rest == NULL);
	}
	assert_true(refused >= 6);
	assert_null(pm_condition_find("steps", NULL));
	assert_null(pm_condition_find("", NULL));
	assert_null(pm_condition_find("Steps-done", NULL));
}

static void test_wait_read(void **state)
{
	(void)state;
	static const struct { const char *text; bool good; int64_t least, most; } waits[] = {
		{ "300 420", true, 300, 420 }, { "0 0", true, 0, 0 }, { "5 5", true, 5, 5 }, { "300  420", true, 300, 420 },
		{ "300 420 ", true, 300, 420 }, { "300\t420", true, 300, 420 }, { "604800 604800", true, 604800, 604800 },
		{ "604800 604801", false, 0, 0 }, { "420 300", false, 0, 0 }, { "300", false, 0, 0 }, { "300 420 500", false, 0, 0 },
		{ " 300 420", false, 0, 0 }, { "", false, 0, 0 }, { NULL, false, 0, 0 }, { "boot", false, 0, 0 }, { "-1 5", false, 0, 0 },
		{ "1.5 2", false, 0, 0 }, { "300-420", false, 0, 0 },
		{ "00000000000000000000000000000000000000001 2", false, 0, 0 },
	};
	for (size_t i = 0; i < COUNT(waits); i++) {
		int64_t least = -1, most = -1;
		if (pm_wait_read(waits[i].text, &least, &most) != waits[i].good)
			fail_msg("wait %s", waits[i].text);
		if (waits[i].good)
			assert_true(least == waits[i].least && most == waits[i].most);
		else
			assert_true(least == -1 && most == -1);
	}
}

static void test_look_ups(void **state)
{
	(void)state;
	struct fixture f;
	size_t phase = 99;
	fixture_init(&f);
	assert_ptr_equal(pm_plan_step(&f.plan, "told", &phase), &f.steps[BOOK][1]);
	assert_int_equal(phase, BOOK);
	assert_null(pm_plan_step(&f.plan, "nowhere", &phase));
	assert_int_equal(phase, BOOK);
	assert_ptr_equal(pm_plan_phase(&f.plan, "close"), &f.phases[CLOSE]);
	assert_null(pm_plan_phase(&f.plan, "closes"));
	static const struct { const char *step, *fact; } facts[] = {
		{ "look", "step/look" }, { "volts", "step/volts" }, { "boot", "step/boot" }, { "serial", "router/serial" },
		{ "unit", "site/unit" }, { "old", "old/serial" }, { "sent", "desk/sent" }, { "decision", "desk/decision" },
		{ "window", "desk/appointment" }, { "kit", "step/kit" }, { "roll", "step/roll" }, { "contact", "step/contact" },
	};
	for (size_t i = 0; i < COUNT(facts); i++)
		assert_string_equal(pm_step_fact(pm_plan_step(&f.plan, facts[i].step, NULL), &f.arena), facts[i].fact);
	for (int i = 0; i < PM_ASKS; i++) {
		enum pm_ask ask;
		assert_true(pm_ask_find(pm_ask_word((enum pm_ask)i), &ask));
		assert_int_equal(ask, i);
	}
	enum pm_ask ask;
	assert_false(pm_ask_find("", &ask));
	fixture_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_faults), cmocka_unit_test(test_never_waived),
		cmocka_unit_test(test_wait_read), cmocka_unit_test(test_look_ups),
	};
	return cmocka_run_group_tests_name("plans", tests, NULL, NULL);
}
