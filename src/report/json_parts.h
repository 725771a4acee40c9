/* json_parts.h - JSON to a stream, in ASCII, and what its writers share. */
#ifndef REPORT_JSON_PARTS_H
#define REPORT_JSON_PARTS_H

#include <jansson.h>

#include "report/report.h"

/* Write `value` and give it up; false when it is null, memory ran out or the
 * stream fails. Text from outside leaves as \u escapes only, so no control
 * character reaches a terminal. No line end follows. */
bool json_put(FILE *out, json_t *value, size_t indent);

/* A string of text from outside: as it is when it is UTF-8, else as
 * pm_text_visible writes it. Null when memory ran out. */
json_t *json_safe(const char *bytes, size_t length);

/* The same of a terminated text; JSON's null for a null one. */
json_t *json_text(const char *string);

/* One job as `check --json` gives it; with `unmet`, only the conditions that
 * are not met. Null when memory ran out. */
json_t *json_job(const struct report_job *job, bool unmet);

#endif
