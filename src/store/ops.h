/* ops.h - the file operations of a save, so that a test can make any of them
 * fail. The program itself always uses store_system_ops. */
#ifndef STORE_OPS_H
#define STORE_OPS_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include "portmuster/fault.h"

struct store_ops {
	int (*open)(const char *path, int flags, mode_t mode);
	ssize_t (*write)(int file, const void *bytes, size_t length);
	int (*fchmod)(int file, mode_t mode);
	int (*fsync)(int file);
	int (*close)(int file);
	int (*link)(const char *from, const char *to);
	int (*rename)(const char *from, const char *to);
	int (*unlink)(const char *path);
};

extern const struct store_ops store_system_ops;

/* store_write_file and store_create_file with operations of one's own: `fresh`
 * refuses a path that exists. */
bool store_replace_file(const struct store_ops *ops, const char *path, const void *bytes, size_t length,
                        bool fresh, struct pm_fault *fault);

#endif
