#include "sheet/template.h"

#include "portmuster/text.h"
#include "sheet/fold.h"
#include "store/path.h"

#define BRING_IN_LINE "fetch the desk's current workbook and bring the layout in line with it"

struct check {
	struct workbook *workbook;
	const char *file;
	struct grid *grid;
	struct pm_arena *arena;
	struct pm_fault *fault;
	size_t page;
	const struct grid_section *section;
};

static struct trouble_detail *complain(const struct check *c, uint32_t row, size_t column, const char *why)
{
	const struct pm_section *of = c->section->section;
	struct trouble_detail *detail = trouble_add(&c->grid->trouble, PM_SHEET_STRUCTURE, PM_STOP,
		&(struct trouble_at){ .file = c->file, .page = of->page.text, .column = of->columns[column].title.text,
		                      .row = row, .place = c->section->left + (uint32_t)column }, "%s", why);
	if (detail)
		trouble_last(&c->grid->trouble)->remedy = BRING_IN_LINE;
	return detail;
}

static bool check_titles(const struct check *c)
{
	const struct pm_section *of = c->section->section;
	struct workbook_cell cell;
	for (size_t i = 0; c->section->titles_at != GRID_NOWHERE && i < of->column_count; i++) {
		const char *title = of->columns[i].title.text ? of->columns[i].title.text : "";
		if (!workbook_get(c->workbook, c->page, c->section->titles_at, c->section->left + (uint32_t)i, c->arena, &cell, c->fault))
			return false;
		if (fold_title_same(title, cell.text))
			continue;
		struct trouble_detail *detail = complain(c, c->section->titles_at, i,
			pm_say(c->arena, "the workbook's title is %s", *cell.text ? trouble_quoted(c->arena, cell.text) : "not there"));
		if (detail) {
			detail->seen = cell.text;
			detail->expected = title;
			detail->cause = "title-changed";
		}
	}
	return true;
}

/* What stands in the way of a value: the desk's own text, a formula, a merged cell. */
static bool check_cells(const struct check *c)
{
	const struct pm_section *of = c->section->section;
	struct workbook_cell cell;
	for (size_t r = 0; r < c->section->count; r++)
		for (size_t i = 0; i < of->column_count; i++) {
			const struct pm_fill *fill = pm_fill_find(of->columns[i].fill.text, NULL);
			uint32_t row = c->section->first + (uint32_t)r;
			if (!fill || fill->kind == PM_FILL_NOTHING)
				continue;
			if (!workbook_get(c->workbook, c->page, row, c->section->left + (uint32_t)i, c->arena, &cell, c->fault))
				return false;
			if (cell.covered)
				complain(c, row, i, "the cell lies under a merged one");
			else if (cell.kind == WORKBOOK_FORMULA)
				complain(c, row, i, "the workbook has a formula there");
			else if (cell.kind != WORKBOOK_EMPTY)
				complain(c, row, i, pm_say(c->arena, "the workbook has %s there already", trouble_quoted(c->arena, cell.text)));
		}
	return true;
}

/* Filling leaves every formula and what it came to last as they are. They may stand on
 * pages that are not filled; such a page that cannot be read is passed over. */
static bool note_formulas(const struct check *c)
{
	struct trouble_at at = { .file = c->file, .row = TROUBLE_NO_CELL };
	size_t pages = workbook_recalculates(c->workbook) ? 0 : workbook_pages(c->workbook), total = 0;
	for (size_t i = 0; i < pages; i++) {
		struct pm_fault local = { 0 };
		size_t count;
		uint32_t row, column;
		if (!workbook_formulas(c->workbook, i, &count, &row, &column, &local)) {
			if (local.kind != PM_FAULT_MEMORY)
				continue;
			*c->fault = local;
			return false;
		}
		if (count && !total) {
			at.page = pm_say(c->arena, "%s", workbook_page_name(c->workbook, i));
			at.row = row;
			at.place = column;
		}
		total += count;
	}
	if (!total)
		return true;
	const char *which = total == 1 ? "a formula that keeps its result" : pm_say(c->arena, "the first of %zu formulas that keep their results", total);
	trouble_because(&c->grid->trouble, trouble_add(&c->grid->trouble, PM_SHEET_STRUCTURE, PM_NOTE, &at,
		"%s of before the workbook was filled, until it is calculated anew", which), "formulas-stale");
	return true;
}

bool template_check(struct workbook *workbook, const char *file, struct grid *grid, struct pm_arena *arena,
                    struct pm_fault *fault)
{
	struct check c = { .workbook = workbook, .file = file, .grid = grid, .arena = arena, .fault = fault };
	for (size_t i = 0; i < grid->layout->section_count; i++) {
		c.section = &grid->sections[i];
		const char *page = c.section->section->page.text;
		c.page = workbook_page_find(workbook, page);
		if (c.page != WORKBOOK_NO_PAGE) {
			if (!check_titles(&c) || !check_cells(&c))
				return false;
			continue;
		}
		trouble_add(&grid->trouble, PM_SHEET_STRUCTURE, PM_STOP,
		            &(struct trouble_at){ .file = file, .row = TROUBLE_NO_CELL },
		            "the workbook has no page %s for section %s", trouble_quoted(arena, page), c.section->section->id.text);
		if (trouble_last(&grid->trouble))
			trouble_last(&grid->trouble)->remedy = BRING_IN_LINE;
	}
	return note_formulas(&c);
}

bool template_fill(struct workbook *workbook, const struct grid *grid, struct pm_fault *fault)
{
	for (size_t i = 0; i < grid->layout->section_count; i++) {
		const struct grid_section *section = &grid->sections[i];
		size_t page = workbook_page_find(workbook, section->section->page.text);
		for (size_t r = 0; r < section->count; r++)
			for (size_t c = 0; c < section->section->column_count; c++) {
				const char *text = section->rows[r].cells[c].shown;
				if (*text && !workbook_put(workbook, page, section->first + (uint32_t)r, section->left + (uint32_t)c, text, fault))
					return false;
			}
	}
	return true;
}

bool template_path(const struct pm_layout *layout, char *out, size_t room, struct pm_fault *fault)
{
	char folder[STORE_PATH_ROOM];
	if (!pm_given(layout->workbook)) {
		pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ layout->file, 0, 0 }, "the layout names no workbook to be filled");
		return pm_fail_remedy(fault, "write a .csv file, or put the desk's workbook beside the layout and name it there: "
		                      "workbook: FILE.xlsx");
	}
	if (store_path_folder(layout->file, folder, sizeof folder) && store_path_join(folder, layout->workbook.text, out, room))
		return true;
	return pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ layout->file, 0, 0 }, "the path of the workbook is too long");
}
