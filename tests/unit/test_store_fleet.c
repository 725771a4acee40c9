/* fleet.yaml, and the practice fleet as a lead finds it on 8 October 2026. Run
 * from the top of the tree. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <glob.h>
#include <cmocka.h>

#include "portmuster/forecast.h"
#include "portmuster/text.h"
#include "scratch.h"
#include "store/document.h"

static char folder[200];

static int make_folder(void **state)
{
	(void)state;
	return scratch_make(folder, sizeof folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
	(void)state;
	scratch_remove(folder);
	return 0;
}

static const char *in_folder(const char *name)
{
	static char path[300];
	snprintf(path, sizeof path, "%s/%s", folder, name);
	return path;
}

static void options(void **state)
{
	(void)state;
	struct store_fleet fleet;
	struct pm_fault fault = { 0 };
	const char *path = in_folder("fleet.yaml");
	/* absent: the defaults */
	assert_true(store_fleet_load(path, &fleet, &fault));
	assert_false(fleet.present);
	assert_int_equal(fleet.options.stall_days, 14);
	assert_int_equal(fleet.options.soon_hours, 48);
	assert_int_equal(fleet.options.work_hours, 8);
	assert_int_equal(fleet.options.desk_daily, 0);
	assert_false(fleet.options.has_deadline);
	store_fleet_free(&fleet);

	/* a link that leads nowhere was meant to be one: no deadline is not what it says */
	assert_int_equal(symlink("no-such-file", path), 0);
	assert_false(store_fleet_load(path, &fleet, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_int_equal(unlink(path), 0);

	const char *text = "format: 1\ndeadline: 2026-11-13\ndesk-daily: 6\ndesk-offset: +05:45\nstall-days: 0\nx-later: passed over\n"
	                   "travel:\n  - {from: TB-01, to: TB-02, minutes: 90}\n";
	assert_true(scratch_write(path, text, strlen(text)));
	if (!store_fleet_load(path, &fleet, &fault))
		fail_msg("%u:%u %s", fault.line, fault.column, fault.message);
	assert_true(fleet.present && fleet.options.has_deadline);
	assert_int_equal(fleet.options.deadline_day, 20770);   /* date -u -d 2026-11-13 */
	assert_int_equal(fleet.options.desk_daily, 6);
	assert_int_equal(fleet.options.desk_minutes, 345);
	assert_int_equal(fleet.options.stall_days, 0);
	assert_int_equal(fleet.options.soon_hours, 48);
	assert_int_equal(fleet.options.travel_count, 1);
	assert_string_equal(fleet.options.travel[0].to.text, "TB-02");
	assert_int_equal(fleet.options.travel[0].minutes, 90);
	store_fleet_free(&fleet);

	static const struct { const char *text; enum pm_fault_kind kind; uint32_t line, column; } bad[] = {
		{ "deadline: 2026-11-13\n", PM_FAULT_VALUE, 1, 1 },
		{ "format: 2\n", PM_FAULT_NEWER, 1, 9 },
		{ "format: 1\ndeadline: 13.11.2026\n", PM_FAULT_VALUE, 2, 11 },
		{ "format: 1\ndeadlin: 2026-11-13\n", PM_FAULT_VALUE, 2, 1 },
		{ "format: 1\ntravel:\n  - {from: A, to: B, minutes: 5, by: boat}\n", PM_FAULT_VALUE, 3, 34 },
		{ "format: 1\ndesk-offset: noon\n", PM_FAULT_VALUE, 2, 14 },
		{ "format: 1\nwork-hours: 0\n", PM_FAULT_VALUE, 2, 13 },
		{ "format: 1\ndesk-daily: many\n", PM_FAULT_VALUE, 2, 13 },
		{ "format: 1\ntravel: [{from: A, to: A, minutes: 5}]\n", PM_FAULT_VALUE, 2, 24 },
		{ "format: 1\ntravel:\n- {from: A, to: B, minutes: 5}\n- {from: B, to: A, minutes: 5}\n", PM_FAULT_VALUE, 4, 10 },
		{ "format: 1\ntravel: [{from: A, to: B}]\n", PM_FAULT_VALUE, 2, 10 },
		{ "format: 1\nformat: 1\n", PM_FAULT_SYNTAX, 2, 1 },
	};
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_true(scratch_write(path, bad[i].text, strlen(bad[i].text)));
		assert_false(store_fleet_load(path, &fleet, &fault));
		if (fault.kind != bad[i].kind || fault.line != bad[i].line || fault.column != bad[i].column)
			fail_msg("%zu: %u:%u %s: %s", i, fault.line, fault.column, pm_fault_word(fault.kind), fault.message);
	}
}

#define FLEET "data/demo/fleet/"
#define SITES 8

struct practice {
	struct pm_arena arena;
	struct pm_site_summary site[SITES];
	struct store_fleet options;
	struct pm_fleet fleet;
	struct pm_when now;
};

