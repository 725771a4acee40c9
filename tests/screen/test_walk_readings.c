/* What is read twice: the first reading stays out of sight, differences are
 * named, and the wrong one is taken back. Also who may write, and when. */
#include "walk/step.h"
#include "walk_case.h"

static enum pm_standing standing(const char *of)
{
	return pm_fact_find(&f.session.job.job, of, strncmp(of, "port/", 5) == 0 ? PM_AS_ADDRESS : PM_AS_TEXT).standing;
}

/* Type character by character: at no moment does the screen show `secret`. */
static void type_blind(const char *text, const char *secret)
{
	static const struct { int rows, columns; } sizes[] = { { 24, 80 }, { 12, 40 }, { 43, 132 } };
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
		walk_size(&f, sizes[i].rows, sizes[i].columns);
		assert_hides(&f, secret);
	}
	walk_size(&f, 24, 80);
	for (; *text; text++) {
		walk_type(&f, (char[]){ *text, '\0' });
		assert_hides(&f, secret);
	}
}

static void the_second_reading_is_blind(void **state)
{
	(void)state;
	walk_to(&f, "new-serial");
	walk_answer(&f, "EG12-26-00417");
	assert_shows(&f, "hidden until the second one is typed");
	type_blind("EG12-26-0047", "EG12-26-00417");
	/* nor on the screens that lie over it */
	walk_ctrl(&f, 'g');
	assert_hides(&f, "EG12-26-00417");
	walk_key(&f, KEYS_ESCAPE);
	walk_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	assert_hides(&f, "EG12-26-00417");
	walk_type(&f, "n");
	/* nor after coming back */
	walk_reopen(&f);
	assert_hides(&f, "EG12-26-00417");
	walk_key(&f, KEYS_ENTER);
	walk_to(&f, "new-serial");
	type_blind("EG12-26-00471", "EG12-26-00417");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(standing("router/serial"), PM_CONFLICT);
	assert_non_null(strstr(f.state.message, "2 readings DIFFER: they differ in characters 12 and 13, which change places"));
	/* a third reading is typed blind too */
	walk_type(&f, "EG12-26");
	assert_hides(&f, "EG12-26-00417");
	assert_hides(&f, "EG12-26-00471");
}

static void a_conflict_is_taken_back(void **state)
{
	(void)state;
	walk_to(&f, "new-serial");
	walk_answer(&f, "EG12-26-00417");
	walk_answer(&f, "EG12-26-00471");
	assert_at(&f, "new-serial");
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 1);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_TAKE_BACK);
	walk_key(&f, KEYS_DOWN);
	walk_key(&f, KEYS_ENTER);
	size_t before = walk_readings(&f);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "say why");
	walk_answer(&f, "misread");
	assert_int_equal(standing("router/serial"), PM_HELD);
	walk_key(&f, KEYS_ESCAPE);
	assert_at(&f, "new-serial");
	walk_answer(&f, "EG12-26-00417");
	assert_int_equal(standing("router/serial"), PM_CONFIRMED);
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
	/* both of one value go together, and that is said before */
	walk_to(&f, "new-serial");
	step_take_back(&f.state, &f.session);
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "all 2 readings of that value are taken back");
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(standing("router/serial"), PM_CONFIRMED);
	/* a confirmed one can be read once more, in a field that shows */
	walk_to(&f, "new-serial");
	assert_shows(&f, "confirmed: \"EG12-26-00417\"");
	walk_type(&f, "EG12-26-0041");
	assert_hides(&f, "EG12-26-00417");
	assert_shows(&f, "EG12-26-0041");
}

/* A code that contradicts the site list says so, and is no dead end. */
static void the_site_list_counts_as_a_reading(void **state)
{
	(void)state;
	walk_to(&f, "site-unit");
	walk_answer(&f, "GU-0471-K");
	assert_at(&f, "site-unit");
	assert_non_null(strstr(f.state.message, "DIFFERS from the site list"));
	assert_int_equal(f.state.message_style, STYLE_BAD);
	assert_shows(&f, "(site list)");
	walk_answer(&f, "GU-0471-K");
	/* twice the same against the list stays a conflict, and is explained */
	assert_at(&f, "site-unit");
	assert_shows(&f, "(site list)");
	assert_shows(&f, "the lead corrects it at the head of the job file");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_TAKE_BACK);
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "misread");
	walk_key(&f, KEYS_ESCAPE);
	walk_answer(&f, "GU-0417-K");
	assert_non_null(strstr(f.state.message, "unit code confirmed"));
	assert_at(&f, "site-parent");
}

static void two_logs_confirm_and_one_counts_once(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	course_log(&f, "1");
	assert_int_equal(f.session.result.roster.held, 13);
	assert_int_equal(f.session.result.roster.confirmed, 0);
	size_t before = walk_readings(&f);
	course_log(&f, "1");
	assert_shows(&f, "counts once");
	assert_int_equal(walk_readings(&f), before);
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(f.state.screen, WALK_PORTS);
	course_log(&f, "2");
	assert_int_equal(f.session.result.roster.confirmed, 13);
	assert_shows(&f, "13 of 13 interfaces confirmed");
	/* nothing is left to do there: Enter goes on, the map is still at hand */
	walk_key(&f, KEYS_ESCAPE);
	assert_at(&f, "addresses");
	assert_shows(&f, "Enter goes on to the next step");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "p");
	assert_int_equal(f.state.screen, WALK_PORTS);
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ENTER);
	assert_at(&f, "console-off");
}

