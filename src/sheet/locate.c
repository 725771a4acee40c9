#include "sheet/locate.h"

#include <string.h>

#include "portmuster/text.h"
#include "sheet/causes.h"
#include "sheet/fold.h"

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

/* Say of a finding just added what it comes from, in one word. */
static void because(struct trouble_detail *detail, const char *cause)
{
	if (detail)
		detail->cause = cause;
}

struct search {
	const struct pm_layout *layout;
	const struct grid *expected;
	const struct returned *sheet;
	struct pm_arena *arena;
	struct trouble *trouble;
	struct located *located;
};

static struct trouble_at nowhere(const struct search *s, const struct pm_section *section)
{
	return (struct trouble_at){ .file = s->sheet->file, .page = s->sheet->workbook ? section->page.text : NULL,
	                            .row = TROUBLE_NO_CELL };
}

static struct trouble_at cell_of(const struct search *s, const struct located *l, uint32_t row, uint32_t column,
                                 const char *title)
{
	struct trouble_at at = nowhere(s, l->section);
	at.row = row;
	at.place = column;
	at.column = title;
	return at;
}

/* --- the row of titles --- */

static size_t titles_given(const struct pm_section *section)
{
	size_t given = 0;
	for (size_t i = 0; i < section->column_count; i++)
		given += pm_given(section->columns[i].title);
	return given;
}

static size_t titles_in(const struct pm_section *section, const struct returned_page *page, uint32_t row)
{
	size_t found = 0;
	for (size_t i = 0; i < section->column_count; i++) {
		if (!pm_given(section->columns[i].title))
			continue;
		for (uint32_t c = 0; c < page->rows[row].count; c++)
			if (fold_title_same(section->columns[i].title.text, page->rows[row].cells[c].text)) {
				found++;
				break;
			}
	}
	return found;
}

/* The row that holds most of the titles, at least half of them; of equals the
 * first, but `hint` before all. */
static uint32_t find_titles(const struct pm_section *section, const struct returned_page *page, uint32_t from, uint32_t hint)
{
	size_t given = titles_given(section), best = 0;
	uint32_t at = LOCATE_NOWHERE;
	if (hint >= from && hint < page->count && (best = titles_in(section, page, hint)) * 2 >= given)
		at = hint;
	for (uint32_t row = from; row < page->count && best < given; row++) {
		size_t found = titles_in(section, page, row);
		if (found * 2 >= given && (at == LOCATE_NOWHERE || found > best)) {
			best = found;
			at = row;
		}
	}
	return at;
}

static bool row_holds(const struct returned_page *page, uint32_t row, const char *text)
{
	for (uint32_t c = 0; c < page->rows[row].count; c++)
		if (fold_title_same(text, page->rows[row].cells[c].text))
			return true;
	return false;
}

static uint32_t find_heading(const struct pm_section *section, const struct returned_page *page, uint32_t from)
{
	for (uint32_t row = from; row < page->count; row++)
		if (row_holds(page, row, section->heading.text))
			return row;
	return LOCATE_NOWHERE;
}

static const struct returned_page *page_of(const struct search *s, const struct pm_section *section)
{
	if (!s->sheet->workbook)
		return s->sheet->pages;
	for (size_t i = 0; i < s->sheet->count; i++)
		if (pm_same_nocase(s->sheet->pages[i].name, section->page.text))
			return &s->sheet->pages[i];
	because(trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP,
	            &(struct trouble_at){ .file = s->sheet->file, .row = TROUBLE_NO_CELL },
	            "there is no page %s for section %s", pm_quoted(s->arena, section->page.text), section->id.text), "page-missing");
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

