#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static void clock_at(struct fixture *f, int64_t second) { f->the_case.now = pm_when_utc(second); }

/* What each row does to a job that has come as far as its phase. */
static void nothing(struct fixture *f) { (void)f; }
static void look_open(struct fixture *f) { fixture_withdraw(f, "step/look", NULL); }
static void look_bad(struct fixture *f) { fixture_say(f, "step/look", "damaged"); }
static void look_odd(struct fixture *f) { fixture_say(f, "step/look", "so so"); }
static void look_skipped(struct fixture *f) { fixture_read(f, "step/look", NULL, PM_SOURCE_SKIPPED, NULL, FIXTURE_NOW)->note = word("no time"); }
static void contact_empty(struct fixture *f) { fixture_say(f, "step/contact", ""); }
static void contact_skipped(struct fixture *f) { fixture_read(f, "step/contact", NULL, PM_SOURCE_SKIPPED, NULL, FIXTURE_NOW)->note = word("alone here"); }
static void contact_shrugged(struct fixture *f) { fixture_read(f, "step/contact", NULL, PM_SOURCE_SKIPPED, NULL, FIXTURE_NOW); }
static void kit_some(struct fixture *f) { fixture_say(f, "kit/screws", "3"); }
static void kit_words(struct fixture *f) { fixture_say(f, "kit/screws", "a few"); }
static void serial_once(struct fixture *f) { fixture_withdraw(f, "router/serial", NULL); fixture_say(f, "router/serial", "EG12-26-00417"); }
static void serial_open(struct fixture *f) { fixture_withdraw(f, "router/serial", NULL); }
static void serial_two(struct fixture *f) { fixture_say(f, "router/serial", "EG12-26-00471"); }
static void serial_skipped(struct fixture *f) { fixture_read(f, "router/serial", NULL, PM_SOURCE_SKIPPED, NULL, FIXTURE_NOW)->note = word("no label"); }
static void unit_once(struct fixture *f) { fixture_withdraw(f, "site/unit", NULL); fixture_say(f, "site/unit", " GS-0417"); }
static void unit_other(struct fixture *f) { f->job.unit = word("GS-0471"); }
static void volts_high(struct fixture *f) { fixture_say(f, "step/volts", "253.000001"); }
static void volts_most(struct fixture *f) { fixture_say(f, "step/volts", "253"); }
static void volts_word(struct fixture *f) { fixture_say(f, "step/volts", "enough"); }
static void boot_now(struct fixture *f) { fixture_say(f, "step/boot", "begun"); }
static void boot_last(struct fixture *f) { fixture_read(f, "step/boot", "begun", PM_SOURCE_STATED, NULL, FIXTURE_NOW - 299); }
static void boot_open(struct fixture *f) { fixture_withdraw(f, "step/boot", NULL); }
static void boot_practice(struct fixture *f) { boot_now(f); f->job.practice = true; f->job.practice_wait = 5; }
static void boot_practice_over(struct fixture *f) { boot_practice(f); clock_at(f, FIXTURE_NOW + 5); }
static void boot_not_practice(struct fixture *f) { boot_practice_over(f); f->job.practice = false; }
static void port_once(struct fixture *f) { fixture_withdraw(f, "port/port3", NULL); fixture_say(f, "port/port3", fixture_address(f, 3)); }
static void port_two(struct fixture *f) { fixture_say(f, "port/port3", "00-00-5E-00-53-31"); }
static void port_bad(struct fixture *f) { fixture_withdraw(f, "port/port3", NULL); fixture_twice(f, "port/port3", "00-00-5E-00-53-I3"); }
static void ports_open(struct fixture *f) { for (int i = 3; i < 8; i++) fixture_withdraw(f, fixture_text(f, "port/port%d", i), NULL); }
static void port_breaks(struct fixture *f) { fixture_withdraw(f, "port/port3", NULL); fixture_twice(f, "port/port3", "00-00-5E-00-53-93"); }
static void two_stops(struct fixture *f) { port_breaks(f); volts_high(f); }
static void verdict_bad(struct fixture *f) { fixture_say(f, "step/verdict", "damaged"); }
static void verdict_open(struct fixture *f) { fixture_withdraw(f, "step/verdict", NULL); }
static void go_open(struct fixture *f) { fixture_withdraw(f, "step/go", NULL); }
static void go_bad(struct fixture *f) { fixture_say(f, "step/go", "missing"); }
static void go_skipped(struct fixture *f) { fixture_read(f, "step/go", NULL, PM_SOURCE_SKIPPED, NULL, FIXTURE_OPENS)->note = word("no"); }
static void all_bad(struct fixture *f) { go_bad(f); verdict_bad(f); }
static void failed_at_once(struct fixture *f) { go_open(f); verdict_bad(f); }
static void note_open(struct fixture *f) { f->steps[PREPARE][1].note = word("who looked"); }
static void note_given(struct fixture *f) { note_open(f); fixture_say(f, "step/look", "whole")->note = word("the crew"); }
static void note_not_wanted(struct fixture *f) { note_open(f); look_bad(f); }
static void contact_number(struct fixture *f) { f->steps[PREPARE][2].words = true; fixture_say(f, "step/contact", "+1 (555) 010-0"); }
static void contact_desk(struct fixture *f) { f->steps[PREPARE][2].words = true; fixture_say(f, "step/contact", "desk 7"); }
static void contact_free(struct fixture *f) { fixture_say(f, "step/contact", "555-0100"); }
static void sent(struct fixture *f) { fixture_register(f, NULL); }
static void rejected(struct fixture *f) { fixture_register(f, "rejected"); }
static void undecided(struct fixture *f) { fixture_register(f, "perhaps"); }
static void sent_again(struct fixture *f) { fixture_register(f, NULL); }
static void sent_back(struct fixture *f) { fixture_withdraw(f, "desk/sent", NULL); }
static void changed(struct fixture *f) { fixture_withdraw(f, "router/serial", NULL); fixture_twice(f, "router/serial", "EG12-26-00418"); }
static void booked_badly(struct fixture *f) { fixture_say(f, "desk/appointment", "Thursday"); }
static void booked_back(struct fixture *f) { fixture_withdraw(f, "desk/appointment", NULL); }
static void not_live(struct fixture *f) { f->job.live = false; }
static void before(struct fixture *f) { clock_at(f, FIXTURE_OPENS - 1); }
static void opening(struct fixture *f) { clock_at(f, FIXTURE_OPENS); }
static void ending(struct fixture *f) { clock_at(f, FIXTURE_ENDS); }
static void missed(struct fixture *f) { clock_at(f, FIXTURE_ENDS + 1); }
static void begin(struct fixture *f, const char *of, const char *answer)
{
	fixture_read(f, of, answer, PM_SOURCE_STATED, NULL, FIXTURE_ENDS);
	missed(f);
}
static void begun(struct fixture *f) { begin(f, "step/go", "whole"); }
static void begun_badly(struct fixture *f) { begin(f, "step/go", "damaged"); }
static void begun_back(struct fixture *f) { begin(f, "step/go", "whole"); fixture_withdraw(f, "step/go", NULL); }
static void begun_late(struct fixture *f) { fixture_read(f, "step/go", "whole", PM_SOURCE_STATED, NULL, FIXTURE_ENDS + 1); missed(f); }
static void booking_only(struct fixture *f) { begin(f, "step/told", "whole"); }

