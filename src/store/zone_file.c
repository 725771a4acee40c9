#include "store/zone_file.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "portmuster/fact.h"
#include "portmuster/slip.h"
#include "store/path.h"
#include "store/save.h"

#define FOLDER "/usr/share/zoneinfo"
#define MOST_NAME 64      /* longer than any that there is */
#define DEEPEST 3         /* parts of a name, as many as the longest of tzdata has */
#define LEAST_SLIP 6      /* a shorter name is one slip away from too many */

static const char not_there[] = "no such time zone";
static const char no_memory[] = "out of memory";

static const char *data_folder(void)
{
	const char *given = getenv("TZDIR");
	return given && *given ? given : FOLDER;
}

/* --- names --- */

/* Neither absolute nor with a dot: no "..", and none of the tables that lie among the zones. */
static bool name_allowed(const char *name)
{
	size_t length = strlen(name);
	if (!pm_is_alpha(name[0]) || length > MOST_NAME || name[length - 1] == '/' || strstr(name, "//"))
		return false;
	for (const char *at = name; *at; at++)
		if (!pm_is_alnum(*at) && !strchr("/_+-", *at))
			return false;
	return true;
}

static const char *last_part(const char *name)
{
	const char *slash = strrchr(name, '/');
	return slash ? slash + 1 : name;
}

/* What lies among the zones and is none, or depends on the machine. */
static bool is_other(const char *name)
{
	static const char *const other[] = { "localtime", "posixrules", "leapseconds", "Factory" };
	for (size_t i = 0; i < sizeof other / sizeof *other; i++)
		if (strcmp(last_part(name), other[i]) == 0)
			return true;
	return false;
}

/* Copies of all zones lie in two folders: one with leap seconds, one without. */
static const char *without_copy(const char *name)
{
	bool copy = strncmp(name, "right/", 6) == 0 || strncmp(name, "posix/", 6) == 0;
	return copy ? name + 6 : NULL;
}

static bool is_file(const char *name, int *error)
{
	char path[STORE_PATH_ROOM];
	struct stat about;
	*error = ENOENT;
	if (!store_path_join(data_folder(), name, path, sizeof path))
		return false;
	if (stat(path, &about) != 0) {
		*error = errno;
		return false;
	}
	return S_ISREG(about.st_mode);
}

static bool installed(void)
{
	static const char *const always[] = { "Etc/UTC", "UTC", "zone1970.tab", "tzdata.zi" };
	int ignored;
	for (size_t i = 0; i < sizeof always / sizeof *always; i++)
		if (is_file(always[i], &ignored))
			return true;
	return false;
}

/* --- the one that was meant --- */

struct near {
	const char *name;
	int rank;                    /* the least so far; 0: none yet */
	char best[MOST_NAME + 1];
};

/* How near a zone is to what was written, 1 the nearest; 0: not near. */
static int rank_of(const char *zone, const char *name)
{
	const char *part = last_part(zone), *written = last_part(name);
	if (pm_same_nocase(zone, name))
		return 1;
	if (pm_same_nocase(part, written))
		return 2;
	if (strlen(name) < LEAST_SLIP)
		return 0;
	struct pm_slip slip = pm_slip_between(zone, name);
	if (pm_slip_single(slip.kind))
		return 3 + (int)slip.kind;
	slip = pm_slip_between(part, written);
	return written == name && pm_slip_single(slip.kind) ? 3 + PM_SLIPS + (int)slip.kind : 0;
}

static void hold(struct near *near, const char *zone)
{
	int rank = name_allowed(zone) && !is_other(zone) ? rank_of(zone, near->name) : 0;
	if (rank && (!near->rank || rank < near->rank || (rank == near->rank && strcmp(zone, near->best) < 0))) {
		near->rank = rank;
		memcpy(near->best, zone, strlen(zone) + 1);
	}
}

