#include "sheet/verify.h"

#include <string.h>

#include "portmuster/text.h"
#include "sheet/align.h"
#include "sheet/beyond.h"
#include "sheet/causes.h"
#include "sheet/fold.h"
#include "sheet/locate.h"
#include "sheet/names.h"

/* A site that rows name although no job is of it: they are told of together, where the
 * first of them stands. */
struct foreign {
	const char *site;
	size_t rows;
	const struct aligned *section;   /* of the first */
	size_t row;
};

struct verify {
	const struct grid *grid;
	const struct returned *sheet;
	struct pm_arena *arena;
	struct trouble *trouble;
	struct aligned *all;             /* one a section */
	struct foreign *foreign;
	size_t foreign_count, foreign_room;
	struct names foreign_names;      /* in the same order */
	bool *absent;                    /* by job: none of its rows is there */
};

static struct trouble_at at_row(const struct verify *v, const struct aligned *a, uint32_t row, size_t column)
{
	struct trouble_at at = { .file = v->sheet->file, .page = a->located->page->name,
	                         .row = row, .place = a->located->column[column] };
	return at;
}

static void of_record(const struct verify *v, const struct aligned *a, size_t e, struct trouble_at *at)
{
	const struct grid_row *row = &a->section->rows[e];
	at->site = grid_site(v->grid, row);
	at->interface = grid_interface(v->grid, a->section, row);
}

/* --- the file as a whole --- */

static void judge_file(const struct verify *v)
{
	const struct returned *s = v->sheet;
	const struct {
		bool found;
		enum pm_severity severity;
		const char *cause, *message, *remedy;
	} rows[] = {
		{ s->saved_on != NULL, PM_WARN, "saved-as-workbook",
		  pm_say(v->arena, "a CSV sheet that was saved as a workbook, on page %s", trouble_quoted(v->arena, s->saved_on)),
		  "nothing need be done; a desk that wants CSV gets the sheet written anew" },
		{ s->wide, PM_STOP, "character-set", "the file is UTF-16, not UTF-8", "save it as CSV in UTF-8" },
		{ s->latin, PM_STOP, "character-set", "the file holds bytes that are not UTF-8: read as Windows-1252",
		  "save it as CSV in UTF-8" },
		{ s->mark, PM_WARN, "byte-order-mark", "a byte order mark stands in front", "nothing need be done" },
		{ s->separator && s->separator != ',' && v->grid->width > 1, PM_WARN, "separator",
		  s->separator == ';' ? "fields are parted by semicolons, not by commas" : "fields are parted by tabs, not by commas",
		  "nothing need be done; a desk that wants RFC 4180 gets the sheet written anew" },
		{ s->bare_ends, PM_WARN, "line-ends", "lines end without a carriage return", "nothing need be done" },
		{ s->lone_returns, PM_WARN, "line-ends", "lines end with a carriage return alone",
		  "nothing need be done; a desk that wants RFC 4180 gets the sheet written anew" },
		{ s->uneven, PM_WARN, "field-counts", "records have different numbers of fields", "nothing need be done" },
	};
	for (size_t i = 0; !s->workbook && i < sizeof rows / sizeof *rows; i++) {
		if (!rows[i].found)
			continue;
		struct trouble_at at = { .file = s->file, .row = TROUBLE_NO_CELL };
		struct trouble_detail *detail = trouble_add(v->trouble, PM_SHEET_STRUCTURE, rows[i].severity, &at, "%s", rows[i].message);
		if (!detail)
			return;
		detail->cause = rows[i].cause;
		trouble_last(v->trouble)->remedy = rows[i].remedy;
	}
}

/* --- rows --- */

/* What a row is called in a message: its name, else its site. */
static const char *name_of(const struct verify *v, const struct aligned *a, size_t e)
{
	const struct grid_row *row = &a->section->rows[e];
	const struct grid_job *job = &v->grid->jobs[row->job];
	switch (a->section->section->rows) {
	case PM_ROWS_PORT: return trouble_quoted(v->arena, job->gear->ports[row->record].name.text);
	case PM_ROWS_ATTACHED: return trouble_quoted(v->arena, job->job->attached[row->record].name.text);
	case PM_ROWS_SITE:
	case PM_ROWS_ROUTER:
	case PM_ROWS: break;
	}
	return trouble_quoted(v->arena, job->job->code.text);
}

