#include "store/fields.h"

#include "portmuster/fleet.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))
#define AT(member) .offset = offsetof(struct pm_fleet_options, member), .also = STORE_NOWHERE
#define WAY(member) .offset = offsetof(struct pm_travel, member), .also = STORE_NOWHERE

static const struct store_field travel_fields[] = {
	{ "from", STORE_TEXT, STORE_REQUIRED, WAY(from), .accepts = "a site code", .meaning = "one end of the way" },
	{ "to", STORE_TEXT, STORE_REQUIRED, WAY(to), .accepts = "a site code", .meaning = "its other end" },
	{ "minutes", STORE_WHOLE, STORE_REQUIRED, WAY(minutes), .least = 1, .most = 14400,
	  .meaning = "how long it takes, in either direction" },
};

static const struct store_table travel_table = { "way", travel_fields, COUNT(travel_fields), sizeof(struct pm_travel) };

static const struct store_field fleet_fields[] = {
	{ "format", STORE_WHOLE, STORE_REQUIRED, AT(format), .least = 1, .most = STORE_FORMAT,
	  .meaning = "number of this format; a newer one is refused" },
	{ "deadline", STORE_TEXT, STORE_OPTIONAL, AT(deadline), .accepts = "RFC 3339 full-date",
	  .meaning = "the last day on which a site may be finished; none when not given" },
	{ "desk-daily", STORE_WHOLE, STORE_OPTIONAL, AT(desk_daily), .least = 0, .most = 10000,
	  .meaning = "appointments that the desk takes in one day; 0, or not given: any number" },
	{ "desk-offset", STORE_TEXT, STORE_OPTIONAL, AT(desk_offset), .accepts = "such as `+01:00` or `Z`",
	  .meaning = "how far the desk's day is ahead of UTC; Z when not given" },
	{ "stall-days", STORE_WHOLE, STORE_OPTIONAL, AT(stall_days), .least = 0, .most = 3650,
	  .meaning = "days without a reading after which a job counts as stalled; 14 when not given, 0: never" },
	{ "soon-hours", STORE_WHOLE, STORE_OPTIONAL, AT(soon_hours), .least = 0, .most = 8760,
	  .meaning = "hours before a window by which the site must be ready for it; 48 when not given, 0: not looked at" },
	{ "work-hours", STORE_WHOLE, STORE_OPTIONAL, AT(work_hours), .least = 1, .most = 24,
	  .meaning = "hours in which a crew works on one day, for the forecast; 8 when not given" },
	{ "travel", STORE_MAPPINGS, STORE_OPTIONAL, .offset = offsetof(struct pm_fleet_options, travel),
	  .also = offsetof(struct pm_fleet_options, travel_count), .table = &travel_table,
	  .meaning = "how long the way between two sites takes" },
};

const struct store_table store_fleet_table =
	{ "fleet", fleet_fields, COUNT(fleet_fields), sizeof(struct pm_fleet_options) };
