/* The rules of the fleet, each with what only looks like it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include "fleet_fixture.h"

static struct fleet_fixture f;

#define DAY 86400

static void names_all(const struct pm_fleet_finding *finding)
{
	assert_non_null(finding);
	for (size_t i = 0; i < finding->count && i < 4; i++)
		if (!strstr(finding->message, f.site[finding->site[i]].file))
			fail_msg("%s is not named: %s", f.site[finding->site[i]].file, finding->message);
	assert_string_equal(finding->remedy, pm_code_row(finding->code)->remedy);
}

/* --- what may stand once only --- */

/* Two sites with one address each, by the values given; how many findings? */
static size_t elsewhere(const char *a, const char *b, bool practice_a, bool practice_b)
{
	fleet_init(&f);
	fleet_job(&f, "TB-01", NULL)->job.practice = practice_a;
	fleet_address(&f, "port1", a);
	fleet_add_job(&f);
	fleet_job(&f, "TB-02", NULL)->job.practice = practice_b;
	fleet_address(&f, "port2", b);
	fleet_add_job(&f);
	fleet_check_at(&f, FIXTURE_NOW);
	size_t count = fleet_codes(&f, PM_ADDRESS_ELSEWHERE);
	if (count)
		names_all(fleet_finding(&f, PM_ADDRESS_ELSEWHERE));
	fleet_forget(&f);
	return count;
}

static void addresses(void **state)
{
	(void)state;
	static const struct { const char *a, *b; bool practice_a, practice_b; size_t count; } rows[] = {
		{ "00-00-5E-00-53-01", "00-00-5E-00-53-01", false, false, 1 },
		{ "00-00-5E-00-53-01", "0000.5e00.5301", false, false, 1 },       /* another notation */
		{ "00-00-5E-00-53-01", "00-00-5E-00-53-02", false, false, 0 },
		{ "00-00-5E-00-53-01", "00-00-5E-00-53-10", false, false, 0 },    /* digits swapped */
		{ "00-00-5E-00-53-01", "00-00-5E-00-53-01", true, false, 0 },     /* practice and live */
		{ "00-00-5E-00-53-01", "00-00-5E-00-53-01", false, true, 0 },
		{ "00-00-5E-00-53-01", "00-00-5E-00-53-01", true, true, 1 },
		{ "00-00-5E-00-53-0G", "00-00-5e-00-53-0g", false, false, 1 },    /* no address at all */
		{ "00-00-5E-00-53-0G", "00-00-5E-00-53-0H", false, false, 0 },
		{ "00-00-00-00-00-00", "00-00-00-00-00-00", false, false, 0 },    /* stands for none */
		{ "FF-FF-FF-FF-FF-FF", "FF-FF-FF-FF-FF-FF", false, false, 1 },
	};
	for (size_t i = 0; i < COUNT(rows); i++)
		if (elsewhere(rows[i].a, rows[i].b, rows[i].practice_a, rows[i].practice_b) != rows[i].count)
			fail_msg("row %zu: %s and %s", i, rows[i].a, rows[i].b);
}

static void address_message(void **state)
{
	(void)state;
	fleet_init(&f);
	for (int i = 1; i <= 3; i++) {
		/* 1 and 3 have one router's addresses; 2 has others */
		fleet_job(&f, i == 1 ? "TB-01" : i == 2 ? "TB-02" : "TB-03", NULL);
		fleet_address(&f, "port1", i == 2 ? "00-00-5E-00-53-41" : "00-00-5E-00-53-01");
		fleet_address(&f, "port2", i == 2 ? "00-00-5E-00-53-42" : "00-00-5E-00-53-02");
		fleet_address(&f, "port3", i == 2 ? "00-00-5E-00-53-43" : "00-00-5E-00-53-03");
		fleet_add_job(&f);
	}
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(f.findings.count, 1);
	const struct pm_fleet_finding *finding = &f.findings.item[0];
	assert_string_equal(finding->message, "00-00-5E-00-53-01 and 2 more stand in TB-01.yaml (TB-01) at port1 and "
	                                      "TB-03.yaml (TB-03) at port1");
	assert_int_equal(finding->severity, PM_STOP);
	assert_int_equal(finding->count, 2);
	assert_int_equal(finding->site[0], 0);
	assert_int_equal(finding->site[1], 2);
	fleet_forget(&f);
}

