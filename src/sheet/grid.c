#include "sheet/grid.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/fact.h"
#include "portmuster/text.h"

const char *grid_page(const struct grid *grid, const struct grid_section *section)
{
	return grid->medium == GRID_WORKBOOK ? section->section->page.text : NULL;
}

const char *grid_site(const struct grid *grid, const struct grid_row *row)
{
	return grid->jobs[row->job].job->code.text;
}

const char *grid_interface(const struct grid *grid, const struct grid_section *section, const struct grid_row *row)
{
	return section->section->rows == PM_ROWS_PORT ? grid->jobs[row->job].gear->ports[row->record].name.text : NULL;
}

/* --- jobs --- */

struct ranked {
	struct grid_job job;
	size_t at;
};

static int compare(const char *a, const char *b)
{
	return strcmp(a ? a : "", b ? b : "");
}

static int by_site(const void *a, const void *b)
{
	const struct ranked *x = a, *y = b;
	int order = compare(x->job.job->code.text, y->job.job->code.text);
	if (!order)
		order = compare(x->job.job->file, y->job.job->file);
	return order ? order : x->at < y->at ? -1 : 1;
}

static bool take_jobs(struct grid *grid, const struct grid_job *jobs, size_t count, struct pm_arena *arena)
{
	struct ranked *ranked = pm_arena_array(arena, count, sizeof *ranked);
	grid->jobs = pm_arena_array(arena, count, sizeof *grid->jobs);
	if (!ranked || !grid->jobs)
		return false;
	for (size_t i = 0; i < count; i++)
		ranked[i] = (struct ranked){ jobs[i], i };
	qsort(ranked, count, sizeof *ranked, by_site);
	grid->job_count = count;
	for (size_t i = 0; i < count; i++) {
		struct grid_job *job = &grid->jobs[i];
		*job = ranked[i].job;
		if (!pm_seal_job(job->job, job->gear, arena, &job->seal))
			return false;
		if (i && compare(job[-1].job->code.text, job->job->code.text) == 0)
			trouble_because(&grid->trouble, trouble_add(&grid->trouble, PM_SHEET_STRUCTURE, PM_STOP,
			                &(struct trouble_at){ .file = job->job->file, .site = job->job->code.text, .row = TROUBLE_NO_CELL },
			                "two jobs bear the site code %s: their rows could not be told apart",
			                trouble_quoted(arena, job->job->code.text)), "jobs-alike");
	}
	return true;
}

/* --- one cell --- */

struct pouring {
	struct grid *grid;
	struct pm_arena *arena;
	const struct grid_section *section;
	const struct pm_column *column;
	struct trouble_at at;
};

static struct trouble_detail *complain(const struct pouring *p, enum pm_severity severity, const char *why,
                                       const char *seen, const char *remedy)
{
	struct trouble_detail *detail = trouble_add(&p->grid->trouble, PM_SHEET_CELL, severity, &p->at, "%s", why);
	if (detail)
		detail->seen = seen;
	if (detail)
		trouble_last(&p->grid->trouble)->remedy = remedy;
	return detail;
}

static const char *trimmed(const char *value, struct pm_arena *arena)
{
	size_t length = value ? strlen(value) : 0;
	while (length && pm_is_blank(*value))
		value++, length--;
	while (length && pm_is_blank(value[length - 1]))
		length--;
	return length ? pm_arena_copy(arena, value, length) : "";
}

static size_t characters(const char *text)
{
	size_t count = 0;
	for (; *text; text++)
		count += ((unsigned char)*text & 0xC0) != 0x80;
	return count;
}

/* A value that can't stand on a sheet: what is wrong with it and what to do. */
static bool fit(const struct pouring *p, const char *value)
{
	struct pm_arena *arena = p->arena;
	const struct pm_column *column = p->column;
	const char *form = pm_column_form(column, arena), *quoted = trouble_quoted(arena, value);
	unsigned place;
	size_t wide = characters(value);
	if (column->widest && wide > (size_t)column->widest) {
		complain(p, PM_STOP, pm_say(arena, "%s has %zu characters where the desk takes %lld", quoted, wide,
		         (long long)column->widest), value, "ask the desk how it wants the value written");
		return false;
	}
	if (pm_form_match(form, value, &place))
		return true;
	complain(p, PM_STOP, pm_say(arena, "%s does not fit the desk's form %s at character %u", quoted,
	         trouble_quoted(arena, form), place), value, "read the value again; if it stands, ask the desk");
	return false;
}

static bool pour_address(const struct pouring *p, const char *value, struct grid_cell *cell)
{
	struct pm_eui48 address;
	enum pm_notation notation;
	bool lower;
	char text[PM_EUI48_TEXT];
	if (!pm_eui48_parse(value, &address)) {
		complain(p, PM_STOP, pm_say(p->arena, "%s is no hardware address", trouble_quoted(p->arena, value)), value,
		         "read the address again");
		return false;
	}
	if (!pm_column_notation(p->column, &notation, &lower))
		notation = PM_HYPHEN, lower = false;
	size_t length = pm_eui48_write(&address, notation, lower, text);
	cell->text = pm_arena_copy(p->arena, text, length);
	return cell->text != NULL;
}

