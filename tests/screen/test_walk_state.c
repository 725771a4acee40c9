/* The wizard's behaviour at each kind of step, by keys on a practice site. */
#include "walk/lists.h"
#include "walk_case.h"

/* --- nothing is accepted by accident ------------------------------------------------ */

/* Fifty times Enter on every step, and Enter with Tab after it from there on. */
static void only_enter_everywhere(void)
{
	const struct pm_plan *plan = &f.session.plan.plan;
	size_t before = walk_readings(&f);
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			for (int round = 0; round < 2; round++) {
				walk_show_step(&f.state, &f.session, p, s);
				for (int i = 0; i < (round ? 4 : 50); i++) {
					walk_key(&f, KEYS_ENTER);
					if (round)
						walk_key(&f, KEYS_TAB);
				}
			}
	assert_int_equal(walk_readings(&f), before);
	assert_int_equal(f.session.job.job.waiver_count, 0);
	assert_false(f.left);
}

/* Goes on where the job was left, as after opening it anew. */
static void resume(void)
{
	walk_begin(&f.state, &f.session, "tech 1");
	walk_size(&f, 24, 80);
	walk_key(&f, KEYS_ENTER);
}

static void enter_alone_answers_nothing(void **state)
{
	(void)state;
	void (*const stages[])(struct walk_fixture *) = {
		course_prepare, course_fit, course_muster, course_register, course_book, course_cutover, course_close,
	};
	only_enter_everywhere();
	for (size_t i = 0; i < sizeof stages / sizeof *stages; i++) {
		resume();
		stages[i](&f);
		only_enter_everywhere();
	}
	assert_int_equal(f.session.result.phase, f.session.plan.plan.phase_count);
}

static void burst(const char *text, bool enter)
{
	for (; *text; text++)
		walk_send(&f, (struct screen_event){ .kind = EVENT_CHARACTER, .point = (unsigned char)*text, .burst = true });
	if (enter)
		walk_send(&f, (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_ENTER, .burst = true });
}

static void a_burst_accepts_nothing(void **state)
{
	(void)state;
	burst("a", true);
	assert_int_equal(f.state.choice, -1);
	walk_type(&f, "a");
	burst("", true);
	assert_int_equal(walk_readings(&f), 0);
	assert_shows(&f, "all at once");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), 1);
	/* into a field it is text, which a key pressed by itself accepts */
	burst("duty desk", true);
	assert_int_equal(walk_readings(&f), 1);
	assert_string_equal(f.state.field.text, "duty desk");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), 2);
	/* in the menu and at the question about leaving it does nothing */
	walk_key(&f, KEYS_ESCAPE);
	burst("qy", true);
	assert_int_equal(f.state.screen, WALK_MENU);
	walk_type(&f, "q");
	burst("y", true);
	assert_false(f.left);
	assert_int_equal(f.state.screen, WALK_LEAVE);
}

static void a_burst_takes_no_log(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	burst("r1", true);
	assert_false(f.state.typing);
	walk_type(&f, "r");
	burst("1", true);
	assert_int_equal(f.state.screen, WALK_PORTS);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_LOG);
	size_t before = walk_readings(&f);
	burst("y", true);
	assert_int_equal(f.state.screen, WALK_LOG);
	assert_int_equal(walk_readings(&f), before);
}

/* A paste with keys in it acts as none of them, on any screen. */
static void a_paste_acts_as_no_key(void **state)
{
	(void)state;
	static const char keys[] = "q\ny\r\x1b\x03 a\n1\n";
	for (enum walk_screen screen = WALK_HELLO; screen < WALK_SCREENS; screen++) {
		if (screen == WALK_LOG)
			continue;   /* not without a log; see below */
		walk_to(&f, "outage");
		if (walk_is_over(screen))
			walk_over(&f.state, screen);
		else
			walk_go(&f.state, &f.session, screen);
		walk_paste(&f, keys, sizeof keys - 1);
		assert_false(f.left);
		assert_int_equal(f.state.screen, screen);
		assert_int_equal(walk_readings(&f), 0);
		assert_int_equal(f.state.choice, -1);
	}
	walk_to(&f, "contact");
	walk_paste(&f, "q\ny\nq", 5);
	assert_string_equal(f.state.field.text, "q y q");
	assert_int_equal(walk_readings(&f), 0);
}

