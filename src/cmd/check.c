/* check: every finding and gate of job files, without a screen. */
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cmd/cmd.h"
#include "cmd/each.h"
#include "cmd/load.h"
#include "portmuster/text.h"
#include "report/report.h"

struct options {
	bool json, ready;
	const char *gate;      /* PHASE or PHASE:open, PHASE:close */
	struct pm_when now;
};

static bool colour_wanted(void)
{
	const char *no = getenv("NO_COLOR"), *term = getenv("TERM");
	return isatty(STDOUT_FILENO) && !(no && *no) && term && strcmp(term, "dumb") != 0;
}

/* Is the gate that was asked for met? A phase that does not exist is a fault. */
static bool gate_met(const struct options *o, const struct pm_case *c, const struct pm_result *result,
                     bool *met, struct pm_fault *fault)
{
	const char *colon = strchr(o->gate, ':');
	bool closing = colon && strcmp(colon, ":close") == 0;
	size_t length = colon ? (size_t)(colon - o->gate) : strlen(o->gate);
	for (size_t i = 0; i < c->plan->phase_count; i++) {
		const char *id = c->plan->phases[i].id.text;
		if (strlen(id) != length || memcmp(id, o->gate, length) != 0)
			continue;
		*met = closing ? result->gates.closed[i] : result->gates.open[i];
		return true;
	}
	char quoted[200];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, o->gate);
	pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ .file = c->plan->file }, "the plan has no phase for --gate %s", quoted);
	return pm_fail_remedy(fault, "write PHASE, PHASE:open or PHASE:close");
}

static int check_one(const struct options *o, struct report *report, const char *path)
{
	struct loaded loaded;
	struct pm_fault fault;
	struct report_job job = { .file = path };
	if (!load_job(path, &loaded, &fault)) {
		job.fault = &fault;
		/* as text the complaint on standard error says it all */
		if (o->json)
			report_add(report, &job);
		return cmd_fault(&fault);
	}
	struct pm_arena arena;
	struct pm_result result;
	struct pm_case c = load_case(&loaded, o->now);
	int status = EXIT_CLEAR;
	pm_arena_init(&arena);
	if (pm_check(&c, &arena, &result)) {
		job.the_case = &c;
		job.result = &result;
		if (!report_add(report, &job))
			status = EXIT_UNABLE;
		bool met = true;
		if (o->gate && !gate_met(o, &c, &result, &met, &fault))
			status = cmd_fault(&fault);
		else if (pm_findings_count(&result.findings, PM_STOP) || !met || (o->ready && !result.ready))
			status = status == EXIT_CLEAR ? EXIT_STOPPED : status;
	} else {
		pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ .file = path }, "out of memory");
		status = cmd_fault(&fault);
	}
	pm_arena_free(&arena);
	load_free(&loaded);
	return status;
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "json", false, 'j' }, { "now", true, 'n' }, { "gate", true, 'g' }, { "ready", false, 'r' }, { 0 },
	};
	struct options o = { 0 };
	struct pm_fault fault;
	const char *now = NULL;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		switch (letter) {
		case 'j': o.json = true; break;
		case 'n': now = value; break;
		case 'g': o.gate = value; break;
		case 'r': o.ready = true; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	}
	argc = each_jobs(argc, argv);
	if (cmd_operands() == argc)
		return cmd_usage(cmd, "no job file given");
	if (!cmd_now(now, &o.now, &fault))
		return cmd_fault(&fault);
	struct report *report = o.json ? report_json(stdout) : report_text(stdout, colour_wanted());
	if (!report)
		return cmd_usage(cmd, "out of memory");
	int status = EXIT_CLEAR;
	for (int i = cmd_operands(); i < argc; i++) {
		int one = check_one(&o, report, argv[i]);
		status = one > status ? one : status;
	}
	return report_end(report) ? status : EXIT_UNABLE;
}

const struct cmd cmd_check = {
	"check", "[--json] [--now TIME] [--gate PHASE[:open|:close]] [--ready] JOB...",
	"every finding and gate of job files, without a screen",
	"  --json        the result as JSON\n"
	"  --now TIME    judge as of an RFC 3339 time instead of the clock\n"
	"  --gate GATE   exit 1 unless that gate is met (the opening one when neither is named)\n"
	"  --ready       exit 1 unless the next move can be made now\n",
	run,
};
