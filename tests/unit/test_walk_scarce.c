/* An unattended walk with the Nth allocation failing, for every N: it ends with a
 * fault, and whatever was accepted before is in the job file. Our own allocations
 * are wrapped by the linker. */
#include "store/document.h"
#include "walk_fixture.h"

static bool armed;
static size_t asked, fail_at;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);

static bool refused(void)
{
	return armed && ++asked == fail_at;
}

void *__wrap_malloc(size_t size)
{
	return refused() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
	return refused() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size)
{
	return refused() ? NULL : __real_realloc(old, size);
}

static const char answers[] =
	"format: \"1\"\nstart: \"2026-09-14T07:35:00Z\"\npace: \"60\"\nanswers:\n"
	"  - { step: \"outage\", say: \"agreed by the operations centre\" }\n"
	"  - { step: \"contact\", say: \"lead 1, Tavrane duty room\" }\n";

static void count_said(void *context, const char *line)
{
	*(size_t *)context += line[0] != '\0';
}

/* How many entries stand in the file. */
static size_t on_disk(const char *path)
{
	struct store_job job;
	struct pm_fault fault;
	if (!store_job_load(path, &job, &fault))
		fail_msg("the job file is spoiled: %s", fault.message);
	size_t count = job.job.reading_count;
	store_job_free(&job);
	return count;
}

/* True when the walk came to its end. */
static bool walk_short(size_t at)
{
	struct walk_fixture f;
	struct pm_fault fault = { 0 };
	char path[400];
	size_t told = 0;
	walk_start(&f);
	snprintf(path, sizeof path, "%s/answers.yaml", f.folder);
	assert_true(scratch_write(path, answers, sizeof answers - 1));
	size_t before = on_disk(f.job);
	asked = 0;
	fail_at = at;
	armed = true;
	bool good = drive_unattended(&f.session, path, count_said, &told, &fault);
	armed = false;
	size_t after = on_disk(f.job);
	if (!good && (fault.kind == PM_FAULT_NONE || !fault.message[0]))
		fail_msg("allocation %zu: no fault is told", at);
	if (after < before + told || (good && after != before + 2))
		fail_msg("allocation %zu: %zu entries were told, %zu stand in the file", at, told, after - before);
	walk_end(&f);
	return good;
}

static void each_allocation_fails_once(void **state)
{
	(void)state;
	size_t count, failed = 0;
	assert_true(walk_short(0));
	count = asked;
	for (size_t at = 1; at <= count; at++)
		failed += !walk_short(at);
	assert_true(failed > count / 4);
	printf("# figure a walk of two answers failed at %zu of its %zu allocations, and lost nothing\n", failed, count);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(each_allocation_fails_once) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
