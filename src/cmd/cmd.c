#include "cmd/cmd.h"
#include "cmd/json_out.h"

#include <errno.h>
#include <getopt.h>
#include <stdarg.h>
#include <string.h>
#include <time.h>

#include "portmuster/text.h"

#define MOST_OPTIONS 24
#define HELP_LETTER 0x100   /* beyond any option's own letter */
#define VERSION_LETTER 0x101

int cmd_fault(const struct pm_fault *fault)
{
	char line[PM_FAULT_TEXT * 3];
	pm_fault_line(fault, line, sizeof line);
	fprintf(stderr, "portmuster: %s\n", line);
	return EXIT_UNABLE;
}

int cmd_usage(const struct cmd *cmd, const char *format, ...)
{
	char said[512], shown[1024];
	struct pm_text text;
	va_list args;
	va_start(args, format);
	vsnprintf(said, sizeof said, format, args);
	va_end(args);
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, said, strlen(said));
	fprintf(stderr, "portmuster %s: %s; see portmuster %s --help\n", cmd->name, shown, cmd->name);
	return EXIT_UNABLE;
}

void cmd_line(FILE *out, const char *format, ...)
{
	char said[4096], shown[8192];
	struct pm_text text;
	va_list args;
	va_start(args, format);
	vsnprintf(said, sizeof said, format, args);
	va_end(args);
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, said, strlen(said));
	fprintf(out, "%s\n", shown);
}

const char *cmd_again(const char *called)
{
	return strchr(called, '/') ? called : "portmuster";
}

static void print_help(const struct cmd *cmd)
{
	printf("portmuster %s %s\n%s\n", cmd->name, cmd->usage, cmd->summary);
	if (cmd->help[0])
		printf("\n%s", cmd->help);
	printf("\nExit status: 0 nothing stops, 1 something stops or does not match, 2 it could not be done.\n");
}

void cmd_version(void)
{
	printf("portmuster %s\n", PM_VERSION);
}

int cmd_option_next(const struct cmd *cmd, int argc, char **argv,
                    const struct cmd_option *options, char **value)
{
	struct option longs[MOST_OPTIONS + 3] = {
		{ "help", no_argument, NULL, HELP_LETTER }, { "version", no_argument, NULL, VERSION_LETTER },
	};
	for (size_t i = 0; options[i].name && i < MOST_OPTIONS; i++)
		longs[i + 2] = (struct option){ options[i].name,
			options[i].value ? required_argument : no_argument, NULL, options[i].letter };
	opterr = 0;
	int at = 0, letter = getopt_long(argc, argv, ":h", longs, &at);
	*value = optarg;
	if (letter > 0 && at > 1 && strcmp(longs[at].name, "json") == 0)
		cmd_json_begin();
	if (letter == HELP_LETTER || letter == 'h') {
		print_help(cmd);
		return -2;
	}
	if (letter == VERSION_LETTER) {
		cmd_version();
		return -2;
	}
	if (letter == ':') {
		cmd_usage(cmd, "option %s needs a value", argv[optind - 1]);
		return '?';
	}
	if (letter == '?')
		cmd_usage(cmd, "unknown option %s", argv[optind - 1]);
	return letter;
}

int cmd_operands(void)
{
	return optind;
}

bool cmd_now(const char *given, struct pm_when *now, struct pm_fault *fault)
{
	const char *why = "";
	if (!given) {
		*now = pm_when_utc((int64_t)time(NULL));
		return true;
	}
	if (pm_when_read(given, now, &why))
		return true;
	char quoted[120];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, given);
	pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ 0 }, "--now %s: %s", quoted, why);
	return pm_fail_remedy(fault, "write an RFC 3339 time such as 2026-03-02T09:30:00Z");
}

int cmd_finish(int status)
{
	if (fflush(stdout) == 0 && !ferror(stdout))
		return status;
	fprintf(stderr, "portmuster: could not write the result: %s\n", strerror(errno));
	return EXIT_UNABLE;
}
