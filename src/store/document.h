/* document.h - job files, plans, gear profiles and sheet layouts as loaded documents.
 *
 * Life cycle: load, use, free. A failed load leaves nothing to free. All text
 * and structs of one document live in its arena. Each document is bound to
 * its struct by a field table (fields.h), which also drives the saving, the
 * checking and the format's documentation page.
 *
 * Every scalar is text whatever its quoting; line breaks at the end of a text
 * after | or > are dropped. Keys that no table knows are kept and passed over.
 */
#ifndef STORE_DOCUMENT_H
#define STORE_DOCUMENT_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"
#include "portmuster/fleet.h"
#include "portmuster/gear.h"
#include "portmuster/job.h"
#include "portmuster/layout.h"
#include "portmuster/plan.h"

#define STORE_MOST_BYTES (4u << 20)   /* a larger document is refused */
#define STORE_MOST_READINGS 10000u    /* as is a job with more readings */
#define STORE_MOST_DEPTH 16           /* and a deeper one */

struct store_job {
	struct pm_arena arena;
	struct pm_job job;       /* view of `text`; an edit rebuilds it and everything else
	                            in the arena: no pointer into the job outlives an edit */
	char *text;              /* the file as it is or will be saved, owned by the arena */
	size_t length;
	bool from_disk;          /* it was read from disk or written to it */
	char disk_digest[65];    /* SHA-256 of what was last read or written; taken at the
	                            first edit or save, for a check never needs it; empty
	                            until then, see store_job_digest */
	char *path;              /* as given, in the arena */
};

/* The file's own bytes, in the document's arena. */
struct store_source {
	char *text;
	size_t length;
};

struct store_plan {
	struct pm_arena arena;
	struct pm_plan plan;
	struct store_source source;
};

struct store_gear {
	struct pm_arena arena;
	struct pm_gear gear;
	struct store_source source;
};

struct store_layout {
	struct pm_arena arena;
	struct pm_layout layout;
	struct store_source source;
};

struct store_fleet {
	struct pm_arena arena;
	struct pm_fleet_options options;
	struct store_source source;
	bool present;            /* there is such a file */
};

/* Load a job file. `path` "-" is standard input. Faults: missing, forbidden,
 * unreadable, syntax (duplicate key, anchor, alias, tag, not UTF-8, not YAML),
 * value, limit, newer; with line and column where there is one. */
bool store_job_load(const char *path, struct store_job *job, struct pm_fault *fault);

/* The same into a job that is no longer wanted, or zeroed, whose memory is used
 * again. That is left after a failure too: store_job_free ends it. */
bool store_job_load_over(const char *path, struct store_job *job, struct pm_fault *fault);

/* The same from memory; `path` only names it in faults and for a later save. */
bool store_job_parse(const char *text, size_t length, const char *path,
                     struct store_job *job, struct pm_fault *fault);
void store_job_free(struct store_job *job);

/* Is this another document than a job: a mapping that has keys, and neither `site`
 * nor `readings` among them? Plans, layouts and the like may lie beside the jobs. To be
 * asked of text that was refused as a job with PM_FAULT_VALUE, for it is read once more,
 * into `arena`. False with a fault when that fails; else the fault is left alone. */
bool store_no_job(const char *text, size_t length, const char *path, struct pm_arena *arena, struct pm_fault *fault);

/* Load and validate (pm_plan_valid, pm_gear_valid, pm_layout_valid). The digest is taken only
 * when asked for: a job that recorded none has nothing to compare. */
bool store_plan_load(const char *path, struct store_plan *plan, struct pm_fault *fault);
void store_plan_free(struct store_plan *plan);
bool store_gear_load(const char *path, struct store_gear *gear, struct pm_fault *fault);
void store_gear_free(struct store_gear *gear);
bool store_layout_load(const char *path, struct store_layout *layout, struct pm_fault *fault);
void store_layout_free(struct store_layout *layout);

/* The options of a fleet, by custom "fleet.yaml" in the folder of its jobs (no
 * job file itself). They may be absent: then the defaults, and `present` is false. */
#define STORE_FLEET_FILE "fleet.yaml"
bool store_fleet_load(const char *path, struct store_fleet *fleet, struct pm_fault *fault);
void store_fleet_free(struct store_fleet *fleet);

/* The SHA-256 of the file as 64 hex digits, which also fills the document's
 * `digest`; null when memory ran out. */
const char *store_plan_digest(struct store_plan *plan);
const char *store_gear_digest(struct store_gear *gear);
const char *store_layout_digest(struct store_layout *layout);

/* The digest, now, of the layout that a job names and recorded a digest of; empty
 * when it did not, or when the layout cannot be found. */
void store_layout_now(const struct pm_job *job, char digest[static 65]);

/* Edits: change `text` by splicing only what is asked for (comments, unknown
 * keys, order and quoting of everything else stay byte for byte) and rebuild
 * `job` from it. Nothing is written to disk. On failure the job is as before.
 * Every value is written double quoted; a value with a control character or
 * that is not UTF-8 is refused (PM_FAULT_VALUE). */
bool store_job_add_reading(struct store_job *job, const struct pm_reading *reading, struct pm_fault *fault);
bool store_job_add_waiver(struct store_job *job, const struct pm_waiver *waiver, struct pm_fault *fault);

/* Set one top-level or dotted scalar, such as "gear-digest" or "site.due". */
bool store_job_set(struct store_job *job, const char *key, const char *value, struct pm_fault *fault);

/* May `value` be written? Null when it may, else what is in the way, as in "a
 * control character" (line breaks and tabs are) or "bytes that are not UTF-8". */
const char *store_value_problem(const char *value);

/* SHA-256 of what was last read from or written to disk; empty for a job that
 * was never on disk. Must be asked before `text` is edited outside this floor. */
void store_job_digest(const struct store_job *job, char digest[static 65]);

/* The text of a new job file from a head (readings and waivers are left out),
 * with a comment line on top; in `arena`. Null when memory ran out, plan, gear
 * or site code is missing, or a value has a store_value_problem. */
char *store_job_compose(const struct pm_job *head, struct pm_arena *arena, size_t *length);

#endif
