/* board_fixture.h - the board on a folder of job files, without a terminal: events
 * go to the state machine, the canvas is looked at as text. The folder holds the
 * demonstration fleet, its practice site, a file that is no YAML and a site whose
 * words are hostile; the test stands in the folder above it. */
#ifndef TESTS_BOARD_FIXTURE_H
#define TESTS_BOARD_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <dirent.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "board/drive.h"
#include "scratch.h"

#define BOARD_START 1791446400   /* 2026-10-08T08:00:00Z */

struct board_fixture {
	char home[PATH_MAX], folder[256];
	struct gather *gather;
	struct board_model model;
	struct board_state state;
	struct canvas canvas;
	int64_t now;
	bool left;
};

static const char board_hostile[] =
	"format: \"1\"\nplan: \"router-swap\"\ngear: \"eg-12\"\nsite:\n  code: \"TB-\\e]0;owned\\a20\"\n"
	"  name: \"\\e[2J\\u202Ered \\u00FC\"\n  crew: \"crew \\e[31mwest\"\n  live: \"yes\"\n"
	"  due: \"2026-10-12\"\nreadings:\n"
	"  - { of: \"desk/appointment\", value: \"2026-10-09T09:00:00+05:30/2026-10-09T11:00:00+05:30\",\n"
	"      source: \"desk\", by: \"\\e[5mcentre\", at: \"2026-10-02T09:00:00Z\" }\n"
	"  - { of: \"port/port1\", value: \"00-00-5E-00-53-0\\e[H\", source: \"typed\", by: \"tech 1\",\n"
	"      at: \"2026-10-02T09:00:00Z\" }\n"
	"  - { of: \"port/port1\", value: \"00-00-5E-00-53-0\\e[H\", source: \"withdrawn\", by: \"tech 1\",\n"
	"      at: \"2026-10-02T09:01:00Z\", note: \"mis\\e[31mread\" }\n"
	"waivers:\n"
	"  - { phase: \"prepare\", gate: \"close\", condition: \"kit-complete\", by: \"lead\\e[31m 1\",\n"
	"      reason: \"spare \\e[1mcaps\", at: \"2026-10-02T09:02:00Z\" }\n";

static const char board_broken[] = "format: \"1\"\nplan: \"router-swap\"\ngear: [\nsite: {\n";

static inline void board_put(const char *path, const char *text, size_t length)
{
	assert_true(scratch_write(path, text, length));
}

static inline void board_copy(const char *from, const char *to)
{
	size_t length = 0;
	char *bytes = scratch_read(from, &length);
	assert_non_null(bytes);
	board_put(to, bytes, length);
	free(bytes);
}

static inline void board_fill(const struct board_fixture *f)
{
	char from[PATH_MAX], to[PATH_MAX];
	snprintf(to, sizeof to, "%s/fleet", f->folder);
	assert_int_equal(mkdir(to, 0755), 0);
	DIR *listing = opendir("data/demo/fleet");
	assert_non_null(listing);
	for (const struct dirent *entry; (entry = readdir(listing));) {
		if (!strstr(entry->d_name, ".yaml"))
			continue;
		snprintf(from, sizeof from, "data/demo/fleet/%s", entry->d_name);
		snprintf(to, sizeof to, "%s/fleet/%s", f->folder, entry->d_name);
		board_copy(from, to);
	}
	closedir(listing);
	snprintf(to, sizeof to, "%s/fleet/practice.yaml", f->folder);
	board_copy("data/demo/site.yaml", to);
	snprintf(to, sizeof to, "%s/fleet/tb-19.yaml", f->folder);
	board_put(to, board_broken, sizeof board_broken - 1);
	snprintf(to, sizeof to, "%s/fleet/tb-20.yaml", f->folder);
	board_put(to, board_hostile, sizeof board_hostile - 1);
}

static inline void board_read(struct board_fixture *f)
{
	while (f->model.reading)
		assert_true(board_model_take_in(&f->model, 1000));
	board_changed(&f->state, &f->model);
	f->left = board_carry_out(&f->state, &f->model);
}

static inline void board_send(struct board_fixture *f, struct screen_event event)
{
	event.now = f->now;
	f->model.now = pm_when_utc(f->now);
	board_event(&f->state, &f->model, &event);
	f->left = board_carry_out(&f->state, &f->model);
	if (f->model.foreseeing)
		assert_true(board_model_foresee(&f->model, true));
	board_draw(&f->state, &f->model, &f->canvas);
}

static inline void board_size(struct board_fixture *f, int rows, int columns)
{
	assert_true(canvas_resize(&f->canvas, rows, columns));
	board_send(f, (struct screen_event){ .kind = EVENT_RESIZE, .rows = rows, .columns = columns });
}

