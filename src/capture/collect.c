#include "capture/collect.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/roster.h"
#include "portmuster/text.h"

#define SHOWN_MOST 60    /* characters of an offending text */
#define SHOWN_ROOM 768   /* bytes that they may take */

void collect_init(struct collect *collect, struct listing *listing, const struct pm_gear *gear,
                  struct pm_arena *arena)
{
	*collect = (struct collect){ .listing = listing, .arena = arena, .gear = gear };
}

static void free_chains(struct collect_chains *chains)
{
	free(chains->bucket);
	free(chains->next);
	chains->bucket = chains->next = NULL;
}

void collect_free(struct collect *collect)
{
	free_chains(&collect->exact);
	free_chains(&collect->first);
}

/* Made safe in the caller's array: what is known already costs no memory. */
static size_t visible(const char *text, size_t length, char out[static SHOWN_ROOM])
{
	struct pm_text shown;
	size_t end = 0, characters = 0;
	while (end < length && characters < SHOWN_MOST) {
		uint32_t point;
		end += pm_utf8_next(text + end, length - end, &point);
		characters++;
	}
	pm_text_fixed(&shown, out, SHOWN_ROOM);
	pm_text_visible(&shown, text, end);
	if (end < length) pm_text_str(&shown, "...");
	return shown.length;
}

/* --- who was read already ------------------------------------------------------------- */

static uint64_t hash_interface(const char *name, size_t port)
{
	uint64_t h = 1469598103934665603u;
	if (port != PM_NO_PORT) return (port + 1) * 0x9E3779B97F4A7C15u;
	for (; *name; name++) h = (h ^ (unsigned char)pm_lower((unsigned char)*name)) * 1099511628211u;
	return h;
}

static uint64_t hash_both(const char *name, size_t port, const struct pm_eui48 *address)
{
	return (hash_interface(name, port) ^ pm_eui48_number(address)) * 0x9E3779B97F4A7C15u;
}

static size_t bucket_of(const struct collect *c, uint64_t hash)
{
	return (size_t)(hash ^ hash >> 29) & (c->buckets - 1);
}

static bool same_interface(const struct listing_reading *reading, const char *name, size_t port)
{
	return reading->port == port && (port != PM_NO_PORT || pm_same_nocase(reading->interface, name));
}

static void link_one(const struct collect *c, struct collect_chains *chains, uint64_t hash, size_t index)
{
	size_t at = bucket_of(c, hash);
	chains->next[index] = chains->bucket[at];
	chains->bucket[at] = index + 1;
}

static const struct listing_reading *find_first(const struct collect *c, const char *name, size_t port)
{
	if (!c->buckets) return NULL;
	for (size_t i = c->first.bucket[bucket_of(c, hash_interface(name, port))]; i; i = c->first.next[i - 1]) {
		const struct listing_reading *known = &c->listing->reading[i - 1];
		if (same_interface(known, name, port)) return known;
	}
	return NULL;
}

static bool is_known(const struct collect *c, const char *name, size_t port, const struct pm_eui48 *address)
{
	if (!c->buckets) return false;
	for (size_t i = c->exact.bucket[bucket_of(c, hash_both(name, port, address))]; i; i = c->exact.next[i - 1]) {
		const struct listing_reading *known = &c->listing->reading[i - 1];
		if (same_interface(known, name, port) && pm_eui48_compare(&known->address, address) == 0) return true;
	}
	return false;
}

static void link_reading(struct collect *c, size_t index)
{
	const struct listing_reading *reading = &c->listing->reading[index];
	if (!find_first(c, reading->interface, reading->port))
		link_one(c, &c->first, hash_interface(reading->interface, reading->port), index);
	link_one(c, &c->exact, hash_both(reading->interface, reading->port, &reading->address), index);
}

static bool grow(size_t **array, size_t room)
{
	size_t *bigger = realloc(*array, room * sizeof **array);
	if (bigger) *array = bigger;
	return bigger != NULL;
}

