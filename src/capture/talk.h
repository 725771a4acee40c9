/* talk.h - the conversation with a console, as a pure state machine: bytes and
 * the time go in, bytes to be sent come out.
 *
 * It sends nothing but Enter, the pager's answer (a blank) and the read-only
 * commands that the gear profile lists. It wants a prompt, then for each pass
 * asks who the router is and lists the interfaces: each pass is a capture of
 * its own, though on a quiet console its bytes may equal another's. Watching,
 * it sends nothing; what stands between two prompts is a pass when it lists
 * something, and it is done when enough passes hold the whole roster. Whatever
 * happens it can say what it waits for.
 */
#ifndef CAPTURE_TALK_H
#define CAPTURE_TALK_H

#include "capture/listing.h"
#include "portmuster/fault.h"

enum talk_stage {
	TALK_WATCHING,    /* sends nothing: the person drives, the tool reads along */
	TALK_WAKING,      /* Enter was sent, waits for a prompt */
	TALK_IDENTITY,    /* asked who it is */
	TALK_LISTING,     /* the listing runs */
	TALK_PAUSE,       /* between passes */
	TALK_DONE,        /* all passes complete */
	TALK_FAILED,      /* gave up; `why` tells */
};

struct talk_options {
	const struct pm_gear *gear;   /* borrowed */
	unsigned passes;              /* listings wanted: 2 */
	bool watch;                   /* never send anything by itself */
	bool attended;                /* somebody is at the keyboard: a login is handed over
	                                 instead of given up */
	int64_t patience;             /* milliseconds without a byte before a retry; 0: 5000 */
	unsigned retries;             /* of one command before giving up; 0: 3 */
};

/* One complete listing. */
struct talk_pass {
	const char *bytes;            /* raw, as received, from the prompt before the identity on; at
	                                 most 4 MiB, then it is cut and not complete */
	size_t length;
	struct listing listing;
	bool complete;                /* the prompt came back after it */
};

struct talk;

/* `now` is in milliseconds from any start, and must not run backwards. */
struct talk *talk_begin(const struct talk_options *options, int64_t now);
void talk_free(struct talk *talk);

/* Received bytes. False when memory ran out. */
bool talk_feed(struct talk *talk, const void *bytes, size_t length, int64_t now);

/* Time passes: retries and giving up happen here. */
void talk_tick(struct talk *talk, int64_t now);

/* What is to be sent now; points into the talk, valid until the next call.
 * Tell how much of it was taken with talk_sent. */
size_t talk_pending(const struct talk *talk, const char **bytes);
void talk_sent(struct talk *talk, size_t length);

/* The person takes the keyboard, or gives it back: from then on it watches, or
 * wakes the console and begins the pass anew. Passes that are complete stay. False
 * when memory ran out. */
bool talk_hand_over(struct talk *talk, bool person, int64_t now);

/* Bytes were missed: the running pass begins anew, as one with a gap could tell a
 * wrong address. Watching, what there is of it is kept as an incomplete pass. False
 * when memory ran out. */
bool talk_missed(struct talk *talk, int64_t now);

/* The line is gone or the person leaves: what was read so far becomes a last,
 * incomplete pass. */
void talk_cut(struct talk *talk);

enum talk_stage talk_stage(const struct talk *talk);

/* What it waits for or why it gave up, one phrase, safe to show: "waits for a
 * prompt (try 2 of 3)", "pass 1: 7 of 13 interfaces". */
const char *talk_saying(const struct talk *talk);

/* Milliseconds until talk_tick has something to do; -1: only bytes matter. */
int talk_wait(const struct talk *talk, int64_t now);

size_t talk_passes(const struct talk *talk);
const struct talk_pass *talk_pass(const struct talk *talk, size_t index);   /* complete or cut ones */

/* How many interfaces of the roster that pass lacks; 0 also when there is no roster. */
size_t talk_lacks(const struct talk *talk, size_t pass);

/* Does the line at the cursor ask for a name or a password? */
bool talk_wants_login(const struct talk *talk);

/* The line at the cursor, as clean_unfinished gives it. */
const char *talk_unfinished(const struct talk *talk, size_t *length);

/* The listing of the pass that is running, as far as it has come; may be
 * called after every feed to fill a port map. Never null. An interface is in it
 * when the next one has begun. */
const struct listing *talk_running(const struct talk *talk);

#endif
