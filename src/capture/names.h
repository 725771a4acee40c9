/* names.h - which words of a line name an interface, and which lines say
 * nothing of one: prompts with what was typed at them, and log lines. */
#ifndef CAPTURE_NAMES_H
#define CAPTURE_NAMES_H

#include "capture/addresses.h"
#include "capture/columns.h"
#include "capture/tokens.h"
#include "portmuster/gear.h"
#include "portmuster/roster.h"

/* The names to look for: a gear's roster, or none and then their shapes alone.
 * What the roster says of a word is remembered, as a log says the same words
 * again and again. */
struct names {
	const struct pm_gear *gear;   /* may be null */
	struct {
		char word[23];
		unsigned char length;     /* 0: not in use */
		size_t port;
	} memo[256];
};

struct name {
	size_t start, length;      /* bytes of the row */
	size_t first, after;       /* tokens */
	size_t port;               /* roster index, or PM_NO_PORT */
};

/* Does a name stand at token `i`: of the roster, or with the shape of one? */
bool name_at(struct names *names, const char *text, const struct token *token,
             size_t count, size_t i, struct name *name);

/* At the head of the line, behind a running number or a word such as "interface". */
bool name_head(struct names *names, const char *text, const struct token *token,
               size_t count, struct name *name);

/* Anywhere, as the value of a word such as "interface" or "name": name=port1. */
bool name_keyed(struct names *names, const char *text, const struct token *token,
                size_t count, struct name *name);

/* Is the token a word that no listing is known to have, and so may be a name? */
bool name_possible(const char *text, const struct token *token);

/* Such a word at the head. */
bool name_bare(const char *text, const struct token *token, size_t count, struct name *name);

/* Under the heading of the names. */
bool name_column(struct names *names, const char *text, const struct token *token,
                 size_t count, const struct columns *columns, struct name *name);

/* Anywhere else in a row, not behind a word for somebody else nor one such as
 * "on" that only says where `address` was seen. */
bool name_beside(struct names *names, const char *text, const struct token *token,
                 size_t count, const struct candidate *address, struct name *name);

/* Is the whole text a name with a number in it? */
bool name_whole(struct names *names, const char *text, size_t length, size_t *port);

bool line_is_prompt(const char *text, size_t length);
bool line_is_log(const char *text, size_t length);

#endif
