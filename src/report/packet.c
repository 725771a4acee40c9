#include "report/packet.h"

#include <string.h>

#include "portmuster/seal.h"
#include "report/packet_parts.h"

#define PANEL_MOST_COLUMNS 8

/* The door sheet hangs where both are, so it says so always. */
static const char caution[] =
	"Mains and antenna: this sheet does not say that anything here is switched off, dead or safe. Treat every feed as "
	"live and the antenna as transmitting until the people who may say otherwise have said so. Local code, the "
	"employer's procedure and licensed practice govern.";

static const struct packet_table blank[PACKET_PARTS] = {
	[PACKET_SITE] = { .title = "Site", .columns = 2 },
	[PACKET_PORTS] = { .title = "Interfaces", .columns = 6, .none = "the gear has none",
	                   .head = { "panel", "name", "address", "check", "standing", "role" } },
	[PACKET_ATTACHED] = { .title = "Attached devices", .columns = 5,
	                      .head = { "name", "kind", "serial", "address", "check" } },
	[PACKET_SEAL] = { .title = "Seal", .columns = 2 },
	[PACKET_DESK] = { .title = "Registration", .columns = 4, .none = "nothing was sent yet",
	                  .head = { "when", "what", "reference or reason", "by" } },
	[PACKET_TAKEN] = { .title = "Taken back, passed over and waived", .columns = 4, .none = "nothing",
	                   .head = { "when", "what", "reason", "by" } },
	[PACKET_FINDINGS] = { .title = "Findings still open", .columns = 3, .none = "none",
	                      .head = { "weight", "code", "what, and what to do" } },
	[PACKET_EVIDENCE] = { .title = "Evidence (SHA-256 of the console logs)", .columns = 2, .none = "no console log was kept",
	                      .head = { "file in evidence/, .log", "readings" } },
};

/* Add a row: as many cells as the table has columns, null for an empty one. */
static void row(struct packet *p, enum packet_part part, const char *const *cells)
{
	struct packet_table *table = &p->table[part];
	for (size_t i = 0; i < table->columns; i++) {
		void *items = table->cell;
		const char **cell = pm_arena_push(p->arena, &items, &table->cells, &table->room, sizeof *cell);
		table->cell = items;
		if (!cell)
			return;
		*cell = cells[i];
	}
}

#define ROW(p, part, ...) row(p, part, (const char *const[PACKET_MOST_COLUMNS]){ __VA_ARGS__ })

/* What is known of a fact, in words: its value and how it stands. */
static const char *fact_words(struct packet *p, const char *of)
{
	const struct pm_job *job = p->job;
	struct pm_fact fact = pm_fact_find(job, of, PM_AS_TEXT);
	const char *value = pm_fact_value(job, of, p->arena);
	if (fact.standing == PM_CONFLICT)
		return pm_say(p->arena, "in conflict: %s or %s", fact.first->value.text, fact.second->value.text);
	if (fact.standing == PM_SKIPPED)
		return pm_say(p->arena, "passed over: %s", fact.last->note.text);
	if (!value)
		return "not read";
	return pm_say(p->arena, "%s (%s)", value,
	              fact.standing == PM_OPEN ? "from the site list" : pm_standing_word(fact.standing));
}

static const char *state_words(struct packet *p, const struct pm_case *c, const struct pm_result *result)
{
	size_t stops = pm_findings_count(&result->findings, PM_STOP);
	bool done = result->phase == c->plan->phase_count;
	struct pm_text text;
	pm_text_grow(&text, p->arena);
	if (done)
		pm_text_str(&text, "every phase is closed");
	else
		pm_text_add(&text, "phase %s, %s", c->plan->phases[result->phase].id.text, result->ready ? "ready to go on" : "held");
	if (stops)
		pm_text_add(&text, "; %zu %s", stops, stops == 1 ? "finding stops it" : "findings stop it");
	return text.data;
}

