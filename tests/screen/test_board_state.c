/* The board's behaviour, by keys on a folder of job files. */
#include <strings.h>

#include "board_fixture.h"
#include "board/frame.h"

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

/* --- the list -------------------------------------------------------------------- */

static const struct pm_site_summary *site_at(size_t row)
{
	return &f.model.fleet->site[f.state.order.row[row]];
}

static int64_t slack_at(size_t row)
{
	int64_t days;
	return board_slack(&f.model, f.state.order.row[row], &days) ? days : INT64_MAX;
}

/* Unread first, then the worst. */
static int badness_at(size_t row)
{
	struct board_worst worst = board_worst(&f.model, f.state.order.row[row]);
	return site_at(row)->fault ? 9 : worst.code ? (int)worst.severity : -1;
}

static bool in_order(enum board_sort sort, size_t i)
{
	const struct pm_site_summary *a = site_at(i), *b = site_at(i + 1);
	bool a_out = a->fault || pm_site_done(a), b_out = b->fault || pm_site_done(b);
	switch (sort) {
	case SORT_SITE: return strcasecmp(board_row(&f, i), board_row(&f, i + 1)) <= 0;
	case SORT_HOLDER: return b_out || (!a_out && a->holder <= b->holder);
	case SORT_WORST: return badness_at(i) >= badness_at(i + 1);
	case SORT_PHASE: return b_out || (!a_out && a->phase <= b->phase);
	case SORT_SLACK: return slack_at(i) <= slack_at(i + 1);
	case SORT_WINDOW:
		return b_out || !b->has_window || (!a_out && a->has_window && a->from.second <= b->from.second);
	case SORTS: break;
	}
	return false;
}

static void every_sort_keeps_all_sites_and_the_focus(void **state)
{
	(void)state;
	size_t count = f.model.fleet->count;
	assert_int_equal(count, 11);
	board_to(&f, "TB-14");
	for (int turn = 0; turn < 2 * SORTS; turn++) {
		bool listed[16] = { false };
		assert_int_equal(f.state.sort, turn % SORTS);
		assert_int_equal(f.state.order.count, count);
		for (size_t i = 0; i < count; i++)
			listed[f.state.order.row[i]] = true;
		for (size_t i = 0; i < count; i++)
			assert_true(listed[i]);
		for (size_t i = 0; i + 1 < count; i++)
			if (!in_order(f.state.sort, i))
				fail_msg("sorted by %s, %s stands before %s", order_sort_word(f.state.sort), board_row(&f, i),
				         board_row(&f, i + 1));
		assert_string_equal(board_row(&f, f.state.row), "TB-14");
		board_type(&f, "s");
	}
}

static void a_focus_that_was_not_moved_stays_on_top(void **state)
{
	(void)state;
	for (int turn = 0; turn < SORTS; turn++) {
		assert_int_equal(f.state.row, 0);
		board_type(&f, "s");
	}
}

static void the_filter_follows_what_is_typed(void **state)
{
	(void)state;
	static const struct { const char *text; size_t count; const char *first; } rows[] = {
		{ "tb-1", 9, "TB-11" },             /* the unread file by its name */
		{ "PELLARN", 1, "TB-11" },          /* a name, whatever the case */
		{ "crew north", 4, "TB-11" },
		{ "tb-19.yaml", 1, "tb-19.yaml" },
		{ "no such thing", 0, NULL },
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		board_type(&f, "/");
		board_type(&f, rows[i].text);
		if (f.state.order.count != rows[i].count)
			fail_msg("\"%s\" lists %zu sites", rows[i].text, f.state.order.count);
		if (rows[i].first)
			assert_string_equal(board_row(&f, 0), rows[i].first);
		board_press(&f, KEYS_ENTER);
		assert_int_equal(f.state.order.count, rows[i].count);
		/* Enter on an empty list opens nothing */
		if (!rows[i].count) {
			board_press(&f, KEYS_ENTER);
			assert_int_equal(f.state.screen, BOARD_FLEET);
		}
		board_press(&f, KEYS_ESCAPE);
		assert_int_equal(f.state.order.count, f.model.fleet->count);
	}
	/* a key that means something on the list is text in the field */
	board_type(&f, "/q?s");
	assert_false(f.left);
	assert_string_equal(f.state.filter.text, "q?s");
	board_press(&f, KEYS_ESCAPE);
	assert_string_equal(f.state.filter.text, "");
}

