/* grid.h - a registration sheet as cells: jobs poured into a layout.
 *
 * The same jobs and layout give the same grid, whatever the order in which the
 * jobs were named: they stand by site code, then by file. A section holds the
 * rows of all jobs. Everything lives in the arena given or is borrowed.
 */
#ifndef SHEET_GRID_H
#define SHEET_GRID_H

#include "portmuster/layout.h"
#include "sheet/trouble.h"

enum grid_medium {
	GRID_CSV,         /* one page; the sections stand below each other */
	GRID_WORKBOOK,    /* the desk's own workbook: each section where the layout says */
};

struct grid_job {
	const struct pm_job *job;
	const struct pm_gear *gear;
	struct pm_seal seal;        /* filled by grid_build */
};

struct grid_cell {
	const char *text;    /* the value as the desk writes it; empty: none */
	const char *shown;   /* what stands in the file: a CSV sheet guards what would run */
};

struct grid_row {
	size_t job;          /* index in the grid's jobs */
	size_t record;       /* index of the interface or device */
	struct grid_cell *cells;   /* one a column */
};

#define GRID_NOWHERE UINT32_MAX

struct grid_section {
	const struct pm_section *section;
	uint32_t heading_at, titles_at;   /* rows, or GRID_NOWHERE */
	uint32_t first;                   /* row of its first record */
	uint32_t left;                    /* its first column */
	struct grid_row *rows;
	size_t count;
};

struct grid {
	const struct pm_layout *layout;
	enum grid_medium medium;
	struct grid_job *jobs;            /* sorted */
	size_t job_count;
	struct grid_section *sections;    /* one a section of the layout */
	uint32_t width;                   /* columns of the widest section */
	struct trouble trouble;           /* what keeps the sheet from being written, and warnings */
};

/* Pour `count` jobs into the layout. False when memory ran out; everything else
 * that is wrong stands in `grid->trouble`. */
bool grid_build(const struct pm_layout *layout, enum grid_medium medium, const struct grid_job *jobs, size_t count,
                struct pm_arena *arena, struct grid *grid);

/* The page of a section in a workbook, null in a CSV sheet. */
const char *grid_page(const struct grid *grid, const struct grid_section *section);

/* The site code of a row and the name of its interface (or null): who it is about. */
const char *grid_site(const struct grid *grid, const struct grid_row *row);
const char *grid_interface(const struct grid *grid, const struct grid_section *section, const struct grid_row *row);

#endif
