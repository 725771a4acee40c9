/* order.h - which sites the board lists, and in which order. */
#ifndef BOARD_ORDER_H
#define BOARD_ORDER_H

#include "board/model.h"

enum board_sort {
	SORT_SITE,      /* by code */
	SORT_HOLDER,    /* by who holds the next move */
	SORT_WORST,     /* unread first, then the worst finding */
	SORT_PHASE,     /* least far first */
	SORT_SLACK,     /* least first */
	SORT_WINDOW,    /* the earliest appointment first */
	SORTS
};

/* "site", "next move", "worst finding", "phase", "slack", "appointment". */
const char *order_sort_word(enum board_sort sort);

/* What blocks: nothing, one of the holders, a stop finding, a file that can't be read,
 * or the phase that is not closed. */
enum order_block {
	BLOCK_ANY,
	BLOCK_READY,
	BLOCK_TECHNICIAN, BLOCK_LEAD, BLOCK_DESK, BLOCK_CENTRE,
	BLOCK_STOP, BLOCK_UNREAD,
	BLOCK_PHASE,
};

#define ORDER_TEXT 64

struct order_filter {
	char text[ORDER_TEXT];      /* in code, name, crew, file, finding or what it waits for; empty: all */
	enum order_block block;
	char phase[ORDER_TEXT];     /* of BLOCK_PHASE: its id, */
	size_t place;               /* and how far in a plan it was found */
};

/* The sites listed, by their index in the fleet. Owns `row`. */
struct order {
	uint32_t *row;
	size_t count, room;
	int code_width;             /* cells of the longest site name listed, unread ones left out, */
	int window_width;           /* and of the longest appointment in its short form */
	size_t phases;              /* the most that a site listed has */
};

/* List anew. False when memory ran out; then nothing is listed. */
bool order_make(struct order *order, const struct board_model *model, enum board_sort sort,
                const struct order_filter *filter);
void order_free(struct order *order);

/* Go to the next kind of block that any site has, with BLOCK_ANY after the last. */
void order_next_block(struct order_filter *filter, const struct board_model *model);

/* What the filter shows, in words: "ready", "technician", "a stop finding", "in muster";
 * empty for BLOCK_ANY. */
void order_block_say(const struct order_filter *filter, char out[static ORDER_TEXT + 16]);

#endif
