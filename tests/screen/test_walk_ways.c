/* What the screens say where something is wrong, and the way on from there. */
#include "store/save.h"
#include "walk/held.h"
#include "walk_case.h"

static void assert_says(const char *words)
{
	if (!strstr(f.state.message, words))
		fail_msg("not \"%s\" but \"%s\"", words, f.state.message);
}

/* --- forms, names, windows ---------------------------------------------------------------- */

static void a_misfit_says_where(void **state)
{
	(void)state;
	static const struct { const char *step, *typed, *says; } cases[] = {
		{ "new-serial", "EG12-26-0417", "one character too few: 12 instead of 13; so far as it goes it fits the form EG12-99-99999." },
		{ "new-serial", "EG12-2-00417", "one character too few: 12 instead of 13; character 7 (-) is the first that does not fit" },
		{ "new-serial", "EG12-26-004177", "one character too many: 14 instead of 13; character 14 (7) is the first that does not fit" },
		{ "new-serial", "EG12-26-0041755", "two characters too many: 15 instead of 13; character 14 (5)" },
		{ "new-serial", "EG12", "9 characters too few: 4 instead of 13; so far as it goes" },
		{ "new-serial", "EG12-26-OO417", "character 9 (O) does not fit the form EG12-99-99999." },
		{ "new-serial", "EG12-26-0041 ", "character 13 does not fit" },
		{ "new-serial", "eG12-26-00417", "character 1 (e), a small letter, does not fit" },
		{ "site-unit", "GU-417-K", "one character too few: 8 instead of 9; character 7 (-) is the first that does not fit the form GU-9999-A" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		size_t before = walk_readings(&f);
		walk_to(&f, cases[i].step);
		walk_answer(&f, cases[i].typed);
		assert_says(cases[i].says);
		assert_says("Enter again records it as it is read");
		assert_int_equal(walk_readings(&f), before);
	}
}

static void a_number_names_nobody(void **state)
{
	(void)state;
	static const char *const numbers[] = { "555-0100", "+1 (555) 0100", "0", "12", "555.0100", "--" };
	walk_to(&f, "contact");
	size_t before = walk_readings(&f);
	for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
		walk_ctrl(&f, 'u');
		walk_answer(&f, numbers[i]);
		assert_int_equal(walk_readings(&f), before);
		assert_string_equal(f.state.field.text, numbers[i]);
	}
	walk_ctrl(&f, 'u');
	walk_answer(&f, "duty desk 2");
	assert_int_equal(walk_readings(&f), before + 1);
	/* where any words will do, a number will */
	walk_to(&f, "config");
	assert_false(walk_step(&f.state, &f.session)->words);
}

static void a_short_window_is_doubted(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	walk_to(&f, "appointment");
	size_t before = walk_readings(&f);
	walk_answer(&f, "2026-09-15 09:00 Z to 10:59");
	assert_says("that window is 1 h 59 min long, and the plan asks for 2 h 00 min at least");
	assert_int_equal(walk_readings(&f), before);
	walk_ctrl(&f, 'u');
	walk_answer(&f, "2026-09-13 09:00 Z to 10:00");
	assert_says("over already");
	assert_says("1 h 00 min long");
	assert_int_equal(walk_readings(&f), before);
	walk_ctrl(&f, 'u');
	walk_answer(&f, "2026-09-15 09:00 Z to 11:00");
	assert_int_equal(walk_readings(&f), before + 1);
	walk_to(&f, "appointment");
	walk_answer(&f, "2026-09-15 09:00 Z to 10:00");
	walk_key(&f, KEYS_ENTER);   /* as it was agreed all the same */
	assert_int_equal(walk_readings(&f), before + 2);
}

/* --- notes that the plan asks for ----------------------------------------------------------- */

static void a_note_the_plan_wants_is_asked_for(void **state)
{
	(void)state;
	course_prepare(&f);
	course_say_yes(&f, 2);
	assert_at(&f, "dead");
	size_t before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_says("type the role of the one who tested, then Enter");
	assert_shows(&f, "  the role of the one who tested:");
	walk_key(&f, KEYS_ENTER);
	assert_says("needs the words behind it");
	assert_int_equal(walk_readings(&f), before);
	walk_answer(&f, "site electrician");
	assert_int_equal(walk_readings(&f), before + 1);
	assert_string_equal(f.session.job.job.readings[before].note.text, "site electrician");
	assert_at(&f, "strap");
	/* what stops the job needs none */
	walk_to(&f, "dead");
	walk_answer(&f, "c");
	assert_int_equal(walk_readings(&f), before + 2);
	assert_shows(&f, "STOPPED");
}

