/* A console read live into a job: the stand-in plays on a pseudo terminal, and
 * both ends run on one clock that only the test moves. */
#include "live_fixture.h"

/* The evidence of a capture, checked against its name and the job's readings. */
static char *evidence_of(const char *sha256)
{
	char path[512], digest[65];
	size_t length = 0;
	snprintf(path, sizeof path, "%s/evidence/%s.log", folder, sha256);
	char *bytes = scratch_read(path, &length);
	assert_non_null(bytes);
	pm_sha256_hex(bytes, length, digest);
	assert_string_equal(digest, sha256);
	return bytes;
}

/* Every console reading stands in its capture's evidence, in the line it names. */
static size_t check_readings(const char *head)
{
	const struct pm_job *j = &session.job.job;
	size_t count = 0;
	for (size_t i = 0; i < j->reading_count; i++) {
		const struct pm_reading *reading = &j->readings[i];
		char digits[40] = "", wanted[160];
		if (reading->source != PM_SOURCE_CONSOLE)
			continue;
		count++;
		char *bytes = evidence_of(reading->capture.text), *line = bytes;
		assert_int_equal(strncmp(bytes, head, strlen(head)), 0);
		assert_int_equal(strncmp(reading->note.text, "line ", 5), 0);
		for (long n = strtol(reading->note.text + 5, NULL, 10); n > 1; n--) {
			line = strchr(line, '\n');
			assert_non_null(line);
			line++;
		}
		line[strcspn(line, "\n")] = '\0';
		struct pm_eui48 address;
		if (pm_eui48_parse(reading->value.text, &address)) {
			/* however it is written there: by its last octet */
			snprintf(digits, sizeof digits, "%02x", address.octet[5]);
			snprintf(wanted, sizeof wanted, "%02X", address.octet[5]);
			assert_true(strstr(line, digits) || strstr(line, wanted));
		} else {
			assert_non_null(strstr(line, reading->value.text));
		}
		free(bytes);
	}
	return count;
}

static void two_passes_confirm_every_interface(void **state)
{
	(void)state;
	console_begin();
	struct live *live = must_open(&(struct live_options){ 0 });
	assert_true(live_fd(live) >= 0);
	serve_to_the_end(live);
	assert_int_equal(talk_stage(live_talk(live)), TALK_DONE);
	assert_int_equal(session.result.roster.confirmed, 13);
	assert_int_equal(live_sum(live)->complete, 2);
	assert_int_equal(live_sum(live)->cut, 0);
	assert_int_equal(live_sum(live)->ports, 26);
	assert_int_equal(live_sum(live)->differing, 0);
	assert_int_equal(check_readings("# portmuster capture 2026-09-14T07:"), live_sum(live)->readings);
	/* the line is free again, as it was, before it is closed */
	assert_int_equal(live_fd(live), -1);
	assert_put_back();
	for (size_t i = 0; i < session.result.roster.count; i++) {
		struct pm_eui48 real = standin_address(console.standin, i);
		assert_int_equal(pm_eui48_compare(&session.result.roster.call[i].address, &real), 0);
	}
	live_close(live);
	char path[300];
	snprintf(path, sizeof path, "%s/evidence", folder);
	assert_int_equal(scratch_count(path), 2);
	/* all of it is on disk */
	session_close(&session);
	open_session();
	assert_int_equal(session.result.roster.confirmed, 13);
	const struct pm_reading *last = &session.job.job.readings[session.job.job.reading_count - 1];
	char *bytes = evidence_of(last->capture.text), head[160];
	snprintf(head, sizeof head, " pass 2 %s 9600 8N1\n", console.name);
	assert_non_null(strstr(bytes, head));
	free(bytes);
}

/* The same bytes, read as a log, count for themselves: the first line tells them apart. */
static void a_capture_tells_where_it_came_from(void **state)
{
	(void)state;
	console_begin();
	struct live *live = must_open(&(struct live_options){ .passes = 1 });
	serve_to_the_end(live);
	live_close(live);
	assert_int_equal(session.result.roster.held, 13);
	assert_int_equal(session.result.roster.confirmed, 0);
	struct pm_fault fault = { 0 };
	char path[512];
	snprintf(path, sizeof path, "%s/evidence/%s.log", folder, session.job.job.readings[session.job.job.reading_count - 1].capture.text);
	assert_true(session_read_log(&session, path, &fault));
	assert_true(session.log->seen_before);
	size_t taken;
	assert_false(session_take_log(&session, &taken, &fault));
	assert_non_null(strstr(fault.message, "counts once"));
}

