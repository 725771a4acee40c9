#include "sheet/returned.h"

#include <string.h>

#include "portmuster/text.h"
#include "sheet/fold.h"
#include "store/csv.h"
#include "store/save.h"

const struct returned_cell *returned_at(const struct returned_page *page, uint32_t row, uint32_t column)
{
	static const struct returned_cell nothing = { WORKBOOK_EMPTY, "" };
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
	pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ path, 0, 0 }, "a page with more than %u rows or %u columns",
	        RETURNED_MOST_ROWS, RETURNED_MOST_COLUMNS);
	return pm_fail_remedy(fault, "delete what does not belong to the sheet");
}

/* --- workbooks --- */

static bool read_page(struct workbook *workbook, size_t index, struct returned *sheet, struct pm_arena *arena,
                      struct pm_fault *fault)
{
	struct returned_page *page = &sheet->pages[sheet->count];
	uint32_t columns;
	if (!workbook_extent(workbook, index, &page->count, &columns, fault))
		return false;
	if (page->count > RETURNED_MOST_ROWS || columns > RETURNED_MOST_COLUMNS)
		return too_large(sheet->file, fault);
	const char *name = workbook_page_name(workbook, index);
	page->name = pm_arena_copy(arena, name, strlen(name));
	page->rows = pm_arena_array(arena, page->count, sizeof *page->rows);
	if (!page->rows || !page->name)
		return out_of_memory(sheet->file, fault);
	for (uint32_t r = 0; r < page->count; r++) {
		struct returned_row *row = &page->rows[r];
		row->cells = pm_arena_array(arena, columns, sizeof *row->cells);
		if (!row->cells)
			return out_of_memory(sheet->file, fault);
		for (row->count = 0; row->count < columns; row->count++) {
			struct workbook_cell cell;
			if (!workbook_get(workbook, index, r, row->count, arena, &cell, fault))
				return false;
			row->cells[row->count] = (struct returned_cell){ cell.kind, cell.text };
		}
	}
	sheet->count++;
	return true;
}

/* Is the page with this name wanted, and not read yet? */
static bool wanted(const struct pm_layout *layout, const struct returned *sheet, const char *name)
{
	for (size_t i = 0; i < sheet->count; i++)
		if (pm_same_nocase(sheet->pages[i].name, name))
			return false;
	for (size_t i = 0; i < layout->section_count; i++)
		if (pm_same_nocase(layout->sections[i].page.text, name))
			return true;
	return false;
}

static bool read_workbook(const char *path, const struct pm_layout *layout, struct pm_arena *arena,
                          struct returned *sheet, struct pm_fault *fault)
{
	struct workbook *workbook = workbook_open(path, fault);
	if (!workbook)
		return false;
	size_t pages = workbook_pages(workbook);
	bool good = true;
	sheet->workbook = true;
	sheet->pages = pm_arena_array(arena, pages, sizeof *sheet->pages);
	if (!sheet->pages)
		good = out_of_memory(path, fault);
	for (size_t i = 0; good && i < pages; i++)
		if (wanted(layout, sheet, workbook_page_name(workbook, i)))
			good = read_page(workbook, i, sheet, arena, fault);
	workbook_close(workbook);
	return good;
}

/* --- CSV --- */

struct bytes {
	const char *text;
	size_t length;
};

static bool is_utf8(struct bytes b)
{
	for (size_t at = 0; at < b.length;) {
		uint32_t point;
		at += pm_utf8_next(b.text + at, b.length - at, &point);
		if (point == UINT32_MAX)
			return false;
	}
	return true;
}

static void put_point(struct pm_text *out, uint32_t point)
{
	char bytes[4];
	size_t length = pm_utf8_put(point, bytes);
	if (length)
		pm_text_put(out, bytes, length);
	else
		put_point(out, 0xFFFD);
}

static void from_latin(struct bytes b, struct pm_text *out)
{
	for (size_t i = 0; i < b.length; i++)
		put_point(out, fold_latin((unsigned char)b.text[i]));
}

