/* Rules about the leading digits: the registry, the gear's prefixes, and one
 * prefix that stands alone among the others. */
#include <string.h>

#include "portmuster/range.h"
#include "portmuster/text.h"

#include "core/judge.h"

static struct pm_finding *about(const struct pm_case *c, struct pm_result *result, enum pm_code code,
                                size_t i, const char *message)
{
	const struct pm_call *call = &result->roster.call[i];
	struct pm_finding *finding = pm_findings_add(&result->findings, code, c->gear->training,
		judge_place(c->job, call->fact.first->value), "%s", message);
	if (!finding)
		return NULL;
	finding->interface = call->port->name.text;
	finding->field = call->fact.first->of.text;
	const struct pm_expect *e = &result->pattern.expect[i];
	if (e->breaks) {
		char text[PM_EUI48_TEXT];
		pm_eui48_text(&e->address, text);
		finding->suggestion = pm_arena_copy(result->findings.arena, text, strlen(text));
	}
	return finding;
}

static void in_registry(const struct pm_case *c, struct pm_result *result, size_t i)
{
	const struct pm_call *call = &result->roster.call[i];
	struct pm_block block;
	char text[PM_EUI48_TEXT];
	switch (pm_registry_find(c->registry, &call->address, &block)) {
	case PM_ASSIGNED:
	case PM_NOT_APPLICABLE:
		return;
	case PM_BLOCK_UNLISTED:
	case PM_UNASSIGNED:
		about(c, result, PM_PREFIX_UNASSIGNED, i,
		      pm_say(result->findings.arena, "%s reads %s: the registry (%s) lists no maker for its prefix",
		             call->port->name.text, pm_eui48_text(&call->address, text), c->registry->dated));
		return;
	}
}

/* Does the address begin with a prefix written as hex digits and hyphens? */
static bool begins_with(const struct pm_eui48 *address, const char *prefix)
{
	char digits[PM_EUI48_TEXT];
	pm_eui48_write(address, PM_BARE, false, digits);
	size_t at = 0;
	for (; *prefix; prefix++)
		if (*prefix != '-' && pm_upper(*prefix) != digits[at++])
			return false;
	return true;
}

static void in_gear(const struct pm_case *c, struct pm_result *result, size_t i)
{
	const struct pm_call *call = &result->roster.call[i];
	char text[PM_EUI48_TEXT];
	if (c->gear->prefixes.count == 0)
		return;
	for (size_t k = 0; k < c->gear->prefixes.count; k++)
		if (begins_with(&call->address, c->gear->prefixes.item[k].text))
			return;
	about(c, result, PM_PREFIX_UNEXPECTED, i,
	      pm_say(result->findings.arena, "%s reads %s: %s is not known to use that prefix",
	             call->port->name.text, pm_eui48_text(&call->address, text),
	             pm_quoted(result->findings.arena, c->gear->id.text)));
}

static uint64_t oui(const struct pm_call *call)
{
	return pm_eui48_number(&call->address) >> 24;
}

static void strays(const struct pm_case *c, struct pm_result *result)
{
	const struct pm_roster *roster = &result->roster;
	size_t valid = 0, most = 0;
	uint64_t usual = 0;
	for (size_t i = 0; i < roster->count; i++) {
		size_t same = 0;
		if (!roster->call[i].valid)
			continue;
		valid++;
		for (size_t k = 0; k < roster->count; k++)
			same += roster->call[k].valid && oui(&roster->call[k]) == oui(&roster->call[i]);
		if (same > most) {
			most = same;
			usual = oui(&roster->call[i]);
		}
	}
	/* one among several; two prefixes that both stand for groups are no stray */
	if (most < 3 || most + 1 != valid)
		return;
	for (size_t i = 0; i < roster->count; i++) {
		const struct pm_call *call = &roster->call[i];
		if (!call->valid || oui(call) == usual)
			continue;
		char text[PM_EUI48_TEXT];
		about(c, result, PM_PREFIX_STRAY, i,
		      pm_say(result->findings.arena, "%s reads %s: the other %zu begin with %02X-%02X-%02X",
		             call->port->name.text, pm_eui48_text(&call->address, text), most,
		             (unsigned)(usual >> 16), (unsigned)(usual >> 8 & 255), (unsigned)(usual & 255)));
	}
}

void judge_prefixes(const struct pm_case *c, struct pm_result *result)
{
	size_t valid = 0;
	for (size_t i = 0; i < result->roster.count; i++) {
		const struct pm_call *call = &result->roster.call[i];
		if (!call->valid)
			continue;
		valid++;
		if (c->registry)
			in_registry(c, result, i);
		in_gear(c, result, i);
	}
	if (valid && !c->registry)
		pm_findings_add(&result->findings, PM_REGISTRY_ABSENT, c->gear->training,
		                (struct pm_place){ c->job->file, 0, 0 },
		                "no registry index: the makers' prefixes of %zu addresses were not checked", valid);
	strays(c, result);
}