#define W "2026-01-08T09:00:00Z to 2026-01-08T11:00:00Z"

/* `reach`: how far the job has come; `phase`: whose closing gate it is. */
static const struct {
	const char *condition;
	size_t reach, phase;
	void (*arrange)(struct fixture *);
	bool met;
	const char *why;
	int64_t opens_in;
} rows[] = {
	{ "steps-done", PREPARE, PREPARE, nothing, false, "\"kit\": 2 of 2 kit items not counted, and 5 more steps", 0 },
	{ "steps-done", MUSTER, PREPARE, nothing, true, "every step is answered", 0 },
	{ "steps-done", MUSTER, PREPARE, look_open, false, "\"look\": not answered", 0 },
	{ "steps-done", MUSTER, PREPARE, look_bad, false, "\"look\": answered \"damaged\"", 0 },
	{ "steps-done", MUSTER, PREPARE, look_odd, false, "\"look\": the recorded answer is none that the plan knows", 0 },
	{ "steps-done", MUSTER, PREPARE, look_skipped, false, "\"look\": this step can't be skipped", 0 },
	{ "steps-done", MUSTER, PREPARE, contact_empty, false, "\"contact\": nothing written", 0 },
	{ "steps-done", MUSTER, PREPARE, contact_skipped, true, "every step is answered", 0 },
	{ "steps-done", MUSTER, PREPARE, note_open, false, "\"look\": answered without its note: who looked", 0 },
	{ "steps-done", MUSTER, PREPARE, note_given, true, "every step is answered", 0 },
	{ "steps-done", MUSTER, PREPARE, note_not_wanted, false, "\"look\": answered \"damaged\"", 0 },
	{ "steps-done", MUSTER, PREPARE, contact_number, false, "\"contact\": a number alone names nobody", 0 },
	{ "steps-done", MUSTER, PREPARE, contact_desk, true, "every step is answered", 0 },
	{ "steps-done", MUSTER, PREPARE, contact_free, true, "every step is answered", 0 },
	{ "steps-done", MUSTER, PREPARE, contact_shrugged, false, "\"contact\": skipped without a reason", 0 },
	{ "steps-done", MUSTER, PREPARE, serial_once, false, "\"serial\": read once; a second reading must confirm it", 0 },
	{ "steps-done", MUSTER, PREPARE, serial_open, false, "\"serial\": not read", 0 },
	{ "steps-done", MUSTER, PREPARE, serial_two, false, "\"serial\": readings that differ", 0 },
	{ "steps-done", MUSTER, PREPARE, serial_skipped, false, "\"serial\": this step can't be skipped", 0 },
	{ "steps-done", MUSTER, PREPARE, unit_once, true, "every step is answered", 0 },
	{ "steps-done", MUSTER, PREPARE, unit_other, false, "\"unit\": readings that differ", 0 },
	{ "steps-done", REGISTER, MUSTER, volts_high, false, "\"volts\": 253.000001 V is above 253 V", 0 },
	{ "steps-done", REGISTER, MUSTER, volts_most, true, "every step is answered", 0 },
	{ "steps-done", REGISTER, MUSTER, volts_word, false, "\"volts\": not a number: \"enough\"", 0 },
	{ "steps-done", REGISTER, MUSTER, boot_now, false, "\"boot\": 5 min 00 s to wait", 300 },
	{ "steps-done", REGISTER, MUSTER, port_once, false, "\"roll\": 12 of 13 addresses confirmed", 0 },
	{ "steps-done", REGISTER, REGISTER, nothing, false, "\"sent\": the sheet was not sent, and 1 more step", 0 },
	{ "steps-done", REGISTER, REGISTER, sent, false, "\"decision\": no decision on the latest sheet", 0 },
	{ "steps-done", REGISTER, REGISTER, rejected, false, "\"decision\": the latest sheet was rejected: correct it and send it again", 0 },
	{ "steps-done", CUTOVER, BOOK, booked_badly, false, "\"window\": a date looks like 2026-03-02, and 1 more step", 0 },
	{ "steps-done", CUTOVER, BOOK, booked_back, false, "\"window\": no appointment", 0 },
	{ "phase-closed muster", MUSTER, REGISTER, nothing, false, "\"muster\" is not closed", 0 },
	{ "phase-closed muster", REGISTER, REGISTER, nothing, true, "\"muster\" is closed", 0 },
	{ "kit-complete", PREPARE, PREPARE, nothing, false, "short of console lead (not counted), rack screws (not counted)", 0 },
	{ "kit-complete", MUSTER, PREPARE, nothing, true, "every kit item is at hand", 0 },
	{ "kit-complete", MUSTER, PREPARE, kit_some, false, "short of rack screws", 0 },
	{ "kit-complete", MUSTER, PREPARE, kit_words, false, "short of rack screws (not counted)", 0 },
	{ "fact-confirmed router/serial", MUSTER, PREPARE, nothing, true, "router/serial is confirmed", 0 },
	{ "fact-confirmed router/serial", MUSTER, PREPARE, serial_once, false, "router/serial is held", 0 },
	{ "fact-confirmed router/serial", MUSTER, PREPARE, serial_open, false, "router/serial is open", 0 },
	{ "fact-confirmed router/serial", MUSTER, PREPARE, serial_two, false, "router/serial is in conflict", 0 },
	{ "fact-confirmed router/serial", MUSTER, PREPARE, serial_skipped, false, "router/serial is skipped", 0 },
	{ "fact-confirmed site/unit", MUSTER, PREPARE, unit_once, true, "site/unit is confirmed", 0 },
	{ "fact-confirmed site/unit", MUSTER, PREPARE, unit_other, false, "site/unit is in conflict", 0 },
	{ "fact-confirmed port/port3", REGISTER, MUSTER, port_two, false, "port/port3 is in conflict", 0 },
	{ "roster-held", MUSTER, MUSTER, nothing, false, "not read: mgmt, port1, port2 and 10 more", 0 },
	{ "roster-held", REGISTER, MUSTER, nothing, true, "all 13 addresses read", 0 },
	{ "roster-held", REGISTER, MUSTER, port_once, true, "all 13 addresses read", 0 },
	{ "roster-held", REGISTER, MUSTER, port_two, false, "not read: port3", 0 },
	{ "roster-held", REGISTER, MUSTER, port_bad, false, "not read: port3", 0 },
	{ "roster-confirmed", REGISTER, MUSTER, nothing, true, "all 13 addresses confirmed", 0 },
	{ "roster-confirmed", REGISTER, MUSTER, port_once, false, "not confirmed: port3", 0 },
	{ "roster-confirmed", REGISTER, MUSTER, port_bad, false, "not confirmed: port3", 0 },
	{ "roster-confirmed", REGISTER, MUSTER, ports_open, false, "not confirmed: port3, port4, port5 and 2 more", 0 },
	{ "no-stops", REGISTER, MUSTER, nothing, true, "no stop finding stands", 0 },
	{ "no-stops", REGISTER, MUSTER, port_breaks, false, "1 stop finding: pattern-break (port3)", 0 },
	{ "no-stops", REGISTER, MUSTER, two_stops, false, "2 stop findings: pattern-break (port3)", 0 },
	{ "no-stops", REGISTER, PREPARE, two_stops, true, "no stop finding stands", 0 },      /* muster can mend them */
	{ "no-stops", CUTOVER, MUSTER, changed, true, "no stop finding stands", 0 },         /* the desk can mend it */
	{ "no-stops", CUTOVER, REGISTER, changed, false, "1 stop finding: seal-changed (desk/sent)", 0 },
	{ "free-of pattern-break", REGISTER, MUSTER, nothing, true, "no pattern-break", 0 },
	{ "free-of pattern-break", REGISTER, MUSTER, port_breaks, false, "1 finding of pattern-break", 0 },
	{ "free-of reading-single", REGISTER, MUSTER, port_once, false, "1 finding of reading-single", 0 },
	{ "answered verdict", CLOSE, CLOSE, nothing, true, "\"verdict\": answered", 0 },
	{ "answered verdict", CLOSE, CLOSE, verdict_bad, false, "\"verdict\": answered \"damaged\"", 0 },
	{ "answered verdict", CLOSE, CLOSE, verdict_open, false, "\"verdict\": not answered", 0 },
	{ "answered back", CLOSE, CLOSE, nothing, true, "\"back\": answered", 0 },            /* its branch was not taken */
	{ "answered back", CLOSE, CLOSE, verdict_bad, false, "\"back\": nothing written", 0 },
	{ "outcome-known verdict", CLOSE, CLOSE, nothing, true, "\"verdict\": known", 0 },
	{ "outcome-known verdict", CLOSE, CLOSE, verdict_bad, true, "\"verdict\": known", 0 },
	{ "outcome-known verdict", CLOSE, CLOSE, verdict_open, false, "\"verdict\": not answered", 0 },
	{ "outcome-founded verdict", CLOSE, CLOSE, nothing, true, "\"verdict\": known", 0 },
	{ "outcome-founded verdict", CLOSE, CLOSE, verdict_open, false, "\"verdict\": not answered", 0 },
	{ "outcome-founded verdict", CLOSE, CLOSE, go_open, false, "\"verdict\": known, but before it \"go\": not answered", 0 },
	{ "outcome-founded verdict", CLOSE, CLOSE, go_bad, false, "\"verdict\": known, but before it \"go\": answered \"missing\"", 0 },
	{ "outcome-founded verdict", CLOSE, CLOSE, go_skipped, false, "\"verdict\": known, but before it \"go\": this step can't be skipped", 0 },
	{ "outcome-founded verdict", CLOSE, CLOSE, verdict_bad, true, "\"verdict\": known", 0 },
	{ "outcome-founded verdict", CLOSE, CLOSE, all_bad, true, "\"verdict\": known", 0 },       /* that it failed: at any time */
	{ "outcome-founded verdict", CLOSE, CLOSE, failed_at_once, true, "\"verdict\": known", 0 },
	{ "wait-over boot", REGISTER, MUSTER, boot_open, false, "\"boot\": not begun", 0 },
	{ "wait-over boot", REGISTER, MUSTER, boot_last, false, "\"boot\": 1 s to wait", 1 },
	{ "wait-over boot", REGISTER, MUSTER, nothing, true, "\"boot\": answered", 0 },
	{ "wait-over boot", REGISTER, MUSTER, boot_practice, false, "\"boot\": 5 s to wait", 5 },
	{ "wait-over boot", REGISTER, MUSTER, boot_practice_over, true, "\"boot\": answered", 0 },
	{ "wait-over boot", REGISTER, MUSTER, boot_not_practice, false, "\"boot\": 4 min 55 s to wait", 295 },
	{ "sheet-sent", REGISTER, REGISTER, nothing, false, "the sheet was not sent", 0 },
	{ "sheet-sent", REGISTER, REGISTER, sent, true, "the sheet was sent", 0 },
	{ "registration-accepted", REGISTER, REGISTER, nothing, false, "the sheet was not sent", 0 },
	{ "registration-accepted", REGISTER, REGISTER, sent, false, "the desk has not decided on the latest sheet", 0 },
	{ "registration-accepted", REGISTER, REGISTER, rejected, false, "the latest sheet was rejected: ref 7", 0 },
	{ "registration-accepted", REGISTER, REGISTER, undecided, false, "the latest sheet was rejected: ref 7", 0 },
	{ "registration-accepted", BOOK, REGISTER, nothing, true, "accepted, and the facts are the ones that were sent", 0 },
	{ "registration-accepted", BOOK, REGISTER, changed, false, "registered facts changed after the sheet was sent", 0 },
	{ "registration-accepted", BOOK, REGISTER, sent_again, false, "the desk has not decided on the latest sheet", 0 },
	{ "registration-accepted", BOOK, REGISTER, sent_back, false, "the sheet was not sent", 0 },
	{ "appointment-set", BOOK, BOOK, nothing, false, "no appointment", 0 },
	{ "appointment-set", BOOK, BOOK, booked_badly, false, "a date looks like 2026-03-02", 0 },
	{ "appointment-set", CUTOVER, BOOK, nothing, true, W, 0 },
	{ "appointment-set", CUTOVER, BOOK, booked_back, false, "no appointment", 0 },
	{ "appointment-set", CUTOVER, BOOK, ending, true, W, 0 },
	{ "appointment-set", CUTOVER, BOOK, missed, false, "the window " W " was missed: book again", 0 },
	{ "appointment-set", CUTOVER, BOOK, begun, true, W, 0 },
	{ "appointment-set", CUTOVER, BOOK, begun_badly, false, "the window " W " was missed: book again", 0 },
	{ "appointment-set", CUTOVER, BOOK, begun_back, false, "the window " W " was missed: book again", 0 },
	{ "appointment-set", CUTOVER, BOOK, booking_only, false, "the window " W " was missed: book again", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, not_live, true, "no terminal in live service stands here", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, booked_back, false, "no appointment", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, booked_badly, false, "a date looks like 2026-03-02", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, nothing, false, "the window opens at 2026-01-08T09:00:00Z, in 7 d 0 h", 7 * 86400 },
	{ "appointment-open", CUTOVER, CUTOVER, before, false, "the window opens at 2026-01-08T09:00:00Z, in 1 s", 1 },
	{ "appointment-open", CUTOVER, CUTOVER, opening, true, "inside the window, 2 h 00 min left", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, ending, true, "inside the window, 0 s left", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, missed, false, "the window closed at 2026-01-08T11:00:00Z: book again", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, begun, true, "begun inside the window, which closed 1 s ago: finish, or go back", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, begun_badly, false, "the window closed at 2026-01-08T11:00:00Z: book again", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, begun_back, false, "the window closed at 2026-01-08T11:00:00Z: book again", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, begun_late, false, "the window closed at 2026-01-08T11:00:00Z: book again", 0 },
	{ "appointment-open", CUTOVER, CUTOVER, booking_only, false, "the window closed at 2026-01-08T11:00:00Z: book again", 0 },
};

