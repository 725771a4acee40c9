/* Hashes and sorted keys: how the fleet finds what stands twice without holding
 * every site against every other. */
#include <string.h>

#include "core/fleet_parts.h"

#define FNV_PRIME 1099511628211u

static uint64_t take(uint64_t hash, unsigned char byte)
{
	return (hash ^ byte) * FNV_PRIME;
}

uint64_t fleet_hash(uint64_t hash, const char *text)
{
	if (!text)
		return take(hash, 1);
	for (; *text; text++)
		hash = take(hash, (unsigned char)*text);
	return take(hash, 0);
}

uint64_t fleet_hash_name(uint64_t hash, const char *text)
{
	size_t length = text ? strlen(text) : 0;
	while (length && pm_is_blank(*text))
		text++, length--;
	while (length && pm_is_blank(text[length - 1]))
		length--;
	for (size_t i = 0; i < length; i++)
		hash = take(hash, (unsigned char)pm_lower((unsigned char)text[i]));
	return take(hash, 0);
}

uint64_t fleet_hash_end(uint64_t hash)
{
	/* the last step of SplitMix64 (see forecast_draw.c) spreads every bit */
	hash = (hash ^ hash >> 30) * 0xBF58476D1CE4E5B9u;
	hash = (hash ^ hash >> 27) * 0x94D049BB133111EBu;
	hash ^= hash >> 31;
	return hash ? hash : 1;
}

/* Merge the two sorted runs [from, middle) and [middle, to). */
static void merge(const struct fleet_key *in, struct fleet_key *out, size_t from, size_t middle, size_t to)
{
	size_t a = from, b = middle;
	for (size_t at = from; at < to; at++)
		out[at] = a < middle && (b == to || in[a].key <= in[b].key) ? in[a++] : in[b++];
}

bool fleet_sort(struct fleet_keys *keys, struct pm_arena *scratch)
{
	size_t count = keys->count;
	struct fleet_key *other = pm_arena_array(scratch, count, sizeof *other);
	if (!other)
		return false;
	for (size_t run = 1; run < count; run *= 2) {
		for (size_t from = 0; from < count; from += 2 * run) {
			size_t middle = count - from > run ? from + run : count;
			size_t to = count - middle > run ? middle + run : count;
			merge(keys->key, other, from, middle, to);
		}
		struct fleet_key *sorted = other;
		other = keys->key;
		keys->key = sorted;
	}
	return true;
}

size_t fleet_find(const struct fleet_keys *keys, uint64_t key)
{
	size_t low = 0, high = keys->count;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		if (keys->key[middle].key < key)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}
