/* What signing in and the steps look like. */
#include "walk_pictures.h"

/* --- signing in ---------------------------------------------------------------- */

static void hello(void **state)
{
	(void)state;
	expect_sizes("hello-fresh");
	walk_key(&f, KEYS_ESCAPE);
	expect("leave-hello");
	walk_type(&f, "n");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "x");
	expect("hello-too-short");
	settle("hello");
}

static void hello_again(void **state)
{
	(void)state;
	course_say_yes(&f, 1);
	walk_answer(&f, "duty desk");
	walk_wait(&f, 4000);
	walk_reopen(&f);
	expect_sizes("hello-resumed");
	settle("hello-again");
}

static void too_small(void **state)
{
	(void)state;
	walk_size(&f, 11, 40);
	expect("too-small-low");
	walk_size(&f, 24, 39);
	expect("too-small-narrow");
	walk_size(&f, 1, 1);
	expect("too-small-dot");
	walk_size(&f, 24, 80);
	expect("hello-fresh-ascii");
	settle("too-small");
}

/* --- steps, one of each kind ----------------------------------------------------- */

static void answer_step(void **state)
{
	(void)state;
	expect_sizes("step-answer");
	walk_type(&f, "c");
	expect_sizes("step-answer-chosen");
	walk_type(&f, "+rang twice");
	expect_sizes("step-answer-note");
	walk_key(&f, KEYS_ENTER);
	expect_sizes("step-answer-halted");
	walk_type(&f, "a");
	expect("step-answer-halted-again");
	settle("answer-step");
}

static void text_step(void **state)
{
	(void)state;
	walk_to(&f, "contact");
	expect_sizes("step-text");
	walk_answer(&f, "duty desk");
	walk_key(&f, KEYS_BACK_TAB);
	expect("step-text-answered");
	settle("text-step");
}

static void kit_step(void **state)
{
	(void)state;
	walk_to(&f, "kit");
	expect_sizes("step-kit");
	course_kit(&f);
	walk_to(&f, "kit");
	walk_answer(&f, "0");
	walk_to(&f, "kit");
	walk_key(&f, KEYS_DOWN);
	expect_sizes("step-kit-short");
	walk_answer(&f, "two");
	expect("step-kit-no-number");
	settle("kit-step");
}

static void serial_step(void **state)
{
	(void)state;
	walk_to(&f, "new-serial");
	expect_sizes("step-serial");
	walk_answer(&f, "EG12-26-00417");
	expect_sizes("step-serial-second");
	walk_type(&f, "EG12-26-0047");
	expect("step-serial-typing");
	walk_key(&f, KEYS_ENTER);
	expect("step-serial-malformed");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "EG12-26-00471");
	expect_sizes("step-serial-conflict");
	walk_key(&f, KEYS_ENTER);
	expect_sizes("take-back");
	walk_key(&f, KEYS_DOWN);
	walk_key(&f, KEYS_ENTER);
	walk_type(&f, "misread");
	expect_sizes("take-back-reason");
	walk_key(&f, KEYS_ENTER);
	expect("take-back-done");
	walk_key(&f, KEYS_ESCAPE);
	walk_answer(&f, "EG12-26-00417");
	walk_to(&f, "new-serial");
	expect("step-serial-confirmed");
	settle("serial-step");
}

static void code_step(void **state)
{
	(void)state;
	walk_to(&f, "site-unit");
	expect("step-code");
	walk_answer(&f, "GU-0471-K");
	expect_sizes("step-code-against-list");
	settle("code-step");
}

static void number_step(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_say_yes(&f, 1);
	expect_sizes("step-number");
	walk_answer(&f, "12 V");
	expect("step-number-unit");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "260");
	expect("step-number-outside");
	walk_key(&f, KEYS_ENTER);
	expect("step-number-halted");
	settle("number-step");
}

static void wait_step(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_say_yes(&f, 1);
	walk_answer(&f, "231.4");
	expect_sizes("step-wait-before");
	course_say_yes(&f, 1);
	walk_wait(&f, 7);
	expect_sizes("step-wait-running");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "q");
	expect_sizes("leave-waiting");
	walk_type(&f, "n");
	walk_wait(&f, 13);
	expect_sizes("step-wait-over");
	settle("wait-step");
}

static void held_phase(void **state)
{
	(void)state;
	walk_to(&f, "isolate");
	expect_sizes("step-held");
	walk_answer(&f, "a");
	expect_sizes("step-held-refused");
	settle("held-phase");
}