static bool room_for_one(struct collect *c)
{
	size_t count = c->listing->count;
	if (count == c->links) {
		size_t room = c->links ? c->links * 2 : 32;
		if (!grow(&c->exact.next, room) || !grow(&c->first.next, room)) return false;
		c->links = room;
	}
	if (count < c->buckets) return true;
	size_t buckets = c->buckets ? c->buckets * 4 : 64;
	c->buckets = 0;   /* until all is linked again */
	if (!grow(&c->exact.bucket, buckets) || !grow(&c->first.bucket, buckets)) return false;
	c->buckets = buckets;
	memset(c->exact.bucket, 0, buckets * sizeof *c->exact.bucket);
	memset(c->first.bucket, 0, buckets * sizeof *c->first.bucket);
	for (size_t i = 0; i < count; i++) link_reading(c, i);
	return true;
}

bool collect_has(const struct collect *c, size_t port)
{
	return find_first(c, "", port) != NULL;
}

void collect_reading(struct collect *c, const char *name, size_t length, size_t port,
                     const struct pm_eui48 *address, uint32_t line, uint32_t column)
{
	struct listing *listing = c->listing;
	char shown[SHOWN_ROOM], hyphens[PM_EUI48_TEXT];
	const char *interface = shown;
	if (port != PM_NO_PORT) interface = c->gear->ports[port].name.text;
	else visible(name, length, shown);
	if (is_known(c, interface, port, address)) return;
	if (listing->count == COLLECT_MOST_READINGS) {
		if (!c->more_readings)
			collect_problem(c, line, column, "more addresses of interfaces than are listed",
			                pm_eui48_text(address, hyphens), PM_EUI48_TEXT - 1);
		c->more_readings = true;
		return;
	}
	const struct listing_reading *first = find_first(c, interface, port);
	if (first && listing->problem_count <= COLLECT_MOST_PROBLEMS) {
		const char *reason = pm_say(c->arena, "another address for %s than on line %u", interface, first->line);
		collect_problem(c, line, column, reason, pm_eui48_text(address, hyphens), PM_EUI48_TEXT - 1);
	}
	if (port == PM_NO_PORT) interface = pm_arena_copy(c->arena, shown, strlen(shown));
	struct listing_reading *reading = interface && room_for_one(c)
		? pm_arena_push(c->arena, (void **)&listing->reading, &listing->count, &listing->room, sizeof *reading) : NULL;
	if (!reading) {
		c->failed = true;
		return;
	}
	*reading = (struct listing_reading){ interface, port, *address, line };
	link_reading(c, listing->count - 1);
}

void collect_serial(struct collect *c, const char *text, size_t length, uint32_t line, uint32_t column)
{
	struct listing *listing = c->listing;
	char shown[SHOWN_ROOM];
	size_t used = visible(text, length, shown);
	for (size_t i = 0; i < listing->serial_count; i++)
		if (strcmp(listing->serial[i].text, shown) == 0) return;
	if (listing->serial_count == COLLECT_MOST_SERIALS) {
		if (!c->more_serials) collect_problem(c, line, column, "more serial numbers than are listed", text, length);
		c->more_serials = true;
		return;
	}
	const char *value = pm_arena_copy(c->arena, shown, used);
	if (!value) {
		c->failed = true;
		return;
	}
	struct pm_word *serial = pm_arena_push(c->arena, (void **)&listing->serial, &listing->serial_count,
	                                       &listing->serial_room, sizeof *serial);
	if (serial) *serial = (struct pm_word){ value, line, column };
	else c->failed = true;
}

void collect_problem(struct collect *c, uint32_t line, uint32_t column, const char *reason,
                     const char *text, size_t length)
{
	struct listing *listing = c->listing;
	if (listing->problem_count > COLLECT_MOST_PROBLEMS) return;
	if (listing->problem_count == COLLECT_MOST_PROBLEMS) {
		reason = "more problems than are listed";
		length = 0;
	}
	char shown[SHOWN_ROOM];
	size_t used = visible(text, length, shown);
	const char *copy = reason ? pm_arena_copy(c->arena, reason, strlen(reason)) : NULL;
	const char *value = pm_arena_copy(c->arena, shown, used);
	struct listing_problem *problem = pm_arena_push(c->arena, (void **)&listing->problem,
	                                                &listing->problem_count, &listing->problem_room,
	                                                sizeof *problem);
	if (!problem || !copy || !value) {
		c->failed = true;
		if (problem) listing->problem_count--;
		return;
	}
	*problem = (struct listing_problem){ line, column, copy, value };
}