/* What was taken back stands nowhere; both of a conflict do. */
static void address_standing(void **state)
{
	(void)state;
	fleet_init(&f);
	fleet_job(&f, "TB-01", NULL);
	fleet_address(&f, "port1", "00-00-5E-00-53-01");
	fixture_withdraw(&f.job, "port/port1", NULL);
	fleet_address(&f, "port1", "00-00-5E-00-53-02");
	fleet_address(&f, "port1", "00-00-5E-00-53-03");
	fleet_add_job(&f);
	fleet_job(&f, "TB-02", NULL);
	fleet_address(&f, "port1", "00-00-5E-00-53-01");
	fleet_add_job(&f);
	fleet_job(&f, "TB-03", NULL);
	fleet_address(&f, "port5", "00-00-5E-00-53-03");
	fleet_add_job(&f);
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(fleet_codes(&f, PM_ADDRESS_ELSEWHERE), 1);
	assert_int_equal(fleet_finding(&f, PM_ADDRESS_ELSEWHERE)->site[0], 0);
	assert_int_equal(fleet_finding(&f, PM_ADDRESS_ELSEWHERE)->site[1], 2);
	fleet_forget(&f);
}

/* Two practice sites that share an address clash, beside a live one that has it too. */
static void address_apart(void **state)
{
	(void)state;
	fleet_init(&f);
	for (int i = 0; i < 3; i++) {
		fleet_job(&f, i == 0 ? "TB-01" : i == 1 ? "TB-02" : "TB-03", NULL)->job.practice = i > 0;
		fleet_address(&f, "port1", "00-00-5E-00-53-01");
		fleet_add_job(&f);
	}
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(f.findings.count, 1);
	assert_int_equal(f.findings.item[0].count, 2);
	assert_int_equal(f.findings.item[0].site[0], 1);
	assert_int_equal(f.findings.item[0].site[1], 2);
	fleet_forget(&f);
}

static void attached(void **state)
{
	(void)state;
	struct pm_attached devices[2] = {
		{ word("camera"), word("mast camera"), word("C-100"), word("00-00-5E-00-53-77") },
		{ word("sensor"), word("gauge"), word("C-101"), word(NULL) },
	};
	fleet_init(&f);
	fleet_job(&f, "TB-01", NULL);
	f.job.job.attached = devices, f.job.job.attached_count = 2;
	fleet_add_job(&f);
	fleet_job(&f, "TB-02", NULL);
	fleet_address(&f, "port4", "00-00-5E-00-53-77");
	fleet_add_job(&f);
	fleet_job(&f, "TB-03", NULL);
	f.job.job.attached = (struct pm_attached[]){ { word("sensor"), word("gauge"), word("C-100"), word(NULL) },
	                                             { word("camera"), word("lock camera"), word("c-100 "), word(NULL) } };
	f.job.job.attached_count = 2;
	fleet_add_job(&f);
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(f.findings.count, 2);
	names_all(fleet_finding(&f, PM_ADDRESS_ELSEWHERE));
	assert_non_null(strstr(fleet_finding(&f, PM_ADDRESS_ELSEWHERE)->message, "mast camera"));
	/* a sensor and a camera may have one number */
	const struct pm_fleet_finding *serial = fleet_finding(&f, PM_SERIAL_ELSEWHERE);
	names_all(serial);
	assert_int_equal(serial->site[0], 0);
	assert_int_equal(serial->site[1], 2);
	assert_non_null(strstr(serial->message, "camera serial number \"C-100\""));
	fleet_forget(&f);
}

