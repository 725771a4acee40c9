/* Nothing is answered too early or unseen: the good verdict and what cannot be
 * undone, windows too small to show anything, words that go on below. */
#include "walk_case.h"

/* --- the verdict ------------------------------------------------------------------------ */

static void to_the_cutover(void)
{
	course_to_the_cutover(&f);
	assert_at(&f, "go");
}

static const struct { const char *step, *say, *stops; } proofs[] = {
	{ "go", "a", "c" },          { "connect", "a", "d" },        { "config", "tb-00-edge, version 4", NULL },
	{ "credentials", "a", "c" }, { "on-air", "a", "c" },         { "round-trip", "612.5", "120" },
	{ "loss", "0", "9" },        { "data-seen", "a", "c" },
};
#define PROOFS (sizeof proofs / sizeof *proofs)

/* A measurement outside its limits is recorded at the second Enter. */
static void prove(size_t at, const char *say)
{
	walk_to(&f, proofs[at].step);
	size_t before = walk_readings(&f);
	walk_answer(&f, say);
	if (walk_readings(&f) == before)
		walk_key(&f, KEYS_ENTER);
	assert_int_equal(walk_readings(&f), before + 1);
}

static void refused(const char *step, const char *why)
{
	walk_to(&f, step);
	size_t before = walk_readings(&f);
	walk_answer(&f, "a");
	assert_int_equal(walk_readings(&f), before);
	if (!strstr(f.state.message, why))
		fail_msg("%s: %s", step, f.state.message);
}

/* Neither said to carry, nor wiped, nor taken out. */
static void nothing_final(void)
{
	refused("verdict", "not yet, for");
	refused("verdict", "that it fails can be said at any time");
	const struct pm_reading *verdict = pm_fact_last(&f.session.job.job, "step/verdict");
	refused("old-wiped", verdict ? "this phase is shut" : "does not apply here");
	refused("old-out", verdict ? "this phase is shut" : "does not apply here");
	assert_false(f.session.result.gates.closed[5]);
	assert_false(f.session.result.gates.open[6]);
}

static void take_back(const char *step)
{
	char of[80];
	snprintf(of, sizeof of, "step/%s", step);
	walk_to(&f, step);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "t");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "pressed by mistake");
	assert_null(pm_fact_last(&f.session.job.job, of));
}

static void the_good_verdict_wants_every_proof(void **state)
{
	(void)state;
	to_the_cutover();
	nothing_final();
	for (size_t i = 0; i < PROOFS; i++)
		prove(i, proofs[i].say);
	for (size_t i = 0; i < PROOFS; i++) {
		take_back(proofs[i].step);
		nothing_final();
		prove(i, proofs[i].say);
	}
	walk_to(&f, "verdict");
	walk_answer(&f, "a");
	assert_at(&f, "old-wiped");
	/* a gap that is torn afterwards shuts it, too */
	take_back("data-seen");
	nothing_final();
}

static void a_stop_refuses_the_good_verdict(void **state)
{
	(void)state;
	to_the_cutover();
	for (size_t i = 0; i < PROOFS; i++)
		prove(i, proofs[i].say);
	for (size_t i = 0; i < PROOFS; i++) {
		if (!proofs[i].stops)
			continue;
		prove(i, proofs[i].stops);
		nothing_final();
		prove(i, proofs[i].say);
	}
	walk_to(&f, "verdict");
	walk_answer(&f, "a");
	assert_at(&f, "old-wiped");
	assert_shows(&f, "cutover is closed");
}

/* A file may say so all the same, edited by hand or under an older plan: nothing is
 * final by that. */
static void a_verdict_from_elsewhere_is_not_enough(void **state)
{
	(void)state;
	struct session_entry entry = { .of = "step/verdict", .value = "carries the service", .source = PM_SOURCE_STATED };
	struct pm_fault fault;
	to_the_cutover();
	prove(0, "a");
	assert_true(session_record(&f.session, &entry, &fault));
	nothing_final();
	for (size_t i = 1; i < PROOFS; i++) {
		nothing_final();
		prove(i, proofs[i].say);
	}
	assert_true(f.session.result.gates.closed[5]);
	walk_to(&f, "old-wiped");
	walk_answer(&f, "a");
	assert_at(&f, "old-out");
}

