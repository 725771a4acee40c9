/* Which job files lie in the folders? Real folders are gone through first, then
 * what was named singly, and links last, in the order of their paths: so a file
 * that can be reached in several ways always has the same row. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "board/gather_parts.h"
#include "portmuster/text.h"
#include "store/path.h"

/* --- names --- */

bool gather_job_name(const char *name)
{
	size_t length = strlen(name);
	bool yaml = (length > 5 && !strcmp(name + length - 5, ".yaml")) || (length > 4 && !strcmp(name + length - 4, ".yml"));
	return yaml && name[0] != '.' && !pm_same(name, STORE_FLEET_FILE);
}

bool gather_folder_name(const char *name)
{
	static const char *const others[] = { "plans", "gear", "sheets", "evidence" };
	for (size_t i = 0; i < sizeof others / sizeof *others; i++)
		if (pm_same(name, others[i]))
			return false;
	return name[0] != '.';
}

/* --- what was seen --- */

struct spot {
	uint64_t device, inode;
	const char *name;          /* "": the folder itself */
};

struct gather_seen {
	struct pm_arena *arena;
	struct spot *slot;         /* open addressing; a null name is an empty slot */
	size_t slots, count;
};

struct gather_seen *gather_seen_begin(struct pm_arena *arena)
{
	struct gather_seen *seen = pm_arena_alloc(arena, sizeof *seen);
	if (seen) {
		*seen = (struct gather_seen){ .arena = arena, .slots = 64 };
		seen->slot = pm_arena_array(arena, seen->slots, sizeof *seen->slot);
	}
	return seen && seen->slot ? seen : NULL;
}

static struct spot *slot_of(const struct gather_seen *seen, uint64_t device, uint64_t inode, const char *name)
{
	uint64_t hash = (device * 31 + inode) * 0x9E3779B97F4A7C15u;
	for (const char *at = name; *at; at++)
		hash = (hash ^ (unsigned char)*at) * 1099511628211u;
	for (size_t at = (size_t)(hash ^ hash >> 32);; at++) {
		struct spot *spot = &seen->slot[at & (seen->slots - 1)];
		if (!spot->name || (spot->device == device && spot->inode == inode && pm_same(spot->name, name)))
			return spot;
	}
}

static bool widen(struct gather_seen *seen)
{
	struct gather_seen wider = { .arena = seen->arena, .slots = seen->slots * 2, .count = seen->count };
	wider.slot = pm_arena_array(seen->arena, wider.slots, sizeof *wider.slot);
	if (!wider.slot)
		return false;
	for (size_t i = 0; i < seen->slots; i++)
		if (seen->slot[i].name)
			*slot_of(&wider, seen->slot[i].device, seen->slot[i].inode, seen->slot[i].name) = seen->slot[i];
	*seen = wider;
	return true;
}

bool gather_seen_has(const struct gather_seen *seen, uint64_t device, uint64_t inode, const char *name)
{
	return slot_of(seen, device, inode, name)->name != NULL;
}

bool gather_seen_add(struct gather_seen *seen, uint64_t device, uint64_t inode, const char *name)
{
	if (gather_seen_has(seen, device, inode, name))
		return true;
	const char *kept = pm_arena_copy(seen->arena, name, strlen(name));
	if (!kept || (seen->count >= seen->slots / 2 && !widen(seen)))
		return false;
	*slot_of(seen, device, inode, name) = (struct spot){ device, inode, kept };
	seen->count++;
	return false;
}

/* --- the search --- */

struct lead {
	char *path;
	uint32_t folder;
	unsigned depth;
};

struct leads {
	struct lead *item;
	size_t count, room;
};

struct scan {
	gather_take *take;
	void *context;
	struct pm_arena arena;
	struct gather_seen *folders, *files;
	struct leads deeper, links, singles;
	bool naming;               /* what is taken was given itself */
	bool good;                 /* go on */
};

static void note(struct scan *s, struct leads *list, const char *path, uint32_t folder, unsigned depth)
{
	void *items = list->item;
	char *copy = pm_arena_copy(&s->arena, path, strlen(path));
	struct lead *lead = copy ? pm_arena_push(&s->arena, &items, &list->count, &list->room, sizeof *lead) : NULL;
	list->item = items;
	if (lead)
		*lead = (struct lead){ copy, folder, depth };
	s->good = s->good && lead;
}

static void take(struct scan *s, const char *path, uint32_t folder, const struct pm_fault *fault)
{
	s->good = s->good && s->take(s->context, &(struct gather_found){ .folder = folder, .path = path, .fault = fault,
	                                                                 .named = s->naming });
}

static void take_error(struct scan *s, const struct lead *lead, int error)
{
	struct pm_fault fault = { 0 };
	store_fail_system(&fault, lead->path, error, "look into the folder");
	take(s, lead->path, lead->folder, &fault);
}

static void enter(struct scan *s, const struct lead *lead, const char *path, const char *name)
{
	if (!gather_folder_name(name))
		return;
	if (lead->depth < GATHER_DEEPEST) {
		note(s, &s->deeper, path, lead->folder, lead->depth + 1);
		return;
	}
	struct pm_fault fault = { 0 };
	pm_fail(&fault, PM_FAULT_LIMIT, (struct pm_place){ path, 0, 0 }, "more than %d folders within each other", GATHER_DEEPEST);
	pm_fail_remedy(&fault, "name this folder itself");
	take(s, path, lead->folder, &fault);
}