static void a_lost_line_loses_nothing_read(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	console_begin();
	struct live *live = must_open(&(struct live_options){ 0 });
	serve_until(live, 0, 5);
	close(console.master);
	console.master = -1;
	assert_false(live_service(live, console.now, &fault));
	assert_non_null(strstr(fault.message, "the line is gone"));
	assert_non_null(strstr(fault.remedy, "nothing is lost"));
	assert_true(live_over(live));
	assert_int_equal(live_fd(live), -1);
	assert_non_null(strstr(live_saying(live), "the line is gone"));
	assert_int_equal(live_sum(live)->cut, 1);
	assert_true(live_sum(live)->ports >= 5);
	size_t ports = live_sum(live)->ports;
	live_close(live);
	session_close(&session);
	open_session();
	assert_int_equal(session.result.roster.held, ports);
	assert_int_equal(check_readings("# portmuster capture 2026-09-14T07:"), session.job.job.reading_count);
	char *bytes = evidence_of(session.job.job.readings[0].capture.text);
	assert_non_null(strstr(bytes, " pass 1 cut short "));
	assert_int_equal(bytes[strlen(bytes) - 1], '\n');
	free(bytes);
}

static void leaving_in_the_second_pass_keeps_both(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	console_begin();
	struct live *live = must_open(&(struct live_options){ 0 });
	serve_until(live, 1, 4);
	assert_int_equal(live_sum(live)->complete, 1);   /* recorded before the second began */
	assert_int_equal(session.result.roster.held, 13);
	assert_true(live_cut(live, &fault));
	assert_true(live_over(live));
	assert_put_back();
	assert_int_equal(live_sum(live)->cut, 1);
	assert_true(session.result.roster.confirmed >= 4);
	assert_true(session.result.roster.confirmed < 13);
	/* again does nothing */
	size_t readings = session.job.job.reading_count;
	assert_true(live_cut(live, &fault));
	assert_int_equal(session.job.job.reading_count, readings);
	live_close(live);
}

static void nothing_read_leaves_nothing(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	console_begin();
	struct live *live = must_open(&(struct live_options){ 0 });
	must_serve(live);
	assert_true(live_cut(live, &fault));
	assert_int_equal(live_sum(live)->readings, 0);
	assert_int_equal(live_sum(live)->cut, 0);
	live_close(live);
	live_close(NULL);
	char path[300];
	snprintf(path, sizeof path, "%s/evidence", folder);
	assert_int_equal(scratch_count(path), -1);
	assert_int_equal(session.job.job.reading_count, 0);
}

/* The job file changes under it: the pass waits, and goes into the new one once. */
static void what_could_not_be_saved_is_tried_again(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	console_begin();
	struct live *live = must_open(&(struct live_options){ .passes = 1 });
	serve_until(live, 0, 3);
	FILE *file = fopen(job, "a");
	assert_non_null(file);
	fputs("# a word of the lead\n", file);
	fclose(file);
	bool good = true;
	while (good && !live_over(live)) {
		console_turn();
		good = live_service(live, console.now, &fault);
	}
	assert_false(good);
	assert_int_equal(fault.kind, PM_FAULT_CHANGED);
	assert_false(live_over(live));
	assert_int_equal(session.job.job.reading_count, 0);
	int wait = live_wait(live, console.now);
	assert_true(wait > 0 && wait <= 1000);
	/* not at every turn */
	console.now += 1;
	assert_true(live_service(live, console.now, &fault));
	assert_true(session_reload(&session, &fault));
	console.now += wait;
	assert_true(live_service(live, console.now, &fault));
	assert_true(live_over(live));
	assert_int_equal(session.result.roster.held, 13);
	live_close(live);
	char path[300];
	snprintf(path, sizeof path, "%s/evidence", folder);
	assert_int_equal(scratch_count(path), 1);
	char *text = scratch_read(job, NULL);
	assert_non_null(text);
	assert_non_null(strstr(text, "# a word of the lead\n"));
	free(text);
}

