/* The only thing that the board writes, and that nothing else is ever written. */
#include "board_fixture.h"
#include "portmuster/text.h"
#include "store/lock.h"
#include "store/save.h"

static struct board_fixture f;

#define SITE      "TB-12"
#define SITE_FILE "fleet/tb-12-vintrow-ford.yaml"

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

/* --- every file of the folder, byte by byte ---------------------------------------------- */

#define MOST_FILES 24

struct bytes {
	char path[600];
	char *text;
	size_t length;
};

static size_t take_all(struct bytes *all)
{
	size_t count = 0;
	DIR *listing = opendir("fleet");
	assert_non_null(listing);
	for (const struct dirent *entry; (entry = readdir(listing));) {
		if (entry->d_name[0] == '.' && (!entry->d_name[1] || entry->d_name[1] == '.'))
			continue;
		assert_true(count < MOST_FILES);
		snprintf(all[count].path, sizeof all[count].path, "fleet/%s", entry->d_name);
		all[count].text = scratch_read(all[count].path, &all[count].length);
		assert_non_null(all[count].text);
		count++;
	}
	closedir(listing);
	return count;
}

static void let_go(struct bytes *all, size_t count)
{
	for (size_t i = 0; i < count; i++)
		free(all[i].text);
}

/* Nothing has changed but one file (null: nothing at all), and no file came. */
static void only_changed(const struct bytes *before, size_t count, const char *path)
{
	assert_int_equal(scratch_count("fleet"), (int)count);
	for (size_t i = 0; i < count; i++) {
		size_t length = 0;
		char *text = scratch_read(before[i].path, &length);
		assert_non_null(text);
		bool same = length == before[i].length && memcmp(text, before[i].text, length) == 0;
		if (same == (path && strcmp(path, before[i].path) == 0))
			fail_msg("%s has %schanged", before[i].path, same ? "not " : "");
		free(text);
	}
}

static size_t waivers(void)
{
	struct store_job job;
	struct pm_fault fault;
	assert_true(store_job_load(SITE_FILE, &job, &fault));
	size_t count = job.job.waiver_count;
	store_job_free(&job);
	return count;
}

/* --- signing ------------------------------------------------------------------------------ */

static void to_waivers(void)
{
	board_to(&f, SITE);
	board_press(&f, KEYS_ENTER);
	board_type(&f, "w");
	assert_int_equal(f.state.screen, BOARD_WAIVE);
	assert_true(board_need_count(&f.model) > 0);
}

static void sign(const char *name, const char *reason)
{
	board_press(&f, KEYS_ENTER);
	if (name) {
		board_type(&f, name);
		board_press(&f, KEYS_ENTER);
	}
	board_type(&f, reason);
	board_press(&f, KEYS_ENTER);
}

static void a_waiver_is_one_line_and_nothing_else(void **state)
{
	(void)state;
	struct bytes before[MOST_FILES];
	size_t count = take_all(before);
	to_waivers();
	size_t open = board_need_count(&f.model);
	char condition[300];
	snprintf(condition, sizeof condition, "%s", board_need(&f.model, 0)->need->condition.text);
	sign("lead 1", "a spare lies at the store");
	assert_shows(&f, "waiver saved");
	only_changed(before, count, SITE_FILE);
	let_go(before, count);

	struct store_job job;
	struct pm_fault fault;
	assert_true(store_job_load(SITE_FILE, &job, &fault));
	assert_int_equal(job.job.waiver_count, 1);
	assert_string_equal(job.job.waivers[0].condition.text, condition);
	assert_string_equal(job.job.waivers[0].by.text, "lead 1");
	assert_string_equal(job.job.waivers[0].reason.text, "a spare lies at the store");
	assert_string_equal(job.job.waivers[0].at.text, "2026-10-08T08:00:00Z");
	store_job_free(&job);
	/* read again, the condition is no longer in the list; the name is known now */
	board_again(&f, 1);
	assert_int_equal(f.state.screen, BOARD_WAIVE);
	assert_int_equal(board_need_count(&f.model), open - 1);
	assert_string_equal(f.state.by, "lead 1");
	board_press(&f, KEYS_ESCAPE);
	board_press(&f, KEYS_END);
	assert_shows(&f, "by \"lead 1\"");
	assert_shows(&f, "spare lies at the store");
}

/* What the file held stays byte for byte; the waiver is added to it. */
static void comments_stay(void **state)
{
	(void)state;
	size_t length = 0, after = 0;
	char *text = scratch_read(SITE_FILE, &length);
	to_waivers();
	sign("lead 1", "a spare lies at the store");
	char *now = scratch_read(SITE_FILE, &after);
	assert_true(after > length);
	size_t same = 0, end = 0;
	while (same < length && text[same] == now[same])
		same++;
	while (end < length - same && text[length - 1 - end] == now[after - 1 - end])
		end++;
	assert_int_equal(same + end, length);
	free(text);
	free(now);
}

