/* standin_parts.h - what the stand-in console's files share: its state
 * (standin.c), what it says (standin_text.c), chance (standin_noise.c). standin_pty.c
 * knows nothing but the public face. */
#ifndef CAPTURE_STANDIN_PARTS_H
#define CAPTURE_STANDIN_PARTS_H

#include "capture/standin.h"
#include "portmuster/text.h"

#define STANDIN_LINE 256        /* bytes of one line of text */
#define STANDIN_INPUT 120       /* of what is typed to it */
#define STANDIN_SERIAL 48
#define STANDIN_PROMPT 64

/* --- chance ------------------------------------------------------------------- */

/* The next 64 bits of the stream: see pm_random_next. */
uint64_t chance_next(uint64_t *state);

/* 0 .. `below` - 1; `below` at least 1. */
unsigned chance_below(uint64_t *state, unsigned below);

/* One in `of`; never when `of` is 0. */
bool chance_one_in(uint64_t *state, unsigned of);

/* What a noisy line makes of one byte: 0, 1 or 2 bytes in `out`. */
size_t chance_noise(uint64_t *state, const struct standin_options *options, char byte, char out[static 2]);

/* --- state ----------------------------------------------------------------------- */

enum standin_state { STANDIN_STARTING, STANDIN_READY, STANDIN_PAGING };

struct standin {
	struct standin_options options;
	uint64_t chance, noise;       /* one for what it does, one for the line */
	enum standin_state state;
	int64_t now;
	int64_t started;              /* when it was switched on; may be ahead */
	unsigned message, messages;   /* of the start: said, in all */
	char prompt[STANDIN_PROMPT], serial[STANDIN_SERIAL];
	struct pm_eui48 wrong;        /* what the wrong port lists */

	char in[STANDIN_INPUT];
	size_t in_length;
	bool after_return;            /* a line feed after a carriage return is the same Enter */

	/* a listing under way */
	size_t line, lines;
	unsigned on_page;
	unsigned listings, reboot_listing;
	size_t reboot_line;
	bool rebooted;

	/* what waits to be sent, noise included */
	char *out;
	size_t out_length, out_at, out_room;
	int64_t typed;                /* microseconds at which the last byte was out */
	unsigned column;
};

/* --- what it says ------------------------------------------------------------------ */

size_t standin_lines(const struct standin *standin);                                  /* of its listing */
void standin_line(const struct standin *standin, size_t line, struct pm_text *out);
void standin_message(struct standin *standin, struct pm_text *out);                   /* of the start */
void standin_banner(const struct standin *standin, struct pm_text *out);
void standin_identity(const struct standin *standin, size_t line, struct pm_text *out);
void standin_chatter(struct standin *standin, struct pm_text *out);
#define STANDIN_IDENTITY_LINES 3

/* A serial number of the gear's form, and a prompt that its pattern takes. */
void standin_make_serial(struct standin *standin);
void standin_make_prompt(struct standin *standin);

#endif
