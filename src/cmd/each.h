/* each.h - a command that makes one result of many job files. */
#ifndef CMD_EACH_H
#define CMD_EACH_H

#include "portmuster/check.h"
#include "portmuster/text.h"

/* Of several operands those that can be jobs, in place: a shell's *.yaml takes the
 * fleet's options along, which are left out and told of. Returns the new argc. */
int each_jobs(int argc, char **argv);

/* Load and judge the jobs at `paths` one after another and give each to `visit`,
 * which returns an exit status. A job that can't be loaded or judged is
 * complained of and passed over. Returns the worst status. */
int each_job(char *const *paths, int count, struct pm_when now,
             int (*visit)(const struct pm_case *the_case, const struct pm_result *result, void *context), void *context);

/* May a result go to `path`? Not into one of the files that were given, whatever
 * they are called, nor under a document's name (.yaml, .yml): no result takes a
 * job's place. Null and "-" may be written to. */
bool each_may_write(const char *path, char *const *given, int count, struct pm_fault *fault);

/* Hand out a whole result: to standard output when `path` is null or "-", else
 * into that file in one piece. A file is left alone when `status` says that a
 * part could not be made. Returns `status`, or EXIT_UNABLE with a complaint. */
int each_write(const char *path, const struct pm_text *result, int status);

#endif
