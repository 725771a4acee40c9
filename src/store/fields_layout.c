#include "store/fields.h"

#include "portmuster/layout.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))
#define IN(type, member) .offset = offsetof(struct type, member), .also = STORE_NOWHERE
#define LIST(type, member, number) \
	.offset = offsetof(struct type, member), .also = offsetof(struct type, number)

static const char *rows_word(unsigned at)
{
	return pm_rows_word((enum pm_rows)at);
}

static void set_rows(void *member, unsigned at)
{
	*(enum pm_rows *)member = (enum pm_rows)at;
}

static unsigned get_rows(const void *member)
{
	return *(const enum pm_rows *)member;
}

static const struct store_choice rows = { PM_ROWS, rows_word, set_rows, get_rows };

static const char *titles_word(unsigned at)
{
	switch ((enum pm_titles)at) {
	case PM_TITLES_ABOVE: return "above";
	case PM_TITLES_NONE: return "none";
	}
	return "unknown";
}

static void set_titles(void *member, unsigned at)
{
	*(enum pm_titles *)member = (enum pm_titles)at;
}

static unsigned get_titles(const void *member)
{
	return *(const enum pm_titles *)member;
}

static const struct store_choice titles = { PM_TITLES_NONE + 1, titles_word, set_titles, get_titles };

static const struct store_field column_fields[] = {
	{ "title", STORE_TEXT, STORE_PRESENT, IN(pm_column, title), .meaning = "its title, as the desk writes it" },
	{ "fill", STORE_TEXT, STORE_REQUIRED, IN(pm_column, fill), .accepts = "a fill, see [sheet.md](sheet.md)",
	  .meaning = "what its cells hold" },
	{ "example", STORE_TEXT, STORE_OPTIONAL, IN(pm_column, example),
	  .meaning = "a value as the desk writes it; of an address, its notation and case are the column's" },
	{ "form", STORE_TEXT, STORE_OPTIONAL, IN(pm_column, form), .accepts = "a form, see above",
	  .meaning = "what every value must look like" },
	{ "fixed", STORE_FLAG, STORE_OPTIONAL, IN(pm_column, fixed),
	  .meaning = "every value is shaped like the example: a digit for a digit, a capital for a capital, all else the same" },
	{ "widest", STORE_WHOLE, STORE_OPTIONAL, IN(pm_column, widest), .least = 0, .most = 32767,
	  .meaning = "the most characters; 0 for no limit" },
	{ "required", STORE_FLAG, STORE_OPTIONAL, IN(pm_column, required), .meaning = "no cell may stay empty" },
};

static const struct store_table column_table =
	{ "column", column_fields, COUNT(column_fields), sizeof(struct pm_column) };

static const struct store_field section_fields[] = {
	{ "section", STORE_TEXT, STORE_REQUIRED, IN(pm_section, id), .meaning = "its id, unique in the layout" },
	{ "rows", STORE_CHOICE, STORE_REQUIRED, IN(pm_section, rows), .choice = &rows,
	  .meaning = "which records give it its rows: `site` and `router` one a job, `port` one an interface, "
	             "`attached` one a device" },
	{ "heading", STORE_TEXT, STORE_OPTIONAL, IN(pm_section, heading),
	  .meaning = "a row of its own above the titles, in a CSV sheet" },
	{ "titles", STORE_CHOICE, STORE_OPTIONAL, IN(pm_section, titles), .choice = &titles,
	  .meaning = "where the row of titles stands; `above` when not given" },
	{ "page", STORE_TEXT, STORE_OPTIONAL, IN(pm_section, page), .meaning = "its page in the workbook" },
	{ "first", STORE_TEXT, STORE_OPTIONAL, IN(pm_section, first), .accepts = "a cell such as `B7`",
	  .meaning = "the first cell of its first row there, below the first title" },
	{ "columns", STORE_MAPPINGS, STORE_REQUIRED, LIST(pm_section, columns, column_count), .table = &column_table,
	  .meaning = "its columns, from left to right" },
};

static const struct store_table section_table =
	{ "section", section_fields, COUNT(section_fields), sizeof(struct pm_section) };

static const struct store_field layout_fields[] = {
	{ "format", STORE_WHOLE, STORE_REQUIRED, IN(pm_layout, format), .least = 1, .most = STORE_FORMAT,
	  .meaning = "number of this format; a newer one is refused" },
	{ "layout", STORE_TEXT, STORE_REQUIRED, IN(pm_layout, id), .meaning = "its id, the file's name without `.yaml`" },
	{ "title", STORE_TEXT, STORE_REQUIRED, IN(pm_layout, title), .meaning = "its name for people" },
	{ "workbook", STORE_TEXT, STORE_OPTIONAL, IN(pm_layout, workbook), .accepts = "a file name that ends in `.xlsx`",
	  .meaning = "the desk's own workbook, beside the layout; without it there are CSV sheets only" },
	{ "apostrophe", STORE_FLAG, STORE_OPTIONAL, IN(pm_layout, apostrophe),
	  .meaning = "in a CSV sheet a text that a spreadsheet would run gets an apostrophe in front; `no` refuses such "
	             "a text; `yes` when not given" },
	{ "sections", STORE_MAPPINGS, STORE_REQUIRED, LIST(pm_layout, sections, section_count), .table = &section_table,
	  .meaning = "its sections, from top to bottom" },
};

const struct store_table store_layout_table = { "sheet layout", layout_fields, COUNT(layout_fields), sizeof(struct pm_layout) };
