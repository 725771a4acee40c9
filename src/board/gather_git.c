/* The job files of a git revision. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "board/gather_child.h"
#include "board/gather_parts.h"
#include "portmuster/text.h"
#include "store/path.h"

#define AHEAD 32u                    /* contents asked for before the first is read; less than the smallest pipe takes */
#define MOST_SAID 65536u
#define MOST_LISTING (256u << 20)    /* of the listing of a revision */

/* --- where --- */

/* The folder to ask in, and what of it: all, or one file. Of what is no longer on disk,
 * the nearest folder above it that is. */
static bool ask_where(const char *path, char folder[static STORE_PATH_ROOM], const char **what)
{
	struct stat about;
	struct pm_text text;
	*what = ".";
	pm_text_fixed(&text, folder, STORE_PATH_ROOM);
	pm_text_str(&text, path);
	if (text.cut)
		return false;
	while (stat(folder, &about) != 0 || !S_ISDIR(about.st_mode)) {
		char above[STORE_PATH_ROOM];
		if (!store_path_folder(folder, above, sizeof above) || pm_same(above, folder))
			return false;
		*what = path + (pm_same(above, ".") && strncmp(path, "./", 2) != 0 ? 0 : strlen(above));
		while (**what == '/')
			(*what)++;
		pm_text_fixed(&text, folder, STORE_PATH_ROOM);
		pm_text_str(&text, above);
	}
	return true;
}

static bool is_name(const char *text, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if (pm_hex_value((unsigned char)text[i]) < 0)
			return false;
	return length == 40 || length == 64;
}

static bool unknown(const char *folder, const char *revision, const char *why, struct pm_fault *fault)
{
	char quoted[280];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, revision);
	pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ folder, 0, 0 }, "%s %s", quoted, why);
	return pm_fail_remedy(fault, "name a commit, tag or branch that \"git log\" knows there, such as HEAD~1");
}

bool gather_git_resolve(const char *path, const char *revision, char commit[static 65], struct pm_fault *fault)
{
	char folder[STORE_PATH_ROOM], wanted[400];
	const char *what;
	struct pm_text text, said;
	struct pm_arena arena;
	struct gather_child child;
	pm_text_fixed(&text, wanted, sizeof wanted);
	pm_text_add(&text, "%s^{commit}", revision);
	if (!ask_where(path, folder, &what))
		return store_fail_system(fault, path, ENAMETOOLONG, "use");
	/* one that begins so would be an option */
	if (!*revision || *revision == '-' || text.cut)
		return unknown(folder, revision, "is no git revision", fault);
	if (!gather_child_begin(&child, folder, (const char *const []){ "rev-parse", "--verify", "--quiet", wanted, NULL }, true, fault))
		return false;
	pm_arena_init(&arena);
	pm_text_grow(&said, &arena);
	gather_child_told(&child);
	bool whole = gather_child_all(&child, &said, MOST_SAID);
	int status = gather_child_end(&child);
	size_t length = whole ? strcspn(said.data, "\r\n") : 0;
	bool good = status == 0 && is_name(said.data, length);
	if (good) {
		memcpy(commit, said.data, length);
		commit[length] = '\0';
	} else if (status == 127) {
		gather_no_git(fault, folder);
	} else if (status == 1 && length == 0) {
		unknown(folder, revision, "is not known to this repository", fault);
	} else {
		char shown[200];
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_visible(&text, said.data, length);
		pm_fail(fault, PM_FAULT_UNREADABLE, (struct pm_place){ folder, 0, 0 }, "git does not tell what the revision is: %s",
		        *shown ? shown : "it said nothing");
		pm_fail_remedy(fault, "the folder must lie in a git repository that this user may read");
	}
	pm_arena_free(&arena);
	return good;
}

/* --- contents --- */

/* The head of an answer: "NAME blob SIZE", or "NAME missing". */
static bool take_head(struct gather_child *child, uint64_t *size, bool *there)
{
	char line[160];
	size_t length = 0;
	for (;;) {
		if (length == sizeof line - 1 || !gather_child_take(child, line + length, 1))
			return false;
		if (line[length] == '\n')
			break;
		length++;
	}
	line[length] = '\0';
	const char *last = strrchr(line, ' ');
	*there = last && pm_read_number(last + 1, INT64_MAX, size);
	return last != NULL;
}

