#include "store/lock.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <pwd.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "portmuster/when.h"
#include "store/path.h"

#define MOST_TRIES 10
#define HOLDER_ROOM 512

static struct pm_place file_place(const char *path)
{
	return (struct pm_place){ path, 0, 0 };
}

/* --- who holds it --- */

/* "user on host since time (process N)", one line; it is shown to others. */
static void write_holder(int file)
{
	char line[HOLDER_ROOM], host[256] = "", when[PM_WHEN_TEXT];
	struct pm_text text;
	const struct passwd *entry = getpwuid(geteuid());
	if (gethostname(host, sizeof host - 1) != 0)
		host[0] = '\0';
	pm_text_fixed(&text, line, sizeof line);
	if (entry)
		pm_text_str(&text, entry->pw_name);
	else
		pm_text_add(&text, "user %lu", (unsigned long)geteuid());
	pm_text_add(&text, " on %s since %s (process %ld)\n", host[0] ? host : "an unnamed host",
	            pm_when_write(pm_when_utc((int64_t)time(NULL)), when), (long)getpid());
	/* The lock holds without these words: a full disk must not stop the work. */
	if (ftruncate(file, 0) == 0 && pwrite(file, line, text.length, 0) < 0)
		(void)ftruncate(file, 0);
}

static bool say_locked(int file, const char *path, struct pm_fault *fault)
{
	char line[HOLDER_ROOM], shown[240];
	struct pm_text text;
	ssize_t got = pread(file, line, sizeof line - 1, 0);
	size_t length = got > 0 ? (size_t)got : 0;
	while (length && (line[length - 1] == '\n' || line[length - 1] == '\r'))
		length--;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, line, length);
	pm_fail(fault, PM_FAULT_LOCKED, file_place(path), "held by %s", length ? shown : "another session");
	return pm_fail_remedy(fault, "wait until that session ends, or open it read-only");
}

/* --- temporary files of killed saves --- */

static const char *after(const char *text, const char *prefix)
{
	size_t length = strlen(prefix);
	return text && strncmp(text, prefix, length) == 0 ? text + length : NULL;
}

static const char *after_digits(const char *text)
{
	const char *at = text;
	while (at && pm_is_digit(*at))
		at++;
	return at == text ? NULL : at;
}

/* Exactly the names that replace.c makes for this file: .NAME.save-N-N.tmp */
static bool is_ours(const char *entry, const char *name)
{
	const char *at = after(entry, ".");
	at = after(at, name);
	at = after(at, ".save-");
	at = after_digits(at);
	at = after(at, "-");
	at = after_digits(at);
	return at && strcmp(at, ".tmp") == 0;
}

static void sweep(const char *folder, const char *name)
{
	DIR *listing = opendir(folder);
	if (!listing)
		return;
	for (const struct dirent *entry; (entry = readdir(listing));) {
		struct stat about;
		if (is_ours(entry->d_name, name) &&
		    fstatat(dirfd(listing), entry->d_name, &about, AT_SYMLINK_NOFOLLOW) == 0 && S_ISREG(about.st_mode))
			unlinkat(dirfd(listing), entry->d_name, 0);
	}
	closedir(listing);
}

/* --- taking and dropping --- */

/* Does the name still lead to the file we hold? A holder that leaves takes the
 * name away first. */
static bool still_named(int file, const char *path)
{
	struct stat held, named;
	return fstat(file, &held) == 0 && lstat(path, &named) == 0 &&
	       held.st_dev == named.st_dev && held.st_ino == named.st_ino;
}

enum outcome { TAKEN, AGAIN, FAILED };

static enum outcome try_once(struct store_lock *lock, const char *path, struct pm_fault *fault)
{
	/* Another user's left-over can't be opened for writing; its lock can still be taken. */
	bool ours = true;
	int file = open(lock->path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0666);
	if (file < 0 && errno == EACCES) {
		ours = false;
		file = open(lock->path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
		if (file < 0)
			errno = EACCES;
	}
	if (file < 0) {
		store_fail_system(fault, lock->path, errno, "lock the file");
		return FAILED;
	}
	if (flock(file, LOCK_EX | LOCK_NB) != 0) {
		if (errno == EWOULDBLOCK)
			say_locked(file, path, fault);
		else
			store_fail_system(fault, lock->path, errno, "lock the file");
		close(file);
		return FAILED;
	}
	if (!still_named(file, lock->path) || (!ours && unlink(lock->path) == 0)) {
		close(file);
		return AGAIN;
	}
	if (ours)
		write_holder(file);
	lock->fd = file;
	return TAKEN;
}

bool store_lock_take(struct store_lock *lock, const char *path, struct pm_fault *fault)
{
	char target[STORE_PATH_ROOM], folder[STORE_PATH_ROOM], name[STORE_PATH_ROOM];
	struct pm_text text;
	*lock = (struct store_lock){ .fd = -1 };
	/* Two links to one job are one job. */
	if (!store_path_follow(path, target, sizeof target, fault))
		return false;
	pm_text_fixed(&text, name, sizeof name);
	pm_text_add(&text, ".%s.lock", store_path_name(target));
	if (text.cut || !store_path_folder(target, folder, sizeof folder) ||
	    !store_path_join(folder, name, lock->path, sizeof lock->path))
		return store_fail_system(fault, path, ENAMETOOLONG, "lock the file");
	enum outcome outcome = AGAIN;
	for (int tries = 0; outcome == AGAIN && tries < MOST_TRIES; tries++)
		outcome = try_once(lock, path, fault);
	if (outcome == AGAIN)
		return pm_fail(fault, PM_FAULT_LOCKED, file_place(path), "other sessions take and leave it all the time");
	if (outcome == TAKEN)
		sweep(folder, store_path_name(target));
	return outcome == TAKEN;
}

void store_lock_drop(struct store_lock *lock)
{
	if (lock->fd < 0)
		return;
	/* Under the lock, so that nobody else's file is taken away. */
	if (still_named(lock->fd, lock->path))
		unlink(lock->path);
	close(lock->fd);
	lock->fd = -1;
}
