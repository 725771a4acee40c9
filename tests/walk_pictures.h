/* walk_pictures.h - the wizard's screens as saved pictures: scripted keys at a
 * fixed time and size. */
#ifndef TESTS_WALK_PICTURES_H
#define TESTS_WALK_PICTURES_H

#include "pictures.h"
#include "walk_course.h"

static struct walk_fixture f;

/* The screen as it is drawn now, with a path that is the same each time. */
static inline void expect(const char *name)
{
	static char path[] = "practice/site.yaml";
	char *real = f.session.job.path;
	f.session.job.path = path;
	walk_draw(&f.state, &f.session, &f.canvas);
	f.session.job.path = real;
	picture_add(&f.canvas, name);
}

/* The same state at all sizes that matter; ends at 80x24. */
static inline void expect_sizes(const char *name)
{
	static const struct { int rows, columns; bool ascii; } sizes[] = {
		{ 43, 132, true }, { 12, 40, true }, { 24, 80, false }, { 24, 80, true },
	};
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
		f.canvas.ascii = sizes[i].ascii;
		walk_size(&f, sizes[i].rows, sizes[i].columns);
		expect(name);
	}
}

static inline int set_up(void **state)
{
	(void)state;
	walk_start(&f);
	return 0;
}

static inline int signed_in(void **state)
{
	(void)state;
	walk_start(&f);
	walk_key(&f, KEYS_ENTER);
	return 0;
}

static inline int tear_down(void **state)
{
	(void)state;
	picture_forget();
	walk_end(&f);
	return 0;
}

#define FRESH(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
#define CASE(name) cmocka_unit_test_setup_teardown(name, signed_in, tear_down)

#endif
