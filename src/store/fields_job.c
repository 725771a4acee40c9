#include "store/fields.h"

#include <string.h>

#include "portmuster/job.h"
#include "portmuster/text.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))
#define AT(member) .offset = offsetof(struct pm_job, member), .also = STORE_NOWHERE

const struct store_field *store_field_find(const struct store_table *table,
                                           const char *key, size_t length)
{
	for (size_t i = 0; i < table->count; i++)
		if (strlen(table->fields[i].key) == length && !memcmp(table->fields[i].key, key, length))
			return &table->fields[i];
	return NULL;
}

static const char *source_word(unsigned at)
{
	return pm_source_word((enum pm_source)at);
}

static void set_source(void *member, unsigned at)
{
	*(enum pm_source *)member = (enum pm_source)at;
}

static unsigned get_source(const void *member)
{
	return *(const enum pm_source *)member;
}

static const struct store_choice sources = { PM_SOURCES, source_word, set_source, get_source };

static const char *gate_word(unsigned at)
{
	return at == 0 ? "open" : "close";
}

static const struct store_choice gates = { 2, gate_word, NULL, NULL };

#define READING(member) .offset = offsetof(struct pm_reading, member), .also = STORE_NOWHERE

static const struct store_field reading_fields[] = {
	{ "of", STORE_TEXT, STORE_REQUIRED, READING(of),
	  .meaning = "the fact that was observed: `port/NAME`, `router/serial`, `old/serial`, `site/unit`, "
	             "`site/parent`, `kit/ITEM`, `step/ID`, `desk/sent`, `desk/decision`, `desk/appointment`" },
	{ "value", STORE_TEXT, STORE_PRESENT, READING(value),
	  .meaning = "what was read, character for character" },
	{ "source", STORE_CHOICE, STORE_REQUIRED, READING(source), .choice = &sources,
	  .meaning = "how it was read" },
	{ "by", STORE_TEXT, STORE_REQUIRED, READING(by), .meaning = "who read it" },
	{ "at", STORE_TIME, STORE_PRESENT, .offset = offsetof(struct pm_reading, at),
	  .also = offsetof(struct pm_reading, when), .meaning = "when it was read" },
	{ "capture", STORE_TEXT, STORE_OPTIONAL, READING(capture),
	  .meaning = "which act of capturing it came from: the SHA-256 of a log in `evidence/`, or a name such as "
	             "`typed-1`; two readings of one capture count once" },
	{ "note", STORE_TEXT, STORE_OPTIONAL, READING(note), .meaning = "reason, reference or addressee" },
};

const struct store_table store_reading_table =
	{ "reading", reading_fields, COUNT(reading_fields), sizeof(struct pm_reading) };

#define WAIVER(member) .offset = offsetof(struct pm_waiver, member), .also = STORE_NOWHERE

static const struct store_field waiver_fields[] = {
	{ "phase", STORE_TEXT, STORE_REQUIRED, WAIVER(phase), .meaning = "id of the phase" },
	{ "gate", STORE_CHOICE, STORE_REQUIRED, WAIVER(gate), .choice = &gates,
	  .meaning = "its opening or its closing gate" },
	{ "condition", STORE_TEXT, STORE_REQUIRED, WAIVER(condition),
	  .meaning = "the condition as the plan writes it" },
	{ "by", STORE_TEXT, STORE_REQUIRED, WAIVER(by), .meaning = "the lead who waives it" },
	{ "reason", STORE_TEXT, STORE_REQUIRED, WAIVER(reason), .meaning = "why" },
	{ "at", STORE_TIME, STORE_PRESENT, .offset = offsetof(struct pm_waiver, at),
	  .also = offsetof(struct pm_waiver, when), .meaning = "when" },
	{ "note", STORE_TEXT, STORE_OPTIONAL, WAIVER(note),
	  .meaning = "how the lead decided and who typed it, when that was somebody else" },
};

const struct store_table store_waiver_table =
	{ "waiver", waiver_fields, COUNT(waiver_fields), sizeof(struct pm_waiver) };

#define ATTACHED(member) .offset = offsetof(struct pm_attached, member), .also = STORE_NOWHERE

static const struct store_field attached_fields[] = {
	{ "kind", STORE_TEXT, STORE_REQUIRED, ATTACHED(kind), .meaning = "what it is: camera, sensor, telephone" },
	{ "name", STORE_TEXT, STORE_REQUIRED, ATTACHED(name), .meaning = "its name at this site" },
	{ "serial", STORE_TEXT, STORE_OPTIONAL, ATTACHED(serial), .meaning = "its serial number" },
	{ "address", STORE_TEXT, STORE_OPTIONAL, ATTACHED(address), .meaning = "its hardware address" },
};

