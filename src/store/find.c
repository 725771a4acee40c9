#include "store/find.h"

#include <dirent.h>
#include <pwd.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "store/path.h"

#define MOST_ID 100

static const struct {
	const char *folder, *word;
} kinds[] = {
	[STORE_PLAN] = { "plans", "plan" },
	[STORE_GEAR] = { "gear", "gear profile" },
	[STORE_SHEET] = { "sheets", "sheet layout" },
};

/* --- the data folders --- */

static bool is_folder(const char *path)
{
	struct stat about;
	return stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

bool store_data_folder(char *out, size_t room)
{
	char program[STORE_PATH_ROOM], folder[STORE_PATH_ROOM], above[STORE_PATH_ROOM];
	const char *given = getenv("PORTMUSTER_DATA");
	if (given && *given) {
		struct pm_text text;
		pm_text_fixed(&text, out, room);
		pm_text_str(&text, given);
		return !text.cut;
	}
	ssize_t length = readlink("/proc/self/exe", program, sizeof program - 1);
	if (length <= 0)
		return false;
	program[length] = '\0';
	return store_path_folder(program, folder, sizeof folder) && store_path_above(folder, above, sizeof above) &&
	       store_path_join(above, "share/portmuster", out, room) && is_folder(out);
}

/* XDG base directory specification: a relative $XDG_DATA_HOME is ignored. */
static bool user_folder(char *out, size_t room)
{
	const char *given = getenv("XDG_DATA_HOME");
	if (given && given[0] == '/')
		return store_path_join(given, "portmuster", out, room);
	const char *home = getenv("HOME");
	struct passwd entry, *found = NULL;
	char buffer[STORE_PATH_ROOM];
	if ((!home || !*home) && getpwuid_r(getuid(), &entry, buffer, sizeof buffer, &found) == 0 && found)
		home = found->pw_dir;
	return home && *home && store_path_join(home, ".local/share/portmuster", out, room);
}

/* --- looking --- */

struct search {
	enum store_kind kind;
	char name[MOST_ID + 8];      /* "ID.yaml" */
	const char *job_path;        /* or null */
	char *out;
	size_t room;
	struct pm_text looked;       /* the folders, for the remedy */
};

/* A job may bear the same name as its plan or gear: it is never what was meant. */
static bool is_job(const struct search *s, const struct stat *about)
{
	struct stat job;
	return s->job_path && stat(s->job_path, &job) == 0 &&
	       job.st_dev == about->st_dev && job.st_ino == about->st_ino;
}

static bool in_folder(struct search *s, const char *folder)
{
	struct stat about;
	pm_text_str(&s->looked, s->looked.length ? ", " : "");
	pm_text_visible(&s->looked, folder, strlen(folder));
	return store_path_join(folder, s->name, s->out, s->room) && stat(s->out, &about) == 0 &&
	       S_ISREG(about.st_mode) && !is_job(s, &about);
}

static bool in_subfolder(struct search *s, const char *folder)
{
	char below[STORE_PATH_ROOM];
	return store_path_join(folder, kinds[s->kind].folder, below, sizeof below) && in_folder(s, below);
}

static bool beside_job(struct search *s)
{
	char folder[STORE_PATH_ROOM], above[STORE_PATH_ROOM];
	if (!s->job_path || !store_path_folder(s->job_path, folder, sizeof folder))
		return false;
	if (in_folder(s, folder) || in_subfolder(s, folder))
		return true;
	return store_path_above(folder, above, sizeof above) && (in_folder(s, above) || in_subfolder(s, above));
}

static bool in_data(struct search *s)
{
	char folder[STORE_PATH_ROOM];
	if (user_folder(folder, sizeof folder) && in_subfolder(s, folder))
		return true;
	return store_data_folder(folder, sizeof folder) && in_subfolder(s, folder);
}

static bool id_allowed(const char *id)
{
	size_t length = strlen(id);
	if (length == 0 || length > MOST_ID)
		return false;
	for (; *id; id++)
		if (*id == '/' || *id == '.' || (unsigned char)*id < 0x20 || *id == 0x7F)
			return false;
	return true;
}

bool store_find(enum store_kind kind, const char *id, const char *job_path,
                char *out, size_t room, struct pm_fault *fault)
{
	struct search s = { .kind = kind, .job_path = job_path, .out = out, .room = room };
	struct pm_text text;
	char looked[PM_FAULT_TEXT], quoted[280];
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, id);
	if (!id_allowed(id)) {
		pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ 0 }, "%s is no name of a %s", quoted, kinds[kind].word);
		return pm_fail_remedy(fault, "use 1 to %d characters without slash or dot", MOST_ID);
	}
	pm_text_fixed(&text, s.name, sizeof s.name);
	pm_text_add(&text, "%s.yaml", id);
	pm_text_fixed(&s.looked, looked, sizeof looked);
	if (beside_job(&s) || in_data(&s))
		return true;
	pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ 0 }, "no %s %s", kinds[kind].word, quoted);
	return pm_fail_remedy(fault, "looked for %s in %s", s.name, looked);
}

