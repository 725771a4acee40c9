#include "portmuster/registry.h"

#include <string.h>

#include <sodium.h>

#include "portmuster/text.h"

/* The header, little-endian throughout (docs/registry.md):
 *    0  "PMREGIX1"
 *    8  length of the whole index
 *   12  rows of each register in the source files, repeats counted
 *   28  rows of 24, 28 and 36 bits that follow the header
 *   40  where the names begin
 *   44  bytes of names
 *   48  origin, 52 date: offsets into the names
 *   56  SHA-256 of everything before and after it
 *   88  the rows
 * A row is 8 bytes of base address (48 bits), marks (8 bits) and holders (8
 * bits), then 4 bytes of name offset. */
#define MAGIC "PMREGIX"
#define VERSION '1'

enum {
	AT_LENGTH = 8, AT_ROWS = 12, AT_COUNT = 28, AT_NAMES = 40, AT_NAMES_LENGTH = 44,
	AT_ORIGIN = 48, AT_DATED = 52, AT_DIGEST = 56
};

#define MARK_REGISTER 0x03u
#define MARK_LISTED 0x04u
#define MARK_SPLIT 0x08u
#define ADDRESS_BITS 0xFFFFFFFFFFFFu

static const unsigned part_bits[PM_BLOCK_SIZES] = { 24, 28, 36 };

static uint32_t get32(const unsigned char *at)
{
	return at[0] | (uint32_t)at[1] << 8 | (uint32_t)at[2] << 16 | (uint32_t)at[3] << 24;
}

static uint64_t get64(const unsigned char *at)
{
	return get32(at) | (uint64_t)get32(at + 4) << 32;
}

static void put32(unsigned char *at, uint32_t value)
{
	for (unsigned i = 0; i < 4; i++, value >>= 8)
		at[i] = (unsigned char)value;
}

static void get_row(const struct pm_registry_part *part, uint32_t index, struct pm_registry_row *row)
{
	const unsigned char *at = part->rows + (size_t)index * PM_REGISTRY_ROW;
	uint64_t word = get64(at);
	unsigned marks = word >> 48 & 0xFF;
	*row = (struct pm_registry_row){
		.base = word & ADDRESS_BITS,
		.name = get32(at + 8),
		.from = (enum pm_register)(marks & MARK_REGISTER),
		.holders = (uint8_t)(word >> 56),
		.listed = marks & MARK_LISTED,
		.split = marks & MARK_SPLIT,
	};
}

void pm_registry_put_row(unsigned char out[static PM_REGISTRY_ROW], const struct pm_registry_row *row)
{
	uint32_t marks = (uint32_t)row->from | (row->listed ? MARK_LISTED : 0) | (row->split ? MARK_SPLIT : 0);
	put32(out, (uint32_t)row->base);
	put32(out + 4, (uint32_t)(row->base >> 32 & 0xFFFF) | marks << 16 | (uint32_t)row->holders << 24);
	put32(out + 8, row->name);
}

static uint64_t names_begin(const uint32_t count[static PM_BLOCK_SIZES])
{
	uint64_t rows = 0;
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++)
		rows += count[p];
	return PM_REGISTRY_HEADER + rows * PM_REGISTRY_ROW;
}

size_t pm_registry_size(const struct pm_registry_layout *layout)
{
	uint64_t size = names_begin(layout->count) + layout->names_length;
	return size > UINT32_MAX ? 0 : (size_t)size;
}

static void digest_of(const unsigned char *bytes, size_t length, unsigned char out[static 32])
{
	crypto_hash_sha256_state state;
	crypto_hash_sha256_init(&state);
	crypto_hash_sha256_update(&state, bytes, AT_DIGEST);
	crypto_hash_sha256_update(&state, bytes + PM_REGISTRY_HEADER, length - PM_REGISTRY_HEADER);
	crypto_hash_sha256_final(&state, out);
}

void pm_registry_put_header(unsigned char *bytes, const struct pm_registry_layout *layout)
{
	size_t length = pm_registry_size(layout);
	memcpy(bytes, MAGIC, sizeof MAGIC - 1);
	bytes[sizeof MAGIC - 1] = VERSION;
	put32(bytes + AT_LENGTH, (uint32_t)length);
	for (unsigned r = 0; r < PM_REGISTERS; r++)
		put32(bytes + AT_ROWS + 4 * r, layout->rows[r]);
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++)
		put32(bytes + AT_COUNT + 4 * p, layout->count[p]);
	put32(bytes + AT_NAMES, (uint32_t)names_begin(layout->count));
	put32(bytes + AT_NAMES_LENGTH, layout->names_length);
	put32(bytes + AT_ORIGIN, layout->origin);
	put32(bytes + AT_DATED, layout->dated);
	digest_of(bytes, length, bytes + AT_DIGEST);
}

static bool bad(struct pm_fault *fault, enum pm_fault_kind kind, const char *why)
{
	pm_fail(fault, kind, (struct pm_place){ 0 }, "%s", why);
	return pm_fail_remedy(fault, "build the index anew with \"portmuster registry --build\"");
}

