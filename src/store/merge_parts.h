/* merge_parts.h - what the parts of a merge share. */
#ifndef STORE_MERGE_PARTS_H
#define STORE_MERGE_PARTS_H

#include "portmuster/text.h"
#include "store/document.h"
#include "store/merge.h"
#include "store/splice.h"

enum merge_side { MERGE_BASE, MERGE_MINE, MERGE_THEIRS, MERGE_SIDES };

#define MERGE_NOWHERE UINT32_MAX
#define MERGE_MOST_KEYS 8

struct merge_doc {
	struct store_tree tree;
	struct store_job job;
};

/* One change of MINE's text. An insertion belongs to what stands before it,
 * unless it is `ahead`. */
struct merge_edit {
	size_t start, end, serial;
	const char *text;
	bool lines;            /* it begins on a line of its own */
	bool ahead;
};

/* One entry of the united list. */
struct merge_item {
	uint32_t at[MERGE_SIDES];      /* its index in each side's list, or MERGE_NOWHERE */
	uint32_t fact, value;          /* numbers of the fact and of the fact with its value */
	int64_t second;                /* when, INT64_MIN: not known */
	bool withdrawal, any;          /* takes back readings; of any value */
	bool stands;                   /* it does on every side that has it */
	bool placed;
};

/* What is united: a list of the job and by which keys its entries are told apart. */
struct merge_kind {
	const char *key;
	const char *name[MERGE_MOST_KEYS + 1];
	bool whole;            /* entries of the two sides are one only when all keys agree;
	                          else they are devices, see merge_device.c */
};

struct merge_list {
	const struct merge_kind *kind;
	struct store_node *node[MERGE_SIDES];      /* null: no such list */
	struct store_node **entry[MERGE_SIDES];
	uint32_t *item_of[MERGE_SIDES];            /* by index in that side's list */
	uint32_t count[MERGE_SIDES];
	struct merge_item *item;
	uint32_t items;
	uint32_t *order;                           /* the result */
	uint32_t ordered;
};

/* A list of MINE that is written anew between two places of its text. */
struct merge_region {
	size_t start, end;
	const struct merge_list *list;
};

#define MERGE_LISTS 3

struct merge {
	struct pm_arena *arena;
	struct merge_doc doc[MERGE_SIDES];
	bool with_base;
	struct store_merged *out;
	size_t conflict_room, note_room;
	const char *line_break;
	struct merge_edit *edit;
	size_t edits, edit_room;
	struct merge_region region[MERGE_LISTS];
	size_t regions;
	struct pm_text tail;   /* new keys at the end of the document */
	bool plain;            /* the second try: no comments of our own, nothing copied as it stands */
	bool no_place;         /* MINE's layout has no safe place for something */
};

/* --- merge_match.c --- */

/* The entries of a list on all sides, and which of them are one. */
bool merge_match(struct merge *m, const struct merge_kind *kind, struct merge_list *list);
const char *merge_text_of(const struct store_node *map, const char *key);
/* A new item for one side's entry. */
struct merge_item *merge_item_make(struct merge_list *list, enum merge_side side, uint32_t index);

/* --- merge_device.c --- */

/* The same for attached devices, whose entries have been gathered. Devices that
 * both sides added and that contradict each other are reported. */
bool merge_match_devices(struct merge *m, struct merge_list *list);

/* --- merge_order.c --- */

/* Give items their facts, values and times. */
bool merge_mark_readings(struct merge *m, struct merge_list *list);
void merge_mark_waivers(struct merge *m, struct merge_list *list);
/* Put them in order; withdrawals that had to move are noted. */
bool merge_order(struct merge *m, struct merge_list *list);

/* Is the item new on that side alone? */
bool merge_only(const struct merge_item *item, enum merge_side side);

/* The value as a withdrawal takes it: an address in whatever notation, blanks at
 * the ends dropped. Null when memory ran out. */
const char *merge_plain_value(struct merge *m, const char *value);

/* --- merge_tell.c --- */

void merge_conflict(struct merge *m, struct store_merge_conflict conflict);
void merge_note(struct merge *m, enum store_merge_remark remark, enum merge_side side,
                uint32_t line, const char *key);
/* Report what readings of both sides contradict each other. */
bool merge_tell_readings(struct merge *m, const struct merge_list *list);
/* Report entries that one side no longer has. */
void merge_tell_gone(struct merge *m, const struct merge_list *list);

/* --- merge_comments.c --- */

/* Report comments of MINE and THEIRS that are not in the result; false when
 * memory ran out. */
bool merge_tell_comments(struct merge *m, const struct store_tree *result);

/* --- merge_head.c --- */

/* Merge a mapping three ways into MINE's; `base` may be null. Keys in `skip`
 * (ended by null, or null) are passed over; `path` names the mapping. */
void merge_map(struct merge *m, const char *path, const struct store_node *base, struct store_node *mine,
               const struct store_node *theirs, const struct merge_kind *skip, size_t skips);

/* --- merge_text.c --- */

static inline bool merge_is_break(char c) { return c == '\n' || c == '\r'; }

void merge_edit(struct merge *m, size_t start, size_t end, const char *text, bool lines, bool ahead);
/* A value, or a whole node, on one line between braces, brackets and quotes. */
void merge_put_flow(struct pm_text *out, const struct store_node *node);
const char *merge_flow(struct merge *m, const struct store_node *node);
/* MINE's bytes of a range with the edits that fall in it. */
void merge_put_range(const struct merge *m, struct pm_text *out, size_t from, size_t to);
void merge_put_own_line(const struct merge *m, struct pm_text *out);
void merge_put_blanks(struct pm_text *out, size_t count);
size_t merge_line_start(const struct store_tree *tree, size_t at);
/* The whole result. */
char *merge_compose(struct merge *m, size_t *length);

/* --- merge_list.c --- */

/* Bring a list of MINE into the order that was found: text and tree. */
bool merge_place(struct merge *m, struct merge_list *list);
void merge_put_list(const struct merge *m, struct pm_text *out, const struct merge_list *list);

#endif
