#include "sheet/sheet_seal.h"

#include <string.h>

#include "portmuster/text.h"
#include "sheet/beyond.h"
#include "sheet/locate.h"
#include "sheet/names.h"

/* What of a sheet's cells the seal is made of. */
enum part { UNIT, PARENT, SERIAL, PORT_NAME, PORT_ADDRESS, DEVICE_NAME, DEVICE_KIND, DEVICE_SERIAL, DEVICE_ADDRESS, PARTS };

static const struct {
	const char *fill;
	enum pm_rows rows;    /* PM_ROWS: of any section with one row a job */
	const char *what;
	bool optional;        /* a layout may lack it when no job has any */
} parts[PARTS] = {
	[UNIT] = { "site/unit", PM_ROWS, "the unit code", false },
	[PARENT] = { "site/parent", PM_ROWS, "the parent's unit code", false },
	[SERIAL] = { "router/serial", PM_ROWS, "the router's serial number", false },
	[PORT_NAME] = { "row/name", PM_ROWS_PORT, "the names of interfaces", false },
	[PORT_ADDRESS] = { "row/address", PM_ROWS_PORT, "the addresses of interfaces", false },
	[DEVICE_NAME] = { "row/name", PM_ROWS_ATTACHED, "the names of attached devices", true },
	[DEVICE_KIND] = { "row/kind", PM_ROWS_ATTACHED, "the kinds of attached devices", true },
	[DEVICE_SERIAL] = { "row/serial", PM_ROWS_ATTACHED, "the serial numbers of attached devices", true },
	[DEVICE_ADDRESS] = { "row/address", PM_ROWS_ATTACHED, "the addresses of attached devices", true },
};

#define NOT_THERE SIZE_MAX

/* The facts of one site as they are gathered. */
struct gathered {
	const char *site;
	const char *value[3];         /* UNIT, PARENT, SERIAL */
	struct pm_seal_port *ports;
	size_t port_count, port_room;
	struct pm_attached *attached;
	size_t attached_count, attached_room;
};

struct gathering {
	const struct pm_layout *layout;
	const struct returned *sheet;
	struct pm_arena *arena;
	struct located *located;
	struct gathered *site;
	size_t count, room;
	struct names codes;           /* of the sites, in their order */
};

static size_t column_of(const struct pm_section *section, const char *fill)
{
	for (size_t i = 0; i < section->column_count; i++)
		if (pm_same(section->columns[i].fill.text, fill))
			return i;
	return NOT_THERE;
}

static bool holds(const struct pm_section *section, enum pm_rows rows)
{
	return rows == PM_ROWS ? section->rows == PM_ROWS_SITE || section->rows == PM_ROWS_ROUTER : section->rows == rows;
}

/* Every fact must have its column, and every section a column for the site. */
static bool layout_suffices(const struct pm_layout *layout, struct pm_fault *fault)
{
	bool has_attached = false;
	for (size_t i = 0; i < layout->section_count; i++) {
		has_attached |= layout->sections[i].rows == PM_ROWS_ATTACHED;
		if (layout->sections[i].titles == PM_TITLES_NONE) {
			pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ layout->file, 0, 0 },
			        "section %s has no titles: a seal cannot be computed from such a sheet", layout->sections[i].id.text);
			return pm_fail_remedy(fault, "take the seal of the job, and hold the sheet against it with sheet --verify");
		}
	}
	for (int p = 0; p < PARTS; p++) {
		bool found = parts[p].optional && !has_attached;
		for (size_t i = 0; !found && i < layout->section_count; i++)
			found = holds(&layout->sections[i], parts[p].rows) && column_of(&layout->sections[i], parts[p].fill) != NOT_THERE;
		if (found)
			continue;
		pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ layout->file, 0, 0 },
		        "the layout has no column for %s: a seal cannot be computed from the sheet", parts[p].what);
		return pm_fail_remedy(fault, "take the seal of the job, and hold the sheet against it with sheet --verify");
	}
	return true;
}

/* A cell's value, an apostrophe that guards it taken off; null when it is empty. */
static const char *value_at(const struct gathering *g, const struct located *l, uint32_t row, size_t column)
{
	if (column == NOT_THERE || l->column[column] == LOCATE_NOWHERE)
		return NULL;
	const char *text = returned_at(l->page, row, l->column[column])->text;
	if (!g->sheet->workbook && g->layout->apostrophe && text[0] == '\'' && pm_cell_runs(text))
		text++;
	return *text ? text : NULL;
}

static struct gathered *site_of(struct gathering *g, const char *code)
{
	const char *name = code ? code : "";
	size_t known = names_find(&g->codes, name);
	if (known != NAMES_NONE)
		return &g->site[known];
	void *items = g->site;
	struct gathered *site = pm_arena_push(g->arena, &items, &g->count, &g->room, sizeof *site);
	g->site = items;
	if (!site || !names_add(&g->codes, name))
		return NULL;
	site->site = code;
	return site;
}