static void pasted_console_text_is_read(void **state)
{
	(void)state;
	size_t length = 0;
	char path[640];
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	snprintf(path, sizeof path, "%s/first-listing.log", f.folder);
	char *text = scratch_read(path, &length);
	assert_non_null(text);
	size_t before = walk_readings(&f);
	walk_paste(&f, text, length);
	assert_int_equal(f.state.screen, WALK_LOG);
	assert_shows(&f, "13 addresses");
	assert_int_equal(walk_readings(&f), before);
	walk_paste(&f, "y\n", 2);
	assert_int_equal(walk_readings(&f), before);
	walk_type(&f, "y");
	assert_int_equal(f.session.result.roster.held, 13);
	/* the same text from a file is the same capture */
	walk_type(&f, "r");
	walk_answer(&f, "1");
	walk_type(&f, "y");
	assert_shows(&f, "counts once");
	assert_int_equal(f.session.result.roster.confirmed, 0);
	free(text);
}

/* Pasted text that holds nothing is not kept. */
static void a_log_without_addresses_is_not_taken(void **state)
{
	(void)state;
	char evidence[320];
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	size_t before = walk_readings(&f);
	walk_paste(&f, "good morning\n", 13);
	walk_type(&f, "y");
	assert_shows(&f, "nothing to take");
	assert_int_equal(walk_readings(&f), before);
	snprintf(evidence, sizeof evidence, "%s/evidence", f.folder);
	assert_true(scratch_count(evidence) <= 0);
}

/* --- nothing typed is lost by looking around ------------------------------------------ */

/* The menu, the help and the question about leaving are opened and closed again. */
static void look_around(const char *text)
{
	enum walk_screen at = f.state.screen;
	bool typing = f.state.typing, noting = f.state.noting;
	size_t row = f.state.row;
	int choice = f.state.choice;
	for (int i = 0; i < 3; i++) {
		if (i == 0 && !typing && !noting) {
			walk_key(&f, KEYS_ESCAPE);
			assert_int_equal(f.state.screen, WALK_MENU);
			for (int down = 0; down < 5; down++)
				walk_key(&f, KEYS_DOWN);
		} else if (i == 1) {
			walk_ctrl(&f, 'g');
			assert_int_equal(f.state.screen, WALK_HELP);
			walk_key(&f, KEYS_DOWN);
		} else {
			walk_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
			assert_int_equal(f.state.screen, WALK_LEAVE);
			assert_shows(&f, "[y] leave");
		}
		walk_key(&f, KEYS_ESCAPE);
		assert_int_equal(f.state.screen, at);
		assert_string_equal(f.state.field.text, text);
		assert_int_equal(f.state.row, row);
		assert_int_equal(f.state.choice, choice);
		assert_int_equal(f.state.typing, typing);
		assert_int_equal(f.state.noting, noting);
	}
}

static void looking_around_loses_nothing(void **state)
{
	(void)state;
	walk_to(&f, "contact");
	walk_type(&f, "duty de");
	look_around("duty de");
	/* the menu's row for this step does the same */
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "s");
	assert_string_equal(f.state.field.text, "duty de");
	walk_to(&f, "outage");
	walk_type(&f, "b+nobody here");
	look_around("nobody here");
	walk_to(&f, "kit");
	for (int i = 0; i < 13; i++)
		walk_key(&f, KEYS_DOWN);
	assert_int_equal(f.state.row, 13);
	walk_type(&f, "1");
	look_around("1");
	walk_key(&f, KEYS_ENTER);
	assert_non_null(pm_fact_last(&f.session.job.job, "kit/return-box"));
	walk_to(&f, "new-serial");
	walk_answer(&f, "EG12-26-00417");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "t");
	walk_key(&f, KEYS_ENTER);
	walk_type(&f, "mis");
	look_around("mis");
}

