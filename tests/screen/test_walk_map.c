/* The port map: what it hides so that it cannot be copied, and what it says where
 * readings differ. */
#define CASE_BEGINS at_the_ports
#include "walk_case.h"

static int at_the_ports(void **state)
{
	at_first_step(state);
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	return 0;
}

static enum pm_standing standing(const char *of)
{
	return pm_fact_find(&f.session.job.job, of, PM_AS_ADDRESS).standing;
}

/* Type one address for the port in focus, and no more keys than that takes. */
static void type_address(const char *address)
{
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, address);
}

/* Of an address that was typed once nothing shows on the map that could be copied;
 * the list of all readings has it. */
static void a_reading_typed_once_is_hidden_on_the_map(void **state)
{
	(void)state;
	f.state.row = 2;
	type_address("00-00-5E-00-53-1A");
	assert_int_equal(standing("port/port2"), PM_HELD);
	assert_hides(&f, "53-1A");
	assert_hides(&f, "check character");
	assert_shows(&f, "- held");
	assert_shows(&f, "first   (hidden)  typed");
	f.state.row = 4;   /* nor when another one is looked at */
	walk_size(&f, 24, 80);
	assert_hides(&f, "53-1A");
	f.state.row = 2;
	walk_type(&f, "t");
	assert_shows(&f, "00-00-5E-00-53-1A");
	walk_key(&f, KEYS_ESCAPE);
	type_address("00-00-5E-00-53-1A");
	assert_int_equal(standing("port/port2"), PM_CONFIRMED);
	assert_shows(&f, "00-00-5E-00-53-1A");
	/* what the console said is nobody's to copy */
	walk_type(&f, "t");
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "misread");
	walk_key(&f, KEYS_ESCAPE);
	course_log(&f, "1");
	assert_int_equal(standing("port/port2"), PM_HELD);
	assert_shows(&f, "00-00-5E-00-53-12");
}

/* Two that differ are both doubtful, whichever came first; the captures that follow
 * are on the map and say which has more for it. */
static void neither_reading_is_right_by_its_place(void **state)
{
	static const char *const typed[][2] = {
		{ "00-00-5E-00-53-1A", "00-00-5E-00-53-12" }, { "00-00-5E-00-53-12", "00-00-5E-00-53-1A" },
	};
	(void)state;
	for (size_t i = 0; i < 2; i++) {
		f.state.row = 2 + i;
		type_address(typed[i][0]);
		type_address(typed[i][1]);
		assert_null(strstr(f.state.message, "belongs"));
		assert_non_null(strstr(f.state.message, "they differ in digit 12: "));
		assert_shows(&f, "2 readings ");
		assert_shows(&f, "nothing here tells which is right");
	}
	walk_type(&f, "f");
	assert_hides(&f, "belongs");
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ENTER);
	assert_int_equal(f.state.screen, WALK_PORTS);
	course_log(&f, "1");
	course_log(&f, "2");
	f.state.row = 2;
	walk_size(&f, 24, 80);
	assert_shows(&f, "4 readings");
	assert_shows(&f, "+2 more: \"00-00-5E-00-53-12\" console 2 times");
	assert_shows(&f, "3 separate readings against 1 say 00-00-5E-00-53-12");
	walk_size(&f, 12, 40);
	assert_shows(&f, "+2 more");
	walk_size(&f, 24, 80);
	walk_type(&f, "f");
	walk_size(&f, 43, 132);
	assert_shows(&f, "Look for 00-00-5E-00-53-12");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(a_reading_typed_once_is_hidden_on_the_map), CASE(neither_reading_is_right_by_its_place),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