/* `below` is a folder within the data, "" for all of it. */
static void look_around(struct near *near, const char *below, int depth)
{
	char folder[STORE_PATH_ROOM], zone[MOST_NAME + 1], path[STORE_PATH_ROOM];
	DIR *listing = store_path_join(data_folder(), below, folder, sizeof folder) ? opendir(folder) : NULL;
	if (!listing)
		return;
	for (const struct dirent *entry; (entry = readdir(listing));) {
		struct pm_text text;
		struct stat about;
		if (strchr(entry->d_name, '.') || (!*below && (!strcmp(entry->d_name, "posix") || !strcmp(entry->d_name, "right"))))
			continue;
		pm_text_fixed(&text, zone, sizeof zone);
		pm_text_add(&text, "%s%s%s", below, *below ? "/" : "", entry->d_name);
		if (text.cut || !store_path_join(folder, entry->d_name, path, sizeof path) || lstat(path, &about) != 0)
			continue;
		/* a link to a folder could lead round and round; one to a file is an older name */
		if (S_ISLNK(about.st_mode) && (stat(path, &about) != 0 || S_ISDIR(about.st_mode)))
			continue;
		if (S_ISDIR(about.st_mode) && depth < DEEPEST)
			look_around(near, zone, depth + 1);
		else if (S_ISREG(about.st_mode))
			hold(near, zone);
	}
	closedir(listing);
}

static void suggest(struct store_zone *zone, const char *name)
{
	struct near near = { .rank = 0 };
	char *written = pm_arena_copy(&zone->arena, name, strnlen(name, MOST_NAME));
	if (!written)
		return;
	for (char *at = written; *at; at++)
		*at = *at == ' ' ? '_' : *at;
	near.name = written;
	look_around(&near, "", 1);
	zone->look.meant = near.rank ? pm_arena_copy(&zone->arena, near.best, strlen(near.best)) : NULL;
}

/* --- looking up --- */

static void read_whole(struct store_zone *zone, const char *name)
{
	char path[STORE_PATH_ROOM], *bytes;
	size_t length;
	struct pm_fault fault = { .message = "its path is too long" };
	struct pm_zone *read = pm_arena_alloc(&zone->arena, sizeof *read);
	if (read && store_path_join(data_folder(), name, path, sizeof path) &&
	    store_read_file(path, PM_ZONE_MOST_BYTES, &zone->arena, &bytes, &length, &fault) &&
	    pm_zone_read(read, name, bytes, length, &zone->arena, &fault)) {
		zone->look.zone = read;
		return;
	}
	zone->look.standing = PM_LOOK_UNCHECKED;
	zone->look.why = zone->arena.failed ? no_memory : pm_arena_copy(&zone->arena, fault.message, strlen(fault.message));
	if (!zone->look.why)
		zone->look.why = no_memory;
}

void store_zone_open(struct store_zone *zone, const char *name, bool whole)
{
	int error;
	const char *bare = without_copy(name);
	*zone = (struct store_zone){ .look.standing = PM_LOOK_UNKNOWN };
	pm_arena_init(&zone->arena);
	if (!bare && name_allowed(name) && !is_other(name)) {
		if (is_file(name, &error)) {
			zone->look.standing = PM_LOOK_FOUND;
			if (whole)
				read_whole(zone, name);
			return;
		}
		if (error != ENOENT && error != ENOTDIR) {
			zone->look = (struct pm_zone_look){ .standing = PM_LOOK_UNCHECKED, .why = strerror(error) };
			return;
		}
	}
	if (!installed()) {
		zone->look = (struct pm_zone_look){ .standing = PM_LOOK_UNCHECKED, .why = "the time zone data is not installed" };
		return;
	}
	zone->look.why = not_there;
	suggest(zone, bare ? bare : name);
}

void store_zone_open_for(struct store_zone *zone, const struct pm_job *job, bool whole)
{
	if (pm_given(job->zone)) {
		store_zone_open(zone, job->zone.text, whole || pm_fact_last(job, "desk/appointment"));
	} else {
		*zone = (struct store_zone){ .look.why = "the job names no time zone" };
		pm_arena_init(&zone->arena);
	}
}

void store_zone_close(struct store_zone *zone)
{
	pm_arena_free(&zone->arena);
	*zone = (struct store_zone){ 0 };
}

bool store_zone_may(const struct store_zone *zone, const char *name, struct pm_place place, struct pm_fault *fault)
{
	char quoted[300];
	struct pm_text text;
	if (zone->look.standing != PM_LOOK_UNKNOWN)
		return true;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, name);
	pm_fail(fault, PM_FAULT_VALUE, place, "%s: %s", zone->look.why, quoted);
	return zone->look.meant ? pm_fail_remedy(fault, "was %s meant?", zone->look.meant)
	                        : pm_fail_remedy(fault, "the names are those of the folder %s, such as Etc/UTC", data_folder());
}
