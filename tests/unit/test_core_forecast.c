/* The simulation against distributions that are known in closed form. Each share
 * of runs must lie within three standard deviations of the exact chance; the
 * seeds are fixed, so a run of the tests never differs from another. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <math.h>
#include <cmocka.h>

#include "fixture.h"
#include "portmuster/forecast.h"

#define DAY 86400
#define NOW 1767225600   /* 2026-01-01T00:00:00Z, a midnight: a phase of N days ends N days on */
#define TODAY (NOW / DAY)
#define RUNS 20000
#define MOST 1200
#define PHASES 3

struct world {
	struct pm_arena arena;
	struct pm_site_summary site[MOST];
	struct pm_phase_summary phase[MOST][PHASES];
	struct pm_fleet fleet;
	struct pm_forecast forecast;
	struct pm_forecast_options options;
};

static struct world w;

static void begin(void)
{
	memset(&w, 0, sizeof w);
	pm_arena_init(&w.arena);
	w.fleet.site = w.site;
	pm_fleet_defaults(&w.fleet.options);
	w.fleet.options.work_hours = 24;   /* a day of work is a day */
	w.options = (struct pm_forecast_options){ .seed = 20260101, .runs = RUNS };
}

static void end(void)
{
	pm_arena_free(&w.arena);
}

/* A site of `phases` phases of one kind, all ahead. */
static struct pm_site_summary *add(size_t phases, enum pm_holder who)
{
	static const char *const ids[PHASES] = { "first", "second", "third" };
	if (w.fleet.count == MOST)
		abort();
	size_t at = w.fleet.count++;
	for (size_t p = 0; p < phases; p++)
		w.phase[at][p] = (struct pm_phase_summary){ .id = ids[p], .state = p ? PM_PHASE_LATER : PM_PHASE_OPEN, .who = who };
	w.site[at] = (struct pm_site_summary){ .file = "", .code = "", .plan = "plan", .phases = w.phase[at], .phase_count = phases };
	return &w.site[at];
}

/* A closed job in which each phase took `seconds`. */
static struct pm_site_summary *add_closed(size_t phases, enum pm_holder who, int64_t seconds)
{
	struct pm_site_summary *site = add(phases, who);
	int64_t at = NOW - 1000 * DAY;
	for (size_t p = 0; p < phases; p++, at += seconds) {
		site->phases[p].state = PM_PHASE_CLOSED;
		site->phases[p].begun = at;
		site->phases[p].closed = at + seconds;
	}
	site->phase = phases;
	return site;
}

/* Six closed jobs: each phase is a fair die of days. */
static void add_die(size_t phases, enum pm_holder who)
{
	for (int side = 1; side <= 6; side++)
		add_closed(phases, who, (int64_t)side * DAY);
}

static const struct pm_forecast *make(void)
{
	if (!pm_forecast_make(&w.fleet, pm_when_utc(NOW), &w.options, &w.arena, &w.forecast))
		abort();
	return &w.forecast;
}

/* The chance that all are finished within `days` days. */
static double chance(int64_t days)
{
	w.fleet.options.has_deadline = true;
	w.fleet.options.deadline_day = TODAY + days;   /* day 0 is today: N days from midnight are over on day N */
	make();
	return (double)w.forecast.hits / (double)w.forecast.runs;
}

/* `days` in words and `deadline` as the day on which they have run out. */
static void holds(const char *what, int64_t days, int64_t deadline, double exact)
{
	double seen = chance(deadline), sigma = sqrt(exact * (1 - exact) / RUNS);
	/* what is certain must always be so */
	bool certain = exact < 1e-12 || exact > 1 - 1e-12;
	double off = !certain ? fabs(seen - exact) / sigma : fabs(seen - exact) < 1e-12 ? 0 : INFINITY;
	printf("# figure %s within %d days: exact %.5f, %d runs %.5f, %.2f standard deviations off\n", what, (int)days, exact,
	       RUNS, seen, off);
	if (off > 3)
		fail_msg("%s: %.2f standard deviations off", what, off);
}

/* Durations of whole days: the last of them may end with its day. */
static void agrees(const char *what, int64_t days, double exact)
{
	holds(what, days, days, exact);
}

/* Durations of any length: day N - 1 ends, to the second, N days from now. */
static void flows(const char *what, int64_t days, double exact)
{
	holds(what, days, days - 1, exact);
}

