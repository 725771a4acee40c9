/* Giving the terminal back when a signal ends the program in the middle. */
#include "screen/curses_parts.h"

#include <poll.h>
#include <string.h>
#include <unistd.h>

#include <curses.h>
#include <term.h>

#define STUCK_MS 50     /* how long the end waits for a terminal to take output */

void back_find(struct back *back, int fd)
{
	back->fd = fd;
	back->length = 0;
	back->known = tcgetattr(fd, &back->found) == 0;
}

void back_add(struct back *back, const char *sequence)
{
	if (!sequence || sequence == (char *)-1)
		return;
	size_t length = back->length;
	for (const char *c = sequence; *c; c++) {
		const char *end = c[0] == '$' && c[1] == '<' ? strchr(c, '>') : NULL;
		if (end)
			c = end;   /* a pause, which only old terminals need */
		else if (length < sizeof back->bytes)
			back->bytes[length++] = *c;
		else
			return;    /* half a sequence would be worse than none */
	}
	back->length = length;
}

void back_learn(struct back *back)
{
	static const char *const usual[] = { "sgr0", "op", "rmkx", "cnorm" };
	const char *leave = tigetstr("rmcup");
	for (size_t i = 0; i < sizeof usual / sizeof *usual; i++)
		back_add(back, tigetstr(usual[i]));
	/* where there is no other screen to go back to, an empty one */
	back_add(back, leave && leave != (char *)-1 ? leave : tigetstr("clear"));
}

bool back_ours(int fd)
{
	pid_t front = tcgetpgrp(fd);
	return front < 0 || front == getpgrp();
}

void back_unstick(int fd)
{
	struct pollfd out = { .fd = fd, .events = POLLOUT };
	if (poll(&out, 1, STUCK_MS) == 0)
		tcflush(fd, TCOFLUSH);
}

void back_rescue(const void *of)
{
	const struct back *back = of;
	if (back->away || !back_ours(back->fd))
		return;
	if (back->known)
		tcsetattr(back->fd, TCSANOW, &back->found);
	back_unstick(back->fd);
	ssize_t ignored = write(back->fd, back->bytes, back->length);
	(void)ignored;
}