/* Find the top of section `i`; `from` is where it can begin at the earliest. */
static void find_top(const struct search *s, size_t i, uint32_t from)
{
	struct located *l = &s->located[i];
	const struct pm_section *section = l->section;
	uint32_t left = 0, hint = LOCATE_NOWHERE;
	if (s->sheet->workbook)
		hint = workbook_first(section, &left);
	else if (s->expected)
		hint = s->expected->sections[i].first;
	if (section->titles == PM_TITLES_NONE) {
		uint32_t heading = pm_given(section->heading) && !s->sheet->workbook ? find_heading(section, l->page, from) : LOCATE_NOWHERE;
		l->first = heading != LOCATE_NOWHERE ? heading + 1 : hint;
		if (l->first == LOCATE_NOWHERE || (heading == LOCATE_NOWHERE && pm_given(section->heading) && !s->sheet->workbook)) {
			struct trouble_at at = nowhere(s, section);
			because(trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "section %s cannot be found: it has no titles%s",
			            section->id.text, pm_given(section->heading) ? ", and its heading is not there" : ""), "titles-missing");
			l->page = NULL;
		}
		return;
	}
	uint32_t titles_hint = hint == LOCATE_NOWHERE || !hint ? LOCATE_NOWHERE : hint - 1;
	l->titles_at = find_titles(section, l->page, from, titles_hint);
	if (l->titles_at == LOCATE_NOWHERE) {
		struct trouble_at at = nowhere(s, section);
		because(trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the titles of section %s are not there",
		                    section->id.text), "titles-missing");
		l->page = NULL;
		return;
	}
	l->first = l->titles_at + 1;
	if (s->sheet->workbook && l->titles_at != titles_hint) {
		struct trouble_at at = cell_of(s, l, l->titles_at, left, NULL);
		because(trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the titles of section %s stand in row %u, not in row %u",
		            section->id.text, (unsigned)l->titles_at + 1, (unsigned)titles_hint + 1), "titles-moved");
	}
}

static size_t texts_in(const struct returned_page *page, uint32_t row)
{
	size_t texts = 0;
	for (uint32_t c = 0; c < page->rows[row].count; c++)
		texts += *page->rows[row].cells[c].text != '\0';
	return texts;
}

/* In a CSV sheet, the row above the titles. Returns the section's topmost row. */
static uint32_t judge_heading(const struct search *s, const struct located *l)
{
	const struct pm_section *section = l->section;
	uint32_t top = l->titles_at == LOCATE_NOWHERE ? l->first : l->titles_at;
	if (s->sheet->workbook || !pm_given(section->heading))
		return top;
	uint32_t above = top;
	while (above && !texts_in(l->page, above - 1))
		above--;
	if (above && row_holds(l->page, above - 1, section->heading.text))
		return above - 1;
	struct trouble_at at = cell_of(s, l, top ? top - 1 : 0, 0, NULL);
	because(trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the heading %s is missing or changed",
	                    pm_quoted(s->arena, section->heading.text)), "heading-changed");
	/* a row of one text is another heading, not the last record above */
	return above && texts_in(l->page, above - 1) == 1 ? above - 1 : top;
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
		"the title reads %s%s%s%s", pm_quoted(s->arena, seen), cause ? " (" : "", cause ? cause : "", cause ? ")" : "");
	if (detail) {
		detail->seen = seen;
		detail->expected = right;
		detail->cause = "title-changed";
	}
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
			because(trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the column is missing"), "column-missing");
		else if (l->column[i] != LOCATE_NOWHERE && !in[i])
			because(trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, "the column has moved: its title belongs in %s, not in %s",
			            pm_cell_name(l->titles_at, own, letters), pm_cell_name(l->titles_at, l->column[i], other)), "column-moved");
	}
	/* what stands between or beside the columns and belongs to none */
	const struct returned_row *row = &l->page->rows[l->titles_at];
	uint32_t last = 0;
	for (size_t i = 0; i < section->column_count; i++)
		if (l->column[i] != LOCATE_NOWHERE && l->column[i] > last)
			last = l->column[i];
	for (uint32_t c = left; c < row->count || c <= last; c++) {
		const char *seen = returned_at(l->page, l->titles_at, c)->text;
		if (taken(l, c) || anothers(s, l, c) || (!*seen && c > last))
			continue;
		/* an untitled column of the layout may stand here */
		if (!*seen && c - left < section->column_count && !pm_given(section->columns[c - left].title))
			continue;
		struct trouble_at at = cell_of(s, l, l->titles_at, c, NULL);
		because(trouble_add(s->trouble, PM_SHEET_STRUCTURE, PM_STOP, &at, *seen ? "a column that the layout does not have: %s"
		            : "an empty column that the layout does not have%s", *seen ? pm_quoted(s->arena, seen) : ""), "column-added");
	}
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
		l->page = page_of(&s, l->section);
		if (l->page)
			find_top(&s, i, sheet->workbook ? 0 : from);
		if (!l->page)
			continue;
		top[i] = judge_heading(&s, l);
		from = l->first;
	}
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