/* The exact distribution of the sum of `dice` dice: the share of at most `most`. */
static double dice_at_most(int dice, int most)
{
	double share[64] = { 1 }, next[64];
	for (int d = 0; d < dice; d++) {
		memset(next, 0, sizeof next);
		for (int sum = 0; sum + 6 < 64; sum++)
			for (int side = 1; side <= 6; side++)
				next[sum + side] += share[sum] / 6;
		memcpy(share, next, sizeof share);
	}
	double total = 0;
	for (int sum = 0; sum <= most && sum < 64; sum++)
		total += share[sum];
	return total;
}

/* --- random numbers --- */

static void stream(void **state)
{
	(void)state;
	/* SplitMix64 from seed 1234567: from memory of a widely copied test vector, and computed
	 * again with a few lines of another language */
	static const uint64_t expected[] = { 6457827717110365317u, 3203168211198807973u, 9817491932198370423u,
		4593380528125082431u, 16408922859458223821u };
	uint64_t random = 1234567;
	for (size_t i = 0; i < COUNT(expected); i++)
		assert_true(pm_random_next(&random) == expected[i]);
}

static void below(void **state)
{
	(void)state;
	uint64_t random = 7;
	size_t seen[6] = { 0 };
	for (int i = 0; i < 60000; i++)
		seen[pm_random_below(&random, 6)]++;
	double chi = 0;
	for (size_t i = 0; i < 6; i++)
		chi += ((double)seen[i] - 10000) * ((double)seen[i] - 10000) / 10000;
	/* chi-squared with 5 degrees of freedom: 20.5 is passed in one of a thousand (usual tables, from memory) */
	printf("# figure a die thrown 60000 times: chi-squared %.2f\n", chi);
	assert_true(chi < 20.5);
	assert_int_equal(pm_random_below(&random, 0), 0);
	assert_int_equal(pm_random_below(&random, 1), 0);
	for (int i = 0; i < 1000; i++) {
		int64_t drawn = pm_random_triangle(&random, -10, 5, 100);
		assert_true(drawn >= -10 && drawn <= 100);
		assert_int_equal(pm_random_triangle(&random, 4, 4, 4), 4);
	}
}

/* --- sums, maxima, queues --- */

static void one_die(void **state)
{
	(void)state;
	begin();
	add_die(1, PM_HOLDER_CENTRE);
	add(1, PM_HOLDER_CENTRE);
	for (int days = 0; days <= 6; days++)
		agrees("one die", days, dice_at_most(1, days));
	assert_int_equal(w.forecast.count, 1);
	assert_int_equal(w.forecast.site[0].site, 6);
	assert_false(w.forecast.site[0].least || w.forecast.at_most);
	assert_int_equal(w.forecast.site[0].median, NOW + 3 * DAY);
	assert_int_equal(w.forecast.site[0].late, NOW + 6 * DAY);
	assert_int_equal(w.forecast.phase_count, 1);
	assert_int_equal(w.forecast.phase[0].observed, 6);
	assert_int_equal(w.forecast.phase[0].basis, PM_BASIS_OBSERVED);
	end();
}

static void two_dice(void **state)
{
	(void)state;
	begin();
	add_die(2, PM_HOLDER_CENTRE);
	add(2, PM_HOLDER_CENTRE);
	for (int days = 2; days <= 12; days += 2)
		agrees("two phases, a die each", days, dice_at_most(2, days));
	assert_int_equal(w.forecast.site[0].median, NOW + 7 * DAY);
	/* 30 of 36 throws are 9 at most, 33 are 10 */
	assert_int_equal(w.forecast.site[0].late, NOW + 10 * DAY);
	end();
}

/* Sites that go on side by side: the chances multiply. */
static void slowest(void **state)
{
	(void)state;
	begin();
	add_die(2, PM_HOLDER_TECHNICIAN);
	for (int i = 0; i < 5; i++)
		add(2, PM_HOLDER_TECHNICIAN);
	for (int days = 6; days <= 11; days++)
		agrees("the slowest of five sites", days, pow(dice_at_most(2, days), 5));
	end();
}

