/* Reading a console log: with and without gear, whole, in two pieces and skimmed
 * as a long log is, the same listing comes out, and nothing in it can move a
 * terminal's cursor. */
#include <stdlib.h>
#include <string.h>

#include "capture/reader.h"
#include "portmuster/roster.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool holds)
{
	if (!holds)
		abort();
}

static void demand_safe(const char *text)
{
	demand(text != NULL);
	for (; *text; text++)
		demand((unsigned char)*text >= 0x20 && *text != 0x7F);
}

static void demand_same(const struct listing *a, const struct listing *b)
{
	demand(a->count == b->count && a->serial_count == b->serial_count && a->problem_count == b->problem_count);
	for (size_t i = 0; i < a->count; i++) {
		demand(strcmp(a->reading[i].interface, b->reading[i].interface) == 0);
		demand(pm_eui48_compare(&a->reading[i].address, &b->reading[i].address) == 0);
		demand(a->reading[i].line == b->reading[i].line && a->reading[i].port == b->reading[i].port);
	}
	for (size_t i = 0; i < a->serial_count; i++) demand(strcmp(a->serial[i].text, b->serial[i].text) == 0);
	for (size_t i = 0; i < a->problem_count; i++) {
		demand(a->problem[i].line == b->problem[i].line && a->problem[i].column == b->problem[i].column);
		demand(strcmp(a->problem[i].text, b->problem[i].text) == 0);
	}
}

static void demand_shown(const struct listing *listing, const struct pm_gear *gear)
{
	for (size_t i = 0; i < listing->count; i++) {
		const struct listing_reading *reading = &listing->reading[i];
		demand_safe(reading->interface);
		demand(reading->interface[0] && reading->line >= 1 && reading->line <= listing->lines);
		demand(reading->port == PM_NO_PORT || (gear && reading->port < gear->port_count));
	}
	for (size_t i = 0; i < listing->serial_count; i++) {
		demand_safe(listing->serial[i].text);
		demand(listing->serial[i].line >= 1 && listing->serial[i].column >= 1);
	}
	for (size_t i = 0; i < listing->problem_count; i++) {
		demand_safe(listing->problem[i].reason);
		demand_safe(listing->problem[i].text);
		demand(listing->problem[i].line >= 1 && listing->problem[i].column >= 1);
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static struct pm_port ports[13];
	static char names[13][8];
	struct pm_word pager = { "-- space for more --", 0, 0 }, serial = { "unit number", 0, 0 };
	for (size_t i = 0; i < 13; i++) {
		memcpy(names[i], i ? "port" : "mgmt", 5);
		if (i >= 10) names[i][4] = '1', names[i][5] = (char)('0' + i - 10);
		else if (i) names[i][4] = (char)('0' + i);
		ports[i].name.text = names[i];
	}
	struct pm_gear gear = {
		.ports = ports, .port_count = 13, .console = { .pagers = { &pager, 1 }, .serials = { &serial, 1 } },
	};
	for (int with = 0; with < 2; with++) {
		struct pm_arena arena;
		struct listing whole, pieces;
		const struct pm_gear *use = with ? &gear : NULL;
		pm_arena_init(&arena);
		demand(listing_read(data, size, use, &arena, &whole));
		demand_shown(&whole, use);
		struct listing_reader *reader = listing_begin(&pieces, use, &arena);
		size_t split = size ? data[0] * size / 256 : 0;
		demand(reader && listing_feed(reader, data, split) && listing_feed(reader, data + split, size - split));
		demand(listing_end(reader));
		demand_same(&whole, &pieces);
		/* A log no longer than the context is skimmed without a bound. */
		static const struct skim_sizes all = { 1, SKIM_MOST_CONTEXT, 64 };
		if (size <= SKIM_MOST_CONTEXT) {
			demand((reader = listing_begin(&pieces, use, &arena)) != NULL);
			reader->sizes = &all;
			demand(listing_feed(reader, data, size));
			demand(listing_end(reader));
			demand_same(&whole, &pieces);
		}
		pm_arena_free(&arena);
	}
	return 0;
}
