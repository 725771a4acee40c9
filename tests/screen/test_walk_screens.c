/* What the port map, the lists and the questions look like. */
#include "walk_pictures.h"

/* --- the port map ------------------------------------------------------------------ */

static void put_log(const char *name, const char *text)
{
	char path[640];
	snprintf(path, sizeof path, "%s/%s", f.folder, name);
	assert_true(scratch_write(path, text, strlen(text)));
}

/* A job with a port in every state there is. */
static void every_port_state(void)
{
	static const char log[] =
		"eg-12> roll short\n"
		"interface  address\n"
		"mgmt       00-00-5E-00-53-10\n" "port1      00-00-5E-00-53-11\n" "port2      00-00-5E-00-53-12\n"
		"port3      00-00-5E-00-53-13\n" "port4      00-00-5E-00-53-84\n" "port5      00-00-5E-00-53-15\n"
		"port6      00-00-5E-00-53-16\n" "port7      00-00-5E-00-53-17\n" "port8      00-00-5E-00-53-18\n";
	struct session_entry odd[] = {
		{ .of = "port/port11", .value = "00-00-5E-00-53-1O", .source = PM_SOURCE_TYPED, .capture = "typed-1" },
		{ .of = "port/port12", .value = "", .source = PM_SOURCE_SKIPPED, .note = "covered by a plate" },
	};
	struct pm_fault fault;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	put_log("a.log", log);
	course_log(&f, "1");
	for (f.state.row = 1; f.state.row <= 2; f.state.row++) {
		walk_key(&f, KEYS_ENTER);
		walk_answer(&f, f.state.row == 1 ? "00-00-5E-00-53-11" : "00-00-5E-00-53-21");
		if (f.state.row == 2)
			walk_key(&f, KEYS_ENTER);   /* it breaks the numbering: taken at the second Enter */
	}
	for (size_t i = 0; i < sizeof odd / sizeof *odd; i++)
		assert_true(session_record(&f.session, &odd[i], &fault));
}

static void ports(void **state)
{
	(void)state;
	course_prepare(&f);
	course_fit(&f);
	course_to_ports(&f);
	expect_sizes("ports-open");
	walk_type(&f, "r");
	expect_sizes("ports-log-file");
	walk_answer(&f, "no-such.log");
	expect("ports-log-missing");
	settle("ports");
}

static void ports_states(void **state)
{
	(void)state;
	every_port_state();
	f.state.row = 2;
	f.state.message[0] = '\0';
	expect_sizes("ports-states");
	f.state.row = 4;
	expect("ports-states-breaks");
	f.state.row = 11;
	expect_sizes("ports-states-malformed");
	f.state.row = 6;
	walk_key(&f, KEYS_ENTER);
	walk_type(&f, "00005e0053");
	expect_sizes("ports-typing");
	walk_key(&f, KEYS_ENTER);
	expect("ports-typing-malformed");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "00005e005386");
	expect_sizes("ports-typing-breaks");
	walk_ctrl(&f, 'g');
	expect("help-ports-typing");
	walk_key(&f, KEYS_ESCAPE);
	walk_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	expect("leave-typing");
	walk_type(&f, "n");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "f");
	expect_sizes("findings");
	walk_key(&f, KEYS_DOWN);
	expect("findings-second");
	settle("ports-states");
}

static void log_preview(void **state)
{
	(void)state;
	every_port_state();
	put_log("b.log",
		"eg-12> badge\n    unit number   EG12-26-00417\n"
		"eg-12> roll short\n"
		"interface  address\n"
		"mgmt       00-00-5E-00-53-10\n" "port3      00-00-5E-00-53-31\n" "port6      00-00-5E-00-53-1G\n"
		"port9      00-00-5E-00-53-19\n" "port13     00-00-5E-00-53-1D\n");
	walk_type(&f, "r");
	walk_answer(&f, "2");
	expect_sizes("log-preview");
	walk_type(&f, "y");
	f.state.row = 3;
	expect("log-taken");
	walk_type(&f, "r");
	walk_answer(&f, "2");
	expect("log-seen-before");
	walk_type(&f, "y");
	expect("log-refused");
	walk_key(&f, KEYS_ESCAPE);
	walk_paste(&f, "nothing of use", 14);
	expect("log-empty");
	walk_type(&f, "y");
	expect("log-empty-refused");
	settle("log-preview");
}

/* --- lists and the screens around the work -------------------------------------------- */

static void lists(void **state)
{
	(void)state;
	walk_key(&f, KEYS_ESCAPE);
	expect_sizes("menu");
	walk_key(&f, KEYS_PAGE_DOWN);
	expect_sizes("menu-end");
	walk_type(&f, "h");
	expect_sizes("help-step");
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "r");
	expect_sizes("route");
	walk_key(&f, KEYS_PAGE_DOWN);
	walk_key(&f, KEYS_PAGE_DOWN);
	expect_sizes("route-lower");
	walk_type(&f, "?");
	expect("help-route");
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "m");
	walk_type(&f, "f");
	expect("findings-few");
	walk_type(&f, "w");
	expect("waive-none");
	settle("lists");
}

static void leaving(void **state)
{
	(void)state;
	walk_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	expect_sizes("leave");
	walk_type(&f, "n");
	walk_to(&f, "contact");
	walk_type(&f, "duty d");
	walk_send(&f, (struct screen_event){ .kind = EVENT_INTERRUPT });
	expect("leave-with-text");
	settle("leaving");
}

static void read_only(void **state)
{
	(void)state;
	f.session.read_only = true;
	snprintf(f.session.held_by, sizeof f.session.held_by, "held by tech 2 on laptop-7 since 2026-09-14T07:00:00Z (process 4711)");
	walk_type(&f, "a");
	walk_key(&f, KEYS_ENTER);
	expect_sizes("read-only-step");
	walk_begin(&f.state, &f.session, "tech 1");
	walk_size(&f, 24, 80);
	expect_sizes("read-only-hello");
	settle("read-only");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(ports), CASE(ports_states), CASE(log_preview), CASE(lists), CASE(leaving), CASE(read_only),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
