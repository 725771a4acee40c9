/* Reading a listing of whatever kind, as recognised and as the first byte says:
 * whole and in two pieces the same comes out, safe to show, and a profile's own
 * patterns read console text. */
#include <stdlib.h>
#include <string.h>

#include "capture/source.h"
#include "listing_text.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool holds)
{
	if (!holds)
		abort();
}

static const char *read_split(const uint8_t *data, size_t size, size_t split, const struct pm_gear *gear,
                              enum source_kind as, enum source_kind *kind, struct pm_arena *arena)
{
	struct listing listing;
	struct source *source = source_begin(&listing, gear, arena, as);
	demand(source && source_feed(source, data, split) && source_feed(source, data + split, size - split));
	demand(source_end(source, kind));
	demand(listing_is_sound(&listing, gear));
	return listing_text(&listing, gear != NULL, arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct pm_gear gear = roster_gear();
	gear.console.interface_line = (struct pm_word){ "^~~ .*leaf ([a-z0-9 ]+)$", 1, 1 };
	gear.console.address_line = (struct pm_word){ "^ +true name +(.*)$", 1, 1 };
	gear.console.serial_line = (struct pm_word){ "^plate ([^ ]+)", 1, 1 };
	for (int given = 0; given < 2; given++) {
		struct pm_arena arena;
		enum source_kind whole, pieces, as = given ? (size ? data[0] : 0u) % SOURCE_KINDS : SOURCE_AUTO;
		const struct pm_gear *use = size && data[size - 1] & 1 ? &gear : NULL;
		pm_arena_init(&arena);
		const char *a = read_split(data, size, 0, use, as, &whole, &arena);
		const char *b = read_split(data, size, size ? data[size / 2] * size / 256 : 0, use, as, &pieces, &arena);
		demand(a && b && strcmp(a, b) == 0 && whole == pieces);
		pm_arena_free(&arena);
	}
	return 0;
}
