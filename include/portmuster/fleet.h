/* fleet.h - many sites at once: what is kept of each, and the rules that only
 * show when two jobs lie side by side.
 *
 * Life cycle: check a job, summarise it into a longer-lived arena, free the job
 * and its check. A summary borrows nothing from them, so ten thousand sites
 * cost what ten thousand summaries do. When all are summarised, check the fleet.
 *
 * Several threads may summarise at once, each into an arena of its own.
 */
#ifndef PORTMUSTER_FLEET_H
#define PORTMUSTER_FLEET_H

#include "portmuster/check.h"
#include "portmuster/fault.h"

/* Who can make the next move. */
enum pm_holder {
	PM_HOLDER_NOBODY,       /* the job is done */
	PM_HOLDER_TECHNICIAN,
	PM_HOLDER_LEAD,
	PM_HOLDER_DESK,
	PM_HOLDER_CENTRE,       /* the operations centre */
	PM_HOLDERS
};

/* "nobody", "technician", "lead", "desk", "operations centre"; never null. */
const char *pm_holder_word(enum pm_holder holder);

enum pm_phase_state {
	PM_PHASE_LATER,         /* an earlier phase is not closed */
	PM_PHASE_SHUT,          /* it is this one's turn, and its opening gate is not met */
	PM_PHASE_OPEN,          /* it is this one's turn, and work can go on */
	PM_PHASE_CLOSED,        /* its closing gate is met */
};

/* "not yet", "shut", "open", "closed"; never null. */
const char *pm_phase_state_word(enum pm_phase_state state);

struct pm_phase_summary {
	const char *id;         /* safe to show */
	enum pm_phase_state state;
	enum pm_holder who;     /* the plan's word; the technician when it has another */
	bool by_window;         /* opens only inside the booked window */
	int32_t minutes;        /* the plan's estimate, 0: none */
	int64_t begun;          /* time of its first standing reading, 0: can't be told */
	int64_t closed;         /* time of its last one (of a fact that is read twice, the one that
	                           settled it); 0: not closed, or can't be told */
};

/* An address as it stands at a site. One that cannot be read is compared by its text. */
struct pm_address_summary {
	uint64_t key;           /* the 48 bits; for an unreadable one bit 63 and a hash */
	const char *bearer;     /* interface, or the attached device's name; safe to show */
	const char *text;       /* what stands there when it is no address, else null; safe to show */
};

struct pm_serial_summary {
	uint64_t key;           /* hash of kind and number, without regard to case */
	uint64_t reading;       /* hash of one whole reading (value, who, when, capture);
	                           0: of no reading of its own */
	const char *kind;       /* "router", or the attached device's kind; safe to show */
	const char *text;       /* safe to show */
};

/* The first 16 bytes of the SHA-256 that names a capture. */
struct pm_evidence_summary {
	uint8_t byte[16];
};

/* What is kept of one job file. Texts are never null (but where said), empty
 * when not given, and safe to show, but for `file`. */
struct pm_site_summary {
	const char *file;                /* as it was named; make visible before showing */
	const char *fault;               /* why it could not be read; then nothing below is set. Null: it was */
	const char *fault_remedy;        /* or null */
	uint32_t fault_line, fault_column;

	const char *code, *name, *crew, *zone, *plan, *gear;
	uint64_t code_key, crew_key;     /* hashes without regard to case; 0: not given */
	bool practice, live;
	uint32_t folder;                 /* whose options hold for it, as in struct pm_fleet; 0 until
	                                    whoever lays the fleet together says otherwise */

	struct pm_phase_summary *phases; /* as many as the plan has */
	size_t phase_count;
	size_t phase;                    /* the first that is not closed; phase_count when done */
	bool ready;                      /* for itself alone: the next move can be made now */
	size_t expected, held, confirmed;

	size_t stops, warns, notes;      /* findings, waived ones left out */
	bool has_worst;
	enum pm_code worst;              /* the first finding of those */
	enum pm_severity worst_severity;
	const char *worst_message;

	enum pm_holder holder;           /* who holds the next move */
	const char *waits_in;            /* what holds the job: title of the phase, */
	const char *waits_why;           /* the first condition that is not met, */
	const char *waits_who;           /* and who can supply it: the word of `holder` */

	bool has_window;                 /* an appointment is booked */
	struct pm_when from, until;
	bool set;                        /* the phase that opens by the window lacks nothing but the
	                                    time, or has been closed; true when no phase opens so */
	bool has_due;
	int64_t due;                     /* days since 1970-01-01 */
	bool has_last;
	int64_t last;                    /* time of the latest reading */

	struct pm_address_summary *addresses;
	size_t address_count;
	struct pm_serial_summary *serials;
	size_t serial_count;
	struct pm_evidence_summary *evidence;
	size_t evidence_count;
	size_t reading_count;
	uint64_t body;                   /* hash of all readings, the head left out; 0: there are none */
};

/* Keep what matters of a checked job, in `arena`. False when memory ran out. */
bool pm_site_summarise(const struct pm_case *the_case, const struct pm_result *result,
                       struct pm_arena *arena, struct pm_site_summary *out);

/* The row of a file that could not be read. False when memory ran out. */
bool pm_site_unread(const char *file, const struct pm_fault *fault, struct pm_arena *arena,
                    struct pm_site_summary *out);

/* Has the job reached its end? An unread one has not. */
static inline bool pm_site_done(const struct pm_site_summary *site)
{
	return !site->fault && site->phase == site->phase_count;
}