/* --- the sheet ------------------------------------------------------------------------------------ */

static void a_sheet_that_is_not_there_is_told(void **state)
{
	(void)state;
	char path[640];
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	size_t before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_says("no sheet lies beside the job file: Esc, x writes it");
	assert_int_equal(walk_readings(&f), before);
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(f.state.screen, WALK_MENU);
	walk_key(&f, KEYS_ESCAPE);
	/* what stops needs no sheet */
	walk_answer(&f, "c");
	assert_int_equal(walk_readings(&f), ++before);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "x");
	assert_says("written: ");
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), ++before);
	/* taken away again: told again, and taken at the second Enter */
	for (int i = 0; i < 2; i++) {
		snprintf(path, sizeof path, "%s/site-sheet.%s", f.folder, i ? "xlsx" : "csv");
		remove(path);
	}
	walk_to(&f, "sheet");
	walk_answer(&f, "a");
	assert_says("no sheet lies beside the job file");
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), ++before);
}

/* --- gates and stops ----------------------------------------------------------------------------- */

/* On a fresh job every phase is shut for one cause: the first one is not closed. */
static void the_first_gate_is_the_one_told(void **state)
{
	(void)state;
	char why[400];
	struct pm_text text;
	for (size_t p = 1; p < f.session.plan.plan.phase_count; p++) {
		pm_text_fixed(&text, why, sizeof why);
		assert_true(held_phase(&f.session, p, &text));
		if (!strstr(why, "prepare is not closed: \"May the mains go off today?\": not answered"))
			fail_msg("phase %zu: %s", p, why);
		walk_show_step(&f.state, &f.session, p, 0);
		assert_shows(&f, "prepare is not closed");
	}
	walk_to(&f, "outage");
	course_prepare(&f);
	for (size_t p = 2; p < f.session.plan.plan.phase_count; p++) {
		pm_text_fixed(&text, why, sizeof why);
		assert_true(held_phase(&f.session, p, &text));
		assert_non_null(strstr(why, "fit is not closed: \"Have the transmitter inhibited\": not answered"));
	}
	pm_text_fixed(&text, why, sizeof why);
	assert_true(held_from_mustering(&f.session, &text));
	assert_non_null(strstr(why, "fit is not closed"));
	/* the gate right before it is told as it is */
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	pm_text_fixed(&text, why, sizeof why);
	assert_true(held_phase(&f.session, 6, &text));
	assert_non_null(strstr(why, "book is not closed"));
	course_book(&f);
	pm_text_fixed(&text, why, sizeof why);
	assert_true(held_phase(&f.session, 6, &text));
	assert_non_null(strstr(why, "\"Does the new router carry the service?\": not answered"));
}

static void a_stop_says_what_to_do_and_whom_to_ring(void **state)
{
	(void)state;
	walk_answer(&f, "c");
	assert_shows(&f, "STOPPED");
	assert_shows(&f, "Do: Leave the mains on.");
	assert_shows(&f, "your contact at base");   /* nobody was named yet */
	walk_answer(&f, "a");
	walk_answer(&f, "lead 1, duty room");
	walk_to(&f, "tester");
	walk_answer(&f, "d");
	assert_shows(&f, "Do: Trust nothing to this tester.");
	assert_shows(&f, "Ring lead 1,");
	/* every step that can stop the job has its way on */
	const struct pm_plan *plan = &f.session.plan.plan;
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++) {
			const struct pm_step *step = &plan->phases[p].steps[s];
			bool stops = step->halt.count || step->ask == PM_ASK_NUMBER || step->ask == PM_ASK_DECISION;
			if (stops && !pm_given(step->stopped) && strcmp(step->id.text, "verdict") != 0)
				fail_msg("%s has no if-stopped", step->id.text);
		}
}

static void a_measurement_that_stops_says_so_too(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_say_yes(&f, 1);
	walk_answer(&f, "260");
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "STOPPED");
	assert_shows(&f, "Do: Do not plug the router in.");
	assert_shows(&f, "Ring duty desk.");
}

/* --- the kit --------------------------------------------------------------------------------------- */

