/* Whole courses by keys: to the end with an error caught and interruptions on
 * the way, back to the old router and on from there, and facts that change after
 * they were sent. */
#include "store/save.h"
#include "walk_case.h"

/* Leave without a word and come back: the same step, the same entries. */
static void interrupt_here(void)
{
	char step[80];
	size_t readings = walk_readings(&f), row = f.state.row;
	bool ports = f.state.screen == WALK_PORTS;
	snprintf(step, sizeof step, "%s", walk_at(&f));
	f.now += 1;
	walk_reopen(&f);
	assert_int_equal(f.state.screen, WALK_HELLO);
	assert_shows(&f, readings ? "Last entry:" : "no entry yet");
	if (readings) {
		char next[160];
		snprintf(next, sizeof next, "Next: %s, step %zu:", walk_phase(&f.state, &f.session)->id.text, f.state.step + 1);
		assert_shows(&f, next);
	}
	walk_key(&f, KEYS_ENTER);
	assert_at(&f, step);
	assert_int_equal(walk_readings(&f), readings);
	if (ports)
		walk_key(&f, KEYS_ENTER);
	else
		assert_int_equal(f.state.row, row);
}

static void an_interruption_shows_the_same_step(void **state)
{
	(void)state;
	interrupt_here();
	course_say_yes(&f, 1);
	interrupt_here();
	walk_answer(&f, "duty desk");
	for (int i = 0; i < 5; i++)
		walk_answer(&f, "1");
	interrupt_here();
	for (int i = 5; i < 14; i++)
		walk_answer(&f, "9");
	course_say_yes(&f, 2);
	walk_answer(&f, "EG12-26-00417");
	interrupt_here();
	assert_shows(&f, "hidden until the second one is typed");
	walk_answer(&f, "EG12-26-00417");
	walk_answer(&f, "GU-0417-K");
	walk_answer(&f, "GP-07-C");
	interrupt_here();
	course_fit(&f);
	course_begin_wait(&f);
	interrupt_here();
	assert_shows(&f, "19 s left");
	walk_wait(&f, 19);
	/* a wait that is over is no open step: the next one is where to go on */
	walk_key(&f, KEYS_ENTER);
	course_say_yes(&f, 2);
	walk_key(&f, KEYS_ENTER);
	course_log(&f, "1");
	interrupt_here();
	course_log(&f, "2");
	course_end_muster(&f);
	interrupt_here();
	course_sheet(&f);
	walk_answer(&f, "registration desk");
	interrupt_here();
	course_say_yes(&f, 1);
	walk_answer(&f, "TRD 1187");
	interrupt_here();
	walk_answer(&f, "a");
	walk_answer(&f, "TOC 5521");
	course_book(&f);
	interrupt_here();
	course_cutover(&f);
	interrupt_here();
	course_close(&f);
	walk_reopen(&f);
	walk_key(&f, KEYS_ENTER);
	assert_at(&f, "lead-word");
}

static void a_wait_survives_leaving(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_begin_wait(&f);
	assert_shows(&f, "20 s left");
	f.now += 5;
	walk_reopen(&f);
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "15 s left");
	walk_key(&f, KEYS_ENTER);
	assert_at(&f, "first-boot");
	walk_wait(&f, 14);
	assert_shows(&f, "1 s left");
	walk_wait(&f, 1);
	assert_shows(&f, "the least time has passed");
	size_t before = walk_readings(&f);
	walk_key(&f, KEYS_ENTER);
	assert_at(&f, "lamps");
	assert_int_equal(walk_readings(&f), before);
}

