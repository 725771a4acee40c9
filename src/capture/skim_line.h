/* skim_line.h - single lines of a log: may they matter? */
#ifndef CAPTURE_SKIM_LINE_H
#define CAPTURE_SKIM_LINE_H

#include "capture/clean.h"
#include "capture/columns.h"
#include "capture/pager.h"
#include "capture/sieve.h"
#include "capture/tokens.h"

#define SEAM_HALF 80   /* bytes on each side of a seam that are looked at */

struct skim_line {
	const struct pm_gear *gear;
	struct sieve sieve;
	struct pager pager;           /* to recognise prompts by */
	bool given_first[256];        /* what a prompt that the gear names may start with */
	struct clean *probe;          /* undoes what a terminal would, line by line */
	struct clean_line cleaned;
	bool vanished;
	struct row row;
	struct token token[ROW_MOST_TOKENS];
	struct columns no_columns;
	char seam[2 * SEAM_HALF];     /* what ends a line at the terminal's edge */
	size_t seam_length;
	char space[SIEVE_MARGIN + ROW_MOST_BYTES + 2 * SIEVE_MARGIN];
};

bool skim_line_init(struct skim_line *l, const struct pm_gear *gear);
void skim_line_free(struct skim_line *l);

/* The line, its line feed included, as a terminal shows it: `cleaned` and
 * `vanished`. False when memory ran out. */
bool skim_line_clean(struct skim_line *l, const char *raw, size_t length);

/* Nothing in such a line is read: a log line. Plain text, with bytes behind it. */
bool skim_line_dead(const struct skim_line *l, const char *text, size_t length);

/* Is anything read in the line, which the sieve has caught? Plain text. */
bool skim_line_matters(struct skim_line *l, const char *text, size_t length);

/* And in `cleaned`, which the sieve has not seen? */
bool skim_line_cleaned_matters(struct skim_line *l);

/* Does a pager prompt stand at an end of the line? Plain text. */
bool skim_line_has_prompt(const struct skim_line *l, const char *text, size_t length);

/* Might prompts hide where the line begins, or that it just reaches the edge? */
bool skim_line_may_reach(const struct skim_line *l, const char *text, size_t length);

/* Keep the end of `cleaned`, which reaches the edge; and does something that
 * matters go across from there to the `cleaned` of now? */
void skim_line_keep_seam(struct skim_line *l);
bool skim_line_seam_matters(struct skim_line *l);

#endif
