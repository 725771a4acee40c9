/* talk_parts.h - what the conversation's files share: its state (talk.c, and
 * talk_turn.c for what happens when time passes), the passes (talk_pass.c),
 * the line at the cursor (talk_tail.c), the signs of a restart (talk_sign.c)
 * and its words (talk_say.c). */
#ifndef CAPTURE_TALK_PARTS_H
#define CAPTURE_TALK_PARTS_H

#include <regex.h>

#include "capture/clean.h"
#include "capture/pager.h"
#include "capture/talk.h"

#define TALK_PASSES_MOST 32
#define TALK_PASS_BYTES ((size_t)4 << 20)   /* raw bytes kept of one pass */
#define TALK_COMMAND_MOST 200
#define TALK_TAIL_MOST 255                  /* a longer unfinished line is no prompt */
#define TALK_BOOT_MOST 600                  /* seconds, where the gear profile says nothing */

/* --- passes ------------------------------------------------------------------ */

struct pass {
	struct talk_pass seen;
	struct pm_arena arena;
	struct listing_reader *reader;   /* null: finished */
	char *bytes;
	size_t room;
};

struct pass *pass_begin(const struct pm_gear *gear);
void pass_free(struct pass *pass);

/* Add received bytes; those beyond TALK_PASS_BYTES are left out, and `*over`
 * set. False when memory ran out. */
bool pass_add(struct pass *pass, const void *bytes, size_t length, bool *over);

/* Complete the listing. False when memory ran out. */
bool pass_finish(struct pass *pass, bool complete);

/* A finished pass goes on: its bytes are read anew. */
bool pass_reopen(struct pass *pass, const struct pm_gear *gear);

/* How many interfaces it has; those of the roster, when there is one. */
size_t pass_interfaces(const struct pass *pass, const struct pm_gear *gear);

/* --- the unfinished line -------------------------------------------------------- */

enum tail {
	TAIL_BLANK,      /* nothing but blanks */
	TAIL_OTHER,
	TAIL_PROMPT,     /* the gear profile says so */
	TAIL_LIKELY,     /* it has the shape of one */
	TAIL_PAGER,
	TAIL_TORN,       /* likely a pager prompt that lost or changed a character */
	TAIL_LOGIN,      /* it wants a name or a password */
};

struct tails {
	regex_t prompt;
	bool pattern;             /* `prompt` is compiled */
	struct pager pager;
};

/* False when the gear's prompt is no regular expression: `why` says so. */
bool tails_begin(struct tails *tails, const struct pm_gear *gear, char *why, size_t room);
void tails_free(struct tails *tails);
enum tail tail_of(const struct tails *tails, const char *text, size_t length);

/* --- signs of a restart ------------------------------------------------------------ */

#define SIGNS_SEEN 64

struct signs {
	uint32_t seen[SIGNS_SEEN];   /* the lines before the first prompt, hashed */
	size_t count;
	bool listing;                /* they were of a listing: they tell nothing */
	int64_t stamp;               /* the latest time that a log line bore, milliseconds; -1: none */
};

/* A line before the first prompt: remember it, unless that is a listing which
 * somebody else began. */
void signs_learn(struct signs *signs, const struct pm_gear *gear, const char *text, size_t length);
/* Does a line within a listing tell that the router starts? */
bool signs_tell(struct signs *signs, const char *text, size_t length);

/* --- the conversation ---------------------------------------------------------------- */

struct talk {
	struct talk_options options;
	struct tails tails;
	struct signs signs;
	struct clean *clean;
	enum talk_stage stage;
	enum tail tail;
	int64_t now;
	int64_t stage_at;            /* since when the stage lasts */
	int64_t last_byte, last_sent, last_line;   /* last_line: a full line came, or something was sent */

	struct pass *done[TALK_PASSES_MOST];
	size_t done_count;
	size_t whole;                /* of those: complete, with every interface of the roster */
	struct pass *running;        /* may be null while there is none */
	struct pass *spare;          /* the best of those given up, should nothing better come */
	size_t interfaces, readings; /* of the running one; readings tells when to count anew */

	char out[2 * TALK_COMMAND_MOST];
	size_t out_length;

	unsigned tries;              /* of the Enter or the command of this stage */
	unsigned stalls;             /* reminders since the last text */
	unsigned reminders;          /* since the command */
	unsigned strange;            /* times that the same unknown prompt answered */
	unsigned restarts;
	size_t ends;                 /* line ends and returns received, ever */
	size_t ends_at_command, ends_at_answer;
	bool answered;               /* the pager's prompt at `ends_at_answer` */
	size_t bytes_since_sent;
	size_t heard, unreadable;    /* bytes of this waking; those that no text has */
	size_t lines;                /* full lines with text, of this waking */
	bool text;                   /* something visible came in this waking */
	bool fresh;                  /* watching: bytes came since the last prompt */
	bool lost;                   /* reminders went unanswered in this listing */
	unsigned told;               /* signs of a restart in this listing */
	bool restarted, cut;         /* to be said */
	bool failed;                 /* memory ran out */

	char raw[TALK_TAIL_MOST];    /* the unfinished line as received */
	size_t raw_length;
	char strange_text[64];
	char why[PM_FAULT_TEXT];
	char saying[PM_FAULT_TEXT];
};

/* What happens next by itself, and when. */
enum turn { TURN_NONE, TURN_LOGIN, TURN_PAGER, TURN_PROMPT, TURN_NEXT, TURN_STALL, TURN_LIMIT };
struct turn_due {
	int64_t at;
	enum turn turn;
};
struct turn_due turn_due(const struct talk *talk);
void turn_take(struct talk *talk, enum turn turn);

/* The router has started again: the running pass begins anew. */
void turn_restart(struct talk *talk);

/* From now on the person types, or the tool does again. False when memory ran out. */
bool turn_hand_over(struct talk *talk, bool person);

/* Give up: what was read becomes a last, incomplete pass. `format` takes what
 * pm_text_add takes. */
void talk_fail(struct talk *talk, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Interfaces that the roster has and the running pass does not; with no roster
 * always 1. */
size_t talk_missing(const struct talk *talk);
size_t talk_roster(const struct talk *talk);

int64_t talk_boot_limit(const struct talk *talk);   /* milliseconds */

/* Put `saying` right. */
void talk_say(struct talk *talk);

#endif
