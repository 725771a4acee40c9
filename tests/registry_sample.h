/* registry_sample.h - a small index with invented holders, for tests. */
#ifndef TESTS_REGISTRY_SAMPLE_H
#define TESTS_REGISTRY_SAMPLE_H

#include <stdlib.h>
#include <string.h>

#include "portmuster/registry.h"

struct sample_row { uint64_t base; const char *holder; enum pm_register from; uint8_t holders; bool split; };

/* Sorted within each length, as an index has them. */
static const struct sample_row sample_24[] = {
	{ 0x00005E000000, "numbers office", PM_MA_L, 1, false },
	{ 0x001BC5000000, "the authority", PM_MA_L, 1, true },
	{ 0x080030000000, "first of three", PM_MA_L, 3, false },
	{ 0x100000000000, "", PM_MA_L, 1, false },                   /* a holder without a name */
	{ 0x1100AA000000, "group by its bits", PM_MA_L, 1, false },
	{ 0x1C8879000000, NULL, PM_MA_L, 0, true },                  /* split, without a row */
	{ 0x741AE0000000, "the authority", PM_MA_L, 1, true },
	{ 0xAA0004000000, "local by its bits", PM_MA_L, 1, false },
	{ 0xFCFFFF000000, "last maker", PM_MA_L, 1, false },
};
static const struct sample_row sample_28[] = {
	{ 0x1C8879000000, "middle maker", PM_MA_M, 1, false },
	{ 0x741AE0900000, "middle maker", PM_MA_M, 1, false },
};
static const struct sample_row sample_36[] = {
	{ 0x001BC5000000, "small maker", PM_MA_S, 1, false },
	{ 0x0050C27D5000, "old small maker", PM_IAB, 1, false },
	{ 0x741AE0955000, "smallest inside the middle", PM_MA_S, 1, false },
};

static const struct { const struct sample_row *row; size_t count; } sample_parts[PM_BLOCK_SIZES] = {
	{ sample_24, sizeof sample_24 / sizeof *sample_24 },
	{ sample_28, sizeof sample_28 / sizeof *sample_28 },
	{ sample_36, sizeof sample_36 / sizeof *sample_36 },
};

/* The index in memory of its own, exactly as long as it is: the sanitizer then
 * sees a read of one byte too many. Free it. */
static inline unsigned char *sample_index(size_t *length)
{
	char names[1024] = { 0 };
	size_t at = 1;
	struct pm_registry_layout layout = { .rows = { 10, 2, 2, 1 } };
	struct pm_registry_row row[32];
	size_t rows = 0;
	layout.origin = (uint32_t)at;
	at += strlen(strcpy(names + at, "a test")) + 1;
	layout.dated = (uint32_t)at;
	at += strlen(strcpy(names + at, "2026-01-15")) + 1;
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++)
		for (size_t i = 0; i < sample_parts[p].count; i++) {
			const struct sample_row *from = &sample_parts[p].row[i];
			row[rows++] = (struct pm_registry_row){
				.base = from->base, .name = from->holder && from->holder[0] ? (uint32_t)at : 0,
				.from = from->from, .holders = from->holders,
				.listed = from->holder != NULL, .split = from->split,
			};
			if (from->holder && from->holder[0])
				at += strlen(strcpy(names + at, from->holder)) + 1;
			layout.count[p]++;
		}
	layout.names_length = (uint32_t)at;
	*length = pm_registry_size(&layout);
	unsigned char *bytes = malloc(*length);
	if (!bytes)
		abort();
	for (size_t i = 0; i < rows; i++)
		pm_registry_put_row(bytes + PM_REGISTRY_HEADER + i * PM_REGISTRY_ROW, &row[i]);
	memcpy(bytes + PM_REGISTRY_HEADER + rows * PM_REGISTRY_ROW, names, at);
	pm_registry_put_header(bytes, &layout);
	return bytes;
}

#endif