static void row_trouble(const struct verify *v, const struct aligned *a, size_t e, uint32_t row, const char *cause,
                        const char *message)
{
	struct trouble_at at = at_row(v, a, row, 0);
	if (at.place == LOCATE_NOWHERE)
		at.place = 0;
	if (e != ALIGN_NONE)
		of_record(v, a, e, &at);
	struct trouble_detail *detail = trouble_add(v->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "%s", message);
	trouble_because(v->trouble, detail, cause);
}

/* The site that a row says it is of; null when it does not say so. */
static const char *site_of(const struct aligned *a, size_t r)
{
	for (size_t i = 0; i < a->section->section->column_count; i++)
		if (pm_same(a->section->section->columns[i].fill.text, "site/code") && align_compared(a, i))
			return *align_seen(a, r, i)->text ? align_seen(a, r, i)->text : NULL;
	return NULL;
}

static bool is_known(const struct verify *v, const char *site)
{
	for (size_t i = 0; i < v->grid->job_count; i++)
		if (pm_same(v->grid->jobs[i].job->code.text, site))
			return true;
	return false;
}

/* A row that no job has. Below a blank row a workbook may hold whatever the desk put
 * there, unless it looks like a record. */
static bool is_strange(const struct verify *v, const struct aligned *a, size_t r)
{
	if (a->source[r] != ALIGN_NONE)
		return false;
	const char *site = site_of(a, r);
	return !v->sheet->workbook || a->blank > a->row[r] ||
	       beyond_is_record(v->sheet, a->located, a->row[r], site && is_known(v, site));
}

static struct foreign *foreign_find(const struct verify *v, const char *site)
{
	size_t known = names_find(&v->foreign_names, site);
	return known == NAMES_NONE ? NULL : &v->foreign[known];
}

static bool collect_foreign(struct verify *v)
{
	for (size_t s = 0; s < v->grid->layout->section_count; s++)
		for (size_t r = 0; r < v->all[s].count; r++) {
			const char *site = is_strange(v, &v->all[s], r) ? site_of(&v->all[s], r) : NULL;
			if (!site || is_known(v, site))
				continue;
			struct foreign *found = foreign_find(v, site);
			if (!found) {
				void *items = v->foreign;
				found = pm_arena_push(v->arena, &items, &v->foreign_count, &v->foreign_room, sizeof *found);
				v->foreign = items;
				if (!found || !names_add(&v->foreign_names, site))
					return false;
				*found = (struct foreign){ .site = site, .section = &v->all[s], .row = r };
			}
			found->rows++;
		}
	return true;
}

/* True when the row is of such a site. */
static bool judge_foreign(const struct verify *v, const struct aligned *a, size_t r)
{
	const char *site = site_of(a, r);
	const struct foreign *found = site ? foreign_find(v, site) : NULL;
	if (!found || found->section != a || found->row != r)
		return found != NULL;
	struct trouble_at at = at_row(v, a, a->row[r], 0);
	if (at.place == LOCATE_NOWHERE)
		at.place = 0;
	at.site = site;
	const char *quoted = trouble_quoted(v->arena, site);
	const char *message = pm_say(v->arena, found->rows > 1 ? "the first of %zu rows of site %s, which is none of the jobs given"
	                             : "%zu row of site %s, which is none of the jobs given", found->rows, quoted);
	trouble_because(v->trouble, trouble_add(v->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "%s", message), "site-unknown");
	return true;
}

/* A job none of whose rows is on the sheet, although every section was found, while
 * others are. */
static void judge_absent(const struct verify *v)
{
	for (size_t j = 0; j < v->grid->job_count; j++) {
		const struct pm_job *job = v->grid->jobs[j].job;
		size_t rows = 0, lost = 0;
		for (size_t s = 0; s < v->grid->layout->section_count; s++)
			for (size_t e = 0; e < v->all[s].section->count; e++)
				if (v->all[s].section->rows[e].job == j) {
					rows++;
					lost += v->all[s].located->page && v->all[s].match[e] == ALIGN_NONE;
				}
		v->absent[j] = rows && lost == rows && v->grid->job_count > 1;
		if (!v->absent[j])
			continue;
		struct trouble_at at = { .file = v->sheet->file, .site = job->code.text, .row = TROUBLE_NO_CELL };
		trouble_because(v->trouble, trouble_add(v->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at,
			"no row of site %s is there", trouble_quoted(v->arena, job->code.text)), "site-missing");
	}
}

