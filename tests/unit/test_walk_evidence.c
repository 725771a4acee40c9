/* What is kept of a console log: never a secret, and never the same log twice. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "scratch.h"
#include "walk/session.h"

#define START 1789371300   /* 2026-09-14T07:35:00Z */

static char folder[256], job[320];
static struct session session;

static const char text[] =
	"login: tech\r\nPassword: hunter2\r\n"
	"eg-12> show all\r\nwifi-psk correct-horse\r\nsnmp community level read\r\n"
	"eg-12> roll\r\n"
	"mgmt   no cable\r\n    address    00:00:5e:00:53:10\r\n"
	"port1  no cable\r\n    address    00:00:5e:00:53:11\r\n    key port1 00:00:5e:00:53:11\r\n"
	"eg-12> badge\r\n    unit number   EG12-26-00417\r\n";

static int set_up(void **state)
{
	size_t length = 0;
	struct pm_fault fault = { 0 };
	(void)state;
	setenv("PORTMUSTER_DATA", "data", 1);
	setenv("PORTMUSTER_CACHE", "no", 1);
	setenv("XDG_DATA_HOME", "/nonexistent", 1);
	assert_true(scratch_make(folder, sizeof folder));
	snprintf(job, sizeof job, "%s/site.yaml", folder);
	char *bytes = scratch_read("data/demo/site.yaml", &length);
	assert_non_null(bytes);
	assert_true(scratch_write(job, bytes, length));
	free(bytes);
	if (!session_open(&session, job, pm_when_utc(START), &fault))
		fail_msg("%s", fault.message);
	memcpy(session.by, "tech 1", 7);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	session_close(&session);
	scratch_remove(folder);
	return 0;
}

static size_t take_paste(const char *bytes, size_t length)
{
	struct pm_fault fault = { 0 };
	size_t taken = 0;
	assert_true(session_read_paste(&session, bytes, length, &fault));
	if (!session_take_log(&session, &taken, &fault))
		fail_msg("%s", fault.message);
	return taken;
}

static void evidence_path(char out[static 512])
{
	const struct pm_job *j = &session.job.job;
	snprintf(out, 512, "%s/evidence/%s.log", folder, j->readings[j->reading_count - 1].capture.text);
}

static void secrets_are_not_kept(void **state)
{
	(void)state;
	static const char *const secrets[] = { "hunter2", "correct-horse", "level" };
	char path[512], digest[65];
	size_t length = 0;
	assert_int_equal(take_paste(text, sizeof text - 1), 2);
	assert_int_equal(session.job.job.reading_count, 3);   /* two addresses and the serial number */
	evidence_path(path);
	char *kept = scratch_read(path, &length);
	assert_non_null(kept);
	for (size_t i = 0; i < sizeof secrets / sizeof *secrets; i++)
		assert_null(strstr(kept, secrets[i]));
	assert_non_null(strstr(kept, "Password: [redacted]\r\n"));
	assert_non_null(strstr(kept, "key port1 00:00:5e:00:53:11"));
	/* the capture's name is the digest of what is kept */
	pm_sha256_hex(kept, length, digest);
	assert_string_equal(digest, session.job.job.readings[0].capture.text);
	free(kept);
	/* nor in the job, nor among its neighbours */
	char *whole = scratch_read(job, NULL);
	assert_non_null(whole);
	for (size_t i = 0; i < sizeof secrets / sizeof *secrets; i++)
		assert_null(strstr(whole, secrets[i]));
	free(whole);
}

static void must_be_known(const char *bytes, size_t length)
{
	struct pm_fault fault = { 0 };
	size_t taken;
	assert_true(session_read_paste(&session, bytes, length, &fault));
	assert_true(session.log->seen_before);
	assert_int_equal(session.log->secrets > 0, strstr(bytes, "hunter2") != NULL);
	assert_false(session_take_log(&session, &taken, &fault));
	assert_non_null(strstr(fault.message, "counts once"));
	session_drop_log(&session);
}

static void the_same_log_is_known_again(void **state)
{
	(void)state;
	char path[512];
	struct pm_fault fault = { 0 };
	take_paste(text, sizeof text - 1);
	must_be_known(text, sizeof text - 1);
	/* its own evidence is the same capture, too */
	evidence_path(path);
	size_t length = 0;
	char *kept = scratch_read(path, &length);
	assert_non_null(kept);
	must_be_known(kept, length);
	free(kept);
	assert_true(session_read_log(&session, path, &fault));
	assert_true(session.log->seen_before);
	session_drop_log(&session);
	assert_int_equal(session.job.job.reading_count, 3);
	assert_int_equal(session.result.roster.confirmed, 0);
}

/* A log that differs is another one; a log that has no secret stays byte for byte. */
static void another_log_counts(void **state)
{
	(void)state;
	char path[512];
	size_t length = 0;
	static const char other[] = "eg-12> roll\r\nmgmt   no cable\r\n    address    00:00:5e:00:53:10\r\n";
	take_paste(text, sizeof text - 1);
	assert_int_equal(take_paste(other, sizeof other - 1), 1);
	assert_int_equal(session.result.roster.confirmed, 1);
	evidence_path(path);
	char *kept = scratch_read(path, &length);
	assert_non_null(kept);
	assert_int_equal(length, sizeof other - 1);
	assert_memory_equal(kept, other, length);
	free(kept);
}

