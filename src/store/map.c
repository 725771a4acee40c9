#include "store/map.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include "store/find.h"

static bool fail_errno(struct pm_fault *fault, const char *path, int cause)
{
	enum pm_fault_kind kind = cause == ENOENT || cause == ENOTDIR ? PM_FAULT_MISSING
	                        : cause == EACCES || cause == EPERM ? PM_FAULT_FORBIDDEN
	                                                            : PM_FAULT_UNREADABLE;
	return pm_fail(fault, kind, (struct pm_place){ path, 0, 0 },
	               "registry index not readable: %s", strerror(cause));
}

static bool map_file(struct store_map *map, int file, const char *path, struct pm_fault *fault)
{
	struct stat about;
	if (fstat(file, &about) != 0)
		return fail_errno(fault, path, errno);
	struct pm_place place = { path, 0, 0 };
	if (!S_ISREG(about.st_mode))
		return pm_fail(fault, PM_FAULT_UNREADABLE, place, "a registry index is a regular file, this is none");
	if (about.st_size == 0)
		return pm_fail(fault, PM_FAULT_SYNTAX, place, "not a registry index: the file is empty");
	if (about.st_size > UINT32_MAX)
		return pm_fail(fault, PM_FAULT_LIMIT, place, "registry index larger than 4 GiB");
	size_t length = (size_t)about.st_size;
	void *bytes = mmap(NULL, length, PROT_READ, MAP_PRIVATE, file, 0);
	if (bytes == MAP_FAILED)
		return fail_errno(fault, path, errno);
	struct pm_fault why;
	if (!pm_registry_open(&map->registry, bytes, length, &why)) {
		munmap(bytes, length);
		pm_fail(fault, why.kind, place, "%s", why.message);
		return pm_fail_remedy(fault, "%s", why.remedy);
	}
	map->bytes = bytes;
	map->length = length;
	return true;
}

bool store_map_open(struct store_map *map, const char *path, struct pm_fault *fault)
{
	char found[4096];
	*map = (struct store_map){ 0 };
	if (!path) {
		if (!store_find_registry(found, sizeof found)) {
			pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ 0 }, "no registry index");
			return pm_fail_remedy(fault, "build one with \"portmuster registry --build FILE --from FOLDER\"");
		}
		path = found;
	}
	/* O_NONBLOCK: a fifo in place of the index must not hold the program up */
	int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
	if (file < 0)
		return fail_errno(fault, path, errno);
	bool good = map_file(map, file, path, fault);
	close(file);
	return good;
}

void store_map_close(struct store_map *map)
{
	if (map->bytes)
		munmap(map->bytes, map->length);
	*map = (struct store_map){ 0 };
}
