/* serials.h - the unit's serial number in a line. */
#ifndef CAPTURE_SERIALS_H
#define CAPTURE_SERIALS_H

#include "capture/tokens.h"
#include "portmuster/gear.h"

/* The token that is the serial number: behind "serial number" or the like or
 * the gear's own words for it, and not of a part such as a module or a power
 * supply. False when there is none. */
bool serial_find(const struct pm_gear *gear, const char *text, const struct token *token,
                 size_t count, size_t *found);

#endif
