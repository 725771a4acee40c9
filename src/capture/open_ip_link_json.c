/* What `ip -json link` writes (iproute2 6.1; also `-pretty`, `-brief`, and `ip
 * -json address`). */
#include "capture/open_json.h"

enum { LIST = OPEN_JSON_OWN };

#define NAMES_MOST 9

static void take(struct collect *collect, json_t *object, struct open_place place);
static int enter(int parent, struct open_text key, bool array);

static const struct open_json_kind kind = {
	.opener = '[', .none = "no JSON array", .enter = enter, .prefix = "", .address = "address", .take = take,
};

static int enter(int parent, struct open_text key, bool array)
{
	(void)key;
	if (parent == OPEN_JSON_TEXT) return array ? LIST : OPEN_JSON_NOTHING;
	return parent == LIST ? OPEN_JSON_TAKEN : OPEN_JSON_NOTHING;
}

/* The brief form has no type, only flags. */
static bool is_loopback(json_t *object)
{
	json_t *flags = json_object_get(object, "flags"), *flag;
	size_t i;
	json_array_foreach(flags, i, flag)
		if (json_is_string(flag) && open_is((struct open_text){ json_string_value(flag), json_string_length(flag) }, "LOOPBACK"))
			return true;
	return false;
}

static void take(struct collect *collect, json_t *object, struct open_place place)
{
	bool wrong = false;
	struct open_text names[NAMES_MOST], type = open_json_string(&kind, object, "link_type", &wrong);
	struct open_text address = open_json_string(&kind, object, "address", &wrong);
	json_t *others = json_object_get(object, "altnames"), *other;
	size_t count = 1, i;
	names[0] = open_json_string(&kind, object, "ifname", &wrong);
	if (wrong) {
		collect_problem(collect, place.line, place.column, "an ifname, link_type or address that is no string",
		                names[0].at, names[0].length);
		return;
	}
	if (type.length ? !open_is(type, "ether") : is_loopback(object)) return;
	json_array_foreach(others, i, other)
		if (json_is_string(other) && count < NAMES_MOST)
			names[count++] = (struct open_text){ json_string_value(other), json_string_length(other) };
	open_take(collect, names, count, address, place, false);
}

static bool recognise(const char *text, size_t length)
{
	struct open_text all = { text, length };
	if (!open_begins(all, "[") || !open_holds(all, "\"ifname\"")) return false;
	all = open_trim((struct open_text){ text + 1, length - 1 });
	return open_begins(all, "{");
}

static void *begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena)
{
	return open_json_begin(&kind, listing, gear, arena);
}

const struct source_reader open_ip_link_json = { recognise, begin, open_json_feed, open_json_end, NULL };
