/* console_hand.h - a console played by hand, with virtual time. */
#ifndef TESTS_CONSOLE_HAND_H
#define TESTS_CONSOLE_HAND_H

#include "console_loop.h"

static struct loop_gear shared;

static inline int set_up(void **state)
{
	(void)state;
	loop_gear_init(&shared);
	return 0;
}

struct hand {
	struct talk *talk;
	int64_t now;
	char sent[4096];
	size_t length;
};

static inline void collect(struct hand *hand)
{
	const char *bytes;
	size_t length = talk_pending(hand->talk, &bytes);
	assert_true(hand->length + length < sizeof hand->sent);
	memcpy(hand->sent + hand->length, bytes, length);
	hand->length += length;
	hand->sent[hand->length] = '\0';
	talk_sent(hand->talk, length);
	assert_true(loop_allowed(hand->sent, hand->length));
}

static inline void begin(struct hand *hand, const struct talk_options *options)
{
	*hand = (struct hand){ .talk = talk_begin(options, 0) };
	assert_non_null(hand->talk);
	collect(hand);
}

/* Let time pass as a caller does, who wakes when the talk asks for it. */
static inline void pass(struct hand *hand, int64_t ms)
{
	int64_t end = hand->now + ms;
	while (hand->now < end) {
		int wait = talk_wait(hand->talk, hand->now);
		int64_t step = wait < 0 || hand->now + wait > end ? end - hand->now : wait > 0 ? wait : 1;
		hand->now += step;
		talk_tick(hand->talk, hand->now);
		collect(hand);
	}
}

static inline void say(struct hand *hand, const char *text)
{
	assert_true(talk_feed(hand->talk, text, strlen(text), hand->now));
	collect(hand);
}

/* What was sent since the last time. */
static inline const char *sent(struct hand *hand)
{
	static char copy[sizeof hand->sent];
	memcpy(copy, hand->sent, hand->length + 1);
	hand->length = 0;
	return copy;
}

static inline struct talk_options plain(void)
{
	return (struct talk_options){ .gear = &shared.gear, .passes = 2 };
}

static const char rows[] =
	"mgmt: address 00-00-5E-00-53-10, up\r\nport1: address 00-00-5E-00-53-11, up\r\n"
	"port2: address 00-00-5E-00-53-12, up\r\n";

/* Up to the first rows of the first listing. */
static inline void to_listing(struct hand *hand)
{
	struct talk_options options = plain();
	begin(hand, &options);
	say(hand, "\r\neg-12> ");
	pass(hand, 100);
	say(hand, "badge\r\nunit number EG12-26-00417\r\neg-12> ");
	pass(hand, 100);
	assert_string_equal(sent(hand), "\rbadge\rroll\r");
	say(hand, "roll\r\n");
	say(hand, rows);
}

#endif