static void bytes_taken_at_once(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	struct session_taken taken;
	static const char stranger[] = "port77  no cable\n    address  00:00:5e:00:53:77\n";
	static const char later[] = "mgmt  up\n    address  00:00:5e:00:53:10\n";
	char path[300];
	assert_true(session_take_bytes(&session, text, sizeof text - 1, &taken, &fault));
	assert_int_equal(taken.ports, 2);
	assert_int_equal(taken.readings, 3);
	assert_int_equal(taken.secrets, 3);
	assert_int_equal(taken.differing, 0);
	assert_false(session_take_bytes(&session, text, sizeof text - 1, &taken, &fault));
	assert_int_equal(taken.readings, 0);
	/* nothing to record: nothing is kept */
	assert_true(session_take_bytes(&session, stranger, sizeof stranger - 1, &taken, &fault));
	assert_int_equal(taken.strangers, 1);
	assert_int_equal(taken.readings, 0);
	assert_true(session_take_bytes(&session, "", 0, &taken, &fault));
	snprintf(path, sizeof path, "%s/evidence", folder);
	assert_int_equal(scratch_count(path), 1);
	assert_int_equal(session.job.job.reading_count, 3);
	/* a pending log is left alone */
	assert_true(session_read_paste(&session, stranger, sizeof stranger - 1, &fault));
	assert_true(session_take_bytes(&session, later, sizeof later - 1, &taken, &fault));
	assert_non_null(session.log);
	assert_int_equal(taken.ports, 1);
}

/* --- serial numbers -------------------------------------------------------------- */

#define PORT "eg-12> roll\r\nmgmt   no cable\r\n    address    00:00:5e:00:53:10\r\neg-12> badge\r\n"
#define NUMBER(serial) "    unit number   " serial "\r\n"

static void label_says(const char *serial)
{
	struct pm_fault fault = { 0 };
	struct session_entry entry = { .source = PM_SOURCE_LABEL };
	snprintf(entry.of, sizeof entry.of, "router/serial");
	snprintf(entry.value, sizeof entry.value, "%s", serial);
	assert_true(session_record(&session, &entry, &fault));
}

/* What console text with several serial numbers comes to, against what the label says. */
static void several_serial_numbers(void **state)
{
	static const struct {
		const char *label, *console;
		size_t readings, differing, serials;
		enum pm_standing standing;
	} cases[] = {
		/* neither is the label's: the console contradicts it, whichever is the router's */
		{ "EG12-26-00417", PORT NUMBER("EG12-26-00471") NUMBER("EG12-26-00481"), 2, 1, 0, PM_CONFLICT },
		/* one is: two routers' logs may have been joined, so it confirms nothing */
		{ "EG12-26-00417", PORT NUMBER("EG12-26-00417") NUMBER("EG12-26-00481"), 1, 0, 2, PM_HELD },
		{ NULL, PORT NUMBER("EG12-26-00417") NUMBER("EG12-26-00481"), 1, 0, 2, PM_OPEN },
		/* only one has the form of this gear's: the other is a part's */
		{ "EG12-26-00417", PORT NUMBER("EG12-26-00417") NUMBER("PSU-88121"), 2, 0, 0, PM_CONFIRMED },
		{ "EG12-26-00417", PORT NUMBER("EG12-26-00471"), 2, 1, 0, PM_CONFLICT },
		{ "EG12-26-00417", PORT NUMBER("EG12-26-00417") NUMBER("EG12-26-00417"), 2, 0, 0, PM_CONFIRMED },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct pm_fault fault = { 0 };
		struct session_taken taken;
		if (i) {
			tear_down(state);
			set_up(state);
		}
		if (cases[i].label)
			label_says(cases[i].label);
		assert_true(session_take_bytes(&session, cases[i].console, strlen(cases[i].console), &taken, &fault));
		assert_int_equal(taken.readings, cases[i].readings);
		assert_int_equal(taken.differing, cases[i].differing);
		assert_int_equal(taken.serials, cases[i].serials);
		struct pm_fact fact = pm_fact_find(&session.job.job, "router/serial", PM_AS_TEXT);
		assert_int_equal(fact.standing, cases[i].standing);
	}
}

/* --- another site's file in the place of this one's --------------------------------- */

static void put_site(const char *code)
{
	size_t length = 0;
	char *bytes = scratch_read("data/demo/site.yaml", &length), *at = strstr(bytes, "code: \"TB-00\"");
	assert_non_null(at);
	memcpy(at + 7, code, 5);
	assert_true(scratch_write(job, bytes, length));
	free(bytes);
}

static void another_site_takes_nothing_of_this_one(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	struct session_taken taken;
	put_site("TB-99");
	assert_false(session_take_bytes(&session, text, sizeof text - 1, &taken, &fault));
	assert_int_equal(fault.kind, PM_FAULT_CHANGED);
	assert_false(session_reload(&session, &fault));
	assert_non_null(strstr(fault.message, "another site's"));
	assert_string_equal(session.job.job.code.text, "TB-00");
	assert_int_equal(session.job.job.reading_count, 0);
	char *there = scratch_read(job, NULL);
	assert_null(strstr(there, "00-00-5E-00-53-10"));
	free(there);
	/* the right file is taken up again */
	put_site("TB-00");
	assert_true(session_reload(&session, &fault));
	assert_true(session_take_bytes(&session, text, sizeof text - 1, &taken, &fault));
	assert_int_equal(taken.readings, 3);
}

int main(void)
{
#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
	const struct CMUnitTest tests[] = {
		CASE(secrets_are_not_kept), CASE(the_same_log_is_known_again), CASE(another_log_counts),
		CASE(bytes_taken_at_once), CASE(several_serial_numbers), CASE(another_site_takes_nothing_of_this_one),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