/* Begin on a folder as said; nothing is read yet. */
static inline void board_open_as(struct board_fixture *f, const struct gather_options *given, const char *name)
{
	struct gather_options options = *given;
	options.now = pm_when_utc(f->now);
	options.threads = 2;
	struct board_options how = { .forecast = { .seed = 1, .runs = 400 } };
	struct pm_fault fault = { 0 };
	f->gather = gather_begin(&options, &fault);
	if (!f->gather)
		fail_msg("%s", fault.message);
	board_model_begin(&f->model, f->gather, &how, options.now);
	board_begin(&f->state, &f->model, name);
	f->left = false;
}

/* The folder "fleet" below; the same with another deadline than its own. */
static inline void board_open(struct board_fixture *f, const char *name)
{
	static const char *const folder[] = { "fleet" };
	board_open_as(f, &(struct gather_options){ .folder = folder, .folder_count = 1 }, name);
}

static inline void board_open_until(struct board_fixture *f, const char *deadline)
{
	static const char *const folder[] = { "fleet" };
	struct gather_options options = { .folder = folder, .folder_count = 1, .has_deadline = true };
	assert_true(pm_day_read(deadline, &options.deadline_day, NULL));
	board_open_as(f, &options, NULL);
}

static inline void board_start(struct board_fixture *f)
{
	char data[PATH_MAX + 8];
	memset(f, 0, sizeof *f);
	assert_non_null(getcwd(f->home, sizeof f->home));
	snprintf(data, sizeof data, "%s/data", f->home);
	setenv("PORTMUSTER_DATA", data, 1);
	setenv("PORTMUSTER_CACHE", "no", 1);
	setenv("XDG_DATA_HOME", "/nonexistent", 1);
	assert_true(scratch_make(f->folder, sizeof f->folder));
	board_fill(f);
	assert_int_equal(chdir(f->folder), 0);
	f->now = BOARD_START;
	assert_true(canvas_init(&f->canvas, 24, 80, true));
	board_open(f, NULL);
	board_read(f);
	board_size(f, 24, 80);
}

static inline void board_close(struct board_fixture *f)
{
	board_end(&f->state);
	board_model_end(&f->model);
	gather_free(f->gather);
}

static inline void board_stop(struct board_fixture *f)
{
	board_close(f);
	canvas_free(&f->canvas);
	assert_int_equal(chdir(f->home), 0);
	scratch_remove(f->folder);
}

static inline void board_press(struct board_fixture *f, enum screen_key key)
{
	board_send(f, (struct screen_event){ .kind = EVENT_KEY, .key = key });
}

static inline void board_type(struct board_fixture *f, const char *text)
{
	for (; *text; text++)
		board_send(f, (struct screen_event){ .kind = EVENT_CHARACTER, .point = (unsigned char)*text });
}

/* The file changed or time passed: all of it is read again. */
static inline void board_again(struct board_fixture *f, int64_t seconds)
{
	f->now += seconds;
	f->model.now = pm_when_utc(f->now);
	board_model_look_again(&f->model, true);
	board_read(f);
	board_draw(&f->state, &f->model, &f->canvas);
}

static inline bool board_shows(struct board_fixture *f, const char *text)
{
	board_draw(&f->state, &f->model, &f->canvas);
	char *dump = canvas_dump(&f->canvas, false);
	bool found = dump && strstr(dump, text);
	free(dump);
	return found;
}

/* The code, or the file's name, of the site in a row of the list. */
static inline const char *board_row(const struct board_fixture *f, size_t row)
{
	assert_true(row < f->state.order.count);
	return board_site_name(&f->model.fleet->site[f->state.order.row[row]]);
}

/* Put the focus on a site of the list by its name. */
static inline void board_to(struct board_fixture *f, const char *name)
{
	for (size_t i = 0; i < f->state.order.count; i++)
		if (strcmp(board_row(f, i), name) == 0) {
			board_press(f, KEYS_HOME);
			while (f->state.row < i)
				board_press(f, KEYS_DOWN);
			return;
		}
	fail_msg("%s is not listed", name);
}

#define assert_shows(f, text) do { if (!board_shows(f, text)) { char *d_ = canvas_dump(&(f)->canvas, false); \
	fail_msg("the screen lacks \"%s\":\n%s", text, d_); } } while (0)

#define assert_hides(f, text) do { if (board_shows(f, text)) { char *d_ = canvas_dump(&(f)->canvas, false); \
	fail_msg("the screen shows \"%s\":\n%s", text, d_); } } while (0)

#endif
