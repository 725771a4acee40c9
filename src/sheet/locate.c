#include "sheet/locate.h"

#include <string.h>

#include "portmuster/text.h"
#include "sheet/causes.h"
#include "sheet/fold.h"
#include "sheet/titles.h"

bool locate_rising(const uint32_t *number, size_t count, bool *in, struct pm_arena *arena)
{
	/* patience sorting: the tail of the best run of each length, and who came before */
	size_t *tail = pm_arena_array(arena, count + 1, sizeof *tail), *before = pm_arena_array(arena, count + 1, sizeof *before);
	size_t longest = 0;
	if (!tail || !before)
		return false;
	for (size_t i = 0; i < count; i++) {
		in[i] = false;
		if (number[i] == LOCATE_NOWHERE)
			continue;
		size_t low = 0, high = longest;
		while (low < high) {
			size_t middle = (low + high) / 2;
			if (number[tail[middle]] < number[i])
				low = middle + 1;
			else
				high = middle;
		}
		before[i] = low ? tail[low - 1] : count;
		tail[low] = i;
		longest += low == longest;
	}
	for (size_t i = longest ? tail[longest - 1] : count; i < count; i = before[i])
		in[i] = true;
	return true;
}

struct search {
	const struct pm_layout *layout;
	const struct grid *expected;
	const struct returned *sheet;
	struct pm_arena *arena;
	struct trouble *trouble;
	struct located *located;
};

static void because(const struct search *s, struct trouble_detail *detail, const char *cause)
{
	trouble_because(s->trouble, detail, cause);
}

static struct trouble_at nowhere(const struct search *s, const struct located *l)
{
	return (struct trouble_at){ .file = s->sheet->file, .page = l->page->name, .row = TROUBLE_NO_CELL };
}

static struct trouble_at cell_of(const struct search *s, const struct located *l, uint32_t row, uint32_t column,
                                 const char *title)
{
	struct trouble_at at = nowhere(s, l);
	at.row = row;
	at.place = column;
	at.column = title;
	return at;
}

/* --- pages and the row of titles --- */

static struct returned_page *named_page(const struct search *s, const struct pm_section *section)
{
	for (size_t i = 0; i < s->sheet->count; i++)
		if (pm_same_nocase(s->sheet->pages[i].name, section->page.text))
			return &s->sheet->pages[i];
	return NULL;
}

/* Its first record in a workbook by the layout; `left` its first column. */
static uint32_t workbook_first(const struct pm_section *section, uint32_t *left)
{
	uint32_t first;
	if (pm_cell_place(section->first.text, &first, left))
		return first;
	*left = 0;
	return 0;
}

/* Where its first record should stand; LOCATE_NOWHERE when nothing says so. */
static uint32_t first_hint(const struct search *s, size_t i, uint32_t *left)
{
	*left = 0;
	if (s->sheet->workbook)
		return workbook_first(s->located[i].section, left);
	return s->expected ? s->expected->sections[i].first : LOCATE_NOWHERE;
}

/* The titles of all sections that stand on the page of section `i`, unless an earlier
 * one was on it. */
static bool find_titles(const struct search *s, size_t i)
{
	const struct returned_page *page = s->located[i].page;
	size_t count = 0;
	struct titles_want *want = pm_arena_array(s->arena, s->layout->section_count, sizeof *want);
	if (!want)
		return false;
	for (size_t k = 0; k < s->layout->section_count; k++) {
		struct located *l = &s->located[k];
		uint32_t left, hint = first_hint(s, k, &left);
		if (l->page != page || l->section->titles == PM_TITLES_NONE)
			continue;
		if (k < i)
			return true;
		want[count++] = (struct titles_want){
			.section = l->section, .hint = hint == LOCATE_NOWHERE || !hint ? TITLES_NOWHERE : hint - 1,
			.left = s->sheet->workbook ? left : 0,
			.right = s->sheet->workbook ? left + (uint32_t)l->section->column_count : 1,
		};
	}
	titles_assign(page, want, count);
	for (size_t k = i, w = 0; w < count; k++)
		if (s->located[k].section == want[w].section)
			s->located[k].titles_at = want[w++].at;
	return true;
}

static bool find_pages(const struct search *s)
{
	for (size_t i = 0; i < s->layout->section_count; i++) {
		struct located *l = &s->located[i];
		l->page = s->sheet->workbook ? named_page(s, l->section) : s->sheet->pages;
		if (!l->page)
			l->page = titles_page(l->section, s->sheet);
	}
	for (size_t i = 0; i < s->layout->section_count; i++)
		if (s->located[i].page && s->located[i].section->titles != PM_TITLES_NONE && !find_titles(s, i))
			return false;
	return true;
}

