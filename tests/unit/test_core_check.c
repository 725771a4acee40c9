#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"
#include "registry_sample.h"

static struct pm_registry sample;

static void again(struct fixture *f, const char *of, const char *value)
{
	fixture_withdraw(f, of, NULL);
	fixture_twice(f, of, value);
}

static void malformed(struct fixture *f) { again(f, "port/port4", "00-00-5E-00-53-I4"); }
static void malformed_free(struct fixture *f) { malformed(f); f->gear.allocation = PM_ALLOCATION_FREE; }
static void malformed_short(struct fixture *f) { again(f, "port/port4", "00-00-5E-00-53-1"); f->gear.allocation = PM_ALLOCATION_FREE; }
static void group(struct fixture *f) { again(f, "port/port4", "01-00-5E-00-53-14"); }
static void broadcast(struct fixture *f) { again(f, "port/port4", "FF-FF-FF-FF-FF-FF"); }
static void local(struct fixture *f) { again(f, "port/port4", "02-00-5E-00-53-14"); }
static void null(struct fixture *f) { again(f, "port/port4", "00-00-00-00-00-00"); }
static void reserved(struct fixture *f) { again(f, "port/port4", "00-00-5E-00-01-14"); }
static void real_site(struct fixture *f) { f->gear.training = false; }
static void other_maker(struct fixture *f) { again(f, "port/port4", "00-00-5F-00-53-14"); }
static void unassigned(struct fixture *f) { other_maker(f); f->the_case.registry = &sample; }
static void unlisted(struct fixture *f) { again(f, "port/port4", "74-1A-E0-F0-00-01"); f->the_case.registry = &sample; }
static void repeated(struct fixture *f) { again(f, "port/port4", "00-00-5E-00-53-15"); }
static void missing(struct fixture *f) { fixture_withdraw(f, "port/port4", NULL); }
static void stranger(struct fixture *f) { fixture_say(f, "port/port13", "00-00-5E-00-53-1D"); }
static void nickname(struct fixture *f) { fixture_say(f, "port/Port 04", "00-00-5E-00-53-14"); }
static void swapped(struct fixture *f) { again(f, "port/port4", "00-00-5E-00-53-17"); again(f, "port/port7", "00-00-5E-00-53-14"); }
static void broken(struct fixture *f) { again(f, "port/port4", "00-00-5E-00-53-74"); }
static void single(struct fixture *f) { fixture_withdraw(f, "port/port4", NULL); fixture_say(f, "port/port4", "00-00-5E-00-53-14"); }
static void differ(struct fixture *f) { fixture_say(f, "port/port4", "00-00-5E-00-35-14"); }
static void differ_word(struct fixture *f) { fixture_say(f, "port/port4", "none"); }
static void serial_form(struct fixture *f) { again(f, "router/serial", "EG12-26-0041T"); }
static void serial_two(struct fixture *f) { fixture_say(f, "router/serial", "EG12-26-00471"); }
static void old_serial(struct fixture *f) { f->job.old_serial = word("OLD-7"); fixture_say(f, "old/serial", "OLD-1"); }
static void unit_form(struct fixture *f) { f->job.unit.text = NULL; again(f, "site/unit", "GS-04l7"); }
static void unit_listed(struct fixture *f) { f->job.unit = word("GS-0471"); }
static void kit(struct fixture *f) { fixture_say(f, "kit/screws", "3"); }
static void kit_word(struct fixture *f) { fixture_say(f, "kit/screws", "four"); }
static void halted(struct fixture *f) { fixture_say(f, "step/look", "missing"); }
static void odd_answer(struct fixture *f) { fixture_say(f, "step/look", "Whole"); }
static void odd_decision(struct fixture *f) { fixture_say(f, "desk/decision", "ok"); }
static void low(struct fixture *f) { fixture_say(f, "step/volts", "206.9"); }
static void resealed(struct fixture *f) { again(f, "router/serial", "EG12-26-00418"); fixture_say(f, "desk/sent", "AAAA-AAAA-A"); fixture_say(f, "desk/decision", "accepted"); }
static void ahead(struct fixture *f) { fixture_read(f, "step/look", "whole", PM_SOURCE_TYPED, NULL, FIXTURE_NOW + 121); }
static void odd_time(struct fixture *f)
{
	struct pm_reading *reading = fixture_say(f, "step/look", "whole");
	reading->at.text = "yesterday", reading->when = (struct pm_when){ 0 };
}
static void odd_window(struct fixture *f) { fixture_say(f, "desk/appointment", "2026-01-08T09:00:00Z"); }
static void no_zone(struct fixture *f)
{
	static const struct pm_zone_look look = { .standing = PM_LOOK_UNKNOWN, .why = "no such time zone", .meant = "Basin/Orsketh" };
	f->job.zone = word("Basin/Orskteh"), f->the_case.zone = &look;
}
static void zone_unasked(struct fixture *f) { f->job.zone = word("Basin/Orsketh"); }
static void summer_offset(struct fixture *f)
{
	/* one hour ahead of UTC, two from March to October */
	static struct pm_zone_time kind[] = { { 3600, false, "CET" } };
	static const struct pm_zone zone = { .name = "Basin/Orsketh", .kind = kind, .kind_count = 1, .has_footer = true,
		.footer_changes = true, .standard = { 3600, false, "CET" }, .summer = { 7200, true, "CEST" },
		.to_summer = { PM_DAY_OF_WEEK, 0, 3, 5, 7200 }, .to_standard = { PM_DAY_OF_WEEK, 0, 10, 5, 10800 } };
	static const struct pm_zone_look look = { .standing = PM_LOOK_FOUND, .zone = &zone };
	f->job.zone = word("Basin/Orsketh"), f->the_case.zone = &look;
	fixture_say(f, "desk/appointment", "2026-01-08T09:00:00+02:00/2026-01-08T11:00:00+02:00");
}
static void odd_due(struct fixture *f) { f->job.due = word("2026-02-30"); }
static void unknown(struct fixture *f) { fixture_say(f, "step/lok", "whole"); }
static void unknown_kit(struct fixture *f) { fixture_say(f, "kit/nuts", "4"); }
static void profile(struct fixture *f) { f->plan.digest = "p2"; }
static void stray(struct fixture *f)
{
	static struct pm_stray_key key = { { "lvie\x1B", 9, 3 }, "site", "live" };
	f->job.strays = (struct pm_stray_keys){ &key, 1 };
}
static void stalled(struct fixture *f) { f->the_case.now = pm_when_utc(FIXTURE_NOW + 14 * 86400 + 1); }
static void overdue(struct fixture *f) { f->job.due = word("2025-12-31"); }
static void void_waiver(struct fixture *f) { f->waivers[0] = (struct pm_waiver){ .condition = word("no-stops") }; f->job.waiver_count = 1; }
static void nothing(struct fixture *f) { (void)f; }

