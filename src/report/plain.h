/* plain.h - plain text in columns. Private to this floor. */
#ifndef REPORT_PLAIN_H
#define REPORT_PLAIN_H

#include "portmuster/text.h"

/* How many bytes of `text` fit `columns`; `*taken` receives their columns. */
size_t plain_fitting(const char *text, size_t columns, size_t *taken);

/* The next piece of `*text` that fits: up to the last blank inside, or a whole
 * width where there is none. Moves on behind it and its blanks; always moves. */
size_t plain_piece(const char **text, size_t columns, const char **piece);

/* Add blanks until `*at` has come to `column`. */
void plain_pad(struct pm_text *text, size_t *at, size_t column);

/* Add `shown` (safe to show) as lines of at most `columns`: the first begins with
 * `first`, the others with as many blanks. */
void plain_wrap(struct pm_text *out, size_t columns, const char *first, const char *shown);

#endif