static void judge_added(const struct verify *v, const struct aligned *a, size_t r)
{
	if (!is_strange(v, a, r) || judge_foreign(v, a, r))
		return;
	const char *twice = NULL;
	for (size_t e = 0; e < a->section->count; e++) {
		bool same = true, any = false;
		for (size_t i = 0; same && i < a->section->section->column_count; i++)
			if (align_compared(a, i)) {
				same = strcmp(align_right(a, e, i), align_seen(a, r, i)->text) == 0;
				any |= *align_right(a, e, i) != '\0';
			}
		if (same && any)
			twice = pm_say(v->arena, "the row of %s stands here once more", name_of(v, a, e));
	}
	row_trouble(v, a, ALIGN_NONE, a->row[r], "row-added", twice ? twice : "a row that the job does not have");
	if (twice && trouble_last(v->trouble))
		trouble_last(v->trouble)->remedy = "take out the row that is too many";
}

static bool judge_order(const struct verify *v, const struct aligned *a)
{
	size_t count = a->section->count, moved = 0;
	uint32_t *number = pm_arena_array(v->arena, count + 1, sizeof *number);
	bool *in = pm_arena_array(v->arena, count + 1, sizeof *in);
	if (!number || !in)
		return false;
	for (size_t e = 0; e < count; e++)
		number[e] = a->match[e] == ALIGN_NONE ? LOCATE_NOWHERE : (uint32_t)a->match[e];
	if (!locate_rising(number, count, in, v->arena))
		return false;
	for (size_t e = 0; e < count; e++)
		moved += number[e] != LOCATE_NOWHERE && !in[e];
	if (moved > 4 && moved * 3 > count) {
		row_trouble(v, a, ALIGN_NONE, a->located->first, "rows-moved",
		            pm_say(v->arena, "%zu of %zu rows stand in another order, as after sorting", moved, count));
		return true;
	}
	for (size_t e = 0; e < count; e++)
		if (number[e] != LOCATE_NOWHERE && !in[e])
			row_trouble(v, a, e, a->row[number[e]], "rows-moved",
			            pm_say(v->arena, "the row of %s has changed its place", name_of(v, a, e)));
	return true;
}

/* --- cells --- */

/* Where else the value of this cell belongs: in which row of the column. The row
 * that holds this cell's own value in turn makes it a swap. */
static void look_in_rows(const struct verify *v, const struct aligned *a, size_t e, size_t i, struct cause_view *view)
{
	for (size_t k = 0; k < a->section->count; k++) {
		if (k == e || strcmp(align_right(a, k, i), view->seen) != 0 || strcmp(align_right(a, k, i), view->right) == 0)
			continue;
		const char *name = name_of(v, a, k);
		if (!view->row_of)
			view->row_of = name;
		if (a->match[k] != ALIGN_NONE && strcmp(align_seen(a, a->match[k], i)->text, view->right) == 0) {
			view->swapped_with = name;
			return;
		}
	}
}

static void look_in_columns(const struct aligned *a, size_t e, size_t i, struct cause_view *view)
{
	for (size_t k = 0; k < a->section->section->column_count; k++) {
		if (k == i || !align_compared(a, k) || strcmp(align_right(a, e, k), view->seen) != 0)
			continue;
		/* a single character stands in many columns by chance, unless that one has this one's value */
		bool exchanged = strcmp(align_seen(a, a->match[e], k)->text, view->right) == 0;
		if (strlen(view->seen) < 2 && !exchanged)
			continue;
		view->column_of = a->section->section->columns[k].title.text;
		if (exchanged)
			return;
	}
}

