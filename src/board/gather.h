/* gather.h - a folder of job files, or several, or one at a git revision, read
 * into summaries by several threads.
 *
 * Life cycle: begin, poll until done (or wait), look at the summaries, free. Work
 * goes on in threads; gather_poll takes in what is ready. A file that cannot be
 * read or checked is a row with its fault, and the rest is read all the same.
 * Plans, gear profiles and the registry are loaded once each and shared.
 */
#ifndef BOARD_GATHER_H
#define BOARD_GATHER_H

#include "portmuster/fleet.h"
#include "store/document.h"

struct gather_options {
	const char *const *folder;     /* folders, or single job files */
	size_t folder_count;
	const char *revision;          /* git revision of the folders' files; null: as they lie on disk */
	struct pm_when now;
	bool has_deadline;             /* this day counts for every site instead of its folder's */
	int64_t deadline_day;          /* days since 1970-01-01 */
	unsigned threads;              /* 0: as many as there are processors, at most 16 */
};

struct gather;

#define GATHER_DEEPEST 32   /* folders within folders that are looked into */

/* Look for the job files (*.yaml, *.yml; not STORE_FLEET_FILE, nor hidden files, nor
 * what lies in plans/ gear/ sheets/ evidence/ or hidden folders) and begin to read
 * them. Links are followed once each: a loop ends, and a file that is reached in two
 * ways is one row. Pipes, sockets and devices are passed over. Null with a fault when
 * no folder can be read; one of several that cannot is a row with its fault.
 *
 * What is another document (store_no_job), such as a plan beside its jobs, has no row:
 * the fleet's `left_out` names it when all is read. A file that was named itself has one.
 *
 * At a revision, the job files are those of the folder's git repository then, be the
 * folder or file still on disk or not; links are passed over, and plans, gear, layouts
 * and options are those that lie on disk now. */
struct gather *gather_begin(const struct gather_options *options, struct pm_fault *fault);

/* Take in what is ready, waiting at most `milliseconds` for something to be. True
 * when all is read. */
bool gather_poll(struct gather *gather, int milliseconds);

/* A descriptor that becomes readable when gather_poll has something to take in. */
int gather_fd(const struct gather *gather);

/* What is there so far: summaries in a stable order (by folder as given, then by
 * path) once all is read, in order of arrival before; their number; and how many
 * files were found so far. `fleet` stays the gather's own; a poll moves its sites.
 * A site's options are those of the nearest STORE_FLEET_FILE: in its folder, or above it
 * as far as folders were given. One that cannot be read is a row with its fault. */
const struct pm_fleet *gather_fleet(const struct gather *gather);
size_t gather_total(const struct gather *gather);

/* Have files come, gone or changed since they were read, or a plan, gear profile,
 * layout or the registry that was used? Cheap: looks at sizes and times only. Always
 * false while reading goes on, and of a revision. A file that had changed within the
 * tenth of a second before it was read counts as changed, once.
 *
 * gather_again reads those anew, and of the others those that time can have changed:
 * open jobs last judged a minute or more before `now`. Sites that are gone are gone at
 * once, the others stay until their new summary is there. When a plan or the like has
 * changed, all are read. False when nothing is different; else poll until all is read.
 * What is open stays as it was. */
bool gather_changed(const struct gather *gather);
bool gather_again(struct gather *gather, struct pm_when now);

/* One site in full, for looking at it: loaded and checked anew. `detail` must be
 * freed. A fault when it cannot be read any more. */
struct gather_detail {
	struct store_job job;
	struct pm_arena arena;
	struct pm_case the_case;       /* borrowed from the gather and `job` */
	struct pm_result result;
};
bool gather_open(struct gather *gather, size_t site, struct gather_detail *detail, struct pm_fault *fault);
void gather_close(struct gather_detail *detail);

void gather_free(struct gather *gather);   /* null is allowed; waits for the threads */

#endif
