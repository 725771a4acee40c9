/* Reading a worksheet part: where its rows and cells stand, and what they hold. */
#include <string.h>

#include "sheet/workbook_parts.h"

enum spot { TOP, SHEET, DATA, ROW, CELL, STRING, RUN, MERGES, COLUMNS, LEAF };

struct ranges {
	struct book_range *item;
	size_t count, room;
};

/* One page under way. */
struct course {
	struct book_page *page;
	const struct book_words *words;
	struct pm_arena *arena;
	struct book_row *row;
	struct ranges merged, arrays;
	bool has_data;
	enum { AS_NUMBER, AS_SHARED, AS_FORMULA_TEXT, AS_INLINE, AS_TRUTH, AS_ERROR, AS_DATE } as;
	bool has_value, has_string, has_formula;   /* of the cell under way */
	struct book_cell cell;
	uint32_t next_row, next_column;            /* where one without a name of its own stands */
};

static bool out_of_memory(struct book_reader *reader)
{
	return book_stop(reader, PM_FAULT_MEMORY, "out of memory");
}

static bool odd_attribute(struct book_reader *reader, const char *what, struct book_bit bit)
{
	char value[64], quoted[PM_FAULT_TEXT];
	struct pm_text text;
	pm_text_fixed(&text, value, sizeof value);
	pm_text_put(&text, bit.bytes, bit.length);
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, value);
	return book_stop(reader, PM_FAULT_SYNTAX, "%s is %s", what, quoted);
}

/* --- around the rows --- */

static bool open_dimension(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	if (!course->page->dimension)
		course->page->dimension = element->start;
	return true;
}

static bool open_columns(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	struct book_page *page = course->page;
	struct book_columns found = { 0 };
	struct book_bit style = book_attribute(element, "style");
	if (!style.bytes)
		return true;
	if (!book_bit_number(book_attribute(element, "min"), WORKBOOK_MOST_COLUMNS, &found.first) || !found.first ||
	    !book_bit_number(book_attribute(element, "max"), WORKBOOK_MOST_COLUMNS, &found.last) ||
	    found.last < found.first || !book_bit_number(style, UINT32_MAX, &found.style))
		return book_stop(reader, PM_FAULT_SYNTAX, "a column's range or style is no number");
	if (page->column_count == WORKBOOK_MOST_COLUMNS)
		return book_stop(reader, PM_FAULT_LIMIT, "more than %u columns", WORKBOOK_MOST_COLUMNS);
	found.first--;
	found.last--;
	void *items = page->columns;
	struct book_columns *columns =
		pm_arena_push(course->arena, &items, &page->column_count, &page->column_room, sizeof *columns);
	page->columns = items;
	if (!columns)
		return out_of_memory(reader);
	*columns = found;
	return true;
}

static bool add_range(struct book_reader *reader, struct ranges *list, struct book_bit ref, const char *what)
{
	struct course *course = reader->data;
	struct book_range found;
	if (!book_range_read(ref, &found))
		return odd_attribute(reader, what, ref);
	if (list->count == BOOK_MOST_RANGES)
		return book_stop(reader, PM_FAULT_LIMIT, "more than %u ranges", BOOK_MOST_RANGES);
	void *items = list->item;
	struct book_range *range = pm_arena_push(course->arena, &items, &list->count, &list->room, sizeof *range);
	list->item = items;
	if (!range)
		return out_of_memory(reader);
	*range = found;
	return true;
}

static bool open_merge(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	return add_range(reader, &course->merged, book_attribute(element, "ref"), "a merged range");
}

static bool open_data(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	(void)element;
	if (course->has_data)
		return book_stop(reader, PM_FAULT_SYNTAX, "holds its rows twice");
	course->has_data = true;
	return true;
}

static bool close_data(struct book_reader *reader, const struct book_element *element)
{
	((struct course *)reader->data)->page->data = *element;
	return true;
}

/* --- rows --- */