static void the_kit_keeps_whoever_is_short(void **state)
{
	(void)state;
	course_say_yes(&f, 1);
	walk_answer(&f, "duty desk");
	/* short of four, the last of them at the end of the list */
	for (int i = 0; i < 14; i++)
		walk_answer(&f, i == 1 || i == 2 || i == 6 || i == 13 ? "0" : "9");
	assert_at(&f, "kit");
	assert_int_equal(f.state.row, 1);
	assert_says("short of");
	assert_says("Tab goes on");
	assert_says("Esc, w: a lead may waive it");
	assert_says("Anti-static bag and return box");
	/* all four names stand below the list, none cut */
	f.state.message[0] = '\0';
	assert_shows(&f, "SHORT: Power lead of the new router");
	assert_shows(&f, "Bonding conductor with lugs");
	assert_shows(&f, "return box");
	/* each recount leads to the next that is short, the last one on */
	static const int rows[] = { 2, 6, 13 };
	for (int i = 0; i < 3; i++) {
		walk_answer(&f, "1");
		assert_at(&f, "kit");
		assert_int_equal(f.state.row, rows[i]);
	}
	walk_answer(&f, "1");
	assert_at(&f, "tester");
	assert_hides(&f, "short of");
}

static void all_that_is_short_is_named_or_counted(void **state)
{
	(void)state;
	for (int i = 0; i < 14; i++) {
		walk_to(&f, "kit");
		f.state.row = (size_t)i;
		walk_answer(&f, "0");
	}
	f.state.message[0] = '\0';
	assert_shows(&f, "SHORT: New router in its box, ");
	assert_shows(&f, "more in the list");
	walk_size(&f, 12, 40);
	walk_read(&f);
	assert_shows(&f, "and 12 more in");
}

/* The last step of the phase names the one that holds it, and a way round it. */
static void a_phase_held_by_the_kit_says_where(void **state)
{
	(void)state;
	course_prepare(&f);
	walk_to(&f, "kit");
	f.state.row = 13;
	walk_answer(&f, "0");
	assert_at(&f, "kit");
	walk_to(&f, "site-parent");
	assert_shows(&f, "the phase does not close yet");
	assert_shows(&f, "go to step 3");
	assert_shows(&f, "Esc, w");
	/* the first open step is the one that holds it */
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "o");
	assert_at(&f, "kit");
	/* another step answered again leads there, with a word */
	walk_to(&f, "unit-state");
	walk_answer(&f, "b");
	assert_at(&f, "kit");
	assert_says("every step here is answered, but the phase does not close: short of Anti-static bag and return box (lead)");
	assert_says("Esc, w: a lead may waive it");
	/* waived: nothing keeps there any more */
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "w");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "lead 1");
	walk_answer(&f, "by telephone");
	walk_answer(&f, "a crate will do");
	assert_true(f.session.result.gates.closed[0]);
	walk_to(&f, "kit");
	f.state.row = 0;
	walk_answer(&f, "1");
	assert_at(&f, "transmitter");
}

/* --- small words ------------------------------------------------------------------------------------- */

static void a_filled_field_says_why_it_holds(void **state)
{
	(void)state;
	walk_to(&f, "contact");
	assert_shows(&f, "[Tab] next");
	walk_type(&f, "duty");
	assert_hides(&f, "[Tab] next");
	assert_shows(&f, "[Ctrl-U] empty the field");
	walk_key(&f, KEYS_TAB);
	assert_at(&f, "contact");
	assert_says("not left: what is typed was not accepted yet");
	walk_key(&f, KEYS_BACK_TAB);
	assert_says("not left");
	assert_string_equal(f.state.field.text, "duty");
	walk_ctrl(&f, 'u');
	assert_shows(&f, "[Tab] next");
	walk_key(&f, KEYS_TAB);
	assert_at(&f, "kit");
}

/* One statement of how long the first boot takes. */
static void the_first_boot_is_said_once(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_say_yes(&f, 1);
	walk_answer(&f, "231.4");
	assert_at(&f, "first-boot");
	assert_shows(&f, "this takes 20 s to 40 s (practice; elsewhere 5 min 00 s to 7 min 00 s)");
	assert_hides(&f, "five to seven");
	f.session.job.job.practice = false;
	assert_shows(&f, "this takes 5 min 00 s to 7 min 00 s");
	assert_hides(&f, "practice;");
}

static void conflicts_are_counted_as_read(void **state)
{
	(void)state;
	static const char *const odd[] = { "port/port1", "port/port4", "port/port7", "port/mgmt" };
	struct pm_fault fault;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	course_log(&f, "1");
	for (size_t i = 0; i < 4; i++) {
		struct session_entry entry = { .value = "00-00-5E-00-53-77", .source = PM_SOURCE_TYPED, .capture = "typed-1" };
		snprintf(entry.of, sizeof entry.of, "%s", odd[i]);
		assert_true(session_record(&f.session, &entry, &fault));
	}
	walk_to(&f, "addresses");
	assert_shows(&f, "13 of 13 read, 0 confirmed, 4 IN CONFLICT: their readings differ");
}