/* It failed: said over stops and gaps alike, and the way back stays open. */
static void the_failed_verdict_is_always_taken(void **state)
{
	(void)state;
	to_the_cutover();
	for (size_t upto = 0; upto <= PROOFS; upto++) {
		for (size_t i = 0; i < upto; i++)
			prove(i, i + 1 == upto && proofs[i].stops ? proofs[i].stops : proofs[i].say);
		nothing_final();
		walk_to(&f, "verdict");
		walk_answer(&f, "b");
		assert_at(&f, "back-leads");
		assert_true(f.session.result.gates.open[6]);
		/* and nothing is wiped on that way */
		walk_to(&f, "old-wiped");
		size_t before = walk_readings(&f);
		walk_answer(&f, "a");
		assert_int_equal(walk_readings(&f), before);
		assert_shows(&f, "does not apply here");
		/* until it is taken back */
		take_back("verdict");
	}
}

/* The leads are back on the old router: nobody may say now, on the proofs of before,
 * that the new one carries the service, and wipe the one that does. */
static void after_the_way_back_all_is_proved_anew(void **state)
{
	(void)state;
	to_the_cutover();
	course_cutover(&f);
	walk_answer(&f, "b");
	assert_at(&f, "back-leads");
	course_say_yes(&f, 1);
	refused("verdict", "answered before the way back was begun");
	refused("old-wiped", "does not apply here");
	for (size_t i = 0; i < PROOFS; i++) {
		refused("verdict", "answered before the way back was begun");
		prove(i, proofs[i].say);
	}
	walk_to(&f, "verdict");
	walk_answer(&f, "a");
	assert_at(&f, "old-wiped");
}

/* What comes to light after the good verdict shuts the last phase again. */
static void a_later_stop_shuts_the_last_phase(void **state)
{
	(void)state;
	to_the_cutover();
	course_cutover(&f);
	course_say_yes(&f, 1);
	assert_at(&f, "old-wiped");
	prove(7, "c");
	assert_shows(&f, "STOPPED");
	refused("old-wiped", "this phase is shut");
	refused("old-out", "this phase is shut");
	walk_to(&f, "verdict");
	walk_answer(&f, "b");
	assert_at(&f, "back-leads");
	course_say_yes(&f, 1);
	assert_at(&f, "back-link");
}

/* The last answer closes all: that is said, not that something comes next. */
static void the_last_answer_ends_the_job(void **state)
{
	(void)state;
	to_the_cutover();
	course_cutover(&f);
	course_close(&f);
	walk_to(&f, "data-seen");
	walk_answer(&f, "c");
	assert_shows(&f, "STOPPED");
	walk_answer(&f, "a");
	assert_shows(&f, "every phase is closed: this job is done");
	assert_hides(&f, "next:");
	walk_reopen(&f);
	assert_shows(&f, "This job is done: every phase is closed.");
	assert_hides(&f, "Next:");
	walk_key(&f, KEYS_ENTER);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "o");
	assert_shows(&f, "this job is done");
}

/* --- a window too small to show anything -------------------------------------------------- */

static const struct { int rows, columns; } tiny[] = { { 10, 40 }, { 11, 80 }, { 24, 39 }, { 1, 1 } };

/* Every key there is, and a paste. */
static void all_keys(void)
{
	for (int key = KEYS_ENTER; key < KEYS_CTRL; key++)
		walk_key(&f, (enum screen_key)key);
	for (char c = 'a'; c < 'z'; c++)
		walk_ctrl(&f, c);
	for (char c = ' '; c <= '~'; c++) {
		walk_send(&f, (struct screen_event){ .kind = EVENT_CHARACTER, .point = (uint32_t)c });
		walk_key(&f, KEYS_ENTER);
	}
	walk_paste(&f, "a\n", 2);
}

static void no_key_acts_unseen(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	size_t before = walk_readings(&f);
	for (enum walk_screen screen = WALK_HELLO; screen < WALK_SCREENS; screen++) {
		if (screen == WALK_LOG || screen == WALK_LIVE || screen == WALK_LEAVE)
			continue;   /* not without a log, a console; the last is for leaving */
		for (size_t i = 0; i < sizeof tiny / sizeof *tiny; i++) {
			struct walk_state was;
			walk_size(&f, 24, 80);
			walk_to(&f, "gfp");
			if (walk_is_over(screen))
				walk_over(&f.state, screen);
			else
				walk_go(&f.state, &f.session, screen);
			walk_size(&f, tiny[i].rows, tiny[i].columns);
			was = f.state;
			all_keys();
			assert_int_equal(walk_readings(&f), before);
			assert_int_equal(f.state.screen, screen);
			assert_int_equal(f.state.choice, was.choice);
			assert_int_equal(f.state.row, was.row);
			assert_int_equal(f.state.over, was.over);
			assert_int_equal(f.state.typing, was.typing);
			assert_string_equal(f.state.field.text, was.field.text);
			assert_false(f.left);
		}
	}
	walk_size(&f, 10, 40);
	assert_shows(&f, "window too small");
	assert_shows(&f, "Ctrl-C asks whether to leave");
}