static bool open_row(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	struct book_page *page = course->page;
	struct book_bit name = book_attribute(element, "r"), style = book_attribute(element, "s");
	uint32_t number = course->next_row + 1;
	if (name.bytes && (!book_bit_number(name, WORKBOOK_MOST_ROWS, &number) || !number))
		return odd_attribute(reader, "a row's number", name);
	if (number > WORKBOOK_MOST_ROWS)
		return book_stop(reader, PM_FAULT_LIMIT, "more than %u rows", WORKBOOK_MOST_ROWS);
	if (number <= course->next_row)
		return book_stop(reader, PM_FAULT_SYNTAX, "row %u does not stand in order", number);
	void *items = page->rows;
	struct book_row *row = pm_arena_push(course->arena, &items, &page->row_count, &page->row_room, sizeof *row);
	page->rows = items;
	if (!row)
		return out_of_memory(reader);
	*row = (struct book_row){ .number = number - 1, .start = (uint32_t)element->start,
		.inside = (uint32_t)element->inside, .closed = element->closed, .first = (uint32_t)page->cell_count };
	if (style.bytes && !book_bit_number(style, UINT32_MAX, &row->style))
		return odd_attribute(reader, "a row's style", style);
	row->styled = style.bytes && book_bit_true(book_attribute(element, "customFormat"));
	course->row = row;
	course->next_row = number;
	course->next_column = 0;
	return true;
}

static bool close_row(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	course->row->end = (uint32_t)element->end;
	course->row->count = (uint32_t)course->page->cell_count - course->row->first;
	return true;
}

/* --- cells --- */

static const char *const kinds[] = {
	[AS_NUMBER] = "n", [AS_SHARED] = "s", [AS_FORMULA_TEXT] = "str", [AS_INLINE] = "inlineStr",
	[AS_TRUTH] = "b", [AS_ERROR] = "e", [AS_DATE] = "d",
};

static bool place_cell(struct book_reader *reader, struct book_bit name, uint32_t *column)
{
	struct course *course = reader->data;
	struct book_range found;
	*column = course->next_column;
	if (name.bytes) {
		if (!book_range_read(name, &found) || memchr(name.bytes, ':', name.length) ||
		    found.row != course->row->number)
			return odd_attribute(reader, "a cell's name", name);
		*column = found.column;
	}
	if (*column >= WORKBOOK_MOST_COLUMNS)
		return book_stop(reader, PM_FAULT_LIMIT, "more than %u columns", WORKBOOK_MOST_COLUMNS);
	if (*column < course->next_column)
		return odd_attribute(reader, "out of order: a cell's name", name);
	return true;
}

static bool open_cell(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	struct book_bit kind = book_attribute(element, "t"), style = book_attribute(element, "s");
	uint32_t column;
	if (!place_cell(reader, book_attribute(element, "r"), &column))
		return false;
	course->next_column = column + 1;
	course->cell = (struct book_cell){ .text = "", .start = (uint32_t)element->start, .column = (uint16_t)column };
	course->has_value = course->has_string = course->has_formula = false;
	course->as = AS_NUMBER;
	if (kind.bytes) {
		size_t i = 0;
		while (i < sizeof kinds / sizeof *kinds && !book_bit_is(kind, kinds[i]))
			i++;
		if (i == sizeof kinds / sizeof *kinds)
			return odd_attribute(reader, "a cell's kind", kind);
		course->as = i;
	}
	if (style.bytes && !book_bit_number(style, UINT32_MAX, &course->cell.style))
		return odd_attribute(reader, "a cell's style", style);
	book_collect(reader);
	return true;
}

static bool open_formula(struct book_reader *reader, const struct book_element *element)
{
	static const struct { const char *word; enum book_formula formula; } words[] = {
		{ "normal", BOOK_FORMULA }, { "shared", BOOK_SHARED }, { "array", BOOK_ARRAY }, { "dataTable", BOOK_TABLE },
	};
	struct course *course = reader->data;
	struct book_bit kind = book_attribute(element, "t"), ref = book_attribute(element, "ref");
	course->cell.formula = BOOK_FORMULA;
	for (size_t i = 0; i < sizeof words / sizeof *words; i++)
		if (book_bit_is(kind, words[i].word))
			course->cell.formula = (unsigned char)words[i].formula;
	if (course->has_formula)
		return book_stop(reader, PM_FAULT_SYNTAX, "a cell holds two formulas");
	course->has_formula = true;
	/* all cells of an array get their values from the formula in its first one */
	if ((course->cell.formula == BOOK_ARRAY || course->cell.formula == BOOK_TABLE) && ref.bytes)
		return add_range(reader, &course->arrays, ref, "a formula's range");
	return true;
}

