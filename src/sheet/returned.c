#include "sheet/returned.h"

#include <string.h>

#include "portmuster/text.h"
#include "sheet/decode.h"
#include "sheet/template.h"
#include "sheet/titles.h"
#include "store/csv.h"
#include "store/path.h"
#include "store/save.h"

const struct returned_cell *returned_at(const struct returned_page *page, uint32_t row, uint32_t column)
{
	static const struct returned_cell nothing = { WORKBOOK_EMPTY, "", false };
	if (!page || row >= page->count || column >= page->rows[row].count)
		return &nothing;
	return &page->rows[row].cells[column];
}

static bool out_of_memory(const char *path, struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ path, 0, 0 }, "out of memory");
}

static bool too_large(const char *path, struct pm_fault *fault)
{
	pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ path, 0, 0 }, "a sheet with more than %u rows or %u columns",
	        RETURNED_MOST_ROWS, RETURNED_MOST_COLUMNS);
	return pm_fail_remedy(fault, "delete what does not belong to the sheet");
}

/* --- workbooks --- */

/* A page is a table as wide and high as its last cells make it, though it may hold no
 * other: one cell far out is enough for more than there is memory. */
static bool fits(const struct returned *sheet, const char *name, uint32_t rows, uint32_t columns, struct pm_fault *fault)
{
	char last[PM_CELL_TEXT], quoted[PM_FAULT_TEXT];
	struct pm_text text;
	bool high = rows > RETURNED_MOST_ROWS, wide = columns > RETURNED_MOST_COLUMNS;
	if (!high && !wide && (size_t)rows * columns <= RETURNED_MOST_CELLS - sheet->cells)
		return true;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, name);
	pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ sheet->file, 0, 0 },
	        "page %s reaches to cell %s: more than %u %s%s", quoted, pm_cell_name(rows - 1, columns - 1, last),
	        high ? RETURNED_MOST_ROWS : wide ? RETURNED_MOST_COLUMNS : RETURNED_MOST_CELLS,
	        high ? "rows" : wide ? "columns" : "cells, blank ones counted", !high && !wide && sheet->cells ? ", with the pages before" : "");
	return pm_fail_remedy(fault, "delete what does not belong to the sheet, that cell and its row and column first");
}

static bool too_much_text(const struct returned *sheet, const char *name, uint32_t row, uint32_t column, struct pm_fault *fault)
{
	char cell[PM_CELL_TEXT], quoted[PM_FAULT_TEXT];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, name);
	pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ sheet->file, 0, 0 }, "page %s: up to cell %s there are more than %u MiB of text",
	        quoted, pm_cell_name(row, column, cell), RETURNED_MOST_TEXT >> 20);
	return pm_fail_remedy(fault, "delete what does not belong to the sheet");
}

static bool read_row(struct workbook *workbook, size_t index, uint32_t r, uint32_t columns, struct returned *sheet,
                     struct pm_arena *arena, struct pm_fault *fault)
{
	struct returned_row *row = &sheet->pages[sheet->count].rows[r];
	row->cells = pm_arena_array(arena, columns, sizeof *row->cells);
	if (!row->cells)
		return out_of_memory(sheet->file, fault);
	for (row->count = 0; row->count < columns; row->count++) {
		struct workbook_cell cell;
		if (!workbook_get(workbook, index, r, row->count, arena, &cell, fault))
			return false;
		sheet->bytes += strlen(cell.text);
		if (sheet->bytes > RETURNED_MOST_TEXT)
			return too_much_text(sheet, workbook_page_name(workbook, index), r, row->count, fault);
		row->cells[row->count] = (struct returned_cell){ cell.kind, cell.text, cell.covered };
	}
	return true;
}

