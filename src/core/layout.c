#include "portmuster/layout.h"

#include <string.h>

#include "portmuster/text.h"

const char *pm_rows_word(enum pm_rows rows)
{
	switch (rows) {
	case PM_ROWS_SITE: return "site";
	case PM_ROWS_ROUTER: return "router";
	case PM_ROWS_PORT: return "port";
	case PM_ROWS_ATTACHED: return "attached";
	case PM_ROWS: break;
	}
	return "unknown";
}

/* --- cells --- */

const char *pm_cell_name(uint32_t row, uint32_t column, char out[static PM_CELL_TEXT])
{
	char letters[8];
	struct pm_text text;
	size_t count = 0;
	/* bijective base 26: A is 1, there is no zero */
	for (uint32_t rest = column + 1; rest && count < sizeof letters; rest = (rest - 1) / 26)
		letters[count++] = (char)('A' + (rest - 1) % 26);
	pm_text_fixed(&text, out, PM_CELL_TEXT);
	while (count)
		pm_text_char(&text, letters[--count]);
	pm_text_add(&text, "%u", (unsigned)row + 1);
	return out;
}

bool pm_cell_place(const char *name, uint32_t *row, uint32_t *column)
{
	uint32_t letters = 0;
	uint64_t number;
	size_t count = 0;
	while (name && pm_is_upper(name[count]) && count < 4)
		letters = letters * 26 + (uint32_t)(name[count++] - 'A' + 1);
	if (!count || letters > PM_MOST_SHEET_COLUMNS || name[count] == '0' ||
	    !pm_read_number(name + count, PM_MOST_SHEET_ROWS, &number))
		return false;
	*row = (uint32_t)number - 1;
	*column = letters - 1;
	return true;
}

bool pm_cell_runs(const char *text)
{
	while (*text == '\'')
		text++;
	return *text && strchr("=+-@\t\r", *text);
}

/* --- columns --- */

const char *pm_column_form(const struct pm_column *column, struct pm_arena *arena)
{
	if (pm_given(column->form))
		return column->form.text;
	if (!column->fixed || !pm_given(column->example))
		return NULL;
	struct pm_text form;
	pm_text_grow(&form, arena);
	for (const char *at = column->example.text; *at; at++) {
		if (pm_is_digit(*at)) {
			pm_text_char(&form, '9');
		} else if (pm_is_upper(*at)) {
			pm_text_char(&form, 'A');
		} else {
			if (strchr("9AH?\\", *at))
				pm_text_char(&form, '\\');
			pm_text_char(&form, *at);
		}
	}
	return form.cut ? NULL : form.data;
}

bool pm_column_notation(const struct pm_column *column, enum pm_notation *notation, bool *lower)
{
	const char *text = column->example.text;
	struct pm_eui48 address;
	if (!text || !pm_eui48_read(text, strlen(text), &address, notation, NULL))
		return false;
	*lower = *notation != PM_HYPHEN && *notation != PM_BARE;
	for (; *text; text++)
		if (pm_is_alpha(*text))
			*lower = pm_is_lower(*text);
	return true;
}

/* --- is it a layout to write by? --- */

static struct pm_place at(const struct pm_layout *layout, struct pm_word word)
{
	return (struct pm_place){ layout->file, word.line, word.column };
}

static const char *quote(const char *string, char out[static 280])
{
	struct pm_text text;
	pm_text_fixed(&text, out, 280);
	pm_text_quote(&text, string);
	return out;
}

/* May the layout itself put this text into a cell? */
static bool text_valid(const struct pm_layout *layout, struct pm_word word, const char *what, struct pm_fault *fault)
{
	char quoted[280], shown[600];
	struct pm_text text;
	if (!pm_given(word))
		return true;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, word.text, strlen(word.text));
	if (text.cut || !pm_same(shown, word.text)) {
		pm_fail(fault, PM_FAULT_VALUE, at(layout, word), "a character that does not show, or too many, in %s %s", what,
		        quote(word.text, quoted));
		return pm_fail_remedy(fault, "write it on one line, in characters that can be seen");
	}
	if (!pm_cell_runs(word.text))
		return true;
	pm_fail(fault, PM_FAULT_VALUE, at(layout, word), "%s %s is what a spreadsheet runs as a formula", what,
	        quote(word.text, quoted));
	return pm_fail_remedy(fault, "begin it with a letter or a digit");
}