static void judge_page(const struct search *s, const struct located *l)
{
	const struct pm_section *section = l->section;
	const struct trouble_at at = { .file = s->sheet->file, .row = TROUBLE_NO_CELL };
	if (!s->sheet->workbook || (l->page && pm_same_nocase(l->page->name, section->page.text)))
		return;
	because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "there is no page %s for section %s%s%s",
	                       trouble_quoted(s->arena, section->page.text), section->id.text, l->page ? ": it stands on page " : "",
	                       l->page ? trouble_quoted(s->arena, l->page->name) : ""), "page-missing");
}

static uint32_t find_heading(const struct pm_section *section, const struct returned_page *page, uint32_t from)
{
	for (uint32_t row = from; row < page->count; row++)
		if (titles_hold(page, row, section->heading.text))
			return row;
	return from ? find_heading(section, page, 0) : LOCATE_NOWHERE;
}

/* The top of section `i`; one without titles begins below its heading, which is looked
 * for from `from` on first. */
static void find_top(const struct search *s, size_t i, uint32_t from)
{
	struct located *l = &s->located[i];
	const struct pm_section *section = l->section;
	struct trouble_at at = nowhere(s, l);
	uint32_t left, hint = first_hint(s, i, &left);
	if (section->titles == PM_TITLES_NONE) {
		bool headed = pm_given(section->heading) && !s->sheet->workbook;
		uint32_t heading = headed ? find_heading(section, l->page, from) : LOCATE_NOWHERE;
		l->first = heading != LOCATE_NOWHERE ? heading + 1 : hint;
		if (l->first == LOCATE_NOWHERE || (heading == LOCATE_NOWHERE && headed)) {
			because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "section %s cannot be found: it has no titles%s",
			                       section->id.text, pm_given(section->heading) ? ", and its heading is not there" : ""),
			        "titles-missing");
			l->page = NULL;
		}
		return;
	}
	if (l->titles_at == LOCATE_NOWHERE) {
		because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the titles of section %s are not there",
		                       section->id.text), "titles-missing");
		l->page = NULL;
		return;
	}
	l->first = l->titles_at + 1;
	if (s->sheet->workbook && l->first != hint) {
		at = cell_of(s, l, l->titles_at, left, NULL);
		because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the titles of section %s stand in row %u, not in row %u",
		                       section->id.text, (unsigned)l->titles_at + 1, (unsigned)hint), "titles-moved");
	}
}

/* In a CSV sheet the order of the sections is the layout's. */
static bool judge_order(const struct search *s, const uint32_t *top)
{
	size_t count = s->layout->section_count;
	uint32_t *number = pm_arena_array(s->arena, count, sizeof *number);
	bool *in = pm_arena_array(s->arena, count, sizeof *in);
	for (size_t i = 0; number && i < count; i++)
		number[i] = s->located[i].page ? top[i] : LOCATE_NOWHERE;
	if (!number || !in || !locate_rising(number, count, in, s->arena))
		return false;
	for (size_t i = 0; !s->sheet->workbook && i < count; i++) {
		if (number[i] == LOCATE_NOWHERE || in[i])
			continue;
		struct trouble_at at = cell_of(s, &s->located[i], top[i], 0, NULL);
		because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "section %s stands in another place among the sections",
		                       s->located[i].section->id.text), "section-moved");
	}
	return true;
}

/* In a CSV sheet, the row above the titles. Returns the section's topmost row. */
static uint32_t judge_heading(const struct search *s, const struct located *l)
{
	const struct pm_section *section = l->section;
	uint32_t top = l->titles_at == LOCATE_NOWHERE ? l->first : l->titles_at;
	if (s->sheet->workbook || !pm_given(section->heading))
		return top;
	uint32_t above = top;
	while (above && !titles_texts(l->page, above - 1))
		above--;
	if (above && titles_hold(l->page, above - 1, section->heading.text))
		return above - 1;
	struct trouble_at at = cell_of(s, l, top ? top - 1 : 0, 0, NULL);
	because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the heading %s is missing or changed",
	                    trouble_quoted(s->arena, section->heading.text)), "heading-changed");
	/* a row of one text is another heading, not the last record above */
	return above && titles_texts(l->page, above - 1) == 1 ? above - 1 : top;
}

/* --- columns --- */

static bool taken(const struct located *l, uint32_t column)
{
	for (size_t i = 0; i < l->section->column_count; i++)
		if (l->column[i] == column)
			return true;
	return false;
}