static void test_conditions(void **state)
{
	(void)state;
	size_t count, met[64] = { 0 }, unmet[64] = { 0 };
	const struct pm_condition *table = pm_condition_table(&count);
	assert_true(count <= COUNT(met));
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct fixture f;
		fixture_init(&f);
		fixture_reach(&f, rows[i].reach);
		rows[i].arrange(&f);
		f.phases[rows[i].phase].close_count = 0;
		fixture_need(&f, rows[i].phase, true, rows[i].condition, false);
		fixture_check(&f);
		const struct pm_gate_line *line = fixture_line(&f, rows[i].phase, true, rows[i].condition);
		if (line->met != rows[i].met || strcmp(line->why, rows[i].why) != 0 || line->opens_in != rows[i].opens_in)
			fail_msg("row %zu, %s: %s, %s, opens in %lld", i, rows[i].condition, line->met ? "met" : "not met", line->why, (long long)line->opens_in);
		const struct pm_condition *row = pm_condition_find(rows[i].condition, NULL);
		(line->met ? met : unmet)[row - table]++;
		/* of steps, and of what time alone will open, the plan says who (test_core_who) */
		if (line->met || (strcmp(row->name, "steps-done") != 0 && !line->opens_in))
			assert_string_equal(line->who, row->who);
		assert_false(line->waived);
		fixture_forget(&f);
	}
	for (size_t i = 0; i < count; i++)
		if (!met[i] || !unmet[i])
			fail_msg("%s was never %s", table[i].name, met[i] ? "unmet" : "met");
	printf("# figure %zu conditions, each met and unmet, in %zu situations\n", count, COUNT(rows));
}