static void a_small_window_can_be_left(void **state)
{
	(void)state;
	walk_type(&f, "a");
	walk_size(&f, 10, 40);
	walk_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	assert_shows(&f, "y leaves, n stays");
	walk_type(&f, "n");
	assert_false(f.left);
	walk_size(&f, 24, 80);
	assert_at(&f, "outage");
	assert_int_equal(f.state.choice, 0);
	walk_size(&f, 10, 40);
	walk_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	walk_type(&f, "y");
	assert_true(f.left);
	walk_event(&f.state, &f.session, &(struct screen_event){ .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 'z' });
	assert_int_equal(f.state.want, WANT_SUSPEND);
	walk_event(&f.state, &f.session, &(struct screen_event){ .kind = EVENT_STOP, .signal = 15 });
	assert_int_equal(f.state.want, WANT_LEAVE);
}

/* --- words that go on below ------------------------------------------------------------------ */

static const struct { int rows, columns; } sizes[] = { { 24, 80 }, { 18, 60 }, { 17, 80 }, { 12, 40 }, { 43, 132 } };

static char seen[400000];

static void look(void)
{
	char *dump = canvas_dump(&f.canvas, false);
	assert_true(strlen(seen) + strlen(dump) < sizeof seen);
	strcat(seen, dump);
	free(dump);
}

static void assert_words_seen(const char *text, const char *step)
{
	char word[200];
	while (text && *text) {
		size_t length = strcspn(text, " \n");
		snprintf(word, sizeof word, "%.*s", (int)length, text);
		if (length && !strstr(seen, word))
			fail_msg("%s: \"%s\" was never shown", step, word);
		text += length + (text[length] != '\0');
	}
}

/* The step as it comes up, now and then with a message that takes rows from it. */
static void forget(bool message)
{
	f.state.read = false;
	f.state.seen = 0;
	snprintf(f.state.message, sizeof f.state.message, "%s", message ? "saved; a message that is so long that it takes "
	         "three or four rows of the screen from the words above it, and then goes away again with the next key" : "");
}

/* On every step and at every size: when an answer's letter is taken, or a typed value
 * accepted, each word of the step has been on the screen, and so is the answer. */
static void answers_wait_for_the_words(void **state)
{
	(void)state;
	const struct pm_plan *plan = &f.session.plan.plan;
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
		for (size_t p = 0; p < plan->phase_count; p++)
			for (size_t s = 0; s < plan->phases[p].step_count; s++) {
				const struct pm_step *step = &plan->phases[p].steps[s];
				if (step_has_field(step))
					continue;
				walk_size(&f, sizes[i].rows, sizes[i].columns);
				walk_show_step(&f.state, &f.session, p, s);
				forget(i % 2 == p % 2);
				walk_draw(&f.state, &f.session, &f.canvas);
				seen[0] = '\0';
				look();
				int presses = 0;
				while (f.state.screen == WALK_STEP && f.state.choice < 0 && presses < 60) {
					if (step->ask == PM_ASK_ADDRESSES || presses % 3 == 1)
						walk_key(&f, KEYS_ENTER);
					else if (presses % 3 == 2)
						walk_key(&f, KEYS_PAGE_DOWN);
					else
						walk_type(&f, "a");
					presses++;
					if (f.state.choice < 0 && f.state.screen == WALK_STEP)
						look();
				}
				assert_true(presses < 60);
				assert_words_seen(step->text.text, step->id.text);
				assert_words_seen(step->caution.text, step->id.text);
				if (step->ask == PM_ASK_ANSWER)
					assert_shows(&f, "a  ");
			}
}