static bool take_port(const struct gathering *g, struct gathered *site, const struct located *l, uint32_t row)
{
	const char *name = value_at(g, l, row, column_of(l->section, "row/name"));
	if (!name)
		return true;
	void *items = site->ports;
	struct pm_seal_port *port = pm_arena_push(g->arena, &items, &site->port_count, &site->port_room, sizeof *port);
	site->ports = items;
	if (port)
		*port = (struct pm_seal_port){ name, value_at(g, l, row, column_of(l->section, "row/address")) };
	return port != NULL;
}

static bool take_device(const struct gathering *g, struct gathered *site, const struct located *l, uint32_t row)
{
	void *items = site->attached;
	struct pm_attached *device =
		pm_arena_push(g->arena, &items, &site->attached_count, &site->attached_room, sizeof *device);
	site->attached = items;
	if (!device)
		return false;
	device->name.text = value_at(g, l, row, column_of(l->section, "row/name"));
	device->kind.text = value_at(g, l, row, column_of(l->section, "row/kind"));
	device->serial.text = value_at(g, l, row, column_of(l->section, "row/serial"));
	device->address.text = value_at(g, l, row, column_of(l->section, "row/address"));
	return true;
}

/* The rows of a section; in a workbook, what lies below a blank one may be the desk's. */
static bool take_row(struct gathering *g, const struct located *l, uint32_t row, bool *below)
{
	bool blank = true;
	for (size_t i = 0; blank && i < l->section->column_count; i++)
		blank = !value_at(g, l, row, i);
	if (blank) {
		*below = g->sheet->workbook;
		return true;
	}
	size_t column = column_of(l->section, "site/code");
	const char *code = value_at(g, l, row, column);
	if (*below && !beyond_is_record(g->sheet, l, row, code && names_find(&g->codes, code) != NAMES_NONE))
		return true;
	struct gathered *site = column == NOT_THERE && g->count ? g->site : site_of(g, code);
	if (!site)
		return false;
	if (l->section->rows == PM_ROWS_PORT)
		return take_port(g, site, l, row);
	if (l->section->rows == PM_ROWS_ATTACHED)
		return take_device(g, site, l, row);
	for (int p = UNIT; p <= SERIAL; p++) {
		size_t at = column_of(l->section, parts[p].fill);
		if (at != NOT_THERE)
			site->value[p] = value_at(g, l, row, at);
	}
	return true;
}

static bool gather(struct gathering *g)
{
	/* the sections with one row a job come first: they say which sites there are */
	for (int pass = 0; pass < 2; pass++)
		for (size_t i = 0; i < g->layout->section_count; i++) {
			const struct located *l = &g->located[i];
			bool below = false;
			if (!l->page || holds(l->section, PM_ROWS) != (pass == 0))
				continue;
			for (uint32_t row = l->first; row < l->end; row++)
				if (!take_row(g, l, row, &below))
					return false;
		}
	return true;
}

/* With several sites, each row must say whose it is. */
static bool told_apart(const struct gathering *g, struct pm_fault *fault)
{
	for (size_t i = 0; g->count > 1 && i < g->layout->section_count; i++)
		if (column_of(&g->layout->sections[i], "site/code") == NOT_THERE) {
			pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ g->sheet->file, 0, 0 },
			        "the sheet holds %zu sites, and section %s does not say whose its rows are", g->count,
			        g->layout->sections[i].id.text);
			return pm_fail_remedy(fault, "write one sheet a site");
		}
	return true;
}

bool sheet_seals(const struct pm_layout *layout, const struct returned *sheet, struct pm_arena *arena,
                 struct trouble *trouble, struct sheet_seals *seals, struct pm_fault *fault)
{
	struct gathering g = { .layout = layout, .sheet = sheet, .arena = arena };
	if (!layout_suffices(layout, fault))
		return false;
	names_init(&g.codes, arena);
	g.located = locate_sections(layout, NULL, sheet, arena, trouble);
	if (!g.located || !gather(&g))
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ sheet->file, 0, 0 }, "out of memory");
	if (!told_apart(&g, fault))
		return false;
	seals->count = 0;
	seals->item = pm_arena_array(arena, g.count, sizeof *seals->item);
	for (size_t i = 0; seals->item && i < g.count; i++) {
		const struct gathered *from = &g.site[i];
		const struct pm_seal_facts facts = {
			from->site, from->value[UNIT], from->value[PARENT], from->value[SERIAL],
			from->ports, from->port_count, from->attached, from->attached_count,
		};
		seals->item[i].site = from->site;
		if (!pm_seal_facts(&facts, arena, &seals->item[i].seal))
			break;
		seals->count++;
	}
	if (arena->failed)
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ sheet->file, 0, 0 }, "out of memory");
	return true;
}