/* Words that go on below are shown to their end before an answer is taken; in a low
 * window they come alone at first. */
static void words_that_go_on(void **state)
{
	(void)state;
	course_prepare(&f);
	walk_size(&f, 18, 60);
	walk_to(&f, "isolate");
	for (int i = 0; i < 4; i++) {
		expect("step-long");
		walk_type(&f, "a");
	}
	expect("step-long-answered");
	walk_size(&f, 12, 40);
	walk_to(&f, "transmitter");
	for (int i = 0; i < 5; i++) {
		expect("step-long-low");
		walk_key(&f, KEYS_ENTER);
	}
	settle("words-that-go-on");
}

/* What the plan wants to stand beside a question, and a note that it asks for. */
static void shown_and_noted(void **state)
{
	(void)state;
	course_prepare(&f);
	course_say_yes(&f, 2);
	course_say_yes(&f, 1);
	expect_sizes("step-note-wanted");
	walk_answer(&f, "site electrician");
	course_say_yes(&f, 5);
	course_muster(&f);
	course_register(&f);
	course_say_noted(&f, "Monday");
	walk_to(&f, "access");
	expect_sizes("step-shows-a-step");
	walk_to(&f, "appointment");
	walk_answer(&f, "2026-09-14 10:00 Z to 14:00");
	walk_to(&f, "told");
	expect_sizes("step-shows-the-window");
	walk_to(&f, "go");
	expect_sizes("step-shows-code-and-seal");
	settle("shown-and-noted");
}

static void desk_steps(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	walk_to(&f, "addresses");
	expect_sizes("step-addresses");
	walk_to(&f, "sent");
	expect_sizes("step-sent");
	walk_answer(&f, "registration desk");
	walk_to(&f, "sent");
	expect("step-sent-answered");
	walk_to(&f, "voice");
	expect("step-skippable");
	walk_type(&f, "e");
	walk_key(&f, KEYS_ENTER);
	expect_sizes("step-skip-reason");
	walk_answer(&f, "no voice line today");
	walk_to(&f, "voice");
	expect("step-skipped");
	walk_to(&f, "decision");
	expect_sizes("step-decision");
	walk_type(&f, "b");
	walk_key(&f, KEYS_ENTER);
	expect("step-decision-reason");
	walk_answer(&f, "unit code belongs to another site");
	expect_sizes("step-decision-rejected");
	settle("desk-steps");
}

static void appointment_step(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	walk_to(&f, "appointment");
	expect_sizes("step-appointment");
	walk_type(&f, "2026-09-14 14:00 +02:00 to 16:00");
	expect_sizes("step-appointment-typed");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "tomorrow at nine");
	expect("step-appointment-unread");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "2026-09-13 09:00 Z to 11:00");
	expect("step-appointment-over");
	settle("appointment-step");
}

static void phase_that_does_not_close(void **state)
{
	(void)state;
	walk_to(&f, "kit");
	course_kit(&f);
	walk_to(&f, "kit");
	walk_answer(&f, "0");
	walk_to(&f, "outage");
	course_say_yes(&f, 1);
	walk_answer(&f, "duty desk");
	course_say_yes(&f, 2);
	walk_answer(&f, "EG12-26-00417");
	walk_answer(&f, "EG12-26-00417");
	walk_answer(&f, "GU-0417-K");
	walk_answer(&f, "GP-07-C");
	expect_sizes("step-does-not-close");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "w");
	expect_sizes("waive");
	walk_key(&f, KEYS_ENTER);
	expect_sizes("waive-lead");
	walk_answer(&f, "tech 1");
	expect("waive-lead-doubted");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "lead 1");
	walk_answer(&f, "by telephone");
	walk_type(&f, "a second one is in the van");
	expect_sizes("waive-reason");
	walk_key(&f, KEYS_ENTER);
	expect("waive-done");
	walk_key(&f, KEYS_ESCAPE);
	expect("step-after-waiver");
	settle("phase-that-does-not-close");
}

static void the_end(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	course_book(&f);
	course_cutover(&f);
	course_close(&f);
	expect_sizes("step-job-done");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "r");
	expect_sizes("route-done");
	settle("the-end");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FRESH(hello), CASE(hello_again), FRESH(too_small), CASE(answer_step), CASE(text_step), CASE(kit_step),
		CASE(serial_step), CASE(code_step), CASE(number_step), CASE(wait_step), CASE(held_phase), CASE(words_that_go_on), CASE(shown_and_noted), CASE(desk_steps),
		CASE(appointment_step), CASE(phase_that_does_not_close), CASE(the_end),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