/* A window on the site's clocks; what is none as it stands. */
static const char *window_words(struct packet *p, const char *value, bool *good)
{
	struct pm_when from, until;
	struct pm_text text;
	*good = pm_window_read(value, &from, &until, NULL);
	if (!*good)
		return value;
	pm_text_grow(&text, p->arena);
	pm_zone_say_window(&text, p->zone, from, until);
	return text.data;
}

static const char *appointment_words(struct packet *p)
{
	bool good;
	const struct pm_reading *last = pm_fact_last(p->job, "desk/appointment");
	if (!last || last->source == PM_SOURCE_SKIPPED)
		return "none";
	const char *words = window_words(p, last->value.text, &good);
	return good ? words : pm_say(p->arena, "not a window: %s", last->value.text);
}

static void add_site(struct packet *p, const struct pm_case *c, const struct pm_result *result)
{
	const struct pm_job *job = c->job;
	ROW(p, PACKET_SITE, "code", job->code.text);
	if (pm_given(job->name))
		ROW(p, PACKET_SITE, "name", job->name.text);
	ROW(p, PACKET_SITE, "unit", fact_words(p, "site/unit"));
	ROW(p, PACKET_SITE, "parent", fact_words(p, "site/parent"));
	ROW(p, PACKET_SITE, "terminal", job->practice ? "a training site" : job->live ? "in live service" : "not in live service");
	ROW(p, PACKET_SITE, "router", !pm_given(c->gear->title) ? c->gear->id.text
	    : pm_say(p->arena, "%s (%s)", c->gear->title.text, c->gear->id.text));
	ROW(p, PACKET_SITE, "serial", fact_words(p, "router/serial"));
	ROW(p, PACKET_SITE, "old router", pm_fact_last(job, "old/serial") ? fact_words(p, "old/serial")
	    : pm_given(job->old_serial) ? pm_say(p->arena, "%s (from the site list)", job->old_serial.text) : "not read");
	ROW(p, PACKET_SITE, "job", state_words(p, c, result));
	ROW(p, PACKET_SITE, "appointment", appointment_words(p));
	if (pm_given(job->crew) || pm_given(job->due))
		ROW(p, PACKET_SITE, "crew", pm_say(p->arena, "%s%s%s", pm_given(job->crew) ? job->crew.text : "not named",
		    pm_given(job->due) ? ", due " : "", job->due.text));
}

static const char *check_words(struct packet *p, char check)
{
	return check ? pm_say(p->arena, "%c", check) : NULL;
}

static void add_ports(struct packet *p, const struct pm_result *result)
{
	p->port = pm_arena_array(p->arena, result->roster.count, sizeof *p->port);
	for (size_t i = 0; p->port && i < result->roster.count; i++) {
		const struct pm_call *call = &result->roster.call[i];
		const struct pm_fact *fact = &call->fact;
		struct packet_port *port = &p->port[p->ports++];
		const char *shown = fact->first ? fact->first->value.text : NULL;
		const char *standing = pm_standing_word(fact->standing);
		char text[PM_EUI48_TEXT];
		port->name = call->port->name.text;
		port->panel = pm_given(call->port->panel) ? call->port->panel.text : port->name;
		port->role = call->port->role.text;
		port->standing = fact->standing;
		if (fact->standing == PM_CONFLICT) {
			shown = pm_say(p->arena, "%s or %s", fact->first->value.text, fact->second->value.text);
		} else if (fact->standing == PM_SKIPPED || !fact->first) {
			shown = NULL;
		} else if (call->valid) {
			pm_eui48_text(&call->address, text);
			shown = pm_arena_copy(p->arena, text, strlen(text));
			memcpy(port->tail, text + 12, sizeof port->tail);
			port->check = pm_eui48_check(&call->address);
		} else {
			standing = pm_say(p->arena, "%s, not an address", standing);
		}
		ROW(p, PACKET_PORTS, port->panel, port->name, shown, check_words(p, port->check), standing, port->role);
	}
}