/* A plan that was not checked can name what does not exist: not met, no crash. */
static void test_unknown_names(void **state)
{
	(void)state;
	static const struct { const char *condition, *why; bool met; } odd[] = {
		{ "no-such", "the plan names a condition that does not exist", false },
		{ "phase-closed nowhere", "\"nowhere\" is not closed", false },
		{ "phase-closed", "nothing is not closed", false },
		{ "fact-confirmed", "the plan names no fact", false },
		{ "answered", "nothing: the plan has no such step", false },
		{ "answered nowhere", "\"nowhere\": the plan has no such step", false },
		{ "wait-over nowhere", "\"nowhere\": the plan has no such step", false },
		{ "outcome-known nowhere", "\"nowhere\": the plan has no such step", false },
		{ "outcome-founded nowhere", "\"nowhere\": the plan has no such step", false },
		{ "free-of nowhere", "no nowhere", true },
		{ "fact-confirmed a\x1B[2J", "a\\x1B[2J is open", false },
	};
	for (size_t i = 0; i < COUNT(odd); i++) {
		struct fixture f;
		fixture_init(&f);
		fixture_need(&f, CLOSE, true, odd[i].condition, false);
		fixture_check(&f);
		const struct pm_gate_line *line = fixture_line(&f, CLOSE, true, odd[i].condition);
		assert_string_equal(line->why, odd[i].why);
		assert_int_equal(line->met, odd[i].met);
		fixture_forget(&f);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_conditions), cmocka_unit_test(test_unknown_names) };
	return cmocka_run_group_tests_name("conditions", tests, NULL, NULL);
}
