/* save.h - writing without ever leaving half a file. */
#ifndef STORE_SAVE_H
#define STORE_SAVE_H

#include <stddef.h>

#include "portmuster/fault.h"
#include "store/document.h"

/* Read a whole regular file (or "-") of at most `most` bytes into the arena,
 * terminated. A folder, device or other special file is refused. */
bool store_read_file(const char *path, size_t most, struct pm_arena *arena,
                     char **text, size_t *length, struct pm_fault *fault);

/* Replace `path` by `length` bytes: temporary file in the same folder, fsync,
 * rename, fsync of the folder. A symbolic link is followed to its target; the
 * target's mode is kept, a new file gets 0666 under the umask; a file that may
 * not be written is refused. On any failure the earlier file is untouched and
 * the temporary one removed, with one exception: when only the fsync of the
 * folder fails, the new file stands whole and the fault says so. */
bool store_write_file(const char *path, const void *bytes, size_t length, struct pm_fault *fault);

/* As store_write_file, but refuses (PM_FAULT_VALUE) when `path` exists, be it a
 * link that leads nowhere. */
bool store_create_file(const char *path, const void *bytes, size_t length, struct pm_fault *fault);

/* Save a job: first hold the file on disk against `disk_digest` and refuse with
 * PM_FAULT_CHANGED when it differs (or is gone), then store_write_file. A job
 * that was never on disk is created (PM_FAULT_VALUE when the name is taken). A
 * file that holds the job's present text already counts as unchanged. */
bool store_job_save(struct store_job *job, struct pm_fault *fault);

/* Has the file on disk changed, or gone, since it was read or written? False
 * also when it cannot be told. */
bool store_job_changed(const struct store_job *job);

/* Keep raw evidence: writes `length` bytes to evidence/SHA256.log beside the
 * job file (making the folder), unless it is there already; stores the digest.
 * A file of that name with other content is PM_FAULT_CHANGED. A job file that
 * is a link keeps its evidence where the link leads. */
bool store_keep_evidence(const char *job_path, const void *bytes, size_t length,
                         char sha256[static 65], struct pm_fault *fault);

#endif
