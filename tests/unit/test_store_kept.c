/* Plans kept in their loaded form: the same plan comes back, a changed file is
 * never served from it, and no damage to it does harm. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "scratch.h"
#include "store/document.h"
#include "store/fields.h"
#include "store/kept.h"
#include "store/save.h"

#define PLAN "data/plans/router-swap.yaml"

static char folder[64], plan_path[128];

static void pause_until_settled(void)
{
	nanosleep(&(struct timespec){ .tv_nsec = 150000000 }, NULL);
}

static char *read_all(const char *path, size_t *length, struct pm_arena *arena)
{
	char *text;
	struct pm_fault fault;
	assert_true(store_read_file(path, 1u << 24, arena, &text, length, &fault));
	return text;
}

/* The one file in the cache, or an empty string. */
static void kept_file(char out[static 512])
{
	char where[128];
	out[0] = '\0';
	snprintf(where, sizeof where, "%s/cache/portmuster", folder);
	DIR *dir = opendir(where);
	struct dirent *entry;
	while (dir && (entry = readdir(dir)))
		if (entry->d_name[0] != '.')
			snprintf(out, 512, "%s/%s", where, entry->d_name);
	if (dir)
		closedir(dir);
}

static int set_up(void **state)
{
	(void)state;
	char cache[128];
	struct pm_arena arena;
	size_t length;
	pm_arena_init(&arena);
	snprintf(folder, sizeof folder, "/tmp/pm-kept-XXXXXX");
	assert_non_null(mkdtemp(folder));
	snprintf(cache, sizeof cache, "%s/cache", folder);
	snprintf(plan_path, sizeof plan_path, "%s/plan.yaml", folder);
	char *text = read_all(PLAN, &length, &arena);
	assert_true(scratch_write(plan_path, text, length));
	pm_arena_free(&arena);
	unsetenv("PORTMUSTER_CACHE");
	setenv("XDG_CACHE_HOME", cache, 1);
	pause_until_settled();
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	char command[128];
	snprintf(command, sizeof command, "rm -rf %s", folder);
	return system(command);
}

static void same_word(struct pm_word a, struct pm_word b)
{
	assert_true(pm_same(a.text, b.text));
	assert_int_equal(a.line, b.line);
	assert_int_equal(a.column, b.column);
}

static void same_words(struct pm_words a, struct pm_words b)
{
	assert_int_equal(a.count, b.count);
	for (size_t i = 0; i < a.count; i++)
		same_word(a.item[i], b.item[i]);
}

static void same_step(const struct pm_step *a, const struct pm_step *b)
{
	const struct pm_word x[] = { a->id, a->title, a->text, a->caution, a->fact, a->form, a->unit, a->least.word,
		a->most.word, a->limit_source, a->wait, a->only_step, a->only_answer, a->note, a->stopped };
	const struct pm_word y[] = { b->id, b->title, b->text, b->caution, b->fact, b->form, b->unit, b->least.word,
		b->most.word, b->limit_source, b->wait, b->only_step, b->only_answer, b->note, b->stopped };
	for (size_t i = 0; i < sizeof x / sizeof *x; i++)
		same_word(x[i], y[i]);
	same_words(a->proceed, b->proceed);
	same_words(a->halt, b->halt);
	same_words(a->show, b->show);
	assert_int_equal(a->words, b->words);
	assert_int_equal(a->contact, b->contact);
	assert_int_equal(a->sheet, b->sheet);
	assert_int_equal(a->least_minutes, b->least_minutes);
	assert_int_equal(a->ask, b->ask);
	assert_int_equal(a->critical, b->critical);
	assert_int_equal(a->skippable, b->skippable);
	assert_int_equal(a->least.millionths, b->least.millionths);
}

static void same_plan(const struct pm_plan *a, const struct pm_plan *b)
{
	same_word(a->id, b->id);
	assert_string_equal(a->file, b->file);
	assert_int_equal(a->kit_count, b->kit_count);
	for (size_t i = 0; i < a->kit_count; i++) {
		same_word(a->kit[i].name, b->kit[i].name);
		assert_int_equal(a->kit[i].need, b->kit[i].need);
	}
	assert_int_equal(a->phase_count, b->phase_count);
	for (size_t p = 0; p < a->phase_count; p++) {
		const struct pm_phase *x = &a->phases[p], *y = &b->phases[p];
		same_word(x->title, y->title);
		assert_int_equal(x->open_count, y->open_count);
		assert_int_equal(x->close_count, y->close_count);
		for (size_t i = 0; i < x->close_count; i++) {
			same_word(x->close[i].condition, y->close[i].condition);
			assert_int_equal(x->close[i].waiver, y->close[i].waiver);
		}
		assert_int_equal(x->step_count, y->step_count);
		for (size_t i = 0; i < x->step_count; i++)
			same_step(&x->steps[i], &y->steps[i]);
	}
}

