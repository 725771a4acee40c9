/* practice.h - the practice site that comes with the program. */
#ifndef CMD_PRACTICE_H
#define CMD_PRACTICE_H

/* Copy the installed practice site into `folder`, which is made when it is not
 * there. A file that exists is never overwritten. `program` is how to call it.
 * Returns the exit status. */
int practice_make(const char *folder, const char *program);

#endif
