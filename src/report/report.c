#include "report/report.h"

#include <stdlib.h>

#include "report/writer.h"

struct report *report_begin(const struct report_writer *writer, FILE *out)
{
	struct report *report = calloc(1, sizeof *report);
	if (report) {
		report->writer = writer;
		report->out = out;
	}
	return report;
}

bool report_add(struct report *report, const struct report_job *job)
{
	bool good = report->writer->add(report, job);
	report->jobs++;
	return good;
}

bool report_end(struct report *report)
{
	bool good = report->writer->end(report);
	free(report);
	return good;
}
