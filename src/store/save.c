#include "store/save.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "portmuster/seal.h"
#include "portmuster/text.h"
#include "store/path.h"

#define FIRST_ROOM 65536u   /* for input whose size nobody knows beforehand */

static struct pm_place file_place(const char *path)
{
	return (struct pm_place){ path, 0, 0 };
}

/* --- reading --- */

static int open_regular(const char *path, size_t *size, struct pm_fault *fault)
{
	struct stat about;
	/* O_NONBLOCK: a pipe must not keep us waiting for its other end. */
	int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
	if (file < 0 || fstat(file, &about) != 0) {
		store_fail_system(fault, path, errno, "open");
		if (file >= 0)
			close(file);
		return -1;
	}
	*size = about.st_size > 0 ? (size_t)about.st_size : 0;
	if (S_ISREG(about.st_mode))
		return file;
	close(file);
	if (S_ISDIR(about.st_mode))
		store_fail_system(fault, path, EISDIR, "open");
	else
		pm_fail(fault, PM_FAULT_UNREADABLE, file_place(path), "can't open: not an ordinary file");
	return -1;
}

static bool too_large(const char *path, size_t most, struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_LIMIT, file_place(path), "larger than %zu bytes", most);
}

/* Read to the end, one byte more than `most` at the utmost. */
static bool read_all(int file, const char *path, size_t room, size_t most, struct pm_arena *arena,
                     char **text, size_t *length, struct pm_fault *fault)
{
	char *bytes = pm_arena_alloc(arena, room + 1);
	size_t used = 0;
	while (bytes) {
		if (used > most)
			return too_large(path, most, fault);
		if (used == room) {
			char *wider = pm_arena_alloc(arena, room * 2 + 1);
			if (!wider)
				break;
			memcpy(wider, bytes, used);
			bytes = wider;
			room *= 2;
		}
		ssize_t got = read(file, bytes + used, room - used);
		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0)
			return store_fail_system(fault, path, errno, "read");
		if (got == 0) {
			bytes[used] = '\0';
			*text = bytes;
			*length = used;
			return true;
		}
		used += (size_t)got;
	}
	return pm_fail(fault, PM_FAULT_MEMORY, file_place(path), "out of memory");
}

bool store_read_file(const char *path, size_t most, struct pm_arena *arena,
                     char **text, size_t *length, struct pm_fault *fault)
{
	if (pm_same(path, "-"))
		return read_all(STDIN_FILENO, path, FIRST_ROOM, most, arena, text, length, fault);
	size_t size = 0;
	int file = open_regular(path, &size, fault);
	if (file < 0)
		return false;
	/* Room for one byte more, so that the end is seen without growing. */
	bool good = size > most ? too_large(path, most, fault)
	                        : read_all(file, path, size + 1, most, arena, text, length, fault);
	close(file);
	return good;
}

/* --- jobs --- */

enum disk { DISK_SAME, DISK_OTHER, DISK_GONE, DISK_UNTOLD };

/* How the file compares with two digests, either of which will do. */
static enum disk compare(const char *path, const char *before, const char *now, struct pm_fault *fault)
{
	struct pm_arena arena;
	struct pm_fault why = { 0 };
	char *text, hex[65];
	size_t length;
	enum disk disk;
	pm_arena_init(&arena);
	if (store_read_file(path, STORE_MOST_BYTES, &arena, &text, &length, &why)) {
		pm_sha256_hex(text, length, hex);
		disk = pm_same(hex, before) || pm_same(hex, now) ? DISK_SAME : DISK_OTHER;
	} else if (why.kind == PM_FAULT_MISSING) {
		disk = DISK_GONE;
	} else if (why.kind == PM_FAULT_LIMIT) {
		disk = DISK_OTHER;
	} else {
		disk = DISK_UNTOLD;
		if (fault)
			*fault = why;
	}
	pm_arena_free(&arena);
	return disk;
}