/* One content; null with `*size` when it is too large, and with 0 when there is none. */
static bool take_content(struct gather_child *child, char **text, uint64_t *size)
{
	bool there;
	char end;
	*text = NULL;
	*size = 0;
	if (!take_head(child, size, &there))
		return false;
	if (!there) {
		*size = 0;
		return true;
	}
	if (*size <= STORE_MOST_BYTES && !(*text = malloc((size_t)*size + 1)))
		return false;
	if (!gather_child_take(child, *text, (size_t)*size) || !gather_child_take(child, &end, 1)) {
		free(*text);
		*text = NULL;
		return false;
	}
	if (*text)
		(*text)[*size] = '\0';
	return true;
}

static bool ask_content(struct gather_child *child, const char *blob)
{
	char line[80];
	struct pm_text text;
	pm_text_fixed(&text, line, sizeof line);
	pm_text_add(&text, "%s\n", blob);
	/* a short line into a pipe with room: whole or not at all */
	return write(child->in, line, text.length) == (ssize_t)text.length;
}

static bool not_given(struct pm_fault *fault, const char *path)
{
	return pm_fail(fault, PM_FAULT_UNREADABLE, (struct pm_place){ path, 0, 0 }, "git does not give the file of this revision");
}

char *gather_git_text(const char *path, const char *blob, size_t *length, struct pm_fault *fault)
{
	char folder[STORE_PATH_ROOM], *content = NULL;
	const char *what;
	struct gather_child child;
	struct pm_arena arena;
	struct pm_text text;
	if (!ask_where(path, folder, &what)) {
		store_fail_system(fault, path, ENAMETOOLONG, "use");
		return NULL;
	}
	if (!gather_child_begin(&child, folder, (const char *const []){ "cat-file", "blob", blob, NULL }, false, fault))
		return NULL;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	gather_child_told(&child);
	bool whole = gather_child_all(&child, &text, STORE_MOST_BYTES);
	if (gather_child_end(&child) == 0 && whole && (content = malloc(text.length + 1)))
		memcpy(content, text.data, text.length + 1);
	*length = text.length;
	pm_arena_free(&arena);
	if (!content)
		not_given(fault, path);
	return content;
}

/* --- the listing --- */

struct entry {
	const char *blob, *path;
};

struct listing {
	struct pm_arena arena;
	const char *what;          /* of the folder: ".", or a file or folder in it */
	size_t what_length;        /* slashes at the end left out */
	struct entry *entry;
	size_t count, room;
	bool single;               /* it is of one file, named itself */
};

/* Would a search on disk come to this file? */
static bool wanted(char *path)
{
	char *name = path;
	for (char *slash; (slash = strchr(name, '/')); name = slash + 1) {
		*slash = '\0';
		bool inside = gather_folder_name(name);
		*slash = '/';
		if (!inside)
			return false;
	}
	return gather_job_name(name);
}

/* What of a path lies below what was asked for; empty: it is that itself. */
static char *below(const struct listing *l, char *path)
{
	if (pm_same(l->what, ".") || strncmp(path, l->what, l->what_length) != 0)
		return path;
	char *rest = path + l->what_length;
	return *rest == '/' ? rest + 1 : *rest ? path : rest;
}

/* "MODE blob NAME\tPATH"; what is no ordinary file is passed over. */
static bool add_entry(struct listing *l, char *record)
{
	char *tab = strchr(record, '\t');
	if (!tab || strncmp(record, "100", 3) != 0 || tab - record < 12 || strncmp(record + 6, " blob ", 6) != 0)
		return true;
	*tab = '\0';
	const char *blob = record + 12;
	char *rest = below(l, tab + 1);
	l->single = l->single || !*rest;
	if (!is_name(blob, strlen(blob)) || (*rest && !wanted(rest)))
		return true;
	void *items = l->entry;
	struct entry *entry = pm_arena_push(&l->arena, &items, &l->count, &l->room, sizeof *entry);
	l->entry = items;
	if (entry)
		*entry = (struct entry){ blob, tab + 1 };
	return entry != NULL;
}

/* Have git list what there is at a commit; with `deep`, what is in folders too. */
static bool ask_listing(const char *folder, const char *what, const char *commit, bool deep, struct pm_text *text,
                        struct pm_fault *fault)
{
	struct gather_child child;
	const char *const arguments[] = {
		"ls-tree", "-z", deep ? "-r" : commit, deep ? commit : "--", deep ? "--" : what, deep ? what : NULL, NULL,
	};
	if (!gather_child_begin(&child, folder, arguments, false, fault))
		return false;
	gather_child_told(&child);
	bool good = gather_child_all(&child, text, MOST_LISTING);
	int status = gather_child_end(&child);
	return (good && status == 0) ||
	       pm_fail(fault, PM_FAULT_UNREADABLE, (struct pm_place){ folder, 0, 0 }, "git does not list the files of this revision");
}

