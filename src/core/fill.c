/* Fills: what a cell of the registration sheet is filled with. One row each. */
#include <string.h>

#include "portmuster/fact.h"
#include "portmuster/layout.h"
#include "portmuster/text.h"

#define S (1u << PM_ROWS_SITE)
#define R (1u << PM_ROWS_ROUTER)
#define P (1u << PM_ROWS_PORT)
#define D (1u << PM_ROWS_ATTACHED)
#define ANY (S | R | P | D)

#define VALUE(name) \
	static const char *name(const struct pm_fill_at *at, const char *argument, struct pm_arena *arena)
#define UNUSED (void)at, (void)argument, (void)arena

VALUE(site_code) { UNUSED; return at->job->code.text; }
VALUE(site_name) { UNUSED; return at->job->name.text; }
VALUE(site_zone) { UNUSED; return at->job->zone.text; }
VALUE(site_crew) { UNUSED; return at->job->crew.text; }
VALUE(site_unit) { UNUSED; return pm_fact_value(at->job, "site/unit", arena); }
VALUE(site_parent) { UNUSED; return pm_fact_value(at->job, "site/parent", arena); }
VALUE(router_serial) { UNUSED; return pm_fact_value(at->job, "router/serial", arena); }
VALUE(router_gear) { UNUSED; return at->gear->id.text; }
VALUE(router_model) { UNUSED; return at->gear->title.text; }

VALUE(old_serial)
{
	UNUSED;
	const char *read = pm_fact_value(at->job, "old/serial", arena);
	if (read || pm_fact_find(at->job, "old/serial", PM_AS_TEXT).standing != PM_OPEN)
		return read;
	return at->job->old_serial.text;
}

VALUE(port_address)
{
	UNUSED;
	size_t port = pm_roster_find(at->gear, argument, strlen(argument));
	if (port == PM_NO_PORT)
		return NULL;
	const char *of = pm_say(arena, "port/%s", at->gear->ports[port].name.text);
	return of ? pm_fact_value(at->job, of, arena) : NULL;
}

VALUE(row_number) { UNUSED; return pm_say(arena, "%zu", at->number); }
VALUE(row_panel) { UNUSED; return at->gear->ports[at->index].panel.text; }
VALUE(row_role) { UNUSED; return at->gear->ports[at->index].role.text; }
VALUE(row_kind) { UNUSED; return at->job->attached[at->index].kind.text; }
VALUE(row_serial) { UNUSED; return at->job->attached[at->index].serial.text; }

VALUE(row_name)
{
	UNUSED;
	return at->rows == PM_ROWS_PORT ? at->gear->ports[at->index].name.text : at->job->attached[at->index].name.text;
}

VALUE(row_address)
{
	UNUSED;
	if (at->rows == PM_ROWS_ATTACHED) {
		struct pm_eui48 address;
		char text[PM_EUI48_TEXT];
		const char *listed = at->job->attached[at->index].address.text;
		if (!pm_eui48_parse(listed, &address))
			return listed;
		pm_eui48_text(&address, text);
		return pm_arena_copy(arena, text, strlen(text));
	}
	const char *of = pm_say(arena, "port/%s", at->gear->ports[at->index].name.text);
	return of ? pm_fact_value(at->job, of, arena) : NULL;
}

VALUE(row_check)
{
	struct pm_eui48 address;
	const char *value = row_address(at, argument, arena);
	char check[1];
	if (!pm_eui48_parse(value, &address))
		return NULL;
	check[0] = pm_eui48_check(&address);
	return pm_arena_copy(arena, check, 1);
}

/* What is not complete has no seal to be spoken. */
VALUE(seal_text) { UNUSED; return at->seal && at->seal->complete ? at->seal->text : NULL; }
VALUE(seal_sha256) { UNUSED; return at->seal && at->seal->complete ? at->seal->sha256 : NULL; }
VALUE(constant) { UNUSED; return argument; }
VALUE(nothing) { UNUSED; return NULL; }

static const struct pm_fill fills[] = {
	{ "site/code", NULL, ANY, PM_FILL_TEXT, "the site's code", site_code },
	{ "site/name", NULL, ANY, PM_FILL_TEXT, "its name", site_name },
	{ "site/unit", NULL, ANY, PM_FILL_TEXT, "its unit code", site_unit },
	{ "site/parent", NULL, ANY, PM_FILL_TEXT, "its parent's unit code", site_parent },
	{ "site/zone", NULL, ANY, PM_FILL_TEXT, "its time zone", site_zone },
	{ "site/crew", NULL, ANY, PM_FILL_TEXT, "who goes there", site_crew },
	{ "router/serial", NULL, ANY, PM_FILL_TEXT, "serial number of the new router", router_serial },
	{ "router/gear", NULL, ANY, PM_FILL_TEXT, "id of its gear profile", router_gear },
	{ "router/model", NULL, ANY, PM_FILL_TEXT, "title of its gear profile", router_model },
	{ "old/serial", NULL, ANY, PM_FILL_TEXT, "serial number of the old router, as read or else as listed", old_serial },
	{ "port/", "NAME", ANY, PM_FILL_ADDRESS, "address of the interface of that name", port_address },
	{ "row/number", NULL, ANY, PM_FILL_TEXT, "number of the row in its section, from 1", row_number },
	{ "row/name", NULL, P | D, PM_FILL_TEXT, "name of the interface or device", row_name },
	{ "row/panel", NULL, P, PM_FILL_TEXT, "what is printed beside the interface", row_panel },
	{ "row/role", NULL, P, PM_FILL_TEXT, "what the interface is used for", row_role },
	{ "row/address", NULL, P | D, PM_FILL_ADDRESS, "address of the interface or device", row_address },
	{ "row/check", NULL, P | D, PM_FILL_TEXT, "check character of that address", row_check },
	{ "row/kind", NULL, D, PM_FILL_TEXT, "what the device is", row_kind },
	{ "row/serial", NULL, D, PM_FILL_TEXT, "serial number of the device", row_serial },
	{ "seal", NULL, ANY, PM_FILL_TEXT, "the seal, once every fact has a value", seal_text },
	{ "seal/sha256", NULL, ANY, PM_FILL_TEXT, "the digest that the seal is made from", seal_sha256 },
	{ "text/", "CONSTANT", ANY, PM_FILL_TEXT, "the same text in every row", constant },
	{ "empty", NULL, ANY, PM_FILL_NOTHING, "nothing: the cell is the desk's and is not looked at", nothing },
};

#define FILLS (sizeof fills / sizeof *fills)

const struct pm_fill *pm_fill_table(size_t *count)
{
	*count = FILLS;
	return fills;
}

const struct pm_fill *pm_fill_find(const char *written, const char **argument)
{
	for (size_t i = 0; written && i < FILLS; i++) {
		size_t length = strlen(fills[i].name);
		if (fills[i].argument ? strncmp(written, fills[i].name, length) != 0 || !written[length]
		                      : !pm_same(written, fills[i].name))
			continue;
		if (argument)
			*argument = fills[i].argument ? written + length : NULL;
		return &fills[i];
	}
	return NULL;
}
