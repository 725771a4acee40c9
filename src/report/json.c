/* The check result as JSON; keys may be added, never renamed. */
#include "portmuster/fact.h"
#include "report/json_parts.h"
#include "report/writer.h"

static json_t *number_or_null(uint32_t number)
{
	return number ? json_integer(number) : json_null();
}

static json_t *gate_json(const struct pm_case *c, const struct pm_gate_line *line)
{
	json_t *gate = json_object();
	json_object_set_new(gate, "phase", json_text(c->plan->phases[line->phase].id.text));
	json_object_set_new(gate, "at", json_string(line->closing ? "close" : "open"));
	json_object_set_new(gate, "condition", json_text(line->need->condition.text));
	json_object_set_new(gate, "met", json_boolean(line->met));
	json_object_set_new(gate, "waived", json_boolean(line->waived));
	json_object_set_new(gate, "why", json_text(line->why));
	json_object_set_new(gate, "who", json_text(line->who));
	return gate;
}

static json_t *finding_json(const struct pm_finding *finding)
{
	json_t *item = json_object();
	json_object_set_new(item, "code", json_string(pm_code_row(finding->code)->name));
	json_object_set_new(item, "severity", json_string(pm_severity_word(finding->severity)));
	json_object_set_new(item, "interface", json_text(finding->interface));
	json_object_set_new(item, "field", json_text(finding->field));
	json_object_set_new(item, "line", number_or_null(finding->place.line));
	json_object_set_new(item, "column", number_or_null(finding->place.column));
	json_object_set_new(item, "message", json_text(finding->message));
	json_object_set_new(item, "remedy", json_text(finding->remedy));
	json_object_set_new(item, "suggestion", json_text(finding->suggestion));
	json_object_set_new(item, "waived", json_boolean(finding->waived));
	return item;
}

static json_t *fault_json(const struct pm_fault *fault)
{
	json_t *item = json_object();
	json_object_set_new(item, "kind", json_string(pm_fault_word(fault->kind)));
	json_object_set_new(item, "file", json_text(fault->file));
	json_object_set_new(item, "line", number_or_null(fault->line));
	json_object_set_new(item, "column", number_or_null(fault->column));
	json_object_set_new(item, "message", json_text(fault->message));
	json_object_set_new(item, "remedy", json_text(fault->remedy));
	return item;
}

/* What the clocks of the site show; null where that is not known. */
static json_t *there_json(const struct pm_zone *zone, struct pm_when when)
{
	char text[PM_WHEN_TEXT];
	return zone ? json_text(pm_when_write(pm_zone_when(zone, when.second), text)) : json_null();
}

static json_t *appointment_json(const struct pm_case *c)
{
	const struct pm_reading *booked = pm_fact_last(c->job, "desk/appointment");
	struct pm_when from, until;
	char text[PM_WHEN_TEXT];
	if (!booked || !pm_window_read(booked->value.text, &from, &until, NULL))
		return json_null();
	json_t *item = json_object();
	json_object_set_new(item, "from", json_text(pm_when_write(from, text)));
	json_object_set_new(item, "until", json_text(pm_when_write(until, text)));
	json_object_set_new(item, "zone", json_text(c->job->zone.text));
	json_object_set_new(item, "from-there", there_json(pm_case_zone(c), from));
	json_object_set_new(item, "until-there", there_json(pm_case_zone(c), until));
	return item;
}

json_t *json_job(const struct report_job *job, bool unmet)
{
	json_t *item = json_object();
	json_object_set_new(item, "file", json_text(job->file));
	if (job->fault) {
		json_object_set_new(item, "fault", fault_json(job->fault));
		return item;
	}
	const struct pm_case *c = job->the_case;
	const struct pm_result *r = job->result;
	bool done = r->phase == c->plan->phase_count;
	json_object_set_new(item, "site", json_text(c->job->code.text));
	json_object_set_new(item, "name", json_text(c->job->name.text));
	json_object_set_new(item, "phase", done ? json_string("closed") : json_text(c->plan->phases[r->phase].id.text));
	json_object_set_new(item, "ready", json_boolean(r->ready));
	json_t *addresses = json_object();
	json_object_set_new(addresses, "expected", json_integer((json_int_t)r->roster.count));
	json_object_set_new(addresses, "held", json_integer((json_int_t)r->roster.held));
	json_object_set_new(addresses, "confirmed", json_integer((json_int_t)r->roster.confirmed));
	json_object_set_new(item, "addresses", addresses);
	json_object_set_new(item, "appointment", appointment_json(c));
	json_t *gates = json_array();
	for (size_t i = 0; i < r->gates.count; i++)
		if (!unmet || !r->gates.line[i].met)
			json_array_append_new(gates, gate_json(c, &r->gates.line[i]));
	json_object_set_new(item, "gates", gates);
	json_t *findings = json_array();
	for (size_t i = 0; i < r->findings.count; i++)
		json_array_append_new(findings, finding_json(&r->findings.item[i]));
	json_object_set_new(item, "findings", findings);
	return item;
}

static bool add(struct report *report, const struct report_job *job)
{
	fputs(report->jobs ? ",\n" : "{\"jobs\": [\n", report->out);
	return json_put(report->out, json_job(job, false), 2);
}

static bool end(struct report *report)
{
	fputs(report->jobs ? "\n]}\n" : "{\"jobs\": []}\n", report->out);
	return true;
}

static const struct report_writer writer = { add, end };

struct report *report_json(FILE *out)
{
	return report_begin(&writer, out);
}
