/* standin.h - the stand-in console: plays a router for practice and tests.
 *
 * A pure state machine seeded by a number, so that a run can be repeated; a
 * small driver beside it runs it on a pseudo-terminal. It boots for a settable
 * time, prompts, pages, lists its interfaces in several styles, and can be
 * noisy.
 */
#ifndef CAPTURE_STANDIN_H
#define CAPTURE_STANDIN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "portmuster/arena.h"
#include "portmuster/eui48.h"
#include "portmuster/fault.h"
#include "portmuster/gear.h"

enum standin_style { STANDIN_STANZA, STANDIN_ROWS, STANDIN_TABLE, STANDIN_STYLES };

struct standin_options {
	const struct pm_gear *gear;       /* borrowed: roster, commands, pager, prompt */
	uint64_t seed;
	struct pm_eui48 base;             /* of the first interface; the rest follow by one */
	const char *serial;               /* null: made to fit the gear's form */
	enum standin_style style;
	enum pm_notation notation;
	bool lower;
	int64_t boot;                     /* milliseconds of boot messages before the prompt */
	int64_t speed;                    /* bits a second that it types at; 0: at once */
	unsigned rows;                    /* lines before the pager stops; 0: no pager */
	/* noise, each as one in so many characters or lines; 0: none */
	unsigned drop, doubled, flip;     /* characters lost, doubled, changed */
	unsigned chatter;                 /* lines between which a log line breaks in */
	bool reboot;                      /* starts again once, in the middle of a listing */
	unsigned columns;                 /* wraps lines at this width; 0: never */
	/* faults planted for practice */
	unsigned wrong_port;              /* 1 + index of an interface that lists a wrong digit; 0: none */
};

/* Sensible values for everything but the gear. */
struct standin_options standin_defaults(const struct pm_gear *gear, uint64_t seed);

struct standin;

/* `now` is in milliseconds from any start. Null when memory ran out. */
struct standin *standin_begin(const struct standin_options *options, int64_t now);
void standin_free(struct standin *standin);

/* What was typed to it. */
void standin_feed(struct standin *standin, const void *bytes, size_t length, int64_t now);

/* What it has printed by `now`, at most `room` bytes; returns how many. */
size_t standin_take(struct standin *standin, void *bytes, size_t room, int64_t now);

/* Milliseconds until it has more to say by itself; -1: only when it is typed to. */
int standin_wait(const struct standin *standin, int64_t now);

/* The address that interface `port` really has, whatever it lists. */
struct pm_eui48 standin_address(const struct standin *standin, size_t port);

/* --- on a pseudo-terminal --- */

/* Open a pseudo-terminal, raw, without echo; `name` receives the path of its
 * other end. Returns the master's descriptor, -1 with a fault. */
int standin_open(char *name, size_t room, struct pm_fault *fault);

/* Play on descriptor `fd` until `stop` is readable (-1: none), `seconds` have
 * passed (0: no limit), or the descriptor can never be heard of again. A
 * pseudo-terminal whose other end nobody has opened, or was closed, is waited
 * for: it plays on meanwhile, and what it says is lost as on a wire. */
bool standin_play(const struct standin_options *options, int fd, int stop, int64_t seconds, struct pm_fault *fault);

#endif