/* Every kind of block has a site, each site is of at least one, and the cycle ends. */
static void blocks_go_round(void **state)
{
	(void)state;
	bool listed[16] = { false };
	size_t kinds = 0;
	for (;;) {
		char word[ORDER_TEXT + 16];
		board_type(&f, "b");
		if (f.state.filter.block == BLOCK_ANY)
			break;
		kinds++;
		assert_true(kinds < 40);
		assert_true(f.state.order.count > 0);
		order_block_say(&f.state.filter, word);
		assert_true(word[0] != '\0');
		for (size_t i = 0; i < f.state.order.count; i++) {
			const struct pm_site_summary *site = site_at(i);
			listed[f.state.order.row[i]] = true;
			if (f.state.filter.block == BLOCK_LEAD)
				assert_int_equal(site->holder, PM_HOLDER_LEAD);
			if (f.state.filter.block == BLOCK_UNREAD)
				assert_non_null(site->fault);
			if (f.state.filter.block == BLOCK_PHASE)
				assert_string_equal(site->phases[site->phase].id, f.state.filter.phase);
		}
	}
	assert_true(kinds >= 6);
	for (size_t i = 0; i < f.model.fleet->count; i++)
		assert_true(listed[i] || pm_site_done(&f.model.fleet->site[i]));
	assert_int_equal(f.state.order.count, f.model.fleet->count);
}

static void pages_and_ends(void **state)
{
	(void)state;
	board_size(&f, 12, 40);
	size_t last = f.state.order.count - 1;
	board_press(&f, KEYS_END);
	assert_int_equal(f.state.row, last);
	board_press(&f, KEYS_PAGE_DOWN);
	assert_int_equal(f.state.row, last);
	board_press(&f, KEYS_PAGE_UP);
	assert_true(f.state.row < last && f.state.row > 0);
	for (int i = 0; i < 5; i++)
		board_press(&f, KEYS_PAGE_UP);
	assert_int_equal(f.state.row, 0);
	board_type(&f, "j");
	assert_int_equal(f.state.row, 1);
	board_type(&f, "k");
	assert_int_equal(f.state.row, 0);
	/* the cursor stands on the row in focus, which has a mark of its own */
	for (size_t i = 0; i <= last; i++) {
		const struct canvas_cell *cell = f.canvas.cell + (size_t)f.canvas.cursor_row * (size_t)f.canvas.columns;
		assert_int_equal(f.canvas.cursor_column, 0);
		assert_int_equal(cell[0].point, '*');
		board_press(&f, KEYS_DOWN);
	}
}

/* --- slack and the worst finding -------------------------------------------------------- */

static size_t index_of(const char *name)
{
	for (size_t i = 0; i < f.model.fleet->count; i++)
		if (strcmp(board_site_name(&f.model.fleet->site[i]), name) == 0)
			return i;
	fail_msg("there is no %s", name);
	return 0;
}

static void slack_counts_whole_days(void **state)
{
	(void)state;
	int64_t days = 0;
	size_t site = index_of("TB-15");   /* due on 16 October; the deadline is later */
	assert_true(board_slack(&f.model, site, &days));
	assert_int_equal(days, 8);
	f.model.now = pm_when_utc(BOARD_START - 8 * 3600 - 1);   /* the second before midnight */
	assert_true(board_slack(&f.model, site, &days));
	assert_int_equal(days, 9);
	f.model.now = pm_when_utc(BOARD_START + 9 * 86400);
	assert_true(board_slack(&f.model, site, &days));
	assert_int_equal(days, -1);
	assert_false(board_slack(&f.model, index_of("TB-17"), &days));         /* done */
	assert_false(board_slack(&f.model, index_of("tb-19.yaml"), &days));    /* unread */
	/* a practice site's own day counts, not the fleet's */
	assert_true(board_slack(&f.model, index_of("TB-00"), &days));
	assert_true(days > 1000);
}

