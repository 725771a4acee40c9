/* listing_text.h - the practice gear's roster, and a listing as text to compare:
 * one item a line. */
#ifndef TESTS_LISTING_TEXT_H
#define TESTS_LISTING_TEXT_H

#include <stdio.h>

#include "capture/listing.h"
#include "portmuster/roster.h"
#include "portmuster/text.h"

#define ROSTER_PORTS 13

/* mgmt and port1 to port12; the console's manners are the caller's to set. */
static inline struct pm_gear roster_gear(void)
{
	static struct pm_port ports[ROSTER_PORTS];
	static char names[ROSTER_PORTS][8];
	for (int i = 0; i < ROSTER_PORTS; i++) {
		if (i) snprintf(names[i], sizeof names[i], "port%d", i);
		else memcpy(names[i], "mgmt", 5);
		ports[i].name = (struct pm_word){ names[i], 1, 1 };
	}
	return (struct pm_gear){ .ports = ports, .port_count = ROSTER_PORTS };
}

/* "LINE NAME ADDRESS", a "?" behind a name that is not on the roster; "LINE
 * serial NUMBER"; "LINE:COLUMN REASON: TEXT". Null when memory ran out. */
static inline const char *listing_text(const struct listing *listing, bool gear, struct pm_arena *arena)
{
	char address[PM_EUI48_TEXT];
	struct pm_text out;
	pm_text_grow(&out, arena);
	pm_text_str(&out, "");
	for (size_t i = 0; i < listing->count; i++)
		pm_text_add(&out, "%u %s%s %s\n", listing->reading[i].line, listing->reading[i].interface,
		            gear && listing->reading[i].port == PM_NO_PORT ? "?" : "",
		            pm_eui48_text(&listing->reading[i].address, address));
	for (size_t i = 0; i < listing->serial_count; i++)
		pm_text_add(&out, "%u serial %s\n", listing->serial[i].line, listing->serial[i].text);
	for (size_t i = 0; i < listing->problem_count; i++)
		pm_text_add(&out, "%u:%u %s: %s\n", listing->problem[i].line, listing->problem[i].column,
		            listing->problem[i].reason, listing->problem[i].text);
	return out.cut ? NULL : out.data ? out.data : "";
}

/* Can the text be shown? No control character, none of Unicode's either. */
static inline bool text_is_safe(const char *text)
{
	if (!text) return false;
	for (; *text; text++) {
		unsigned char c = (unsigned char)*text;
		if (c < 0x20 || c == 0x7F || (c == 0xC2 && (unsigned char)text[1] < 0xA0)) return false;
	}
	return true;
}

/* Every text, place and port that a listing shows. */
static inline bool listing_is_sound(const struct listing *listing, const struct pm_gear *gear)
{
	for (size_t i = 0; i < listing->count; i++) {
		const struct listing_reading *reading = &listing->reading[i];
		if (!text_is_safe(reading->interface) || !reading->interface[0]) return false;
		if (reading->line < 1 || reading->line > listing->lines) return false;
		if (reading->port != PM_NO_PORT && (!gear || reading->port >= gear->port_count)) return false;
	}
	for (size_t i = 0; i < listing->serial_count; i++)
		if (!text_is_safe(listing->serial[i].text) || listing->serial[i].line < 1 || listing->serial[i].column < 1) return false;
	for (size_t i = 0; i < listing->problem_count; i++) {
		const struct listing_problem *problem = &listing->problem[i];
		if (!text_is_safe(problem->text) || !text_is_safe(problem->reason) || problem->line < 1 || problem->column < 1) return false;
	}
	return true;
}

#endif
