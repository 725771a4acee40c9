/* walk_fixture.h - the wizard on a practice site, without a terminal: events go
 * to the state machine, the canvas is looked at as text. */
#ifndef TESTS_WALK_FIXTURE_H
#define TESTS_WALK_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "scratch.h"
#include "walk/drive.h"
#include "walk/state.h"
#include "walk/step.h"

#define WALK_START 1789371300   /* 2026-09-14T07:35:00Z */

struct walk_fixture {
	char folder[256], job[320];
	struct session session;
	struct walk_state state;
	struct canvas canvas;
	int64_t now;
	bool left;
};

static inline void walk_copy(const struct walk_fixture *f, const char *name)
{
	char from[320], to[640];
	size_t length = 0;
	snprintf(from, sizeof from, "data/demo/%s", name);
	snprintf(to, sizeof to, "%s/%s", f->folder, name);
	char *bytes = scratch_read(from, &length);
	assert_non_null(bytes);
	assert_true(scratch_write(to, bytes, length));
	free(bytes);
}

static inline void walk_open(struct walk_fixture *f)
{
	struct pm_fault fault = { 0 };
	if (!session_open(&f->session, f->job, pm_when_utc(f->now), &fault))
		fail_msg("%s", fault.message);
	walk_begin(&f->state, &f->session, "tech 1");
	f->left = false;
}

static inline void walk_send(struct walk_fixture *f, struct screen_event event)
{
	event.now = f->now;
	assert_true(session_refresh(&f->session, pm_when_utc(f->now)));
	walk_event(&f->state, &f->session, &event);
	f->left = drive_carry_out(&f->state, &f->session);
	/* what a paste lent is gone after its event */
	f->state.paste = NULL;
	walk_draw(&f->state, &f->session, &f->canvas);
}

static inline void walk_size(struct walk_fixture *f, int rows, int columns)
{
	assert_true(canvas_resize(&f->canvas, rows, columns));
	walk_send(f, (struct screen_event){ .kind = EVENT_RESIZE, .rows = rows, .columns = columns });
}

static inline void walk_start(struct walk_fixture *f)
{
	memset(f, 0, sizeof *f);
	setenv("PORTMUSTER_DATA", "data", 1);
	setenv("PORTMUSTER_CACHE", "no", 1);
	setenv("XDG_DATA_HOME", "/nonexistent", 1);
	assert_true(scratch_make(f->folder, sizeof f->folder));
	snprintf(f->job, sizeof f->job, "%s/site.yaml", f->folder);
	walk_copy(f, "site.yaml");
	walk_copy(f, "first-listing.log");
	walk_copy(f, "second-listing.log");
	f->now = WALK_START;
	assert_true(canvas_init(&f->canvas, 24, 80, true));
	walk_open(f);
	walk_size(f, 24, 80);
}

static inline void walk_end(struct walk_fixture *f)
{
	session_close(&f->session);
	canvas_free(&f->canvas);
	scratch_remove(f->folder);
}

static inline void walk_key(struct walk_fixture *f, enum screen_key key)
{
	walk_send(f, (struct screen_event){ .kind = EVENT_KEY, .key = key });
}

static inline void walk_type(struct walk_fixture *f, const char *text)
{
	for (; *text; text++)
		walk_send(f, (struct screen_event){ .kind = EVENT_CHARACTER, .point = (unsigned char)*text });
}

static inline void walk_paste(struct walk_fixture *f, const char *text, size_t length)
{
	walk_send(f, (struct screen_event){ .kind = EVENT_PASTE, .text = text, .length = length });
}

static inline void walk_ctrl(struct walk_fixture *f, char letter)
{
	walk_send(f, (struct screen_event){ .kind = EVENT_KEY, .key = KEYS_CTRL, .point = (uint32_t)letter });
}

/* Time passes, and the screen ticks. */
static inline void walk_wait(struct walk_fixture *f, int64_t seconds)
{
	f->now += seconds;
	walk_send(f, (struct screen_event){ .kind = EVENT_TICK });
}

/* Read the step's words to their end, a page at a time. */
static inline void walk_read(struct walk_fixture *f)
{
	for (int i = 0; i < 100 && f->state.screen == WALK_STEP && !step_read(&f->state); i++)
		walk_key(f, KEYS_PAGE_DOWN);
}

/* Read on, type and accept. */
static inline void walk_answer(struct walk_fixture *f, const char *text)
{
	walk_read(f);
	walk_type(f, text);
	walk_key(f, KEYS_ENTER);
}

static inline bool walk_shows(struct walk_fixture *f, const char *text)
{
	walk_draw(&f->state, &f->session, &f->canvas);
	char *dump = canvas_dump(&f->canvas, false);
	bool found = dump && strstr(dump, text);
	free(dump);
	return found;
}

/* Leave and come back, as with the same command again. */
static inline void walk_reopen(struct walk_fixture *f)
{
	session_close(&f->session);
	walk_open(f);
	walk_size(f, f->canvas.rows, f->canvas.columns);
}

static inline size_t walk_readings(const struct walk_fixture *f)
{
	return f->session.job.job.reading_count;
}

/* Go to a step by its id. */
static inline void walk_to(struct walk_fixture *f, const char *id)
{
	size_t phase;
	const struct pm_step *step = pm_plan_step(&f->session.plan.plan, id, &phase);
	assert_non_null(step);
	walk_show_step(&f->state, &f->session, phase, (size_t)(step - f->session.plan.plan.phases[phase].steps));
	f->state.message[0] = '\0';
}

/* The step on the screen, by its id. */
static inline const char *walk_at(const struct walk_fixture *f)
{
	return walk_step(&f->state, &f->session)->id.text;
}

#define assert_at(f, id) do { assert_int_equal((f)->state.screen, WALK_STEP); assert_string_equal(walk_at(f), id); } while (0)

#define assert_hides(f, text) do { if (walk_shows(f, text)) { char *d_ = canvas_dump(&(f)->canvas, false); \
	fail_msg("the screen shows \"%s\":\n%s", text, d_); } } while (0)

#define assert_shows(f, text) do { if (!walk_shows(f, text)) { char *d_ = canvas_dump(&(f)->canvas, false); \
	fail_msg("the screen lacks \"%s\":\n%s", text, d_); } } while (0)

#endif