static void test_round_trip(void **state)
{
	(void)state;
	struct store_plan parsed, kept;
	struct pm_fault fault;
	char file[512];
	kept_file(file);
	assert_string_equal(file, "");
	assert_true(store_plan_load(plan_path, &parsed, &fault));
	assert_non_null(parsed.source.text);
	kept_file(file);
	assert_string_not_equal(file, "");
	assert_true(store_plan_load(plan_path, &kept, &fault));
	assert_null(kept.source.text);      /* so it was not parsed */
	same_plan(&parsed.plan, &kept.plan);
	assert_string_equal(store_plan_digest(&parsed), store_plan_digest(&kept));
	store_plan_free(&parsed);
	store_plan_free(&kept);
}

static void test_turned_off(void **state)
{
	(void)state;
	struct store_plan plan;
	struct pm_fault fault;
	char file[512];
	setenv("PORTMUSTER_CACHE", "no", 1);
	assert_true(store_plan_load(plan_path, &plan, &fault));
	assert_non_null(plan.source.text);
	store_plan_free(&plan);
	kept_file(file);
	assert_string_equal(file, "");
}

/* What nothing reads is told each time: such a plan is parsed each time. */
static void test_stray_keys_are_told_again(void **state)
{
	(void)state;
	struct store_plan plan;
	struct pm_fault fault;
	char file[512];
	FILE *out = fopen(plan_path, "ab");
	assert_non_null(out);
	fputs("stray: 1\n", out);
	assert_int_equal(fclose(out), 0);
	pause_until_settled();
	for (int i = 0; i < 2; i++) {
		assert_true(store_plan_load(plan_path, &plan, &fault));
		assert_int_equal(plan.plan.strays.count, 1);
		store_plan_free(&plan);
	}
	kept_file(file);
	assert_string_equal(file, "");
}

/* An edit of the same length, with the old modification time put back. */
static void test_changed_file(void **state)
{
	(void)state;
	struct store_plan plan;
	struct pm_fault fault;
	struct pm_arena arena;
	struct stat before;
	size_t length;
	assert_true(store_plan_load(plan_path, &plan, &fault));
	store_plan_free(&plan);
	assert_int_equal(stat(plan_path, &before), 0);
	pm_arena_init(&arena);
	char *text = read_all(plan_path, &length, &arena);
	size_t at = 0;
	while (at + 13 < length && strncmp(text + at, "Count the kit", 13) != 0)
		at++;
	text[at] = 'K';
	text[at + 1] = 'o';
	assert_true(scratch_write(plan_path, text, length));
	const struct timespec times[2] = { before.st_atim, before.st_mtim };
	assert_int_equal(utimensat(AT_FDCWD, plan_path, times, 0), 0);
	assert_true(store_plan_load(plan_path, &plan, &fault));
	assert_non_null(plan.source.text);
	assert_string_equal(pm_plan_step(&plan.plan, "kit", NULL)->title.text, "Kount the kit");
	store_plan_free(&plan);
	pm_arena_free(&arena);
}

static void test_just_written_file_is_not_kept(void **state)
{
	(void)state;
	struct store_plan plan;
	struct pm_fault fault;
	struct pm_arena arena;
	char file[512];
	size_t length;
	pm_arena_init(&arena);
	char *text = read_all(PLAN, &length, &arena);
	assert_true(scratch_write(plan_path, text, length));
	assert_true(store_plan_load(plan_path, &plan, &fault));
	store_plan_free(&plan);
	kept_file(file);
	assert_string_equal(file, "");
	pm_arena_free(&arena);
}

/* Single bits of a kept plan changed, and the file cut at many lengths: it is
 * never used then, and the plan is parsed as usual. */
static void test_damage(void **state)
{
	(void)state;
	struct store_plan plan;
	struct pm_fault fault;
	struct pm_arena arena;
	char file[512];
	size_t length;
	assert_true(store_plan_load(plan_path, &plan, &fault));
	store_plan_free(&plan);
	kept_file(file);
	pm_arena_init(&arena);
	char *bytes = read_all(file, &length, &arena);
	for (size_t i = 0; i < length; i += i < 4096 ? 1 : 13) {
		struct kept_key key;
		struct pm_arena own;
		char digest[65];
		struct pm_plan *copy = calloc(1, sizeof *copy);
		char was = bytes[i];
		bytes[i] = (char)(was ^ (char)(1u << (i % 8)));
		assert_true(scratch_write(file, bytes, length));
		assert_true(kept_key(plan_path, &key));
		pm_arena_init(&own);
		assert_false(kept_load(&key, &store_plan_table, copy, sizeof *copy, &own, digest));
		pm_arena_free(&own);
		free(copy);
		bytes[i] = was;
	}
	for (size_t cut = 0; cut < length; cut += 997) {
		assert_true(scratch_write(file, bytes, cut));
		assert_true(store_plan_load(plan_path, &plan, &fault));
		assert_int_equal(plan.plan.phase_count, 7);
		store_plan_free(&plan);
	}
	pm_arena_free(&arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_round_trip, set_up, tear_down),
		cmocka_unit_test_setup_teardown(test_turned_off, set_up, tear_down),
		cmocka_unit_test_setup_teardown(test_stray_keys_are_told_again, set_up, tear_down),
		cmocka_unit_test_setup_teardown(test_changed_file, set_up, tear_down),
		cmocka_unit_test_setup_teardown(test_just_written_file_is_not_kept, set_up, tear_down),
		cmocka_unit_test_setup_teardown(test_damage, set_up, tear_down),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
