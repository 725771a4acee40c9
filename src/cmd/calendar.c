/* calendar: the appointments of jobs as an iCalendar. */
#include "cmd/calendar.h"
#include "cmd/cmd.h"
#include "cmd/each.h"
#include "report/calendar.h"

int calendar_visit(const struct pm_case *c, const struct pm_result *result, void *context)
{
	const struct pm_reading *window = pm_fact_last(c->job, "desk/appointment");
	struct pm_fault fault;
	switch (calendar_add(context, c, result)) {
	case CALENDAR_EVENT:
	case CALENDAR_NONE:
		return EXIT_CLEAR;
	case CALENDAR_MALFORMED:
		pm_fail(&fault, PM_FAULT_VALUE, (struct pm_place){ c->job->file, window->value.line, window->value.column },
		        "the appointment is no window, so it has no event");
		pm_fail_remedy(&fault, "write two RFC 3339 times joined by /");
		return cmd_fault(&fault);
	case CALENDAR_NO_MEMORY:
		break;
	}
	pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ .file = c->job->file }, "out of memory");
	return cmd_fault(&fault);
}

static int make(const char *out, struct pm_when now, char *const *paths, int count)
{
	struct pm_arena arena;
	struct pm_text text;
	struct calendar calendar;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	calendar_begin(&calendar, &text, now);
	int status = each_job(paths, count, now, calendar_visit, &calendar);
	calendar_end(&calendar);
	if (calendar.events || text.cut) {
		status = each_write(out, &text, status);
	} else if (status != EXIT_UNABLE) {
		fprintf(stderr, "portmuster: no appointment stands: nothing to write\n");
		status = EXIT_STOPPED;
	}
	pm_arena_free(&arena);
	return status;
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = { { "out", true, 'o' }, { "now", true, 'n' }, { 0 } };
	const char *out = NULL, *given = NULL;
	struct pm_fault fault;
	struct pm_when now;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		switch (letter) {
		case 'o': out = value; break;
		case 'n': given = value; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	}
	argc = each_jobs(argc, argv);
	if (cmd_operands() == argc)
		return cmd_usage(cmd, "no job file given");
	if (!cmd_now(given, &now, &fault) || !each_may_write(out, argv + cmd_operands(), argc - cmd_operands(), &fault))
		return cmd_fault(&fault);
	return make(out, now, argv + cmd_operands(), argc - cmd_operands());
}

const struct cmd cmd_calendar = {
	"calendar", "[--out FILE] [--now TIME] JOB...",
	"the appointments of jobs as an iCalendar",
	"  --out FILE    write it there instead of to standard output\n"
	"  --now TIME    stamp the events with an RFC 3339 time instead of the clock\n",
	run,
};