static void judge_cell(const struct verify *v, const struct aligned *a, size_t e, size_t i)
{
	const struct returned_cell *cell = align_seen(a, a->match[e], i);
	const struct pm_column *column = &a->section->section->columns[i];
	const struct pm_fill *fill = pm_fill_find(column->fill.text, NULL);
	struct cause_view view = { .right = align_right(a, e, i), .seen = cell->text, .kind = cell->kind,
	                           .covered = cell->covered,
	                           .address = fill && fill->kind == PM_FILL_ADDRESS };
	bool same = strcmp(view.right, view.seen) == 0;
	/* a CSV sheet has no numbers: saved as a workbook it gets them wherever a text looks like one */
	bool hidden = cell->covered && *cell->text;
	if (same && !hidden && (cell->kind == WORKBOOK_TEXT || cell->kind == WORKBOOK_EMPTY || (cell->kind == WORKBOOK_NUMBER && v->sheet->saved_on)))
		return;
	if (!same && *view.right && *view.seen) {
		look_in_rows(v, a, e, i, &view);
		look_in_columns(a, e, i, &view);
	}
	char said[400];
	struct pm_text say;
	pm_text_fixed(&say, said, sizeof said);
	const struct cause *cause = cause_find(&view, &say);
	bool harmless = cause->harmless || (same && !hidden && cell->kind == WORKBOOK_NUMBER);
	struct trouble_at at = at_row(v, a, a->row[a->match[e]], i);
	of_record(v, a, e, &at);
	at.column = column->title.text;
	const char *seen = *view.seen ? trouble_quoted(v->arena, view.seen) : "nothing";
	const char *right = *view.right ? trouble_quoted(v->arena, view.right) : "nothing";
	struct trouble_detail *detail = trouble_add(v->trouble, PM_SHEET_CELL, harmless ? PM_WARN : PM_STOP, &at,
		"reads %s, should be %s: %s", seen, right, said);
	if (!detail)
		return;
	detail->seen = view.seen;
	detail->expected = view.right;
	detail->cause = cause->word;
	trouble_last(v->trouble)->remedy = cause->remedy;
	trouble_last(v->trouble)->suggestion = *view.right ? trouble_quoted(v->arena, view.right) : NULL;
}

/* What stands in a record's row, in columns that belong to no title. */
static void judge_outside(const struct verify *v, const struct aligned *a, size_t r)
{
	const struct located *l = a->located;
	const struct returned_row *row = &l->page->rows[a->row[r]];
	for (uint32_t c = 0; !v->sheet->workbook && c < row->count; c++) {
		bool known = !*row->cells[c].text;
		for (size_t i = 0; !known && i < l->section->column_count; i++)
			known = l->column[i] == c;
		/* a column with a title of its own was complained of there */
		if (known || (l->titles_at != LOCATE_NOWHERE && *returned_at(l->page, l->titles_at, c)->text))
			continue;
		struct trouble_at at = at_row(v, a, a->row[r], 0);
		at.place = c;
		struct trouble_detail *detail = trouble_add(v->trouble, PM_SHEET_CELL, PM_STOP, &at,
			"reads %s, where the layout has no column", trouble_quoted(v->arena, row->cells[c].text));
		if (detail) {
			detail->seen = row->cells[c].text;
			detail->cause = "outside";
		}
	}
}

static bool judge_section(const struct verify *v, const struct aligned *a)
{
	const struct grid_section *section = a->section;
	if (!a->located->page)
		return true;
	if (!judge_order(v, a))
		return false;
	for (size_t r = 0; r < a->count; r++) {
		size_t e = a->source[r];
		if (e == ALIGN_NONE) {
			judge_added(v, a, r);
			continue;
		}
		for (size_t i = 0; i < section->section->column_count; i++)
			if (align_compared(a, i))
				judge_cell(v, a, e, i);
		judge_outside(v, a, r);
	}
	for (size_t e = 0; e < section->count; e++) {
		if (a->match[e] != ALIGN_NONE || v->absent[section->rows[e].job])
			continue;
		/* it belongs below the row before it */
		uint32_t row = a->located->first;
		for (size_t k = 0; k < e; k++)
			if (a->match[k] != ALIGN_NONE)
				row = a->row[a->match[k]] + 1;
		row_trouble(v, a, e, row, "row-lost", pm_say(v->arena, "the row of %s is missing", name_of(v, a, e)));
	}
	return true;
}

bool verify_sheet(const struct grid *grid, const struct returned *sheet, struct pm_arena *arena, struct trouble *trouble)
{
	struct verify v = { .grid = grid, .sheet = sheet, .arena = arena, .trouble = trouble };
	size_t count = grid->layout->section_count;
	names_init(&v.foreign_names, arena);
	v.all = pm_arena_array(arena, count, sizeof *v.all);
	v.absent = pm_arena_array(arena, grid->job_count, sizeof *v.absent);
	judge_file(&v);
	struct located *located = locate_sections(grid->layout, grid, sheet, arena, trouble);
	if (!located || !v.all || !v.absent)
		return false;
	for (size_t i = 0; i < count; i++) {
		v.all[i] = (struct aligned){ .grid = grid, .section = &grid->sections[i], .located = &located[i] };
		if (located[i].page && !align_rows(&v.all[i], arena))
			return false;
	}
	if (!collect_foreign(&v))
		return false;
	judge_absent(&v);
	for (size_t i = 0; i < count; i++)
		if (!judge_section(&v, &v.all[i]))
			return false;
	return !arena->failed;
}