/* What the listing does not tell has to be asked of the entry. */
static unsigned char type_of(const char *path, unsigned char told)
{
	struct stat about;
	if (told != DT_UNKNOWN)
		return told;
	if (lstat(path, &about) != 0)
		return DT_UNKNOWN;
	return S_ISDIR(about.st_mode) ? DT_DIR : S_ISREG(about.st_mode) ? DT_REG : S_ISLNK(about.st_mode) ? DT_LNK : DT_FIFO;
}

static void list_entry(struct scan *s, const struct lead *lead, const struct dirent *entry)
{
	char path[STORE_PATH_ROOM];
	const char *name = entry->d_name;
	bool job = gather_job_name(name);
	if (name[0] == '.' || (entry->d_type == DT_REG && !job))
		return;
	if (!store_path_join(lead->path, name, path, sizeof path)) {
		take_error(s, lead, ENAMETOOLONG);
		return;
	}
	unsigned char type = type_of(path, entry->d_type);
	if (type == DT_DIR)
		enter(s, lead, path, name);
	else if (type == DT_REG && job)
		take(s, path, lead->folder, NULL);
	else if (type == DT_LNK && (job || gather_folder_name(name)))
		note(s, &s->links, path, lead->folder, lead->depth);
}

static void list_folder(struct scan *s, const struct lead *lead)
{
	struct stat about;
	int file = open(lead->path, O_RDONLY | O_DIRECTORY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
	DIR *listing = file >= 0 && fstat(file, &about) == 0 ? fdopendir(file) : NULL;
	if (!listing) {
		take_error(s, lead, errno);
		if (file >= 0)
			close(file);
		return;
	}
	if (!gather_seen_add(s->folders, (uint64_t)about.st_dev, (uint64_t)about.st_ino, "")) {
		const struct dirent *entry;
		while (s->good && (errno = 0, entry = readdir(listing)))
			list_entry(s, lead, entry);
		if (s->good && errno)
			take_error(s, lead, errno);
	}
	closedir(listing);
}

static void list_deeper(struct scan *s)
{
	while (s->good && s->deeper.count) {
		struct lead lead = s->deeper.item[--s->deeper.count];
		list_folder(s, &lead);
	}
}

/* Take a file that was not found in the listing of its own folder, unless it was
 * found there or in another way. */
static void take_apart(struct scan *s, const struct lead *lead)
{
	char folder[STORE_PATH_ROOM];
	struct stat about;
	char *real = realpath(lead->path, NULL);
	const char *name = real ? store_path_name(real) : "";
	bool known = false;
	/* one that leads nowhere is a row: reading it tells why */
	if (real && store_path_folder(real, folder, sizeof folder) && stat(folder, &about) == 0) {
		uint64_t device = (uint64_t)about.st_dev, inode = (uint64_t)about.st_ino;
		known = (gather_job_name(name) && gather_seen_has(s->folders, device, inode, "")) ||
		        gather_seen_add(s->files, device, inode, name);
	}
	free(real);
	if (!known)
		take(s, lead->path, lead->folder, NULL);
}

static void follow(struct scan *s, const struct lead *lead)
{
	struct stat about;
	const char *name = store_path_name(lead->path);
	bool there = stat(lead->path, &about) == 0;
	if (there && S_ISDIR(about.st_mode))
		enter(s, lead, lead->path, name);
	else if (gather_job_name(name) && (!there || S_ISREG(about.st_mode)))
		take_apart(s, lead);
	list_deeper(s);
}

static int by_path(const void *a, const void *b)
{
	const struct lead *x = a, *y = b;
	return x->folder != y->folder ? (x->folder > y->folder) - (x->folder < y->folder) : strcmp(x->path, y->path);
}

/* A link may lead to further ones: those are the next round's. */
static void follow_links(struct scan *s)
{
	while (s->good && s->links.count) {
		struct leads round = s->links;
		s->links = (struct leads){ 0 };
		qsort(round.item, round.count, sizeof *round.item, by_path);
		for (size_t i = 0; s->good && i < round.count; i++)
			follow(s, &round.item[i]);
	}
}

static void given(struct scan *s, const char *path, uint32_t folder)
{
	struct stat about;
	struct pm_fault fault = { 0 };
	if (stat(path, &about) == 0) {
		note(s, S_ISDIR(about.st_mode) ? &s->deeper : &s->singles, path, folder, 0);
		list_deeper(s);
		return;
	}
	store_fail_system(&fault, path, errno, "open");
	take(s, path, folder, &fault);
}

bool gather_scan(const char *const *folder, size_t count, gather_take *taker, void *context)
{
	struct scan s = { .take = taker, .context = context };
	pm_arena_init(&s.arena);
	s.folders = gather_seen_begin(&s.arena);
	s.files = gather_seen_begin(&s.arena);
	s.good = s.folders && s.files;
	for (size_t i = 0; s.good && i < count; i++)
		given(&s, folder[i], (uint32_t)i);
	s.naming = true;
	for (size_t i = 0; s.good && i < s.singles.count; i++)
		take_apart(&s, &s.singles.item[i]);
	s.naming = false;
	follow_links(&s);
	bool good = s.good && !s.arena.failed;
	pm_arena_free(&s.arena);
	return good;
}

bool gather_reachable(const char *path, struct pm_fault *fault)
{
	struct stat about;
	if (stat(path, &about) != 0)
		return store_fail_system(fault, path, errno, "open");
	if (!S_ISDIR(about.st_mode))
		return true;
	int file = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
	if (file < 0)
		return store_fail_system(fault, path, errno, "look into the folder");
	close(file);
	return true;
}
