#include "store/path.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "portmuster/text.h"

#define MOST_LINKS 40

static bool filled(const struct pm_text *text)
{
	return !text->cut;
}

const char *store_path_name(const char *path)
{
	const char *slash = strrchr(path, '/');
	return slash ? slash + 1 : path;
}

bool store_path_folder(const char *path, char *out, size_t room)
{
	struct pm_text text;
	size_t length = (size_t)(store_path_name(path) - path);
	while (length > 1 && path[length - 1] == '/')
		length--;
	pm_text_fixed(&text, out, room);
	pm_text_put(&text, length ? path : ".", length ? length : 1);
	return filled(&text);
}

bool store_path_above(const char *folder, char *out, size_t room)
{
	struct pm_text text;
	size_t length = strlen(folder);
	while (length > 1 && folder[length - 1] == '/')
		length--;
	pm_text_fixed(&text, out, room);
	pm_text_put(&text, folder, length);
	if (pm_same(out, ".")) {
		pm_text_char(&text, '.');
		return filled(&text);
	}
	const char *name = store_path_name(out);
	if (pm_same(name, ".") || pm_same(name, "..")) {
		pm_text_str(&text, "/..");
		return filled(&text);
	}
	char copy[STORE_PATH_ROOM];
	if (!filled(&text) || length >= sizeof copy)
		return false;
	memcpy(copy, out, length + 1);
	return store_path_folder(copy, out, room);
}

bool store_path_join(const char *folder, const char *name, char *out, size_t room)
{
	struct pm_text text;
	size_t length = strlen(folder);
	pm_text_fixed(&text, out, room);
	if (!pm_same(folder, "."))
		pm_text_add(&text, "%s%s", folder, length && folder[length - 1] == '/' ? "" : "/");
	pm_text_str(&text, name);
	return filled(&text);
}

bool store_path_make(const char *folder, struct pm_fault *fault)
{
	struct stat about;
	if (mkdir(folder, 0777) == 0 || (errno == EEXIST && stat(folder, &about) == 0 && S_ISDIR(about.st_mode)))
		return true;
	if (errno != EEXIST)
		return store_fail_system(fault, folder, errno, "make the folder");
	pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ folder, 0, 0 }, "this is no folder");
	return pm_fail_remedy(fault, "name another folder");
}

static bool too_long(const char *path, struct pm_fault *fault)
{
	return store_fail_system(fault, path, ENAMETOOLONG, "use");
}

bool store_path_follow(const char *path, char *out, size_t room, struct pm_fault *fault)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	pm_text_str(&text, path);
	if (!filled(&text))
		return too_long(path, fault);
	for (int links = 0; links < MOST_LINKS; links++) {
		struct stat about;
		char target[STORE_PATH_ROOM], folder[STORE_PATH_ROOM], joined[STORE_PATH_ROOM];
		if (lstat(out, &about) != 0 || !S_ISLNK(about.st_mode))
			return true;
		ssize_t length = readlink(out, target, sizeof target - 1);
		if (length < 0)
			return store_fail_system(fault, path, errno, "follow");
		target[length] = '\0';
		if (!store_path_folder(out, folder, sizeof folder) ||
		    !store_path_join(target[0] == '/' ? "." : folder, target, joined, sizeof joined))
			return too_long(path, fault);
		pm_text_fixed(&text, out, room);
		pm_text_str(&text, joined);
		if (!filled(&text))
			return too_long(path, fault);
	}
	return store_fail_system(fault, path, ELOOP, "follow");
}

/* What the common errors mean to somebody with a file in front of them. */
static const struct {
	int error;
	enum pm_fault_kind kind;
	const char *message, *remedy;
} errors[] = {
	{ ENOENT, PM_FAULT_MISSING, "no such file or folder", "" },
	{ ENOTDIR, PM_FAULT_MISSING, "a part of the path is no folder", "" },
	{ EACCES, PM_FAULT_FORBIDDEN, "permission denied", "ask the owner of the file or folder" },
	{ EPERM, PM_FAULT_FORBIDDEN, "not permitted", "ask the owner of the file or folder" },
	{ EROFS, PM_FAULT_FORBIDDEN, "the file system can't be written to", "use another folder or drive" },
	{ ENOSPC, PM_FAULT_FULL, "no room left on the device", "make room, then save again" },
	{ EDQUOT, PM_FAULT_FULL, "disk quota used up", "make room, then save again" },
	{ EFBIG, PM_FAULT_FULL, "larger than the file system allows", "" },
	{ EISDIR, PM_FAULT_UNREADABLE, "a folder, not a file", "name a file" },
	{ ENAMETOOLONG, PM_FAULT_VALUE, "the name is too long", "use a shorter one" },
	{ ELOOP, PM_FAULT_UNREADABLE, "symbolic links lead in a circle", "" },
	{ EEXIST, PM_FAULT_VALUE, "exists already", "choose another name" },
	{ EIO, PM_FAULT_UNREADABLE, "the device reports an error", "save to another drive" },
	{ EMFILE, PM_FAULT_UNREADABLE, "too many open files", "" },
	{ ENFILE, PM_FAULT_UNREADABLE, "too many open files in the system", "" },
	{ ENOLCK, PM_FAULT_UNREADABLE, "the file system has no locks", "use another folder or drive" },
	{ EOPNOTSUPP, PM_FAULT_UNREADABLE, "the file system can't do that", "use another folder or drive" },
	{ ENOMEM, PM_FAULT_MEMORY, "out of memory", "" },
};

bool store_fail_system(struct pm_fault *fault, const char *path, int error, const char *doing)
{
	struct pm_place place = { path, 0, 0 };
	for (size_t i = 0; i < sizeof errors / sizeof *errors; i++) {
		if (errors[i].error != error)
			continue;
		pm_fail(fault, errors[i].kind, place, "can't %s: %s", doing, errors[i].message);
		return pm_fail_remedy(fault, "%s", errors[i].remedy);
	}
	return pm_fail(fault, PM_FAULT_UNREADABLE, place, "can't %s: system error %d", doing, error);
}
