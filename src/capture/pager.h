/* pager.h - the prompts that a console's pager leaves in a log.
 *
 * Known by shape, in any case: "more" between marks with or without how far
 * it has come (`--More--`, `<more>`, `(more 41%)`, `-- more -- (41%)`), "press
 * (or hit, type, strike) ... to continue" and "(end)". A gear profile may add
 * texts of its own.
 */
#ifndef CAPTURE_PAGER_H
#define CAPTURE_PAGER_H

#include <stdbool.h>
#include <stddef.h>

#define PAGER_MOST_TEXTS 16
#define PAGER_MOST_LENGTH 80

struct pager {
	char text[PAGER_MOST_TEXTS][PAGER_MOST_LENGTH + 1];
	size_t count;
	bool first[256], last[256];   /* what a prompt may start and end with */
};

void pager_init(struct pager *pager);

/* One more prompt text. False when it is blank, too long or one too many. */
bool pager_add(struct pager *pager, const char *text);

/* The length of the prompts that `text` starts with, blanks before them, the
 * echoed answer and one blank after it included; 0 when it starts with none. */
size_t pager_head(const struct pager *pager, const char *text, size_t length);

/* The length that is left once the prompts at the end of `text`, and blanks
 * after them, are taken away; `length` when it ends with none. */
size_t pager_tail(const struct pager *pager, const char *text, size_t length);

#endif
