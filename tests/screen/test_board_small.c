/* In a window too small to show anything no key does anything unseen. */
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

static const struct { int rows, columns; } tiny[] = { { 11, 80 }, { 24, 39 }, { 10, 40 }, { 1, 1 } };

static void all_keys(void)
{
	for (int key = KEYS_ENTER; key < KEYS_CTRL; key++)
		board_press(&f, (enum screen_key)key);
	for (char c = ' '; c <= '~'; c++) {
		board_send(&f, (struct screen_event){ .kind = EVENT_CHARACTER, .point = (uint32_t)c });
		board_press(&f, KEYS_ENTER);
	}
	board_send(&f, (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_CTRL, .point = 'g' });
}

static void no_key_acts_unseen(void **state)
{
	(void)state;
	static const char *const ways[] = { "", "f", "c", "?", "w" };
	for (size_t way = 0; way < sizeof ways / sizeof *ways; way++)
		for (size_t i = 0; i < sizeof tiny / sizeof *tiny; i++) {
			board_size(&f, 24, 80);
			board_press(&f, KEYS_ESCAPE);
			board_press(&f, KEYS_ESCAPE);
			f.state.screen = BOARD_FLEET;
			board_type(&f, ways[way]);
			enum board_screen screen = f.state.screen;
			size_t row = f.state.row;
			board_size(&f, tiny[i].rows, tiny[i].columns);
			all_keys();
			assert_int_equal(f.state.screen, screen);
			assert_int_equal(f.state.row, row);
			assert_false(f.left);
		}
}

static void a_small_window_can_be_left(void **state)
{
	(void)state;
	board_size(&f, 10, 40);
	assert_shows(&f, "Ctrl-C asks whether to leave");
	board_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	assert_shows(&f, "y leaves, n stays");
	board_type(&f, "n");
	assert_int_equal(f.state.screen, BOARD_FLEET);
	board_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	board_type(&f, "y");
	assert_true(f.left);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = { CASE(no_key_acts_unseen), CASE(a_small_window_can_be_left) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