static void watching_sends_nothing(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	console_begin();
	struct live *live = must_open(&(struct live_options){ .watch = true, .passes = 1 });
	for (int i = 0; i < 200; i++)
		must_serve(live);
	assert_int_equal(console.heard, 0);
	assert_false(live_over(live));
	/* somebody else types */
	standin_feed(console.standin, "\r", 1, console.now);
	standin_feed(console.standin, "roll\r", 5, console.now);
	for (int i = 0; i < 3000 && talk_running(live_talk(live))->count < 6; i++) {
		must_serve(live);
		if (i % 100 == 99)
			standin_feed(console.standin, " ", 1, console.now);
	}
	assert_int_equal(console.heard, 0);
	assert_true(live_cut(live, &fault));
	assert_true(session.result.roster.held >= 6);
	live_close(live);
}

static void the_pane_shows_the_console(void **state)
{
	(void)state;
	bool found = false;
	console_begin();
	struct live *live = must_open(&(struct live_options){ .passes = 1 });
	assert_null(live_line(live, 0));
	serve_to_the_end(live);
	assert_true(live_lines(live) > 13 && live_lines(live) <= LIVE_LINES);
	assert_null(live_line(live, live_lines(live)));
	for (size_t i = 0; i < live_lines(live); i++) {
		const char *line = live_line(live, i);
		found = found || strstr(line, "port12");
		for (; *line; line++)
			assert_true((unsigned char)*line >= 0x20);
	}
	assert_true(found);
	live_close(live);
}

/* More lines than are kept: the latest stay, secrets are out. */
static void the_pane_keeps_the_latest(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	char line[80];
	console_begin();
	struct live *live = must_open(&(struct live_options){ .watch = true });
	for (int i = 0; i < LIVE_LINES + 100; i++) {
		snprintf(line, sizeof line, "line %d password hunter%d\r\n", i, i);
		assert_int_equal(write(console.master, line, strlen(line)), strlen(line));
		allow(live_fd(live), 1000);
		assert_true(live_service(live, console.now, &fault));
	}
	/* the last one may wait for what comes after it */
	assert_int_equal(write(console.master, "\r\n\r\n", 4), 4);
	allow(live_fd(live), 1000);
	assert_true(live_service(live, console.now, &fault));
	assert_int_equal(live_lines(live), LIVE_LINES);
	for (size_t i = 0; i < live_lines(live); i++)
		assert_null(strstr(live_line(live, i), "hunter"));
	snprintf(line, sizeof line, "line %d password [redacted]", LIVE_LINES + 99);
	bool found = false;
	for (size_t i = LIVE_LINES - 5; i < LIVE_LINES; i++)
		found = found || strcmp(live_line(live, i), line) == 0;
	assert_true(found);
	live_close(live);
}

static void what_cannot_be_opened(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	struct live_options options = { 0 };
	assert_null(live_open(&session, "/nowhere/at/all", &options, 0, &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_null(live_open(&session, "/dev/null", &options, 0, &fault));
	assert_int_equal(fault.kind, PM_FAULT_VALUE);
	console_begin();
	struct live *live = must_open(&options);
	assert_null(live_open(&session, console.name, &options, 0, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LOCKED);
	live_close(live);
	assert_put_back();
}

/* The rule that the wizard's port map follows. */
static void a_shut_phase_holds(void **state)
{
	(void)state;
	char why[400];
	struct pm_text text;
	pm_text_fixed(&text, why, sizeof why);
	size_t muster = held_muster(&session);
	assert_string_equal(session.plan.plan.phases[muster].id.text, "muster");
	assert_true(held_from_mustering(&session, &text));
	if (!strstr(why, "this phase is shut: ") || !strstr(why, "(technician)"))
		fail_msg("%s", why);
	assert_true(held_from_mustering(&session, NULL));
	assert_false(held_phase(&session, 0, NULL));
	session.read_only = true;
	pm_text_fixed(&text, why, sizeof why);
	assert_true(held_phase(&session, 0, &text));
	assert_non_null(strstr(why, "read-only"));
	session.read_only = false;
}

int main(void)
{
#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
	const struct CMUnitTest tests[] = {
		CASE(two_passes_confirm_every_interface), CASE(a_capture_tells_where_it_came_from),
		CASE(a_lost_line_loses_nothing_read), CASE(leaving_in_the_second_pass_keeps_both),
		CASE(nothing_read_leaves_nothing), CASE(what_could_not_be_saved_is_tried_again),
		CASE(watching_sends_nothing), CASE(the_pane_shows_the_console), CASE(the_pane_keeps_the_latest),
		CASE(what_cannot_be_opened), CASE(a_shut_phase_holds),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