#define EXPECT "00-00-5E-00-53-14"

/* What each planted fault must give; null fields are not looked at. */
static const struct {
	void (*plant)(struct fixture *);
	enum pm_code code;
	enum pm_severity severity;
	const char *interface, *field, *message, *suggestion;
	size_t phase;
} rows[] = {
	{ malformed, PM_ADDRESS_MALFORMED, PM_STOP, "port4", "port/port4", NULL, EXPECT, MUSTER },
	{ malformed_free, PM_ADDRESS_MALFORMED, PM_STOP, "port4", "port/port4", NULL, "00-00-5E-00-53-14", MUSTER },
	{ malformed_short, PM_ADDRESS_MALFORMED, PM_STOP, "port4", "port/port4", NULL, "none", MUSTER },
	{ group, PM_ADDRESS_GROUP, PM_STOP, "port4", "port/port4", NULL, NULL, MUSTER },
	{ broadcast, PM_ADDRESS_GROUP, PM_STOP, "port4", NULL, NULL, EXPECT, MUSTER },
	{ local, PM_ADDRESS_LOCAL, PM_WARN, "port4", NULL, "port4 reads 02-00-5E-00-53-14: the local bit is set (quadrant AAI)", NULL, MUSTER },
	{ null, PM_ADDRESS_NULL, PM_STOP, "port4", NULL, NULL, EXPECT, MUSTER },
	{ nothing, PM_ADDRESS_DOCUMENTATION, PM_NOTE, "mgmt", NULL, NULL, "none", MUSTER },
	{ real_site, PM_ADDRESS_DOCUMENTATION, PM_STOP, "mgmt", NULL, NULL, "none", MUSTER },
	{ reserved, PM_ADDRESS_RESERVED, PM_STOP, "port4", NULL, NULL, EXPECT, MUSTER },
	{ unassigned, PM_PREFIX_UNASSIGNED, PM_STOP, "port4", NULL, "port4 reads 00-00-5F-00-53-14: the registry (2026-01-15) lists no maker for its prefix", EXPECT, MUSTER },
	{ unlisted, PM_PREFIX_UNASSIGNED, PM_STOP, "port4", NULL, NULL, EXPECT, MUSTER },
	{ other_maker, PM_PREFIX_UNEXPECTED, PM_WARN, "port4", NULL, "port4 reads 00-00-5F-00-53-14: \"eg-12\" is not known to use that prefix", EXPECT, MUSTER },
	{ other_maker, PM_PREFIX_STRAY, PM_WARN, "port4", NULL, "port4 reads 00-00-5F-00-53-14: the other 12 begin with 00-00-5E", EXPECT, MUSTER },
	{ repeated, PM_ADDRESS_REPEATED, PM_STOP, "port5", NULL, "port4 and port5 both read 00-00-5E-00-53-15", NULL, MUSTER },
	{ missing, PM_INTERFACE_MISSING, PM_WARN, "port4", NULL, "port4 has no reading", EXPECT, MUSTER },
	{ stranger, PM_INTERFACE_UNKNOWN, PM_STOP, "port13", "port/port13", "\"port13\" is no interface of \"eg-12\"", "none", MUSTER },
	{ nickname, PM_INTERFACE_UNKNOWN, PM_STOP, "Port 04", "port/Port 04", NULL, "port/port4", MUSTER },
	{ swapped, PM_INTERFACE_ORDER, PM_STOP, "port4", NULL, "port4 and port7 bear each other's address", EXPECT, MUSTER },
	{ broken, PM_PATTERN_BREAK, PM_STOP, "port4", NULL, "port4 reads 00-00-5E-00-53-74, but the numbering of the others gives 00-00-5E-00-53-14: "
		"digit 11 reads 7 where 1 belongs (look-alike)", EXPECT, MUSTER },
	{ repeated, PM_PATTERN_BREAK, PM_STOP, "port4", NULL, "port4 reads 00-00-5E-00-53-15, but the numbering of the others gives 00-00-5E-00-53-14: "
		"digit 12 reads 5 where 4 belongs (one wrong character); that address belongs to port5", EXPECT, MUSTER },
	{ single, PM_READING_SINGLE, PM_NOTE, "port4", NULL, "port4 was read once (typed)", "none", MUSTER },
	{ differ, PM_READING_CONFLICT, PM_STOP, "port4", "port/port4", "port4 was read as \"00-00-5E-00-53-14\" (console) and as \"00-00-5E-00-35-14\" (typed): "
		"they differ in digits 9 and 10, which change places (swapped neighbours); 2 separate readings against 1 say 00-00-5E-00-53-14, and the numbering of the others gives it too", EXPECT, MUSTER },
	{ differ_word, PM_READING_CONFLICT, PM_STOP, "port4", NULL, "port4 was read as \"00-00-5E-00-53-14\" (console) and as \"none\" (typed): "
		"2 separate readings against 1 say 00-00-5E-00-53-14, and the numbering of the others gives it too", EXPECT, MUSTER },
	{ serial_form, PM_SERIAL_MALFORMED, PM_STOP, NULL, "router/serial", "router/serial reads \"EG12-26-0041T\": character 13 does not fit the form \"EG12-99-99999\"", NULL, PREPARE },
	{ serial_two, PM_SERIAL_CONFLICT, PM_STOP, NULL, "router/serial", "router/serial was read as \"EG12-26-00417\" (console) and as \"EG12-26-00471\": "
		"they differ in characters 12 and 13, which change places (swapped neighbours); 2 separate readings against 1 say \"EG12-26-00417\"", NULL, PREPARE },
	{ old_serial, PM_SERIAL_CONFLICT, PM_STOP, NULL, "old/serial", "old/serial was read as \"OLD-7\" (site list) and as \"OLD-1\": "
		"they differ in character 5: 7 in the first, 1 in the second (look-alike)", NULL, CLOSE },
	{ unit_form, PM_UNIT_CODE_MALFORMED, PM_STOP, NULL, "site/unit", NULL, NULL, PREPARE },
	{ unit_listed, PM_UNIT_CODE_CONFLICT, PM_STOP, NULL, "site/unit", NULL, NULL, PREPARE },
	{ kit, PM_KIT_SHORT, PM_WARN, NULL, "kit/screws", "rack screws: 3 at hand, 4 needed", NULL, PREPARE },
	{ kit_word, PM_ANSWER_UNKNOWN, PM_STOP, NULL, "kit/screws", "rack screws: \"four\" is no count", NULL, PREPARE },
	{ halted, PM_STEP_HALTED, PM_STOP, NULL, "step/look", "\"look\" was answered \"missing\"", NULL, PREPARE },
	{ odd_answer, PM_ANSWER_UNKNOWN, PM_STOP, NULL, "step/look", "\"look\" was answered \"Whole\", which is none of its answers", NULL, PREPARE },
	{ odd_decision, PM_ANSWER_UNKNOWN, PM_STOP, NULL, "desk/decision", "a decision is \"accepted\" or \"rejected\", not \"ok\"", NULL, REGISTER },
	{ low, PM_MEASURE_OUTSIDE, PM_STOP, NULL, "step/volts", "\"volts\": 206.9 V is below 207 V (limit: the outlet's label)", NULL, MUSTER },
	{ resealed, PM_SEAL_CHANGED, PM_STOP, NULL, "desk/sent", NULL, NULL, REGISTER },
	{ ahead, PM_CLOCK_BEHIND, PM_WARN, NULL, "step/look", "a reading bears a time 2 min 01 s ahead of the clock", NULL, PREPARE },
	{ odd_time, PM_TIME_MALFORMED, PM_WARN, NULL, "step/look", "time \"yesterday\": a date looks like 2026-03-02", NULL, PREPARE },
	{ odd_window, PM_TIME_MALFORMED, PM_WARN, NULL, "desk/appointment", NULL, NULL, PREPARE },
	{ no_zone, PM_ZONE_UNKNOWN, PM_WARN, NULL, "site.zone", "time zone \"Basin/Orskteh\": no such time zone", "Basin/Orsketh", PREPARE },
	{ zone_unasked, PM_ZONE_UNCHECKED, PM_NOTE, NULL, "site.zone", "time zone \"Basin/Orsketh\" was not looked up: nobody asked for it", "none", PREPARE },
	{ summer_offset, PM_OFFSET_UNUSUAL, PM_WARN, NULL, "desk/appointment", "the appointment is written with +02:00 where the clocks of Basin/Orsketh have "
		"+01:00: 2026-01-08 08:00 to 10:00 +01:00 CET, Basin/Orsketh (written 09:00 to 11:00 +02:00)",
		"2026-01-08T09:00:00+01:00/2026-01-08T11:00:00+01:00", PREPARE },
	{ odd_due, PM_TIME_MALFORMED, PM_WARN, NULL, "site.due", "due date \"2026-02-30\": no such day in that month", NULL, BOOK },
	{ unknown, PM_FACT_UNKNOWN, PM_WARN, NULL, "step/lok", "nothing asks for \"step/lok\"", NULL, PREPARE },
	{ unknown_kit, PM_FACT_UNKNOWN, PM_WARN, NULL, "kit/nuts", NULL, NULL, PREPARE },
	{ stray, PM_KEY_UNKNOWN, PM_WARN, NULL, NULL, "a site has no key \"lvie\\x1B\"", "live", PREPARE },
	{ profile, PM_PROFILE_CHANGED, PM_WARN, NULL, "plan-digest", NULL, NULL, PREPARE },
	{ stalled, PM_JOB_STALLED, PM_NOTE, NULL, NULL, "the last reading is 14 d 0 h old", NULL, BOOK },
	{ overdue, PM_JOB_OVERDUE, PM_WARN, NULL, "site.due", "was due on 2025-12-31", NULL, BOOK },
	{ void_waiver, PM_WAIVER_VOID, PM_WARN, NULL, "waivers", NULL, NULL, PREPARE },
	{ nothing, PM_REGISTRY_ABSENT, PM_WARN, NULL, NULL, "no registry index: the makers' prefixes of 13 addresses were not checked", NULL, PREPARE },
};

