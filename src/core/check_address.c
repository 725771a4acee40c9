/* Rules about single addresses and the roll as a whole. */
#include <string.h>

#include "portmuster/differ.h"
#include "portmuster/range.h"
#include "portmuster/text.h"

#include "core/judge.h"

struct address_check {
	const struct pm_case *c;
	struct pm_result *result;
	struct pm_arena *arena;
};

static const char *canonical(struct pm_arena *arena, struct pm_eui48 address)
{
	char text[PM_EUI48_TEXT];
	pm_eui48_text(&address, text);
	return pm_arena_copy(arena, text, strlen(text));
}

/* What the numbering of the other interfaces gives for this one, or null. */
static const char *expected(const struct address_check *a, size_t i)
{
	const struct pm_expect *e = &a->result->pattern.expect[i];
	return e->group == PM_NO_GROUP ? NULL : canonical(a->arena, e->address);
}

static struct pm_finding *about_port(const struct address_check *a, enum pm_code code, size_t i,
                                     const struct pm_reading *reading, const char *message)
{
	const struct pm_port *port = a->result->roster.call[i].port;
	struct pm_place place = { a->c->job->file, 0, 0 };
	if (reading)
		place = judge_place(a->c->job, reading->value);
	struct pm_finding *finding = pm_findings_add(&a->result->findings, code, a->c->gear->training,
	                                             place, "%s", message);
	if (finding) {
		finding->interface = port->name.text;
		finding->field = reading ? reading->of.text : NULL;
	}
	return finding;
}

static void malformed(const struct address_check *a, size_t i)
{
	const struct pm_call *call = &a->result->roster.call[i];
	const char *value = call->fact.first->value.text;
	struct pm_finding *finding = about_port(a, PM_ADDRESS_MALFORMED, i, call->fact.first,
		pm_say(a->arena, "%s reads %s: %s at column %u", call->port->name.text,
		       pm_quoted(a->arena, value), pm_eui48_reason_text(call->fault.reason), call->fault.column));
	struct pm_eui48 near;
	if (!finding)
		return;
	finding->suggestion = expected(a, i);
	if (!finding->suggestion && value && pm_eui48_near(value, strlen(value), &near, 1))
		finding->suggestion = canonical(a->arena, near);
}

static void conflict(const struct address_check *a, size_t i)
{
	const struct pm_fact *fact = &a->result->roster.call[i].fact;
	const struct pm_expect *expect = &a->result->pattern.expect[i];
	const char *first = fact->first->value.text, *second = fact->second->value.text;
	struct pm_differ differ;
	struct pm_eui48 favoured;
	char said[400];
	struct pm_text text;
	pm_differ_find(a->c->job, fact->first->of.text, PM_AS_ADDRESS,
	               expect->group == PM_NO_GROUP ? NULL : &expect->address, &differ);
	pm_text_fixed(&text, said, sizeof said);
	pm_differ_say(first, second, PM_AS_ADDRESS, &text);
	if (differ.favoured && text.length)
		pm_text_str(&text, "; ");
	pm_differ_say_favoured(&differ, &text);
	struct pm_finding *finding = about_port(a, PM_READING_CONFLICT, i, fact->second,
		pm_say(a->arena, "%s was read as %s (%s) and as %s (%s)%s%s",
		       a->result->roster.call[i].port->name.text,
		       pm_quoted(a->arena, first), pm_source_word(fact->first->source),
		       pm_quoted(a->arena, second), pm_source_word(fact->second->source),
		       said[0] ? ": " : "", said));
	if (finding && differ.favoured && pm_eui48_parse(differ.favoured->first->value.text, &favoured))
		finding->suggestion = canonical(a->arena, favoured);
}

static void by_range(const struct address_check *a, size_t i)
{
	const struct pm_call *call = &a->result->roster.call[i];
	const struct pm_range *range = pm_range_find(&call->address);
	const char *name = call->port->name.text, *text = canonical(a->arena, call->address);
	enum pm_code code;
	if (!range) {
		if (pm_eui48_is_group(&call->address))
			about_port(a, PM_ADDRESS_GROUP, i, call->fact.first,
			           pm_say(a->arena, "%s reads %s: the group bit is set", name, text));
		else if (pm_eui48_is_local(&call->address))
			about_port(a, PM_ADDRESS_LOCAL, i, call->fact.first,
			           pm_say(a->arena, "%s reads %s: the local bit is set (quadrant %s)", name, text,
			                  pm_eui48_quadrant(&call->address)));
		return;
	}
	switch (range->kind) {
	case PM_RANGE_NULL: code = PM_ADDRESS_NULL; break;
	case PM_RANGE_BROADCAST:
	case PM_RANGE_GROUP: code = PM_ADDRESS_GROUP; break;
	case PM_RANGE_DOCUMENTATION:
		code = pm_eui48_is_group(&call->address) ? PM_ADDRESS_GROUP : PM_ADDRESS_DOCUMENTATION;
		break;
	case PM_RANGE_RESERVED:
		code = pm_eui48_is_group(&call->address) ? PM_ADDRESS_GROUP : PM_ADDRESS_RESERVED;
		break;
	default: return;
	}
	struct pm_finding *finding = about_port(a, code, i, call->fact.first,
		pm_say(a->arena, "%s reads %s: %s (%s)", name, text, range->name, range->source));
	if (finding && code != PM_ADDRESS_DOCUMENTATION)
		finding->suggestion = expected(a, i);
}

