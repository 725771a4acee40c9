/* The passes of a conversation: raw bytes as received and the listing in them. */
#include <stdlib.h>
#include <string.h>

#include "capture/talk_parts.h"
#include "portmuster/roster.h"

struct pass *pass_begin(const struct pm_gear *gear)
{
	struct pass *pass = calloc(1, sizeof *pass);
	if (!pass) return NULL;
	pm_arena_init(&pass->arena);
	pass->reader = listing_begin(&pass->seen.listing, gear, &pass->arena);
	if (pass->reader) return pass;
	pass_free(pass);
	return NULL;
}

void pass_free(struct pass *pass)
{
	if (!pass) return;
	if (pass->reader) listing_end(pass->reader);
	pm_arena_free(&pass->arena);
	free(pass->bytes);
	free(pass);
}

bool pass_add(struct pass *pass, const void *bytes, size_t length, bool *over)
{
	size_t left = TALK_PASS_BYTES - pass->seen.length;
	if (length > left) {
		length = left;
		*over = true;
	}
	if (pass->room - pass->seen.length < length) {
		size_t room = pass->room ? pass->room : 4096;
		while (room - pass->seen.length < length) room *= 2;
		char *more = realloc(pass->bytes, room);
		if (!more) return false;
		pass->seen.bytes = pass->bytes = more;
		pass->room = room;
	}
	if (length == 0) return true;
	memcpy(pass->bytes + pass->seen.length, bytes, length);
	pass->seen.length += length;
	return listing_feed(pass->reader, bytes, length);
}

bool pass_finish(struct pass *pass, bool complete)
{
	pass->seen.complete = complete;
	bool good = !pass->reader || listing_end(pass->reader);
	pass->reader = NULL;
	return good;
}

bool pass_reopen(struct pass *pass, const struct pm_gear *gear)
{
	pm_arena_free(&pass->arena);
	pass->seen.complete = false;
	pass->reader = listing_begin(&pass->seen.listing, gear, &pass->arena);
	return pass->reader && (pass->seen.length == 0 || listing_feed(pass->reader, pass->bytes, pass->seen.length));
}

size_t pass_interfaces(const struct pass *pass, const struct pm_gear *gear)
{
	const struct listing *listing = &pass->seen.listing;
	bool roster = gear && gear->port_count;
	size_t count = 0;
	for (size_t i = 0; i < listing->count; i++) {
		const struct listing_reading *one = &listing->reading[i];
		bool known = roster && one->port == PM_NO_PORT;   /* a stranger is none of the roster */
		for (size_t k = 0; k < i && !known; k++) {
			const struct listing_reading *before = &listing->reading[k];
			known = roster ? before->port == one->port : strcmp(before->interface, one->interface) == 0;
		}
		count += !known;
	}
	return count;
}
