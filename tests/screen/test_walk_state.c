/* The wizard's behaviour, by keys on a practice site. */
#include "walk_fixture.h"

static struct walk_fixture f;

static int set_up(void **state)
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

static void prepare(void)
{
	static const char *const kit[] = { "1", "1", "1", "1", "1", "1", "1", "4", "1", "3", "4", "1", "1", "1" };
	walk_answer(&f, "a");
	walk_answer(&f, "duty desk");
	for (size_t i = 0; i < sizeof kit / sizeof *kit; i++)
		walk_answer(&f, kit[i]);
	walk_answer(&f, "a");
	walk_answer(&f, "a");
	walk_answer(&f, "EG12-26-00417");
	walk_answer(&f, "EG12-26-00417");
	walk_answer(&f, "GU-0417-K");
	walk_answer(&f, "GP-07-C");
	assert_true(f.session.result.gates.closed[0]);
}

static void fit(void)
{
	for (int i = 0; i < 8; i++)
		walk_answer(&f, "a");
	assert_true(f.session.result.gates.closed[1]);
}

static void to_the_console(void)
{
	walk_answer(&f, "a");
	walk_answer(&f, "231.4");
	walk_answer(&f, "a");
	f.now += 20;
	walk_key(&f, KEYS_TAB);
	walk_answer(&f, "a");
	walk_answer(&f, "a");
}

static void read_log(const char *pick)
{
	walk_type(&f, "r");
	walk_answer(&f, pick);
	walk_type(&f, "y");
}

/* Enter alone, fifty times on every step of the plan, records nothing. */
static void enter_alone_answers_nothing(void **state)
{
	(void)state;
	const struct pm_plan *plan = &f.session.plan.plan;
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++) {
			walk_show_step(&f.state, &f.session, p, s);
			for (int i = 0; i < 50; i++)
				walk_key(&f, KEYS_ENTER);
		}
	assert_int_equal(walk_readings(&f), 0);
}

static void a_burst_accepts_nothing(void **state)
{
	(void)state;
	walk_type(&f, "a");
	walk_send(&f, (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_ENTER, .burst = true });
	assert_int_equal(walk_readings(&f), 0);
	assert_shows(&f, "all at once");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), 1);
}

static void a_paste_is_text_only(void **state)
{
	(void)state;
	walk_to(&f, "contact");
	walk_send(&f, (struct screen_event){ .kind = EVENT_PASTE, .text = "q\ny\nq", .length = 5 });
	assert_false(f.left);
	assert_int_equal(walk_readings(&f), 0);
	assert_string_equal(f.state.field.text, "q y q");
	/* Escape opens the menu, and closing it finds the field as it was */
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(f.state.screen, WALK_MENU);
	walk_key(&f, KEYS_ESCAPE);
	assert_string_equal(f.state.field.text, "q y q");
}

static void a_shut_phase_takes_nothing(void **state)
{
	(void)state;
	walk_to(&f, "isolate");
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), 0);
	assert_shows(&f, "this phase is shut");
	walk_to(&f, "connect");
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), 0);
}

static void the_second_reading_is_blind(void **state)
{
	(void)state;
	walk_to(&f, "new-serial");
	walk_answer(&f, "EG12-26-00417");
	assert_false(walk_shows(&f, "EG12-26-00417"));
	assert_shows(&f, "hidden until the second one is typed");
	walk_answer(&f, "EG12-26-00471");
	assert_non_null(strstr(f.state.message, "characters 12 and 13 stand in each other's place"));
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_TAKE_BACK);
	walk_key(&f, KEYS_DOWN);
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "misread");
	walk_key(&f, KEYS_ESCAPE);
	walk_answer(&f, "EG12-26-00417");
	struct pm_fact fact = pm_fact_find(&f.session.job.job, "router/serial", PM_AS_TEXT);
	assert_int_equal(fact.standing, PM_CONFIRMED);
}

static void a_halting_answer_holds_until_answered_again(void **state)
{
	(void)state;
	walk_to(&f, "outage");
	walk_answer(&f, "c");
	assert_shows(&f, "STOPPED");
	assert_true(pm_findings_count(&f.session.result.findings, PM_STOP) > 0);
	walk_answer(&f, "a");
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
}

static void a_critical_step_is_never_skipped(void **state)
{
	(void)state;
	walk_to(&f, "outage");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "n");
	assert_shows(&f, "a critical step always applies");
	assert_int_equal(walk_readings(&f), 0);
}

static void a_shortage_needs_a_waiver_with_a_reason(void **state)
{
	(void)state;
	prepare();
	walk_to(&f, "kit");
	f.state.row = 2;
	walk_answer(&f, "0");
	assert_false(f.session.result.gates.closed[0]);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "w");
	assert_shows(&f, "kit-complete");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "ok");
	assert_int_equal(f.session.job.job.waiver_count, 0);
	walk_answer(&f, "ay, borrowed from the station");
	assert_int_equal(f.session.job.job.waiver_count, 1);
	assert_true(f.session.result.gates.closed[0]);
}