static void the_centres_reference_is_not_the_desks(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_sheet(&f);
	walk_answer(&f, "registration desk");
	course_say_yes(&f, 1);
	walk_answer(&f, "TRD 1187");
	assert_at(&f, "decision");
	walk_answer(&f, "a");
	assert_says("the reference of the centre's decision");
	assert_shows(&f, "  the centre's reference:");
	walk_key(&f, KEYS_ESCAPE);
	walk_answer(&f, "b");
	assert_says("in the centre's own words");
}

/* What a step wants to be spoken or said back stands on its screen. */
static void what_is_to_be_said_is_shown(void **state)
{
	(void)state;
	char line[80];
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	assert_at(&f, "quiet");
	course_say_noted(&f, "Tuesday the 15th");
	walk_answer(&f, "tech 1");
	walk_answer(&f, "early shift");
	assert_at(&f, "access");
	assert_shows(&f, "\"Tuesday the 15th\"");
	course_say_yes(&f, 1);
	walk_answer(&f, "2026-09-14 10:00 Z to 14:00");
	assert_at(&f, "told");
	assert_shows(&f, "the appointment: 2026-09-14");
	assert_shows(&f, "14:00");
	course_say_yes(&f, 1);
	assert_at(&f, "go");
	assert_shows(&f, "unit code: \"GU-0417-K\"");
	snprintf(line, sizeof line, "seal  %s", f.session.seal.text);
	assert_shows(&f, line);
}

static void the_practice_labels_have_a_path(void **state)
{
	(void)state;
	static const char *const steps[] = { "new-serial", "site-unit", "site-parent", "old-serial" };
	char path[400], tail[440];
	snprintf(path, sizeof path, "%s/labels.md", f.folder);
	walk_reopen(&f);
	assert_shows(&f, "Practice: what the labels say stands in ");
	assert_shows(&f, path);
	walk_key(&f, KEYS_ENTER);
	for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
		walk_to(&f, steps[i]);
		snprintf(tail, sizeof tail, "practice: it stands in %s", path);
		assert_shows(&f, tail);
	}
	f.session.job.job.practice = false;
	assert_hides(&f, "labels.md");
}

/* A second failure begins its own way back: what was said of the first counts no more. */
static void back_to_the_old_router_twice(void **state)
{
	char window[80];
	(void)state;
	course_to_the_cutover(&f);
	course_cutover(&f);
	for (int round = 0; round < 2; round++) {
		walk_answer(&f, "b");
		assert_at(&f, "back-leads");
		assert_shows(&f, "-- to do ---");
		assert_false(f.session.result.gates.closed[6]);
		course_say_yes(&f, 2);
		walk_answer(&f, "status lamp went dark");
		walk_answer(&f, "TOC 5530");
		assert_at(&f, "tidy");
		course_say_yes(&f, 1);
		walk_answer(&f, "lead 1");
		walk_answer(&f, "needs a new window");
		f.now += 86400;
		walk_to(&f, "appointment");
		course_window(&f, window);
		walk_answer(&f, window);
		course_say_yes(&f, 1);
		walk_wait(&f, 3600);
		course_cutover(&f);
		assert_at(&f, "verdict");
	}
	course_say_yes(&f, 1);
	course_say_yes(&f, 2);
	walk_answer(&f, "EG08-19-00236");
	walk_answer(&f, "parcel 00317");
	/* nor is the site left as it was said a day before */
	assert_at(&f, "tidy");
	assert_false(f.session.result.gates.closed[6]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(back_to_the_old_router_twice),
		CASE(a_misfit_says_where), CASE(a_number_names_nobody), CASE(a_short_window_is_doubted),
		CASE(a_note_the_plan_wants_is_asked_for), CASE(a_sheet_that_is_not_there_is_told),
		CASE(the_first_gate_is_the_one_told), CASE(a_stop_says_what_to_do_and_whom_to_ring),
		CASE(a_measurement_that_stops_says_so_too), CASE(the_kit_keeps_whoever_is_short),
		CASE(all_that_is_short_is_named_or_counted), CASE(a_phase_held_by_the_kit_says_where),
		CASE(a_filled_field_says_why_it_holds), CASE(the_first_boot_is_said_once), CASE(conflicts_are_counted_as_read),
		CASE(the_centres_reference_is_not_the_desks), CASE(what_is_to_be_said_is_shown),
		CASE(the_practice_labels_have_a_path),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