/* The demonstration: one wrong digit is caught on the way, and the job ends. */
static void to_the_end_with_an_error_caught(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	course_log(&f, "1");
	interrupt_here();
	f.state.row = 7;
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "00-00-5E-00-53-77");   /* the console says 17 */
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.session.result.roster.confirmed, 0);
	assert_shows(&f, "! conflict");
	course_log(&f, "2");
	assert_int_equal(f.session.result.roster.confirmed, 12);
	walk_key(&f, KEYS_ESCAPE);
	assert_false(f.session.result.gates.closed[2]);
	/* the next phase is still shut */
	walk_to(&f, "sheet");
	size_t before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before);
	walk_to(&f, "addresses");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.row, 7);
	walk_type(&f, "t");
	walk_key(&f, KEYS_DOWN);
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "7 typed for 1");
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(f.session.result.roster.confirmed, 13);
	course_end_muster(&f);
	course_register(&f);
	course_book(&f);
	course_cutover(&f);
	course_close(&f);
	assert_shows(&f, "this job is done");
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
}

/* --- the way back -------------------------------------------------------------------------- */

static void up_to_the_verdict(void)
{
	course_to_the_cutover(&f);
	course_cutover(&f);
}

static void back_to_the_old_router_and_on(void **state)
{
	(void)state;
	char window[80];
	up_to_the_verdict();
	walk_answer(&f, "b");
	assert_at(&f, "back-leads");
	assert_shows(&f, "cutover is closed; next: Close: or go back");
	interrupt_here();
	course_say_yes(&f, 2);
	walk_answer(&f, "status lamp went dark at 09:12");
	walk_answer(&f, "TOC 5530");
	assert_at(&f, "tidy");
	course_say_yes(&f, 1);
	walk_answer(&f, "lead 1");
	walk_answer(&f, "needs a new window");
	/* what belongs to a success was not asked for, and the job is not done */
	assert_at(&f, "lead-word");
	assert_shows(&f, "does not close");
	assert_int_equal(f.session.result.phase, 6);
	/* the next day: a new window, entered where it belongs */
	f.now += 86400;
	walk_to(&f, "appointment");
	course_window(&f, window);
	walk_answer(&f, window);
	/* who was told of the old window is told of the new one */
	assert_at(&f, "told");
	assert_shows(&f, "for an earlier appointment");
	course_say_yes(&f, 1);
	assert_at(&f, "go");
	assert_shows(&f, "for an earlier appointment");
	size_t before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "the window opens at");
	interrupt_here();
	walk_wait(&f, 3600);
	/* every step of the cutover comes up again, though it was answered once */
	course_cutover(&f);
	course_close(&f);
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
}

/* A link that never came up leaves measurements open: the verdict is given all
 * the same, and the way back is open. */
static void the_verdict_needs_no_measurement(void **state)
{
	(void)state;
	course_to_the_cutover(&f);
	course_say_yes(&f, 2);
	walk_to(&f, "verdict");
	walk_answer(&f, "b");
	assert_at(&f, "back-leads");
	course_say_yes(&f, 1);
	assert_at(&f, "back-link");
}

/* --- registration ---------------------------------------------------------------------------- */

static void a_rejected_sheet_is_sent_again(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_sheet(&f);
	walk_answer(&f, "registration desk");
	course_say_yes(&f, 1);
	walk_answer(&f, "TRD 1187");
	walk_answer(&f, "b");
	walk_key(&f, KEYS_ENTER);
	assert_at(&f, "decision");
	walk_answer(&f, "parent unit is another one");
	assert_at(&f, "decision");
	assert_shows(&f, "STOPPED: the latest sheet was rejected");
	/* what stops it is counted, and named among the findings */
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 1);
	assert_string_equal(f.session.result.findings.item[0].field, "desk/decision");
	walk_to(&f, "sent");
	walk_answer(&f, "registration desk");
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
	/* the seal is spoken anew, and the desk files the new sheet */
	assert_at(&f, "voice");
	assert_shows(&f, "for an earlier sheet");
	course_say_yes(&f, 1);
	assert_at(&f, "receipt");
	walk_answer(&f, "TRD 1193");
	assert_at(&f, "decision");
	assert_shows(&f, "-- to do");
	walk_answer(&f, "a");
	walk_answer(&f, "TOC 5521");
	assert_at(&f, "quiet");
}