static void a_wait_survives_leaving(void **state)
{
	(void)state;
	prepare();
	fit();
	walk_answer(&f, "a");
	walk_answer(&f, "231.4");
	walk_answer(&f, "a");
	assert_shows(&f, "20 s left");
	session_close(&f.session);
	f.now += 5;
	walk_open(&f);
	walk_size(&f, 24, 80);
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "15 s left");
	f.now += 15;
	walk_send(&f, (struct screen_event){ .kind = EVENT_TICK });
	assert_shows(&f, "the least time has passed");
}

static void two_logs_confirm_and_one_counts_once(void **state)
{
	(void)state;
	prepare();
	fit();
	to_the_console();
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_PORTS);
	read_log("1");
	assert_int_equal(f.session.result.roster.held, 13);
	assert_int_equal(f.session.result.roster.confirmed, 0);
	read_log("1");
	assert_shows(&f, "counts once");
	assert_int_equal(f.session.result.roster.confirmed, 0);
	walk_key(&f, KEYS_ESCAPE);
	read_log("2");
	assert_int_equal(f.session.result.roster.confirmed, 13);
	assert_shows(&f, "13 of 13 interfaces confirmed");
}

/* One wrong digit by hand: explained before it is taken, in conflict after. */
static void a_wrong_digit_is_caught(void **state)
{
	(void)state;
	prepare();
	fit();
	to_the_console();
	walk_key(&f, KEYS_ENTER);
	read_log("1");
	f.state.row = 5;
	walk_key(&f, KEYS_ENTER);
	assert_false(walk_shows(&f, "00-00-5E-00-53-15"));
	size_t before = walk_readings(&f);
	walk_answer(&f, "0000.5e00.5385");
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "character 11 reads 8 where 1 belongs");
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), before + 1);
	assert_shows(&f, "! conflict");
	walk_type(&f, "f");
	assert_shows(&f, "reading-conflict");
	assert_shows(&f, "00-00-5E-00-53-15");
}

static void a_malformed_address_is_refused_with_its_column(void **state)
{
	(void)state;
	prepare();
	fit();
	to_the_console();
	walk_key(&f, KEYS_ENTER);
	size_t before = walk_readings(&f);
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "00-00-5E-00-53-1O");
	assert_shows(&f, "column 17");
	assert_shows(&f, "00-00-5E-00-53-10");
	assert_int_equal(walk_readings(&f), before);
	assert_string_equal(f.state.field.text, "00-00-5E-00-53-1O");
}

static void a_second_session_only_reads(void **state)
{
	(void)state;
	struct walk_fixture other = f;
	walk_open(&other);
	assert_true(other.session.read_only);
	other.state.screen = WALK_STEP;
	assert_true(canvas_init(&other.canvas, 24, 80, true));
	walk_size(&other, 24, 80);
	walk_answer(&other, "a");
	assert_int_equal(walk_readings(&other), 0);
	assert_shows(&other, "read-only");
	session_close(&other.session);
	canvas_free(&other.canvas);
}

/* Somebody else changes the file: nothing is overwritten, what was typed stays. */
static void a_changed_file_is_not_overwritten(void **state)
{
	(void)state;
	size_t length = 0;
	char *text = scratch_read(f.job, &length);
	assert_non_null(text);
	char *longer = malloc(length + 20);
	assert_non_null(longer);
	memcpy(longer, text, length);
	memcpy(longer + length, "# another hand\n", 15);
	assert_true(scratch_write(f.job, longer, length + 15));
	walk_to(&f, "contact");
	walk_answer(&f, "duty desk");
	assert_shows(&f, "NOT SAVED");
	assert_string_equal(f.state.field.text, "duty desk");
	size_t now = 0;
	char *after = scratch_read(f.job, &now);
	assert_int_equal(now, length + 15);
	assert_memory_equal(after, longer, now);
	free(after);
	free(longer);
	free(text);
}

static void ignore_line(void *context, const char *line)
{
	(void)context;
	(void)line;
}

/* The practice site, answered up to the verdict. */
static void walk_up_to_the_verdict(void)
{
	char path[400];
	struct pm_fault fault = { 0 };
	size_t length = 0;
	char *answers = scratch_read("data/demo/answers.yaml", &length);
	assert_non_null(answers);
	char *end = strstr(answers, "  - { step: \"verdict\"");
	assert_non_null(end);
	snprintf(path, sizeof path, "%s/answers.yaml", f.folder);
	assert_true(scratch_write(path, answers, (size_t)(end - answers)));
	free(answers);
	if (!drive_unattended(&f.session, path, ignore_line, NULL, &fault))
		fail_msg("%s", fault.message);
	f.now = f.session.now.second + 60;
	walk_size(&f, 24, 80);
}

