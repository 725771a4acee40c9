/* What is kept of one site. */
#include <string.h>

#include "core/fleet_parts.h"

const char *fleet_keep(struct pm_arena *arena, const char *text)
{
	size_t length = text ? strlen(text) : 0, plain = 0;
	if (!length)
		return "";
	while (plain < length && text[plain] >= 0x20 && text[plain] < 0x7F)
		plain++;
	if (plain == length)
		return pm_arena_copy(arena, text, length);
	struct pm_text safe;
	pm_text_grow(&safe, arena);
	pm_text_visible(&safe, text, length);
	return safe.cut ? NULL : safe.data;
}

static uint64_t name_key(struct pm_word word)
{
	return pm_given(word) ? fleet_hash_end(fleet_hash_name(FLEET_HASH_START, word.text)) : 0;
}

static bool keep_findings(const struct pm_result *result, struct pm_arena *arena, struct pm_site_summary *out)
{
	out->worst_message = "";
	for (size_t i = 0; i < result->findings.count; i++) {
		const struct pm_finding *finding = &result->findings.item[i];
		if (finding->waived)
			continue;
		switch (finding->severity) {
		case PM_STOP: out->stops++; break;
		case PM_WARN: out->warns++; break;
		case PM_NOTE: out->notes++; break;
		}
		if (!out->has_worst || finding->severity > out->worst_severity) {
			out->has_worst = true;
			out->worst = finding->code;
			out->worst_severity = finding->severity;
			out->worst_message = finding->message;
		}
	}
	out->worst_message = fleet_keep(arena, out->worst_message);
	return out->worst_message != NULL;
}

/* --- times --- */

static void keep_times(const struct pm_case *c, struct pm_site_summary *out)
{
	const struct pm_job *job = c->job;
	const struct pm_reading *window = pm_fact_last(job, "desk/appointment");
	out->has_window = window && pm_window_read(window->value.text, &out->from, &out->until, NULL);
	out->has_due = pm_given(job->due) && pm_day_read(job->due.text, &out->due, NULL);
	for (size_t i = 0; i < job->reading_count; i++)
		if (job->readings[i].when.known && (!out->has_last || job->readings[i].when.second > out->last)) {
			out->has_last = true;
			out->last = job->readings[i].when.second;
		}
}

/* --- what can stand at two sites --- */

static bool keep_address(struct pm_arena *arena, const char *bearer, const char *value, struct pm_site_summary *out)
{
	struct pm_address_summary *kept = &out->addresses[out->address_count];
	struct pm_eui48 address;
	*kept = (struct pm_address_summary){ .bearer = fleet_keep(arena, bearer) };
	if (pm_eui48_parse(value, &address)) {
		kept->key = pm_eui48_number(&address);
		/* the null address stands for none */
		if (kept->key == 0)
			return true;
	} else {
		kept->key = fleet_hash_end(fleet_hash_name(FLEET_HASH_START, value)) | (uint64_t)1 << 63;
		kept->text = fleet_keep(arena, value);
		if (!kept->text)
			return false;
	}
	out->address_count++;
	return kept->bearer != NULL;
}

static bool keep_addresses(const struct pm_case *c, const struct pm_result *result, struct pm_arena *arena,
                           struct pm_site_summary *out)
{
	const struct pm_roster *roster = &result->roster;
	/* both of a conflict count: nobody knows which of them is wrong */
	size_t most = roster->count + c->job->attached_count;
	for (size_t i = 0; i < roster->count; i++)
		most += roster->call[i].fact.standing == PM_CONFLICT;
	out->addresses = pm_arena_array(arena, most, sizeof *out->addresses);
	if (!out->addresses)
		return false;
	for (size_t i = 0; i < roster->count; i++) {
		const struct pm_call *call = &roster->call[i];
		const struct pm_fact *fact = &call->fact;
		if (fact->standing == PM_SKIPPED || !fact->first)
			continue;
		if (pm_given(fact->first->value) && !keep_address(arena, call->port->name.text, fact->first->value.text, out))
			return false;
		if (fact->standing == PM_CONFLICT && pm_given(fact->second->value) &&
		    !keep_address(arena, call->port->name.text, fact->second->value.text, out))
			return false;
	}
	for (size_t i = 0; i < c->job->attached_count; i++)
		if (pm_given(c->job->attached[i].address) &&
		    !keep_address(arena, c->job->attached[i].name.text, c->job->attached[i].address.text, out))
			return false;
	return true;
}

static uint64_t hash_reading(uint64_t hash, const struct pm_reading *reading)
{
	const char *const parts[] = { reading->of.text, reading->value.text, pm_source_word(reading->source),
		reading->by.text, reading->at.text, reading->capture.text };
	for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
		hash = fleet_hash(hash, parts[i]);
	return hash;
}

static bool keep_serial(struct pm_arena *arena, const char *kind, const char *value,
                        const struct pm_reading *reading, struct pm_site_summary *out)
{
	struct pm_serial_summary *kept = &out->serials[out->serial_count++];
	*kept = (struct pm_serial_summary){
		.key = fleet_hash_end(fleet_hash_name(fleet_hash_name(FLEET_HASH_START, kind), value)),
		/* without a time two readings of one value say nothing of each other */
		.reading = reading && reading->when.known ? fleet_hash_end(hash_reading(FLEET_HASH_START, reading)) : 0,
		.kind = fleet_keep(arena, kind), .text = fleet_keep(arena, value),
	};
	return kept->kind && kept->text;
}

