/* merge.h - two edited copies of one job file joined, given the copy they both
 * come from.
 *
 * Readings, waivers and attached devices are united and never lost: what the
 * base has comes first, then what is new on both sides by time. A withdrawal
 * takes back only what its own side had seen. Values of the head and of a device
 * are merged three ways. The text is MINE's, with what is THEIRS spliced in.
 */
#ifndef STORE_MERGE_H
#define STORE_MERGE_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"

struct store_merge_input {
	const char *text;
	size_t length;
	const char *name;      /* for faults */
};

enum store_merge_clash {
	STORE_CLASH_HEAD,       /* a value that stands once; MINE's stays */
	STORE_CLASH_READING,    /* readings that differ; both stay, the check finds them */
	STORE_CLASH_LAST,       /* the last word differs; both stay, the later one counts */
	STORE_CLASH_WITHDRAWN,  /* read on one side, taken back on the other; it stands */
	STORE_CLASH_DEVICE,     /* both added a device, alike but for serial or address; both stay */
};

/* What one side says. */
struct store_merge_said {
	const char *value;
	const char *source;    /* of a reading, as in "typed"; null for the head */
	const char *by;        /* null for the head */
	uint32_t line;         /* in that side's file; 0: none */
};

struct store_merge_conflict {
	enum store_merge_clash clash;
	const char *key;       /* "site.due", "attached.NAME.serial", or the fact */
	struct store_merge_said mine, theirs;
};

enum store_merge_remark {
	STORE_REMARK_KEPT,      /* gone from the other side, kept */
	STORE_REMARK_MOVED,     /* a withdrawal that stands earlier than in its own file */
	STORE_REMARK_COMMENT,   /* a comment that is not in the result */
};

struct store_merge_note {
	enum store_merge_remark remark;
	bool theirs;           /* where `line` is: in THEIRS, else in MINE */
	uint32_t line;
	const char *key;       /* what it is about; of a comment its text */
};

struct store_merged {
	struct pm_arena arena; /* owns all of it */
	char *text;
	size_t length;
	size_t taken;          /* entries and values that came from THEIRS */
	struct store_merge_conflict *conflict;
	size_t conflicts;
	struct store_merge_note *note;
	size_t notes;
};

/* Join. A base of nothing but blanks is no base: then what both have alike is
 * taken once. Conflicts are no failure. Refused: a side that is no job, holds
 * conflict markers, or is about another site, plan or gear than the other
 * (unless the base shows that only one side changed it, and that side still
 * has every reading of the base). On failure nothing is
 * left to free. */
bool store_merge(const struct store_merge_input *base, const struct store_merge_input *mine,
                 const struct store_merge_input *theirs, struct store_merged *merged, struct pm_fault *fault);
void store_merged_free(struct store_merged *merged);

/* "head", "reading", "last-word", "withdrawn", "device"; "kept", "moved", "comment". */
const char *store_clash_word(enum store_merge_clash clash);
const char *store_remark_word(enum store_merge_remark remark);

#endif
