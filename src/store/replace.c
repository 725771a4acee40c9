#include "store/ops.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "store/path.h"
#include "store/save.h"

#define MOST_NAMES 100   /* temporary names tried before giving up */

static int system_open(const char *path, int flags, mode_t mode)
{
	return open(path, flags, mode);
}

const struct store_ops store_system_ops = {
	.open = system_open, .write = write, .fchmod = fchmod, .fsync = fsync,
	.close = close, .link = link, .rename = rename, .unlink = unlink,
};

/* One replacement under way. */
struct swap {
	const struct store_ops *ops;
	const char *path;               /* as given, for faults */
	struct pm_fault *fault;
	char target[STORE_PATH_ROOM];   /* where links lead */
	char folder[STORE_PATH_ROOM];
	char temporary[STORE_PATH_ROOM];
	bool exists;
	mode_t mode;
	int folder_file, file;
};

static bool fail(const struct swap *s, int error, const char *doing)
{
	return store_fail_system(s->fault, s->path, error, doing);
}

/* The temporary name is `.NAME.save-PROCESS-N.tmp`; lock.c sweeps such names. */
static bool name_temporary(struct swap *s, unsigned number)
{
	char name[STORE_PATH_ROOM];
	struct pm_text text;
	pm_text_fixed(&text, name, sizeof name);
	pm_text_add(&text, ".%s.save-%ld-%u.tmp", store_path_name(s->target), (long)getpid(), number);
	return !text.cut && store_path_join(s->folder, name, s->temporary, sizeof s->temporary);
}

static bool look(struct swap *s, bool fresh)
{
	struct stat about;
	if (fresh && lstat(s->path, &about) == 0)
		return fail(s, EEXIST, "create");
	if (!store_path_follow(s->path, s->target, sizeof s->target, s->fault))
		return false;
	if (!store_path_folder(s->target, s->folder, sizeof s->folder))
		return fail(s, ENAMETOOLONG, "write");
	if (stat(s->target, &about) != 0) {
		s->mode = 0666;
		return errno == ENOENT || fail(s, errno, "write");
	}
	if (S_ISDIR(about.st_mode))
		return fail(s, EISDIR, "write");
	if (!S_ISREG(about.st_mode))
		return pm_fail(s->fault, PM_FAULT_UNREADABLE, (struct pm_place){ s->path, 0, 0 },
		               "can't write: not an ordinary file");
	/* A rename would not ask whether the file itself may be written. */
	if (faccessat(AT_FDCWD, s->target, W_OK, AT_EACCESS) != 0)
		return fail(s, errno, "write");
	s->exists = true;
	s->mode = about.st_mode & 0777;
	return true;
}

static bool open_temporary(struct swap *s)
{
	for (unsigned number = 0; number < MOST_NAMES; number++) {
		if (!name_temporary(s, number))
			return fail(s, ENAMETOOLONG, "write");
		do {
			s->file = s->ops->open(s->temporary, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, s->exists ? 0600 : 0666);
		} while (s->file < 0 && errno == EINTR);
		if (s->file >= 0)
			return true;
		if (errno != EEXIST)
			break;
	}
	return fail(s, errno, "write");
}

static bool write_all(struct swap *s, const char *bytes, size_t length)
{
	while (length) {
		ssize_t done = s->ops->write(s->file, bytes, length);
		if (done < 0 && errno == EINTR)
			continue;
		if (done <= 0)
			return fail(s, done < 0 ? errno : ENOSPC, "write");
		bytes += done;
		length -= (size_t)done;
	}
	return true;
}

/* Some file systems have one mode for all files and refuse any other: only ask
 * for a change where there is one. */
static bool keep_mode(struct swap *s)
{
	struct stat about;
	if (!s->exists)
		return true;
	if (fstat(s->file, &about) != 0)
		return fail(s, errno, "write");
	if ((about.st_mode & 0777) == s->mode)
		return true;
	return s->ops->fchmod(s->file, s->mode) == 0 || fail(s, errno, "keep the file's mode");
}

static int sync_file(const struct swap *s, int file)
{
	int result;
	do {
		result = s->ops->fsync(file);
	} while (result != 0 && errno == EINTR);
	return result;
}

static bool close_temporary(struct swap *s)
{
	int file = s->file;
	s->file = -1;
	/* After EINTR the descriptor is closed; the data was synced before. */
	return s->ops->close(file) == 0 || errno == EINTR || fail(s, errno, "write");
}

/* Where the file must be new, link(2) refuses a name that came up meanwhile;
 * file systems without hard links get a look and a rename. */
static bool take_name(struct swap *s, bool fresh)
{
	if (fresh) {
		struct stat about;
		if (s->ops->link(s->temporary, s->target) == 0) {
			s->ops->unlink(s->temporary);
			return true;
		}
		if (errno != EPERM && errno != EOPNOTSUPP && errno != ENOSYS && errno != EMLINK)
			return fail(s, errno, "create");
		if (lstat(s->target, &about) == 0)
			return fail(s, EEXIST, "create");
	}
	return s->ops->rename(s->temporary, s->target) == 0 || fail(s, errno, "write");
}

/* By now the new file stands whole; only a power cut could bring the old back. */
static bool sync_folder(struct swap *s)
{
	if (sync_file(s, s->folder_file) == 0 || errno == EINVAL || errno == EOPNOTSUPP)
		return true;
	pm_fail(s->fault, PM_FAULT_UNREADABLE, (struct pm_place){ s->path, 0, 0 },
	        "written, but the device does not confirm it: system error %d", errno);
	return pm_fail_remedy(s->fault, "save again");
}

bool store_replace_file(const struct store_ops *ops, const char *path, const void *bytes, size_t length,
                        bool fresh, struct pm_fault *fault)
{
	struct swap s = { .ops = ops, .path = path, .fault = fault, .file = -1, .folder_file = -1 };
	if (!look(&s, fresh))
		return false;
	s.folder_file = ops->open(s.folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
	if (s.folder_file < 0)
		return fail(&s, errno, "open the folder");
	bool good = false;
	if (open_temporary(&s)) {
		good = write_all(&s, bytes, length) && keep_mode(&s) &&
		       (sync_file(&s, s.file) == 0 || fail(&s, errno, "write")) && close_temporary(&s) && take_name(&s, fresh);
		if (s.file >= 0)
			ops->close(s.file);
		if (!good)
			ops->unlink(s.temporary);
	}
	good = good && sync_folder(&s);
	ops->close(s.folder_file);
	return good;
}

bool store_write_file(const char *path, const void *bytes, size_t length, struct pm_fault *fault)
{
	return store_replace_file(&store_system_ops, path, bytes, length, false, fault);
}

bool store_create_file(const char *path, const void *bytes, size_t length, struct pm_fault *fault)
{
	return store_replace_file(&store_system_ops, path, bytes, length, true, fault);
}