/* Take the unit code back and read another one twice; the lead corrects the head. */
static void correct_the_unit(const char *code)
{
	struct pm_fault fault;
	walk_to(&f, "site-unit");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "t");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "copied from the neighbour's label");
	assert_true(store_job_set(&f.session.job, "site.unit", code, &fault));
	assert_true(store_job_save(&f.session.job, &fault));
	walk_wait(&f, 60);
	for (int i = 0; i < 2; i++) {
		walk_to(&f, "site-unit");
		walk_answer(&f, code);
	}
}

/* What only the sending can mend does not shut the phase that sends. */
static void a_fact_changed_after_acceptance_is_sent_again(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	correct_the_unit("GU-0418-K");
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 1);
	assert_int_equal(f.session.result.findings.item[0].code, PM_SEAL_CHANGED);
	assert_true(f.session.result.gates.open[3]);
	assert_false(f.session.result.gates.closed[3]);
	walk_to(&f, "sent");
	walk_answer(&f, "registration desk");
	assert_at(&f, "voice");
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
}

/* The registration's whole cycle: rejected with a reason, the fact corrected, sent
 * again under another seal, accepted, booked, refused a day early and while the
 * window was missed, booked anew, connected inside the window. */
static void the_whole_cycle(void **state)
{
	char first[PM_SEAL_TEXT], window[80];
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	memcpy(first, f.session.seal.text, sizeof first);
	course_sheet(&f);
	walk_answer(&f, "registration desk");
	course_say_yes(&f, 1);
	walk_answer(&f, "TRD 1187");
	walk_answer(&f, "b");
	walk_answer(&f, "unit code is the neighbour's");
	assert_at(&f, "decision");
	assert_shows(&f, "STOPPED: the latest sheet was rejected");
	correct_the_unit("GU-0418-K");
	assert_string_not_equal(first, f.session.seal.text);
	/* the desk cannot have accepted what it has not been sent */
	size_t before = walk_readings(&f);
	walk_to(&f, "decision");
	walk_answer(&f, "a");
	assert_shows(&f, "send the new one first");
	assert_false(f.state.noting);
	assert_int_equal(walk_readings(&f), before);
	assert_false(f.session.result.gates.closed[3]);
	walk_to(&f, "sent");
	walk_answer(&f, "registration desk");
	walk_to(&f, "voice");
	course_say_yes(&f, 1);
	walk_to(&f, "receipt");
	walk_answer(&f, "TRD 1193");
	walk_to(&f, "decision");
	walk_answer(&f, "a");
	walk_answer(&f, "TOC 5521");
	assert_true(f.session.result.gates.closed[3]);
	/* both sendings, and the rejection, stay in the file */
	size_t sent = 0, decisions = 0, at = 0;
	while (pm_fact_next(&f.session.job.job, "desk/sent", &at))
		sent++;
	at = 0;
	while (pm_fact_next(&f.session.job.job, "desk/decision", &at))
		decisions++;
	assert_int_equal(sent, 2);
	assert_int_equal(decisions, 2);
	/* booked for tomorrow */
	assert_at(&f, "quiet");
	course_say_noted(&f, "the day after tomorrow");
	walk_answer(&f, "tech 1 and the site electrician");
	walk_answer(&f, "early shift");
	course_say_yes(&f, 1);
	f.now += 86400;
	course_window(&f, window);
	f.now -= 86400;
	walk_answer(&f, window);
	course_say_yes(&f, 1);
	assert_at(&f, "go");
	before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "the window opens at");
	assert_shows(&f, "1 d 1 h");
	/* missed: back to booking */
	walk_wait(&f, 2 * 86400);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before);
	assert_false(f.session.result.gates.closed[4]);
	walk_key(&f, KEYS_ESCAPE);   /* the letter that was chosen */
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "o");
	assert_at(&f, "appointment");
	course_window(&f, window);
	walk_answer(&f, window);
	assert_false(f.session.result.gates.closed[4]);
	course_say_yes(&f, 1);
	assert_true(f.session.result.gates.closed[4]);
	walk_wait(&f, 3600);
	walk_to(&f, "go");
	assert_shows(&f, "inside the window, 2 h 00 min left");
	course_cutover(&f);
	assert_shows(&f, "begun inside the window, ");
	course_close(&f);
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
}