static bool read_page(struct workbook *workbook, size_t index, struct returned *sheet, struct pm_arena *arena,
                      struct pm_fault *fault)
{
	struct returned_page *page = &sheet->pages[sheet->count];
	uint32_t columns;
	if (!workbook_extent(workbook, index, &page->count, &columns, fault))
		return false;
	const char *name = workbook_page_name(workbook, index);
	if (!fits(sheet, name, page->count, columns, fault))
		return false;
	page->name = pm_arena_copy(arena, name, strlen(name));
	page->rows = pm_arena_array(arena, page->count, sizeof *page->rows);
	if (!page->rows || !page->name)
		return out_of_memory(sheet->file, fault);
	sheet->cells += (size_t)page->count * columns;
	for (uint32_t r = 0; r < page->count; r++)
		if (!read_row(workbook, index, r, columns, sheet, arena, fault))
			return false;
	sheet->count++;
	return true;
}

static bool has_page(const struct returned *sheet, const char *name)
{
	for (size_t i = 0; i < sheet->count; i++)
		if (pm_same_nocase(sheet->pages[i].name, name))
			return true;
	return false;
}

static bool names_page(const struct pm_layout *layout, const char *name)
{
	for (size_t i = 0; i < layout->section_count; i++)
		if (pm_same_nocase(layout->sections[i].page.text, name))
			return true;
	return false;
}

/* The pages that the layout names, or all the others. Of the others one that cannot
 * be read is passed over, for the sheet may well do without it. */
static bool read_pages(struct workbook *workbook, const struct pm_layout *layout, bool named, struct returned *sheet,
                       struct pm_arena *arena, struct pm_fault *fault)
{
	struct pm_fault local;
	for (size_t i = 0; i < workbook_pages(workbook); i++) {
		const char *name = workbook_page_name(workbook, i);
		if (names_page(layout, name) != named || has_page(sheet, name))
			continue;
		local = (struct pm_fault){ 0 };
		if (read_page(workbook, i, sheet, arena, &local) || (!named && local.kind != PM_FAULT_MEMORY))
			continue;
		*fault = local;
		return false;
	}
	return true;
}

static bool read_workbook(const char *path, const struct pm_layout *layout, struct pm_arena *arena,
                          struct returned *sheet, struct pm_fault *fault)
{
	struct workbook *workbook = workbook_open(path, fault);
	if (!workbook)
		return false;
	size_t named;
	sheet->workbook = true;
	sheet->pages = pm_arena_array(arena, workbook_pages(workbook), sizeof *sheet->pages);
	bool good = sheet->pages ? read_pages(workbook, layout, true, sheet, arena, fault) : out_of_memory(path, fault), whole = good;
	named = sheet->count;
	for (size_t i = 0; whole && i < layout->section_count; i++)
		whole = has_page(sheet, layout->sections[i].page.text);
	if (good && !whole)
		good = read_pages(workbook, layout, false, sheet, arena, fault);
	workbook_close(workbook);
	if (!good || named)
		return good;
	/* nothing bears a name of the layout's: perhaps a CSV sheet that was saved so */
	struct returned_page *page = titles_poured(layout, sheet);
	if (page) {
		sheet->workbook = false;
		sheet->saved_on = page->name;
		sheet->pages = page;
		sheet->count = 1;
		page->name = NULL;
	}
	return true;
}

/* What the desk's own workbook holds, to tell its texts from what was added. When it
 * cannot be read nothing is known of it, and that is no fault. */
static bool read_own(const struct pm_layout *layout, struct pm_arena *arena, struct returned *sheet, struct pm_fault *fault)
{
	struct pm_fault local = { 0 };
	char path[STORE_PATH_ROOM];
	struct returned *own = pm_arena_alloc(arena, sizeof *own);
	if (!own)
		return out_of_memory(sheet->file, fault);
	*own = (struct returned){ .file = layout->file };
	if (!pm_given(layout->workbook) || !template_path(layout, path, sizeof path, &local))
		return true;
	if (read_workbook(path, layout, arena, own, &local) && own->workbook)
		sheet->own = own;
	if (local.kind == PM_FAULT_MEMORY)
		*fault = local;
	return local.kind != PM_FAULT_MEMORY;
}

/* --- CSV --- */