bool pm_registry_open(struct pm_registry *registry, const void *bytes, size_t length,
                      struct pm_fault *fault)
{
	const unsigned char *at = bytes;
	if (length < PM_REGISTRY_HEADER || memcmp(at, MAGIC, sizeof MAGIC - 1) != 0)
		return bad(fault, PM_FAULT_SYNTAX, "not a registry index: it does not begin as one");
	if (at[sizeof MAGIC - 1] != VERSION)
		return bad(fault, PM_FAULT_NEWER, "registry index of another version of the format");
	if (get32(at + AT_LENGTH) != length)
		return bad(fault, PM_FAULT_SYNTAX, "damaged registry index: its length is not the one it states");

	struct pm_registry found = { .bytes = at, .length = length };
	uint32_t count[PM_BLOCK_SIZES];
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++)
		count[p] = get32(at + AT_COUNT + 4 * p);
	uint64_t names = names_begin(count);
	found.names_length = get32(at + AT_NAMES_LENGTH);
	if (get32(at + AT_NAMES) != names || names + found.names_length != length)
		return bad(fault, PM_FAULT_SYNTAX, "damaged registry index: its sections do not add up");
	if (found.names_length == 0 || at[length - 1] != '\0')
		return bad(fault, PM_FAULT_SYNTAX, "damaged registry index: its last name has no end");
	uint32_t origin = get32(at + AT_ORIGIN), dated = get32(at + AT_DATED);
	if (origin >= found.names_length || dated >= found.names_length)
		return bad(fault, PM_FAULT_SYNTAX, "damaged registry index: its origin lies outside of it");

	const unsigned char *rows = at + PM_REGISTRY_HEADER;
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++) {
		found.part[p] = (struct pm_registry_part){ rows, count[p] };
		rows += (size_t)count[p] * PM_REGISTRY_ROW;
	}
	found.names = (const char *)bytes + names;
	found.origin = found.names + origin;
	found.dated = found.names + dated;
	for (unsigned r = 0; r < PM_REGISTERS; r++)
		found.rows[r] = get32(at + AT_ROWS + 4 * r);
	*registry = found;
	return true;
}

static uint64_t block_base(uint64_t address, unsigned part)
{
	return address & ADDRESS_BITS << (48 - part_bits[part]);
}

bool pm_registry_check(const struct pm_registry *registry, struct pm_fault *fault)
{
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++) {
		uint64_t last = 0;
		for (uint32_t i = 0; i < registry->part[p].count; i++) {
			struct pm_registry_row row;
			get_row(&registry->part[p], i, &row);
			if (row.base != block_base(row.base, p) || (i && row.base <= last))
				return bad(fault, PM_FAULT_SYNTAX, "damaged registry index: a row is out of order");
			if (row.name >= registry->names_length)
				return bad(fault, PM_FAULT_SYNTAX, "damaged registry index: a row names nothing");
			last = row.base;
		}
	}
	unsigned char digest[32];
	digest_of(registry->bytes, registry->length, digest);
	if (memcmp(digest, registry->bytes + AT_DIGEST, sizeof digest) != 0)
		return bad(fault, PM_FAULT_SYNTAX, "damaged registry index: its contents do not match its digest");
	return true;
}

/* The row of `base`, by halving. A row whose name lies outside the index is
 * damage and counts as absent: it must not pass for an assignment. */
static bool find_row(const struct pm_registry *registry, unsigned part, uint64_t base,
                     struct pm_registry_row *row)
{
	uint32_t low = 0, high = registry->part[part].count;
	while (low < high) {
		uint32_t middle = low + (high - low) / 2;
		get_row(&registry->part[part], middle, row);
		if (row->base == base)
			return row->name < registry->names_length;
		if (row->base < base)
			low = middle + 1;
		else
			high = middle;
	}
	return false;
}

static void fill_block(const struct pm_registry *registry, unsigned part,
                       const struct pm_registry_row *row, struct pm_block *block)
{
	*block = (struct pm_block){
		.bits = part_bits[part],
		.prefix = row->base >> (48 - part_bits[part]),
		.from = row->from,
		.holders = row->holders,
		.holder = registry->names + row->name,
	};
}

enum pm_assignment pm_registry_find(const struct pm_registry *registry,
                                    const struct pm_eui48 *address, struct pm_block *block)
{
	*block = (struct pm_block){ .holder = "" };
	if (pm_eui48_is_group(address) || pm_eui48_is_local(address))
		return PM_NOT_APPLICABLE;
	uint64_t number = pm_eui48_number(address);
	struct pm_registry_row row;
	for (unsigned p = PM_BLOCK_SIZES; p--; ) {
		if (!find_row(registry, p, block_base(number, p), &row))
			continue;
		if (row.listed)
			fill_block(registry, p, &row, block);
		if (row.split)
			return PM_BLOCK_UNLISTED;
		return row.listed ? PM_ASSIGNED : PM_UNASSIGNED;
	}
	return PM_UNASSIGNED;
}

const char *pm_block_prefix(const struct pm_block *block, char out[static 10])
{
	struct pm_text text;
	pm_text_fixed(&text, out, 10);
	unsigned digits = block->bits / 4 < 10 ? block->bits / 4 : 9;
	for (unsigned i = digits; i--; )
		pm_text_char(&text, "0123456789ABCDEF"[block->prefix >> 4 * i & 15]);
	return out;
}

const char *pm_register_name(enum pm_register from)
{
	switch (from) {
	case PM_MA_L: return "MA-L";
	case PM_MA_M: return "MA-M";
	case PM_MA_S: return "MA-S";
	case PM_IAB: return "IAB";
	case PM_REGISTERS: break;
	}
	return "unknown";
}
