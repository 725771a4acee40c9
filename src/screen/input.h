/* input.h - bytes from a terminal become events.
 *
 * A pure state machine: it reads no descriptor and no clock, `now` is given in
 * milliseconds of any steady clock. Feed it what one read(2) returned, take
 * the events, and call input_flush when input_wait says so: that is how a
 * lone Escape is told from the beginning of a key's sequence.
 *
 * Understood: the key sequences of ECMA-48 terminals (CSI and SS3, with or
 * without modifiers), those learned from the terminal's description, UTF-8,
 * and bracketed paste.
 */
#ifndef SCREEN_INPUT_H
#define SCREEN_INPUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "screen/event.h"

#define INPUT_LEARNED   24
#define INPUT_HELD      32              /* longest unfinished sequence */
#define INPUT_PASTE     (1024 * 1024)   /* bytes of a paste that are kept */
#define INPUT_BURST_MS  12              /* reads closer than this are one burst */
#define INPUT_STALL_MS  2000            /* a paste without an end ends by itself */

struct input_learned {
	char sequence[12];
	enum screen_key key;
};

struct input_item;

struct input {
	int escape_ms;   /* how long an Escape waits for a sequence */
	struct input_learned learned[INPUT_LEARNED];
	int learned_count;

	char held[INPUT_HELD];   /* an unfinished sequence or character */
	size_t held_length;
	int64_t last_ms;         /* of the last read */

	int characters, enters;  /* in the burst that is running */
	bool pasting;
	char *paste;             /* what is being pasted */
	size_t paste_length, paste_room;

	struct input_item *item; /* events not yet taken */
	size_t first, count, room;
	char *lent;              /* the paste lent with the last event */
};

void input_init(struct input *input, int escape_ms);
void input_free(struct input *input);

/* Learn a key's sequence; ones that do not begin with ESC, and null, are left
 * out: no lone control character may change its meaning. */
void input_learn(struct input *input, const char *sequence, enum screen_key key);

/* Take the bytes of one read. When memory runs out, input is lost. */
void input_feed(struct input *input, const char *bytes, size_t length, int64_t now);

/* Milliseconds until input_flush has something to do, or -1. */
int input_wait(const struct input *input, int64_t now);
/* Give up waiting for the rest, when it is time. */
void input_flush(struct input *input, int64_t now);

/* Take the next event; false when there is none. The text of a paste lives
 * until the next call. `now`, `rows` and `columns` are left to the caller. */
bool input_next(struct input *input, struct screen_event *event);

#endif
