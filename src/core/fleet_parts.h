/* fleet_parts.h - what the fleet's sources share. Private to the core. */
#ifndef CORE_FLEET_PARTS_H
#define CORE_FLEET_PARTS_H

#include "portmuster/fleet.h"
#include "portmuster/text.h"

/* --- hashes: FNV-1a with 64 bits ---------------------------------------------
 * Two texts of one hash are still compared where both are at hand. */

#define FLEET_HASH_START 14695981039346656037u

/* Take one more text into a hash; null and the empty text are not the same. */
uint64_t fleet_hash(uint64_t hash, const char *text);

/* The same without regard to ASCII case and to blanks at the ends. */
uint64_t fleet_hash_name(uint64_t hash, const char *text);

/* Stir the bits of a finished hash; never 0. */
uint64_t fleet_hash_end(uint64_t hash);

/* A key under which practice sites are never found beside the others. */
static inline uint64_t fleet_key_apart(uint64_t key, bool practice)
{
	return (fleet_hash_end(key) & ~(uint64_t)1) | practice;
}

/* --- sorting ----------------------------------------------------------------- */

struct fleet_key {
	uint64_t key;
	uint32_t site, item;
};

struct fleet_keys {
	struct fleet_key *key;
	size_t count;
};

/* Sort by key; equal ones keep their order. `scratch` gives the room for it.
 * False when memory ran out. */
bool fleet_sort(struct fleet_keys *keys, struct pm_arena *scratch);

/* A signed number as a key that sorts alike. */
static inline uint64_t fleet_signed_key(int64_t number)
{
	return (uint64_t)number ^ (uint64_t)1 << 63;
}

/* The first place at which `key` stands, or would stand. */
size_t fleet_find(const struct fleet_keys *keys, uint64_t key);

/* Who a plan or a condition means; the technician when it is nobody known. */
enum pm_holder fleet_holder(const char *who);

/* --- summaries ----------------------------------------------------------------- */

/* A copy that is safe to show; never null but when memory ran out. */
const char *fleet_keep(struct pm_arena *arena, const char *text);

/* Fill the phases, what holds the job and who; false when memory ran out. */
bool fleet_keep_phases(const struct pm_case *c, const struct pm_result *result, struct pm_arena *arena,
                       struct pm_site_summary *out);
bool fleet_keep_wait(const struct pm_case *c, const struct pm_result *result, struct pm_arena *arena,
                     struct pm_site_summary *out);

/* Does the phase that opens by the window lack nothing but the time? */
bool fleet_set(const struct pm_result *result, const struct pm_site_summary *site);

/* --- the check ---------------------------------------------------------------- */

struct fleet_check {
	const struct pm_fleet *fleet;
	struct pm_when now;
	struct pm_arena *arena;      /* for what is handed out */
	struct pm_arena scratch;     /* for the check itself */
	struct pm_fleet_findings *findings;
};

/* Add a finding about `count` sites with the severity of the code's row. */
struct pm_fleet_finding *fleet_add(struct fleet_check *check, enum pm_code code, const uint32_t *site,
                                   size_t count, const struct pm_text *message);

/* "FILE (CODE)", safe to show. */
void fleet_name(struct pm_text *text, const struct pm_site_summary *site);

/* Two sites and their windows: "CREW has A until ... and B from ...". */
void fleet_say_two(struct pm_text *text, const struct pm_site_summary *first, const struct pm_site_summary *second);

/* Does its window still bind the crew? And are two sites of one? */
bool fleet_booked(const struct fleet_check *check, const struct pm_site_summary *site);
bool fleet_same_crew(const struct pm_site_summary *a, const struct pm_site_summary *b);

/* A way's two ends as one key, the same in either direction. */
uint64_t fleet_way_key(const struct pm_travel *way);

/* Each family of rules; false when memory ran out. */
bool fleet_check_same(struct fleet_check *check);
bool fleet_check_windows(struct fleet_check *check);
bool fleet_check_ways(struct fleet_check *check);
bool fleet_check_days(struct fleet_check *check);

#endif
