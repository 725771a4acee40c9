/* cmd.h - what every command shares: its row in the table and its exit. */
#ifndef CMD_CMD_H
#define CMD_CMD_H

#include <stdbool.h>
#include <stdio.h>

#include "portmuster/fault.h"
#include "portmuster/when.h"

enum { EXIT_CLEAR = 0, EXIT_STOPPED = 1, EXIT_UNABLE = 2 };

struct cmd {
	const char *name;
	const char *usage;      /* after the name, as in "[--json] ADDRESS..." */
	const char *summary;    /* one line for the list of commands */
	const char *help;       /* the options, a line each */
	int (*run)(const struct cmd *cmd, int argc, char **argv);   /* argv[0] is the name, argv[-1] the program as called */
};

/* Every command has a file of its own with its row; main.c holds the table. */

/* Print the fault as one line on standard error: "portmuster: file:line:col:
 * message; remedy". Returns EXIT_UNABLE. */
int cmd_fault(const struct pm_fault *fault);

/* A usage fault: prints it and how to get help. Returns EXIT_UNABLE. */
int cmd_usage(const struct cmd *cmd, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Print the program's name and version. */
void cmd_version(void);

/* Options, one at a time: getopt_long with "--help" and "--version" handled
 * (returns -2 after printing) and unknown ones reported (returns '?'). `longs` is a list of
 * { name, takes a value, letter } ended by a null name. */
struct cmd_option {
	const char *name;
	bool value;
	int letter;
};
int cmd_option_next(const struct cmd *cmd, int argc, char **argv,
                    const struct cmd_option *options, char **value);
/* Index of the first operand once cmd_option_next returned -1. */
int cmd_operands(void);

/* The time to judge by: `given` (an RFC 3339 time, from --now) or the clock. */
bool cmd_now(const char *given, struct pm_when *now, struct pm_fault *fault);

/* Print one line with whatever came from outside, such as a path, made visible. The
 * line break is added. */
void cmd_line(FILE *out, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* How to call this program again: as it was called, when that was by a path. */
const char *cmd_again(const char *called);

/* Flush standard output and report a failure to write it (a full disk, a
 * closed pipe): returns `status`, or EXIT_UNABLE. */
int cmd_finish(int status);

#endif