/* A deadline that was asked for stands in for the fleet's own. */
static void another_deadline_can_be_asked_for(void **state)
{
	(void)state;
	int64_t days;
	board_close(&f);
	board_open_until(&f, "2026-10-08");
	board_read(&f);
	board_size(&f, 24, 80);
	assert_true(board_slack(&f.model, index_of("TB-15"), &days));
	assert_int_equal(days, 0);
	assert_true(board_model_foresee(&f.model, true));
	assert_int_equal(f.model.forecast.hits, 0);
	assert_shows(&f, "deadline 2026-10-08: chance 0 %");
	board_again(&f, 86400);
	assert_true(board_model_foresee(&f.model, true));
	assert_shows(&f, "deadline 2026-10-08: passed");
}

static void the_worst_may_come_from_across_the_fleet(void **state)
{
	(void)state;
	size_t seen = 0;
	assert_true(f.model.held_together && f.model.findings.count > 0);
	for (size_t i = 0; i < f.model.findings.count; i++)
		for (size_t k = 0; k < f.model.findings.item[i].count; k++) {
			struct board_worst worst = board_worst(&f.model, f.model.findings.item[i].site[k]);
			assert_true(worst.code && worst.severity >= f.model.findings.item[i].severity);
			seen++;
		}
	assert_true(seen >= 2);
}