static void from_utf16(struct bytes b, struct pm_text *out)
{
	unsigned big = (unsigned char)b.text[0] == 0xFE;
	for (size_t i = 2; i + 1 < b.length; i += 2) {
		const unsigned char *at = (const unsigned char *)b.text + i;
		uint32_t unit = (uint32_t)at[1 - big] << 8 | at[big];
		if (unit >= 0xD800 && unit < 0xDC00 && i + 3 < b.length) {
			uint32_t low = (uint32_t)at[3 - big] << 8 | at[2 + big];
			if (low >= 0xDC00 && low < 0xE000) {
				unit = 0x10000 + ((unit - 0xD800) << 10) + (low - 0xDC00);
				i += 2;
			}
		}
		put_point(out, unit);
	}
}

/* Bring the bytes into UTF-8, noting what they were. */
static bool decode(struct bytes *b, struct returned *sheet, struct pm_arena *arena)
{
	struct pm_text text;
	pm_text_grow(&text, arena);
	if (b->length >= 2 && (memcmp(b->text, "\xFF\xFE", 2) == 0 || memcmp(b->text, "\xFE\xFF", 2) == 0)) {
		sheet->wide = true;
		from_utf16(*b, &text);
	} else if (!is_utf8(*b)) {
		sheet->latin = true;
		from_latin(*b, &text);
	} else {
		sheet->mark = b->length >= 3 && memcmp(b->text, "\xEF\xBB\xBF", 3) == 0;
		return true;
	}
	*b = (struct bytes){ text.data, text.length };
	return !text.cut;
}

/* The separator of the first line: whichever gives the layout's width, else the
 * one that stands there most often. */
static char separator_of(struct bytes b, uint32_t width)
{
	static const char candidates[] = ",;\t";
	size_t count[3] = { 0 }, best = 0;
	bool quoted = false;
	for (size_t i = 0; i < b.length && (quoted || (b.text[i] != '\n' && b.text[i] != '\r')); i++) {
		const char *found = quoted || !b.text[i] ? NULL : strchr(candidates, b.text[i]);
		quoted ^= b.text[i] == '"';
		if (found)
			count[found - candidates]++;
	}
	for (size_t i = 0; i < 3; i++)
		if (count[i] + 1 == width && width > 1)
			return candidates[i];
	for (size_t i = 1; i < 3; i++)
		if (count[i] > count[best])
			best = i;
	return candidates[best];
}

static bool bare_ends(struct bytes b)
{
	for (size_t i = 0; i < b.length; i++)
		if (b.text[i] == '\n' && (i == 0 || b.text[i - 1] != '\r'))
			return true;
	return false;
}

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
		row->cells[i] = (struct returned_cell){ fields->item[i].text[0] ? WORKBOOK_TEXT : WORKBOOK_EMPTY, fields->item[i].text };
	return row->cells != NULL;
}

static bool read_records(struct bytes b, struct returned *sheet, struct pm_arena *arena, struct pm_fault *fault)
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
static bool is_container(struct bytes b)
{
	return b.length >= 4 && (memcmp(b.text, "PK\x03\x04", 4) == 0 || memcmp(b.text, "\xD0\xCF\x11\xE0", 4) == 0);
}

bool returned_parse(const char *text, size_t length, const char *file, const struct pm_layout *layout,
                    struct pm_arena *arena, struct returned *sheet, struct pm_fault *fault)
{
	struct bytes b = { text, length };
	*sheet = (struct returned){ .file = file };
	if (!decode(&b, sheet, arena))
		return out_of_memory(file, fault);
	if (b.length && memchr(b.text, '\0', b.length)) {
		pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ file, 0, 0 }, "neither a CSV sheet nor a workbook: it holds zero bytes");
		return pm_fail_remedy(fault, "ask for the sheet as .csv or .xlsx");
	}
	sheet->separator = separator_of(b, width_of(layout));
	sheet->bare_ends = bare_ends(b);
	return read_records(b, sheet, arena, fault);
}

bool returned_read(const char *path, const struct pm_layout *layout, struct pm_arena *arena,
                   struct returned *sheet, struct pm_fault *fault)
{
	char *text;
	size_t length, name = strlen(path);
	*sheet = (struct returned){ .file = path };
	if (name >= 5 && pm_same_nocase(path + name - 5, ".xlsx"))
		return read_workbook(path, layout, arena, sheet, fault);
	if (!store_read_file(path, RETURNED_MOST_BYTES, arena, &text, &length, fault))
		return false;
	if (is_container((struct bytes){ text, length }))
		return read_workbook(path, layout, arena, sheet, fault);
	return returned_parse(text, length, path, layout, arena, sheet, fault);
}
