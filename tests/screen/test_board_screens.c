/* What the board's screens look like. */
#include "board_fixture.h"
#include "pictures.h"

static struct board_fixture f;

static void expect(const char *name)
{
	board_draw(&f.state, &f.model, &f.canvas);
	picture_add(&f.canvas, name);
}

/* The same state at all sizes that matter; ends at 80x24. */
static void expect_sizes(const char *name)
{
	static const struct { int rows, columns; bool ascii; } sizes[] = {
		{ 43, 132, true }, { 12, 40, true }, { 24, 80, false }, { 24, 80, true },
	};
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
		f.canvas.ascii = sizes[i].ascii;
		board_size(&f, sizes[i].rows, sizes[i].columns);
		expect(name);
	}
}

/* The expected pictures are in the project's folder. */
static void settle_at_home(const char *name)
{
	assert_int_equal(chdir(f.home), 0);
	settle(name);
}

static int set_up(void **state)
{
	(void)state;
	board_start(&f);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	picture_forget();
	board_stop(&f);
	return 0;
}

static void fleet(void **state)
{
	(void)state;
	expect_sizes("fleet");
	assert_true(board_model_foresee(&f.model, true));
	expect_sizes("fleet-with-chance");
	board_type(&f, "ss");
	board_press(&f, KEYS_DOWN);
	expect_sizes("fleet-by-worst");
	board_press(&f, KEYS_END);
	expect_sizes("fleet-end");
	board_type(&f, "/weir");
	expect_sizes("fleet-filter-typing");
	board_press(&f, KEYS_ENTER);
	expect("fleet-filtered");
	board_type(&f, "/x");
	expect("fleet-nothing-like-that");
	board_press(&f, KEYS_ESCAPE);
	board_type(&f, "b");
	expect("fleet-blocked-by-technician");
	board_press(&f, KEYS_ESCAPE);
	board_to(&f, "tb-19.yaml");
	expect_sizes("fleet-unread");
	board_size(&f, 50, 200);
	expect("fleet-very-wide");
	settle_at_home("board-fleet");
}

static void site(void **state)
{
	(void)state;
	board_to(&f, "TB-16");
	board_press(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, BOARD_SITE);
	expect_sizes("site");
	board_press(&f, KEYS_PAGE_DOWN);
	expect_sizes("site-lower");
	board_press(&f, KEYS_END);
	expect("site-end");
	board_press(&f, KEYS_ESCAPE);
	board_press(&f, KEYS_END);
	board_press(&f, KEYS_ENTER);
	board_size(&f, 60, 100);
	expect("site-with-hostile-words");
	settle_at_home("board-site");
}

static void findings(void **state)
{
	(void)state;
	board_type(&f, "f");
	expect_sizes("findings");
	board_press(&f, KEYS_DOWN);
	expect("findings-second");
	settle_at_home("board-findings");
}

static void forecast(void **state)
{
	(void)state;
	board_type(&f, "c");
	expect_sizes("forecast");
	board_press(&f, KEYS_END);
	expect_sizes("forecast-end");
	settle_at_home("board-forecast");
}

static void waive(void **state)
{
	(void)state;
	board_to(&f, "TB-12");
	board_press(&f, KEYS_ENTER);
	board_type(&f, "w");
	expect_sizes("waive");
	board_press(&f, KEYS_ENTER);
	expect_sizes("waive-name");
	board_type(&f, "lead 1");
	board_press(&f, KEYS_ENTER);
	board_type(&f, "short");
	board_press(&f, KEYS_ENTER);
	expect_sizes("waive-reason-too-short");
	board_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	expect_sizes("leave-with-text");
	settle_at_home("board-waive");
}

static void help(void **state)
{
	(void)state;
	board_type(&f, "?");
	expect_sizes("help");
	board_press(&f, KEYS_PAGE_DOWN);
	expect_sizes("help-lower");
	board_press(&f, KEYS_ESCAPE);
	board_type(&f, "/");
	board_send(&f, (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 'g' });
	expect("help-filter");
	board_press(&f, KEYS_ESCAPE);
	board_press(&f, KEYS_ESCAPE);
	board_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	expect_sizes("leave");
	settle_at_home("board-help");
}

static void reading(void **state)
{
	(void)state;
	board_close(&f);
	board_open(&f, NULL);
	board_size(&f, 24, 80);
	expect("nothing-yet");
	f.model.total = 400;
	f.model.waited = 499;
	expect("before-half-a-second");
	f.model.waited = 500;
	expect_sizes("progress");
	board_type(&f, "f");
	expect("findings-not-yet");
	board_press(&f, KEYS_ESCAPE);
	board_type(&f, "c");
	expect("forecast-not-yet");
	board_size(&f, 11, 39);
	expect("too-small");
	settle_at_home("board-reading");
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(fleet), CASE(site), CASE(findings), CASE(forecast), CASE(waive), CASE(help), CASE(reading),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
