/* redact.h - secrets taken out of console bytes before anything is written.
 *
 * Lines that set or show a credential, key or community string lose what
 * follows the word that tells; what is typed after a password prompt is never
 * kept, nor what a line editor painted over. The rules are one table; hashed
 * passwords, passwords inside addresses of the network kind (scheme://user:..@),
 * community strings on a walk's command line and private key blocks go by their
 * shape. Works on a stream of raw bytes,
 * line by line, and leaves every other byte as it was: the lines keep their
 * number, and what is redacted once is not changed by redacting it again.
 *
 * A hardware address or serial number is never lost. In a line that has one
 * behind the word that tells, only the next word goes, and its width stays, so
 * that columns do; behind a doubtful word not even that when it is an
 * interface's name or the line a heading.
 */
#ifndef CAPTURE_REDACT_H
#define CAPTURE_REDACT_H

#include <stdbool.h>
#include <stddef.h>

#include "portmuster/arena.h"

#define REDACT_MARK "[redacted]"

struct redact_rule {
	const char *word;      /* lower case; matched without regard to case, as a whole word or as
	                          a whole part of one: wifi-psk, adminPassword, PSK2 */
	enum { REDACT_REST, REDACT_NEXT_WORD, REDACT_PROMPT, REDACT_METHOD } what;
	                       /* the rest of the line; the next word; only as a prompt, that is before
	                          a colon or question mark: the rest of the line; only before the name
	                          of a hash or cipher: the word behind that */
	enum { REDACT_SURE, REDACT_DOUBTFUL, REDACT_COMMON } sense;
	                       /* doubtful: has everyday meanings, not behind "any" or before "to";
	                          common: mostly has them, not before a small number or a known word */
	const char *why;
};

/* The table, for tests and documentation. */
const struct redact_rule *redact_table(size_t *count);

struct redact;   /* a stream's state */

/* Null when memory ran out. */
struct redact *redact_begin(void);
/* Feed bytes; `*out` (in the redact's own memory, valid until the next call)
 * receives what may be kept so far: whole lines only. False when memory ran out. */
bool redact_feed(struct redact *redact, const void *bytes, size_t length, const char **out, size_t *out_length);
/* What was held back for want of a line end; then frees. `*out` is in `arena`. */
bool redact_end(struct redact *redact, struct pm_arena *arena, const char **out, size_t *out_length);
/* Free without asking for the rest. Null is allowed. */
void redact_free(struct redact *redact);

/* All at once; the result is in `arena`, terminated. `*count` (if given) is how
 * many places were taken out. Null when memory ran out. */
char *redact_all(const void *bytes, size_t length, struct pm_arena *arena, size_t *out_length, size_t *count);

#endif