/* One crew does one site after another: the durations add up. */
static void one_crew(void **state)
{
	(void)state;
	begin();
	add_die(1, PM_HOLDER_TECHNICIAN);
	for (int i = 0; i < 4; i++)
		add(1, PM_HOLDER_TECHNICIAN)->crew_key = 77;
	for (int days = 8; days <= 20; days += 4)
		agrees("four sites of one crew", days, dice_at_most(4, days));
	/* and two crews of two: sums, then the slower of them */
	w.site[6].crew_key = w.site[7].crew_key = 78;
	for (int days = 4; days <= 10; days += 2)
		agrees("two sites each of two crews", days, pow(dice_at_most(2, days), 2));
	end();
}

/* What others do needs no crew: the desk has the sites side by side. */
static void desk_side_by_side(void **state)
{
	(void)state;
	begin();
	add_die(1, PM_HOLDER_DESK);
	for (int i = 0; i < 4; i++)
		add(1, PM_HOLDER_DESK)->crew_key = 77;
	for (int days = 4; days <= 5; days++)
		agrees("four sites of one crew at the desk", days, pow(dice_at_most(1, days), 4));
	end();
}

/* The sum of n uniform durations: Irwin-Hall, F(x) = sum (-1)^k C(n,k) (x-k)^n / n!. */
static void irwin_hall(void **state)
{
	(void)state;
	static const struct { int64_t days; double exact; } rows[] = {
		{ 5, 0.5 * 0.5 * 0.5 / 6 }, { 10, 1.0 / 6 },
		{ 15, (1.5 * 1.5 * 1.5 - 3 * 0.5 * 0.5 * 0.5) / 6 },                               /* one half */
		{ 20, (8.0 - 3) / 6 }, { 25, (2.5 * 2.5 * 2.5 - 3 * 1.5 * 1.5 * 1.5 + 3 * 0.5 * 0.5 * 0.5) / 6 },
	};
	begin();
	/* a thousand closed jobs, evenly spread over ten days */
	for (int i = 0; i < 1000; i++)
		add_closed(3, PM_HOLDER_CENTRE, (2 * i + 1) * (10 * DAY / 2000));
	add(3, PM_HOLDER_CENTRE);
	for (size_t i = 0; i < COUNT(rows); i++)
		flows("three uniform durations of ten days", rows[i].days, rows[i].exact);
	end();
}

/* The triangle around an estimate: 1, 2 and 6 days for an estimate of two days. */
static void triangle(void **state)
{
	(void)state;
	begin();
	add(1, PM_HOLDER_CENTRE)->phases[0].minutes = 2 * 24 * 60;
	flows("an estimate", 1, 0);
	flows("an estimate", 2, 1.0 / 5);                    /* (2-1)^2 / ((6-1)(2-1)) */
	flows("an estimate", 3, 1 - 9.0 / 20);               /* 1 - (6-3)^2 / ((6-1)(6-2)) */
	flows("an estimate", 4, 1 - 4.0 / 20);
	flows("an estimate", 6, 1);
	assert_int_equal(w.forecast.phase[0].basis, PM_BASIS_ESTIMATE);
	assert_false(w.forecast.at_most);
	/* a working day of eight hours takes a day */
	w.fleet.options.work_hours = 8;
	w.site[0].phases[0].minutes = 2 * 8 * 60;
	flows("an estimate in working hours", 3, 1 - 9.0 / 20);
	end();
}

/* --- what is known and what is not --- */

static void bases(void **state)
{
	(void)state;
	begin();
	/* four observations are too few; the estimate is taken until there are five */
	for (int i = 0; i < 4; i++)
		add_closed(1, PM_HOLDER_CENTRE, 9 * DAY);
	add(1, PM_HOLDER_CENTRE)->phases[0].minutes = 1;
	assert_int_equal(make()->phase[0].basis, PM_BASIS_ESTIMATE);
	assert_int_equal(w.forecast.phase[0].observed, 4);
	add_closed(1, PM_HOLDER_CENTRE, 9 * DAY);
	assert_int_equal(make()->phase[0].basis, PM_BASIS_OBSERVED);
	assert_int_equal(w.forecast.median, NOW + 9 * DAY);
	w.options.least_observed = 6;
	assert_int_equal(make()->phase[0].basis, PM_BASIS_ESTIMATE);
	/* practice sites show nothing, and have no forecast */
	for (int i = 0; i < 3; i++)
		add_closed(1, PM_HOLDER_CENTRE, DAY)->practice = true;
	add(1, PM_HOLDER_CENTRE)->practice = true;
	assert_int_equal(make()->phase[0].observed, 5);
	assert_int_equal(w.forecast.count, 1);
	/* another plan's phase of the same id is another */
	add_closed(1, PM_HOLDER_CENTRE, DAY)->plan = "other";
	assert_int_equal(make()->phase[0].observed, 5);
	/* with neither, the date is the earliest, and the chance the best */
	w.site[4].phases[0].minutes = 0;
	make();
	assert_int_equal(w.forecast.phase[0].basis, PM_BASIS_NONE);
	assert_true(w.forecast.site[0].least && w.forecast.at_most);
	assert_int_equal(w.forecast.site[0].median, NOW);
	end();
}