static void add_attached(struct packet *p)
{
	for (size_t i = 0; i < p->job->attached_count; i++) {
		const struct pm_attached *device = &p->job->attached[i];
		struct pm_eui48 address;
		char text[PM_EUI48_TEXT], check = 0;
		const char *shown = device->address.text;
		if (pm_eui48_parse(shown, &address)) {
			pm_eui48_text(&address, text);
			shown = pm_arena_copy(p->arena, text, strlen(text));
			check = pm_eui48_check(&address);
		}
		ROW(p, PACKET_ATTACHED, device->name.text, device->kind.text, device->serial.text, shown, check_words(p, check));
	}
}

static void add_seal(struct packet *p, const struct pm_case *c)
{
	struct pm_seal *seal = pm_arena_alloc(p->arena, sizeof *seal);
	if (!seal || !pm_seal_job(c->job, c->gear, p->arena, seal))
		return;
	const struct pm_reading *sent = pm_fact_last(c->job, "desk/sent");
	if (!seal->complete) {
		ROW(p, PACKET_SEAL, "seal", "none: the facts are not complete");
	} else {
		struct pm_text words;
		pm_text_grow(&words, p->arena);
		for (const char *at = seal->text; *at; at++) {
			if (*at == '-')
				pm_text_char(&words, ',');
			else
				pm_text_add(&words, "%s%s", words.length ? " " : "", pm_spell(*at));
		}
		ROW(p, PACKET_SEAL, "seal", seal->text);
		ROW(p, PACKET_SEAL, "spoken", words.data);
		ROW(p, PACKET_SEAL, "SHA-256", seal->sha256);
		p->facts = seal->canonical;
	}
	if (!sent)
		ROW(p, PACKET_SEAL, "at the desk", "nothing was sent yet");
	else if (seal->complete && pm_same(sent->value.text, seal->text))
		ROW(p, PACKET_SEAL, "at the desk", pm_say(p->arena, "the same, sent at %s", sent->at.text));
	else
		ROW(p, PACKET_SEAL, "at the desk", pm_say(p->arena, "ANOTHER one: %s, sent at %s", sent->value.text, sent->at.text));
}

/* Every reading of the desk's facts, with what has become of it. */
static void add_desk(struct packet *p)
{
	static const struct { const char *of, *word; } facts[] = {
		{ "desk/sent", "sent, seal" }, { "desk/decision", "decision:" }, { "desk/appointment", "appointment" },
	};
	for (size_t i = 0; i < p->job->reading_count; i++) {
		const struct pm_reading *reading = &p->job->readings[i];
		for (size_t k = 0; k < sizeof facts / sizeof *facts; k++) {
			if (!pm_same(reading->of.text, facts[k].of) || reading->source == PM_SOURCE_WITHDRAWN)
				continue;
			bool good;
			const char *value = window_words(p, reading->value.text, &good);
			const char *become = !pm_fact_stands(p->job, reading) ? " (taken back)"
			                     : pm_fact_last(p->job, facts[k].of) != reading ? " (superseded)" : "";
			if (reading->source == PM_SOURCE_SKIPPED)
				value = "passed over";
			ROW(p, PACKET_DESK, reading->at.text, pm_say(p->arena, "%s %s%s", facts[k].word, value, become),
			    reading->note.text, reading->by.text);
		}
	}
}

static void add_taken(struct packet *p)
{
	const struct pm_job *job = p->job;
	for (size_t i = 0; i < job->reading_count; i++) {
		const struct pm_reading *reading = &job->readings[i];
		const char *what = NULL;
		if (reading->source == PM_SOURCE_WITHDRAWN)
			what = pm_given(reading->value) ? pm_say(p->arena, "taken back: %s, %s", reading->of.text, reading->value.text)
			                                : pm_say(p->arena, "taken back: %s, all of it", reading->of.text);
		else if (reading->source == PM_SOURCE_SKIPPED)
			what = pm_say(p->arena, "passed over: %s", reading->of.text);
		if (what)
			ROW(p, PACKET_TAKEN, reading->at.text, what, reading->note.text, reading->by.text);
	}
	for (size_t i = 0; i < job->waiver_count; i++) {
		const struct pm_waiver *waiver = &job->waivers[i];
		ROW(p, PACKET_TAKEN, waiver->at.text,
		    pm_say(p->arena, "waived: %s, to %s %s", waiver->condition.text, waiver->gate.text, waiver->phase.text),
		    waiver->reason.text, waiver->by.text);
	}
}