/* How long the way from one site to another takes, in either direction. */
struct pm_travel {
	struct pm_word from, to;         /* site codes */
	int64_t minutes;
};

/* What holds for the sites of one folder. A number of 0 switches its rule off. The
 * desk's limit and the ways serve the whole fleet, from whatever folder they are. */
struct pm_fleet_options {
	const char *file;
	bool partial;                    /* not all of its folder's jobs are in the fleet */
	int64_t format;
	struct pm_word deadline;         /* RFC 3339 full-date, or not given */
	bool has_deadline;
	int64_t deadline_day;            /* days since 1970-01-01 */
	int64_t desk_daily;              /* appointments that the desk takes in one day */
	struct pm_word desk_offset;      /* "+01:00" or "Z": where the desk's day begins */
	int32_t desk_minutes;            /* the same, minutes east of UTC */
	int64_t stall_days;              /* without a reading, before a job counts as stalled */
	int64_t soon_hours;              /* before a window in which the site must be ready */
	int64_t work_hours;              /* that a crew works in a day, for the forecast */
	struct pm_travel *travel;
	size_t travel_count;
};

#define PM_STALL_DAYS 14
#define PM_SOON_HOURS 48
#define PM_WORK_HOURS 8

/* The options of a folder that has no file of them: no deadline, no limit of the
 * desk, a UTC day, and the numbers above. */
void pm_fleet_defaults(struct pm_fleet_options *options);

/* Read what the field table cannot: deadline and desk offset into their numbers;
 * and each way of the travel table leads from one site to another, and stands
 * there once. False with the first fault. */
bool pm_fleet_options_settle(struct pm_fleet_options *options, struct pm_fault *fault);

struct pm_fleet {
	const struct pm_site_summary *site;
	size_t count;                    /* at most UINT32_MAX */
	struct pm_fleet_options options; /* of the sites whose `folder` is 0, */
	const struct pm_fleet_options *folder;   /* and of those whose `folder` is 1, 2 and so on */
	size_t folder_count;
	const char *const *left_out;     /* files that lie among the jobs and are none, as a site's `file`; */
	size_t left_out_count;           /* they count nowhere, and every report names them */
};

/* The options with a number as in a site's `folder`: 0 to `folder_count`. */
static inline const struct pm_fleet_options *pm_fleet_options_at(const struct pm_fleet *fleet, size_t folder)
{
	return folder ? &fleet->folder[folder - 1] : &fleet->options;
}

struct pm_fleet_finding {
	enum pm_code code;
	enum pm_severity severity;
	const uint32_t *site;            /* the sites it is about, by their index */
	size_t count;                    /* 0: it is about what stands at `place` */
	struct pm_place place;           /* in a folder's options; no file when it is about sites */
	const char *message;             /* names the files; safe to show */
	const char *remedy;
};

struct pm_fleet_findings {
	struct pm_fleet_finding *item;   /* worst first, then by the first site */
	size_t count, room;
	const uint32_t *worst;           /* a number a site: 1 + the first finding about it; 0: none */
};

/* Hold the sites against each other and the calendar. Practice sites are
 * compared only with each other. Everything in `*findings` lives in `arena`.
 * False when memory ran out. Takes n log n of the number of sites. */
bool pm_fleet_check(const struct pm_fleet *fleet, struct pm_when now, struct pm_arena *arena,
                    struct pm_fleet_findings *findings);

/* --- what follows for one site ------------------------------------------------ */

/* The deadline that holds for a site: that of its folder; practice sites have none. */
bool pm_fleet_deadline(const struct pm_fleet *fleet, size_t site, int64_t *day);

/* The first and the last of the deadlines that hold for any site; false: there is none. */
bool pm_fleet_deadlines(const struct pm_fleet *fleet, int64_t *first, int64_t *last);

/* The day to which an open site's slack is counted: its due day or its deadline,
 * whichever comes first; `*own` (may be null): it is its due day. False when there is
 * neither, or the site is done or was not read. The slack is the whole days from the
 * UTC day of `now` until then, below zero when it has passed. */
bool pm_fleet_until(const struct pm_fleet *fleet, size_t site, int64_t *day, bool *own);
bool pm_fleet_slack(const struct pm_fleet *fleet, size_t site, struct pm_when now, int64_t *days);

/* The worst finding across the fleet about a site, or null. `findings` may be null, or
 * not made yet: then nothing was found. */
const struct pm_fleet_finding *pm_fleet_worst(const struct pm_fleet_findings *findings, size_t site);

/* Does a stop finding stand about the site, its own or one across the fleet? */
bool pm_fleet_stopped(const struct pm_fleet *fleet, const struct pm_fleet_findings *findings, size_t site);

/* Can the next move be made now: it is open, not stopped, and so is the gate of its phase? */
bool pm_fleet_ready(const struct pm_fleet *fleet, const struct pm_fleet_findings *findings, size_t site);

/* Head counts; practice sites are counted apart and nowhere else. */
struct pm_fleet_counts {
	size_t sites, practice, unread;
	size_t done, ready, stopped;     /* as above; a site may be done and stopped */
	size_t holds[PM_HOLDERS];        /* whose move it is */
};

void pm_fleet_count(const struct pm_fleet *fleet, const struct pm_fleet_findings *findings,
                    struct pm_fleet_counts *counts);

#endif
