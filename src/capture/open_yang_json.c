/* Interfaces of RFC 8343 in JSON as RFC 7951 says: ietf-interfaces:interfaces,
 * or the older interfaces-state, alone or in a reply that wraps them; also one
 * list entry or several alone, as RFC 8040 has them. */
#include "capture/open_json.h"

#define MODULE "ietf-interfaces:"

enum { WRAP = OPEN_JSON_OWN, CONTAINER, LIST };

static void take(struct collect *collect, json_t *object, struct open_place place);
static int enter(int parent, struct open_text key, bool array);

static const struct open_json_kind kind = {
	.opener = '{', .none = "no JSON object", .enter = enter, .prefix = MODULE, .address = "phys-address", .take = take,
};

/* A name without a prefix is of the module around it (RFC 7951 section 4); at
 * the top and in wrappers, where some leave the prefix out, it is taken for
 * ours. */
static int enter(int parent, struct open_text key, bool array)
{
	struct open_text local = open_json_local(&kind, key);
	bool ours = local.length < key.length, bare = !open_holds(key, ":");
	if (parent == OPEN_JSON_TEXT) return array ? OPEN_JSON_NOTHING : WRAP;
	if (parent == LIST) return OPEN_JSON_TAKEN;
	if ((ours || (bare && parent == CONTAINER)) && open_is(local, "interface")) return array ? LIST : OPEN_JSON_TAKEN;
	if (array) return OPEN_JSON_NOTHING;
	if ((ours || (bare && parent == WRAP)) && (open_is(local, "interfaces") || open_is(local, "interfaces-state")))
		return CONTAINER;
	bool wraps = open_is(key, "ietf-restconf:data") || open_is(key, "data") || open_is(key, "rpc-reply");
	return parent == WRAP && wraps ? WRAP : OPEN_JSON_NOTHING;
}

static void take(struct collect *collect, json_t *object, struct open_place place)
{
	bool wrong = false;
	struct open_text name = open_json_string(&kind, object, "name", &wrong), type = open_json_string(&kind, object, "type", &wrong);
	struct open_text address = open_json_string(&kind, object, "phys-address", &wrong);
	if (wrong)
		collect_problem(collect, place.line, place.column, "a name, type or phys-address that is no string", name.at, name.length);
	else if (!open_type_without(type))
		open_take(collect, &name, 1, address, place, false);
}

static bool recognise(const char *text, size_t length)
{
	struct open_text all = { text, length };
	return open_begins(all, "{")
		&& (open_holds(all, "\"" MODULE)
		    || (open_holds(all, "\"interface\"")
		        && (open_holds(all, "\"interfaces\"") || open_holds(all, "\"interfaces-state\""))));
}

static void *begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena)
{
	return open_json_begin(&kind, listing, gear, arena);
}

const struct source_reader open_yang_json = { recognise, begin, open_json_feed, open_json_end, NULL };
