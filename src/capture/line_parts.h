/* line_parts.h - what the serial line's files share. */
#ifndef CAPTURE_LINE_PARTS_H
#define CAPTURE_LINE_PARTS_H

#include "capture/line.h"

/* The fault of a device that exists and may not be opened: names the group that
 * may. Always false. */
bool line_forbidden(const char *device, struct pm_fault *fault);

#endif