static size_t characters(const char *text)
{
	size_t count = 0;
	for (; *text; text++)
		count += ((unsigned char)*text & 0xC0) != 0x80;
	return count;
}

/* Does a text that the layout itself gives suit the column? */
static bool suits(const struct pm_layout *layout, const struct pm_column *column, struct pm_word word,
                  const char *text, const char *what, struct pm_fault *fault)
{
	char quoted[280];
	unsigned place;
	if (column->widest && characters(text) > (size_t)column->widest)
		return pm_fail(fault, PM_FAULT_VALUE, at(layout, word), "%s %s has more than %lld characters", what,
		               quote(text, quoted), (long long)column->widest);
	if (pm_form_match(column->form.text, text, &place))
		return true;
	return pm_fail(fault, PM_FAULT_VALUE, at(layout, word), "%s %s does not fit the column's form at character %u", what,
	               quote(text, quoted), place);
}

static bool column_valid(const struct pm_layout *layout, const struct pm_section *section,
                         const struct pm_column *column, struct pm_fault *fault)
{
	char quoted[280];
	const char *argument, *fill_text = quote(column->fill.text, quoted);
	const struct pm_fill *fill = pm_fill_find(column->fill.text, &argument);
	enum pm_notation notation;
	bool lower;
	if (!fill) {
		pm_fail(fault, PM_FAULT_VALUE, at(layout, column->fill), "unknown fill %s", fill_text);
		return pm_fail_remedy(fault, "docs/sheet.md lists the fills");
	}
	if (!(fill->rows & 1u << section->rows))
		return pm_fail(fault, PM_FAULT_VALUE, at(layout, column->fill), "fill %s has no meaning in rows of kind %s",
		               fill_text, pm_rows_word(section->rows));
	if (!text_valid(layout, column->title, "title", fault))
		return false;
	if (fill->kind == PM_FILL_ADDRESS && !pm_column_notation(column, &notation, &lower)) {
		pm_fail(fault, PM_FAULT_VALUE, at(layout, column->fill), "the example of an address column is no address: %s",
		        quote(column->example.text, quoted));
		return pm_fail_remedy(fault, "write one in the desk's own notation, such as 00-00-5E-00-53-01");
	}
	if (column->fixed && (pm_given(column->form) || !pm_given(column->example))) {
		pm_fail(fault, PM_FAULT_VALUE, at(layout, column->fill), "a fixed column needs an example and no form");
		return pm_fail_remedy(fault, "write either form, or fixed and example");
	}
	if (pm_given(column->example) && !suits(layout, column, column->example, column->example.text, "example", fault))
		return false;
	if (fill->argument && pm_same(fill->name, "text/"))
		return text_valid(layout, column->fill, "text", fault) &&
		       suits(layout, column, column->fill, argument, "text", fault);
	return true;
}

/* Titles tell columns apart, so none may stand twice; nor may they look the same. */
static bool titles_differ(const struct pm_layout *layout, const struct pm_section *section, struct pm_fault *fault)
{
	char quoted[280];
	for (size_t i = 0; i < section->column_count; i++) {
		struct pm_word title = section->columns[i].title;
		if (section->titles == PM_TITLES_ABOVE && !pm_given(title) &&
		    !pm_same(section->columns[i].fill.text, "empty")) {
			pm_fail(fault, PM_FAULT_VALUE, at(layout, section->columns[i].fill), "a column without a title");
			return pm_fail_remedy(fault, "give it the desk's title; only empty columns may go without");
		}
		for (size_t k = 0; k < i && pm_given(title); k++)
			if (pm_same_nocase(section->columns[k].title.text, title.text))
				return pm_fail(fault, PM_FAULT_VALUE, at(layout, title), "title %s stands twice in section %s",
				               quote(title.text, quoted), section->id.text);
	}
	return true;
}

