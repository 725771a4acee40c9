/* gather_child.h - git as a child process: started with its arguments one by one,
 * never through a shell; it asks nothing of anybody and writes on no terminal.
 * Writing to one that is gone raises SIGPIPE: only a thread that blocks it writes.
 */
#ifndef BOARD_GATHER_CHILD_H
#define BOARD_GATHER_CHILD_H

#include <sys/types.h>

#include "portmuster/fault.h"
#include "portmuster/text.h"

struct gather_child {
	pid_t process;
	int in, out;           /* what it reads and what it wrote; -1: closed */
	char *buffer;          /* of `out` */
	size_t from, to;
};

/* A pipe whose ends no child inherits, whoever starts one meanwhile. */
bool gather_pipe(int end[static 2]);

/* Start `git -C FOLDER ARGUMENTS...` (a list that ends with null). With `complaints`,
 * what git has to say comes out as well; else it is dropped. */
bool gather_child_begin(struct gather_child *child, const char *folder, const char *const *arguments, bool complaints,
                        struct pm_fault *fault);

/* It will be told nothing more. */
void gather_child_told(struct gather_child *child);

/* Exactly `length` bytes of what it writes, into `out` or nowhere. */
bool gather_child_take(struct gather_child *child, char *out, size_t length);

/* All that is left; false when it is more than `most`, or memory ran out. */
bool gather_child_all(struct gather_child *child, struct pm_text *text, size_t most);

/* Its exit status; -1: it did not end by itself. */
int gather_child_end(struct gather_child *child);

/* The fault that there is no git. */
bool gather_no_git(struct pm_fault *fault, const char *path);

#endif
