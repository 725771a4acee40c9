/* template.h - the desk's own workbook: is it the one that the layout describes,
 * and filling it. */
#ifndef SHEET_TEMPLATE_H
#define SHEET_TEMPLATE_H

#include "sheet/grid.h"
#include "sheet/workbook.h"

/* Hold the workbook against a grid built for workbooks: pages and titles must be
 * the layout's, and the cells to be filled must be free. Every difference becomes
 * a finding in the grid's trouble, in the order of the layout; a note says when
 * formulas will show results of before it was filled. False with a fault when the
 * workbook cannot be read. */
bool template_check(struct workbook *workbook, const char *file, struct grid *grid, struct pm_arena *arena,
                    struct pm_fault *fault);

/* Put the grid's cells into the workbook; nothing is written to disk. */
bool template_fill(struct workbook *workbook, const struct grid *grid, struct pm_fault *fault);

/* The path of the layout's workbook, which lies beside the layout's file. A
 * fault when the layout names none, or when the name does not fit. */
bool template_path(const struct pm_layout *layout, char *out, size_t room, struct pm_fault *fault);

#endif
