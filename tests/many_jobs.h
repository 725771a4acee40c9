/* many_jobs.h - the text of any number of job files, for fleets too large to be
 * kept: made-up sites of the demonstration's service at five stages, from just
 * begun to twice mustered, about 6 KB on average.
 *
 * Addresses are locally administered, from one base a site, so that no two sites
 * have one in common. */
#ifndef TESTS_MANY_JOBS_H
#define TESTS_MANY_JOBS_H

#include <stdio.h>
#include <string.h>

#define MANY_JOBS_ROOM 16384
#define MANY_JOBS_STAGES 5

/* What a job says by the time it has come to a stage. */
static const struct many_reading {
	const char *of, *value, *source, *capture;
	unsigned stage;
} many_readings[] = {
	{ "step/outage", "agreed by the operations centre", "stated", NULL, 0 },
	{ "step/contact", "lead 1, Tavrane duty room", "stated", NULL, 0 },
	{ "kit/router", "1", "stated", NULL, 0 },
	{ "kit/power-lead", "1", "stated", NULL, 0 },
	{ "kit/strip", "1", "stated", NULL, 0 },
	{ "kit/locks", "1", "stated", NULL, 0 },
	{ "kit/tester", "1", "stated", NULL, 0 },
	{ "kit/strap", "1", "stated", NULL, 0 },
	{ "kit/bond-lead", "1", "stated", NULL, 0 },
	{ "kit/screws", "4", "stated", NULL, 0 },
	{ "kit/drivers", "1", "stated", NULL, 0 },
	{ "kit/net-leads", "3", "stated", NULL, 0 },
	{ "kit/caps", "4", "stated", NULL, 0 },
	{ "kit/console-lead", "1", "stated", NULL, 0 },
	{ "kit/lamp", "1", "stated", NULL, 0 },
	{ "kit/return-box", "1", "stated", NULL, 0 },
	{ "step/tester", "proving unit shown", "stated", NULL, 1 },
	{ "step/unit-state", "unmarked", "stated", NULL, 1 },
	{ "router/serial", "EG12-%02u-%05u", "label", "typed-1", 1 },
	{ "router/serial", "EG12-%02u-%05u", "label", "typed-2", 1 },
	{ "site/unit", "GU-%02u%05u", "label", "typed-1", 1 },
	{ "site/unit", "GU-%02u%05u", "label", "typed-2", 1 },
	{ "site/parent", "GP-07-C", "label", "typed-1", 1 },
	{ "site/parent", "GP-07-C", "label", "typed-2", 1 },
	{ "step/transmitter", "inhibited by the operations centre", "stated", NULL, 1 },
	{ "step/isolate", "locked and tagged, key with me", "stated", NULL, 1 },
	{ "step/dead", "no voltage, says a qualified colleague", "stated", NULL, 1 },
	{ "step/strap", "worn and clipped to the bonding point", "stated", NULL, 1 },
	{ "step/mount", "four screws tight, lifted by one", "stated", NULL, 2 },
	{ "step/bond", "tight at both ends", "stated", NULL, 2 },
	{ "step/route", "capped and labelled at both ends", "stated", NULL, 2 },
	{ "step/shut", "closed freely, tools counted", "stated", NULL, 2 },
	{ "step/gfp", "tripped and reset", "stated", NULL, 2 },
	{ "step/outlet", "229.8", "measured", NULL, 2 },
	{ "step/first-boot", "begun", "stated", NULL, 2 },
	{ "step/lamps", "steady status lamp", "stated", NULL, 2 },
	{ "step/console", "prompt is there", "stated", NULL, 2 },
	{ "step/console-off", "nothing was changed", "stated", NULL, 4 },
	{ "step/service-back", "seen again by the operations centre", "stated", NULL, 4 },
	{ "step/left", "capped terminal lead, router running", "stated", NULL, 4 },
};

struct many_text {
	char *at;
	size_t length, room, minute;
	unsigned number;
};

#define MANY_ADD(text, ...) \
	((text)->length += (size_t)snprintf((text)->at + (text)->length, (text)->room - (text)->length, __VA_ARGS__))

/* A reading as the program writes it: its pairs on two lines or three. */
static inline void many_put(struct many_text *text, const char *of, const char *value, const char *source, const char *capture)
{
	size_t minute = text->minute++;
	MANY_ADD(text, "  - { of: \"%s\", value: \"%s\", source: \"%s\", by: \"tech %u\",\n      at: \"2026-10-%02uT%02u:%02u:00Z\"",
	         of, value, source, text->number % 90 + 1, 1 + text->number % 9, (unsigned)(7 + minute / 60), (unsigned)(minute % 60));
	if (capture)
		MANY_ADD(text, ",%s capture: \"%s\"", strlen(capture) > 20 ? "\n     " : "", capture);
	MANY_ADD(text, " }\n");
}

/* Every interface, as read from the listing named `capture`. */
static inline void many_listing(struct many_text *text, unsigned second)
{
	char of[32], value[32], capture[72];
	snprintf(capture, sizeof capture, "%08x%08x%048x", text->number * 2654435761u, second, text->number * 2 + second);
	for (unsigned port = 0; port < 13; port++) {
		unsigned long low = (unsigned long)text->number * 32 + port;
		snprintf(of, sizeof of, port ? "port/port%u" : "port/mgmt", port);
		snprintf(value, sizeof value, "02-00-5E-%02lX-%02lX-%02lX", low >> 16 & 0xFF, low >> 8 & 0xFF, low & 0xFF);
		many_put(text, of, value, "console", capture);
	}
}

/* The text of job number `number` (from 0) at its stage; returns its length. */
static inline size_t many_job(unsigned number, char out[static MANY_JOBS_ROOM])
{
	struct many_text text = { out, 0, MANY_JOBS_ROOM, 0, number };
	unsigned stage = number % MANY_JOBS_STAGES;
	char value[64];
	MANY_ADD(&text, "# one site's router swap; readings are added below and never taken out\n"
	         "format: \"1\"\nplan: \"router-swap\"\ngear: \"eg-12\"\nsite:\n"
	         "  code: \"TB-%05u\"\n  name: \"Gauge %u\"\n  zone: \"Etc/UTC\"\n  unit: \"GU-%02u%05u\"\n  parent: \"GP-07-C\"\n"
	         "  crew: \"crew %u\"\n  due: \"2026-10-30\"\n  live: \"yes\"\nreadings:\n",
	         number, number, number / 100000, number % 100000, number % 40);
	for (size_t i = 0; i < sizeof many_readings / sizeof *many_readings; i++) {
		const struct many_reading *row = &many_readings[i];
		if (row->stage > stage)
			continue;
		if (row->stage == 4 && many_readings[i - 1].stage < 4)
			many_listing(&text, 1);
		/* the rows with a conversion are one site's own */
		const char *format = row->value;
		if (strstr(format, "EG12"))
			snprintf(value, sizeof value, "EG12-%02u-%05u", 26 + number / 100000, number % 100000);
		else if (strstr(format, "%02u"))
			snprintf(value, sizeof value, "GU-%02u%05u", number / 100000, number % 100000);
		else
			snprintf(value, sizeof value, "%s", format);
		many_put(&text, row->of, value, row->source, row->capture);
		if (stage >= 3 && !strcmp(row->of, "step/console"))
			many_listing(&text, 0);
	}
	return text.length < text.room ? text.length : 0;
}

#undef MANY_ADD
#endif
