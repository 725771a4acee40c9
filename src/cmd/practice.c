#include "cmd/practice.h"

#include <dirent.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "cmd/cmd.h"
#include "store/find.h"
#include "store/path.h"
#include "store/save.h"

#define MOST_FILE (4u << 20)

/* The invented desk's layout and workbook. Beside the practice site they go before
 * whatever other layouts are installed. */
static const char *const sheet_files[] = { "tavrane-desk.yaml", "tavrane-desk.xlsx" };

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

static bool join(const char *folder, const char *name, char out[static PATH_MAX], struct pm_fault *fault)
{
	return store_path_join(folder, name, out, PATH_MAX) ||
	       pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ .file = folder }, "the path is too long");
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
		if (entry->d_name[0] == '.')
			continue;
		good = join(from, entry->d_name, source, fault) && join(to, entry->d_name, target, fault);
		if (good && stat(source, &info) == 0 && S_ISREG(info.st_mode))
			good = copy_file(source, target, fault);
	}
	closedir(dir);
	return good;
}

/* Into `sheets`, which is made. */
static bool copy_sheets(const char *data, const char *to, struct pm_fault *fault)
{
	char from[PATH_MAX], sheets[PATH_MAX], source[PATH_MAX], target[PATH_MAX];
	bool good = join(data, "sheets", from, fault) && join(to, "sheets", sheets, fault) && store_path_make(sheets, fault);
	for (size_t i = 0; good && i < sizeof sheet_files / sizeof *sheet_files; i++)
		good = join(from, sheet_files[i], source, fault) && join(sheets, sheet_files[i], target, fault) &&
		       copy_file(source, target, fault);
	return good;
}

int practice_make(const char *folder, const char *program)
{
	char data[PATH_MAX], demo[PATH_MAX], labels[PATH_MAX], site[PATH_MAX];
	struct pm_fault fault;
	if (!store_data_folder(data, sizeof data) || !store_path_join(data, "demo", demo, sizeof demo)) {
		pm_fail(&fault, PM_FAULT_MISSING, (struct pm_place){ 0 }, "the installed data was not found");
		pm_fail_remedy(&fault, "set PORTMUSTER_DATA to the folder that holds plans, gear and demo");
		return cmd_fault(&fault);
	}
	if (!store_path_make(folder, &fault) || !copy_folder(demo, folder, &fault) || !copy_sheets(data, folder, &fault))
		return cmd_fault(&fault);
	if (store_path_join(folder, "labels.md", labels, sizeof labels) && store_path_join(folder, "site.yaml", site, sizeof site))
		cmd_line(stdout, "%s: a practice site; what the labels say there: %s; begin with: %s walk %s", folder, labels, program, site);
	return EXIT_CLEAR;
}