static bool write_job(struct store_job *job, const char *digest, bool fresh, struct pm_fault *fault)
{
	bool good = fresh ? store_create_file(job->path, job->text, job->length, fault)
	                  : store_write_file(job->path, job->text, job->length, fault);
	if (good) {
		memcpy(job->disk_digest, digest, sizeof job->disk_digest);
		job->from_disk = true;
	}
	return good;
}

bool store_job_save(struct store_job *job, struct pm_fault *fault)
{
	char digest[65], before[65];
	if (pm_same(job->path, "-"))
		return pm_fail(fault, PM_FAULT_USAGE, file_place(job->path), "a job from standard input has no file to save to");
	pm_sha256_hex(job->text, job->length, digest);
	store_job_digest(job, before);
	bool fresh = !before[0];
	/* Our own text on disk is no change: an earlier save may have got that far. */
	switch (compare(job->path, before, digest, fault)) {
	case DISK_SAME:
		return write_job(job, digest, false, fault);
	case DISK_GONE:
		if (fresh)
			return write_job(job, digest, true, fault);
		pm_fail(fault, PM_FAULT_CHANGED, file_place(job->path), "gone since it was read");
		return pm_fail_remedy(fault, "put it back, or save under another name");
	case DISK_OTHER:
		if (fresh)
			return store_fail_system(fault, job->path, EEXIST, "create");
		pm_fail(fault, PM_FAULT_CHANGED, file_place(job->path), "changed on disk since it was read");
		return pm_fail_remedy(fault, "open it again; what was entered since is not in the file");
	case DISK_UNTOLD:
		return false;
	}
	return false;
}

bool store_job_changed(const struct store_job *job)
{
	char digest[65];
	store_job_digest(job, digest);
	if (!digest[0] || pm_same(job->path, "-"))
		return false;
	enum disk disk = compare(job->path, digest, digest, NULL);
	return disk == DISK_OTHER || disk == DISK_GONE;
}

/* --- evidence --- */

/* A file of that name must hold what its name says. */
static bool evidence_holds(const char *path, const char *digest, bool *there, struct pm_fault *fault)
{
	struct stat about;
	*there = lstat(path, &about) == 0;
	if (!*there)
		return errno == ENOENT || store_fail_system(fault, path, errno, "write");
	if (compare(path, digest, digest, NULL) == DISK_SAME)
		return true;
	pm_fail(fault, PM_FAULT_CHANGED, file_place(path), "this evidence does not hold what its name says");
	return pm_fail_remedy(fault, "move it away and find out who changed it");
}

bool store_keep_evidence(const char *job_path, const void *bytes, size_t length,
                         char sha256[static 65], struct pm_fault *fault)
{
	char target[STORE_PATH_ROOM], folder[STORE_PATH_ROOM], path[STORE_PATH_ROOM], name[80];
	struct pm_text text;
	bool there;
	if (length > STORE_MOST_BYTES)
		return pm_fail(fault, PM_FAULT_LIMIT, file_place(job_path), "evidence larger than %u bytes", STORE_MOST_BYTES);
	pm_sha256_hex(bytes, length, sha256);
	pm_text_fixed(&text, name, sizeof name);
	pm_text_add(&text, "%s.log", sha256);
	if (!store_path_follow(job_path, target, sizeof target, fault))
		return false;
	if (!store_path_folder(target, path, sizeof path) ||
	    !store_path_join(path, "evidence", folder, sizeof folder) ||
	    !store_path_join(folder, name, path, sizeof path))
		return store_fail_system(fault, job_path, ENAMETOOLONG, "use");
	if (mkdir(folder, 0777) != 0 && errno != EEXIST)
		return store_fail_system(fault, folder, errno, "make the folder");
	if (!evidence_holds(path, sha256, &there, fault))
		return false;
	return there || store_create_file(path, bytes, length, fault);
}
