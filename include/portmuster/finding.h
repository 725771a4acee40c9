/* finding.h - something wrong or doubtful: the table of codes, and lists. */
#ifndef PORTMUSTER_FINDING_H
#define PORTMUSTER_FINDING_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"
#include "portmuster/word.h"

enum pm_severity { PM_NOTE, PM_WARN, PM_STOP };

/* One row a code: the name is the code in lower case with hyphens. The list is
 * the order of the documentation page. */
enum pm_code {
	PM_ADDRESS_MALFORMED, PM_ADDRESS_GROUP, PM_ADDRESS_LOCAL, PM_ADDRESS_NULL,
	PM_ADDRESS_DOCUMENTATION, PM_ADDRESS_RESERVED,
	PM_PREFIX_UNASSIGNED, PM_PREFIX_UNEXPECTED, PM_PREFIX_STRAY,
	PM_ADDRESS_REPEATED, PM_ADDRESS_ELSEWHERE,
	PM_INTERFACE_MISSING, PM_INTERFACE_UNKNOWN, PM_INTERFACE_ORDER,
	PM_PATTERN_BREAK, PM_READING_SINGLE, PM_READING_CONFLICT,
	PM_SERIAL_MALFORMED, PM_SERIAL_CONFLICT, PM_SERIAL_ELSEWHERE,
	PM_UNIT_CODE_MALFORMED, PM_UNIT_CODE_CONFLICT,
	PM_KIT_SHORT, PM_STEP_HALTED, PM_ANSWER_UNKNOWN, PM_MEASURE_OUTSIDE,
	PM_SHEET_STRUCTURE, PM_SHEET_CELL, PM_SEAL_CHANGED,
	PM_CLOCK_BEHIND, PM_TIME_MALFORMED, PM_ZONE_UNKNOWN, PM_ZONE_UNCHECKED, PM_OFFSET_UNUSUAL,
	PM_FACT_UNKNOWN, PM_KEY_UNKNOWN, PM_APPOINTMENT_CLASH,
	PM_PROFILE_CHANGED, PM_JOB_STALLED, PM_JOB_OVERDUE,
	PM_WAIVER_VOID, PM_REGISTRY_ABSENT,
	PM_EVIDENCE_ELSEWHERE, PM_JOB_CLONED, PM_SITE_CODE_REPEATED,
	PM_DESK_FULL, PM_WINDOW_NEAR, PM_WAY_UNKNOWN,
	PM_CODES
};

struct pm_code_row {
	const char *name;            /* "address-malformed" */
	enum pm_severity severity;
	enum pm_severity practice;   /* with training gear */
	const char *title;           /* what it is, a few words */
	const char *why;             /* why it matters, one or two sentences */
	const char *remedy;          /* what to do, imperative */
	const char *source;          /* document and section, "common practice, no source"
	                                or "this project's rule" */
};

/* The row of a code; never null. */
const struct pm_code_row *pm_code_row(enum pm_code code);

/* The code of a name; false when there is none. */
bool pm_code_find(const char *name, enum pm_code *code);

/* "note", "warn", "stop". */
const char *pm_severity_word(enum pm_severity severity);

struct pm_finding {
	enum pm_code code;
	enum pm_severity severity;
	const char *interface;     /* port name, or null */
	const char *field;         /* fact, or null */
	struct pm_place place;     /* line 0 when it came from no line */
	const char *message;       /* safe to show */
	const char *remedy;        /* the row's, or a more exact one */
	const char *suggestion;    /* a value worth trying, or null */
	size_t phase;              /* index of the phase that can mend it: later gates
	                              count it, earlier ones do not */
	bool waived;               /* a waiver stands for it: shown, but stops nothing */
};

struct pm_findings {
	struct pm_finding *item;
	size_t count, room;
	struct pm_arena *arena;
};

/* Findings live in `arena`. */
void pm_findings_init(struct pm_findings *list, struct pm_arena *arena);

/* Add one with the row's severity (the practice one when `practice`) and
 * remedy; returns it for further filling, or null when memory ran out. */
struct pm_finding *pm_findings_add(struct pm_findings *list, enum pm_code code, bool practice,
                                   struct pm_place place, const char *format, ...)
	__attribute__((format(printf, 5, 6)));

/* How many findings of at least `severity` are not waived. */
size_t pm_findings_count(const struct pm_findings *list, enum pm_severity severity);

/* Sort: worst first, then by place in the file; stable. */
void pm_findings_sort(struct pm_findings *list);

#endif
