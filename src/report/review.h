/* review.h - a whole fleet in one report: as text, CSV, JSON and HTML.
 *
 * Gather the summaries, hold the fleet against itself, make its forecast; fill a
 * struct review with them, call review_count, then write any forms of it. Every
 * form says the same. Text from files is made safe by the writers.
 */
#ifndef REPORT_REVIEW_H
#define REPORT_REVIEW_H

#include "portmuster/forecast.h"
#include "portmuster/text.h"
#include "report/report.h"

#define REVIEW_COLUMNS 80   /* of the text */

struct review {
	/* the caller's, borrowed */
	const struct pm_fleet *fleet;
	const struct pm_fleet_findings *findings;
	const struct pm_forecast *forecast;
	uint64_t seed;                     /* of the forecast */
	struct pm_when now;
	const char *const *folder;         /* as named by the user */
	size_t folder_count;
	const char *revision;              /* null: as the files lie on disk */

	/* by review_count */
	struct pm_fleet_counts counts;
};

/* Fill the rest of `review`. */
void review_count(struct review *review);

/* Does anything stop: a stop finding in any job or of the fleet, or a file that
 * cannot be read? */
bool review_stops(const struct review *review);

/* The files that lie among the jobs and are none, the first few of many: "a.yaml, b.yaml
 * and 5 more". Safe to show; nothing when there are none. Every form but the CSV, which
 * has no place for it, says this after REVIEW_LEFT_OUT. */
#define REVIEW_LEFT_OUT "left out, no job files: "
void review_put_left_out(struct pm_text *out, const struct pm_fleet *fleet);

/* Each appends a whole document to `out`, whose `cut` tells that memory ran out.
 * The text has no line beyond REVIEW_COLUMNS. The HTML stands alone: no script,
 * and nothing in it is fetched. */
void review_text(const struct review *review, struct pm_text *out);
void review_csv(const struct review *review, struct pm_text *out);
void review_html(const struct review *review, struct pm_text *out);

/* As JSON, job after job: ten thousand of them are never held at once. Begin, add
 * the job of each site in the fleet's order, end. False when memory ran out or
 * the stream failed. */
struct review_json {
	const struct review *review;
	FILE *out;
	size_t jobs;
};

void review_json_begin(struct review_json *json, const struct review *review, FILE *out);
bool review_json_add(struct review_json *json, const struct report_job *job);
bool review_json_end(struct review_json *json);

#endif