/* Does another section of the page have this column of this row for its titles? */
static bool anothers(const struct search *s, const struct located *l, uint32_t column)
{
	uint32_t left;
	for (size_t i = 0; s->sheet->workbook && i < s->layout->section_count; i++) {
		const struct located *other = &s->located[i];
		if (other == l || !other->page || other->page != l->page || other->titles_at != l->titles_at)
			continue;
		workbook_first(other->section, &left);
		if (column >= left && column < left + other->section->column_count)
			return true;
	}
	return false;
}

static uint32_t look_for_title(const struct search *s, const struct located *l, const char *title, bool exact)
{
	const struct returned_row *row = &l->page->rows[l->titles_at];
	for (uint32_t c = 0; c < row->count; c++) {
		const char *seen = row->cells[c].text;
		if (*seen && !taken(l, c) && !anothers(s, l, c) &&
		    (exact ? fold_title_same(title, seen) : cause_of_title(title, seen) != NULL))
			return c;
	}
	return LOCATE_NOWHERE;
}

static void title_changed(const struct search *s, const struct located *l, size_t i)
{
	const char *right = l->section->columns[i].title.text;
	const char *seen = returned_at(l->page, l->titles_at, l->column[i])->text;
	const char *cause = cause_of_title(right, seen);
	struct trouble_at at = cell_of(s, l, l->titles_at, l->column[i], right);
	struct trouble_detail *detail = trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at,
		"the title reads %s%s%s%s", trouble_quoted(s->arena, seen), cause ? " (" : "", cause ? cause : "", cause ? ")" : "");
	if (detail) {
		detail->seen = seen;
		detail->expected = right;
	}
	because(s, detail, "title-changed");
}

/* Columns by their titles: at their own place, then elsewhere, then under a title
 * that was changed a little, then whatever stands where they should. */
static void map_columns(const struct search *s, struct located *l, uint32_t left)
{
	const struct pm_section *section = l->section;
	const struct returned_row *row = &l->page->rows[l->titles_at];
	for (size_t i = 0; i < section->column_count; i++) {
		uint32_t own = left + (uint32_t)i;
		const char *title = section->columns[i].title.text;
		l->column[i] = fold_title_same(title ? title : "", returned_at(l->page, l->titles_at, own)->text) ? own : LOCATE_NOWHERE;
	}
	for (int pass = 0; pass < 3; pass++)
		for (size_t i = 0; i < section->column_count; i++) {
			struct pm_word title = section->columns[i].title;
			uint32_t own = left + (uint32_t)i;
			if (l->column[i] != LOCATE_NOWHERE || !pm_given(title))
				continue;
			if (pass < 2)
				l->column[i] = look_for_title(s, l, title.text, pass == 0);
			else if (own < row->count && *row->cells[own].text && !taken(l, own))
				l->column[i] = own;
			if (pass && l->column[i] != LOCATE_NOWHERE)
				title_changed(s, l, i);
		}
}

bool locate_compared(const struct located *l, size_t column)
{
	const struct pm_fill *fill = pm_fill_find(l->section->columns[column].fill.text, NULL);
	return fill && fill->kind != PM_FILL_NOTHING && l->column[column] != LOCATE_NOWHERE;
}

/* Does the desk's own workbook have this text there? */
static bool is_own(const struct search *s, const struct located *l, uint32_t column)
{
	const struct returned *own = s->sheet->own;
	for (size_t i = 0; own && i < own->count; i++)
		if (pm_same_nocase(own->pages[i].name, l->page->name))
			return strcmp(returned_at(&own->pages[i], l->titles_at, column)->text,
			              returned_at(l->page, l->titles_at, column)->text) == 0;
	return false;
}

/* What stands between or beside the columns and belongs to none. In a workbook, what an
 * empty column parts from the table, or what the desk has there itself, is no column. */
static void judge_strangers(const struct search *s, const struct located *l, uint32_t left)
{
	const struct pm_section *section = l->section;
	const struct returned_row *row = &l->page->rows[l->titles_at];
	uint32_t last = 0;
	for (size_t i = 0; i < section->column_count; i++)
		if (l->column[i] != LOCATE_NOWHERE && l->column[i] > last)
			last = l->column[i];
	for (uint32_t c = left; c < row->count || c <= last; c++) {
		const char *seen = returned_at(l->page, l->titles_at, c)->text;
		if (taken(l, c) || anothers(s, l, c))
			continue;
		if (!*seen && c > last && s->sheet->workbook)
			return;
		if ((!*seen && c > last) || (*seen && is_own(s, l, c)))
			continue;
		/* an untitled column of the layout may stand here */
		if (!*seen && c - left < section->column_count && !pm_given(section->columns[c - left].title))
			continue;
		struct trouble_at at = cell_of(s, l, l->titles_at, c, NULL);
		because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, *seen ? "a column that the layout does not have: %s"
		                       : "an empty column that the layout does not have%s", *seen ? trouble_quoted(s->arena, seen) : ""),
		        "column-added");
	}
}