/* What stops or warns has a row of its own; notes of one code share a row. */
static void add_findings(struct packet *p, const struct pm_findings *findings)
{
	for (size_t i = 0; i < findings->count; i++) {
		const struct pm_finding *item = &findings->item[i];
		const char *name = pm_code_row(item->code)->name;
		const char *weight = item->waived ? "waived" : pm_severity_word(item->severity);
		bool note = item->severity == PM_NOTE && !item->waived, first = true;
		size_t alike = 0;
		for (size_t k = 0; note && k < findings->count; k++) {
			const struct pm_finding *other = &findings->item[k];
			if (other->code != item->code || other->severity != PM_NOTE || other->waived)
				continue;
			first = first && (alike > 0 || k == i);
			alike++;
		}
		if (!first)
			continue;
		ROW(p, PACKET_FINDINGS, weight, name,
		    alike > 1 ? pm_say(p->arena, "%zu times: %s", alike, pm_code_row(item->code)->title)
		              : pm_say(p->arena, "%s; do: %s", item->message, item->remedy));
	}
}

static bool is_digest(const char *text)
{
	size_t length = 0;
	while (text && pm_hex_value(text[length]) >= 0)
		length++;
	return length == 64 && !text[length];
}

struct log {
	const char *digest;
	size_t readings;
};

static void add_evidence(struct packet *p)
{
	void *logs = NULL;
	size_t count = 0, room = 0;
	for (size_t i = 0; i < p->job->reading_count; i++) {
		const char *digest = p->job->readings[i].capture.text;
		struct log *log = logs;
		if (!is_digest(digest))
			continue;
		while (log && log < (struct log *)logs + count && !pm_same(log->digest, digest))
			log++;
		if (!log || log == (struct log *)logs + count)
			log = pm_arena_push(p->arena, &logs, &count, &room, sizeof *log);
		if (!log)
			return;
		log->digest = digest;
		log->readings++;
	}
	for (const struct log *log = logs; log && log < (const struct log *)logs + count; log++)
		ROW(p, PACKET_EVIDENCE, log->digest, pm_say(p->arena, "%zu", log->readings));
}

struct packet *packet_make(const struct pm_case *the_case, const struct pm_result *result, struct pm_arena *arena)
{
	char now[PM_WHEN_TEXT];
	struct packet *p = pm_arena_alloc(arena, sizeof *p);
	if (!p)
		return NULL;
	*p = (struct packet){ .job = the_case->job, .zone = pm_case_zone(the_case), .arena = arena, .caution = caution };
	memcpy(p->table, blank, sizeof blank);
	p->printed = pm_say(arena, "portmuster %s, printed %s", PM_VERSION, pm_when_write(the_case->now, now));
	add_site(p, the_case, result);
	add_ports(p, result);
	add_attached(p);
	add_seal(p, the_case);
	add_desk(p);
	add_taken(p);
	add_findings(p, &result->findings);
	add_evidence(p);
	return arena->failed ? NULL : p;
}

size_t packet_panel_columns(size_t ports)
{
	size_t rows = (ports + PANEL_MOST_COLUMNS - 1) / PANEL_MOST_COLUMNS;
	return rows ? (ports + rows - 1) / rows : 0;
}

void packet_title(const struct packet *packet, struct pm_text *out)
{
	const struct pm_job *job = packet->job;
	pm_text_visible(out, job->code.text, strlen(job->code.text));
	if (pm_given(job->name)) {
		pm_text_char(out, ' ');
		pm_text_visible(out, job->name.text, strlen(job->name.text));
	}
	if (job->practice)
		pm_text_str(out, ", practice");
}
