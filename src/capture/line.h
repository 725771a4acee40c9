/* line.h - the serial line to a router's console.
 *
 * POSIX termios, raw, no flow control, exclusive use (TIOCEXCL and an advisory
 * lock). The settings found at opening are put back at closing; the handler of a
 * signal that ends the program may call line_rescue, at any moment from before
 * line_open until after line_close. Meanwhile nothing drops the modem lines, not
 * even being killed.
 */
#ifndef CAPTURE_LINE_H
#define CAPTURE_LINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <termios.h>

#include "portmuster/fault.h"

struct line {
	int fd;                    /* -1: closed */
	struct termios found;      /* to be put back */
	bool restore;
	bool alone;                /* the mark of exclusive use is ours to take off */
	char device[256];
};

/* Open `device` at `speed` bits a second with `framing` such as "8N1" (data bits
 * 5..8, parity N E O, stop bits 1 2). Never becomes the controlling terminal,
 * never waits for a carrier. A pseudo-terminal takes any framing: it carries eight
 * bits as they are. Faults, each with a remedy: missing device,
 * forbidden (names the group that owns it), busy, not a serial line, a speed or
 * framing that is not supported. After a fault `line` is closed. */
bool line_open(struct line *line, const char *device, int64_t speed, const char *framing, struct pm_fault *fault);

/* Put the settings back and close. Safe to call twice. */
void line_close(struct line *line);

/* Async-signal-safe: put the settings back and let others open the line, without
 * closing it. */
void line_rescue(const struct line *line);

/* Read what is there, without waiting. Returns the bytes read, 0 when there is
 * nothing now, -1 when the line is gone (unplugged, hung up): a fault then. */
long line_read(struct line *line, void *bytes, size_t room, struct pm_fault *fault);

/* Write without waiting; returns how many bytes were taken, -1 with a fault. */
long line_write(struct line *line, const void *bytes, size_t length, struct pm_fault *fault);

/* --- which devices there are --- */

struct line_device {
	char path[256];
	char hint[120];      /* "USB serial adapter", "on-board port", safe to show */
	bool usable;         /* we may open it for reading and writing */
};

/* List the serial devices below `root` (normally "/dev"), likeliest first: USB
 * adapters by their stable names, then other ports that exist in hardware, as
 * told by the system's list in `root`/../sys. Returns how many were stored. */
size_t line_list(const char *root, struct line_device *devices, size_t room);

/* A fault that tells a person what to do when no device was named: none present,
 * none that we may open, or several to choose from. Always false. */
bool line_none_named(const struct line_device *devices, size_t count, struct pm_fault *fault);

#endif