static void windows(void **state)
{
	(void)state;
	begin();
	struct pm_site_summary *site = add(2, PM_HOLDER_TECHNICIAN);
	site->phases[0].minutes = 2 * 24 * 60;
	site->phases[1].minutes = 1;
	site->phases[1].by_window = true;
	site->has_window = true;
	site->from = pm_when_utc(NOW + 20 * DAY), site->until = pm_when_utc(NOW + 21 * DAY);
	make();
	assert_int_equal((w.forecast.median - NOW) / DAY, 20);
	assert_int_equal((w.forecast.late - NOW) / DAY, 20);
	assert_false(w.forecast.at_most);
	/* a window that can't be reached is as none; and how long one waits for one is not known */
	site->from = pm_when_utc(NOW + DAY / 2), site->until = pm_when_utc(NOW + DAY - 1);
	make();
	assert_true(w.forecast.at_most && w.forecast.site[0].least);
	assert_int_equal((w.forecast.median - NOW) / DAY, 2);
	/* now it was seen five times: ten days each, between the closing before and the work */
	for (int i = 0; i < 5; i++) {
		struct pm_site_summary *closed = add_closed(2, PM_HOLDER_TECHNICIAN, DAY);
		closed->phases[1].by_window = true;
		closed->phases[1].begun += 10 * DAY, closed->phases[1].closed += 10 * DAY;
	}
	make();
	assert_false(w.forecast.at_most);
	assert_int_equal(w.forecast.median, NOW + 12 * DAY);   /* a day, ten days, a day */
	assert_int_equal(w.forecast.phase[1].waits_observed, 5);
	/* what is under way inside its window waits for none */
	site->phase = 1;
	site->phases[0].state = PM_PHASE_CLOSED, site->phases[1].state = PM_PHASE_OPEN;
	make();
	assert_int_equal(w.forecast.median, NOW + DAY);
	assert_int_equal(w.forecast.phase_count, 1);
	assert_string_equal(w.forecast.phase[0].phase, "second");
	end();
}

/* A night between two days of work is no work. */
static void nights(void **state)
{
	(void)state;
	begin();
	w.fleet.options.work_hours = 8;
	for (int i = 0; i < 5; i++)
		add_closed(1, PM_HOLDER_TECHNICIAN, DAY + 4 * 3600);   /* twelve hours of work */
	add(1, PM_HOLDER_TECHNICIAN);
	assert_int_equal(make()->median, NOW + DAY + DAY / 2);
	/* twenty hours from the first answer to the last are a day's work, not two and a half */
	for (size_t i = 0; i < 5; i++)
		w.site[i].phases[0].closed = w.site[i].phases[0].begun + 20 * 3600;
	assert_int_equal(make()->median, NOW + DAY);
	end();
}

static void dues(void **state)
{
	(void)state;
	begin();
	add_die(1, PM_HOLDER_CENTRE);
	struct pm_site_summary *site = add(1, PM_HOLDER_CENTRE);
	add(1, PM_HOLDER_CENTRE);
	site->has_due = true, site->due = TODAY + 2;
	make();
	double exact = 2.0 / 6, seen = (double)w.forecast.site[0].due_hits / RUNS;
	assert_true(fabs(seen - exact) < 3 * sqrt(exact * (1 - exact) / RUNS));
	assert_false(w.forecast.site[1].has_due || w.forecast.has_deadline);
	assert_int_equal(w.forecast.hits, 0);
	/* a deadline that has passed is missed by whatever is open */
	assert_true(chance(-1) == 0);
	assert_true(w.forecast.site[1].has_due);
	end();
	begin();
	add_closed(1, PM_HOLDER_CENTRE, DAY);
	assert_true(chance(-1) == 1);
	assert_int_equal(w.forecast.count, 0);
	end();
}

