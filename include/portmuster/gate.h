/* gate.h - the conditions that open and close phases: one table, one row each.
 *
 * A condition is a pure function of (job, plan, gear, findings, now). It always
 * says why: what is missing, and who can supply it.
 */
#ifndef PORTMUSTER_GATE_H
#define PORTMUSTER_GATE_H

#include "portmuster/arena.h"
#include "portmuster/finding.h"
#include "portmuster/plan.h"
#include "portmuster/text.h"

struct pm_case;
struct pm_roster;

/* What a condition may look at, and where it leaves its words. */
struct pm_gate_view {
	const struct pm_case *the_case;
	const struct pm_roster *roster;
	const struct pm_findings *findings;
	const struct pm_phase *phase;     /* whose gate it is */
	bool closing;                     /* the closing one */
	const char *argument;             /* or null */
	const bool *closed;               /* a flag a phase: its closing gate is met */
	struct pm_arena *arena;
	struct pm_text *why;              /* to be filled in either case */
	int64_t opens_in;                 /* out: seconds until time alone meets it; 0: unknown */
};

struct pm_condition {
	const char *name;       /* "steps-done" */
	const char *argument;   /* what the argument is: "PHASE", "STEP", "CODE" or "FACT"; null: takes none */
	const char *meaning;    /* when it is met, one sentence */
	const char *who;        /* who can supply what is missing */
	bool never_waived;      /* no plan may let it be waived */
	bool (*met)(struct pm_gate_view *view);
};

/* The table; `*count` rows, static. */
const struct pm_condition *pm_condition_table(size_t *count);

/* Find the row for a condition as a plan writes it ("name" or "name argument")
 * and store where the argument starts (null: none given). Null when unknown. */
const struct pm_condition *pm_condition_find(const char *written, const char **argument);

struct pm_gate_line {
	size_t phase;               /* index in the plan */
	bool closing;               /* false: the opening gate */
	const struct pm_need *need;
	bool met;                   /* by itself or by a waiver */
	bool waived;                /* by a waiver */
	const char *why;            /* safe to show */
	const char *who;            /* who can supply it: from the table, or the plan (docs/fleet.md) */
	int64_t opens_in;           /* as in the view */
};

struct pm_gates {
	struct pm_gate_line *line;  /* phase by phase, opening before closing, plan order */
	size_t count;
	bool *open, *closed;        /* a flag a phase: every line of that gate is met */
	size_t phases;
};

/* Judge every gate. Called by pm_check; false when memory ran out. */
bool pm_gates_judge(const struct pm_case *the_case, const struct pm_roster *roster,
                    const struct pm_findings *findings, struct pm_arena *arena,
                    struct pm_gates *gates);

/* How far a step of the plan is. */
enum pm_progress {
	PM_TODO,            /* not answered, or answered in part */
	PM_RUNNING,         /* a wait that has begun and not run out */
	PM_DONE,
	PM_HALTED,          /* answered with something that stops the job */
	PM_DOES_NOT_APPLY,  /* by its own condition, or skipped with a reason */
};

/* The progress of one step; `*remaining` (if given) is the seconds a running
 * wait still takes, `why` (if given) receives what is missing. */
enum pm_progress pm_step_progress(const struct pm_case *the_case, const struct pm_roster *roster,
                                  const struct pm_step *step, int64_t *remaining,
                                  struct pm_text *why);

/* Does a step's answer count no more because something began anew after it? */
enum pm_outlived {
	PM_NOT_OUTLIVED,
	PM_OUTLIVED_WINDOW,  /* another appointment was made: what comes behind it, and what it opens, is asked again */
	PM_OUTLIVED_SHEET,   /* another sheet was sent: what comes behind the sending is asked again */
};

/* Whether the latest answer to a step, if it has one, is outlived. */
enum pm_outlived pm_step_outlived(const struct pm_case *the_case, const struct pm_step *step);

/* Has the text a letter in it? A number alone, of a telephone for example, names
 * nobody, and a step that wants `words` does not take it. */
bool pm_step_words(const char *text);

/* Is every step that comes before this one in its phase answered so that the job
 * may go on, or does not apply? Answers from before a step of the way back was
 * answered (one that applies only after this step stopped the job) do not count. Else
 * `why` (may be null) names the first. */
bool pm_step_founded(const struct pm_case *the_case, const struct pm_roster *roster,
                     const struct pm_step *step, struct pm_text *why);

/* The least and most seconds of a waiting step, practice time applied. */
void pm_step_wait(const struct pm_case *the_case, const struct pm_step *step,
                  int64_t *least, int64_t *most);

#endif