/* Codes that no check of one job gives: they come from comparing jobs, or a
 * job with a returned sheet. */
static const enum pm_code elsewhere[] = { PM_ADDRESS_ELSEWHERE, PM_SERIAL_ELSEWHERE, PM_SHEET_STRUCTURE, PM_SHEET_CELL, PM_APPOINTMENT_CLASH,
	PM_EVIDENCE_ELSEWHERE, PM_JOB_CLONED, PM_SITE_CODE_REPEATED, PM_DESK_FULL, PM_WINDOW_NEAR,
	PM_WAY_UNKNOWN };

static bool always_there(const struct fixture *f, enum pm_code code)
{
	return code == PM_ADDRESS_DOCUMENTATION || (code == PM_REGISTRY_ABSENT && !f->the_case.registry);
}

static void test_every_code(void **state)
{
	(void)state;
	bool given[PM_CODES] = { false };
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct fixture f;
		fixture_init(&f);
		fixture_reach(&f, BOOK);
		fixture_check(&f);
		/* without the fault the job is clean */
		for (size_t k = 0; k < f.result.findings.count; k++)
			if (!always_there(&f, f.result.findings.item[k].code))
				fail_msg("a clean job: %s", f.result.findings.item[k].message);
		rows[i].plant(&f);
		fixture_check(&f);
		const struct pm_finding *finding = fixture_finding(&f, rows[i].code, rows[i].interface);
		const struct pm_code_row *row = pm_code_row(rows[i].code);
		if (!finding)
			fail_msg("row %zu: no %s", i, row->name);
		if (rows[i].message && strcmp(finding->message, rows[i].message) != 0)
			fail_msg("row %zu: %s", i, finding->message);
		if (rows[i].suggestion && !pm_same(finding->suggestion ? finding->suggestion : "none", rows[i].suggestion))
			fail_msg("row %zu: suggests %s", i, finding->suggestion ? finding->suggestion : "nothing");
		if (finding->severity != rows[i].severity || finding->phase != rows[i].phase || finding->waived)
			fail_msg("row %zu: %s, phase %zu", i, pm_severity_word(finding->severity), finding->phase);
		if (rows[i].field && !pm_same(finding->field, rows[i].field))
			fail_msg("row %zu: field %s", i, finding->field);
		assert_string_equal(finding->place.file, "site.yaml");
		assert_ptr_equal(finding->remedy[0] ? finding->remedy : NULL, finding->remedy);
		given[rows[i].code] = true;
		fixture_forget(&f);
	}
	for (size_t i = 0; i < COUNT(elsewhere); i++) {
		assert_false(given[elsewhere[i]]);
		given[elsewhere[i]] = true;
	}
	for (int code = 0; code < PM_CODES; code++)
		if (!given[code])
			fail_msg("nothing gives %s", pm_code_row((enum pm_code)code)->name);
	printf("# figure %d finding codes: %zu given by a check of one job, %zu by others\n", PM_CODES, PM_CODES - COUNT(elsewhere), COUNT(elsewhere));
}