static bool open_value(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	(void)element;
	if (course->has_value || course->as == AS_INLINE)
		return book_stop(reader, PM_FAULT_SYNTAX, "a cell holds two values, or one of another kind than it says");
	course->has_value = true;
	return true;
}

static bool open_string(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	(void)element;
	if (course->has_string || course->as != AS_INLINE)
		return book_stop(reader, PM_FAULT_SYNTAX, "a cell holds two texts, or one although it says otherwise");
	course->has_string = true;
	return true;
}

/* A value that is no text: without the blanks around it. */
static struct book_bit trimmed(const struct pm_text *text)
{
	struct book_bit bit = { text->data, text->length };
	while (bit.length && strchr(" \t\r\n", bit.bytes[bit.length - 1]))
		bit.length--;
	while (bit.length && strchr(" \t\r\n", *bit.bytes))
		bit.bytes++, bit.length--;
	return bit;
}

static bool keep(struct book_reader *reader, enum workbook_kind kind, const char *bytes, size_t length)
{
	struct course *course = reader->data;
	if (!length)
		return true;
	course->cell.kind = (unsigned char)kind;
	course->cell.text = pm_arena_copy(course->arena, bytes, length);
	return course->cell.text || out_of_memory(reader);
}

static bool take_value(struct book_reader *reader)
{
	struct course *course = reader->data;
	const struct book_words *words = course->words;
	struct book_bit value = trimmed(&reader->text);
	uint32_t number;
	bool dates = course->cell.style < words->style_count && words->dates[course->cell.style];
	if (reader->text.cut)
		return out_of_memory(reader);
	switch (course->as) {
	case AS_NUMBER: return keep(reader, dates ? WORKBOOK_DATE : WORKBOOK_NUMBER, value.bytes, value.length);
	case AS_DATE: return keep(reader, WORKBOOK_DATE, value.bytes, value.length);
	case AS_ERROR: return keep(reader, WORKBOOK_ERROR, value.bytes, value.length);
	case AS_TRUTH:
		if (!value.length)
			return true;
		if (book_bit_true(value))
			return keep(reader, WORKBOOK_TRUTH, "TRUE", 4);
		if (book_bit_is(value, "0") || book_bit_is(value, "false"))
			return keep(reader, WORKBOOK_TRUTH, "FALSE", 5);
		return odd_attribute(reader, "a truth value", value);
	case AS_SHARED:
		if (!value.length)
			return true;
		if (!book_bit_number(value, UINT32_MAX, &number) || number >= words->string_count)
			return odd_attribute(reader, "there is no such shared string: the number", value);
		course->cell.text = words->string[number];
		course->cell.kind = *course->cell.text ? WORKBOOK_TEXT : WORKBOOK_EMPTY;
		return true;
	case AS_FORMULA_TEXT: case AS_INLINE:
		return keep(reader, WORKBOOK_TEXT, reader->text.data,
		            reader->text.length ? book_text_decode(reader->text.data, reader->text.length) : 0);
	}
	return true;
}

static bool close_cell(struct book_reader *reader, const struct book_element *element)
{
	struct course *course = reader->data;
	struct book_page *page = course->page;
	if (!take_value(reader))
		return false;
	course->cell.end = (uint32_t)element->end;
	if (course->cell.formula)
		course->cell.kind = WORKBOOK_FORMULA;
	if (page->cell_count == BOOK_MOST_CELLS)
		return book_stop(reader, PM_FAULT_LIMIT, "more than %u cells", BOOK_MOST_CELLS);
	void *items = page->cells;
	struct book_cell *cell = pm_arena_push(course->arena, &items, &page->cell_count, &page->cell_room, sizeof *cell);
	page->cells = items;
	if (!cell)
		return out_of_memory(reader);
	*cell = course->cell;
	return true;
}