static bool keep_serials(const struct pm_case *c, struct pm_arena *arena, struct pm_site_summary *out)
{
	const struct pm_job *job = c->job;
	const struct pm_reading *reading;
	size_t count = 0, at = 0;
	while ((reading = pm_fact_next(job, "router/serial", &at)))
		count++;
	out->serials = pm_arena_array(arena, count + job->attached_count, sizeof *out->serials);
	if (!out->serials)
		return false;
	at = 0;
	while ((reading = pm_fact_next(job, "router/serial", &at)))
		if (reading->source != PM_SOURCE_SKIPPED && pm_given(reading->value) &&
		    !keep_serial(arena, "router", reading->value.text, reading, out))
			return false;
	for (size_t i = 0; i < job->attached_count; i++)
		if (pm_given(job->attached[i].serial) &&
		    !keep_serial(arena, job->attached[i].kind.text, job->attached[i].serial.text, NULL, out))
			return false;
	return true;
}

/* A capture that is named by a SHA-256. */
static bool read_digest(const char *capture, struct pm_evidence_summary *out)
{
	if (!capture || strlen(capture) != 64)
		return false;
	for (size_t i = 0; i < 64; i++) {
		int value = pm_hex_value((unsigned char)capture[i]);
		if (value < 0)
			return false;
		if (i < 32)
			out->byte[i / 2] = (uint8_t)(out->byte[i / 2] << 4 | value);
	}
	return true;
}

static bool keep_evidence(const struct pm_case *c, struct pm_arena *arena, struct pm_site_summary *out)
{
	void *items = NULL;
	size_t room = 0;
	/* begun otherwise than the hash of one reading: they are sorted together */
	uint64_t body = fleet_hash(FLEET_HASH_START, "job");
	for (size_t i = 0; i < c->job->reading_count; i++) {
		const struct pm_reading *reading = &c->job->readings[i];
		struct pm_evidence_summary one = { { 0 } };
		body = hash_reading(body, reading);
		if (!read_digest(reading->capture.text, &one) || !pm_fact_stands(c->job, reading))
			continue;
		/* the readings of one capture stand together: the last is the likeliest */
		size_t at = out->evidence_count;
		while (at && memcmp(&out->evidence[at - 1], &one, sizeof one) != 0)
			at--;
		if (at)
			continue;
		struct pm_evidence_summary *kept = pm_arena_push(arena, &items, &out->evidence_count, &room, sizeof *kept);
		out->evidence = items;
		if (!kept)
			return false;
		*kept = one;
	}
	out->reading_count = c->job->reading_count;
	out->body = out->reading_count ? fleet_hash_end(body) : 0;
	return true;
}

/* --- the whole --- */

static bool keep_head(const struct pm_job *job, struct pm_arena *arena, struct pm_site_summary *out)
{
	const char *file = job->file ? job->file : "";
	out->file = pm_arena_copy(arena, file, strlen(file));
	out->code = fleet_keep(arena, job->code.text);
	out->name = fleet_keep(arena, job->name.text);
	out->crew = fleet_keep(arena, job->crew.text);
	out->zone = fleet_keep(arena, job->zone.text);
	out->plan = fleet_keep(arena, job->plan.text);
	out->gear = fleet_keep(arena, job->gear.text);
	out->code_key = name_key(job->code);
	out->crew_key = name_key(job->crew);
	out->practice = job->practice;
	out->live = job->live;
	return !arena->failed;
}

bool pm_site_summarise(const struct pm_case *the_case, const struct pm_result *result,
                       struct pm_arena *arena, struct pm_site_summary *out)
{
	*out = (struct pm_site_summary){ 0 };
	if (!keep_head(the_case->job, arena, out) || !fleet_keep_phases(the_case, result, arena, out) ||
	    !fleet_keep_wait(the_case, result, arena, out) || !keep_findings(result, arena, out) ||
	    !keep_addresses(the_case, result, arena, out) || !keep_serials(the_case, arena, out) ||
	    !keep_evidence(the_case, arena, out))
		return false;
	keep_times(the_case, out);
	out->set = fleet_set(result, out);
	out->ready = result->ready;
	out->expected = result->roster.count;
	out->held = result->roster.held;
	out->confirmed = result->roster.confirmed;
	return !arena->failed;
}

bool pm_site_unread(const char *file, const struct pm_fault *fault, struct pm_arena *arena,
                    struct pm_site_summary *out)
{
	*out = (struct pm_site_summary){
		.code = "", .name = "", .crew = "", .zone = "", .plan = "", .gear = "",
		.worst_message = "", .waits_in = "", .waits_why = "", .waits_who = "",
		.fault_line = fault->line, .fault_column = fault->column,
	};
	out->file = pm_arena_copy(arena, file, strlen(file));
	out->fault = fleet_keep(arena, fault->message);
	out->fault_remedy = fault->remedy[0] ? fleet_keep(arena, fault->remedy) : NULL;
	return !arena->failed;
}
