/* gather_parts.h - what the gather's sources share. Private to them. */
#ifndef BOARD_GATHER_PARTS_H
#define BOARD_GATHER_PARTS_H

#include <pthread.h>
#include <sys/types.h>

#include "board/gather.h"
#include "store/find.h"
#include "store/kept.h"
#include "store/map.h"

struct gather_item;

/* --- finding the files (gather_scan.c, gather_git.c) ------------------------ */

struct gather_found {
	uint32_t folder;               /* index of the folder or file as given */
	bool named;                    /* it was given itself */
	const char *path;              /* valid during the call only, as all of this */
	const struct pm_fault *fault;  /* this can't be looked into, or null */
	const char *blob;              /* at a revision: what git calls the content, */
	char *text;                    /* and the content, which becomes the taker's (malloc), */
	size_t length;                 /* or null when it is too large */
};

/* Take one; false to stop the search. */
typedef bool gather_take(void *context, const struct gather_found *found);

/* Find what lies in the folders now. The order depends on the system, and the
 * set does not. False when memory ran out or the taker said stop. */
bool gather_scan(const char *const *folder, size_t count, gather_take *take, void *context);

/* Can this folder or file be looked into? */
bool gather_reachable(const char *path, struct pm_fault *fault);

/* Is this the name of a job file, and of a folder that may hold some? */
bool gather_job_name(const char *name);
bool gather_folder_name(const char *name);

/* What git calls `revision` in the repository of a folder (or of a file's folder). */
bool gather_git_resolve(const char *path, const char *revision, char commit[static 65], struct pm_fault *fault);

/* Is there such a file or folder at a commit? For what does not lie on disk now. */
bool gather_git_has(const char *path, const char *commit, struct pm_fault *fault);

/* Find the job files of folder number `folder` at a commit, with their content, but
 * for those in `seen`. False when the taker said stop. */
struct gather_seen;
bool gather_git_scan(const char *path, uint32_t folder, const char *commit, struct gather_seen *seen,
                     gather_take *take, void *context);

/* One content, by what git calls it; to be freed. */
char *gather_git_text(const char *path, const char *blob, size_t *length, struct pm_fault *fault);

/* Places that were seen already: folders by device and inode, files by that of
 * their folder and their name. */
struct gather_seen *gather_seen_begin(struct pm_arena *arena);
/* True when it is there already; else it is added. Sets the arena's `failed` when memory ran out. */
bool gather_seen_add(struct gather_seen *seen, uint64_t device, uint64_t inode, const char *name);
bool gather_seen_has(const struct gather_seen *seen, uint64_t device, uint64_t inode, const char *name);

/* --- plans, gear and layouts, once each (gather_shared.c) -------------------- */

struct gather_place;
struct gather_zone;

/* What a thread used last: mostly the next job wants the same. Begins zeroed. */
struct gather_memo {
	const struct gather_place *last[3];
	const struct gather_zone *zone;
};

/* A job's plan, gear and layout; borrowed from the shared ones. */
struct gather_case {
	const struct pm_plan *plan;
	const struct pm_gear *gear;
	const char *layout_digest;     /* or null */
};

#define GATHER_PATHS 1024
#define GATHER_ZONES 64

struct gather_shared {
	pthread_mutex_t lock;          /* over all below */
	struct pm_arena arena;
	struct gather_place **slot;    /* by kind, id and the job's folder; chained */
	size_t slot_count, place_count;
	struct gather_document *documents;   /* all of them, */
	struct gather_document *loaded;      /* those that no other one is the same as, */
	struct gather_document *by_path[GATHER_PATHS];   /* and chained by hash */
	struct store_map map;
	bool has_map;
	struct kept_key map_key;
	struct gather_zone *zone[GATHER_ZONES];   /* by name, chained by hash */
	struct gather_shared *before;  /* an earlier generation */
};

struct gather_shared *gather_shared_begin(void);   /* null when memory ran out */
void gather_shared_free(struct gather_shared *shared);   /* with those before it */

