#include "store/find.h"

#include <dirent.h>
#include <pwd.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "store/path.h"
#include "store/save.h"
#include "store/yaml_read.h"

#define MOST_ID 100

static const struct {
	const char *folder, *word;
	const char *id, *body;   /* the keys by which such a document is known among others */
} kinds[] = {
	[STORE_PLAN] = { "plans", "plan", "plan", "phases" },
	[STORE_GEAR] = { "gear", "gear profile", "gear", "ports" },
	[STORE_SHEET] = { "sheets", "sheet layout", "layout", "sections" },
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

/* Where documents of a kind may lie, in order. */
struct place {
	char folder[STORE_PATH_ROOM];
	bool mixed;      /* with jobs and whatever else: only what is of the kind counts */
};

/* "sections:" at the beginning of a line, with quotes or without. */
static bool has_line(const char *text, const char *key)
{
	size_t length = strlen(key);
	for (const char *at = text; (at = strstr(at, key)); at++) {
		bool quoted = at > text && (at[-1] == '"' || at[-1] == '\'');
		const char *from = at - quoted, *behind = at + length;
		if (quoted && *behind++ != *from)
			continue;
		if (*behind == ':' && (from == text || from[-1] == '\n'))
			return true;
	}
	return false;
}

/* Is the file a document of this kind? One that is broken counts by its lines, so that
 * what is wrong with it is told when it is loaded. */
static bool is_document(enum store_kind kind, const char *path)
{
	struct pm_arena arena;
	struct store_tree tree;
	const char *id = kinds[kind].id, *body = kinds[kind].body;
	char *text;
	size_t length;
	pm_arena_init(&arena);
	bool is = store_read_file(path, STORE_MOST_BYTES, &arena, &text, &length, NULL) && strstr(text, body) && strstr(text, id);
	if (is && !(has_line(text, id) && has_line(text, body)))
		is = store_tree_read(text, length, path, &arena, &tree, NULL) && tree.root && tree.root->kind == STORE_NODE_MAP &&
		     store_tree_value(tree.root, id, strlen(id)) && store_tree_value(tree.root, body, strlen(body));
	pm_arena_free(&arena);
	return is;
}

/* How many documents of the kind lie there; the name of the alphabetically first is
 * joined into `out`, and `names` lists a few. */
static size_t count_in(enum store_kind kind, const struct place *place, const char *job_path, char *out, size_t room,
                       struct pm_text *names)
{
	const struct search s = { .job_path = job_path };
	char first[256] = "", path[STORE_PATH_ROOM];
	size_t count = 0;
	DIR *listing = opendir(place->folder);
	if (!listing)
		return 0;
	for (const struct dirent *entry; (entry = readdir(listing));) {
		size_t length = strlen(entry->d_name);
		struct stat about;
		if (length < 6 || length >= sizeof first || entry->d_name[0] == '.' || strcmp(entry->d_name + length - 5, ".yaml") != 0)
			continue;
		if (place->mixed && (!store_path_join(place->folder, entry->d_name, path, sizeof path) || stat(path, &about) != 0 ||
		                     !S_ISREG(about.st_mode) || is_job(&s, &about) || !is_document(kind, path)))
			continue;
		pm_text_str(names, count ? ", " : "");
		pm_text_visible(names, entry->d_name, length - 5);
		if (!count++ || strcmp(entry->d_name, first) < 0)
			memcpy(first, entry->d_name, length + 1);
	}
	closedir(listing);
	return count && store_path_join(place->folder, first, out, room) ? count : 0;
}

static size_t add_place(struct place *place, enum store_kind kind, const char *folder, bool mixed)
{
	struct pm_text text;
	place->mixed = mixed;
	if (!mixed)
		return store_path_join(folder, kinds[kind].folder, place->folder, sizeof place->folder);
	pm_text_fixed(&text, place->folder, sizeof place->folder);
	pm_text_str(&text, folder);
	return !text.cut;
}

static size_t list_places(enum store_kind kind, const char *job_path, struct place place[static 6])
{
	char folder[STORE_PATH_ROOM], above[STORE_PATH_ROOM];
	size_t many = 0;
	if (job_path && store_path_folder(job_path, folder, sizeof folder)) {
		many += add_place(&place[many], kind, folder, true);
		many += add_place(&place[many], kind, folder, false);
		if (store_path_above(folder, above, sizeof above)) {
			many += add_place(&place[many], kind, above, true);
			many += add_place(&place[many], kind, above, false);
		}
	}
	if (user_folder(folder, sizeof folder))
		many += add_place(&place[many], kind, folder, false);
	if (store_data_folder(folder, sizeof folder))
		many += add_place(&place[many], kind, folder, false);
	return many;
}

bool store_find_only(enum store_kind kind, const char *job_path, char *out, size_t room, struct pm_fault *fault)
{
	struct place places[6];
	char names[PM_FAULT_TEXT];
	struct pm_text text;
	if (fault)
		*fault = (struct pm_fault){ 0 };
	size_t many = list_places(kind, job_path, places);
	for (size_t i = 0; i < many; i++) {
		pm_text_fixed(&text, names, sizeof names);
		size_t count = count_in(kind, &places[i], job_path, out, room, &text);
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
