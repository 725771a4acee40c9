/* writer.h - what a report writer provides. Private to this floor. */
#ifndef REPORT_WRITER_H
#define REPORT_WRITER_H

#include "report/report.h"

struct report_writer {
	bool (*add)(struct report *report, const struct report_job *job);
	bool (*end)(struct report *report);   /* does not free */
};

struct report {
	const struct report_writer *writer;
	FILE *out;
	bool colour;
	size_t jobs;
	void *state;      /* the writer's own; freed by its `end` */
};

struct report *report_begin(const struct report_writer *writer, FILE *out);

#endif
