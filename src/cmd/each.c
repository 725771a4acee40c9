#include "cmd/each.h"

#include "cmd/cmd.h"
#include "cmd/load.h"
#include "store/save.h"

static int out_of_memory(const char *path)
{
	struct pm_fault fault;
	pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ .file = path }, "out of memory");
	return cmd_fault(&fault);
}

int each_job(char *const *paths, int count, struct pm_when now,
             int (*visit)(const struct pm_case *the_case, const struct pm_result *result, void *context), void *context)
{
	int worst = EXIT_CLEAR;
	for (int i = 0; i < count; i++) {
		struct loaded loaded;
		struct pm_fault fault;
		struct pm_arena arena;
		struct pm_result result;
		int status;
		if (!load_job(paths[i], &loaded, &fault)) {
			worst = cmd_fault(&fault);
			continue;
		}
		struct pm_case c = load_case(&loaded, now);
		pm_arena_init(&arena);
		status = pm_check(&c, &arena, &result) ? visit(&c, &result, context) : out_of_memory(paths[i]);
		worst = status > worst ? status : worst;
		pm_arena_free(&arena);
		load_free(&loaded);
	}
	return worst;
}

int each_write(const char *path, const struct pm_text *result, int status)
{
	struct pm_fault fault;
	if (result->cut)
		return out_of_memory(path);
	if (!path || pm_same(path, "-")) {
		/* cmd_finish reports what could not be written */
		fwrite(result->data, 1, result->length, stdout);
		return status;
	}
	if (status == EXIT_UNABLE) {
		pm_fail(&fault, PM_FAULT_VALUE, (struct pm_place){ .file = path }, "not written, since a job is missing in it");
		pm_fail_remedy(&fault, "mend that job, or leave it out");
		return cmd_fault(&fault);
	}
	return store_write_file(path, result->data, result->length, &fault) ? status : cmd_fault(&fault);
}