static const struct store_table attached_table =
	{ "attached device", attached_fields, COUNT(attached_fields), sizeof(struct pm_attached) };

/* The site's keys live in struct pm_job itself. */
static const struct store_field site_fields[] = {
	{ "code", STORE_TEXT, STORE_REQUIRED, AT(code), .meaning = "the site's code in the fleet" },
	{ "name", STORE_TEXT, STORE_OPTIONAL, AT(name), .meaning = "its name for people" },
	{ "zone", STORE_TEXT, STORE_OPTIONAL, AT(zone), .meaning = "its time zone, an IANA zone name" },
	{ "unit", STORE_TEXT, STORE_OPTIONAL, AT(unit), .meaning = "unit code from the site list" },
	{ "parent", STORE_TEXT, STORE_OPTIONAL, AT(parent), .meaning = "its parent's unit code from the site list" },
	{ "crew", STORE_TEXT, STORE_OPTIONAL, AT(crew), .meaning = "who goes there" },
	{ "old-serial", STORE_TEXT, STORE_OPTIONAL, AT(old_serial),
	  .meaning = "serial number of the old router from the site list" },
	{ "due", STORE_TEXT, STORE_OPTIONAL, AT(due), .accepts = "RFC 3339 full-date",
	  .meaning = "the day by which the swap must be done" },
	{ "live", STORE_FLAG, STORE_OPTIONAL, AT(live), .meaning = "a terminal in live service stands here" },
};

static const struct store_table site_table = { "site", site_fields, COUNT(site_fields), 0 };

static const struct store_field practice_fields[] = {
	{ "wait", STORE_WHOLE, STORE_OPTIONAL, AT(practice_wait), .least = 0, .most = 86400,
	  .meaning = "seconds that stand for any wait; 0 keeps the real time" },
};

static const struct store_table practice_table = { "practice", practice_fields, COUNT(practice_fields), 0 };

static const struct store_field job_fields[] = {
	{ "format", STORE_WHOLE, STORE_REQUIRED, AT(format), .least = 1, .most = STORE_FORMAT,
	  .meaning = "number of this format; a newer one is refused" },
	{ "plan", STORE_TEXT, STORE_REQUIRED, AT(plan), .meaning = "id of the plan, the file `ID.yaml`" },
	{ "gear", STORE_TEXT, STORE_REQUIRED, AT(gear), .meaning = "id of the gear profile, the file `ID.yaml`" },
	{ "plan-digest", STORE_TEXT, STORE_OPTIONAL, AT(plan_digest), .accepts = "SHA-256, 64 hex digits",
	  .meaning = "digest of the plan when the job was made" },
	{ "gear-digest", STORE_TEXT, STORE_OPTIONAL, AT(gear_digest), .accepts = "SHA-256, 64 hex digits",
	  .meaning = "digest of the gear profile when the job was made" },
	{ "layout", STORE_TEXT, STORE_OPTIONAL, AT(layout), .meaning = "id of the sheet layout, the file `ID.yaml`" },
	{ "layout-digest", STORE_TEXT, STORE_OPTIONAL, AT(layout_digest), .accepts = "SHA-256, 64 hex digits",
	  .meaning = "digest of the sheet layout when the job was made" },
	{ "site", STORE_MAPPING, STORE_REQUIRED, .offset = 0, .also = STORE_NOWHERE, .table = &site_table,
	  .meaning = "where the job is" },
	{ "practice", STORE_MAPPING, STORE_OPTIONAL, .offset = 0, .also = offsetof(struct pm_job, practice),
	  .table = &practice_table, .meaning = "there when this is a practice site" },
	{ "attached", STORE_MAPPINGS, STORE_OPTIONAL, .offset = offsetof(struct pm_job, attached),
	  .also = offsetof(struct pm_job, attached_count), .table = &attached_table,
	  .meaning = "the site's other equipment that registers with it" },
	{ "readings", STORE_MAPPINGS, STORE_OPTIONAL, .offset = offsetof(struct pm_job, readings),
	  .also = offsetof(struct pm_job, reading_count), .table = &store_reading_table,
	  .meaning = "observations, oldest first; the list only grows" },
	{ "waivers", STORE_MAPPINGS, STORE_OPTIONAL, .offset = offsetof(struct pm_job, waivers),
	  .also = offsetof(struct pm_job, waiver_count), .table = &store_waiver_table,
	  .meaning = "a lead's signed exceptions" },
};

const struct store_table store_job_table = { "job", job_fields, COUNT(job_fields), sizeof(struct pm_job) };