/* Where a finding came from: the line of the value. */
static void test_places(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, BOOK);
	differ(&f);
	fixture_check(&f);
	const struct pm_finding *finding = fixture_finding(&f, PM_READING_CONFLICT, NULL);
	assert_int_equal(finding->place.line, 100 + f.job.reading_count - 1);
	assert_int_equal(finding->place.column, 9);
	unknown(&f);
	fixture_check(&f);
	finding = fixture_finding(&f, PM_FACT_UNKNOWN, NULL);
	assert_int_equal(finding->place.line, 100 + f.job.reading_count - 1);
	assert_int_equal(finding->place.column, 1);
	fixture_forget(&f);
}

static void test_near_misses(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, BOOK);
	/* exactly at the tolerance, the limit, the day, the fortnight */
	fixture_read(&f, "step/look", "whole", PM_SOURCE_TYPED, NULL, FIXTURE_NOW + 120);
	fixture_say(&f, "step/volts", "207");
	f.job.due = word("2026-01-01");
	f.job.plan_digest.text = NULL;       /* a job that recorded none is not accused */
	f.gear.prefixes.count = 0;
	fixture_check(&f);
	for (size_t i = 0; i < f.result.findings.count; i++)
		assert_true(always_there(&f, f.result.findings.item[i].code));
	f.the_case.now = pm_when_utc(FIXTURE_NOW + 120 + 14 * 86400);
	f.job.due.text = NULL;
	fixture_check(&f);
	assert_null(fixture_finding(&f, PM_JOB_STALLED, NULL));
	/* gear that shares addresses: no repetition, no pattern */
	repeated(&f);
	f.gear.allocation = PM_ALLOCATION_SHARED;
	fixture_check(&f);
	assert_null(fixture_finding(&f, PM_ADDRESS_REPEATED, NULL));
	assert_null(fixture_finding(&f, PM_PATTERN_BREAK, NULL));
	fixture_forget(&f);
	/* before the first reading nothing is missing, and no registry is missed */
	fixture_init(&f);
	fixture_check(&f);
	assert_int_equal(f.result.findings.count, 0);
	/* a finished job is neither stalled nor overdue */
	fixture_reach(&f, FIXTURE_PHASES);
	f.job.due = word("2025-12-31");
	f.the_case.now = pm_when_utc(FIXTURE_OPENS + 400 * 86400LL);
	fixture_check(&f);
	assert_int_equal(f.result.phase, FIXTURE_PHASES);
	assert_null(fixture_finding(&f, PM_JOB_STALLED, NULL));
	assert_null(fixture_finding(&f, PM_JOB_OVERDUE, NULL));
	assert_true(f.result.ready);
	fixture_forget(&f);
}