static bool not_there(const char *path, struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ path, 0, 0 }, "no such file or folder at this revision");
}

bool gather_git_has(const char *path, const char *commit, struct pm_fault *fault)
{
	struct stat about;
	struct pm_arena arena;
	struct pm_text text;
	char folder[STORE_PATH_ROOM];
	const char *what;
	if (stat(path, &about) == 0)
		return true;
	if (!ask_where(path, folder, &what))
		return store_fail_system(fault, path, ENAMETOOLONG, "use");
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	bool good = ask_listing(folder, what, commit, false, &text, fault) && (text.length || not_there(path, fault));
	if (arena.failed)
		pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ path, 0, 0 }, "out of memory");
	pm_arena_free(&arena);
	return good;
}

static bool list(struct listing *l, const char *path, const char *folder, const char *what, const char *commit,
                 struct pm_fault *fault)
{
	struct pm_text text;
	pm_text_grow(&text, &l->arena);
	if (!ask_listing(folder, what, commit, true, &text, fault))
		return false;
	bool good = true;
	l->what = what;
	l->what_length = strlen(what);
	while (l->what_length && what[l->what_length - 1] == '/')
		l->what_length--;
	for (size_t at = 0, length; good && at < text.length; at += length + 1) {
		length = strlen(text.data + at);
		good = add_entry(l, text.data + at);
	}
	if (good && !pm_same(what, ".") && !text.length)
		return not_there(path, fault);
	return good || pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ folder, 0, 0 }, "out of memory");
}

/* The next content, or why there is none; once git fails there are no more. */
static void fetch(struct gather_child *child, bool *good, struct gather_found *found, struct pm_fault *why)
{
	uint64_t size = 0;
	*good = *good && take_content(child, &found->text, &size);
	found->length = (size_t)size;
	if (found->text)
		return;
	found->fault = why;
	if (!*good || !size)
		not_given(why, found->path);
	else
		pm_fail(why, PM_FAULT_LIMIT, (struct pm_place){ found->path, 0, 0 }, "larger than %u bytes", STORE_MOST_BYTES);
}

/* `*stopped`: the taker said so. */
static bool read_all(const struct listing *l, const char *folder, uint32_t number, gather_take *take, void *context,
                     bool *stopped, struct pm_fault *fault)
{
	struct gather_child child;
	size_t asked = 0;
	bool good = true;
	if (!gather_child_begin(&child, folder, (const char *const []){ "cat-file", "--batch", NULL }, false, fault))
		return false;
	for (size_t i = 0; !*stopped && i < l->count; i++) {
		char path[STORE_PATH_ROOM];
		struct pm_fault why = { 0 };
		struct gather_found found = { .folder = number, .named = l->single, .path = path, .blob = l->entry[i].blob };
		if (!store_path_join(folder, l->entry[i].path, path, sizeof path))
			found.path = l->entry[i].path;   /* no file could bear it; the row says so by its length */
		for (; good && asked < l->count && asked < i + AHEAD; asked++)
			good = ask_content(&child, l->entry[asked].blob);
		fetch(&child, &good, &found, &why);
		*stopped = !take(context, &found);
	}
	gather_child_end(&child);
	return true;
}

/* Leave out what another folder as given has led to already. */
static bool leave_out(struct listing *l, const char *folder, struct gather_seen *seen)
{
	char *real = realpath(folder, NULL);
	size_t kept = 0;
	for (size_t i = 0; real && i < l->count; i++) {
		const char *whole = pm_say(&l->arena, "%s/%s", real, l->entry[i].path);
		if (whole && !gather_seen_add(seen, 0, 0, whole))
			l->entry[kept++] = l->entry[i];
	}
	l->count = real ? kept : l->count;
	free(real);
	return !l->arena.failed;
}

bool gather_git_scan(const char *path, uint32_t folder, const char *commit, struct gather_seen *seen, gather_take *take, void *context)
{
	struct listing l = { 0 };
	struct pm_fault fault = { 0 };
	char where[STORE_PATH_ROOM];
	const char *what;
	bool stopped = false;
	pm_arena_init(&l.arena);
	bool good = ask_where(path, where, &what)
		? list(&l, path, where, what, commit, &fault) && leave_out(&l, where, seen) && read_all(&l, where, folder, take, context, &stopped, &fault)
		: store_fail_system(&fault, path, ENAMETOOLONG, "use");
	if (l.arena.failed)
		pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ path, 0, 0 }, "out of memory");
	if (!good)
		good = take(context, &(struct gather_found){ .folder = folder, .path = path, .fault = &fault });
	pm_arena_free(&l.arena);
	return good && !stopped;
}
