/* What the conversation says of itself. */
#include <string.h>

#include "capture/talk_parts.h"
#include "portmuster/roster.h"
#include "portmuster/text.h"

#define NAMED_MOST 4   /* interfaces that a pass lacks, by name */

size_t talk_roster(const struct talk *talk)
{
	return talk->options.gear ? talk->options.gear->port_count : 0;
}

size_t talk_missing(const struct talk *talk)
{
	size_t all = talk_roster(talk);
	if (all == 0) return 1;
	return all > talk->interfaces ? all - talk->interfaces : 0;
}

int64_t talk_boot_limit(const struct talk *talk)
{
	int64_t most = talk->options.gear && talk->options.gear->boot_most > 0 ? talk->options.gear->boot_most : TALK_BOOT_MOST;
	int64_t least = talk->options.patience * (talk->options.retries + 1);   /* no shorter than silence is borne */
	return most * 1000 > least ? most * 1000 : least;
}

static void add_count(struct pm_text *text, const struct talk *talk, size_t interfaces)
{
	if (talk_roster(talk)) pm_text_add(text, "%zu of %zu interfaces", interfaces, talk_roster(talk));
	else pm_text_add(text, "%zu interface%s", interfaces, interfaces == 1 ? "" : "s");
}

static void add_try(struct pm_text *text, unsigned tries, const struct talk *talk)
{
	pm_text_add(text, " (try %u of %u)", tries, talk->options.retries);
}

static void say_waking(struct pm_text *text, const struct talk *talk)
{
	pm_text_str(text, "waits for a prompt");
	if (talk->text && talk->lines)
		pm_text_add(text, ": the router is starting, %lld s of at most %lld s",
		            (long long)((talk->now - talk->stage_at) / 1000), (long long)(talk_boot_limit(talk) / 1000));
	else
		add_try(text, talk->tries, talk);
}

static void say_listing(struct pm_text *text, const struct talk *talk)
{
	pm_text_add(text, "pass %zu: ", talk->done_count + 1);
	add_count(text, talk, talk->interfaces);
	if (talk->stalls) {
		pm_text_str(text, ", waits for the prompt");
		add_try(text, talk->stalls + 1, talk);
	} else if (talk->tries > 1) {
		pm_text_str(text, ", asked again");
		add_try(text, talk->tries, talk);
	}
}

static bool has_port(const struct listing *listing, size_t port)
{
	for (size_t i = 0; i < listing->count; i++)
		if (listing->reading[i].port == port) return true;
	return false;
}

size_t talk_lacks(const struct talk *talk, size_t pass)
{
	size_t count = 0;
	for (size_t p = 0; p < talk_roster(talk); p++) count += !has_port(&talk->done[pass]->seen.listing, p);
	return count;
}

/* "13 of 13 interfaces", or "11 of 13 read, missing: port3, port7". */
static void add_pass(struct pm_text *text, const struct talk *talk, size_t pass)
{
	size_t lacks = talk_lacks(talk, pass), named = 0;
	if (lacks == 0) {
		add_count(text, talk, pass_interfaces(talk->done[pass], talk->options.gear));
		return;
	}
	pm_text_add(text, "%zu of %zu read, missing:", talk_roster(talk) - lacks, talk_roster(talk));
	for (size_t p = 0; p < talk_roster(talk) && named < NAMED_MOST; p++)
		if (!has_port(&talk->done[pass]->seen.listing, p)) {
			const char *name = talk->options.gear->ports[p].name.text;
			pm_text_str(text, named++ ? ", " : " ");
			pm_text_visible(text, name, strlen(name));
		}
	if (lacks > named) pm_text_add(text, " and %zu more", lacks - named);
}

static void say_done(struct pm_text *text, const struct talk *talk)
{
	bool whole = true;
	for (size_t i = 0; i < talk->done_count; i++) whole = whole && talk_lacks(talk, i) == 0;
	pm_text_add(text, "%zu pass%s %s:", talk->done_count, talk->done_count == 1 ? "" : "es", whole ? "complete" : "ended");
	for (size_t i = 0; i < talk->done_count; i++) {
		pm_text_str(text, !i ? " " : whole ? ", " : "; ");
		add_pass(text, talk, i);
	}
}

/* It ended at its prompt; that is no sign that nothing is missing. */
static void say_pause(struct pm_text *text, const struct talk *talk)
{
	if (talk_lacks(talk, talk->done_count - 1) == 0) {
		pm_text_add(text, "pass %zu is complete, a moment before the next", talk->done_count);
		return;
	}
	pm_text_add(text, "pass %zu ended, ", talk->done_count);
	add_pass(text, talk, talk->done_count - 1);
	pm_text_str(text, "; a moment before the next");
}

void talk_say(struct talk *talk)
{
	struct pm_text text;
	pm_text_fixed(&text, talk->saying, sizeof talk->saying);
	if (talk->restarted && talk->stage != TALK_DONE && talk->stage != TALK_FAILED)
		pm_text_add(&text, "the router started again, pass %zu begins anew; ", talk->done_count + 1);
	if (talk->cut && talk->stage == TALK_WATCHING)
		pm_text_add(&text, "more than %u MiB without a prompt, cut; ", (unsigned)(TALK_PASS_BYTES >> 20));
	switch (talk->stage) {
	case TALK_WATCHING:
		if (talk->tail == TAIL_LOGIN) {
			pm_text_str(&text, "the console asks for a login: log in by hand");
			break;
		}
		pm_text_str(&text, "reads along, ");
		say_listing(&text, talk);
		break;
	case TALK_WAKING:
		say_waking(&text, talk);
		break;
	case TALK_IDENTITY:
		pm_text_add(&text, "pass %zu: asks who the router is", talk->done_count + 1);
		if (talk->stalls) add_try(&text, talk->stalls + 1, talk);
		break;
	case TALK_LISTING:
		say_listing(&text, talk);
		break;
	case TALK_PAUSE:
		say_pause(&text, talk);
		break;
	case TALK_DONE:
		say_done(&text, talk);
		break;
	case TALK_FAILED:
		pm_text_str(&text, talk->why);
		break;
	}
}