/* Worst first, then by line; what is waived comes last and counts for nothing. */
static void test_order_and_counts(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, REGISTER);
	broken(&f), low(&f), halted(&f), unknown(&f);
	f.waivers[0] = (struct pm_waiver){ .phase = word("muster"), .gate = word("close"), .condition = word("free-of pattern-break"),
	                                   .by = word("a lead"), .reason = word("known") };
	f.job.waiver_count = 1;
	const struct pm_findings *list = &fixture_check(&f)->findings;
	size_t by[3] = { 0 };
	for (size_t i = 0; i < list->count; i++) {
		const struct pm_finding *b = &list->item[i], *a = i ? b - 1 : b;
		by[b->severity] += !b->waived;
		assert_true(a->waived <= b->waived);
		if (a->waived == b->waived) {
			assert_true(a->severity >= b->severity);
			assert_true(a->severity > b->severity || a->place.line <= b->place.line);
		}
	}
	assert_int_equal(list->item[list->count - 1].code, PM_PATTERN_BREAK);
	assert_int_equal(by[PM_STOP], 2);
	assert_int_equal(by[PM_WARN], 2);   /* fact-unknown, registry-absent */
	assert_int_equal(by[PM_NOTE], FIXTURE_PORTS);
	assert_int_equal(pm_findings_count(list, PM_STOP), by[PM_STOP]);
	assert_int_equal(pm_findings_count(list, PM_WARN), by[PM_STOP] + by[PM_WARN]);
	assert_int_equal(pm_findings_count(list, PM_NOTE), list->count - 1);
	fixture_forget(&f);
}