static void a_typed_value_waits_for_the_words(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_say_yes(&f, 1);
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
		const struct pm_step *step;
		walk_size(&f, sizes[i].rows, sizes[i].columns);
		walk_to(&f, "outlet");
		step = walk_step(&f.state, &f.session);
		forget(true);
		walk_draw(&f.state, &f.session, &f.canvas);
		seen[0] = '\0';
		look();
		walk_type(&f, "231.4");
		assert_string_equal(f.state.field.text, "231.4");
		size_t before = walk_readings(&f);
		for (int presses = 0; walk_readings(&f) == before && presses < 60; presses++) {
			look();
			assert_string_equal(f.state.field.text, "231.4");
			walk_key(&f, KEYS_ENTER);
		}
		assert_int_equal(walk_readings(&f), before + 1);
		assert_words_seen(step->text.text, "outlet");
		assert_words_seen(step->caution.text, "outlet");
	}
}

/* Where words are cut, no row of the screen's middle is left empty, and the rule says
 * how many lines are still to come. */
static void no_room_is_wasted_while_words_are_cut(void **state)
{
	(void)state;
	const struct pm_plan *plan = &f.session.plan.plan;
	size_t cut = 0;
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
		for (size_t p = 0; p < plan->phase_count; p++)
			for (size_t s = 0; s < plan->phases[p].step_count; s++) {
				walk_size(&f, sizes[i].rows, sizes[i].columns);
				walk_show_step(&f.state, &f.session, p, s);
				forget(false);
				struct step_layout l = step_layout(&f.state, &f.session, sizes[i].rows, sizes[i].columns);
				if (!l.most)
					continue;
				char more[40];
				snprintf(more, sizeof more, sizes[i].columns < 60 ? " %d line" : " %d more line", l.most);
				assert_shows(&f, more);
				char *dump = canvas_dump(&f.canvas, false), *at = dump;
				for (int row = 0; row < l.area.row + l.area.rows - 1; row++)
					at += strcspn(at, "\n") + 1;
				if (*at == '\n')
					fail_msg("%s at %dx%d:\n%s", plan->phases[p].steps[s].id.text, sizes[i].columns, sizes[i].rows, dump);
				free(dump);
				cut++;
			}
	assert_true(cut > 50);
}

/* At the size that the screens are made for every step of an open phase shows whole,
 * in the cutover with the time that is left of the window. */
static void the_usual_window_shows_all(void **state)
{
	(void)state;
	const struct pm_plan *plan = &f.session.plan.plan;
	struct pm_gates *gates = &f.session.result.gates;
	course_prepare(&f);
	for (size_t i = 0; i < gates->count; i++)
		if (!gates->line[i].met && !gates->line[i].closing) {
			gates->line[i].met = true;
			gates->line[i].why = "inside the window, 2 h 58 min left, until 2026-11-25T23:13:00Z";
		}
	for (size_t p = 0; p < plan->phase_count; p++) {
		gates->open[p] = true;
		for (size_t s = 0; s < plan->phases[p].step_count; s++) {
			walk_show_step(&f.state, &f.session, p, s);
			f.state.message[0] = '\0';
			struct step_layout l = step_layout(&f.state, &f.session, 24, 80);
			if (l.most)
				fail_msg("%s lacks %d lines", plan->phases[p].steps[s].id.text, l.most);
		}
	}
}

/* A wider or narrower window has other lines: what was not read to its end begins anew. */
static void a_new_size_begins_the_words_anew(void **state)
{
	(void)state;
	course_prepare(&f);
	walk_size(&f, 18, 60);
	walk_to(&f, "isolate");
	walk_draw(&f.state, &f.session, &f.canvas);
	walk_key(&f, KEYS_PAGE_DOWN);
	assert_true(f.state.scroll > 0);
	walk_size(&f, 18, 80);
	assert_int_equal(f.state.scroll, 0);
	walk_read(&f);
	walk_size(&f, 18, 60);
	assert_true(step_read(&f.state));
	walk_type(&f, "a");
	assert_int_equal(f.state.choice, 0);
	/* but another step's words are others */
	walk_to(&f, "dead");
	assert_false(step_read(&f.state));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(the_good_verdict_wants_every_proof), CASE(a_stop_refuses_the_good_verdict),
		CASE(a_verdict_from_elsewhere_is_not_enough),
		CASE(the_failed_verdict_is_always_taken), CASE(after_the_way_back_all_is_proved_anew), CASE(a_later_stop_shuts_the_last_phase),
		CASE(the_last_answer_ends_the_job), CASE(no_key_acts_unseen), CASE(a_small_window_can_be_left),
		CASE(answers_wait_for_the_words), CASE(a_typed_value_waits_for_the_words),
		CASE(no_room_is_wasted_while_words_are_cut), CASE(the_usual_window_shows_all),
		CASE(a_new_size_begins_the_words_anew),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
