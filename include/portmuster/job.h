/* job.h - everything known of one site's swap.
 *
 * A job is a head (who, where, what) and a list of readings that only ever
 * grows. A reading is one observation of one fact. Facts are named:
 *
 *   port/NAME         an interface's hardware address
 *   router/serial     serial number of the new router
 *   old/serial        serial number of the router taken out
 *   site/unit         the site's unit code     site/parent   its parent's
 *   kit/ITEM          how many of a kit item are at hand
 *   step/ID           the answer to a step of the plan
 *   desk/sent         the sheet went to the desk; the value is the seal
 *   desk/decision     "accepted" or "rejected"; the note is reference or reason
 *   desk/appointment  the window, two RFC 3339 times joined by "/"
 *
 * Nothing is ever taken out of the list: a reading that turns out to be wrong
 * is withdrawn by a later one, so that two copies of a job can be united.
 */
#ifndef PORTMUSTER_JOB_H
#define PORTMUSTER_JOB_H

#include "portmuster/when.h"
#include "portmuster/word.h"

enum pm_source {
	PM_SOURCE_CONSOLE,    /* read by the tool from console text */
	PM_SOURCE_TYPED,      /* typed from a screen or a label */
	PM_SOURCE_LABEL,      /* typed from a label on the unit */
	PM_SOURCE_MEASURED,   /* read off an instrument */
	PM_SOURCE_STATED,     /* somebody states it */
	PM_SOURCE_DESK,       /* came from the desk or the operations centre */
	PM_SOURCE_SKIPPED,    /* the step does not apply; the note says why */
	PM_SOURCE_WITHDRAWN,  /* takes back earlier readings of this fact with this
	                         value (any value when it is empty); the note says why */
	PM_SOURCES
};

struct pm_reading {
	struct pm_word of;         /* the fact */
	struct pm_word value;
	enum pm_source source;
	struct pm_word by;         /* who */
	struct pm_word at;         /* when, RFC 3339 */
	struct pm_when when;       /* the same, read */
	struct pm_word capture;    /* which act of capturing: a log's SHA-256, or "typed-1";
	                              two readings of one capture count once */
	struct pm_word note;       /* reason, reference, addressee */
	uint32_t next;             /* see pm_fact_index: 1 + index of the next reading of
	                              the same fact, 0: none */
};

struct pm_waiver {
	struct pm_word phase, gate;   /* which gate: phase id and "open" or "close" */
	struct pm_word condition;     /* as the plan writes it, argument included */
	struct pm_word by, reason;    /* the lead who decided, and why */
	struct pm_word at;
	struct pm_when when;
	struct pm_word note;          /* how it was decided and who typed it, when that was not the lead */
};

/* Other equipment of the site that registers with it. */
struct pm_attached {
	struct pm_word kind, name;
	struct pm_word serial, address;   /* either may be absent */
};

struct pm_job {
	const char *file;          /* as it was named */
	int64_t format;
	struct pm_word plan, gear;               /* ids */
	struct pm_word plan_digest, gear_digest; /* as recorded when the job was made */
	struct pm_word layout, layout_digest;    /* of the registration sheet; may be absent */
	/* site: */
	struct pm_word code, name, zone;         /* zone: an IANA zone name, may be absent */
	struct pm_word unit, parent;             /* codes from the site list, may be absent */
	struct pm_word crew;
	struct pm_word old_serial;               /* from the site list, may be absent */
	struct pm_word due;                      /* RFC 3339 full-date by which it must be done */
	bool live;                               /* a terminal in live service stands here */
	/* practice: */
	bool practice;                           /* a training site */
	int64_t practice_wait;                   /* seconds that stand for any wait; 0: the real time */

	struct pm_reading *readings;
	size_t reading_count;
	uint32_t *first;           /* see pm_fact_index; null: not indexed */
	uint32_t first_mask;
	struct pm_attached *attached;
	size_t attached_count;
	struct pm_waiver *waivers;
	size_t waiver_count;
	struct pm_stray_keys strays;
};

/* "console", "typed" ...; never null. */
const char *pm_source_word(enum pm_source source);
bool pm_source_find(const char *word, enum pm_source *source);

#endif
