/* Rules about the site's other equipment. */
#include <string.h>

#include "portmuster/range.h"
#include "portmuster/text.h"

#include "core/judge.h"

static struct pm_finding *about(const struct pm_case *c, struct pm_result *result, enum pm_code code,
                                const struct pm_attached *device, const char *message)
{
	struct pm_finding *finding = pm_findings_add(&result->findings, code, c->gear->training,
	                                             judge_place(c->job, device->address), "%s", message);
	if (finding)
		finding->field = pm_say(result->findings.arena, "attached/%s", device->name.text);
	return finding;
}

/* Whoever else in this job has the address: an interface or an earlier device. */
static const char *other_bearer(const struct pm_case *c, const struct pm_result *result, size_t index,
                                const struct pm_eui48 *address)
{
	struct pm_eui48 other;
	for (size_t i = 0; i < result->roster.count; i++)
		if (result->roster.call[i].valid && pm_eui48_compare(&result->roster.call[i].address, address) == 0)
			return result->roster.call[i].port->name.text;
	for (size_t i = 0; i < index; i++)
		if (pm_eui48_parse(c->job->attached[i].address.text, &other) && pm_eui48_compare(&other, address) == 0)
			return c->job->attached[i].name.text;
	return NULL;
}

static void judge_one(const struct pm_case *c, struct pm_result *result, size_t index)
{
	const struct pm_attached *device = &c->job->attached[index];
	struct pm_arena *arena = result->findings.arena;
	const char *name = pm_quoted(arena, device->name.text), *value = device->address.text;
	struct pm_eui48 address;
	struct pm_eui48_fault fault;
	if (!pm_given(device->address))
		return;
	if (!pm_eui48_read(value, strlen(value), &address, NULL, &fault)) {
		about(c, result, PM_ADDRESS_MALFORMED, device,
		      pm_say(arena, "attached %s has %s: %s at column %u", name, pm_quoted(arena, value),
		             pm_eui48_reason_text(fault.reason), fault.column));
		return;
	}
	const struct pm_range *range = pm_range_find(&address);
	if (pm_eui48_is_group(&address))
		about(c, result, PM_ADDRESS_GROUP, device, pm_say(arena, "attached %s: the group bit is set", name));
	else if (range && range->kind == PM_RANGE_NULL)
		about(c, result, PM_ADDRESS_NULL, device, pm_say(arena, "attached %s has the null address", name));
	else if (range && range->kind == PM_RANGE_DOCUMENTATION)
		about(c, result, PM_ADDRESS_DOCUMENTATION, device,
		      pm_say(arena, "attached %s: %s (%s)", name, range->name, range->source));
	const char *other = other_bearer(c, result, index, &address);
	if (other)
		about(c, result, PM_ADDRESS_REPEATED, device,
		      pm_say(arena, "attached %s and %s have one address", name, pm_quoted(arena, other)));
}

void judge_attached(const struct pm_case *c, struct pm_result *result)
{
	for (size_t i = 0; i < c->job->attached_count; i++)
		judge_one(c, result, i);
}
