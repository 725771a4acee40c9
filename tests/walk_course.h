/* walk_course.h - a practice site's whole course by keys, phase by phase. */
#ifndef TESTS_WALK_COURSE_H
#define TESTS_WALK_COURSE_H

#include "walk_fixture.h"

/* Answer `count` steps with their first answer. */
static inline void course_say_yes(struct walk_fixture *f, int count)
{
	while (count-- > 0)
		walk_answer(f, "a");
}

/* Answer one that asks for a note, too. */
static inline void course_say_noted(struct walk_fixture *f, const char *note)
{
	course_say_yes(f, 1);
	assert_true(f->state.noting);
	walk_answer(f, note);
}

/* Have the sheet written, as the step about it wants. */
static inline void course_sheet(struct walk_fixture *f)
{
	assert_at(f, "sheet");
	walk_key(f, KEYS_ESCAPE);
	walk_type(f, "x");
	assert_at(f, "sheet");
	course_say_yes(f, 1);
}

static inline void course_kit(struct walk_fixture *f)
{
	static const char *const kit[] = { "1", "1", "1", "1", "1", "1", "1", "4", "1", "3", "4", "1", "1", "1" };
	for (size_t i = 0; i < sizeof kit / sizeof *kit; i++)
		walk_answer(f, kit[i]);
}

static inline void course_prepare(struct walk_fixture *f)
{
	assert_at(f, "outage");
	course_say_yes(f, 1);
	walk_answer(f, "duty desk");
	course_kit(f);
	course_say_yes(f, 2);
	walk_answer(f, "EG12-26-00417");
	walk_answer(f, "EG12-26-00417");
	walk_answer(f, "GU-0417-K");
	walk_answer(f, "GP-07-C");
	assert_true(f->session.result.gates.closed[0]);
}

static inline void course_fit(struct walk_fixture *f)
{
	assert_at(f, "transmitter");
	course_say_yes(f, 2);
	course_say_noted(f, "site electrician");
	course_say_yes(f, 5);
	assert_true(f->session.result.gates.closed[1]);
}

static inline void course_begin_wait(struct walk_fixture *f)
{
	assert_at(f, "gfp");
	course_say_yes(f, 1);
	walk_answer(f, "231.4");
	course_say_yes(f, 1);
	assert_at(f, "first-boot");
}

static inline void course_to_ports(struct walk_fixture *f)
{
	course_begin_wait(f);
	walk_wait(f, 20);
	walk_key(f, KEYS_ENTER);
	course_say_yes(f, 2);
	assert_at(f, "addresses");
	walk_key(f, KEYS_ENTER);
	assert_int_equal(f->state.screen, WALK_PORTS);
}

/* Read a console log that lies beside the job, by its number in the list. */
static inline void course_log(struct walk_fixture *f, const char *pick)
{
	walk_type(f, "r");
	walk_answer(f, pick);
	walk_type(f, "y");
}

static inline void course_end_muster(struct walk_fixture *f)
{
	walk_key(f, KEYS_ESCAPE);
	assert_at(f, "addresses");
	walk_key(f, KEYS_TAB);
	course_say_yes(f, 3);
	assert_true(f->session.result.gates.closed[2]);
}

static inline void course_muster(struct walk_fixture *f)
{
	course_to_ports(f);
	course_log(f, "1");
	course_log(f, "2");
	assert_int_equal(f->session.result.roster.confirmed, 13);
	course_end_muster(f);
}

static inline void course_register(struct walk_fixture *f)
{
	course_sheet(f);
	walk_answer(f, "registration desk");
	course_say_yes(f, 1);
	walk_answer(f, "TRD 1187");
	assert_at(f, "decision");
	walk_answer(f, "a");
	walk_answer(f, "TOC 5521");
	assert_true(f->session.result.gates.closed[3]);
}

/* A window that begins in an hour. */
static inline void course_window(struct walk_fixture *f, char out[static 80])
{
	char from[PM_WHEN_TEXT], until[PM_WHEN_TEXT];
	pm_when_write(pm_when_utc(f->now + 3600), from);
	pm_when_write(pm_when_utc(f->now + 3 * 3600), until);
	snprintf(out, 80, "%s/%s", from, until);
}

static inline void course_book(struct walk_fixture *f)
{
	char window[80];
	assert_at(f, "quiet");
	course_say_noted(f, "today");
	walk_answer(f, "tech 1 and the site electrician");
	walk_answer(f, "early shift");
	course_say_yes(f, 1);
	assert_at(f, "appointment");
	course_window(f, window);
	walk_answer(f, window);
	course_say_yes(f, 1);
	assert_true(f->session.result.gates.closed[4]);
	walk_wait(f, 3600);
}

static inline void course_to_the_cutover(struct walk_fixture *f)
{
	course_prepare(f);
	course_fit(f);
	course_muster(f);
	course_register(f);
	course_book(f);
	assert_at(f, "go");
}

/* Up to the verdict, which is left open. */
static inline void course_cutover(struct walk_fixture *f)
{
	assert_at(f, "go");
	course_say_yes(f, 2);
	walk_answer(f, "tb-00-edge, version 4");
	course_say_yes(f, 2);
	walk_answer(f, "612.5");
	walk_answer(f, "0");
	course_say_yes(f, 1);
	assert_at(f, "verdict");
}

/* From the verdict to the end: the new router carries the service. */
static inline void course_close(struct walk_fixture *f)
{
	assert_at(f, "verdict");
	course_say_yes(f, 1);
	assert_at(f, "old-wiped");
	course_say_yes(f, 2);
	walk_answer(f, "EG08-19-00236");
	walk_answer(f, "parcel 00317");
	course_say_yes(f, 1);
	walk_answer(f, "lead 1");
	walk_answer(f, "nothing is open");
	assert_int_equal(f->session.result.phase, f->session.plan.plan.phase_count);
}

#endif
