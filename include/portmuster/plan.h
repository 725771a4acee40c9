/* plan.h - the plan of a swap: phases, their steps and their gates. */
#ifndef PORTMUSTER_PLAN_H
#define PORTMUSTER_PLAN_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"
#include "portmuster/gear.h"
#include "portmuster/word.h"

/* What a step asks for. One table in plan.c gives each its word. */
enum pm_ask {
	PM_ASK_ANSWER,       /* one of `proceed` or `halt`: a stated value or status */
	PM_ASK_TEXT,         /* free text, not empty */
	PM_ASK_NUMBER,       /* a measurement with unit and limits */
	PM_ASK_KIT,          /* a count for every item of the plan's kit */
	PM_ASK_SERIAL,       /* a serial number, read twice */
	PM_ASK_CODE,         /* a site or unit code, read twice */
	PM_ASK_ADDRESSES,    /* the roster's addresses, each read twice */
	PM_ASK_WAIT,         /* a waiting time that must run out */
	PM_ASK_SENT,         /* the sheet went out: to whom; the seal is recorded with it */
	PM_ASK_DECISION,     /* accepted or rejected, with reference or reason */
	PM_ASK_APPOINTMENT,  /* a window: two RFC 3339 times */
	PM_ASKS
};

struct pm_step {
	struct pm_word id, title;
	struct pm_word text;         /* what to do, several lines */
	struct pm_word caution;      /* what can hurt, and who governs */
	bool critical;               /* a killer item: shown as such, never skippable */
	bool skippable;              /* may be answered "does not apply" with a reason */
	enum pm_ask ask;
	struct pm_word fact;         /* what a serial or code step reads, such as router/serial;
	                                others record step/ID, kit/ITEM, port/NAME or desk/... */
	struct pm_words proceed;     /* answers that let the job go on */
	struct pm_words halt;        /* answers that stop it */
	struct pm_word form;         /* what a code must look like, see pm_form_match */
	struct pm_word unit;         /* of a number */
	struct pm_number least, most;
	struct pm_word limit_source; /* where the limits come from */
	struct pm_word wait;         /* "boot" (the gear's time) or seconds, "300 420" */
	int64_t least_minutes;       /* of a window that is booked; 0: any length will do */
	struct pm_word note;         /* what the note must say that an answer which lets the job go
	                                on then needs; not given: a note is free */
	bool words;                  /* a text without a letter is refused: a number names nobody */
	bool contact;                /* its text says whom to ring when a step stops the job */
	bool sheet;                  /* asks about the registration sheet, which should be written by then */
	struct pm_words show;        /* facts that stand beside the question, or "seal" */
	struct pm_word stopped;      /* what to do when an answer stopped the job */
	struct pm_word only_step, only_answer;   /* applies only when that step was answered so */
};

/* A gate needs its conditions; each names a row of the table in gate.h. */
struct pm_need {
	struct pm_word condition;    /* "steps-done", or "phase-closed prepare" with an argument */
	bool waiver;                 /* a lead may waive it */
};

struct pm_phase {
	struct pm_word id, title, purpose;
	struct pm_word who;          /* technician, lead, desk, operations centre */
	int64_t minutes;             /* estimate, 0: none */
	struct pm_need *open, *close;
	size_t open_count, close_count;
	struct pm_step *steps;
	size_t step_count;
};

struct pm_kit_item {
	struct pm_word id, name, use;
	int64_t need;                /* how many */
};

struct pm_plan {
	const char *file, *digest;   /* as in pm_gear */
	int64_t format;
	struct pm_word id, title;
	struct pm_kit_item *kit;
	size_t kit_count;
	struct pm_phase *phases;
	size_t phase_count;
	struct pm_stray_keys strays;
};

/* What a document's own shape cannot say: ids unique, conditions known and
 * well armed, steps complete for what they ask, references that exist. False
 * with the first fault; `condition` and `step` faults carry their place. */
bool pm_plan_valid(const struct pm_plan *plan, struct pm_fault *fault);

/* The same for a gear profile: names unique under the matching rule, at least
 * one port, prefixes readable. */
bool pm_gear_valid(const struct pm_gear *gear, struct pm_fault *fault);

/* Find by id; null when there is none. `phase` (if given) receives the index
 * of the phase that holds the step. */
const struct pm_step *pm_plan_step(const struct pm_plan *plan, const char *id, size_t *phase);
const struct pm_phase *pm_plan_phase(const struct pm_plan *plan, const char *id);

/* "answer", "number" ...; never null. */
const char *pm_ask_word(enum pm_ask ask);
/* The reverse; false when there is no such word. */
bool pm_ask_find(const char *word, enum pm_ask *ask);

/* The key under which a step's own answer is recorded: its `fact`, or
 * "step/ID". In `arena`; null when memory ran out. */
const char *pm_step_fact(const struct pm_step *step, struct pm_arena *arena);

/* The least and most seconds of a wait written as "300 420"; false for
 * anything else ("boot" included: that time is the gear's). */
bool pm_wait_read(const char *text, int64_t *least, int64_t *most);

#endif