static void missing(const struct address_check *a, size_t i)
{
	struct pm_finding *finding = about_port(a, PM_INTERFACE_MISSING, i, NULL,
		pm_say(a->arena, "%s has no reading", a->result->roster.call[i].port->name.text));
	if (finding)
		finding->suggestion = expected(a, i);
}

static void repeated(const struct address_check *a)
{
	const struct pm_roster *roster = &a->result->roster;
	if (a->c->gear->allocation == PM_ALLOCATION_SHARED)
		return;
	for (size_t i = 0; i < roster->count; i++)
		for (size_t k = 0; k < i; k++) {
			const struct pm_call *x = &roster->call[i], *y = &roster->call[k];
			if (!x->valid || !y->valid || pm_eui48_compare(&x->address, &y->address) != 0)
				continue;
			struct pm_finding *finding = about_port(a, PM_ADDRESS_REPEATED, i, x->fact.first,
				pm_say(a->arena, "%s and %s both read %s", y->port->name.text, x->port->name.text,
				       canonical(a->arena, x->address)));
			if (finding)
				finding->suggestion = a->result->pattern.expect[i].breaks ? expected(a, i) : NULL;
			break;
		}
}

/* Readings of interfaces that the gear has not got, one finding a name. */
static void strangers(const struct address_check *a)
{
	const struct pm_job *job = a->c->job;
	for (size_t i = 0; i < job->reading_count; i++) {
		const struct pm_reading *reading = &job->readings[i];
		if (reading->source == PM_SOURCE_WITHDRAWN || !reading->of.text || !judge_is_port(reading->of.text))
			continue;
		const char *name = reading->of.text + 5;
		bool known = false;
		for (size_t p = 0; p < a->c->gear->port_count && !known; p++)
			known = pm_same(a->c->gear->ports[p].name.text, name);
		size_t at = 0;
		if (known || pm_fact_next(job, reading->of.text, &at) != reading)
			continue;
		struct pm_finding *finding = pm_findings_add(&a->result->findings, PM_INTERFACE_UNKNOWN, false,
			judge_place(job, reading->of), "%s is no interface of %s",
			pm_quoted(a->arena, name), pm_quoted(a->arena, a->c->gear->id.text));
		if (!finding)
			return;
		finding->interface = name;
		finding->field = reading->of.text;
		size_t meant = pm_roster_find(a->c->gear, name, strlen(name));
		if (meant != PM_NO_PORT)
			finding->suggestion = pm_say(a->arena, "port/%s", a->c->gear->ports[meant].name.text);
	}
}

void judge_addresses(const struct pm_case *c, struct pm_result *result)
{
	struct address_check a = { c, result, result->findings.arena };
	const struct pm_roster *roster = &result->roster;
	bool begun = false;
	for (size_t i = 0; i < roster->count; i++)
		begun = begun || roster->call[i].fact.first;
	for (size_t i = 0; i < roster->count; i++) {
		const struct pm_call *call = &roster->call[i];
		switch (call->fact.standing) {
		case PM_OPEN:
			if (begun)
				missing(&a, i);
			continue;
		case PM_SKIPPED:
			continue;
		case PM_CONFLICT:
			conflict(&a, i);
			break;
		case PM_HELD:
			about_port(&a, PM_READING_SINGLE, i, call->fact.first,
			           pm_say(a.arena, "%s was read once (%s)", call->port->name.text,
			                  pm_source_word(call->fact.first->source)));
			break;
		case PM_CONFIRMED:
			break;
		}
		if (call->valid)
			by_range(&a, i);
		else
			malformed(&a, i);
	}
	repeated(&a);
	strangers(&a);
}

void judge_pattern(const struct pm_case *c, struct pm_result *result)
{
	struct address_check a = { c, result, result->findings.arena };
	const struct pm_roster *roster = &result->roster;
	for (size_t i = 0; i < roster->count; i++) {
		const struct pm_expect *e = &result->pattern.expect[i];
		const struct pm_call *call = &roster->call[i];
		if (!e->breaks || call->fact.standing == PM_CONFLICT)
			continue;
		const char *seen = canonical(a.arena, call->address), *right = canonical(a.arena, e->address);
		const char *bearer = NULL;
		bool swapped = false;
		for (size_t k = 0; k < roster->count; k++) {
			const struct pm_expect *other = &result->pattern.expect[k];
			if (k == i || other->group == PM_NO_GROUP || pm_eui48_compare(&other->address, &call->address) != 0)
				continue;
			bearer = roster->call[k].port->name.text;
			swapped = other->breaks && pm_eui48_compare(&roster->call[k].address, &e->address) == 0;
		}
		struct pm_finding *finding;
		if (swapped) {
			finding = about_port(&a, PM_INTERFACE_ORDER, i, call->fact.first,
				pm_say(a.arena, "%s and %s bear each other's address", call->port->name.text, bearer));
		} else {
			char slip[120];
			pm_slip_say(e->slip, "digit", slip, sizeof slip);
			finding = about_port(&a, PM_PATTERN_BREAK, i, call->fact.first,
				pm_say(a.arena, "%s reads %s, but the numbering of the others gives %s: %s%s%s",
				       call->port->name.text, seen, right, slip,
				       bearer ? "; that address belongs to " : "", bearer ? bearer : ""));
		}
		if (finding)
			finding->suggestion = right;
	}
}
