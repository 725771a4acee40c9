/* calendar.h - one job into a calendar, for the commands that write one. */
#ifndef CMD_CALENDAR_H
#define CMD_CALENDAR_H

#include "portmuster/check.h"

/* Add the appointment of a job, if one stands, to the `struct calendar` at
 * `calendar`. EXIT_UNABLE with a complaint when what stands is no window. */
int calendar_visit(const struct pm_case *the_case, const struct pm_result *result, void *calendar);

#endif
