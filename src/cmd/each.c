#include "cmd/each.h"

#include <string.h>
#include <sys/stat.h>

#include "cmd/cmd.h"
#include "cmd/load.h"
#include "store/document.h"
#include "store/save.h"

static int out_of_memory(const char *path)
{
	struct pm_fault fault;
	pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ .file = path }, "out of memory");
	return cmd_fault(&fault);
}

int each_jobs(int argc, char **argv)
{
	int first = cmd_operands(), kept = first;
	for (int i = first; i < argc; i++) {
		const char *slash = strrchr(argv[i], '/');
		if (argc - first > 1 && pm_same(slash ? slash + 1 : argv[i], STORE_FLEET_FILE))
			cmd_line(stderr, "portmuster: %s: holds for the jobs beside it, and is none itself: left out", argv[i]);
		else
			argv[kept++] = argv[i];
	}
	return kept;
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

static bool ends_in(const char *path, const char *ending)
{
	size_t length = strlen(path), least = strlen(ending);
	return length >= least && pm_same_nocase(path + length - least, ending);
}

bool each_may_write(const char *path, char *const *given, int count, struct pm_fault *fault)
{
	struct stat target, source;
	const struct pm_place place = { .file = path };
	if (!path || pm_same(path, "-"))
		return true;
	if (ends_in(path, ".yaml") || ends_in(path, ".yml")) {
		pm_fail(fault, PM_FAULT_USAGE, place, "jobs, plans and profiles have such names: nothing is written over one");
		return pm_fail_remedy(fault, "give the result a name that ends otherwise");
	}
	for (int i = 0; i < count && stat(path, &target) == 0; i++)
		if (stat(given[i], &source) == 0 && source.st_dev == target.st_dev && source.st_ino == target.st_ino) {
			pm_fail(fault, PM_FAULT_USAGE, place, "this is the file that is read: nothing is written over it");
			return pm_fail_remedy(fault, "give the result another name");
		}
	return true;
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