/* Find what the job wants. Any number of threads at once, each with its memo. */
bool gather_shared_find(struct gather_shared *shared, struct gather_memo *memo, const struct pm_job *job,
                        struct gather_case *found, struct pm_fault *fault);

/* What came of looking the job's time zone up: each is looked up once (gather_zone.c).
 * `*look` is null when the job names none. False when memory ran out. */
bool gather_zone_find(struct gather_shared *shared, struct gather_memo *memo, const struct pm_job *job,
                      const struct pm_zone_look **look, struct pm_fault *fault);
void gather_zones_free(struct gather_shared *shared);

/* Is any of it no longer what it was? `thorough`: also where each was found. */
bool gather_shared_changed(struct gather_shared *shared, bool thorough);

/* --- what holds in which folder (gather_rules.c) ------------------------------ */

#define GATHER_FOLDERS 256

/* One STORE_FLEET_FILE, as it was loaded. */
struct gather_rule {
	const char *path;
	struct kept_key key;
	struct store_fleet options;    /* the defaults when it is bad */
	uint32_t folder;               /* index of the folder as given that led to it */
	bool bad;                      /* it could not be read: */
	struct pm_fault fault;
	bool told;                     /* there is a row that says so, or will be */
};

/* A folder that was looked into for one. */
struct gather_rules_at {
	struct gather_rules_at *next;  /* of one hash */
	const char *path;
	uint32_t folder;               /* index of the folder as given; UINT32_MAX: for files that were given themselves */
	struct kept_key key;           /* of its STORE_FLEET_FILE; zeros: there is none */
	uint32_t rule;                 /* which holds, as in struct pm_site_summary: its own, or one of a folder above */
};

/* The main thread's alone. */
struct gather_rules {
	struct pm_arena arena;
	struct gather_rule *rule;
	struct pm_fleet_options *options;   /* of each: the fleet's `folder` */
	size_t count, room, options_count, options_room;
	struct gather_rules_at *by_path[GATHER_FOLDERS];
	const char **real;                  /* where each folder as given lies, or null */
	bool lost;                          /* memory did not suffice: they are to be looked at again */
	const struct gather_rules_at *last; /* mostly the next job lies beside the one before */
};

/* Begin with the folders as given, and forget what was known before. */
void gather_rules_begin(struct gather *gather);
void gather_rules_free(struct gather *gather);

/* Whose options hold for an item's site, as in struct pm_site_summary. */
uint32_t gather_rules_of(struct gather *gather, const struct gather_item *item);

/* Has any of them come, gone or changed? */
bool gather_rules_changed(const struct gather *gather);

/* Take those that could not be read, all or only those that no row tells of yet. */
bool gather_rules_bad(struct gather *gather, bool all, gather_take *take, void *context);

/* --- the threads (gather_work.c) --------------------------------------------- */

#define GATHER_BATCH 16u               /* files that a thread takes at once */
#define GATHER_WAITING (64u << 20)     /* bytes of a revision's contents that may lie in the queue */
#define GATHER_THREADS 16u
#define GATHER_NOWHERE SIZE_MAX

/* The summaries of one batch live together and go when the last of them is replaced. */
struct gather_batch {
	struct pm_arena arena;
	size_t live;
};

/* What is or will be one row. Between the queue and the row it is the worker's. */
struct gather_item {
	const char *path;
	uint32_t folder;
	bool named;                    /* it was given itself: it has a row whatever it is */
	bool seen;                     /* by the latest search */
	bool left_out;                 /* it is no job file: there is no row, or that goes */
	const struct pm_fault *fault;  /* this can't be looked into: that is the row */
	const char *blob;              /* at a revision */
	char *text;                    /* at a revision, until it was read */
	size_t length;
	struct gather_item *next;      /* in the queue */
	struct kept_key key;           /* of the file as it was read; zeros: could not be told */
	int64_t judged;                /* second as of which */
	struct gather_batch *batch;    /* that holds its summary, or null */
	size_t site;                   /* index of its summary, or GATHER_NOWHERE */
};

struct gather_done {
	struct gather_done *next;
	struct gather_batch *batch;
	size_t count;
	struct gather_item *item[GATHER_BATCH];
	struct pm_site_summary row[GATHER_BATCH];
	bool left_out[GATHER_BATCH];   /* there is no row: it is no job file */
};

