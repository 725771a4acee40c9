/* Filling: texts are remembered by place, and spliced into the part's own bytes
 * when it is saved. All bytes between them stay as they were. */
#include <string.h>

#include "sheet/workbook_parts.h"

static bool out_of_memory(const char *file, struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ file, 0, 0 }, "out of memory");
}

/* --- remembering --- */

size_t book_edit_at(const struct book_page *page, uint32_t row, uint32_t column)
{
	size_t low = 0, high = page->edit_count;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		const struct book_edit *edit = &page->edits[middle];
		if (edit->row < row || (edit->row == row && edit->column < column))
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

const struct book_edit *book_edit_find(const struct book_page *page, uint32_t row, uint32_t column)
{
	size_t at = book_edit_at(page, row, column);
	bool found = at < page->edit_count && page->edits[at].row == row && page->edits[at].column == column;
	return found ? &page->edits[at] : NULL;
}

/* Why a cell may not be written, or null. */
static const char *cell_problem(const struct book_page *page, uint32_t row, uint32_t column)
{
	if (book_covered(page, row, column))
		return "it lies under a merged cell, only the first of those can hold anything";
	switch (book_formula_of(page, row, column)) {
	case BOOK_NO_FORMULA: return NULL;
	case BOOK_FORMULA: return "it holds a formula";
	case BOOK_SHARED: return "it holds a formula that it shares with other cells";
	case BOOK_ARRAY: return "it belongs to an array formula";
	case BOOK_TABLE: return "it belongs to a table of computed values";
	}
	return NULL;
}

bool book_page_put(struct book_page *page, uint32_t row, uint32_t column, const char *text,
                   struct pm_arena *arena, const char *file, struct pm_fault *fault)
{
	const char *problem = book_text_problem(text);
	if (problem) {
		book_cell_fail(fault, PM_FAULT_VALUE, file, page, row, column, problem);
		return pm_fail_remedy(fault, "enter another text");
	}
	problem = cell_problem(page, row, column);
	if (problem) {
		book_cell_fail(fault, PM_FAULT_VALUE, file, page, row, column, problem);
		return pm_fail_remedy(fault, "name another cell in the layout");
	}
	const char *kept = *text ? pm_arena_copy(arena, text, strlen(text)) : "";
	if (!kept)
		return out_of_memory(file, fault);
	size_t at = book_edit_at(page, row, column);
	if (!book_edit_find(page, row, column)) {
		void *items = page->edits;
		bool good = pm_arena_push(arena, &items, &page->edit_count, &page->edit_room, sizeof *page->edits) != NULL;
		page->edits = items;
		if (!good)
			return out_of_memory(file, fault);
		memmove(page->edits + at + 1, page->edits + at, (page->edit_count - 1 - at) * sizeof *page->edits);
	}
	page->edits[at] = (struct book_edit){ row, column, kept };
	return true;
}

/* --- splicing --- */

struct splice {
	const struct book_page *page;
	struct pm_text out;
	size_t done;        /* bytes of the part that are in `out`, or left out of it */
	size_t added;       /* cells that were not there before */
};

static void copy_to(struct splice *splice, size_t offset)
{
	if (offset <= splice->done)
		return;
	pm_text_put(&splice->out, splice->page->xml + splice->done, offset - splice->done);
	splice->done = offset;
}

static void put_bit(struct pm_text *out, struct book_bit bit)
{
	pm_text_put(out, bit.bytes, bit.length);
}

/* What stands behind a cell's attributes: its text and its end. */
static void put_content(struct pm_text *out, struct book_bit prefix, const char *text)
{
	const char *p = prefix.bytes;
	size_t length = prefix.length;
	if (!*text) {
		pm_text_str(out, "/>");
		return;
	}
	pm_text_str(out, " t=\"inlineStr\"><");
	pm_text_put(out, p, length);
	pm_text_str(out, "is><");
	pm_text_put(out, p, length);
	pm_text_str(out, "t xml:space=\"preserve\">");
	book_text_put(out, text);
	pm_text_str(out, "</");
	pm_text_put(out, p, length);
	pm_text_str(out, "t></");
	pm_text_put(out, p, length);
	pm_text_str(out, "is></");
	pm_text_put(out, p, length);
	pm_text_str(out, "c>");
}

/* A cell that is there keeps its attributes, but those that tell what kind of
 * value it holds (t) and where more is told of that value (cm, vm). */
static void replace_cell(struct splice *splice, const struct book_cell *cell, const char *text)
{
	const char *xml = splice->page->xml;
	struct book_bit name = book_tag_name(xml, cell->start);
	struct book_raw raw;
	size_t at = (size_t)(name.bytes - xml) + name.length;
	copy_to(splice, at);
	while (book_tag_next(xml, &at, cell->end, &raw))
		if (!book_bit_is(raw.name, "t") && !book_bit_is(raw.name, "cm") && !book_bit_is(raw.name, "vm"))
			pm_text_put(&splice->out, xml + raw.from, raw.to - raw.from);
	put_content(&splice->out, book_tag_prefix(xml, cell->start), text);
	splice->done = cell->end;
}

/* A new cell takes the style of its row, else of its column. */
static void new_cell(struct splice *splice, const struct book_row *row, struct book_bit prefix,
                     const struct book_edit *edit)
{
	const struct book_page *page = splice->page;
	char name[12];
	uint32_t style = row && row->styled ? row->style : 0;
	for (size_t i = 0; !(row && row->styled) && i < page->column_count; i++)
		if (edit->column >= page->columns[i].first && edit->column <= page->columns[i].last)
			style = page->columns[i].style;
	workbook_name(edit->row, edit->column, name);
	pm_text_char(&splice->out, '<');
	put_bit(&splice->out, prefix);
	pm_text_add(&splice->out, "c r=\"%s\"", name);
	if (style)
		pm_text_add(&splice->out, " s=\"%u\"", style);
	put_content(&splice->out, prefix, edit->text);
	splice->added++;
}

/* Turn <tag .../> into <tag ...> before something is put into it. */
static void open_tag(struct splice *splice, size_t inside)
{
	copy_to(splice, inside - 2);
	pm_text_char(&splice->out, '>');
	splice->done = inside;
}

static void close_tag(struct splice *splice, size_t start)
{
	pm_text_str(&splice->out, "</");
	put_bit(&splice->out, book_tag_name(splice->page->xml, start));
	pm_text_char(&splice->out, '>');
}

static bool attribute_of(const struct splice *splice, size_t start, size_t inside, const char *name,
                         struct book_raw *raw)
{
	struct book_bit tag = book_tag_name(splice->page->xml, start);
	size_t at = (size_t)(tag.bytes - splice->page->xml) + tag.length;
	while (book_tag_next(splice->page->xml, &at, inside, raw))
		if (book_bit_is(raw->name, name))
			return true;
	return false;
}

/* "1:5 8:9": the columns a row says it spans, as one range; false when unreadable. */
static bool read_spans(struct book_bit value, uint32_t *first, uint32_t *last)
{
	*first = UINT32_MAX;
	*last = 0;
	for (const char *at = value.bytes, *end = at + value.length; at < end;) {
		const char *space = memchr(at, ' ', (size_t)(end - at)), *stop = space ? space : end;
		const char *colon = memchr(at, ':', (size_t)(stop - at));
		uint32_t from, to;
		if (!colon)
			return false;
		struct book_bit left = { at, (size_t)(colon - at) }, right = { colon + 1, (size_t)(stop - colon - 1) };
		if (!book_bit_number(left, WORKBOOK_MOST_COLUMNS, &from) ||
		    !book_bit_number(right, WORKBOOK_MOST_COLUMNS, &to))
			return false;
		*first = from < *first ? from : *first;
		*last = to > *last ? to : *last;
		at = stop + (space != NULL);
	}
	return *last > 0;
}

/* The row's spans are widened when a new cell lies outside of them. */
static void widen_spans(struct splice *splice, const struct book_row *row, uint32_t first, uint32_t last)
{
	struct book_raw raw;
	uint32_t from, to;
	if (!attribute_of(splice, row->start, row->inside, "spans", &raw) || !read_spans(raw.value, &from, &to) ||
	    (first >= from && last <= to))
		return;
	copy_to(splice, (size_t)(raw.value.bytes - splice->page->xml));
	pm_text_add(&splice->out, "%u:%u", first < from ? first : from, last > to ? last : to);
	splice->done += raw.value.length;
}

static bool is_there(const struct splice *splice, const struct book_edit *edit)
{
	return book_cell_find(splice->page, edit->row, edit->column) != NULL;
}

/* Nothing is written where nothing is and nothing is put. */
static bool adds(const struct splice *splice, const struct book_edit *edit)
{
	return *edit->text && !is_there(splice, edit);
}

static void fill_row(struct splice *splice, const struct book_row *row, const struct book_edit *edits, size_t count)
{
	const struct book_page *page = splice->page;
	struct book_bit prefix = book_tag_prefix(page->xml, row->start);
	uint32_t first = UINT32_MAX, last = 0;
	for (size_t i = 0; i < count; i++) {
		if (!adds(splice, &edits[i]))
			continue;
		first = edits[i].column + 1 < first ? edits[i].column + 1 : first;
		last = edits[i].column + 1;
	}
	if (last)
		widen_spans(splice, row, first, last);
	if (last && row->closed)
		open_tag(splice, row->inside);
	for (size_t i = 0; i < count; i++) {
		size_t at = book_cell_at(page, row, edits[i].column);
		if (is_there(splice, &edits[i])) {
			copy_to(splice, page->cells[at].start);
			replace_cell(splice, &page->cells[at], edits[i].text);
		} else if (*edits[i].text) {
			copy_to(splice, at > row->first ? page->cells[at - 1].end : row->inside);
			new_cell(splice, row, prefix, &edits[i]);
		}
	}
	if (last && row->closed)
		close_tag(splice, row->start);
}

static void new_row(struct splice *splice, size_t at, const struct book_edit *edits, size_t count)
{
	const struct book_page *page = splice->page;
	struct book_bit prefix = book_tag_prefix(page->xml, page->data.start);
	size_t before = splice->added;
	for (size_t i = 0; i < count; i++) {
		if (!*edits[i].text)
			continue;
		if (splice->added == before) {
			copy_to(splice, at ? page->rows[at - 1].end : page->data.inside);
			pm_text_char(&splice->out, '<');
			put_bit(&splice->out, prefix);
			pm_text_add(&splice->out, "row r=\"%u\">", edits[i].row + 1);
		}
		new_cell(splice, NULL, prefix, &edits[i]);
	}
	if (splice->added == before)
		return;
	pm_text_str(&splice->out, "</");
	put_bit(&splice->out, prefix);
	pm_text_str(&splice->out, "row>");
}

/* The page's dimension is widened when a new cell lies outside of it. */
static void widen_dimension(struct splice *splice)
{
	const struct book_page *page = splice->page;
	struct book_range range, wide;
	struct book_raw raw;
	if (!page->dimension || page->dimension > page->data.start ||
	    !attribute_of(splice, page->dimension, page->data.start, "ref", &raw) ||
	    !book_range_read(raw.value, &range))
		return;
	wide = range;
	for (size_t i = 0; i < page->edit_count; i++) {
		const struct book_edit *edit = &page->edits[i];
		if (!adds(splice, edit))
			continue;
		wide.row = edit->row < wide.row ? edit->row : wide.row;
		wide.column = edit->column < wide.column ? edit->column : wide.column;
		wide.last_row = edit->row > wide.last_row ? edit->row : wide.last_row;
		wide.last_column = edit->column > wide.last_column ? edit->column : wide.last_column;
	}
	if (!memcmp(&wide, &range, sizeof wide))
		return;
	copy_to(splice, (size_t)(raw.value.bytes - page->xml));
	book_range_put(&splice->out, &wide);
	splice->done += raw.value.length;
}

static void splice_all(struct splice *splice)
{
	const struct book_page *page = splice->page;
	bool opened = false;
	widen_dimension(splice);
	for (size_t i = 0; page->data.closed && i < page->edit_count; i++)
		opened = opened || adds(splice, &page->edits[i]);
	if (opened)
		open_tag(splice, page->data.inside);
	for (size_t i = 0, count; i < page->edit_count; i += count) {
		const struct book_edit *edits = &page->edits[i];
		for (count = 1; i + count < page->edit_count && edits[count].row == edits->row;)
			count++;
		size_t at = book_row_at(page, edits->row);
		if (at < page->row_count && page->rows[at].number == edits->row)
			fill_row(splice, &page->rows[at], edits, count);
		else
			new_row(splice, at, edits, count);
	}
	if (opened)
		close_tag(splice, page->data.start);
	copy_to(splice, page->length);
}

/* Whatever the part looked like, what was put must be what a reader finds in it,
 * and no other cell may have come or gone. */
static bool reads_back(const struct splice *splice, const struct book_words *words, const char *file,
                       struct pm_fault *fault)
{
	const struct book_page *page = splice->page;
	struct book_page after = { .name = page->name, .part = page->part, .xml = splice->out.data,
		.length = splice->out.length };
	struct pm_arena arena;
	pm_arena_init(&arena);
	bool good = book_page_read(&after, words, &arena, file, fault);
	if (good && after.cell_count != page->cell_count + splice->added)
		good = pm_fail(fault, PM_FAULT_CHANGED, (struct pm_place){ file, 0, 0 },
		               "filled, the page does not read back as before");
	for (size_t i = 0; good && i < page->edit_count; i++) {
		const struct book_edit *edit = &page->edits[i];
		const struct book_cell *cell = book_cell_find(&after, edit->row, edit->column);
		enum workbook_kind kind = *edit->text ? WORKBOOK_TEXT : WORKBOOK_EMPTY;
		bool same = cell ? pm_same(cell->text, edit->text) && cell->kind == kind : !*edit->text;
		if (!same)
			good = book_cell_fail(fault, PM_FAULT_CHANGED, file, page, edit->row, edit->column,
			                      "what was put does not read back");
	}
	pm_arena_free(&arena);
	return good;
}

bool book_page_splice(const struct book_page *page, const struct book_words *words, struct pm_arena *arena,
                      const char **xml, size_t *length, const char *file, struct pm_fault *fault)
{
	struct splice splice = { .page = page };
	pm_text_grow(&splice.out, arena);
	splice_all(&splice);
	if (splice.out.cut)
		return out_of_memory(file, fault);
	if (splice.out.length > BOOK_MOST_PART)
		return pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ file, 0, 0 }, "a page would grow beyond 64 MiB");
	*xml = splice.out.data;
	*length = splice.out.length;
	return reads_back(&splice, words, file, fault);
}
