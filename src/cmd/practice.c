#include "cmd/practice.h"

#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "cmd/cmd.h"
#include "portmuster/text.h"
#include "store/find.h"
#include "store/save.h"

#define MOST_FILE (4u << 20)

static bool copy_file(const char *from, const char *to, struct pm_fault *fault)
{
	struct pm_arena arena;
	char *bytes;
	size_t length;
	pm_arena_init(&arena);
	bool good = store_read_file(from, MOST_FILE, &arena, &bytes, &length, fault) &&
	            store_create_file(to, bytes, length, fault);
	pm_arena_free(&arena);
	return good;
}

static bool join(char out[static PATH_MAX], const char *folder, const char *name)
{
	struct pm_text text;
	pm_text_fixed(&text, out, PATH_MAX);
	pm_text_add(&text, "%s/%s", folder, name);
	return !text.cut;
}

static bool copy_folder(const char *from, const char *to, struct pm_fault *fault)
{
	DIR *dir = opendir(from);
	struct dirent *entry;
	bool good = true;
	if (!dir)
		return pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ .file = from }, "the practice site is not installed");
	while (good && (entry = readdir(dir))) {
		char source[PATH_MAX], target[PATH_MAX];
		struct stat info;
		if (entry->d_name[0] == '.' || !join(source, from, entry->d_name) || !join(target, to, entry->d_name))
			continue;
		if (stat(source, &info) == 0 && S_ISREG(info.st_mode))
			good = copy_file(source, target, fault);
	}
	closedir(dir);
	return good;
}

int practice_make(const char *folder)
{
	char data[PATH_MAX], demo[PATH_MAX];
	struct pm_fault fault;
	if (!store_data_folder(data, sizeof data) || !join(demo, data, "demo")) {
		pm_fail(&fault, PM_FAULT_MISSING, (struct pm_place){ 0 }, "the installed data was not found");
		pm_fail_remedy(&fault, "set PORTMUSTER_DATA to the folder that holds plans, gear and demo");
		return cmd_fault(&fault);
	}
	if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
		pm_fail(&fault, PM_FAULT_UNREADABLE, (struct pm_place){ .file = folder }, "could not make the folder: %s", strerror(errno));
		return cmd_fault(&fault);
	}
	if (!copy_folder(demo, folder, &fault))
		return cmd_fault(&fault);
	printf("%s: a practice site; what the labels say there: %s/labels.md; begin with: portmuster walk %s/site.yaml\n",
	       folder, folder, folder);
	return EXIT_CLEAR;
}
