/* verify.h - a sheet that came back, held against what it should be. */
#ifndef SHEET_VERIFY_H
#define SHEET_VERIFY_H

#include "sheet/grid.h"
#include "sheet/returned.h"

/* Hold `sheet` against `grid`, which was built for the same medium. Every
 * difference becomes a finding, in the order of the sheet: structure (columns
 * moved, missing or too many, titles changed, rows lost, added or in another
 * order) and cells, each with the likely cause. What leaves every value the same
 * is a warning. Cells that the layout leaves to the desk are not looked at. False
 * when memory ran out. */
bool verify_sheet(const struct grid *grid, const struct returned *sheet, struct pm_arena *arena, struct trouble *trouble);

#endif
