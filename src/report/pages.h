/* pages.h - documentation pages made from the core's tables. */
#ifndef REPORT_PAGES_H
#define REPORT_PAGES_H

#include "portmuster/arena.h"

/* docs/findings.md: every finding code. Markdown in `arena`; null when memory ran out. */
char *report_findings_page(struct pm_arena *arena);

/* docs/conditions.md: every condition of a gate. */
char *report_conditions_page(struct pm_arena *arena);

/* docs/ranges.md: every named address range. */
char *report_ranges_page(struct pm_arena *arena);

#endif
