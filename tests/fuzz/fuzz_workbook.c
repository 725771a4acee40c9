/* Workbooks: a page's part (or, when the input begins with "PK", a whole package) is
 * read, filled in places of which some are there and some are not, and read again:
 * what was put is found, and every other cell is what it was. */
#include <stdlib.h>
#include <string.h>

#include "sheet/workbook_parts.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const struct { uint32_t row, column; const char *text; } asked[] = {
	{ 0, 0, "a" }, { 0, 1, "" }, { 1, 1, "<&_x0041_>" }, { 6, 1, " b7 " }, { 6, 3, "=1+1" }, { 900, 16383, "\xc3\xa9" }, { 1048575, 0, "]]>" },
};

static void demand(bool holds)
{
	if (!holds)
		abort();
}

static const char *edit_of(const struct book_page *page, uint32_t row, uint32_t column)
{
	const struct book_edit *edit = book_edit_find(page, row, column);
	return edit ? edit->text : NULL;
}

/* Every cell of one page is in the other, or was put there. */
static void same_but_for_edits(const struct book_page *edited, const struct book_page *one, const struct book_page *other)
{
	for (size_t i = 0; i < one->row_count; i++) {
		const struct book_row *row = &one->rows[i];
		for (size_t j = row->first; j < row->first + row->count; j++) {
			const struct book_cell *cell = &one->cells[j], *there = book_cell_find(other, row->number, cell->column);
			const char *put = edit_of(edited, row->number, cell->column);
			demand(cell->start < cell->end && cell->end <= one->length && one->xml[cell->start] == '<' && one->xml[cell->end - 1] == '>');
			demand(there != NULL || put);
			demand(put || (there->kind == cell->kind && there->style == cell->style && pm_same(there->text, cell->text)));
		}
	}
}

static void fuzz_page(const char *bytes, size_t length)
{
	static const char *strings[] = { "one", "two" };
	static bool dates[] = { false, true };
	const struct book_words words = { .string = strings, .string_count = 2, .dates = dates, .style_count = 2 };
	struct book_page page = { .name = "page", .part = "part", .xml = bytes, .length = length }, after = page;
	struct pm_arena arena;
	struct pm_fault fault = { 0 };
	pm_arena_init(&arena);
	if (!book_page_read(&page, &words, &arena, "f", &fault)) {
		demand(fault.kind != PM_FAULT_NONE && fault.message[0]);
	} else {
		for (size_t i = 0; i < sizeof asked / sizeof *asked; i++)
			demand(book_page_put(&page, asked[i].row, asked[i].column, asked[i].text, &arena, "f", &fault) || fault.message[0]);
		if (!book_page_splice(&page, &words, &arena, &after.xml, &after.length, "f", &fault))
			abort();
		demand(book_page_read(&after, &words, &arena, "f", &fault));
		same_but_for_edits(&page, &page, &after);
		same_but_for_edits(&page, &after, &page);
		for (size_t i = 0; i < page.edit_count; i++) {
			const struct book_edit *edit = &page.edits[i];
			const struct book_cell *cell = book_cell_find(&after, edit->row, edit->column);
			demand(cell ? pm_same(cell->text, edit->text) : !*edit->text);
		}
	}
	pm_arena_free(&arena);
}

static void fuzz_package(const char *bytes, size_t length)
{
	struct pm_fault fault = { 0 };
	struct pm_arena arena;
	const char *out;
	size_t out_length;
	struct workbook *workbook = book_open_bytes("f", bytes, length, &fault);
	if (!workbook) {
		demand(fault.message[0] != '\0');
		return;
	}
	pm_arena_init(&arena);
	bool put = false;
	for (size_t page = 0; page < workbook_pages(workbook); page++)
		put = workbook_put(workbook, page, 1, 1, "x", &fault) || put;
	if (put && book_compose(workbook, &arena, &out, &out_length, &fault)) {
		struct workbook *again = book_open_bytes("f", out, out_length, &fault);
		demand(again != NULL);
		workbook_close(again);
	}
	workbook_close(workbook);
	pm_arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	const char *bytes = (const char *)data;
	if (size >= 2 && !memcmp(bytes, "PK", 2))
		fuzz_package(bytes, size);
	else
		fuzz_page(bytes, size);
	return 0;
}
