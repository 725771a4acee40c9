/* csv_write.h - a grid as CSV after RFC 4180: CRLF, quotes where needed, every
 * record with the same number of fields. */
#ifndef SHEET_CSV_WRITE_H
#define SHEET_CSV_WRITE_H

#include "portmuster/text.h"
#include "sheet/grid.h"

/* Add the sheet to `out`; false when memory ran out or it did not fit. */
bool csv_put(struct pm_text *out, const struct grid *grid);

/* Write it to `path`, atomically: on any failure an earlier file stays intact. */
bool csv_save(const struct grid *grid, const char *path, struct pm_fault *fault);

#endif