static void judge_columns(const struct search *s, struct located *l, uint32_t left)
{
	const struct pm_section *section = l->section;
	bool *in = pm_arena_array(s->arena, section->column_count, sizeof *in);
	char letters[PM_CELL_TEXT], other[PM_CELL_TEXT];
	if (!in || !locate_rising(l->column, section->column_count, in, s->arena))
		return;
	for (size_t i = 0; i < section->column_count; i++) {
		uint32_t own = left + (uint32_t)i;
		const char *title = section->columns[i].title.text;
		struct trouble_at at = cell_of(s, l, l->titles_at, l->column[i] == LOCATE_NOWHERE ? own : l->column[i], title);
		if (l->column[i] == LOCATE_NOWHERE && pm_given(section->columns[i].title))
			because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the column is missing"), "column-missing");
		else if (l->column[i] != LOCATE_NOWHERE && !in[i])
			because(s, trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the column has moved: its title belongs in %s, not in %s",
			            pm_cell_name(l->titles_at, own, letters), pm_cell_name(l->titles_at, l->column[i], other)), "column-moved");
	}
	judge_strangers(s, l, left);
}

/* --- where its rows end --- */

/* A row with one text alone, where records have several. */
static bool is_heading(const struct located *l, uint32_t row)
{
	size_t given = 0;
	for (size_t i = 0; i < l->section->column_count; i++)
		given += l->column[i] != LOCATE_NOWHERE && *returned_at(l->page, row, l->column[i])->text;
	return given == 1 && l->section->column_count > 2;
}

static void find_ends(const struct search *s, const uint32_t *top)
{
	for (size_t i = 0; i < s->layout->section_count; i++) {
		struct located *l = &s->located[i];
		if (!l->page)
			continue;
		l->end = l->page->count;
		for (size_t k = 0; k < s->layout->section_count; k++) {
			const struct located *other = &s->located[k];
			uint32_t mine, its;
			if (!other->page || other->page != l->page || k == i || top[k] < l->first || top[k] >= l->end)
				continue;
			workbook_first(l->section, &mine);
			workbook_first(other->section, &its);
			if (!s->sheet->workbook || (its < mine + l->section->column_count && mine < its + other->section->column_count))
				l->end = top[k];
		}
		if (s->sheet->workbook && l->end < l->page->count && l->end > l->first && is_heading(l, l->end - 1))
			l->end--;
	}
}

struct located *locate_sections(const struct pm_layout *layout, const struct grid *expected,
                                const struct returned *sheet, struct pm_arena *arena, struct trouble *trouble)
{
	size_t count = layout->section_count;
	struct located *located = pm_arena_array(arena, count, sizeof *located);
	uint32_t *top = pm_arena_array(arena, count, sizeof *top), from = 0;
	const struct search s = { layout, expected, sheet, arena, trouble, located };
	if (!located || !top)
		return NULL;
	for (size_t i = 0; i < count; i++) {
		struct located *l = &located[i];
		*l = (struct located){ .section = &layout->sections[i], .titles_at = LOCATE_NOWHERE };
		l->column = pm_arena_array(arena, l->section->column_count, sizeof *l->column);
		if (!l->column)
			return NULL;
	}
	if (!find_pages(&s))
		return NULL;
	for (size_t i = 0; i < count; i++) {
		struct located *l = &located[i];
		judge_page(&s, l);
		if (l->page)
			find_top(&s, i, sheet->workbook ? 0 : from);
		if (!l->page)
			continue;
		top[i] = judge_heading(&s, l);
		from = l->first;
	}
	if (!judge_order(&s, top))
		return NULL;
	for (size_t i = 0; i < count; i++) {
		struct located *l = &located[i];
		uint32_t left = 0;
		if (sheet->workbook)
			workbook_first(l->section, &left);
		if (l->page && l->titles_at != LOCATE_NOWHERE) {
			map_columns(&s, l, left);
			judge_columns(&s, l, left);
		} else if (l->page) {
			for (size_t c = 0; c < l->section->column_count; c++)
				l->column[c] = left + (uint32_t)c;
		}
	}
	find_ends(&s, top);
	return arena->failed ? NULL : located;
}
