/* report.h - one writer interface under every form in which results leave.
 *
 * A writer is begun, given one job after another, and ended. Text from files is
 * made safe by the writer, whatever it came from.
 */
#ifndef REPORT_REPORT_H
#define REPORT_REPORT_H

#include <stdbool.h>
#include <stdio.h>

#include "portmuster/check.h"
#include "portmuster/fault.h"

/* One job's result, or the fault that kept it from being checked. */
struct report_job {
	const char *file;
	const struct pm_case *the_case;      /* null: see fault */
	const struct pm_result *result;
	const struct pm_fault *fault;
};

struct report;

/* Begin on `out`, which stays the caller's. Null when memory ran out. */
struct report *report_text(FILE *out, bool colour);
struct report *report_json(FILE *out);

bool report_add(struct report *report, const struct report_job *job);

/* Write what is left and free the report. False when memory ran out. */
bool report_end(struct report *report);

#endif