/* --- in a workbook --- */

struct area {
	uint32_t top, first, left, right;   /* `top` is the row of the titles, or the first row */
};

static bool area_of(const struct pm_section *section, struct area *area)
{
	uint32_t above = section->titles == PM_TITLES_ABOVE;
	if (!pm_cell_place(section->first.text, &area->first, &area->left) || area->first < above ||
	    section->column_count > PM_MOST_SHEET_COLUMNS - area->left)
		return false;
	area->top = area->first - above;
	area->right = area->left + (uint32_t)section->column_count;
	return true;
}

/* Rows go downwards, so of two sections in the same columns the lower one must
 * begin below the other's first row. */
static bool in_the_way(const struct area *a, const struct area *b)
{
	bool beside = a->right <= b->left || b->right <= a->left;
	return !beside && !(b->top > a->first || a->top > b->first);
}

static bool workbook_valid(const struct pm_layout *layout, struct pm_fault *fault)
{
	const char *name = layout->workbook.text;
	size_t length = name ? strlen(name) : 0;
	struct area area, other;
	if (!pm_given(layout->workbook))
		return true;
	if (length < 6 || !pm_same_nocase(name + length - 5, ".xlsx") || strchr(name, '/')) {
		pm_fail(fault, PM_FAULT_VALUE, at(layout, layout->workbook), "workbook is no file name that ends in .xlsx");
		return pm_fail_remedy(fault, "put the workbook beside the layout and write its name alone");
	}
	for (size_t i = 0; i < layout->section_count; i++) {
		const struct pm_section *section = &layout->sections[i];
		if (!pm_given(section->page) || !area_of(section, &area)) {
			pm_fail(fault, PM_FAULT_VALUE, at(layout, pm_given(section->first) ? section->first : section->id),
			        "section %s has no page and first cell that its columns fit", section->id.text);
			return pm_fail_remedy(fault, "write page: and first:, the cell below the first title, such as B7");
		}
		for (size_t k = 0; k < i; k++)
			if (pm_same_nocase(layout->sections[k].page.text, section->page.text) &&
			    area_of(&layout->sections[k], &other) && in_the_way(&area, &other))
				return pm_fail(fault, PM_FAULT_VALUE, at(layout, section->first), "sections %s and %s stand in each other's way",
				               layout->sections[k].id.text, section->id.text);
	}
	return true;
}

static bool section_valid(const struct pm_layout *layout, const struct pm_section *section, struct pm_fault *fault)
{
	if (!text_valid(layout, section->id, "section", fault) || !text_valid(layout, section->heading, "heading", fault))
		return false;
	if (!section->column_count || section->column_count > PM_MOST_SHEET_COLUMNS)
		return pm_fail(fault, PM_FAULT_VALUE, at(layout, section->id), "section %s needs 1 to %u columns",
		               section->id.text, PM_MOST_SHEET_COLUMNS);
	for (size_t i = 0; i < section->column_count; i++)
		if (!column_valid(layout, section, &section->columns[i], fault))
			return false;
	return titles_differ(layout, section, fault);
}

bool pm_layout_valid(const struct pm_layout *layout, struct pm_fault *fault)
{
	if (!layout->section_count)
		return pm_fail(fault, PM_FAULT_VALUE, at(layout, layout->id), "a layout needs at least one section");
	for (size_t i = 0; i < layout->section_count; i++) {
		const struct pm_section *section = &layout->sections[i];
		if (!section_valid(layout, section, fault))
			return false;
		for (size_t k = 0; k < i; k++)
			if (pm_same(layout->sections[k].id.text, section->id.text))
				return pm_fail(fault, PM_FAULT_VALUE, at(layout, section->id), "section %s stands twice", section->id.text);
	}
	return workbook_valid(layout, fault);
}
