/* The check result as plain text, for people and for grep. */
#include <string.h>

#include "portmuster/text.h"
#include "report/writer.h"

/* Print text from outside with nothing in it that could steer a terminal. */
static void put(struct report *report, const char *string)
{
	char shown[1024];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	if (string)
		pm_text_visible(&text, string, strlen(string));
	fputs(shown, report->out);
}

static void emphasize(struct report *report, enum pm_severity severity, const char *word)
{
	static const char *const colour[] = { [PM_NOTE] = "2", [PM_WARN] = "33", [PM_STOP] = "1;31" };
	if (report->colour)
		fprintf(report->out, "\033[%sm%-5s\033[0m", colour[severity], word);
	else
		fprintf(report->out, "%-5s", word);
}

static void put_finding(struct report *report, const struct pm_finding *finding)
{
	fputs("  ", report->out);
	emphasize(report, finding->severity, pm_severity_word(finding->severity));
	fprintf(report->out, " %s", pm_code_row(finding->code)->name);
	if (finding->waived)
		fputs(" (waived)", report->out);
	fputs(": ", report->out);
	put(report, finding->message);
	if (finding->place.line) {
		fputs("  [", report->out);
		put(report, finding->place.file);
		fprintf(report->out, ":%u:%u]", (unsigned)finding->place.line, (unsigned)finding->place.column);
	}
	fputs("\n        do: ", report->out);
	put(report, finding->remedy);
	if (finding->suggestion) {
		fputs("; look for ", report->out);
		put(report, finding->suggestion);
	}
	fputc('\n', report->out);
}

static void put_phase(struct report *report, const struct pm_case *c, const struct pm_result *r, size_t phase)
{
	const char *word = r->gates.closed[phase] ? "closed" : phase == r->phase ? "now" : "later";
	fputs("  ", report->out);
	fprintf(report->out, "%-7s ", word);
	put(report, c->plan->phases[phase].id.text);
	bool first = true;
	for (size_t i = 0; i < r->gates.count; i++) {
		const struct pm_gate_line *line = &r->gates.line[i];
		if (line->phase != phase || (line->met && !line->waived))
			continue;
		/* a later phase is held by this one: its own list would only be noise */
		if (phase > r->phase && !line->waived)
			continue;
		fprintf(report->out, "%s    %s %s: ", first ? "\n" : "",
		        line->closing ? "to close," : "to open,", line->waived ? "waived" : "needs");
		first = false;
		put(report, line->need->condition.text);
		fputs(": ", report->out);
		put(report, line->why);
		if (!line->met) {
			fputs(" (", report->out);
			put(report, line->who);
			fputc(')', report->out);
		}
		fputc('\n', report->out);
	}
	if (first)
		fputc('\n', report->out);
}

static bool add(struct report *report, const struct report_job *job)
{
	if (report->jobs)
		fputc('\n', report->out);
	put(report, job->file);
	if (job->fault) {
		char line[PM_FAULT_TEXT * 3];
		pm_fault_line(job->fault, line, sizeof line);
		fprintf(report->out, ": could not be checked\n  %s\n", line);
		return true;
	}
	const struct pm_case *c = job->the_case;
	const struct pm_result *r = job->result;
	fputs(": site ", report->out);
	put(report, c->job->code.text);
	if (pm_given(c->job->name)) {
		fputs(", ", report->out);
		put(report, c->job->name.text);
	}
	bool done = r->phase == c->plan->phase_count;
	fputs(done ? "\n  every phase is closed" : "\n  phase ", report->out);
	if (!done)
		put(report, c->plan->phases[r->phase].id.text);
	fprintf(report->out, "; %s; addresses: %zu of %zu read, %zu confirmed\n", r->ready ? "ready to go on" : "held",
	        r->roster.held, r->roster.count, r->roster.confirmed);
	for (size_t i = 0; i < c->plan->phase_count; i++)
		put_phase(report, c, r, i);
	size_t stops = pm_findings_count(&r->findings, PM_STOP);
	size_t warns = pm_findings_count(&r->findings, PM_WARN) - stops;
	size_t waived = 0;
	for (size_t i = 0; i < r->findings.count; i++)
		waived += r->findings.item[i].waived;
	fprintf(report->out, "  findings: %zu stop, %zu warn, %zu note", stops, warns,
	        r->findings.count - stops - warns - waived);
	fprintf(report->out, waived ? ", %zu waived\n" : "\n", waived);
	for (size_t i = 0; i < r->findings.count; i++)
		put_finding(report, &r->findings.item[i]);
	return true;
}

static bool end(struct report *report)
{
	(void)report;
	return true;
}

static const struct report_writer writer = { add, end };

struct report *report_text(FILE *out, bool colour)
{
	struct report *report = report_begin(&writer, out);
	if (report)
		report->colour = colour;
	return report;
}
