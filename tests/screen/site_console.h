/* site_console.h - a site that has come to its addresses, and at the end of a line
 * that was far from raw a console that types as a real one does, in a process of
 * its own. */
#ifndef TESTS_SCREEN_SITE_CONSOLE_H
#define TESTS_SCREEN_SITE_CONSOLE_H

#include <signal.h>
#include <sys/ioctl.h>
#include <sys/wait.h>

#include "capture/standin.h"
#include "pair.h"
#include "walk_course.h"

static char folder[256], job[320];
static struct walk_fixture site;
static struct pair console;
static struct termios before;     /* of its line */
static pid_t player;

/* A line that was far from raw, with a speed of its own. Without echo: what the
 * console says before anybody has the line is not said to it. */
static inline void set_line(void)
{
	struct termios modes = settings(&console);
	modes.c_iflag = ICRNL | IXON | IXANY | BRKINT;
	modes.c_oflag = OPOST | ONLCR;
	modes.c_lflag = ICANON | ISIG | IEXTEN | ECHOK;
	modes.c_cflag |= HUPCL | CSTOPB;
	modes.c_cc[VMIN] = 7;
	cfsetispeed(&modes, B4800);
	cfsetospeed(&modes, B4800);
	assert_int_equal(tcsetattr(console.side, TCSANOW, &modes), 0);
	before = settings(&console);
}

static inline int set_up_console(void **state)
{
	(void)state;
	struct pm_fault fault;
	walk_start(&site);
	walk_key(&site, KEYS_ENTER);
	course_prepare(&site);
	course_fit(&site);
	course_to_ports(&site);
	snprintf(folder, sizeof folder, "%s", site.folder);
	snprintf(job, sizeof job, "%s", site.job);
	pair_make(&console);
	fcntl(console.master, F_SETFL, O_NONBLOCK);
	set_line();
	player = fork();
	if (player == 0) {
		struct standin_options options = standin_defaults(&site.session.gear.gear, 7);
		options.base = pm_eui48_from(0x00005E005310u);   /* RFC 9542 2.1.4 */
		options.boot = 0;
		options.speed = 19200;
		options.serial = "EG12-26-00417";
		close(console.side);
		_exit(standin_play(&options, console.master, -1, 120, &fault) ? 0 : 1);
	}
	session_close(&site.session);
	canvas_free(&site.canvas);
	return player < 0;
}

static inline void unplug(void)
{
	kill(player, SIGTERM);
	waitpid(player, NULL, 0);
	pair_end(&console);
	player = -1;
}

static inline int tear_down_console(void **state)
{
	if (player > 0)
		unplug();
	(void)state;
	scratch_remove(folder);
	return 0;
}

static inline bool is_raw(void)
{
	return !(settings(&console).c_lflag & ICANON);
}

static inline bool is_taken(void)
{
	int taken = 0;
	return ioctl(console.side, TIOCGEXCL, &taken) == 0 && taken;
}

static inline void assert_line_put_back(void)
{
	struct termios after = settings(&console);
	assert_same_settings(&before, &after);
	assert_false(is_taken());
}

#endif
