/* gather_fixture.h - a scratch folder with job files, and gathering it to the end. */
#ifndef TESTS_GATHER_FIXTURE_H
#define TESTS_GATHER_FIXTURE_H

#include <stdarg.h>
#include <time.h>

#include "board/gather.h"
#include "many_jobs.h"
#include "portmuster/text.h"
#include "scratch.h"

#define GATHER_NOW 1791720000   /* 2026-10-11T12:00:00Z */

static char gather_root[200];

/* A path below the scratch folder, in one of a few buffers used in turn. */
static inline const char *at_path(const char *name)
{
	static char paths[16][700];
	static unsigned next;
	char *path = paths[next++ % 16];
	snprintf(path, sizeof paths[0], "%s/%s", gather_root, name);
	return path;
}

static inline void make_folders(const char *path)
{
	char copy[600];
	snprintf(copy, sizeof copy, "%s", path);
	for (char *slash = copy + strlen(gather_root) + 1; (slash = strchr(slash, '/')); *slash++ = '/') {
		*slash = '\0';
		mkdir(copy, 0700);
	}
}

static inline void put_text(const char *name, const char *text)
{
	const char *path = at_path(name);
	make_folders(path);
	assert_true(scratch_write(path, text, strlen(text)));
}

static inline void put_job(const char *name, unsigned number)
{
	static char text[MANY_JOBS_ROOM];
	assert_true(many_job(number, text) > 0);
	put_text(name, text);
}

static inline int gather_setup(void **state)
{
	(void)state;
	if (!scratch_make(gather_root, sizeof gather_root))
		return -1;
	setenv("PORTMUSTER_DATA", "data", 1);
	setenv("XDG_DATA_HOME", "/nonexistent", 1);
	setenv("XDG_CACHE_HOME", at_path("cache"), 1);
	/* a test that blocks on a pipe shall not block for ever */
	alarm(120);
	return 0;
}

static inline int gather_teardown(void **state)
{
	(void)state;
	alarm(0);
	scratch_remove(gather_root);
	return 0;
}

static inline struct gather *begin_of(const char *const *folder, size_t count, const char *revision, unsigned threads,
                               struct pm_fault *fault)
{
	struct gather_options options = {
		.folder = folder, .folder_count = count, .revision = revision, .now = pm_when_utc(GATHER_NOW), .threads = threads,
	};
	return gather_begin(&options, fault);
}

static inline void wait_for(struct gather *gather)
{
	while (!gather_poll(gather, 1000))
		continue;
}

/* One folder below the scratch folder, to the end. */
static inline struct gather *gather_all(const char *name)
{
	const char *path = at_path(name);
	struct pm_fault fault = { 0 };
	struct gather *gather = begin_of(&path, 1, NULL, 0, &fault);
	if (!gather)
		fail_msg("%s", fault.message);
	wait_for(gather);
	return gather;
}

/* The row of a file below the scratch folder; null when there is none, or two. */
static inline const struct pm_site_summary *row_of(const struct gather *gather, const char *name)
{
	const struct pm_fleet *fleet = gather_fleet(gather);
	const struct pm_site_summary *row = NULL;
	const char *path = at_path(name);
	for (size_t i = 0; i < fleet->count; i++)
		if (pm_same(fleet->site[i].file, path)) {
			if (row)
				return NULL;
			row = &fleet->site[i];
		}
	return row;
}

/* All rows' names below the scratch folder, in their order, with a blank between. */
static inline const char *names_of(const struct gather *gather)
{
	static char names[8192];
	const struct pm_fleet *fleet = gather_fleet(gather);
	size_t used = 0, skip = strlen(gather_root) + 1;
	names[0] = '\0';
	for (size_t i = 0; i < fleet->count; i++) {
		assert_true(!strncmp(fleet->site[i].file, gather_root, skip - 1));
		used += (size_t)snprintf(names + used, sizeof names - used, "%s%s", i ? " " : "", fleet->site[i].file + skip);
	}
	return names;
}

/* The same of what was left out. */
static inline const char *left_out_of(const struct gather *gather)
{
	static char names[8192];
	const struct pm_fleet *fleet = gather_fleet(gather);
	size_t used = 0, skip = strlen(gather_root) + 1;
	names[0] = '\0';
	for (size_t i = 0; i < fleet->left_out_count; i++) {
		assert_true(!strncmp(fleet->left_out[i], gather_root, skip - 1));
		used += (size_t)snprintf(names + used, sizeof names - used, "%s%s", i ? " " : "", fleet->left_out[i] + skip);
	}
	return names;
}

/* Let files rest, so that they do not count as changed a moment ago. */
static inline void rest(void)
{
	nanosleep(&(struct timespec){ 0, 150000000 }, NULL);
}

#endif