static void load_practice(struct practice *p, const char *now)
{
	struct store_plan plan;
	struct store_gear gear;
	struct pm_fault fault = { 0 };
	glob_t found;
	*p = (struct practice){ 0 };
	pm_arena_init(&p->arena);
	assert_true(pm_when_read(now, &p->now, NULL));
	assert_true(store_plan_load("data/plans/router-swap.yaml", &plan, &fault));
	assert_true(store_gear_load("data/gear/eg-12.yaml", &gear, &fault));
	assert_int_equal(glob(FLEET "tb-*.yaml", 0, NULL, &found), 0);
	assert_int_equal(found.gl_pathc, SITES);
	for (size_t i = 0; i < found.gl_pathc; i++) {
		struct store_job job;
		struct pm_arena own;
		struct pm_result result;
		pm_arena_init(&own);
		assert_true(store_job_load(found.gl_pathv[i], &job, &fault));
		struct pm_case c = { .job = &job.job, .plan = &plan.plan, .gear = &gear.gear, .now = p->now };
		assert_true(pm_check(&c, &own, &result));
		assert_true(pm_site_summarise(&c, &result, &p->arena, &p->site[i]));
		/* nothing of the job is needed any more */
		store_job_free(&job);
		pm_arena_free(&own);
	}
	globfree(&found);
	store_plan_free(&plan);
	store_gear_free(&gear);
	assert_true(store_fleet_load(FLEET STORE_FLEET_FILE, &p->options, &fault));
	assert_true(p->options.present);
	p->fleet = (struct pm_fleet){ .site = p->site, .count = SITES, .options = p->options.options };
}

static void free_practice(struct practice *p)
{
	store_fleet_free(&p->options);
	pm_arena_free(&p->arena);
}

static void practice_fleet(void **state)
{
	(void)state;
	static struct practice p;
	static const struct { const char *code, *phase; enum pm_holder holder; bool set; } rows[SITES] = {
		{ "TB-11", "register", PM_HOLDER_LEAD, false },      { "TB-12", "muster", PM_HOLDER_TECHNICIAN, false },
		{ "TB-13", "register", PM_HOLDER_CENTRE, false },    { "TB-14", "register", PM_HOLDER_LEAD, false },
		{ "TB-15", "cutover", PM_HOLDER_TECHNICIAN, true },  { "TB-16", "book", PM_HOLDER_CENTRE, false },
		{ "TB-17", NULL, PM_HOLDER_NOBODY, true },           { "TB-18", "fit", PM_HOLDER_TECHNICIAN, false },
	};
	load_practice(&p, "2026-10-08T09:00:00Z");
	for (size_t i = 0; i < SITES; i++) {
		const struct pm_site_summary *site = &p.site[i];
		assert_string_equal(site->code, rows[i].code);
		if (rows[i].phase)
			assert_string_equal(site->phases[site->phase].id, rows[i].phase);
		else
			assert_true(pm_site_done(site));
		if (site->holder != rows[i].holder)
			fail_msg("%s: %s; %s: %s", site->code, pm_holder_word(site->holder), site->waits_in, site->waits_why);
		assert_int_equal(site->set, rows[i].set);
	}
	/* the closed one tells how long each phase took, one after the other */
	for (size_t i = 0; i < p.site[6].phase_count; i++) {
		const struct pm_phase_summary *phase = &p.site[6].phases[i];
		assert_true(phase->begun && phase->begun <= phase->closed);
		assert_true(!i || p.site[6].phases[i - 1].closed <= phase->begun);
	}
	struct pm_fleet_findings findings;
	assert_true(pm_fleet_check(&p.fleet, p.now, &p.arena, &findings));
	/* one site began as a copy of another; nothing else is wrong between them */
	assert_int_equal(findings.count, 2);
	for (size_t i = 0; i < 2; i++) {
		const struct pm_fleet_finding *finding = &findings.item[i];
		assert_int_equal(finding->code, i ? PM_SERIAL_ELSEWHERE : PM_JOB_CLONED);
		assert_int_equal(finding->site[0], 0);
		assert_int_equal(finding->site[1], 7);
		assert_non_null(strstr(finding->message, "tb-11-pellarn-weir.yaml"));
		assert_non_null(strstr(finding->message, "tb-18-sarnwick-staithe.yaml"));
	}
	printf("# figure a site of the practice fleet is summarised in %zu bytes\n",
	       p.arena.bytes / SITES + sizeof p.site[0]);
	assert_true(p.arena.bytes / SITES + sizeof p.site[0] < 8192);
	struct pm_forecast forecast;
	assert_true(pm_forecast_make(&p.fleet, p.now, &(struct pm_forecast_options){ .seed = 1 }, &p.arena, &forecast));
	assert_int_equal(forecast.count, 7);
	assert_true(forecast.has_deadline && forecast.at_most);
	/* the one with a window is done on its day; how long the others wait for theirs nobody knows */
	assert_string_equal(p.site[forecast.site[4].site].code, "TB-15");
	assert_true(forecast.site[4].median >= p.site[4].from.second && forecast.site[4].late < p.site[4].from.second + 2 * 86400);
	assert_true(forecast.site[0].least);
	free_practice(&p);
}

/* Two weeks on nothing has moved. */
static void two_weeks_later(void **state)
{
	(void)state;
	static struct practice p;
	struct pm_fleet_findings findings;
	size_t stalled = 0, overdue = 0;
	load_practice(&p, "2026-10-23T09:00:00Z");
	assert_true(pm_fleet_check(&p.fleet, p.now, &p.arena, &findings));
	for (size_t i = 0; i < findings.count; i++) {
		stalled += findings.item[i].code == PM_JOB_STALLED;
		overdue += findings.item[i].code == PM_JOB_OVERDUE;
	}
	size_t old = 0, late = 0;
	for (size_t i = 0; i < SITES; i++) {
		old += !pm_site_done(&p.site[i]) && p.now.second - p.site[i].last > 14 * 86400;
		late += !pm_site_done(&p.site[i]) && p.site[i].due < 20749;   /* date -u -d 2026-10-23 */
	}
	assert_int_equal(stalled, old);
	assert_int_equal(late, 3);
	assert_int_equal(overdue, late);
	assert_true(stalled >= 6);
	free_practice(&p);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(options, make_folder, remove_folder),
		cmocka_unit_test(practice_fleet), cmocka_unit_test(two_weeks_later),
	};
	return cmocka_run_group_tests_name("fleet files", tests, NULL, NULL);
}
