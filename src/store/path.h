/* path.h - names of files, and what the system says when one can't be used. */
#ifndef STORE_PATH_H
#define STORE_PATH_H

#include <stdbool.h>
#include <stddef.h>

#include "portmuster/fault.h"

#define STORE_PATH_ROOM 4096

/* The folder part of a path, "." for a bare name. False when it does not fit. */
bool store_path_folder(const char *path, char *out, size_t room);

/* The folder above a folder, by its name alone: "a/b" -> "a", "." -> "..". */
bool store_path_above(const char *folder, char *out, size_t room);

/* The last part of a path, inside `path`. */
const char *store_path_name(const char *path);

/* folder/name, or name alone when the folder is "."; false when it does not fit. */
bool store_path_join(const char *folder, const char *name, char *out, size_t room);

/* Make a folder below one that exists; nothing is done when it is there already. */
bool store_path_make(const char *folder, struct pm_fault *fault);

/* Where a path leads when its last part is a symbolic link, followed to the
 * end; the last one need not exist. */
bool store_path_follow(const char *path, char *out, size_t room, struct pm_fault *fault);

/* Fill a fault from errno's value `error`; `doing` as in "open" or "write". */
bool store_fail_system(struct pm_fault *fault, const char *path, int error, const char *doing);

#endif
