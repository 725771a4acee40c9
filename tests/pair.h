/* pair.h - a pseudo terminal that stands for a serial line, and its settings. */
#ifndef TESTS_PAIR_H
#define TESTS_PAIR_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

/* A pseudo terminal; its line side is kept open, so that its settings last. */
struct pair {
	int master, side;
	char name[64];
};

static inline void pair_make(struct pair *pair)
{
	pair->master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
	assert_true(pair->master >= 0);
	assert_int_equal(grantpt(pair->master), 0);
	assert_int_equal(unlockpt(pair->master), 0);
	snprintf(pair->name, sizeof pair->name, "%s", ptsname(pair->master));
	pair->side = open(pair->name, O_RDWR | O_NOCTTY | O_CLOEXEC);
	assert_true(pair->side >= 0);
}

static inline void pair_end(struct pair *pair)
{
	if (pair->master >= 0)
		close(pair->master);
	close(pair->side);
}

static inline struct termios settings(const struct pair *pair)
{
	struct termios now;
	assert_int_equal(tcgetattr(pair->side, &now), 0);
	return now;
}

static inline void assert_same_settings(const struct termios *a, const struct termios *b)
{
	assert_int_equal(a->c_iflag, b->c_iflag);
	assert_int_equal(a->c_oflag, b->c_oflag);
	assert_int_equal(a->c_cflag, b->c_cflag);
	assert_int_equal(a->c_lflag, b->c_lflag);
	assert_memory_equal(a->c_cc, b->c_cc, sizeof a->c_cc);
	assert_int_equal(cfgetispeed(a), cfgetispeed(b));
	assert_int_equal(cfgetospeed(a), cfgetospeed(b));
}

#endif