/* The verdict "fails" leads to the way back; a new window begins the cutover
 * again, and nothing of the first attempt counts for it. */
static void a_failed_cutover_leads_back_and_begins_again(void **state)
{
	(void)state;
	enum { CUTOVER = 5, CLOSE = 6 };
	walk_up_to_the_verdict();
	walk_to(&f, "verdict");
	walk_answer(&f, "b");
	assert_shows(&f, "Go back to the old router");
	walk_answer(&f, "a");
	walk_answer(&f, "a");
	walk_answer(&f, "lamps dark after the reload");
	walk_answer(&f, "TOC 5533");
	assert_shows(&f, "State how the site is left");
	assert_false(f.session.result.gates.closed[CLOSE]);
	f.now += 300;
	walk_to(&f, "appointment");
	walk_answer(&f, "2026-09-15 09:00 +00:00 to 12:00");
	assert_int_equal(f.session.result.phase, CUTOVER);
	assert_false(f.session.result.gates.open[CUTOVER]);
	walk_to(&f, "connect");
	size_t before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before);
	assert_shows(&f, "this phase is shut");
	f.now = WALK_START + 86400 + 6000;    /* 09:15 of the next day */
	walk_send(&f, (struct screen_event){ .kind = EVENT_TICK });
	assert_true(f.session.result.gates.open[CUTOVER]);
	assert_int_equal(pm_findings_count(&f.session.result.findings, PM_STOP), 0);
	walk_to(&f, "go");
	assert_shows(&f, "to do");
	static const char *const again[] = { "a", "a", "tb-00-edge, version 5", "a", "a", "613", "0", "a", "a" };
	for (size_t i = 0; i < sizeof again / sizeof *again; i++)
		walk_answer(&f, again[i]);
	assert_true(f.session.result.gates.closed[CUTOVER]);
	assert_shows(&f, "Wipe the old router");
}

static uint32_t next_random(uint32_t *seed)
{
	*seed = *seed * 1664525u + 1013904223u;
	return *seed >> 8;
}

/* Random keys at random sizes: nothing crashes, no reading is ever lost, and
 * the screen never holds more than printable ASCII. */
static void random_keys(void **state)
{
	(void)state;
	uint32_t seed = 7;
	size_t readings = 0, saved = 0;
	for (int i = 0; i < 30000; i++) {
		struct screen_event event = { .kind = EVENT_KEY, .key = (enum screen_key)(next_random(&seed) % 16) };
		uint32_t kind = next_random(&seed) % 10;
		if (kind < 5)
			event = (struct screen_event){ .kind = EVENT_CHARACTER, .point = 32 + next_random(&seed) % 95 };
		else if (kind == 5)
			event = (struct screen_event){ .kind = EVENT_PASTE, .text = "1\x1b[2J\n00-00-5E-00-53-10", .length = 23 };
		event.burst = next_random(&seed) % 8 == 0;
		if (kind == 6 && i % 10 == 0)
			walk_size(&f, 1 + (int)(next_random(&seed) % 60), 1 + (int)(next_random(&seed) % 200));
		f.now += next_random(&seed) % 3;
		walk_send(&f, event);
		if (f.left)
			f.state.screen = WALK_STEP;
		assert_true(walk_readings(&f) >= readings);
		saved += walk_readings(&f) > readings;
		readings = walk_readings(&f);
		for (int c = 0; c < f.canvas.rows * f.canvas.columns; c++)
			assert_true(f.canvas.cell[c].point == 0 || (f.canvas.cell[c].point >= 32 && f.canvas.cell[c].point < 127));
	}
	assert_true(saved > 20);
	printf("# figure 30000 random events, %zu entries saved\n", saved);
	struct store_job job;
	struct pm_fault fault;
	assert_true(store_job_load(f.job, &job, &fault));
	assert_int_equal(job.job.reading_count, readings);
	store_job_free(&job);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(enter_alone_answers_nothing), CASE(a_burst_accepts_nothing), CASE(a_paste_is_text_only),
		CASE(a_shut_phase_takes_nothing), CASE(the_second_reading_is_blind),
		CASE(a_halting_answer_holds_until_answered_again), CASE(a_critical_step_is_never_skipped),
		CASE(a_shortage_needs_a_waiver_with_a_reason), CASE(a_wait_survives_leaving),
		CASE(two_logs_confirm_and_one_counts_once), CASE(a_wrong_digit_is_caught),
		CASE(a_malformed_address_is_refused_with_its_column), CASE(a_second_session_only_reads),
		CASE(a_changed_file_is_not_overwritten), CASE(a_failed_cutover_leads_back_and_begins_again),
		CASE(random_keys),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