/* A wrong digit by hand: explained before it is taken, in conflict after, and
 * mended by taking it back. */
static void a_wrong_digit_is_caught(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	course_log(&f, "1");
	f.state.row = 5;
	walk_key(&f, KEYS_ENTER);
	type_blind("0000.5e00.5385", "00-00-5E-00-53-15");
	size_t before = walk_readings(&f);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "digit 11 reads 8 where 1 belongs");
	assert_hides(&f, "00-00-5E-00-53-15");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), before + 1);
	assert_shows(&f, "! conflict");
	assert_int_equal(f.state.message_style, STYLE_BAD);
	walk_type(&f, "f");
	assert_shows(&f, "reading-conflict");
	assert_shows(&f, "00-00-5E-00-53-15");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_PORTS);
	assert_int_equal(f.state.row, 5);
	walk_type(&f, "t");
	walk_key(&f, KEYS_DOWN);
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "8 for 1");
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(f.state.screen, WALK_PORTS);
	assert_int_equal(f.state.row, 5);
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "00:00:5e:00:53:15");
	assert_int_equal(standing("port/port5"), PM_CONFIRMED);
}

static void a_malformed_address_is_refused_with_its_column(void **state)
{
	(void)state;
	static const struct { const char *typed, *why; } wrong[] = {
		{ "00-00-5E-00-53-1O", "column 17" }, { "00-00-5E-00-53", "column" }, { "00-00-5E-00-53-10-11", "column" },
		{ "nothing", "column" }, { "00-00-5E:00:53:10", "column" },
	};
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	size_t before = walk_readings(&f);
	walk_key(&f, KEYS_ENTER);
	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		walk_ctrl(&f, 'u');
		walk_answer(&f, wrong[i].typed);
		walk_key(&f, KEYS_ENTER);
		assert_shows(&f, wrong[i].why);
		assert_int_equal(walk_readings(&f), before);
		assert_string_equal(f.state.field.text, wrong[i].typed);
	}
	walk_ctrl(&f, 'u');
	walk_answer(&f, "00-00-5E-00-53-1O");
	assert_non_null(strstr(f.state.message, "did you mean 00-00-5E-00-53-10"));
}

/* --- gates, waivers, other hands --------------------------------------------------------- */

/* Tries everything that records something at the step on the screen. */
static void try_everything(const struct pm_step *step)
{
	static const char listing[] = "interface address\nport1 00-00-5E-00-53-11\nport2 00-00-5E-00-53-12\n";
	static const char *const typed[] = { "a", "b", "1", "230", "GU-0417-K", "EG12-26-00417", "accepted", "2026-12-01 09:00 Z to 11:00" };
	if (step->ask == PM_ASK_ADDRESSES) {
		walk_go(&f.state, &f.session, WALK_PORTS);
		walk_key(&f, KEYS_ENTER);
		walk_answer(&f, "00-00-5E-00-53-10");
		walk_type(&f, "r");
		walk_answer(&f, "1");
		walk_type(&f, "y");
		walk_paste(&f, listing, sizeof listing - 1);
		walk_type(&f, "y");
		return;
	}
	for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
		walk_to(&f, step->id.text);
		for (int twice = 0; twice < 2; twice++) {
			walk_answer(&f, typed[i]);
			walk_answer(&f, "some words");
		}
		walk_to(&f, step->id.text);
		walk_key(&f, KEYS_ESCAPE);
		walk_type(&f, "n");
		walk_answer(&f, "does not apply");
	}
}

static void a_shut_phase_takes_nothing(void **state)
{
	(void)state;
	const struct pm_plan *plan = &f.session.plan.plan;
	for (size_t p = 1; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			try_everything(&plan->phases[p].steps[s]);
	assert_int_equal(walk_readings(&f), 0);
	assert_int_equal(f.session.job.job.waiver_count, 0);
	walk_to(&f, "connect");
	walk_answer(&f, "a");
	assert_shows(&f, "this phase is shut");
}

static void cutover_waits_for_the_window(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	course_book(&f);
	f.now -= 60;   /* course_book waits until the window opens */
	walk_wait(&f, 0);
	size_t before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "the window opens at");
	/* no waiver of it is offered */
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "w");
	assert_int_equal(f.state.screen, WALK_WAIVE);
	assert_hides(&f, "appointment");
	walk_key(&f, KEYS_ESCAPE);
	walk_wait(&f, 60);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before + 1);
}

static void short_of_a_strip(void)
{
	course_prepare(&f);
	walk_to(&f, "kit");
	f.state.row = 2;
	walk_answer(&f, "0");
	assert_false(f.session.result.gates.closed[0]);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "w");
	assert_shows(&f, "kit-complete");
	walk_key(&f, KEYS_ENTER);
}

