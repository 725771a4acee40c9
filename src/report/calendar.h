/* calendar.h - appointments as an iCalendar (RFC 5545), for people's own calendars.
 *
 * Begin, add one case after another, end. One VEVENT for each job with a
 * standing appointment. Booking anew moves the event: its UID comes from the
 * site code and the start of the job's first appointment, and SEQUENCE grows
 * with everything said about the appointment since. No host name, no alarm.
 *
 * RFC 5545 section 3.6 wants at least one component: what was written without
 * any event (`events` is 0) is not to be handed out.
 */
#ifndef REPORT_CALENDAR_H
#define REPORT_CALENDAR_H

#include "portmuster/check.h"
#include "portmuster/text.h"

struct calendar {
	struct pm_text *out;    /* borrowed; its `cut` tells that memory ran out */
	struct pm_when now;     /* DTSTAMP */
	size_t events;
};

enum calendar_added {
	CALENDAR_EVENT,         /* one event was written */
	CALENDAR_NONE,          /* no appointment stands: no event */
	CALENDAR_MALFORMED,     /* what stands is no window: no event */
	CALENDAR_NO_MEMORY,
};

void calendar_begin(struct calendar *calendar, struct pm_text *out, struct pm_when now);
enum calendar_added calendar_add(struct calendar *calendar, const struct pm_case *the_case,
                                 const struct pm_result *result);
void calendar_end(struct calendar *calendar);

/* One content line, `value` as it is: folded at 75 octets, never inside a
 * character, ended by CRLF (RFC 5545 section 3.1). */
void calendar_line(struct pm_text *out, const char *name, const char *value);

/* Add a TEXT value: made safe to show (a line feed too becomes visible), then
 * backslash, semicolon and comma escaped (RFC 5545 section 3.3.11). Null adds
 * nothing. */
void calendar_escape(struct pm_text *out, const char *string);

#endif