static void escape_keeps_a_half_typed_address(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	walk_key(&f, KEYS_ENTER);
	walk_type(&f, "00005e0053");
	look_around("00005e0053");
	walk_key(&f, KEYS_ESCAPE);
	assert_false(f.state.typing);
	walk_key(&f, KEYS_ENTER);
	assert_string_equal(f.state.field.text, "00005e0053");
	/* but it is not offered for another port */
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_RIGHT);
	walk_key(&f, KEYS_ENTER);
	assert_string_equal(f.state.field.text, "");
}

/* The rows of one list are not those of another: every entry of the menu, from
 * the end of every list. */
static void the_menu_opens_at_its_top(void **state)
{
	(void)state;
	static const enum walk_screen lists[] = { WALK_STEP, WALK_ROUTE, WALK_PORTS, WALK_FINDINGS };
	course_prepare(&f);
	for (size_t i = 0; i < sizeof lists / sizeof *lists; i++)
		for (size_t entry = 0; entry < menu_row_count; entry++) {
			walk_to(&f, "kit");
			if (lists[i] != WALK_STEP)
				walk_go(&f.state, &f.session, lists[i]);
			for (int down = 0; down < 70; down++)
				walk_key(&f, lists[i] == WALK_PORTS ? KEYS_RIGHT : KEYS_DOWN);
			if (lists[i] == WALK_STEP)
				walk_key(&f, KEYS_ESCAPE);
			else
				walk_type(&f, "m");
			assert_int_equal(f.state.screen, WALK_MENU);
			assert_int_equal(f.state.over, 0);
			for (size_t down = 0; down < entry; down++)
				walk_key(&f, KEYS_DOWN);
			size_t before = walk_readings(&f);
			walk_key(&f, KEYS_ENTER);
			assert_int_not_equal(f.state.screen, WALK_MENU);
			assert_int_equal(walk_readings(&f), before);
			if (f.state.screen == WALK_HELP || f.state.screen == WALK_LEAVE)
				walk_key(&f, KEYS_ESCAPE);
		}
}

/* --- doubtful values, halting answers, skips -------------------------------------------- */

/* A value that a rule doubts is taken at the second Enter, and only as it was. */
static void doubted(const char *step, const char *value, const char *other, const char *why)
{
	walk_to(&f, step);
	size_t before = walk_readings(&f);
	walk_answer(&f, value);
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, why);
	walk_ctrl(&f, 'u');
	walk_answer(&f, other);
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, why);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), before + 1);
	assert_string_equal(f.session.job.job.readings[before].value.text, other);
}

static void a_doubtful_value_takes_two_enters(void **state)
{
	(void)state;
	doubted("new-serial", "EG12-26-0417", "EG12-26-0471", "one character too few: 12 instead of 13");
	doubted("site-unit", "GU-417-K", "GU-418-K", "one character too few: 8 instead of 9");
	walk_end(&f);
	walk_start(&f);
	walk_key(&f, KEYS_ENTER);
	course_prepare(&f);
	course_fit(&f);
	doubted("outlet", "253.1", "260", "above the limit of 253 V");
	doubted("outlet", "206.9", "100", "below the limit of 207 V");
	walk_to(&f, "outlet");
	size_t before = walk_readings(&f);
	walk_answer(&f, "253");   /* the limit itself is inside */
	assert_int_equal(walk_readings(&f), before + 1);
}

static void a_number_is_a_number(void **state)
{
	(void)state;
	static const char *const wrong[] = { "231 V", "two", "1e3", "--1", "0x10", ".", "231,4" };
	course_prepare(&f);
	course_fit(&f);
	walk_to(&f, "outlet");
	size_t before = walk_readings(&f);
	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		walk_ctrl(&f, 'u');
		walk_answer(&f, wrong[i]);
		walk_key(&f, KEYS_ENTER);
		assert_int_equal(walk_readings(&f), before);
		assert_string_equal(f.state.field.text, wrong[i]);
	}
}