static void near_to(double seen, double exact)
{
	if (fabs(seen - exact) >= 3 * sqrt(exact * (1 - exact) / RUNS))
		fail_msg("%.5f and %.5f", seen, exact);
}

/* Each folder's deadline has its own chance, and all together the product of theirs; a
 * folder whose day has more hours of work is done sooner. */
static void folders(void **state)
{
	(void)state;
	struct pm_fleet_options two[2];
	begin();
	for (int i = 0; i < 2; i++) {
		pm_fleet_defaults(&two[i]);
		two[i].work_hours = i ? 8 : 24;
		two[i].has_deadline = true, two[i].deadline_day = TODAY + (i ? 5 : 2);
	}
	w.fleet.folder = two, w.fleet.folder_count = 2;
	add_die(1, PM_HOLDER_CENTRE);
	add(1, PM_HOLDER_CENTRE)->folder = 1;
	add(1, PM_HOLDER_CENTRE)->folder = 2;
	add(1, PM_HOLDER_CENTRE);   /* of neither: no deadline waits for it */
	make();
	assert_true(w.forecast.has_deadline && w.forecast.deadline_count == 2);
	for (uint32_t i = 0; i < 2; i++) {
		assert_int_equal(w.forecast.deadline[i].folder, i + 1);
		assert_int_equal(w.forecast.deadline[i].open, 1);
		near_to((double)w.forecast.deadline[i].hits / RUNS, i ? 5.0 / 6 : 2.0 / 6);
	}
	near_to((double)w.forecast.hits / RUNS, 10.0 / 36);
	assert_true(w.forecast.site[0].has_due && w.forecast.site[1].has_due && !w.forecast.site[2].has_due);
	for (size_t i = 6; i < 8; i++) {
		w.site[i].plan = "another";
		w.phase[i][0].minutes = 8 * 60, w.phase[i][0].who = PM_HOLDER_TECHNICIAN;
	}
	make();
	assert_true(w.forecast.site[0].late < NOW + DAY && w.forecast.site[1].median > NOW + DAY);
	end();
}

static void the_same_again(void **state)
{
	(void)state;
	begin();
	add_die(2, PM_HOLDER_TECHNICIAN);
	for (int i = 0; i < 20; i++)
		add(2, PM_HOLDER_TECHNICIAN)->crew_key = (uint64_t)(1 + i % 3);
	double first = chance(40);
	int64_t late = w.forecast.late;
	assert_true(chance(40) == first);
	assert_int_equal(w.forecast.late, late);
	w.options.seed++;
	assert_true(chance(40) != first);
	/* as many runs as the size allows */
	w.options.runs = 0;
	assert_int_equal(make()->runs, 4000);
	end();
}

/* A fleet of a size that nobody has: it takes no longer than one waits for a screen. */
static void many(void **state)
{
	(void)state;
	static struct pm_site_summary sites[10000];
	begin();
	add_die(PHASES, PM_HOLDER_TECHNICIAN);
	add(PHASES, PM_HOLDER_TECHNICIAN);
	for (size_t i = 0; i < COUNT(sites); i++) {
		sites[i] = w.site[i < 6 ? i : 6];
		sites[i].crew_key = 1 + i % 100;
	}
	w.fleet.site = sites, w.fleet.count = COUNT(sites);
	w.options.runs = 0;
	make();
	assert_int_equal(w.forecast.count, 9994);
	assert_int_equal(w.forecast.runs, 200);
	/* a crew has 100 sites of three dice: 1050 days of work, give or take */
	assert_true(w.forecast.median > NOW + 1000 * (int64_t)DAY && w.forecast.median < NOW + 1250 * (int64_t)DAY);
	end();
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(stream), cmocka_unit_test(below), cmocka_unit_test(one_die), cmocka_unit_test(two_dice),
		cmocka_unit_test(slowest), cmocka_unit_test(one_crew), cmocka_unit_test(desk_side_by_side),
		cmocka_unit_test(irwin_hall), cmocka_unit_test(triangle), cmocka_unit_test(bases), cmocka_unit_test(windows),
		cmocka_unit_test(nights), cmocka_unit_test(dues), cmocka_unit_test(folders), cmocka_unit_test(the_same_again), cmocka_unit_test(many),
	};
	return cmocka_run_group_tests_name("forecast", tests, NULL, NULL);
}
