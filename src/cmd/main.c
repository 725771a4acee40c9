#include <fcntl.h>
#include <signal.h>
#include <string.h>

#include "cmd/cmd.h"
#include "portmuster/text.h"

extern const struct cmd cmd_packet, cmd_calendar, cmd_merge;
extern const struct cmd cmd_sheet, cmd_seal, cmd_review;
extern const struct cmd cmd_walk, cmd_new, cmd_check, cmd_read, cmd_listen, cmd_lookup, cmd_registry, cmd_standin;

/* One row a command, in the order of the job. */
static const struct cmd *const commands[] = {
	&cmd_walk, &cmd_new, &cmd_check, &cmd_read, &cmd_listen, &cmd_sheet, &cmd_seal, &cmd_review, &cmd_lookup, &cmd_registry,
	&cmd_standin, &cmd_packet, &cmd_calendar, &cmd_merge,
};

static void print_help(void)
{
	printf("portmuster: calls the roll of a router's interfaces before anyone depends on it\n\n"
	       "usage: portmuster COMMAND [OPTION...] ...\n\n");
	for (size_t i = 0; i < sizeof commands / sizeof *commands; i++)
		printf("  %-10s %s\n", commands[i]->name, commands[i]->summary);
	printf("\nportmuster COMMAND --help tells more. A job begins with: portmuster new\n");
}

/* A standard descriptor that is closed would be taken by the next file or line that
 * is opened, and what is said would be written there. What stands in for it takes
 * and gives nothing, so that it fails as a closed one does. */
static bool hold_standard(void)
{
	for (int fd = 0; fd <= 2; fd++)
		if (fcntl(fd, F_GETFD) < 0 && open("/dev/null", fd == 0 ? O_WRONLY : O_RDONLY) != fd)
			return false;
	return true;
}

int main(int argc, char **argv)
{
	if (!hold_standard())
		return EXIT_UNABLE;
	/* a file that may grow no more is then a fault like a full disk, and is told */
	signal(SIGXFSZ, SIG_IGN);
	if (argc < 2) {
		print_help();
		return EXIT_UNABLE;
	}
	if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
		print_help();
		return cmd_finish(EXIT_CLEAR);
	}
	if (strcmp(argv[1], "--version") == 0) {
		cmd_version();
		return cmd_finish(EXIT_CLEAR);
	}
	for (size_t i = 0; i < sizeof commands / sizeof *commands; i++)
		if (strcmp(argv[1], commands[i]->name) == 0)
			return cmd_finish(commands[i]->run(commands[i], argc - 1, argv + 1));
	char quoted[200];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, argv[1]);
	fprintf(stderr, "portmuster: unknown command %s; see portmuster --help\n", quoted);
	return EXIT_UNABLE;
}
