/* review_parts.h - what the forms of a review share. Private to this floor. */
#ifndef REPORT_REVIEW_PARTS_H
#define REPORT_REVIEW_PARTS_H

#include "report/review.h"

/* Files that the message of a fleet finding names at most; the others are listed. */
#define REVIEW_NAMED 4
#define REVIEW_LEFT_NAMED 8   /* and that are named of those left out */

/* "=" closed, ">" open, "#" shut, "." not yet. */
char review_mark(enum pm_phase_state state);

/* A mark a phase, as in "===>...". */
void review_marks(struct pm_text *out, const struct pm_site_summary *site);

/* The worst finding about a site, its own or the fleet's; of two of one weight
 * its own. False: there is none. */
struct review_worst {
	enum pm_code code;
	enum pm_severity severity;
	const char *message;       /* safe to show */
	bool of_fleet;
};
bool review_worst(const struct review *review, size_t site, struct review_worst *worst);

/* Must something be done before anybody can make the next move? */
bool review_held(const struct review *review, size_t site);

/* The first stop finding about a site: its own, or else one across the fleet. */
bool review_stop(const struct review *review, size_t site, struct review_worst *stop);

/* The forecast of a site; null: it has none. */
const struct pm_site_forecast *review_forecast(const struct review *review, size_t site);

/* The day on which a second lies, UTC. */
int64_t review_day(int64_t second);

/* The day by which a site must be done: its due day, or else its deadline. False: none. */
bool review_due(const struct review *review, size_t site, int64_t *day);

/* pm_fleet_slack as of the review's time. */
bool review_slack(const struct review *review, size_t site, int64_t *days);

/* The same as "12 d", or "-". */
void review_put_slack(struct pm_text *out, const struct review *review, size_t site);

/* Addresses: "13/13"; with some that were read once only, "9+4/13"; "-" where
 * the file could not be read. */
void review_put_read(struct pm_text *out, const struct pm_site_summary *site);

/* The date of the appointment, or "-". */
void review_put_window(struct pm_text *out, const struct pm_site_summary *site);

/* The site's code, or for want of one the name of its file without its folders; and
 * whether it is for practice. Safe to show. */
void review_put_site(struct pm_text *out, const struct pm_site_summary *site);

/* "FILE:LINE:COLUMN", as far as it is known, of a file that could not be read. Safe
 * to show. */
void review_put_place(struct pm_text *out, const struct pm_site_summary *site);

/* The counts in one sentence, and the forecast of the fleet in another. */
void review_put_counts(struct pm_text *out, const struct review *review);
void review_put_forecast(struct pm_text *out, const struct review *review);

/* What this is a review of, and as of when. */
void review_put_subject(struct pm_text *out, const struct review *review);

/* The drawing of appointments, due days, the deadline and today. */
void review_svg(const struct review *review, struct pm_text *out);

#endif
