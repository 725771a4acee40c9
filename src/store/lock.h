/* lock.h - one writer at a time.
 *
 * The lock is an advisory flock(2) on a file `.NAME.lock` beside the job; host,
 * user, process and time are written in it so that a second session can say
 * who holds it. The kernel drops the lock when the holder dies, so a stale
 * file never locks anybody out.
 */
#ifndef STORE_LOCK_H
#define STORE_LOCK_H

#include "portmuster/fault.h"

struct store_lock {
	int fd;             /* -1: not held */
	char path[4096];
};

/* Take the lock for the job file at `path` without waiting. On success sweeps
 * temporary files that a killed save of this job left behind. False with
 * PM_FAULT_LOCKED and a message naming the holder, or another fault (a folder
 * that cannot be written is PM_FAULT_FORBIDDEN). */
bool store_lock_take(struct store_lock *lock, const char *path, struct pm_fault *fault);
void store_lock_drop(struct store_lock *lock);

#endif
