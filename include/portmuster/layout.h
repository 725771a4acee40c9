/* layout.h - the layout of a registration sheet: whose cells hold what.
 *
 * A layout belongs to the desk. It is sections of columns; the records of a job
 * give each section its rows. A column says under which title, from what (its
 * fill), in what manner (its example) and how narrowly a value is written.
 *
 * Cells are named as spreadsheets do: column letters and row number, "B7". Rows
 * and columns count from 0 in code.
 */
#ifndef PORTMUSTER_LAYOUT_H
#define PORTMUSTER_LAYOUT_H

#include "portmuster/arena.h"
#include "portmuster/eui48.h"
#include "portmuster/fault.h"
#include "portmuster/gear.h"
#include "portmuster/job.h"
#include "portmuster/seal.h"
#include "portmuster/word.h"

/* Which records of a job give a section its rows. */
enum pm_rows {
	PM_ROWS_SITE,       /* one row a job */
	PM_ROWS_ROUTER,     /* one row a job */
	PM_ROWS_PORT,       /* one row an interface, in roster order */
	PM_ROWS_ATTACHED,   /* one row an attached device, in the job's order */
	PM_ROWS
};

enum pm_titles {
	PM_TITLES_ABOVE,    /* a row of titles stands above the rows */
	PM_TITLES_NONE,
};

struct pm_column {
	struct pm_word title;
	struct pm_word fill;      /* see pm_fill_table */
	struct pm_word example;   /* of an address: its notation and case are the cell's */
	struct pm_word form;      /* see pm_form_match */
	bool fixed;               /* the example is the form: see pm_column_form */
	int64_t widest;           /* characters; 0: no limit */
	bool required;
};

struct pm_section {
	struct pm_word id;
	enum pm_rows rows;
	struct pm_word heading;   /* a row of its own above the titles, in a CSV sheet; may be absent */
	enum pm_titles titles;
	struct pm_word page;      /* of the workbook */
	struct pm_word first;     /* the first cell of the first row there: "B7" */
	struct pm_column *columns;
	size_t column_count;
};

struct pm_layout {
	const char *file;         /* where it was read from */
	const char *digest;       /* SHA-256 of the file, 64 hex digits; null: not taken */
	int64_t format;
	struct pm_word id, title;
	struct pm_word workbook;  /* file name of the desk's workbook beside the layout; may be absent */
	bool apostrophe;          /* a text that a spreadsheet would run gets one in front, in CSV */
	struct pm_section *sections;
	size_t section_count;
	struct pm_stray_keys strays;
};

/* Is the layout one that a sheet can be written by? Known fills that suit their
 * rows, examples that fit their forms, no title twice in a section, sections of
 * a workbook that leave each other room. */
bool pm_layout_valid(const struct pm_layout *layout, struct pm_fault *fault);

/* "site", "router", "port", "attached"; never null. */
const char *pm_rows_word(enum pm_rows rows);

/* The form that a column's values must fit, in `arena`: its own, or, when it is
 * fixed, that of its example: a digit for a digit, an upper case letter for an
 * upper case letter, everything else literally. Null when there is none. */
const char *pm_column_form(const struct pm_column *column, struct pm_arena *arena);

/* How a column writes addresses, from its example. An example without a letter
 * has the usual case: upper for hyphens and bare digits, lower for the others.
 * False when the example is no address. */
bool pm_column_notation(const struct pm_column *column, enum pm_notation *notation, bool *lower);

/* --- fills --- */

/* What a fill is asked about: a record of a job. */
struct pm_fill_at {
	const struct pm_job *job;
	const struct pm_gear *gear;
	const struct pm_seal *seal;
	enum pm_rows rows;
	size_t index;      /* of the interface or the attached device */
	size_t number;     /* of the row in its section, from 1 */
};

enum pm_fill_kind {
	PM_FILL_TEXT,
	PM_FILL_ADDRESS,   /* canonical; the column decides how it is written */
	PM_FILL_NOTHING,   /* a cell that is somebody else's: neither written nor compared */
};

struct pm_fill {
	const char *name;       /* "site/code"; "port/" takes an argument */
	const char *argument;   /* what follows the name: "NAME", "CONSTANT"; null: nothing does */
	unsigned rows;          /* a bit for every enum pm_rows whose rows have it */
	enum pm_fill_kind kind;
	const char *meaning;
	/* The value, in `arena` or borrowed; null when there is none. */
	const char *(*value)(const struct pm_fill_at *at, const char *argument, struct pm_arena *arena);
};

/* The table; `*count` rows, static. */
const struct pm_fill *pm_fill_table(size_t *count);

/* The row for a fill as a layout writes it, and where its argument starts
 * (null: none). Null when unknown or its argument is missing. */
const struct pm_fill *pm_fill_find(const char *written, const char **argument);

/* --- cells --- */

#define PM_CELL_TEXT 12
#define PM_MOST_SHEET_ROWS 1048576u     /* ECMA-376 workbooks have no more */
#define PM_MOST_SHEET_COLUMNS 16384u

/* "B7" for row 6, column 1. Returns `out`. */
const char *pm_cell_name(uint32_t row, uint32_t column, char out[static PM_CELL_TEXT]);

/* The reverse; false for anything else than such a name. */
bool pm_cell_place(const char *name, uint32_t *row, uint32_t *column);

/* Would a spreadsheet run this text as a formula? The first character decides:
 * = + - @ and the controls TAB, CR (OWASP ASVS 1.2.10, CR from common practice).
 * Apostrophes in front are looked through, so that taking one off is the exact
 * reverse of putting one on. */
bool pm_cell_runs(const char *text);

#endif
