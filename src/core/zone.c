/* Reading a zone: TZif, RFC 9636 section 3. */
#include "portmuster/zone.h"

#include <string.h>

#include "core/zone_parts.h"

#define HEADER 44u
#define KIND 6u   /* bytes of a local time type */

struct reader {
	struct pm_zone *zone;
	struct pm_arena *arena;
	const unsigned char *bytes;
	size_t length, at;
};

/* The counts of one data block, in the order of the header. */
struct block {
	uint64_t ut_flags, standard_flags, leaps, changes, kinds, letters;
	unsigned time;   /* bytes of an instant */
};

static uint32_t word_at(const unsigned char *at)
{
	return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

/* Two's complement to a value, without leaning on how the machine casts. */
static int64_t signed_at(const unsigned char *at, unsigned bytes)
{
	uint64_t raw = word_at(at);
	if (bytes == 8)
		raw = raw << 32 | word_at(at + 4);
	else if (raw >> 31)
		raw |= ~(uint64_t)UINT32_MAX;
	return raw >> 63 ? -(int64_t)(~raw) - 1 : (int64_t)raw;
}

static const char *read_header(struct reader *r, unsigned time, struct block *block, unsigned char *version)
{
	const unsigned char *at = r->bytes + r->at;
	if (r->length - r->at < HEADER)
		return "it ends within a header";
	if (memcmp(at, "TZif", 4) != 0)
		return "no TZif header (RFC 9636)";
	*version = at[4];
	if (*version && (*version < '2' || *version > '9'))
		return "a version that RFC 9636 does not know";
	*block = (struct block){ word_at(at + 20), word_at(at + 24), word_at(at + 28), word_at(at + 32),
	                         word_at(at + 36), word_at(at + 40), time };
	r->at += HEADER;
	return NULL;
}

/* Each count is below 2 to the 32nd: the sum can't overflow. */
static uint64_t block_size(const struct block *b)
{
	return b->changes * (b->time + 1) + b->kinds * KIND + b->letters + b->leaps * (b->time + 4) + b->standard_flags + b->ut_flags;
}

static const char *read_changes(struct reader *r, const struct block *b)
{
	struct pm_zone *zone = r->zone;
	const unsigned char *at = r->bytes + r->at, *to = at + b->changes * b->time;
	zone->change = pm_arena_array(r->arena, (size_t)b->changes, sizeof *zone->change);
	zone->change_to = pm_arena_array(r->arena, (size_t)b->changes, sizeof *zone->change_to);
	if (!zone->change || !zone->change_to)
		return "out of memory";
	for (size_t i = 0; i < b->changes; i++) {
		int64_t when = signed_at(at + i * b->time, b->time);
		if (when < ZONE_EARLIEST || when > ZONE_LATEST)
			return "a change further than 2 to the 59th second";
		if (i && when <= zone->change[i - 1])
			return "changes that do not ascend";
		if (to[i] >= b->kinds)
			return "a change to a kind of time that it lacks";
		zone->change[i] = when;
		zone->change_to[i] = to[i];
	}
	zone->change_count = (size_t)b->changes;
	return NULL;
}

static const char *read_kinds(struct reader *r, const struct block *b)
{
	struct pm_zone *zone = r->zone;
	const unsigned char *at = r->bytes + r->at + b->changes * (b->time + 1);
	const char *letters = (const char *)at + b->kinds * KIND;
	zone->kind = pm_arena_array(r->arena, (size_t)b->kinds, sizeof *zone->kind);
	if (!zone->kind)
		return "out of memory";
	for (size_t i = 0; i < b->kinds; i++, at += KIND) {
		int64_t offset = signed_at(at, 4);
		size_t length = 0;
		if (offset < ZONE_WEST || offset > ZONE_EAST)
			return "an offset beyond a day";
		if (at[4] > 1)
			return "a summer time mark that is neither 0 nor 1";
		while (at[5] + length < b->letters && zone_abbreviates(letters[at[5] + length]) && length < ZONE_ABBREVIATION)
			length++;
		if (!length || length == ZONE_ABBREVIATION || at[5] + length >= b->letters || letters[at[5] + length])
			return "an abbreviation that is none";
		const char *abbreviation = pm_arena_copy(r->arena, letters + at[5], length);
		if (!abbreviation)
			return "out of memory";
		zone->kind[i] = (struct pm_zone_time){ (int32_t)offset, at[4] == 1, abbreviation };
	}
	zone->kind_count = (size_t)b->kinds;
	return NULL;
}

static const char *read_block(struct reader *r, const struct block *b)
{
	if (b->kinds < 1 || b->kinds > 256)
		return "no kinds of time, or more than can be told apart";
	if ((b->ut_flags && b->ut_flags != b->kinds) || (b->standard_flags && b->standard_flags != b->kinds))
		return "marks that do not match the kinds of time";
	if (b->leaps)
		return "it counts leap seconds, which no appointment does";
	const char *why = read_changes(r, b);
	return why ? why : read_kinds(r, b);
}

/* The footer: a line feed, a TZ string which may be empty, a line feed. */
static const char *read_footer(struct reader *r)
{
	const char *at = (const char *)r->bytes + r->at;
	size_t left = r->length - r->at;
	const char *end = left > 1 && *at == '\n' ? memchr(at + 1, '\n', left - 1) : NULL;
	if (!end)
		return "no footer at its end";
	if (end + 1 != at + left)
		return "something after the footer";
	struct pm_zone *zone = r->zone;
	const char *why = end == at + 1 ? NULL : zone_footer_read(zone, at + 1, (size_t)(end - at) - 1, r->arena);
	if (why || !zone->has_footer || !zone->change_count)
		return why;
	int64_t last = zone->change[zone->change_count - 1];
	const struct pm_zone_time *by_file = &zone->kind[zone->change_to[zone->change_count - 1]];
	const struct pm_zone_time *by_footer = zone_footer_at(zone, last).time;
	return by_footer->offset == by_file->offset && by_footer->summer == by_file->summer
		? NULL : "a footer that contradicts the last change";
}

static const char *read_whole(struct reader *r)
{
	struct block block;
	unsigned char version, again;
	const char *why = read_header(r, 4, &block, &version);
	if (why)
		return why;
	uint64_t size = block_size(&block);
	if (size > r->length - r->at)
		return "it ends within its data";
	if (!version) {
		why = read_block(r, &block);
		return why || size == r->length - r->at ? why : "something after the data";
	}
	/* the first block repeats in 32 bits what the second one has in 64 */
	r->at += (size_t)size;
	why = read_header(r, 8, &block, &again);
	if (why)
		return why;
	if (again != version)
		return "two headers of different versions";
	size = block_size(&block);
	if (size > r->length - r->at)
		return "it ends within its data";
	why = read_block(r, &block);
	if (why)
		return why;
	r->at += (size_t)size;
	return read_footer(r);
}

bool pm_zone_read(struct pm_zone *zone, const char *name, const void *bytes, size_t length,
                  struct pm_arena *arena, struct pm_fault *fault)
{
	struct reader reader = { zone, arena, bytes, length, 0 };
	char quoted[300];
	struct pm_text text;
	*zone = (struct pm_zone){ .name = pm_arena_copy(arena, name, strlen(name)) };
	const char *why = !zone->name ? "out of memory" : length > PM_ZONE_MOST_BYTES ? "it is too large" : read_whole(&reader);
	if (!why)
		return true;
	bool memory = arena->failed;
	*zone = (struct pm_zone){ 0 };
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, name);
	return memory ? pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory")
	              : pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ 0 }, "time zone %s can't be used: %s", quoted, why);
}
