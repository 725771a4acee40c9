/* The stand-in console on a real pseudo-terminal, in a process of its own, and
 * the conversation with it in real time. */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "console_loop.h"

#define DEADLINE 20000

static struct loop_gear shared;

static int set_up(void **state)
{
	(void)state;
	loop_gear_init(&shared);
	return 0;
}

static int64_t clock_ms(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* --- the player ---------------------------------------------------------------------- */

struct player {
	pid_t pid;
	int stop;            /* written to: it ends */
	char name[128];
};

static void play(struct player *player, const struct standin_options *options, int64_t seconds)
{
	struct pm_fault fault;
	int ends[2], fd = standin_open(player->name, sizeof player->name, &fault);
	assert_true(fd >= 0);
	assert_int_equal(pipe(ends), 0);
	player->pid = fork();
	assert_true(player->pid >= 0);
	if (player->pid == 0) {
		close(ends[1]);
		_exit(standin_play(options, fd, ends[0], seconds, &fault) ? 0 : 9);
	}
	close(fd);
	close(ends[0]);
	player->stop = ends[1];
}

/* How it ended: its exit status, or -1 when it had to be killed. */
static int wait_for(struct player *player)
{
	int64_t deadline = clock_ms() + DEADLINE;
	int status;
	while (waitpid(player->pid, &status, WNOHANG) == 0) {
		if (clock_ms() > deadline) {
			kill(player->pid, SIGKILL);
			waitpid(player->pid, &status, 0);
			return -1;
		}
		poll(NULL, 0, 2);
	}
	close(player->stop);
	return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static int stop(struct player *player)
{
	assert_int_equal(write(player->stop, "x", 1), 1);
	return wait_for(player);
}

/* --- this end --------------------------------------------------------------------------- */

static int open_line(const char *name)
{
	struct termios modes;
	int fd = open(name, O_RDWR | O_NOCTTY | O_NONBLOCK);
	assert_true(fd >= 0);
	assert_int_equal(tcgetattr(fd, &modes), 0);
	/* The stand-in has left it so that nothing is echoed or changed. */
	assert_int_equal(modes.c_lflag & (ECHO | ICANON | ISIG), 0);
	assert_int_equal(modes.c_oflag & OPOST, 0);
	return fd;
}

/* Carry bytes until the conversation is over, or `enough` interfaces of pass
 * `passes` + 1 are read. */
static void carry(struct talk *talk, int fd, size_t passes, size_t enough)
{
	int64_t deadline = clock_ms() + DEADLINE;
	while (talk_stage(talk) != TALK_DONE && talk_stage(talk) != TALK_FAILED && clock_ms() < deadline) {
		const char *bytes;
		char got[512];
		size_t length = talk_pending(talk, &bytes);
		if (length) {
			assert_true(loop_allowed(bytes, length));
			ssize_t took = write(fd, bytes, length);
			if (took > 0) talk_sent(talk, (size_t)took);
		}
		struct pollfd watch = { .fd = fd, .events = POLLIN };
		int wait = talk_wait(talk, clock_ms());
		poll(&watch, 1, wait < 0 || wait > 1000 ? 1000 : wait);
		ssize_t count = read(fd, got, sizeof got);
		if (count > 0) assert_true(talk_feed(talk, got, (size_t)count, clock_ms()));
		else if (count == 0 || errno != EAGAIN) talk_cut(talk);
		talk_tick(talk, clock_ms());
		if (enough && talk_passes(talk) == passes && talk_running(talk)->count >= enough) return;
	}
}

static struct standin_options quick(uint64_t seed)
{
	struct standin_options options = standin_defaults(&shared.gear, seed);
	options.boot = 300;
	options.speed = 115200;
	return options;
}

static void assert_all(const struct talk *talk, const struct standin_options *options, size_t pass)
{
	const struct talk_pass *one = talk_pass(talk, pass);
	assert_non_null(one);
	assert_true(one->complete);
	assert_int_equal(one->listing.count, LOOP_PORTS);
	for (size_t i = 0; i < one->listing.count; i++)
		assert_int_equal(pm_eui48_number(&one->listing.reading[i].address),
		                 pm_eui48_number(&options->base) + one->listing.reading[i].port);
}

static void test_conversation(void **state)
{
	(void)state;
	struct standin_options options = quick(1);
	struct talk_options with = { .gear = &shared.gear, .passes = 2 };
	struct player player;
	options.chatter = 6;
	play(&player, &options, 0);
	int fd = open_line(player.name);
	struct talk *talk = talk_begin(&with, clock_ms());
	assert_non_null(talk);
	carry(talk, fd, 0, 0);
	assert_string_equal(talk_saying(talk), "2 passes complete: 13 of 13 interfaces, 13 of 13 interfaces");
	assert_all(talk, &options, 0);
	assert_all(talk, &options, 1);
	talk_free(talk);
	close(fd);
	assert_int_equal(stop(&player), 0);
}

/* The line is closed in the middle: what was read stays; the console plays on,
 * and whoever opens the line later is answered. */
static void test_close_and_reopen(void **state)
{
	(void)state;
	struct standin_options options = quick(2);
	struct talk_options with = { .gear = &shared.gear, .passes = 1, .patience = 300, .retries = 20 };
	struct player player;
	options.speed = 57600;
	play(&player, &options, 0);
	int fd = open_line(player.name);
	struct talk *talk = talk_begin(&with, clock_ms());
	assert_non_null(talk);
	carry(talk, fd, 0, 4);
	close(fd);
	talk_cut(talk);
	assert_int_equal(talk_passes(talk), 1);
	assert_false(talk_pass(talk, 0)->complete);
	assert_in_range(talk_pass(talk, 0)->listing.count, 4, LOOP_PORTS - 1);
	talk_free(talk);

	poll(NULL, 0, 100);   /* long enough for it to see that nobody is there */
	fd = open_line(player.name);
	talk = talk_begin(&with, clock_ms());
	assert_non_null(talk);
	carry(talk, fd, 0, 0);
	assert_int_equal(talk_stage(talk), TALK_DONE);
	assert_all(talk, &options, 0);
	talk_free(talk);
	close(fd);
	assert_int_equal(stop(&player), 0);
}

/* The console is gone in the middle. */
static void test_unplugged(void **state)
{
	(void)state;
	struct standin_options options = quick(3);
	struct talk_options with = { .gear = &shared.gear, .passes = 1 };
	struct player player;
	options.speed = 57600;
	play(&player, &options, 0);
	int fd = open_line(player.name);
	struct talk *talk = talk_begin(&with, clock_ms());
	assert_non_null(talk);
	carry(talk, fd, 0, 3);
	assert_int_equal(stop(&player), 0);
	carry(talk, fd, 0, 0);
	assert_int_equal(talk_stage(talk), TALK_FAILED);
	assert_string_equal(talk_saying(talk), "cut off in pass 1");
	assert_int_equal(talk_passes(talk), 1);
	assert_true(talk_pass(talk, 0)->listing.count >= 3);
	talk_free(talk);
	close(fd);
}

/* Nobody ever comes: it ends when its time is over, and rests meanwhile. */
static void test_nobody(void **state)
{
	(void)state;
	struct standin_options options = quick(4);
	struct player player;
	int64_t begun = clock_ms();
	play(&player, &options, 1);
	assert_int_equal(wait_for(&player), 0);
	assert_in_range(clock_ms() - begun, 900, DEADLINE);
}

static void test_rests(void **state)
{
	(void)state;
	struct standin_options options = quick(5);
	struct player player;
	play(&player, &options, 0);
	close(open_line(player.name));   /* opened and closed: poll would report it without end */
	poll(NULL, 0, 600);
	char path[64], line[1024];
	unsigned long user = 0, system = 0;
	snprintf(path, sizeof path, "/proc/%d/stat", (int)player.pid);
	FILE *file = fopen(path, "r");
	assert_non_null(file);
	size_t length = fread(line, 1, sizeof line - 1, file);
	fclose(file);
	line[length] = '\0';
	assert_int_equal(sscanf(strrchr(line, ')') + 1, " %*c %*d %*d %*d %*d %*d %*u %*u %*u %*u %*u %lu %lu", &user, &system), 2);
	assert_true(user + system <= 10);   /* hundredths of a second */
	assert_int_equal(stop(&player), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_conversation), cmocka_unit_test(test_close_and_reopen), cmocka_unit_test(test_unplugged),
		cmocka_unit_test(test_nobody), cmocka_unit_test(test_rests),
	};
	return cmocka_run_group_tests(tests, set_up, NULL);
}