/* An address that changes after the sheet went out reopens what depends on it. */
static void a_change_after_sending_reopens(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	walk_go(&f.state, &f.session, WALK_PORTS);
	f.state.row = 3;
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "00-00-5E-00-53-33");
	walk_key(&f, KEYS_ENTER);
	assert_false(f.session.result.gates.closed[2]);
	assert_false(f.session.result.gates.open[4]);
	walk_to(&f, "quiet");
	size_t before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "this phase is shut");
}

/* The place of every finding can be gone to from its row. */
static void findings_lead_to_their_places(void **state)
{
	(void)state;
	walk_to(&f, "kit");
	f.state.row = 7;
	walk_answer(&f, "2");
	walk_to(&f, "new-serial");
	walk_answer(&f, "EG12-26-00417");
	walk_answer(&f, "EG12-26-00418");
	walk_to(&f, "outage");
	walk_answer(&f, "d");
	walk_to(&f, "site-unit");
	walk_answer(&f, "GU-0471-K");
	size_t seen = 0, count = f.session.result.findings.count;
	for (size_t i = 0; i < count; i++) {
		const struct pm_finding *finding;
		walk_go(&f.state, &f.session, WALK_FINDINGS);
		for (size_t down = 0; down < i; down++)
			walk_key(&f, KEYS_DOWN);
		walk_key(&f, KEYS_ENTER);
		/* every event checks the job anew: only now is the list the one that is shown */
		finding = &f.session.result.findings.item[i];
		if (!finding->field)
			continue;
		assert_int_equal(f.state.screen, WALK_STEP);
		if (strcmp(finding->field, "kit/screws") == 0) {
			assert_at(&f, "kit");
			assert_int_equal(f.state.row, 7);
		} else {
			assert_at(&f, strcmp(finding->field, "router/serial") == 0 ? "new-serial"
			              : strcmp(finding->field, "site/unit") == 0 ? "site-unit" : "outage");
		}
		seen++;
	}
	assert_int_equal(seen, 4);
}

static void a_changed_sheet_leads_to_sending(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	/* the same wrong address twice is a confirmed change of a registered fact */
	f.state.under = WALK_STEP;
	walk_to(&f, "new-serial");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "t");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "label of another unit");
	walk_to(&f, "new-serial");
	walk_answer(&f, "EG12-26-00999");
	walk_answer(&f, "EG12-26-00999");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "f");
	size_t row = 0, count = f.session.result.findings.count;
	while (row < count && f.session.result.findings.item[row].code != PM_SEAL_CHANGED)
		row++;
	assert_true(row < count);
	for (size_t down = 0; down < row; down++)
		walk_key(&f, KEYS_DOWN);
	walk_key(&f, KEYS_ENTER);
	assert_at(&f, "sent");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(an_interruption_shows_the_same_step), CASE(a_wait_survives_leaving),
		CASE(to_the_end_with_an_error_caught), CASE(back_to_the_old_router_and_on),
		CASE(the_verdict_needs_no_measurement), CASE(a_rejected_sheet_is_sent_again), CASE(a_fact_changed_after_acceptance_is_sent_again),
		CASE(the_whole_cycle), CASE(a_change_after_sending_reopens), CASE(findings_lead_to_their_places),
		CASE(a_changed_sheet_leads_to_sending),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