static void a_name_and_a_reason_are_needed(void **state)
{
	(void)state;
	static const char *const names[] = { "", " ", "x", "   y   " };
	static const char *const reasons[] = { "", "seven c", "        ", "  seven c  ", "\xC3\xBC\142er" };
	struct bytes before[MOST_FILES];
	size_t count = take_all(before);
	to_waivers();
	board_press(&f, KEYS_ENTER);
	for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
		board_send(&f, (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 'u' });
		board_type(&f, names[i]);
		board_press(&f, KEYS_ENTER);
		assert_true(f.state.naming);
		assert_string_equal(f.state.by, "");
	}
	board_send(&f, (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 'u' });
	board_type(&f, "lead 1");
	board_press(&f, KEYS_ENTER);
	assert_false(f.state.naming);
	for (size_t i = 0; i < sizeof reasons / sizeof *reasons; i++) {
		field_set(&f.state.field, NULL);
		for (const char *at = reasons[i]; *at;) {
			uint32_t point;
			at += pm_utf8_next(at, strlen(at), &point);
			board_send(&f, (struct screen_event){ .kind = EVENT_CHARACTER, .point = point });
		}
		board_press(&f, KEYS_ENTER);
		assert_shows(&f, "at least 8 characters");
	}
	/* a burst with Enter in it was pasted, not signed */
	board_type(&f, "a good and long reason");
	board_send(&f, (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_ENTER, .burst = true });
	only_changed(before, count, NULL);
	board_press(&f, KEYS_ESCAPE);
	assert_false(f.state.typing);
	only_changed(before, count, NULL);
	let_go(before, count);
}

static void what_may_never_be_waived_is_not_offered(void **state)
{
	(void)state;
	size_t offered = 0, hidden = 0;
	for (size_t row = 0; row < f.state.order.count; row++) {
		if (f.model.fleet->site[f.state.order.row[row]].fault)
			continue;
		board_to(&f, board_row(&f, row));
		board_press(&f, KEYS_ENTER);
		assert_int_equal(f.state.screen, BOARD_SITE);
		for (size_t i = 0; i < f.model.detail.result.gates.count; i++) {
			const struct pm_gate_line *line = &f.model.detail.result.gates.line[i];
			const char *argument;
			const struct pm_condition *condition = pm_condition_find(line->need->condition.text, &argument);
			assert_non_null(condition);
			if (board_may_waive(line)) {
				assert_false(condition->never_waived);
				assert_true(line->need->waiver);
				offered++;
			} else if (!line->met) {
				hidden++;
			}
		}
		board_press(&f, KEYS_ESCAPE);
	}
	assert_true(offered > 0 && hidden > 0);
	/* nor is it taken when somebody asks for it all the same */
	struct board_picked picked = { .phase = "register", .condition = "registration-accepted", .closing = true };
	struct pm_fault fault = { 0 };
	to_waivers();
	assert_false(board_waive(&f.model, &picked, "lead 1", "because it is late", &fault));
	assert_non_null(strstr(fault.message, "does not let a lead waive"));
	assert_int_equal(waivers(), 0);
}

static void a_job_locked_elsewhere_says_who(void **state)
{
	(void)state;
	struct store_lock lock;
	struct pm_fault fault;
	to_waivers();
	assert_true(store_lock_take(&lock, SITE_FILE, &fault));
	sign("lead 1", "a spare lies at the store");
	assert_shows(&f, "NOT SAVED: held by ");
	assert_shows(&f, "process ");
	assert_int_equal(waivers(), 0);
	/* what was typed is still there, and goes through when the other one has left */
	store_lock_drop(&lock);
	assert_string_equal(f.state.field.text, "a spare lies at the store");
	board_press(&f, KEYS_ENTER);
	assert_shows(&f, "waiver saved");
	assert_int_equal(waivers(), 1);
}

/* Somebody else's change between looking and signing is kept, and a condition that
 * was waived meanwhile is not waived twice. */
static void the_file_as_it_stands_is_signed(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault;
	to_waivers();
	board_press(&f, KEYS_ENTER);
	board_type(&f, "lead 1");
	board_press(&f, KEYS_ENTER);
	board_type(&f, "a spare lies at the store");
	struct pm_waiver other = {
		.phase.text = f.state.picked.phase, .gate.text = f.state.picked.closing ? "close" : "open",
		.condition.text = f.state.picked.condition, .by.text = "lead 2", .reason.text = "seen on the way",
		.at.text = "2026-10-08T07:59:00Z", .when = pm_when_utc(BOARD_START - 60),
	};
	assert_true(store_job_load(SITE_FILE, &job, &fault));
	assert_true(store_job_add_waiver(&job, &other, &fault) && store_job_save(&job, &fault));
	store_job_free(&job);
	board_press(&f, KEYS_ENTER);
	assert_shows(&f, "has been met meanwhile");
	assert_int_equal(waivers(), 1);
}

