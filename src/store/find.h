/* find.h - where plans, gear profiles, layouts and the registry index are.
 *
 * Order: the folder of the job file, its subfolders plans/ gear/ sheets/, the
 * same beside the folder above (the fleet folder), the user's data folder
 * ($XDG_DATA_HOME or ~/.local/share)/portmuster, then the installed data:
 * $PORTMUSTER_DATA, or ../share/portmuster next to the program's folder. In
 * the two data folders only the subfolders count. The job file itself is never
 * the answer, whatever its name.
 */
#ifndef STORE_FIND_H
#define STORE_FIND_H

#include <stddef.h>

#include "portmuster/fault.h"

enum store_kind { STORE_PLAN, STORE_GEAR, STORE_SHEET };

/* Find the document `id` (a name without slash or dot; anything else is
 * refused) for a job file, "ID.yaml". `job_path` may be null. Fills `out`. The
 * fault's remedy lists where was looked. */
bool store_find(enum store_kind kind, const char *id, const char *job_path,
                char *out, size_t room, struct pm_fault *fault);

/* The document of that kind when there is only one: the first of the folders above
 * that has any decides. In a folder where jobs lie too, what has the keys of such a
 * document is one. False without a fault when there is none at all; false with one,
 * which names them, when there are several. */
bool store_find_only(enum store_kind kind, const char *job_path, char *out, size_t room, struct pm_fault *fault);

/* The registry index: the user's data folder first, then the installed one.
 * False when there is none (no fault: the check then says so). */
bool store_find_registry(char *out, size_t room);

/* The folder of the installed data. False when it cannot be told. */
bool store_data_folder(char *out, size_t room);

#endif
