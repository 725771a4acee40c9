/* live.h - a console on a serial line, read into the job while it talks.
 *
 * The driver waits until the line or the clock has something (live_fd,
 * live_wait), then calls live_service; it never waits itself. Each pass of the
 * conversation that is complete is recorded at once as a capture of its own.
 * Its evidence begins with a line that says where it came from:
 *
 *     # portmuster capture 2026-09-14T09:03:00Z pass 1 /dev/ttyUSB0 9600 8N1
 *
 * A conversation that is cut keeps what was read up to its last whole line, as
 * a capture too, with "cut short" behind the number of the pass.
 *
 * Life cycle: live_open, any calls, live_close. The line's settings are put back
 * when it goes, when it is cut, when it is closed, and when a signal ends the
 * program meanwhile (screen/curses_rescue.h); so one at a time.
 */
#ifndef WALK_LIVE_H
#define WALK_LIVE_H

#include "capture/talk.h"
#include "walk/session.h"

#define LIVE_LINES 500     /* of the console, kept for a pane */

struct live;

struct live_options {
	unsigned passes;       /* listings wanted; 0: as talk does by itself */
	bool watch;            /* never send anything */
	bool attended;         /* as in talk.h */
};

/* What has become of it so far. */
struct live_sum {
	size_t complete;       /* passes recorded that ran to their prompt */
	size_t lacking;        /* of those, with interfaces missing */
	size_t cut;            /* passes recorded of which only the beginning is there */
	size_t readings;       /* recorded */
	size_t ports;          /* addresses among them */
	size_t differing;      /* that contradict what the job held before */
	size_t serials;        /* different serial numbers, of which none could be taken */
	size_t strangers;      /* addresses of interfaces that the gear has not got: left out */
	size_t problems;       /* lines that could not be read */
	size_t secrets;        /* places that the evidence does not keep */
};

/* Open `device` with the speed and framing of the session's gear and begin to
 * talk. The session stays the caller's and must outlive the result; `now_ms` is
 * in milliseconds from any start and never runs backwards. Null with a fault. */
struct live *live_open(struct session *session, const char *device, const struct live_options *options,
                       int64_t now_ms, struct pm_fault *fault);

/* Read what is there, write what is to be sent, record the passes that are
 * complete. False with a fault when the line is gone, which ends it with what
 * was read so far recorded, or when a pass could not be recorded: it is tried
 * again at later calls. */
bool live_service(struct live *live, int64_t now_ms, struct pm_fault *fault);

/* Send what a person types, after what waits to be sent already; false when there
 * is no room for it, and then nothing of it is sent. */
#define LIVE_TYPED 256
bool live_type(struct live *live, const char *bytes, size_t length);

/* The person takes the keyboard, or gives it back: see talk_hand_over. */
bool live_hand_over(struct live *live, bool person, int64_t now_ms, struct pm_fault *fault);
bool live_by_hand(const struct live *live);

/* Leave the line to others, as when the program is suspended: it is closed, its
 * settings put back. The next live_service opens it again and begins the running
 * pass anew, as bytes were missed; when it cannot be had, that is a line that went. */
void live_pause(struct live *live);

/* The person leaves: close the line and record what was read. False with a fault
 * when that could not be recorded. */
bool live_cut(struct live *live, struct pm_fault *fault);

/* Close and free; what was not recorded by then is given up. Null is allowed. */
void live_close(struct live *live);

/* The descriptor to wait for, -1 once the line is closed; is there something to
 * be written; and milliseconds until live_service has something to do by itself,
 * -1: never. */
int live_fd(const struct live *live);
bool live_sending(const struct live *live);
int live_wait(const struct live *live, int64_t now_ms);

/* The clock that `now_ms` is meant to be: monotonic, in milliseconds. */
int64_t live_clock(void);

/* Nothing more will come: all passes are complete, or it failed, or was cut. */
bool live_over(const struct live *live);

/* What it waits for, has done, or why it ended: one phrase, safe to show. */
const char *live_saying(const struct live *live);

const struct live_sum *live_sum(const struct live *live);
const struct talk *live_talk(const struct live *live);

/* The device by its short name, however it was named, and how it is set:
 * "/dev/ttyUSB0 9600 8N1". Safe to show. */
const char *live_where(const struct live *live);

/* The console's lines, cleaned and without secrets, oldest first; null past the
 * last. At most LIVE_LINES of the latest are kept. */
size_t live_lines(const struct live *live);
/* The line at the cursor as it stands, safe to show; for the screen alone. */
void live_cursor_line(const struct live *live, char *out, size_t room);
const char *live_line(const struct live *live, size_t index);

#endif