struct gather_queue {
	pthread_mutex_t lock;          /* over all below but `wake` */
	pthread_cond_t filled, drained;
	struct gather_item *first, *last;
	size_t waiting, bytes, total;
	struct gather_done *done;      /* latest first */
	bool complete;                 /* nothing more will come */
	bool stop;
	bool lost;                     /* the search ended early */
	unsigned running;              /* threads, */
	unsigned readers;              /* and those of them that take from the queue */
	int wake[2];                   /* a byte is in it when something is done */
};

struct gather {
	struct pm_arena arena;         /* of folders and options */
	struct pm_arena found;         /* of items; the searching thread's */
	const char **folder;
	size_t folder_count;
	char (*commit)[65];            /* a folder each, at a revision; else null */
	const char *revision;
	struct pm_when now;
	unsigned threads;
	struct gather_shared *shared;
	struct gather_queue queue;
	pthread_t thread[GATHER_THREADS + 1];
	size_t thread_count;           /* begun and not yet joined */
	bool reading;

	struct gather_rules rules;
	bool has_deadline;             /* as in struct gather_options */
	int64_t deadline_day;

	struct pm_fleet fleet;
	struct pm_site_summary *site;  /* as many as `fleet.count` */
	struct gather_item **item;     /* a site each */
	size_t room;
	struct gather_item **left;     /* what is no job file, */
	const char **left_path;        /* and its paths: those are the fleet's */
	size_t left_count, left_room;
	size_t total;                  /* of the queue, at the last poll */
	bool lost;                     /* memory did not suffice for some row */
};

/* By folder, then by path; and the same for qsort, of pointers to items. */
int gather_compare(const struct gather_item *item, uint32_t folder, const char *path);
int gather_by_place(const void *a, const void *b);

/* A row less in the batch; the last one takes it along. Null is allowed. */
void gather_let_go(struct gather_batch *batch);

/* Ready an item for what was found; null when memory ran out. */
struct gather_item *gather_item_make(struct gather *gather, const struct gather_found *found);

/* Start threads that read what is in the queue; with `search`, one more that first
 * fills it. False when none could be started. */
bool gather_work_begin(struct gather *gather, bool search, size_t most, struct pm_fault *fault);
void gather_work_join(struct gather *gather);
void gather_work_alone(struct gather *gather);   /* read it all in this thread */

void gather_queue_begin(struct gather_queue *queue);
bool gather_queue_pipe(struct gather_queue *queue);
void gather_queue_wake(const struct gather_queue *queue);
/* Add an item to be read. Waits while too many contents lie there; false when the
 * work is to stop, or nobody is left who would take them. */
bool gather_queue_add(struct gather_queue *queue, struct gather_item *item);

/* Find what is to be found. Not a bad file of options: the first search goes on beside
 * the thread that finds those (gather_rules_bad). */
bool gather_search(const struct gather *gather, gather_take *take, void *context);

/* Judge a loaded job. On failure `job` stays the caller's. */
bool gather_judge(struct gather *gather, struct gather_memo *memo, const struct store_job *job, struct pm_arena *arena,
                  struct pm_case *the_case, struct pm_result *result, struct pm_fault *fault);

/* A row for what memory did not suffice for. */
struct pm_site_summary gather_row_lost(const char *path);

/* --- what lies among the job files and is none (gather_left.c) ---------------- */

/* The text was refused as a job with `fault`. True, with a fault that says so, when it is
 * no job at all; `arena` is for the reading. */
bool gather_no_job(const char *path, const char *text, size_t length, struct pm_arena *arena, struct pm_fault *fault);

/* Note that an item is no job file; its row, if it has one, goes when all is settled. */
void gather_leave_out(struct gather *gather, struct gather_item *item);

/* When all is read: rows and what was left out are each in order, none is in both. */
void gather_left_settle(struct gather *gather);

/* Take out what the latest search has not seen, rows and others; how many in all. */
size_t gather_take_out_gone(struct gather *gather, size_t *rows);

#endif
