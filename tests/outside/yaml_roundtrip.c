/* A driver for test_yaml_roundtrip.py: writes values into job files through the
 * real code. Each line of standard input is "FILE HEX"; a FILE that is not there
 * is composed anew. Prints "ok", or "refused" and why, a line each. Afterwards
 * the value is read back and compared. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "store/document.h"
#include "store/save.h"

static bool decode(const char *hex, char *out, size_t room)
{
	size_t at = 0;
	for (; hex[0] && hex[1] && at + 1 < room; hex += 2) {
		int high = pm_hex_value(hex[0]), low = pm_hex_value(hex[1]);
		if (high < 0 || low < 0)
			return false;
		out[at++] = (char)(high * 16 + low);
	}
	out[at] = '\0';
	return !hex[0];
}

static bool compose(const char *path, const char *value, struct pm_fault *fault)
{
	struct pm_arena arena;
	struct pm_job head = { .plan = { .text = "p" }, .gear = { .text = "g" }, .code = { .text = value }, .name = { .text = value } };
	size_t length = 0;
	pm_arena_init(&arena);
	char *text = store_job_compose(&head, &arena, &length);
	bool good = text ? store_create_file(path, text, length, fault)
	                 : pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ 0 }, "not composed");
	pm_arena_free(&arena);
	return good;
}

static bool edit(struct store_job *job, const char *value, struct pm_fault *fault)
{
	struct pm_reading reading = {
		.of = { .text = "step/x" }, .value = { .text = value }, .source = PM_SOURCE_STATED, .by = { .text = value },
		.at = { .text = "2026-03-01T09:00:00Z" }, .note = { .text = value },
	};
	struct pm_waiver waiver = {
		.phase = { .text = "a" }, .gate = { .text = "open" }, .condition = { .text = "c" }, .by = { .text = "L" },
		.reason = { .text = value }, .at = { .text = "2026-03-01T09:00:00Z" },
	};
	return store_job_add_reading(job, &reading, fault) && store_job_add_waiver(job, &waiver, fault) &&
	       store_job_set(job, "site.name", value, fault) && store_job_set(job, "site.crew", value, fault) &&
	       store_job_set(job, "gear-digest", value, fault);
}

static bool same(const struct pm_job *job, const char *value)
{
	const struct pm_reading *reading = &job->readings[job->reading_count - 1];
	return pm_same(reading->value.text, value) && pm_same(reading->note.text, value) &&
	       pm_same(job->waivers[job->waiver_count - 1].reason.text, value) && pm_same(job->name.text, value) &&
	       pm_same(job->crew.text, value) && pm_same(job->gear_digest.text, value);
}

static bool run(const char *path, const char *value, struct pm_fault *fault)
{
	struct store_job job;
	if (access(path, F_OK) != 0 && !compose(path, value, fault))
		return false;
	if (!store_job_load(path, &job, fault))
		return false;
	bool good = edit(&job, value, fault) && store_job_save(&job, fault);
	store_job_free(&job);
	if (!good || !store_job_load(path, &job, fault))
		return false;
	good = same(&job.job, value) || pm_fail(fault, PM_FAULT_CHANGED, (struct pm_place){ 0 }, "read back differently");
	store_job_free(&job);
	return good;
}

int main(void)
{
	static char line[64000], value[32000];
	while (fgets(line, sizeof line, stdin)) {
		struct pm_fault fault = { 0 };
		char *space = strchr(line, ' ');
		line[strcspn(line, "\n")] = '\0';
		if (!space || !decode(space + 1, value, sizeof value))
			return 2;
		*space = '\0';
		if (run(line, value, &fault))
			puts("ok");
		else
			printf("refused %s: %s\n", pm_fault_word(fault.kind), fault.message);
	}
	return 0;
}