static void serials(void **state)
{
	(void)state;
	static const struct { const char *a, *b; size_t count; } rows[] = {
		{ "EG12-26-00417", "EG12-26-00417", 1 }, { "EG12-26-00417", " eg12-26-00417", 1 },
		{ "EG12-26-00417", "EG12-26-00471", 0 }, { "EG12-26-00417", "EG12-26-0041", 0 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		fleet_init(&f);
		fleet_job(&f, "TB-01", NULL);
		fixture_twice(&f.job, "router/serial", rows[i].a);
		fleet_add_job(&f);
		fleet_job(&f, "TB-02", NULL);
		fixture_say(&f.job, "router/serial", rows[i].b);
		fleet_add_job(&f);
		fleet_check_at(&f, FIXTURE_NOW);
		/* other people read it: nothing was copied */
		assert_int_equal(f.findings.count, rows[i].count);
		assert_int_equal(fleet_codes(&f, PM_SERIAL_ELSEWHERE), rows[i].count);
		if (rows[i].count)
			names_all(fleet_finding(&f, PM_SERIAL_ELSEWHERE));
		fleet_forget(&f);
	}
}

#define LOG_A "5fff12ff4f8bd8214ee31b223f1dbdf20d284e85671a603ea2bc24192e6e2562"
#define LOG_B "5fff12ff4f8bd8214ee31b223f1dbdf30d284e85671a603ea2bc24192e6e2562"   /* one digit of the 32 that are kept */

static void evidence(void **state)
{
	(void)state;
	static const struct { const char *a, *b; bool practice; size_t count; } rows[] = {
		{ LOG_A, LOG_A, false, 1 }, { LOG_A, LOG_B, false, 0 }, { "typed-1", "typed-1", false, 0 }, { LOG_A, LOG_A, true, 0 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		fleet_init(&f);
		fleet_job(&f, "TB-01", NULL);
		fixture_read(&f.job, "port/port1", "00-00-5E-00-53-01", PM_SOURCE_CONSOLE, rows[i].a, FIXTURE_NOW);
		fixture_read(&f.job, "port/port2", "00-00-5E-00-53-02", PM_SOURCE_CONSOLE, rows[i].a, FIXTURE_NOW);
		assert_int_equal(fleet_add_job(&f)->evidence_count, rows[i].a[0] != 't');
		fleet_job(&f, "TB-02", NULL)->job.practice = rows[i].practice;
		fixture_read(&f.job, "port/port1", "00-00-5E-00-53-11", PM_SOURCE_CONSOLE, rows[i].b, FIXTURE_NOW);
		fleet_add_job(&f);
		fleet_check_at(&f, FIXTURE_NOW);
		assert_int_equal(f.findings.count, rows[i].count);
		if (rows[i].count) {
			names_all(fleet_finding(&f, PM_EVIDENCE_ELSEWHERE));
			assert_non_null(strstr(f.findings.item[0].message, "capture 5fff12ff4f8b..."));
		}
		fleet_forget(&f);
	}
	/* a capture whose readings were all taken back belongs to the other site alone */
	fleet_init(&f);
	fleet_job(&f, "TB-01", NULL);
	fixture_read(&f.job, "port/port1", "00-00-5E-00-53-01", PM_SOURCE_CONSOLE, LOG_A, FIXTURE_NOW);
	fixture_withdraw(&f.job, "port/port1", NULL);
	assert_int_equal(fleet_add_job(&f)->evidence_count, 0);
	fleet_job(&f, "TB-02", NULL);
	fixture_read(&f.job, "port/port1", "00-00-5E-00-53-01", PM_SOURCE_CONSOLE, LOG_A, FIXTURE_NOW);
	fleet_add_job(&f);
	assert_int_equal(fleet_check_at(&f, FIXTURE_NOW)->count, 0);
	fleet_forget(&f);
}

/* A job copied whole, and one that was worked on after copying. */
static void cloned(void **state)
{
	(void)state;
	enum { WHOLE, PART, OTHER_TIME, SAME_CODE, EMPTY, ROWS };
	static const size_t expected[ROWS] = { [WHOLE] = 1, [PART] = 1 };
	for (int i = 0; i < ROWS; i++) {
		fleet_init(&f);
		fleet_job(&f, "TB-01", NULL);
		if (i != EMPTY)
			fixture_read(&f.job, "router/serial", "EG12-26-00417", PM_SOURCE_LABEL, "typed-1", FIXTURE_NOW)->by = word("tech 1");
		fleet_add_job(&f);
		fleet_job(&f, i == SAME_CODE ? "TB-01" : "TB-02", NULL)->job.file = "other.yaml";
		if (i != EMPTY)
			fixture_read(&f.job, "router/serial", "EG12-26-00417", PM_SOURCE_LABEL, "typed-1",
			             FIXTURE_NOW + (i == OTHER_TIME))->by = word("tech 1");
		if (i == PART)
			fixture_say(&f.job, "step/look", "whole");
		fleet_add_job(&f);
		fleet_check_at(&f, FIXTURE_NOW + 1);
		if (fleet_codes(&f, PM_JOB_CLONED) != expected[i])
			fail_msg("row %d: %zu", i, fleet_codes(&f, PM_JOB_CLONED));
		if (expected[i]) {
			names_all(fleet_finding(&f, PM_JOB_CLONED));
			assert_non_null(strstr(fleet_finding(&f, PM_JOB_CLONED)->message, i == WHOLE ? "every reading (1)" : "a reading of"));
		}
		/* one site in two files is said once, and is no clash with itself */
		assert_int_equal(fleet_codes(&f, PM_SITE_CODE_REPEATED), i == SAME_CODE);
		assert_int_equal(fleet_codes(&f, PM_SERIAL_ELSEWHERE), i != SAME_CODE && i != EMPTY);
		fleet_forget(&f);
	}
}

static void codes(void **state)
{
	(void)state;
	static const struct { const char *a, *b; bool practice; size_t count; } rows[] = {
		{ "TB-01", "TB-01", false, 1 }, { "TB-01", "tb-01 ", false, 1 }, { "TB-01", "TB-10", false, 0 }, { "TB-01", "TB-01", true, 0 },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		fleet_init(&f);
		fleet_job(&f, rows[i].a, NULL);
		fleet_add_job(&f);
		fleet_job(&f, rows[i].b, NULL)->job.practice = rows[i].practice;
		f.job.job.file = "second.yaml";
		fleet_add_job(&f);
		fleet_check_at(&f, FIXTURE_NOW);
		assert_int_equal(f.findings.count, rows[i].count);
		if (rows[i].count)
			names_all(fleet_finding(&f, PM_SITE_CODE_REPEATED));
		fleet_forget(&f);
	}
}

/* --- the summary --- */

static void summary(void **state)
{
	(void)state;
	fleet_init(&f);
	fleet_job(&f, "TB-01", "crew north")->job.name = word("Pellarn\x1BWeir");
	f.job.job.due = word("2026-01-31");
	fixture_reach(&f.job, REGISTER);
	for (size_t i = 0; i < FIXTURE_PHASES; i++)
		f.job.phases[i].who = word(i == REGISTER ? "desk" : i == BOOK ? "operations centre" : "technician");
	f.job.phases[MUSTER].minutes = 45;
	const struct pm_site_summary *site = fleet_add_job(&f);
	assert_string_equal(site->file, "TB-01.yaml");
	assert_string_equal(site->name, "Pellarn\\x1BWeir");
	assert_string_equal(site->gear, "eg-12");
	assert_int_equal(site->phase, REGISTER);
	assert_int_equal(site->phase_count, FIXTURE_PHASES);
	static const enum pm_phase_state states[] = { PM_PHASE_CLOSED, PM_PHASE_CLOSED, PM_PHASE_OPEN, PM_PHASE_LATER,
		PM_PHASE_LATER, PM_PHASE_LATER };
	for (size_t i = 0; i < FIXTURE_PHASES; i++)
		assert_int_equal(site->phases[i].state, states[i]);
	assert_string_equal(site->phases[MUSTER].id, "muster");
	assert_int_equal(site->phases[MUSTER].minutes, 45);
	assert_int_equal(site->phases[MUSTER].begun, FIXTURE_NOW - 300);   /* the boot began then */
	assert_int_equal(site->phases[MUSTER].closed, FIXTURE_NOW);
	assert_int_equal(site->phases[REGISTER].begun, 0);
	assert_true(site->phases[CUTOVER].by_window);
	assert_false(site->phases[BOOK].by_window);
	assert_true(site->ready);
	assert_int_equal(site->expected, 13);
	assert_int_equal(site->confirmed, 13);
	assert_int_equal(site->stops, 0);
	assert_int_equal(site->address_count, 13);
	assert_int_equal(site->addresses[1].key, 0x00005E005311);
	assert_string_equal(site->addresses[1].bearer, "port1");
	assert_int_equal(site->holder, PM_HOLDER_LEAD);   /* who sends the sheet */
	assert_string_equal(site->waits_in, "register");
	assert_string_equal(site->waits_why, "\"sent\": the sheet was not sent, and 1 more step");
	assert_true(site->has_due && site->due == 20484);   /* 2026-01-31, counted with date -d */
	assert_int_equal(site->last, FIXTURE_NOW);
	assert_false(site->set);
	assert_false(site->has_window);
	fleet_forget(&f);
}

static void holders(void **state)
{
	(void)state;
	enum { NEW, KIT, MUSTERED, SENT, REJECTED, ACCEPTED, BOOKED, MISSED, DONE, ROWS };
	static const enum pm_holder expected[ROWS] = {
		[NEW] = PM_HOLDER_TECHNICIAN, [KIT] = PM_HOLDER_LEAD, [MUSTERED] = PM_HOLDER_LEAD, [SENT] = PM_HOLDER_CENTRE,
		[REJECTED] = PM_HOLDER_LEAD, [ACCEPTED] = PM_HOLDER_CENTRE, [BOOKED] = PM_HOLDER_TECHNICIAN,
		[MISSED] = PM_HOLDER_CENTRE, [DONE] = PM_HOLDER_NOBODY,
	};
	static const size_t reach[ROWS] = { PREPARE, MUSTER, REGISTER, REGISTER, REGISTER, BOOK, CUTOVER, CUTOVER, FIXTURE_PHASES };
	for (int i = 0; i < ROWS; i++) {
		fleet_init(&f);
		fleet_job(&f, "TB-01", NULL);
		f.job.phases[REGISTER].who = word("desk");
		f.job.phases[BOOK].who = word("operations centre");
		fixture_reach(&f.job, reach[i]);
		if (i == KIT)
			fixture_say(&f.job, "kit/screws", "3");
		if (i == SENT || i == REJECTED)
			fixture_register(&f.job, i == SENT ? NULL : "rejected");
		if (i == MISSED)
			f.job.the_case.now = pm_when_utc(FIXTURE_ENDS + 1);
		const struct pm_site_summary *site = fleet_add_job(&f);
		if (site->holder != expected[i])
			fail_msg("row %d: %s; %s: %s", i, pm_holder_word(site->holder), site->waits_in, site->waits_why);
		assert_int_equal(pm_site_done(site), i == DONE);
		assert_int_equal(site->waits_why[0] == '\0', i == DONE);
		fleet_forget(&f);
	}
}

static void unread(void **state)
{
	(void)state;
	struct pm_fault fault;
	struct pm_fleet_counts counts;
	fleet_init(&f);
	fleet_job(&f, "TB-01", NULL);
	fleet_add_job(&f);
	pm_fail(&fault, PM_FAULT_SYNTAX, (struct pm_place){ "bad.yaml", 3, 7 }, "a key stands twice: \"site\"");
	assert_true(pm_site_unread("bad.yaml", &fault, &f.arena, &f.site[1]));
	assert_true(pm_site_unread("worse.yaml", &fault, &f.arena, &f.site[2]));
	f.fleet.count = 3;
	assert_string_equal(f.site[1].fault, "a key stands twice: \"site\"");
	assert_int_equal(f.site[1].fault_line, 3);
	assert_string_equal(f.site[1].code, "");
	assert_false(pm_site_done(&f.site[1]));
	fleet_check_at(&f, FIXTURE_NOW);
	assert_int_equal(f.findings.count, 0);
	fleet_job(&f, "TB-09", NULL)->job.practice = true;
	fleet_add_job(&f);
	pm_fleet_count(&f.fleet, &f.findings, &counts);
	assert_int_equal(counts.sites, 3);
	assert_int_equal(counts.practice, 1);
	assert_int_equal(counts.unread, 2);
	assert_int_equal(counts.holds[PM_HOLDER_TECHNICIAN], 1);
	assert_int_equal(counts.ready, 1);
	fleet_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(addresses), cmocka_unit_test(address_message), cmocka_unit_test(address_standing),
		cmocka_unit_test(address_apart),
		cmocka_unit_test(attached), cmocka_unit_test(serials), cmocka_unit_test(evidence), cmocka_unit_test(cloned),
		cmocka_unit_test(codes), cmocka_unit_test(summary), cmocka_unit_test(holders), cmocka_unit_test(unread),
	};
	return cmocka_run_group_tests_name("fleet", tests, NULL, NULL);
}