/* Everything a result says, as one text. */
static void render(const struct pm_result *r, char *out, size_t room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	pm_text_add(&text, "%zu %d %zu %zu %zu\n", r->phase, r->ready, r->roster.held, r->roster.confirmed, r->pattern.group_count);
	for (size_t i = 0; i < r->findings.count; i++) {
		const struct pm_finding *f = &r->findings.item[i];
		pm_text_add(&text, "%s %d %s %s %u %u %s %s %s %zu %d\n", pm_code_row(f->code)->name, (int)f->severity, f->interface, f->field,
		            f->place.line, f->place.column, f->message, f->remedy, f->suggestion, f->phase, f->waived);
	}
	for (size_t i = 0; i < r->gates.count; i++) {
		const struct pm_gate_line *g = &r->gates.line[i];
		pm_text_add(&text, "%zu %d %s %d %d %s %s %lld\n", g->phase, g->closing, g->need->condition.text, g->met, g->waived, g->why, g->who, (long long)g->opens_in);
	}
	for (size_t i = 0; i < r->roster.count; i++)
		pm_text_add(&text, "%zu %d\n", r->pattern.expect[i].group, r->pattern.expect[i].breaks);
	assert_false(text.cut);
}

/* The same case gives the same result, byte for byte, and is left as it was. */
static void test_pure(void **state)
{
	(void)state;
	static char first[40000], second[40000];
	for (size_t i = 0; i < COUNT(rows); i++) {
		static struct fixture f, before;
		fixture_init(&f);
		fixture_reach(&f, BOOK);
		rows[i].plant(&f);
		memcpy(&before, &f, sizeof f);
		render(fixture_check(&f), first, sizeof first);
		struct pm_result *result = fixture_check(&f);
		render(result, second, sizeof second);
		assert_string_equal(first, second);
		fixture_forget(&f);
		before.arena = f.arena, before.result = f.result;
		assert_memory_equal(&before, &f, sizeof f);
	}
}

