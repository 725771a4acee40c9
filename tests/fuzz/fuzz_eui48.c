/* Reading an address: whatever is read can be written in every notation and
 * read again; whatever is not has a reason and a column inside the text. */
#include <stdlib.h>
#include <string.h>

#include "portmuster/eui48.h"
#include "portmuster/range.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool holds)
{
	if (!holds)
		abort();
}

static void known(const struct pm_eui48 *address)
{
	for (int n = 0; n < PM_NOTATIONS; n++)
		for (int lower = 0; lower < 2; lower++) {
			char text[PM_EUI48_TEXT];
			struct pm_eui48 again;
			size_t length = pm_eui48_write(address, (enum pm_notation)n, lower, text);
			demand(strlen(text) == length);
			demand(pm_eui48_read(text, length, &again, NULL, NULL));
			demand(pm_eui48_compare(address, &again) == 0);
		}
	uint8_t eui64[8];
	pm_eui48_modified_eui64(address, eui64);
	demand((eui64[0] ^ address->octet[0]) == 0x02);
	demand((pm_eui48_quadrant(address) != NULL) == pm_eui48_is_local(address));
	const struct pm_range *range = pm_range_find(address);
	uint64_t number = pm_eui48_number(address);
	demand(!range || (range->first <= number && number <= range->last));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	const char *text = (const char *)data;
	struct pm_eui48 address, near[8];
	struct pm_eui48_fault fault = { PM_EUI48_REASONS, 0 };
	enum pm_notation notation = PM_NOTATIONS;
	bool good = pm_eui48_read(text, size, &address, &notation, &fault);
	size_t nears = pm_eui48_near(text, size, near, 8);
	demand(nears <= 8);
	for (size_t i = 0; i < nears; i++)
		known(&near[i]);
	if (good) {
		demand(notation < PM_NOTATIONS && fault.reason == PM_EUI48_OK && nears == 0);
		known(&address);
	} else {
		demand(fault.reason > PM_EUI48_OK && fault.reason < PM_EUI48_REASONS);
		demand(fault.column >= 1 && fault.column <= size + 1);
	}
	return 0;
}
