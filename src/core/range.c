#include "portmuster/range.h"

#include <stddef.h>

/* Sources that were read are named plainly; the others say so. */
#define RFC_DOC "RFC 9542 2.1.4"
#define RFC_9542 "RFC 9542"
#define BRIDGE "IEEE 802.1Q reserved group addresses, secondary source"
#define MEMORY "from memory"

/* First and last as the documents print them; where rows overlap the narrower
 * one is found. */
static const struct pm_range ranges[] = {
	{ 0x000000000000, 0x000000000000, PM_RANGE_NULL, "null address", MEMORY, NULL },
	{ 0xFFFFFFFFFFFF, 0xFFFFFFFFFFFF, PM_RANGE_BROADCAST, "broadcast", MEMORY, NULL },

	/* individual addresses of the block 00-00-5E */
	{ 0x00005E000000, 0x00005E0000FF, PM_RANGE_RESERVED, "IANA reserved", RFC_9542, NULL },
	{ 0x00005E000100, 0x00005E0001FF, PM_RANGE_RESERVED, "VRRP IPv4 block, VRID 0 is not valid",
	  "RFC 9568 7.3", NULL },
	{ 0x00005E000101, 0x00005E0001FF, PM_RANGE_RESERVED, "VRRP IPv4 virtual router",
	  "RFC 9568 7.3", "VRID" },
	{ 0x00005E000200, 0x00005E0002FF, PM_RANGE_RESERVED, "VRRP IPv6 block, VRID 0 is not valid",
	  "RFC 9568 7.3", NULL },
	{ 0x00005E000201, 0x00005E0002FF, PM_RANGE_RESERVED, "VRRP IPv6 virtual router",
	  "RFC 9568 7.3", "VRID" },
	{ 0x00005E005213, 0x00005E005213, PM_RANGE_RESERVED, "Proxy Mobile IPv6 gateways",
	  "RFC 6543, " MEMORY, NULL },
	{ 0x00005E005300, 0x00005E0053FF, PM_RANGE_DOCUMENTATION, "documentation", RFC_DOC, NULL },

	/* group addresses of the same block */
	{ 0x01005E000000, 0x01005E7FFFFF, PM_RANGE_GROUP, "IPv4 multicast", RFC_9542, NULL },
	{ 0x01005E800000, 0x01005E8FFFFF, PM_RANGE_GROUP, "MPLS multicast", RFC_9542, NULL },
	{ 0x01005E901000, 0x01005E9010FF, PM_RANGE_DOCUMENTATION, "documentation multicast", RFC_DOC, NULL },

	{ 0x333300000000, 0x3333FFFFFFFF, PM_RANGE_GROUP, "IPv6 multicast", "RFC 9542 2.3.1", NULL },
	{ 0xCF0000000000, 0xCFFFFFFFFFFF, PM_RANGE_RESERVED, "CF series, reserved", "RFC 7042", NULL },

	/* bridges never forward the first sixteen */
	{ 0x0180C2000000, 0x0180C200000F, PM_RANGE_GROUP, "802.1 reserved group address", BRIDGE, NULL },
	{ 0x0180C2000000, 0x0180C2000000, PM_RANGE_GROUP, "802.1 bridge group address (spanning tree)",
	  BRIDGE, NULL },
	{ 0x0180C2000001, 0x0180C2000001, PM_RANGE_GROUP, "802.3 MAC control (pause)", BRIDGE, NULL },
	{ 0x0180C2000002, 0x0180C2000002, PM_RANGE_GROUP, "802.3 slow protocols (link aggregation)",
	  BRIDGE, NULL },
	{ 0x0180C2000003, 0x0180C2000003, PM_RANGE_GROUP, "802.1X port access", BRIDGE, NULL },
	{ 0x0180C2000008, 0x0180C2000008, PM_RANGE_GROUP, "802.1 provider bridge group address",
	  BRIDGE, NULL },
	{ 0x0180C200000D, 0x0180C200000D, PM_RANGE_GROUP, "802.1 provider bridge MVRP", BRIDGE, NULL },
	{ 0x0180C200000E, 0x0180C200000E, PM_RANGE_GROUP, "802.1AB nearest bridge (LLDP)", BRIDGE, NULL },
	{ 0x0180C2000020, 0x0180C200002F, PM_RANGE_GROUP, "802.1 registration protocols (MRP)",
	  BRIDGE, NULL },
	{ 0x0180C2000030, 0x0180C200003F, PM_RANGE_GROUP, "802.1 connectivity fault management",
	  BRIDGE, NULL },
};

const struct pm_range *pm_range_find(const struct pm_eui48 *address)
{
	uint64_t number = pm_eui48_number(address);
	const struct pm_range *best = NULL;
	for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++) {
		const struct pm_range *row = &ranges[i];
		if (number < row->first || number > row->last)
			continue;
		if (!best || row->last - row->first < best->last - best->first)
			best = row;
	}
	return best;
}

const struct pm_range *pm_range_table(size_t *count)
{
	*count = sizeof ranges / sizeof *ranges;
	return ranges;
}