static const struct book_rule rules[] = {
	{ ROW, "c", CELL, false, open_cell, close_cell },
	{ CELL, "v", LEAF, true, open_value, NULL },
	{ CELL, "f", LEAF, false, open_formula, NULL },
	{ CELL, "is", STRING, false, open_string, NULL },
	{ STRING, "t", LEAF, true, NULL, NULL },
	{ STRING, "r", RUN, false, NULL, NULL },
	{ RUN, "t", LEAF, true, NULL, NULL },
	{ DATA, "row", ROW, false, open_row, close_row },
	{ TOP, "worksheet", SHEET, false, NULL, NULL },
	{ SHEET, "dimension", LEAF, false, open_dimension, NULL },
	{ SHEET, "cols", COLUMNS, false, NULL, NULL },
	{ COLUMNS, "col", LEAF, false, open_columns, NULL },
	{ SHEET, "sheetData", DATA, false, open_data, close_data },
	{ SHEET, "mergeCells", MERGES, false, NULL, NULL },
	{ MERGES, "mergeCell", LEAF, false, open_merge, NULL },
};

/* Of a merged range everything but its first cell is covered: the rest of its first
 * row, and all the rows below. */
static bool cover_merged(struct course *course)
{
	const struct ranges *merged = &course->merged;
	struct book_range *parts = pm_arena_array(course->arena, 2 * merged->count, sizeof *parts);
	size_t count = 0;
	for (size_t i = 0; parts && i < merged->count; i++) {
		struct book_range rest = merged->item[i], below = rest;
		rest.last_row = rest.row;
		rest.column++;
		below.row++;
		if (rest.column <= rest.last_column)
			parts[count++] = rest;
		if (below.row <= below.last_row)
			parts[count++] = below;
	}
	return parts && book_cover_make(&course->page->covered, parts, count, course->arena);
}

bool book_page_read(struct book_page *page, const struct book_words *words, struct pm_arena *arena,
                    const char *file, struct pm_fault *fault)
{
	struct course course = { .page = page, .words = words, .arena = arena };
	struct book_reader reader = {
		.rules = rules, .rule_count = sizeof rules / sizeof *rules, .data = &course,
		.file = file, .part = page->part, .xml = page->xml, .length = page->length, .fault = fault,
	};
	if (!book_read(&reader))
		return false;
	if (!course.has_data)
		return book_stop(&reader, PM_FAULT_SYNTAX, "holds no rows, not even an empty list of them");
	if (!cover_merged(&course) || !book_cover_make(&page->arrays, course.arrays.item, course.arrays.count, course.arena))
		return out_of_memory(&reader);
	page->loaded = true;
	return true;
}

/* --- looking up --- */

size_t book_row_at(const struct book_page *page, uint32_t row)
{
	size_t low = 0, high = page->row_count;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		if (page->rows[middle].number < row)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

size_t book_cell_at(const struct book_page *page, const struct book_row *row, uint32_t column)
{
	size_t low = row->first, high = low + row->count;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		if (page->cells[middle].column < column)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

const struct book_cell *book_cell_find(const struct book_page *page, uint32_t row, uint32_t column)
{
	size_t at = book_row_at(page, row);
	if (at == page->row_count || page->rows[at].number != row)
		return NULL;
	size_t cell = book_cell_at(page, &page->rows[at], column);
	if (cell == page->rows[at].first + page->rows[at].count || page->cells[cell].column != column)
		return NULL;
	return &page->cells[cell];
}

bool book_covered(const struct book_page *page, uint32_t row, uint32_t column)
{
	return book_cover_holds(&page->covered, row, column);
}

enum book_formula book_formula_of(const struct book_page *page, uint32_t row, uint32_t column)
{
	const struct book_cell *cell = book_cell_find(page, row, column);
	if (cell && cell->formula)
		return cell->formula;
	return book_cover_holds(&page->arrays, row, column) ? BOOK_ARRAY : BOOK_NO_FORMULA;
}