/* Nothing that a person reads can carry a control character, whatever stands
 * in the plan, the gear or the job. */
static void test_safe_to_show(void **state)
{
	(void)state;
	struct fixture f;
	const char *evil = "\x1B]0;x\x07\xE2\x80\xAE";
	fixture_init(&f);
	fixture_reach(&f, REGISTER);
	for (size_t i = 0; i < f.job.reading_count; i += 2)
		f.readings[i].value.text = evil;
	fixture_say(&f, fixture_text(&f, "port/%s", evil), evil);
	fixture_say(&f, "desk/decision", evil)->note = word(evil);
	f.ports[3].name = f.kit[0].name = f.steps[MUSTER][0].unit = f.steps[MUSTER][0].limit_source = f.gear.id = word(evil);
	f.phases[PREPARE].title = f.steps[PREPARE][1].title = f.job.due = word(evil);
	fixture_check(&f);
	for (size_t i = 0; i < f.result.findings.count; i++)
		assert_null(strpbrk(f.result.findings.item[i].message, "\x1B\x07\xE2"));
	for (size_t i = 0; i < f.result.gates.count; i++)
		assert_null(strpbrk(f.result.gates.line[i].why, "\x1B\x07\xE2"));
	fixture_forget(&f);
}

static void test_code_table(void **state)
{
	(void)state;
	for (int i = 0; i < PM_CODES; i++) {
		const struct pm_code_row *row = pm_code_row((enum pm_code)i);
		enum pm_code code;
		assert_true(row->name && row->title && row->why && row->remedy && row->source);
		assert_true(pm_code_find(row->name, &code));
		assert_int_equal(code, i);
		assert_true(row->practice <= row->severity);
		for (const char *c = row->name; *c; c++)
			assert_true((*c >= 'a' && *c <= 'z') || *c == '-');
		/* error text: lower case, no full stop */
		assert_true(row->remedy[0] >= 'a' && row->remedy[strlen(row->remedy) - 1] != '.');
	}
	enum pm_code code;
	assert_false(pm_code_find("Pattern-break", &code));
	assert_false(pm_code_find(NULL, &code));
}

int main(void)
{
	size_t length;
	unsigned char *index = sample_index(&length);
	struct pm_fault fault;
	if (!pm_registry_open(&sample, index, length, &fault))
		return 2;
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_every_code), cmocka_unit_test(test_places),  cmocka_unit_test(test_near_misses),
		cmocka_unit_test(test_order_and_counts), cmocka_unit_test(test_pure), cmocka_unit_test(test_safe_to_show),
		cmocka_unit_test(test_code_table),
	};
	int failed = cmocka_run_group_tests_name("check", tests, NULL, NULL);
	free(index);
	return failed;
}
