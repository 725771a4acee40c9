/* What a lead must not be misled by: who is stopped, two regions with deadlines of their
 * own, a revision, and words that say a thing twice. */
#include "board_fixture.h"

static struct board_fixture f;

static int set_up(void **state)
{
	(void)state;
	board_start(&f);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	board_stop(&f);
	return 0;
}

static void open_with(const struct gather_options *options)
{
	board_close(&f);
	board_open_as(&f, options, "lead 1");
	board_read(&f);
	board_size(&f, 24, 80);
}

/* The counts, the filter and the rows mean the same by "stopped". */
static void stopped_is_one_thing(void **state)
{
	(void)state;
	size_t shown = 0, ready = 0;
	for (size_t i = 0; i < f.model.fleet->count; i++) {
		const struct pm_site_summary *site = &f.model.fleet->site[i];
		struct board_worst worst = board_worst(&f.model, i);
		bool stop = worst.code && worst.severity == PM_STOP && !site->practice;
		shown += stop;
		ready += !site->fault && !site->practice && !pm_site_done(site) && site->ready && !stop;
	}
	assert_int_equal(shown, 4);   /* two by findings of their own, and a job and its copy */
	assert_int_equal(f.model.counts.stopped, shown);
	assert_int_equal(f.model.counts.ready, ready);
	assert_shows(&f, "3 ready  4 stopped");
	while (f.state.filter.block != BLOCK_STOP)
		board_type(&f, "b");
	assert_int_equal(f.state.order.count, shown);
	static const char *const codes[] = { "TB-11", "TB-12", "TB-14", "TB-18" };
	for (size_t i = 0; i < shown; i++)
		assert_string_equal(board_row(&f, i), codes[i]);
	board_press(&f, KEYS_DOWN);
	assert_shows(&f, "4 of 11 listed: a stop finding");
}

/* Who can go on can be listed, and is who the top row counts; practice sites are not. */
static void ready_can_be_listed(void **state)
{
	(void)state;
	static const char *const codes[] = { "TB-13", "TB-16" };
	size_t found = 0;
	board_type(&f, "b");
	assert_int_equal(f.state.filter.block, BLOCK_READY);
	assert_int_equal(f.state.order.count, f.model.counts.ready);
	for (size_t i = 0; i < f.state.order.count; i++) {
		size_t site = f.state.order.row[i];
		assert_true(f.model.fleet->site[site].ready && !f.model.fleet->site[site].practice);
		assert_false(board_stopped(&f.model, site));
		for (size_t k = 0; k < sizeof codes / sizeof *codes; k++)
			found += strcmp(board_row(&f, i), codes[k]) == 0;
	}
	assert_int_equal(found, 2);
	board_press(&f, KEYS_DOWN);
	assert_shows(&f, "3 of 11 listed: ready");
}

/* A stop across the fleet blocks as much as the condition: at 80 columns too both stand below a
 * list that leaves room. */
static void stop_stands_below_the_list(void **state)
{
	(void)state;
	board_to(&f, "TB-18");
	assert_shows(&f, "\"Have the transmitter inhibited\"");
	assert_shows(&f, "stop: a reading of the serial number");
	assert_shows(&f, "(TB-18)");
}

/* While files are read again nothing is known across the fleet, and nothing is made up. */
static void stopped_while_reading(void **state)
{
	(void)state;
	f.now += 60;
	f.model.now = pm_when_utc(f.now);
	assert_true(board_model_look_again(&f.model, true));
	for (size_t i = 0; i < f.model.fleet->count; i++)
		assert_int_equal(board_stopped(&f.model, i), f.model.fleet->site[i].stops > 0);
	board_read(&f);
	assert_int_equal(f.model.counts.stopped, 4);
}

static void copy_region(const char *folder, const char *deadline)
{
	char text[120], to[PATH_MAX];
	size_t length = 0;
	snprintf(to, sizeof to, "%s/%s", f.folder, folder);
	assert_int_equal(mkdir(to, 0755), 0);
	snprintf(to, sizeof to, "%s/%s/one.yaml", f.folder, folder);
	char *job = scratch_read("fleet/tb-13-dunvorrel-lock.yaml", &length);
	assert_non_null(job);
	char *code = strstr(job, "TB-13"), *due = strstr(job, "2026-10-23");
	assert_true(code && due);
	code[0] = folder[0];
	memcpy(due, "2026-12-21", 10);
	board_put(to, job, length);
	free(job);
	snprintf(to, sizeof to, "%s/%s/fleet.yaml", f.folder, folder);
	int written = snprintf(text, sizeof text, "format: \"1\"\ndeadline: \"%s\"\n"
	                       "travel:\n  - { from: \"nB-13\", to: \"X-1\", minutes: \"5\" }\n", deadline);
	board_put(to, text, (size_t)written);
}

