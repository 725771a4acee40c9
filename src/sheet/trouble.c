#include "sheet/trouble.h"

#include <string.h>

#include "sheet/compose.h"
#include "sheet/fold.h"

#define QUOTED_MOST 60   /* characters of a value before it is cut */

static void put_visible(struct pm_text *text, const char *bytes, size_t length, size_t most)
{
	for (size_t shown = 0; length; shown++) {
		uint32_t point;
		size_t used = pm_utf8_next(bytes, length, &point);
		if (shown == most) {
			pm_text_str(text, "...");
			return;
		}
		if (point != UINT32_MAX && (fold_hidden(point) || compose_mark(point)))
			pm_text_add(text, "\\u{%X}", (unsigned)point);
		else
			pm_text_visible(text, bytes, used);
		bytes += used;
		length -= used;
	}
}

void trouble_visible(struct pm_text *text, const char *bytes, size_t length)
{
	put_visible(text, bytes, length, SIZE_MAX);
}

void trouble_quote(struct pm_text *text, const char *string)
{
	if (!string) {
		pm_text_str(text, "nothing");
		return;
	}
	pm_text_char(text, '"');
	put_visible(text, string, strlen(string), QUOTED_MOST);
	pm_text_char(text, '"');
}

char *trouble_quoted(struct pm_arena *arena, const char *string)
{
	struct pm_text text;
	pm_text_grow(&text, arena);
	trouble_quote(&text, string);
	return text.cut ? NULL : text.data;
}

void trouble_init(struct trouble *trouble, struct pm_arena *arena)
{
	*trouble = (struct trouble){ .detail = NULL };
	pm_findings_init(&trouble->list, arena);
}

struct pm_finding *trouble_last(struct trouble *trouble)
{
	return trouble->list.count ? &trouble->list.item[trouble->list.count - 1] : NULL;
}

struct trouble_detail *trouble_add(struct trouble *trouble, enum pm_code code, enum pm_severity severity,
                                   const struct trouble_at *at, const char *format, ...)
{
	struct pm_arena *arena = trouble->list.arena;
	struct pm_text said;
	char cell[PM_CELL_TEXT];
	const char *field = NULL, *name = NULL;
	bool placed = at->row != TROUBLE_NO_CELL && at->place != TROUBLE_NO_CELL;
	pm_text_grow(&said, arena);
	if (placed) {
		name = pm_say(arena, "%s", pm_cell_name(at->row, at->place, cell));
		field = at->page ? pm_say(arena, "%s!%s", at->page, name) : name;
		pm_text_str(&said, field);
		pm_text_char(&said, ' ');
		if (at->column && *at->column)
			pm_text_add(&said, "%s: ", trouble_quoted(arena, at->column));
	}
	va_list args;
	va_start(args, format);
	pm_text_addv(&said, format, args);
	va_end(args);
	struct pm_place place = { at->file, placed && !at->page ? at->row + 1 : 0, 0 };
	struct pm_finding *finding = pm_findings_add(&trouble->list, code, false, place, "%s", said.data);
	if (!finding)
		return NULL;
	finding->severity = severity;
	finding->interface = at->interface;
	finding->field = field;
	void *items = trouble->detail;
	struct trouble_detail *detail =
		pm_arena_push(arena, &items, &trouble->detail_count, &trouble->detail_room, sizeof *detail);
	trouble->detail = items;
	if (!detail) {
		trouble->list.count--;
		return NULL;
	}
	*detail = (struct trouble_detail){ .site = at->site, .page = at->page, .cell = name, .column = at->column };
	return detail;
}

void trouble_because(struct trouble *trouble, struct trouble_detail *detail, const char *cause)
{
	static const struct {
		const char *cause, *remedy;
	} rows[] = {
		{ "jobs-alike", "name one of them; if they are two sites, correct the site code of the wrong one" },
		{ "no-room", "write fewer sites into one sheet, or ask the desk for a form with more rows" },
		{ "page-missing", "ask for the sheet with all its pages; if the desk renamed one, change it in the layout" },
		{ "titles-missing", "ask for the sheet with that section whole; if the desk has another form now, write down its layout" },
		{ "titles-moved", "take out what moved the titles; if the desk has another form now, write down its layout" },
		{ "title-changed", "put the title back; if the desk renamed it, change it in the layout" },
		{ "heading-changed", "put the heading back; if the desk renamed it, change it in the layout" },
		{ "section-moved", "put the sections back into the layout's order, or write the sheet again" },
		{ "column-missing", "write the sheet again; if the desk gave the column up, take it out of the layout" },
		{ "column-moved", "put the columns back into the layout's order; if the desk moved one, move it in the layout" },
		{ "column-added", "take the column out; if the desk added it, add it to the layout" },
		{ "row-added", "take the row out, or enter it in the job if it is right" },
		{ "row-lost", "put the row back, or write the sheet again" },
		{ "rows-moved", "sort the rows back, or write the sheet again" },
		{ "site-unknown", "name the job of that site too, or take its rows out" },
		{ "site-missing", "leave its job out, or put its rows back" },
		{ "formulas-stale", "have an office program calculate the whole workbook anew before anybody reads those cells: often Ctrl+Shift+F9" },
	};
	if (!detail)
		return;
	detail->cause = cause;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		if (pm_same(rows[i].cause, cause))
			trouble_last(trouble)->remedy = rows[i].remedy;
}
