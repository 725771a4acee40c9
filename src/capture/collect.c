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

void collect_free(struct collect *collect)
{
	free(collect->bucket);
	free(collect->next);
	collect->bucket = collect->next = NULL;
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

/* --- who was read already: chains by port or by name ------------------------------ */

static size_t hash(const char *name, size_t length, size_t port)
{
	uint64_t h = 1469598103934665603u;
	if (port != PM_NO_PORT) return (size_t)((port + 1) * 0x9E3779B97F4A7C15u >> 16);
	for (size_t i = 0; i < length; i++)
		h = (h ^ (unsigned char)pm_lower((unsigned char)name[i])) * 1099511628211u;
	return (size_t)(h ^ h >> 29);
}

static size_t hash_of(const struct listing_reading *reading)
{
	return hash(reading->interface, strlen(reading->interface), reading->port);
}

static bool same_name(const struct listing_reading *reading, const char *name, size_t port)
{
	return reading->port == port && (port != PM_NO_PORT || pm_same_nocase(reading->interface, name));
}

static bool rebuild(struct collect *c)
{
	size_t buckets = c->buckets ? c->buckets * 4 : 64;
	size_t *bucket = calloc(buckets, sizeof *bucket);
	if (!bucket) return false;
	free(c->bucket);
	c->bucket = bucket;
	c->buckets = buckets;
	for (size_t i = 0; i < c->listing->count; i++) {
		size_t at = hash_of(&c->listing->reading[i]) & (buckets - 1);
		c->next[i] = bucket[at];
		bucket[at] = i + 1;
	}
	return true;
}

static bool room_for_one(struct collect *c)
{
	if (c->listing->count == c->next_room) {
		size_t room = c->next_room ? c->next_room * 2 : 32;
		size_t *next = realloc(c->next, room * sizeof *next);
		if (!next) return false;
		c->next = next;
		c->next_room = room;
	}
	return c->listing->count < c->buckets || rebuild(c);
}

bool collect_has(const struct collect *c, size_t port)
{
	if (!c->buckets) return false;
	size_t i = c->bucket[hash(NULL, 0, port) & (c->buckets - 1)];
	for (; i; i = c->next[i - 1])
		if (c->listing->reading[i - 1].port == port) return true;
	return false;
}

void collect_reading(struct collect *c, const char *name, size_t length, size_t port,
                     const struct pm_eui48 *address, uint32_t line, uint32_t column)
{
	struct listing *listing = c->listing;
	char shown[SHOWN_ROOM], hyphens[PM_EUI48_TEXT];
	const char *interface = shown;
	if (port != PM_NO_PORT) interface = c->gear->ports[port].name.text;
	else visible(name, length, shown);
	if (!room_for_one(c)) {
		c->failed = true;
		return;
	}
	size_t at = hash(interface, strlen(interface), port) & (c->buckets - 1);
	const struct listing_reading *first = NULL;
	for (size_t i = c->bucket[at]; i; i = c->next[i - 1]) {
		const struct listing_reading *known = &listing->reading[i - 1];
		if (!same_name(known, interface, port)) continue;
		if (pm_eui48_compare(&known->address, address) == 0) return;
		first = known;
	}
	if (first) {
		const char *reason = pm_say(c->arena, "another address for %s than on line %u", interface, first->line);
		collect_problem(c, line, column, reason, pm_eui48_text(address, hyphens), PM_EUI48_TEXT - 1);
	}
	if (port == PM_NO_PORT) interface = pm_arena_copy(c->arena, shown, strlen(shown));
	if (!interface) {
		c->failed = true;
		return;
	}
	struct listing_reading *reading = pm_arena_push(c->arena, (void **)&listing->reading, &listing->count,
	                                                &listing->room, sizeof *reading);
	if (!reading) {
		c->failed = true;
		return;
	}
	*reading = (struct listing_reading){ interface, port, *address, line };
	c->next[listing->count - 1] = c->bucket[at];
	c->bucket[at] = listing->count;
}

void collect_serial(struct collect *c, const char *text, size_t length, uint32_t line, uint32_t column)
{
	struct listing *listing = c->listing;
	char shown[SHOWN_ROOM];
	size_t used = visible(text, length, shown);
	for (size_t i = 0; i < listing->serial_count; i++)
		if (strcmp(listing->serial[i].text, shown) == 0) return;
	if (listing->serial_count >= COLLECT_MOST_PROBLEMS) return;
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