static void a_chance_is_never_rounded_to_certainty(void **state)
{
	(void)state;
	static const struct { size_t hits, runs; const char *said; } rows[] = {
		{ 0, 400, "0 %" }, { 1, 400, "<1 %" }, { 2, 400, "1 %" }, { 172, 400, "43 %" }, { 398, 400, ">99 %" },
		{ 396, 400, "99 %" }, { 400, 400, "100 %" }, { 0, 0, "0 %" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char shown[16];
		frame_chance(rows[i].hits, rows[i].runs, shown);
		assert_string_equal(shown, rows[i].said);
	}
}

/* --- screens --------------------------------------------------------------------------- */

static void enter_opens_and_escape_comes_back(void **state)
{
	(void)state;
	board_to(&f, "TB-13");
	board_press(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, BOARD_SITE);
	assert_shows(&f, "TB-13");
	board_press(&f, KEYS_TAB);
	assert_shows(&f, "TB-14");
	board_press(&f, KEYS_BACK_TAB);
	board_press(&f, KEYS_BACK_TAB);
	assert_shows(&f, "TB-12");
	board_press(&f, KEYS_ESCAPE);
	assert_int_equal(f.state.screen, BOARD_FLEET);
	assert_string_equal(board_row(&f, f.state.row), "TB-12");
}

static void a_site_that_is_unread_stays_a_row(void **state)
{
	(void)state;
	board_to(&f, "tb-19.yaml");
	board_press(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, BOARD_FLEET);
	assert_shows(&f, "NOT READ");
}

static void a_finding_leads_to_its_first_site(void **state)
{
	(void)state;
	board_type(&f, "f");
	for (size_t i = 0; i < f.model.findings.count; i++) {
		const struct pm_fleet_finding *finding = &f.model.findings.item[i];
		size_t site = finding->site[0];
		assert_int_equal(f.state.screen, BOARD_FINDINGS);
		assert_int_equal(f.state.finding, i);
		board_press(&f, KEYS_ENTER);
		assert_int_equal(f.state.screen, BOARD_SITE);
		assert_int_equal(f.model.site, site);
		board_press(&f, KEYS_ESCAPE);
		board_press(&f, KEYS_DOWN);
	}
}

static void leaving(void **state)
{
	(void)state;
	board_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	assert_int_equal(f.state.screen, BOARD_LEAVE);
	assert_false(f.left);
	board_type(&f, "n");
	assert_int_equal(f.state.screen, BOARD_FLEET);
	/* keys that came in a burst were pasted */
	board_send(&f, (struct screen_event){ .kind = EVENT_CHARACTER, .point = 'q', .burst = true });
	assert_false(f.left);
	board_type(&f, "q");
	assert_true(f.left);
	board_end(&f.state);
	board_begin(&f.state, &f.model, NULL);
	board_size(&f, 24, 80);
	board_send(&f, (struct screen_event){ .kind = EVENT_STOP, .signal = 15 });
	assert_true(f.left);
}

/* --- files that change ------------------------------------------------------------------- */

static void the_focus_stays_on_its_site(void **state)
{
	(void)state;
	board_to(&f, "TB-14");
	board_copy("fleet/tb-11-pellarn-weir.yaml", "fleet/a-copy.yaml");
	assert_true(gather_changed(f.gather));
	board_again(&f, 1);
	assert_int_equal(f.model.fleet->count, 12);
	assert_string_equal(board_row(&f, f.state.row), "TB-14");
	assert_int_equal(unlink("fleet/a-copy.yaml"), 0);
	assert_int_equal(unlink("fleet/tb-11-pellarn-weir.yaml"), 0);
	board_again(&f, 1);
	assert_int_equal(f.model.fleet->count, 10);
	assert_string_equal(board_row(&f, f.state.row), "TB-14");
	/* its own file goes: the focus takes the row's next one */
	assert_int_equal(unlink("fleet/tb-14-quarrend-mill.yaml"), 0);
	board_again(&f, 1);
	assert_int_equal(f.model.fleet->count, 9);
	assert_true(f.state.row < f.state.order.count);
}

static void the_open_site_follows_its_file(void **state)
{
	(void)state;
	board_to(&f, "TB-14");
	board_press(&f, KEYS_ENTER);
	assert_hides(&f, "Lower Mill");
	size_t length = 0;
	char *text = scratch_read("fleet/tb-14-quarrend-mill.yaml", &length), *name = strstr(text, "Quarrend Mill\"\n");
	assert_non_null(name);
	memcpy(name, "Lower Mill\"   ", 14);
	board_put("fleet/tb-14-quarrend-mill.yaml", text, length);
	free(text);
	board_again(&f, 1);
	assert_int_equal(f.state.screen, BOARD_SITE);
	assert_shows(&f, "Lower Mill");
	assert_int_equal(unlink("fleet/tb-14-quarrend-mill.yaml"), 0);
	board_again(&f, 1);
	assert_int_equal(f.state.screen, BOARD_FLEET);
	assert_shows(&f, "no longer in the folder");
}

static void remove_all(void)
{
	char path[600];
	DIR *listing = opendir("fleet");
	assert_non_null(listing);
	for (const struct dirent *entry; (entry = readdir(listing));) {
		snprintf(path, sizeof path, "fleet/%.255s", entry->d_name);
		if (strstr(entry->d_name, ".yaml") && entry->d_name[0] != 'z')
			assert_int_equal(unlink(path), 0);
	}
	closedir(listing);
}

static void what_is_no_job_is_told(void **state)
{
	(void)state;
	static const struct { int rows, columns; } sizes[] = { { 12, 40 }, { 43, 132 }, { 24, 80 } };
	static const char other[] = "format: \"1\"\nid: \"other\"\n";
	board_type(&f, "f");
	assert_hides(&f, "left out");
	board_put("fleet/z2.yaml", other, sizeof other - 1);
	board_put("fleet/z1.yaml", other, sizeof other - 1);
	board_again(&f, 1);
	assert_int_equal(f.model.fleet->count, 11);
	assert_int_equal(f.model.counts.unread, 1);
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
		board_size(&f, sizes[i].rows, sizes[i].columns);
		assert_shows(&f, " 2 left out, no job files: fleet/z1");
		assert_shows(&f, "Do: ");
	}
	assert_int_equal(unlink("fleet/z1.yaml"), 0);
	board_again(&f, 1);
	assert_shows(&f, " 1 left out, no job files: fleet/z2.yaml");
	remove_all();
	board_again(&f, 1);
	assert_int_equal(f.model.fleet->count, 0);
	assert_shows(&f, "nothing clashes");
	assert_shows(&f, " 1 left out, no job files: fleet/z2.yaml");
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(every_sort_keeps_all_sites_and_the_focus), CASE(a_focus_that_was_not_moved_stays_on_top),
		CASE(the_filter_follows_what_is_typed), CASE(blocks_go_round), CASE(pages_and_ends),
		CASE(slack_counts_whole_days), CASE(another_deadline_can_be_asked_for), CASE(the_worst_may_come_from_across_the_fleet),
		CASE(a_chance_is_never_rounded_to_certainty), CASE(enter_opens_and_escape_comes_back),
		CASE(a_site_that_is_unread_stays_a_row), CASE(a_finding_leads_to_its_first_site), CASE(leaving),
		CASE(the_focus_stays_on_its_site), CASE(the_open_site_follows_its_file),
		CASE(what_is_no_job_is_told),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