/* --- the only one --- */

/* How many documents stand in the kind's subfolder of `folder`; the name of the
 * alphabetically first is joined into `out`, and `names` lists a few. */
static size_t count_in(enum store_kind kind, const char *folder, char *out, size_t room, struct pm_text *names)
{
	char below[STORE_PATH_ROOM], first[256] = "";
	size_t count = 0;
	DIR *listing = store_path_join(folder, kinds[kind].folder, below, sizeof below) ? opendir(below) : NULL;
	if (!listing)
		return 0;
	for (const struct dirent *entry; (entry = readdir(listing));) {
		size_t length = strlen(entry->d_name);
		if (length < 6 || length >= sizeof first || entry->d_name[0] == '.' || strcmp(entry->d_name + length - 5, ".yaml") != 0)
			continue;
		pm_text_str(names, count ? ", " : "");
		pm_text_visible(names, entry->d_name, length - 5);
		if (!count++ || strcmp(entry->d_name, first) < 0)
			memcpy(first, entry->d_name, length + 1);
	}
	closedir(listing);
	return count && store_path_join(below, first, out, room) ? count : 0;
}

bool store_find_only(enum store_kind kind, const char *job_path, char *out, size_t room, struct pm_fault *fault)
{
	char folders[4][STORE_PATH_ROOM], names[PM_FAULT_TEXT];
	size_t many = 0;
	struct pm_text text;
	if (fault)
		*fault = (struct pm_fault){ 0 };
	if (job_path && store_path_folder(job_path, folders[many], STORE_PATH_ROOM)) {
		many++;
		many += store_path_above(folders[0], folders[1], STORE_PATH_ROOM);
	}
	many += user_folder(folders[many], STORE_PATH_ROOM);
	many += store_data_folder(folders[many], STORE_PATH_ROOM);
	for (size_t i = 0; i < many; i++) {
		pm_text_fixed(&text, names, sizeof names);
		size_t count = count_in(kind, folders[i], out, room, &text);
		if (count == 1)
			return true;
		if (count > 1) {
			pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ 0 }, "there are %zu %ss", count, kinds[kind].word);
			return pm_fail_remedy(fault, "name one of: %s", names);
		}
	}
	return false;
}

bool store_find_registry(char *out, size_t room)
{
	char folder[STORE_PATH_ROOM];
	for (int i = 0; i < 2; i++) {
		struct stat about;
		bool told = i == 0 ? user_folder(folder, sizeof folder) : store_data_folder(folder, sizeof folder);
		if (told && store_path_join(folder, "registry.idx", out, room) && stat(out, &about) == 0 &&
		    S_ISREG(about.st_mode))
			return true;
	}
	return false;
}