/* What stands in the file for a value: in a CSV sheet a spreadsheet must not run it. */
static void guard(const struct pouring *p, struct grid_cell *cell)
{
	struct pm_arena *arena = p->arena;
	if (p->grid->medium == GRID_WORKBOOK || !pm_cell_runs(cell->text))
		return;
	const char *quoted = trouble_quoted(arena, cell->text);
	if (p->grid->layout->apostrophe) {
		complain(p, PM_WARN, pm_say(arena, "%s would be run as a formula: written with an apostrophe in front", quoted),
		         cell->text, "tell the desk that the apostrophe is not part of the value");
		cell->shown = pm_say(arena, "'%s", cell->text);
	} else {
		complain(p, PM_STOP, pm_say(arena, "%s would be run as a formula, and the layout allows no apostrophe", quoted),
		         cell->text, "correct the value, or ask the desk how to write it");
		cell->shown = "";
	}
}

/* A fact whose readings differ has no value, which must never pass for a cell
 * that may stay empty. */
static bool in_conflict(const struct pouring *p, const struct pm_fill *fill, const char *argument, const struct pm_fill_at *at)
{
	const char *of = fill->name;
	if (fill->kind == PM_FILL_ADDRESS) {
		size_t port = argument ? pm_roster_find(at->gear, argument, strlen(argument)) : at->index;
		if (port == PM_NO_PORT || (!argument && at->rows != PM_ROWS_PORT))
			return false;
		of = pm_say(p->arena, "port/%s", at->gear->ports[port].name.text);
	}
	return of && pm_fact_find(at->job, of, fill->kind == PM_FILL_ADDRESS ? PM_AS_ADDRESS : PM_AS_TEXT).standing == PM_CONFLICT;
}

static void pour(const struct pouring *p, const struct pm_fill *fill, const char *argument, const struct pm_fill_at *at,
                 struct grid_cell *cell)
{
	struct pm_text visible;
	const char *value = fill->value(at, argument, p->arena);
	cell->text = cell->shown = "";
	value = trimmed(value, p->arena);
	if (!value || fill->kind == PM_FILL_NOTHING)
		return;
	if (!*value) {
		if (in_conflict(p, fill, argument, at))
			complain(p, PM_STOP, "its readings differ", NULL, "find out which is right, and take back the other");
		else if (p->column->required)
			complain(p, PM_STOP, "the job has no value for it", NULL,
			         "read it, or take back the reading that is wrong: portmuster check tells which");
		return;
	}
	cell->text = value;
	pm_text_grow(&visible, p->arena);
	pm_text_visible(&visible, value, strlen(value));
	cell->shown = visible.data;
	if (!pm_same(visible.data, value)) {
		complain(p, PM_STOP, pm_say(p->arena, "a character that does not show, or bytes that are not UTF-8, in %s",
		         trouble_quoted(p->arena, value)), value, "enter the value without it");
		return;
	}
	if (fill->kind == PM_FILL_ADDRESS && !pour_address(p, value, cell))
		return;
	cell->shown = cell->text;
	if (fit(p, cell->text))
		guard(p, cell);
	else if (p->grid->medium == GRID_CSV && pm_cell_runs(cell->text))
		cell->shown = "";   /* a draft must not run it either */
}

/* --- rows --- */

static size_t records(const struct grid_job *job, enum pm_rows rows)
{
	switch (rows) {
	case PM_ROWS_SITE:
	case PM_ROWS_ROUTER: return 1;
	case PM_ROWS_PORT: return job->gear->port_count;
	case PM_ROWS_ATTACHED: return job->job->attached_count;
	case PM_ROWS: break;
	}
	return 0;
}

static bool pour_row(struct pouring *p, struct grid_row *row, size_t number)
{
	struct grid *grid = p->grid;
	const struct pm_section *section = p->section->section;
	struct grid_job *job = &grid->jobs[row->job];
	const struct pm_fill_at at = { job->job, job->gear, &job->seal, section->rows, row->record, number };
	row->cells = pm_arena_array(p->arena, section->column_count, sizeof *row->cells);
	if (!row->cells)
		return false;
	for (size_t i = 0; i < section->column_count; i++) {
		const char *argument;
		p->column = &section->columns[i];
		const struct pm_fill *fill = pm_fill_find(p->column->fill.text, &argument);
		p->at = (struct trouble_at){
			.file = job->job->file, .site = job->job->code.text, .interface = grid_interface(grid, p->section, row),
			.page = grid_page(grid, p->section), .column = p->column->title.text,
			.row = p->section->first + (uint32_t)number - 1, .place = p->section->left + (uint32_t)i,
		};
		if (fill)
			pour(p, fill, argument, &at, &row->cells[i]);
	}
	return !p->arena->failed;
}

