/* A damaged or hostile time zone is never read out of bounds, and what is accepted keeps
 * its promises: a wall time is shown at the instants that it is said to be shown at. An
 * input that begins with an odd byte is taken as a footer; any other as a file. */
#include <stdlib.h>
#include <string.h>

#include "portmuster/zone.h"
#include "zone_bytes.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool holds)
{
	if (!holds)
		abort();
}

static void ask_wall(const struct pm_zone *zone, int64_t wall)
{
	struct pm_wall found = pm_zone_wall(zone, wall);
	demand(found.count <= 2);
	for (unsigned i = 0; i < found.count; i++)
		demand(found.second[i] + pm_zone_at(zone, found.second[i]).offset == wall);
	if (found.count == 2)
		demand(found.second[0] < found.second[1]);
	if (found.count == 0)
		demand(found.from <= wall && wall < found.to && found.from < found.to);
}

static void ask(const struct pm_zone *zone, int64_t second)
{
	struct pm_zone_time time = pm_zone_at(zone, second);
	demand(time.offset > -90000 && time.offset < 93600);
	demand(time.abbreviation[0] && strlen(time.abbreviation) < 32);
	/* beyond this the zone's own bounds answer */
	if (second < -((int64_t)1 << 50) || second > (int64_t)1 << 50)
		return;
	struct pm_wall found = pm_zone_wall(zone, second + time.offset);
	demand(found.count == 1 ? found.second[0] == second
	                        : found.count == 2 && found.second[0] <= second && second <= found.second[1]);
	ask_wall(zone, second);
	ask_wall(zone, second + time.offset + 1800);
	char said[200];
	struct pm_text text;
	pm_text_fixed(&text, said, sizeof said);
	pm_zone_say_window(&text, zone, pm_when_utc(second), pm_when_utc(second + 3600));
	for (const char *c = said; *c; c++)
		demand(*c >= ' ' && *c < 0x7F);
	demand(pm_zone_oddity(zone, pm_zone_when(zone, second)) == PM_OFFSET_USUAL || time.offset % 60 != 0);
}

static void use(const uint8_t *bytes, size_t size)
{
	struct pm_arena arena;
	struct pm_zone zone;
	struct pm_fault fault = { 0 };
	pm_arena_init(&arena);
	if (pm_zone_read(&zone, "Area/Place", bytes, size, &arena, &fault)) {
		for (size_t i = 0; i < zone.change_count && i < 300; i++) {
			ask(&zone, zone.change[i] - 1);
			ask(&zone, zone.change[i]);
		}
		for (int64_t day = -200; day < 2000; day += 17)
			ask(&zone, 1767225600 + day * 86400 + day * 977);
		ask(&zone, INT64_MIN);
		ask(&zone, INT64_MAX);
	} else {
		demand(fault.kind == PM_FAULT_SYNTAX && fault.message[0]);
	}
	pm_arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	if (size == 0 || !(data[0] & 1)) {
		use(data, size);
		return 0;
	}
	char footer[200];
	struct zone_bytes z;
	size_t length = size - 1 < sizeof footer - 1 ? size - 1 : sizeof footer - 1;
	memcpy(footer, data + 1, length);
	footer[length] = '\0';
	zone_put_footer(&z, footer);
	use(z.byte, z.length);
	return 0;
}
