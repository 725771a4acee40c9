/* beyond.h - below a blank row of a workbook a desk may put whatever it likes. Is it
 * a record all the same? */
#ifndef SHEET_BEYOND_H
#define SHEET_BEYOND_H

#include "sheet/locate.h"

/* True for a row with a hardware address, with more than the code of a site that is
 * known (`known`: it has one), or with all that the layout requires (two values at
 * least), unless the desk's own workbook has all of it there. */
bool beyond_is_record(const struct returned *sheet, const struct located *located, uint32_t row, bool known);

#endif
