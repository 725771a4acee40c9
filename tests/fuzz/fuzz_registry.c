/* A damaged or hostile registry index is never read out of bounds. An input
 * that begins with an odd byte is taken as rows and names, and gets a header
 * that fits, so that look-ups are reached; any other is taken as it is. */
#include <stdlib.h>
#include <string.h>

#include "portmuster/registry.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool holds)
{
	if (!holds)
		abort();
}

static void look_up(const struct pm_registry *registry, uint64_t number)
{
	struct pm_eui48 address = pm_eui48_from(number);
	struct pm_block block;
	char prefix[10];
	enum pm_assignment assignment = pm_registry_find(registry, &address, &block);
	demand(block.holder && strlen(block.holder) < registry->length);
	demand(strlen(pm_block_prefix(&block, prefix)) == block.bits / 4);
	demand(pm_register_name(block.from)[0] != '\0');
	demand(assignment != PM_ASSIGNED || block.bits != 0);
	demand(assignment != PM_UNASSIGNED || block.bits == 0);
	if (pm_eui48_is_group(&address) || pm_eui48_is_local(&address))
		demand(assignment == PM_NOT_APPLICABLE);
	if (block.bits)
		demand(block.prefix == pm_eui48_number(&address) >> (48 - block.bits));
}

static void use(const uint8_t *bytes, size_t size)
{
	struct pm_registry registry;
	struct pm_fault fault = { 0 };
	if (!pm_registry_open(&registry, bytes, size, &fault)) {
		demand(fault.kind != PM_FAULT_NONE && fault.message[0]);
		return;
	}
	demand(strlen(registry.origin) + strlen(registry.dated) < 2 * size);
	/* every run of six octets is an address to try, row bases among them */
	for (size_t i = 0; i + 6 <= size && i < 4096; i++) {
		uint64_t forward = 0, backward = 0;
		for (size_t o = 0; o < 6; o++) {
			forward = forward << 8 | bytes[i + o];
			backward = backward << 8 | bytes[i + 5 - o];
		}
		look_up(&registry, forward);
		look_up(&registry, backward);
	}
	pm_registry_check(&registry, &fault);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	if (size < 5 || !(data[0] & 1)) {
		use(data, size);
		return 0;
	}
	struct pm_registry_layout layout = { .count = { data[1], data[2], data[3] } };
	size_t rows = (size_t)PM_REGISTRY_ROW * ((size_t)data[1] + data[2] + data[3]);
	layout.origin = layout.dated = data[4];
	data += 5;
	size -= 5;
	if (rows >= size)
		return 0;
	layout.names_length = (uint32_t)(size - rows);
	size_t length = pm_registry_size(&layout);
	uint8_t *index = malloc(length);
	if (!index)
		return 0;
	memcpy(index + PM_REGISTRY_HEADER, data, size);
	index[length - 1] = '\0';
	pm_registry_put_header(index, &layout);
	use(index, length);
	free(index);
	return 0;
}
