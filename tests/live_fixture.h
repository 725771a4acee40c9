/* live_fixture.h - a practice site and, at the end of a line, the stand-in
 * console on a clock that only the test moves. */
#ifndef TESTS_LIVE_FIXTURE_H
#define TESTS_LIVE_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include "capture/standin.h"
#include "portmuster/text.h"
#include "scratch.h"
#include "walk/held.h"
#include "walk/live.h"

#define START 1789371300   /* 2026-09-14T07:35:00Z */
#define STEP_MS 20
#define MOST_MS 3600000

static char folder[256], job[320];
static struct session session;

/* The console at the other end of the line. */
static struct {
	struct standin *standin;
	int master;
	char name[64];
	struct termios before;
	int64_t now;
	char waiting[4096];    /* printed, and not taken by the line yet */
	size_t length, at;
	size_t heard, printed; /* bytes typed to it, and bytes that it sent */
} console;

static inline void copy(const char *name)
{
	char from[320], to[640];
	size_t length = 0;
	snprintf(from, sizeof from, "data/demo/%s", name);
	snprintf(to, sizeof to, "%s/%s", folder, name);
	char *bytes = scratch_read(from, &length);
	assert_non_null(bytes);
	assert_true(scratch_write(to, bytes, length));
	free(bytes);
}

static inline void open_session(void)
{
	struct pm_fault fault = { 0 };
	if (!session_open(&session, job, pm_when_utc(START), &fault))
		fail_msg("%s", fault.message);
	memcpy(session.by, "tech 1", 7);
}

static inline int set_up(void **state)
{
	(void)state;
	setenv("PORTMUSTER_DATA", "data", 1);
	setenv("PORTMUSTER_CACHE", "no", 1);
	setenv("XDG_DATA_HOME", "/nonexistent", 1);
	assert_true(scratch_make(folder, sizeof folder));
	snprintf(job, sizeof job, "%s/site.yaml", folder);
	copy("site.yaml");
	open_session();
	memset(&console, 0, sizeof console);
	console.master = -1;
	return 0;
}

static inline int tear_down(void **state)
{
	(void)state;
	standin_free(console.standin);
	if (console.master >= 0)
		close(console.master);
	session_close(&session);
	scratch_remove(folder);
	return 0;
}

/* At nine hundred characters a second, as a console types. */
static inline void console_begin(void)
{
	struct standin_options options = standin_defaults(&session.gear.gear, 7);
	struct pm_fault fault = { 0 };
	options.boot = 0;
	options.speed = 9600;
	options.serial = "EG12-26-00417";
	console.standin = standin_begin(&options, 0);
	assert_non_null(console.standin);
	console.master = standin_open(console.name, sizeof console.name, &fault);
	if (console.master < 0)
		fail_msg("%s", fault.message);
	assert_int_equal(tcgetattr(console.master, &console.before), 0);
}

/* The test's clock must not outrun the pseudo terminal: give a byte that is on
 * its way the time to come. */
static inline void allow(int fd, int milliseconds)
{
	struct pollfd watched = { .fd = fd, .events = POLLIN };
	poll(&watched, 1, milliseconds);
}

/* A moment passes at the console: what was typed, what it prints. */
static inline void console_turn(void)
{
	char typed[256];
	ssize_t got;
	console.now += STEP_MS;
	if (console.at == console.length && standin_wait(console.standin, console.now) != 0)
		allow(console.master, 1);
	while ((got = read(console.master, typed, sizeof typed)) > 0) {
		console.heard += (size_t)got;
		standin_feed(console.standin, typed, (size_t)got, console.now);
	}
	for (;;) {
		if (console.at == console.length) {
			console.at = 0;
			console.length = standin_take(console.standin, console.waiting, sizeof console.waiting, console.now);
			if (console.length == 0)
				return;
		}
		ssize_t took = write(console.master, console.waiting + console.at, console.length - console.at);
		if (took <= 0)
			return;
		console.at += (size_t)took;
		console.printed += (size_t)took;
	}
}

static inline struct live *must_open(const struct live_options *options)
{
	struct pm_fault fault = { 0 };
	struct live *live = live_open(&session, console.name, options, console.now, &fault);
	if (!live)
		fail_msg("%s", fault.message);
	return live;
}

static inline void must_serve(struct live *live)
{
	struct pm_fault fault = { 0 };
	size_t printed = console.printed;
	console_turn();
	if (console.printed > printed && live_fd(live) >= 0)
		allow(live_fd(live), 1000);
	assert_true(session_refresh(&session, pm_when_utc(START + console.now / 1000)));
	if (!live_service(live, console.now, &fault))
		fail_msg("%s", fault.message);
}

static inline void serve_to_the_end(struct live *live)
{
	while (!live_over(live)) {
		must_serve(live);
		assert_true(console.now < MOST_MS);
	}
}

/* Until the running pass has so many interfaces, after so many whole passes. */
static inline void serve_until(struct live *live, size_t passes, size_t readings)
{
	while (talk_passes(live_talk(live)) < passes || talk_running(live_talk(live))->count < readings) {
		must_serve(live);
		assert_true(console.now < MOST_MS && !live_over(live));
	}
}

static inline void assert_put_back(void)
{
	struct termios now;
	assert_int_equal(tcgetattr(console.master, &now), 0);
	assert_int_equal(now.c_cflag, console.before.c_cflag);
	assert_int_equal(now.c_iflag, console.before.c_iflag);
	assert_int_equal(cfgetospeed(&now), cfgetospeed(&console.before));
}

#endif
