#include "sheet/trouble.h"

#include "portmuster/text.h"

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
			pm_text_add(&said, "%s: ", pm_quoted(arena, at->column));
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