static void a_halting_answer_holds_until_answered_again(void **state)
{
	(void)state;
	walk_to(&f, "outage");
	walk_answer(&f, "c");
	assert_at(&f, "outage");
	assert_shows(&f, "STOPPED");
	assert_true(pm_findings_count(&f.session.result.findings, PM_STOP) > 0);
	walk_answer(&f, "a");
	assert_at(&f, "contact");
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
}

static void a_skip_needs_a_reason(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	course_register(&f);
	walk_to(&f, "access");
	size_t before = walk_readings(&f);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "n");
	walk_key(&f, KEYS_ENTER);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "needs the words behind it");
	walk_answer(&f, "the crew holds all keys");
	assert_int_equal(walk_readings(&f), before + 1);
	walk_to(&f, "access");
	assert_shows(&f, "does not apply: skipped with a reason");
	/* and it can be taken back again */
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "t");
	assert_shows(&f, "\"does not apply\"");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "keys are elsewhere");
	walk_to(&f, "access");
	assert_shows(&f, "-- to do");
}

static void a_critical_step_is_never_skipped(void **state)
{
	(void)state;
	const struct pm_plan *plan = &f.session.plan.plan;
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++) {
			if (plan->phases[p].steps[s].skippable)
				continue;
			walk_show_step(&f.state, &f.session, p, s);
			walk_key(&f, KEYS_ESCAPE);
			walk_type(&f, "n");
			assert_shows(&f, plan->phases[p].steps[s].critical ? "a critical step always applies"
			                                                   : "lets nobody skip");
			walk_answer(&f, "because");
			assert_true(f.state.choice < 0 || plan->phases[p].steps[s].ask == PM_ASK_ANSWER ||
			            plan->phases[p].steps[s].ask == PM_ASK_WAIT || plan->phases[p].steps[s].ask == PM_ASK_DECISION);
			for (size_t i = 0; i < walk_readings(&f); i++)
				assert_int_not_equal(f.session.job.job.readings[i].source, PM_SOURCE_SKIPPED);
		}
}

static void the_kit_goes_item_by_item(void **state)
{
	(void)state;
	walk_to(&f, "kit");
	walk_answer(&f, "1");
	assert_int_equal(f.state.row, 1);
	walk_answer(&f, "many");
	assert_int_equal(f.state.row, 1);
	assert_string_equal(f.state.field.text, "many");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "11");
	assert_int_equal(f.state.row, 1);
	assert_non_null(strstr(f.state.message, "11 where 1 is needed?"));
	walk_ctrl(&f, 'u');
	walk_answer(&f, "0");
	assert_shows(&f, "SHORT: Power lead of the new router");
	/* a count is taken back as the item's, not as the step's */
	walk_key(&f, KEYS_UP);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "t");
	assert_shows(&f, "readings of kit/power-lead");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "it was in the box");
	walk_to(&f, "kit");
	assert_int_equal(f.state.row, 1);
	assert_hides(&f, "SHORT");
	/* what was doubted of one item is doubted of the next as well */
	for (int i = 0; i < 2; i++) {
		size_t row = f.state.row;
		walk_answer(&f, "12");
		assert_int_equal(f.state.row, row);
		walk_key(&f, KEYS_ENTER);
		assert_int_equal(f.state.row, row + 1);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(enter_alone_answers_nothing), CASE(a_burst_accepts_nothing), CASE(a_burst_takes_no_log),
		CASE(a_paste_acts_as_no_key), CASE(pasted_console_text_is_read), CASE(a_log_without_addresses_is_not_taken),
		CASE(looking_around_loses_nothing), CASE(escape_keeps_a_half_typed_address), CASE(the_menu_opens_at_its_top),
		CASE(a_doubtful_value_takes_two_enters), CASE(a_number_is_a_number),
		CASE(a_halting_answer_holds_until_answered_again), CASE(a_skip_needs_a_reason),
		CASE(a_critical_step_is_never_skipped), CASE(the_kit_goes_item_by_item),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