static bool pour_section(struct pouring *p, struct grid_section *section)
{
	struct grid *grid = p->grid;
	enum pm_rows kind = section->section->rows;
	size_t most = 0;
	for (size_t j = 0; j < grid->job_count; j++)
		most += records(&grid->jobs[j], kind);
	section->rows = pm_arena_array(p->arena, most, sizeof *section->rows);
	if (!section->rows)
		return false;
	p->section = section;
	for (size_t j = 0; j < grid->job_count; j++)
		for (size_t r = 0; r < records(&grid->jobs[j], kind); r++) {
			struct grid_row *row = &section->rows[section->count++];
			row->job = j;
			row->record = r;
			if (!pour_row(p, row, section->count))
				return false;
		}
	return true;
}

/* --- where sections stand --- */

/* In a workbook, the rows that a section has before the next one below begins. */
static void look_for_room(struct grid *grid, const struct grid_section *section)
{
	uint32_t right = section->left + (uint32_t)section->section->column_count;
	for (size_t i = 0; i < grid->layout->section_count; i++) {
		const struct grid_section *other = &grid->sections[i];
		uint32_t top = other->titles_at == GRID_NOWHERE ? other->first : other->titles_at;
		uint32_t other_right = other->left + (uint32_t)other->section->column_count;
		if (other == section || top <= section->first || other->left >= right || section->left >= other_right ||
		    !pm_same_nocase(other->section->page.text, section->section->page.text) ||
		    section->first + section->count <= top)
			continue;
		trouble_because(&grid->trouble, trouble_add(&grid->trouble, PM_SHEET_STRUCTURE, PM_STOP,
		                &(struct trouble_at){ .file = grid->layout->file, .page = section->section->page.text, .row = top,
		                                      .place = other->left },
		                "section %s has %zu rows and room for %u before section %s begins", section->section->id.text,
		                section->count, (unsigned)(top - section->first), other->section->id.text), "no-room");
		return;
	}
}

static void place_in_workbook(struct grid_section *section)
{
	const struct pm_section *of = section->section;
	section->heading_at = section->titles_at = GRID_NOWHERE;
	if (pm_cell_place(of->first.text, &section->first, &section->left) && of->titles == PM_TITLES_ABOVE && section->first)
		section->titles_at = section->first - 1;
}

static void place_in_csv(struct grid_section *section, uint32_t *row)
{
	const struct pm_section *of = section->section;
	section->heading_at = pm_given(of->heading) ? (*row)++ : GRID_NOWHERE;
	section->titles_at = of->titles == PM_TITLES_ABOVE ? (*row)++ : GRID_NOWHERE;
	section->first = *row;
}

/* A key of the layout that nothing reads may have been meant for a rule of a cell. */
static bool tell_strays(struct trouble *trouble, const struct pm_layout *layout)
{
	const struct trouble_at at = { .file = layout->file, .row = TROUBLE_NO_CELL, .place = TROUBLE_NO_CELL };
	for (size_t i = 0; i < layout->strays.count; i++) {
		const struct pm_stray_key *stray = &layout->strays.item[i];
		if (!trouble_add(trouble, PM_KEY_UNKNOWN, PM_WARN, &at, "line %u of the layout: a %s has no key %s", stray->key.line,
		                 stray->inside, trouble_quoted(trouble->list.arena, stray->key.text)))
			return false;
		trouble_last(trouble)->place = (struct pm_place){ layout->file, stray->key.line, stray->key.column };
		if (stray->meant)
			trouble_last(trouble)->remedy = pm_say(trouble->list.arena, "write %s if that is meant", stray->meant);
	}
	return true;
}

bool grid_build(const struct pm_layout *layout, enum grid_medium medium, const struct grid_job *jobs, size_t count,
                struct pm_arena *arena, struct grid *grid)
{
	uint32_t row = 0;
	*grid = (struct grid){ .layout = layout, .medium = medium };
	trouble_init(&grid->trouble, arena);
	if (!tell_strays(&grid->trouble, layout))
		return false;
	grid->sections = pm_arena_array(arena, layout->section_count, sizeof *grid->sections);
	if (!grid->sections || !take_jobs(grid, jobs, count, arena))
		return false;
	for (size_t i = 0; i < layout->section_count; i++) {
		struct grid_section *section = &grid->sections[i];
		struct pouring p = { .grid = grid, .arena = arena };
		section->section = &layout->sections[i];
		if (section->section->column_count > grid->width)
			grid->width = (uint32_t)section->section->column_count;
		if (medium == GRID_WORKBOOK)
			place_in_workbook(section);
		else
			place_in_csv(section, &row);
		if (!pour_section(&p, section))
			return false;
		row += (uint32_t)section->count;
	}
	for (size_t i = 0; medium == GRID_WORKBOOK && i < layout->section_count; i++)
		look_for_room(grid, &grid->sections[i]);
	return !arena->failed;
}