static void two_regions(void **state)
{
	(void)state;
	static const char *const given[] = { "north", "south" };
	static const struct gather_options both = { .folder = given, .folder_count = 2 };
	copy_region("north", "2026-10-20");
	copy_region("south", "2026-12-01");
	open_with(&both);
	for (size_t i = 0; i < 2; i++) {
		int64_t days = 0;
		assert_true(board_slack(&f.model, i, &days));
		assert_int_equal(days, strstr(f.model.fleet->site[i].file, "north") ? 12 : 54);
	}
	assert_shows(&f, "deadlines 2026-10-20 to 2026-12-01");
	board_size(&f, 12, 40);
	assert_shows(&f, "by 10-20..12-01");
	board_size(&f, 24, 80);
	assert_true(board_model_foresee(&f.model, true));
	assert_shows(&f, "deadlines 2026-10-20 to 2026-12-01: chance at most ");
	board_type(&f, "c");
	assert_shows(&f, "finished by its folder's deadline");
	assert_shows(&f, "2026-10-20 in at most 100 %: 1 open site of north/fleet.yaml");
	assert_shows(&f, "2026-12-01 in at most 100 %: 1 open site of south/fleet.yaml");
	/* a way to a code that no job has: told, with its line, and about no site */
	board_press(&f, KEYS_ESCAPE);
	board_type(&f, "f");
	board_press(&f, KEYS_END);
	assert_shows(&f, "note way-unknown: ");
	assert_shows(&f, "/fleet.yaml:4: the way from \"nB-13\"");
	board_press(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, BOARD_FINDINGS);
	assert_shows(&f, "that finding is about no site");
}

/* The chance and the word of the sorting both stand in 80 columns. */
static void chance_and_sorting(void **state)
{
	(void)state;
	static const char *const words[] = { "by next move", "by worst finding", "by phase", "by slack", "by appointment" };
	assert_true(board_model_foresee(&f.model, true));
	assert_shows(&f, "deadline 2026-11-13: chance at most 100 %   across the fleet: 2 stop, 1 warn");
	for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
		board_type(&f, "s");
		board_press(&f, KEYS_DOWN);   /* the message about the sorting goes */
		assert_shows(&f, "deadline 2026-11-13: chance at most 100 %  f: 2 stop 1 warn");
		assert_shows(&f, words[i]);
	}
}

/* At a revision nothing can be waived: it is said before anything is typed. */
static void revision(void **state)
{
	(void)state;
	static const char *const given[] = { "fleet" };
	static const struct gather_options then = { .folder = given, .folder_count = 1, .revision = "HEAD" };
	board_to(&f, "TB-12");
	board_press(&f, KEYS_ENTER);
	assert_shows(&f, "[w] waive");
	setenv("GIT_CONFIG_GLOBAL", "/dev/null", 1);
	setenv("GIT_CONFIG_NOSYSTEM", "1", 1);
	assert_int_equal(system("git init -q . && git add fleet && "
	                        "git -c user.name=lead -c user.email=lead@invalid commit -q -m first"), 0);
	open_with(&then);
	board_to(&f, "TB-12");
	board_press(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, BOARD_SITE);
	assert_hides(&f, "[w] waive");
	board_type(&f, "w");
	assert_int_equal(f.state.screen, BOARD_SITE);
	assert_false(f.state.typing);
	assert_shows(&f, "at a git revision nothing can be waived; open the folder itself");
}

/* A crew that is named with the word is not called so twice. */
static void crew_once(void **state)
{
	(void)state;
	static const struct { const char *crew, *shown; } rows[] = {
		{ "crew north", " crew north, plan" }, { "crewe", " crew crewe, plan" }, { "7", " crew 7, plan" }, { "Crew", " Crew, plan" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char path[PATH_MAX], text[400];
		snprintf(path, sizeof path, "fleet/zz-%zu.yaml", i);
		int length = snprintf(text, sizeof text, "format: \"1\"\nplan: \"router-swap\"\ngear: \"eg-12\"\nsite:\n  code: \"ZZ-%zu\"\n"
		                      "  crew: \"%s\"\nreadings: []\n", i, rows[i].crew);
		board_put(path, text, (size_t)length);
	}
	board_again(&f, 60);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char code[20];
		snprintf(code, sizeof code, "ZZ-%zu", i);
		board_to(&f, code);
		board_press(&f, KEYS_ENTER);
		assert_shows(&f, rows[i].shown);
		assert_hides(&f, "crew crew ");
		board_press(&f, KEYS_ESCAPE);
	}
}

/* A phase that is not begun yet waits for whom it will wait for when it is. */
static void the_same_who(void **state)
{
	(void)state;
	board_to(&f, "TB-18");
	board_press(&f, KEYS_ENTER);
	board_size(&f, 60, 100);
	assert_shows(&f, "to close, steps-done: \"Have the sheet written\": not answered, and 4 more steps (lead)");
	board_press(&f, KEYS_ESCAPE);
	board_to(&f, "TB-11");
	board_press(&f, KEYS_ENTER);
	assert_shows(&f, "to close, steps-done: \"Have the sheet written\": not answered, and 4 more steps (lead)");
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(stopped_is_one_thing), CASE(ready_can_be_listed), CASE(stop_stands_below_the_list),
		CASE(stopped_while_reading), CASE(two_regions), CASE(chance_and_sorting), CASE(revision),
		CASE(crew_once), CASE(the_same_who),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
