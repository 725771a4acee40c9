/* judge.h - what the gates and the findings both ask of a job. Private to the core. */
#ifndef CORE_JUDGE_H
#define CORE_JUDGE_H

#include "portmuster/check.h"

/* A fact's standing with the site list's value counted as one reading. `of` is
 * not null. */
enum pm_standing judge_fact(const struct pm_job *job, const char *of, struct pm_fact *fact);

/* Is this the fact of an interface's address? */
bool judge_is_port(const char *of);

/* The latest standing answer to a step, or null. In a phase that opens by the
 * booked window, answers from before the window was booked are of an earlier
 * attempt and count no more; behind the sending of the sheet, so are those from
 * before the latest one was sent. */
const struct pm_reading *judge_answer(const struct pm_case *c, const char *step);

/* The decision on the latest sheet that was sent, or null. */
const struct pm_reading *judge_decision(const struct pm_job *job);

/* The window that is booked; false with a reason when there is none that can be read. */
bool judge_window(const struct pm_job *job, struct pm_when *from, struct pm_when *until, const char **why);

/* Was work of the phase begun inside the window? */
bool judge_window_begun(const struct pm_case *c, const struct pm_phase *phase,
                        struct pm_when from, struct pm_when until);

/* Is the window ahead, running, or was work of `phase` or a later one begun in it?
 * Otherwise it was missed. */
bool judge_window_kept(const struct pm_case *c, const struct pm_phase *phase, struct pm_when from,
                       struct pm_when until);

/* Is a measured value a number within the step's limits? Else says why. */
bool judge_measure(const struct pm_step *step, const char *value, struct pm_text *why);

/* Is it one of these words? */
bool judge_listed(const struct pm_words *list, const char *value);

/* Is it the name of a fact that stands in every job (not of a step, a port or the kit)? */
bool judge_named_fact(const char *of);

/* How many of a kit item are at hand; false when it was not counted. */
bool judge_kit_count(const struct pm_job *job, const struct pm_kit_item *item, uint64_t *count);

/* Does the waiver belong to this need of this gate, with name and reason? */
bool judge_waives(const struct pm_waiver *waiver, const struct pm_phase *phase, bool closing,
                  const struct pm_need *need);

/* Findings by the kind of thing they look at; each adds to result->findings. */
void judge_addresses(const struct pm_case *c, struct pm_result *result);
void judge_attached(const struct pm_case *c, struct pm_result *result);
void judge_prefixes(const struct pm_case *c, struct pm_result *result);
void judge_pattern(const struct pm_case *c, struct pm_result *result);
void judge_head(const struct pm_case *c, struct pm_result *result);
void judge_steps(const struct pm_case *c, struct pm_result *result);
void judge_desk(const struct pm_case *c, struct pm_result *result);
void judge_times(const struct pm_case *c, struct pm_result *result);
void judge_zone(const struct pm_case *c, struct pm_result *result);
void judge_waivers(const struct pm_case *c, struct pm_result *result);

/* Where a reading's value stands in the job file. */
static inline struct pm_place judge_place(const struct pm_job *job, struct pm_word word)
{
	return (struct pm_place){ job->file, word.line, word.column };
}

#endif