/* Whoever is at the rack types it, but a lead decides: who, how and why are asked
 * for, and none of it is taken over from the sign-in. */
static void a_waiver_names_the_lead_who_decided(void **state)
{
	(void)state;
	short_of_a_strip();
	assert_shows(&f, "which lead decided it?");
	assert_string_equal(f.state.field.text, "");
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "the waiver is the lead's");
	walk_answer(&f, "x");
	assert_shows(&f, "the waiver is the lead's");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "lead 1");
	assert_shows(&f, "said how:");
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "say in a few words how the lead decided");
	walk_answer(&f, "by telephone");
	assert_shows(&f, "reason:");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "ok");
	assert_int_equal(f.session.job.job.waiver_count, 0);
	assert_string_equal(f.state.field.text, "ok");
	walk_answer(&f, "ay, borrowed from the station");
	assert_int_equal(f.session.job.job.waiver_count, 1);
	assert_true(f.session.result.gates.closed[0]);
	/* and so it stands in the file */
	walk_reopen(&f);
	const struct pm_waiver *waiver = &f.session.job.job.waivers[0];
	assert_string_equal(waiver->by.text, "lead 1");
	assert_string_equal(waiver->reason.text, "okay, borrowed from the station");
	assert_string_equal(waiver->note.text, "by telephone; typed by tech 1");
	assert_string_equal(waiver->condition.text, "kit-complete");
}

/* Somebody who gives the name that signed in is asked once more. */
static void a_waiver_by_the_one_at_the_rack_is_doubted(void **state)
{
	(void)state;
	short_of_a_strip();
	walk_answer(&f, "tech 1");
	assert_shows(&f, "you signed in with that name");
	assert_shows(&f, "lead: tech 1");
	walk_answer(&f, "0");   /* another name is no second word for that one */
	assert_shows(&f, "said how:");
	walk_key(&f, KEYS_ESCAPE);
	assert_shows(&f, "nothing was waived");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "tech 1");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "at the rack");
	walk_answer(&f, "one was lent by the neighbour");
	assert_int_equal(f.session.job.job.waiver_count, 1);
	assert_string_equal(f.session.job.job.waivers[0].by.text, "tech 1");
	assert_string_equal(f.session.job.job.waivers[0].note.text, "at the rack; typed by tech 1");
}

static void a_second_session_only_reads(void **state)
{
	(void)state;
	struct walk_fixture first = f;
	size_t length = 0, after = 0;
	char *text = scratch_read(f.job, &length);
	const struct pm_plan *plan;
	f.now += 1;
	walk_open(&f);
	assert_true(canvas_init(&f.canvas, 24, 80, true));
	walk_size(&f, 24, 80);
	assert_true(f.session.read_only);
	assert_shows(&f, "READ-ONLY: held by ");
	assert_shows(&f, "process");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "a");
	assert_shows(&f, "read-only: held by");
	plan = &f.session.plan.plan;
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			try_everything(&plan->phases[p].steps[s]);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "w");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "a good reason");
	assert_int_equal(walk_readings(&f), 0);
	assert_int_equal(f.session.job.job.waiver_count, 0);
	char *now = scratch_read(f.job, &after);
	assert_int_equal(after, length);
	assert_memory_equal(now, text, length);
	/* once the first has left, the next one may write */
	session_close(&f.session);
	session_close(&first.session);
	walk_open(&f);
	assert_false(f.session.read_only);
	canvas_free(&first.canvas);
	free(now);
	free(text);
}

/* RFC 8343 with the names of RFC 7951; a pasted listing is known for what it is. */
static void an_open_listing_is_recognised(void **state)
{
	static const char listing[] =
		"{ \"ietf-interfaces:interfaces\": { \"interface\": [\n"
		"  { \"name\": \"mgmt\", \"phys-address\": \"00:00:5e:00:53:10\" },\n"
		"  { \"name\": \"port1\", \"phys-address\": \"00:00:5e:00:53:11\" } ] } }\n";
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	walk_paste(&f, listing, sizeof listing - 1);
	assert_int_equal(f.state.screen, WALK_LOG);
	assert_shows(&f, "read as interfaces in JSON");
	assert_shows(&f, "2 addresses");
	walk_type(&f, "y");
	assert_int_equal(standing("port/mgmt"), PM_HELD);
	assert_int_equal(standing("port/port1"), PM_HELD);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(the_second_reading_is_blind), CASE(a_conflict_is_taken_back), CASE(the_site_list_counts_as_a_reading),
		CASE(two_logs_confirm_and_one_counts_once), CASE(a_wrong_digit_is_caught),
		CASE(a_malformed_address_is_refused_with_its_column), CASE(a_shut_phase_takes_nothing),
		CASE(cutover_waits_for_the_window), CASE(a_waiver_names_the_lead_who_decided), CASE(a_waiver_by_the_one_at_the_rack_is_doubted),
		CASE(a_second_session_only_reads), CASE(an_open_listing_is_recognised),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
