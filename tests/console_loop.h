/* console_loop.h - a conversation with the stand-in console in memory, with
 * virtual time: no sleeping, and every byte that is ever sent is judged. */
#ifndef TESTS_CONSOLE_LOOP_H
#define TESTS_CONSOLE_LOOP_H

#include <stdlib.h>
#include <string.h>

#include "capture/standin.h"
#include "capture/talk.h"
#include "portmuster/roster.h"

#define LOOP_PORTS 13
#define WORD(text) { text, 1, 1 }

/* --- the gear: a management port and twelve more ------------------------------- */

struct loop_gear {
	struct pm_gear gear;
	struct pm_port port[LOOP_PORTS];
	struct pm_word pager, serial;
};

static inline void loop_gear_init(struct loop_gear *g)
{
	static const char *const name[LOOP_PORTS] = {
		"mgmt", "port1", "port2", "port3", "port4", "port5", "port6", "port7", "port8", "port9", "port10",
		"port11", "port12",
	};
	static const char *const role[4] = { "management", "satellite terminal", "gauge sensors", "field network" };
	memset(g, 0, sizeof *g);
	for (size_t i = 0; i < LOOP_PORTS; i++) {
		g->port[i].name = (struct pm_word)WORD(name[i]);
		g->port[i].panel = (struct pm_word)WORD(i ? name[i] + 4 : "MGMT");
		g->port[i].role = (struct pm_word)WORD(role[i < 3 ? i : 3]);
	}
	g->pager = (struct pm_word)WORD("-- space for more --");
	g->serial = (struct pm_word)WORD("unit number");
	g->gear = (struct pm_gear){
		.format = 1, .id = WORD("eg-12"), .title = WORD("EG-12 practice unit"), .training = true,
		.serial_form = WORD("EG12-99-99999"), .boot_least = 300, .boot_most = 420,
		.ports = g->port, .port_count = LOOP_PORTS,
		.console = {
			.speed = 9600, .framing = WORD("8N1"), .listing = WORD("roll"), .identity = WORD("badge"),
			.pagers = { &g->pager, 1 }, .serials = { &g->serial, 1 }, .prompt = WORD("eg-12> $"),
		},
	};
}

/* --- what may be sent ------------------------------------------------------------- */

/* Nothing but Enter, a blank, and the two commands with their Enter. */
static inline bool loop_allowed(const char *sent, size_t length)
{
	static const char *const pieces[] = { "\r", " ", "roll\r", "badge\r" };
	size_t at = 0;
	while (at < length) {
		size_t n = 0;
		for (size_t i = 0; i < sizeof pieces / sizeof *pieces && !n; i++)
			if (length - at >= strlen(pieces[i]) && memcmp(sent + at, pieces[i], strlen(pieces[i])) == 0)
				n = strlen(pieces[i]);
		if (!n) return false;
		at += n;
	}
	return true;
}

/* --- the loop ------------------------------------------------------------------------ */

struct loop {
	struct talk *talk;
	struct standin *standin;
	int64_t now;
	size_t piece;          /* bytes fed at once; 0: all that there is */
	size_t split;          /* a feed is cut in two at this byte of all; 0: none */
	size_t received;
	char sent[4096];
	size_t sent_length;
	bool good;             /* nothing else was ever sent, and memory sufficed */
};

static inline bool loop_begin(struct loop *loop, const struct talk_options *talk, const struct standin_options *standin)
{
	*loop = (struct loop){ .now = 1000, .good = true };
	loop->talk = talk_begin(talk, loop->now);
	loop->standin = standin_begin(standin, loop->now);
	return loop->talk && loop->standin;
}

static inline void loop_end(struct loop *loop)
{
	talk_free(loop->talk);
	standin_free(loop->standin);
}

static inline void loop_carry(struct loop *loop)
{
	const char *bytes;
	size_t length = talk_pending(loop->talk, &bytes);
	if (!length) return;
	if (loop->sent_length + length <= sizeof loop->sent) {
		memcpy(loop->sent + loop->sent_length, bytes, length);
		loop->sent_length += length;
	} else {
		loop->good = false;
	}
	standin_feed(loop->standin, bytes, length, loop->now);
	talk_sent(loop->talk, length);
}

static inline void loop_hear(struct loop *loop, const char *bytes, size_t length)
{
	size_t first = length;
	if (loop->split > loop->received && loop->split < loop->received + length) first = loop->split - loop->received;
	for (size_t at = 0; at < length; at += first, first = length - at)
		if (!talk_feed(loop->talk, bytes + at, first, loop->now)) loop->good = false;
	loop->received += length;
}

static inline bool loop_over(const struct loop *loop)
{
	return talk_stage(loop->talk) == TALK_DONE || talk_stage(loop->talk) == TALK_FAILED;
}

/* Go on until the conversation is over, `until` (if given) says so, or `most`
 * milliseconds have passed. */
static inline void loop_run(struct loop *loop, int64_t most, bool (*until)(struct loop *loop))
{
	char bytes[4096];
	size_t room = loop->piece && loop->piece < sizeof bytes ? loop->piece : sizeof bytes;
	int64_t end = loop->now + most;
	while (!loop_over(loop) && loop->now < end && !(until && until(loop))) {
		loop_carry(loop);
		size_t got = standin_take(loop->standin, bytes, room, loop->now);
		if (got) {
			loop_hear(loop, bytes, got);
			continue;
		}
		int a = talk_wait(loop->talk, loop->now), b = standin_wait(loop->standin, loop->now);
		int wait = a < 0 ? b : b < 0 || a < b ? a : b;
		if (wait < 0) break;
		/* A line hands over bytes in lots, some milliseconds apart. */
		if (wait < 16 && wait == b && a > 16) wait = 16;
		loop->now += wait > 0 ? wait : 1;
		talk_tick(loop->talk, loop->now);
	}
	loop->good &= loop_allowed(loop->sent, loop->sent_length);
}

/* How many interfaces of the pass have exactly the address that they really have. */
static inline size_t loop_right(const struct loop *loop, size_t index)
{
	const struct talk_pass *pass = talk_pass(loop->talk, index);
	size_t right = 0;
	for (size_t i = 0; pass && i < pass->listing.count; i++) {
		const struct listing_reading *reading = &pass->listing.reading[i];
		if (reading->port == PM_NO_PORT) continue;
		struct pm_eui48 address = standin_address(loop->standin, reading->port);
		right += pm_eui48_compare(&address, &reading->address) == 0;
	}
	return right;
}

#endif