/* Another site's file in its place is not signed for this one. */
static void another_site_is_not_signed(void **state)
{
	(void)state;
	struct store_job job;
	struct pm_fault fault;
	to_waivers();
	board_press(&f, KEYS_ENTER);
	board_type(&f, "lead 1");
	board_press(&f, KEYS_ENTER);
	board_type(&f, "a spare lies at the store");
	assert_true(store_job_load(SITE_FILE, &job, &fault));
	assert_true(store_job_set(&job, "site.code", "TB-99", &fault) && store_job_save(&job, &fault));
	store_job_free(&job);
	board_press(&f, KEYS_ENTER);
	assert_shows(&f, "another site's");
	assert_int_equal(waivers(), 0);
}

/* The list below it changes while a reason is typed: it is still the condition that
 * was picked. */
static void what_was_picked_stays_picked(void **state)
{
	(void)state;
	to_waivers();
	board_press(&f, KEYS_ENTER);
	struct board_picked picked = f.state.picked;
	board_type(&f, "lead 1");
	board_press(&f, KEYS_ENTER);
	board_type(&f, "a spare ");
	f.state.need = 1;
	board_again(&f, 60);
	assert_true(f.state.typing);
	board_type(&f, "lies there");
	board_press(&f, KEYS_ENTER);
	struct store_job job;
	struct pm_fault fault;
	assert_true(store_job_load(SITE_FILE, &job, &fault));
	assert_int_equal(job.job.waiver_count, 1);
	assert_string_equal(job.job.waivers[0].condition.text, picked.condition);
	assert_string_equal(job.job.waivers[0].phase.text, picked.phase);
	assert_string_equal(job.job.waivers[0].reason.text, "a spare lies there");
	store_job_free(&job);
}

/* --- anything at all ------------------------------------------------------------------------ */

static uint32_t next_random(uint32_t *random)
{
	*random = *random * 1664525u + 1013904223u;
	return *random >> 8;
}

/* No order of keys crashes, puts a control character on the screen, leaves the
 * cursor off it, or writes to a file: names and reasons are never both typed. */
static void random_keys(void **state)
{
	(void)state;
	static const enum screen_key keys[] = {
		KEYS_ENTER, KEYS_ENTER, KEYS_ENTER, KEYS_ESCAPE, KEYS_TAB, KEYS_BACK_TAB, KEYS_UP, KEYS_DOWN, KEYS_DOWN, KEYS_LEFT,
		KEYS_RIGHT, KEYS_HOME, KEYS_END, KEYS_PAGE_UP, KEYS_PAGE_DOWN, KEYS_ERASE, KEYS_DELETE,
	};
	static const char letters[] = "sb/fcw?jk nxyt1 ";
	static const int sizes[][2] = { { 24, 80 }, { 12, 40 }, { 43, 132 }, { 13, 41 }, { 5, 20 }, { 60, 250 } };
	struct bytes before[MOST_FILES];
	size_t count = take_all(before);
	uint32_t random = 20261008;
	bool seen[BOARD_SCREENS] = { false };
	for (int i = 0; i < 12000; i++) {
		uint32_t what = next_random(&random) % 100, which = next_random(&random);
		struct screen_event event = { .kind = EVENT_TICK };
		if (what < 45)
			event = (struct screen_event){ .kind = EVENT_KEY, .key = keys[which % (sizeof keys / sizeof *keys)] };
		else if (what < 90)
			event = (struct screen_event){ .kind = EVENT_CHARACTER,
				.point = (unsigned char)letters[which % (sizeof letters - 1)] };
		else if (what < 92)
			event = (struct screen_event){ .kind = EVENT_PASTE, .text = "q\ny\x1b[31m w", .length = 10 };
		else if (what < 94)
			event = (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_CTRL, .point = which % 2 ? 'g' : 'u' };
		else if (what < 95)
			event = (struct screen_event){ .kind = EVENT_INTERRUPT };
		/* a reason is never signed here: 'y' and text may leave, but not waive */
		if (f.state.typing && f.state.screen == BOARD_WAIVE && !f.state.naming && event.key == KEYS_ENTER)
			continue;
		if (what >= 95 && what < 97)
			board_size(&f, sizes[which % 6][0], sizes[which % 6][1]);
		else if (what >= 99 && which % 8 == 0)
			board_again(&f, 61);
		else
			board_send(&f, event);
		seen[f.state.screen] = true;
		f.left = false;
		assert_in_range(f.canvas.cursor_row, 0, f.canvas.rows - 1);
		assert_in_range(f.canvas.cursor_column, 0, f.canvas.columns - 1);
		for (int k = 0; k < f.canvas.rows * f.canvas.columns; k++)
			if (f.canvas.cell[k].point)   /* 0: the right half of a wide one */
				assert_in_range(f.canvas.cell[k].point, 0x20, 0x7E);
	}
	for (int i = 0; i < BOARD_SCREENS; i++)
		assert_true(seen[i]);
	only_changed(before, count, NULL);
	let_go(before, count);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(a_waiver_is_one_line_and_nothing_else), CASE(comments_stay), CASE(a_name_and_a_reason_are_needed),
		CASE(what_may_never_be_waived_is_not_offered), CASE(a_job_locked_elsewhere_says_who),
		CASE(the_file_as_it_stands_is_signed), CASE(another_site_is_not_signed), CASE(what_was_picked_stays_picked), CASE(random_keys),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