static bool add_row(struct returned_page *page, size_t *room, const struct pm_words *fields, struct pm_arena *arena)
{
	size_t count = page->count;
	void *items = page->rows;
	struct returned_row *row = pm_arena_push(arena, &items, &count, room, sizeof *row);
	page->rows = items;
	if (!row)
		return false;
	page->count = (uint32_t)count;
	row->count = (uint32_t)fields->count;
	row->cells = pm_arena_array(arena, fields->count, sizeof *row->cells);
	for (size_t i = 0; row->cells && i < fields->count; i++)
		row->cells[i] = (struct returned_cell){ fields->item[i].text[0] ? WORKBOOK_TEXT : WORKBOOK_EMPTY, fields->item[i].text, false };
	return row->cells != NULL;
}

static bool read_records(struct decoded b, struct returned *sheet, struct pm_arena *arena, struct pm_fault *fault)
{
	static const struct pm_words none;
	struct csv_reader reader;
	struct pm_words fields;
	struct returned_page *page = sheet->pages = pm_arena_alloc(arena, sizeof *page);
	size_t room = 0;
	int got;
	if (!page)
		return out_of_memory(sheet->file, fault);
	sheet->count = 1;
	csv_open(&reader, b.text, b.length, sheet->file, arena);
	reader.separator = sheet->separator;
	for (;;) {
		uint32_t line = reader.line;
		got = csv_next(&reader, &fields, fault);
		if (got <= 0)
			return got == 0;
		/* a blank line is a row too: the cells' names must be those of a spreadsheet */
		for (; line < fields.item[0].line && page->count < RETURNED_MOST_ROWS; line++)
			if (!add_row(page, &room, &none, arena))
				return out_of_memory(sheet->file, fault);
		if (page->count >= RETURNED_MOST_ROWS || fields.count > RETURNED_MOST_COLUMNS)
			return too_large(sheet->file, fault);
		if (page->count && fields.count != page->rows[0].count)
			sheet->uneven = true;
		if (!add_row(page, &room, &fields, arena))
			return out_of_memory(sheet->file, fault);
	}
}

static uint32_t width_of(const struct pm_layout *layout)
{
	size_t width = 0;
	for (size_t i = 0; i < layout->section_count; i++)
		if (layout->sections[i].column_count > width)
			width = layout->sections[i].column_count;
	return (uint32_t)width;
}

/* Both kinds of workbook container, by their first bytes: PKWARE APPNOTE 4.3.7
 * and, for old or encrypted ones, the compound file header ([MS-CFB] 2.2). */
static bool is_container(struct decoded b)
{
	return b.length >= 4 && (memcmp(b.text, "PK\x03\x04", 4) == 0 || memcmp(b.text, "\xD0\xCF\x11\xE0", 4) == 0);
}

bool returned_parse(const char *text, size_t length, const char *file, const struct pm_layout *layout,
                    struct pm_arena *arena, struct returned *sheet, struct pm_fault *fault)
{
	struct decoded b = { text, length };
	*sheet = (struct returned){ .file = file };
	if (!decode_sheet(&b, width_of(layout), arena, sheet))
		return out_of_memory(file, fault);
	if (b.length && memchr(b.text, '\0', b.length)) {
		pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ file, 0, 0 }, "neither a CSV sheet nor a workbook: it holds zero bytes");
		return pm_fail_remedy(fault, "ask for the sheet as .csv or .xlsx");
	}
	return read_records(b, sheet, arena, fault);
}

bool returned_read(const char *path, const struct pm_layout *layout, struct pm_arena *arena,
                   struct returned *sheet, struct pm_fault *fault)
{
	char *text;
	size_t length, name = strlen(path);
	*sheet = (struct returned){ .file = path };
	bool workbook = name >= 5 && pm_same_nocase(path + name - 5, ".xlsx");
	if (!workbook && !store_read_file(path, RETURNED_MOST_BYTES, arena, &text, &length, fault))
		return false;
	if (!workbook && !is_container((struct decoded){ text, length }))
		return returned_parse(text, length, path, layout, arena, sheet, fault);
	return read_workbook(path, layout, arena, sheet, fault) &&
	       (!sheet->workbook || read_own(layout, arena, sheet, fault));
}
