/* walk: the wizard. */
#include <locale.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "cmd/cmd.h"
#include "report/report.h"
#include "walk/drive.h"

struct options {
	struct drive_options drive;
	const char *answers, *now;
};

static void say(void *context, const char *line)
{
	(void)context;
	cmd_line(stdout, "%s", line);
}

/* What the job has come to, as check would print it. */
static int print_result(const struct session *session, const char *path)
{
	struct pm_case c = session_case(session);
	struct report_job job = { .file = path, .the_case = &c, .result = &session->result };
	struct report *report = report_text(stdout, false);
	printf("\n");
	if (!report || !report_add(report, &job) || !report_end(report))
		return EXIT_UNABLE;
	return pm_findings_count(&session->result.findings, PM_STOP) ? EXIT_STOPPED : EXIT_CLEAR;
}

static int unattended(struct session *session, const struct options *o, const char *path)
{
	struct pm_fault fault;
	if (!o->answers) {
		fprintf(stderr, "portmuster walk: standard input and output are no terminal; open one, or give --answers FILE\n");
		return EXIT_UNABLE;
	}
	cmd_line(stdout, "no terminal: walking %s with the answers of %s", path, o->answers);
	if (!drive_unattended(session, o->answers, say, NULL, &fault)) {
		if (session->judged)
			print_result(session, path);
		return cmd_fault(&fault);
	}
	return print_result(session, path);
}

static int on_terminal(struct session *session, const struct options *o, const char *path, const char *program)
{
	struct pm_fault fault;
	int signal = 0;
	if (!drive_terminal(session, &o->drive, &signal, &fault))
		return cmd_fault(&fault);
	if (signal)
		return 128 + signal;
	cmd_line(stdout, "%s: everything accepted is saved; go on with: %s walk %s", path, program, path);
	return EXIT_CLEAR;
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "by", true, 'b' }, { "answers", true, 'a' }, { "now", true, 'n' },
		{ "ascii", false, 'A' }, { "no-colour", false, 'C' }, { 0 },
	};
	const char *no_colour = getenv("NO_COLOR");
	struct options o = { .drive = { .colour = !(no_colour && *no_colour) } };
	struct pm_fault fault;
	struct pm_when now;
	struct session session;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		switch (letter) {
		case 'b': o.drive.name = value; break;
		case 'a': o.answers = value; break;
		case 'n': o.now = value; break;
		case 'A': o.drive.ascii = true; break;
		case 'C': o.drive.colour = false; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	}
	if (argc - cmd_operands() != 1)
		return cmd_usage(cmd, "one job file is needed");
	const char *path = argv[cmd_operands()];
	if (!cmd_now(o.now, &now, &fault) || !session_open(&session, path, now, &fault))
		return cmd_fault(&fault);
	o.drive.clock_ahead = o.now ? now.second - (int64_t)time(NULL) : 0;
	/* only the screen asks the locale, and only what characters it can show */
	setlocale(LC_CTYPE, "");
	bool terminal = isatty(STDIN_FILENO) && isatty(STDOUT_FILENO);
	int status = terminal ? on_terminal(&session, &o, path, cmd_again(argv[-1])) : unattended(&session, &o, path);
	session_close(&session);
	return status;
}

const struct cmd cmd_walk = {
	"walk", "[--by NAME] [--answers FILE] [--now TIME] [--ascii] [--no-colour] JOB",
	"the wizard: one site's swap, step by step",
	"  --by NAME       who is at the rack; asked for otherwise\n"
	"  --answers FILE  without a terminal, take the answers from FILE (docs/walk.md)\n"
	"  --now TIME      start the session's clock at an RFC 3339 time, for practice\n"
	"  --ascii         draw with ASCII characters only\n"
	"  --no-colour     draw without colour (NO_COLOR does the same)\n",
	run,
};
