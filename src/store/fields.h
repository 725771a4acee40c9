/* fields.h - the field tables: what each document holds and where it lives.
 *
 * One table a mapping, one row a key. Loading (bind.c), editing and composing
 * (splice.c, document.c) and the format's page (format_page.c) all read these
 * rows; no key is named anywhere else. Rows stand in the order in which a
 * mapping is written.
 */
#ifndef STORE_FIELDS_H
#define STORE_FIELDS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "portmuster/arena.h"

#define STORE_FORMAT 1            /* the newest format this program reads */
#define STORE_NOWHERE SIZE_MAX    /* for `also`: there is no such member */

/* What a key holds, and what the member at `offset` is. */
enum store_holds {
	STORE_TEXT,       /* struct pm_word */
	STORE_TIME,       /* struct pm_word; `also`: struct pm_when, unknown when malformed */
	STORE_FLAG,       /* bool, written yes or no */
	STORE_WHOLE,      /* int64_t within least..most */
	STORE_DECIMAL,    /* struct pm_number */
	STORE_CHOICE,     /* one of `choice` */
	STORE_TEXTS,      /* struct pm_words: a list of texts */
	STORE_MAPPING,    /* a mapping of `table`, its struct at `offset`; `also`: bool, it is there */
	STORE_MAPPINGS,   /* pointer to a list of mappings of `table`; `also`: size_t, how many */
};

enum store_need {
	STORE_OPTIONAL,
	STORE_REQUIRED,   /* must be there and not be empty */
	STORE_PRESENT,    /* must be there, may be empty */
};

/* A closed set of words. Without `set` and `get` the member is the word itself. */
struct store_choice {
	unsigned count;
	const char *(*word)(unsigned at);
	void (*set)(void *member, unsigned at);
	unsigned (*get)(const void *member);
};

struct store_table;

struct store_field {
	const char *key;
	enum store_holds holds;
	enum store_need need;
	size_t offset, also;
	int64_t least, most;                 /* of a whole number */
	const struct store_choice *choice;
	const struct store_table *table;
	const char *accepts;                 /* more than the kind says, or null */
	const char *meaning;                 /* one phrase for the format's page */
};

struct store_table {
	const char *name;                    /* "reading", as in a message */
	const struct store_field *fields;
	size_t count;
	size_t size;                         /* of its struct, when it stands in a list */
};

extern const struct store_table store_job_table, store_plan_table, store_gear_table, store_layout_table;
extern const struct store_table store_fleet_table;
extern const struct store_table store_reading_table, store_waiver_table;

/* The row for the first `length` bytes of `key`, or null. */
const struct store_field *store_field_find(const struct store_table *table,
                                           const char *key, size_t length);

/* The page that describes the formats, in Markdown; null when memory
 * ran out. */
char *store_format_page(struct pm_arena *arena);

#endif
