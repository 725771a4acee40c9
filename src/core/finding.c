#include "portmuster/finding.h"

#include "portmuster/text.h"

#define OURS "this project's rule"
#define USUAL "common practice, no source"

static const struct pm_code_row rows[PM_CODES] = {
	[PM_ADDRESS_MALFORMED] = { "address-malformed", PM_STOP, PM_STOP,
		"the value is no hardware address",
		"The desk would register something that no interface has.",
		"read the address again from the console",
		"IEEE Std 802, EUI-48; RFC 9542 section 2.1" },
	[PM_ADDRESS_GROUP] = { "address-group", PM_STOP, PM_STOP,
		"a group address",
		"The group bit is set: no interface sends from such an address, so a digit is wrong.",
		"read the second digit of the address again",
		"RFC 9542 section 2.1, figure 1" },
	[PM_ADDRESS_LOCAL] = { "address-local", PM_WARN, PM_WARN,
		"a locally administered address",
		"The local bit is set: a maker's burned-in address has it clear. Either a digit is wrong or "
		"somebody configured the address.",
		"read the second digit again; if it stands, ask why the address was set by hand",
		"RFC 9542 section 2.1, figure 1" },
	[PM_ADDRESS_NULL] = { "address-null", PM_STOP, PM_STOP,
		"the null address",
		"All zeros stands for an interface that has no address yet.",
		"wait until the router is up, then read the listing again",
		"from memory" },
	[PM_ADDRESS_DOCUMENTATION] = { "address-documentation", PM_STOP, PM_NOTE,
		"an address reserved for documentation",
		"Such addresses stand in examples only; on a real site one was copied from a page.",
		"read the address from the router itself",
		"RFC 9542 section 2.1.4" },
	[PM_ADDRESS_RESERVED] = { "address-reserved", PM_STOP, PM_STOP,
		"an address that a standard reserves",
		"Redundancy protocols and the numbering authority own these; no interface is made with one.",
		"read the burned-in address, not the one of a protocol",
		"RFC 9542 section 2.1; RFC 9568 section 7.3" },
	[PM_PREFIX_UNASSIGNED] = { "prefix-unassigned", PM_STOP, PM_STOP,
		"no maker holds this prefix",
		"The registry lists every block handed to makers. An unlisted one means a wrong digit among "
		"the first six, or a registry that is older than the router.",
		"read the first six digits again; if they stand, update the registry",
		"IEEE Registration Authority listings" },
	[PM_PREFIX_UNEXPECTED] = { "prefix-unexpected", PM_WARN, PM_WARN,
		"not a prefix that this gear uses",
		"The gear profile lists the prefixes its maker is known to use.",
		"read the first six digits again; if they stand, add the prefix to the gear profile",
		OURS },
	[PM_PREFIX_STRAY] = { "prefix-stray", PM_WARN, PM_WARN,
		"one prefix differs from all the others",
		"The interfaces of one router usually come from one block.",
		"read the first six digits of this interface again",
		USUAL },
	[PM_ADDRESS_REPEATED] = { "address-repeated", PM_STOP, PM_STOP,
		"one address on two interfaces",
		"Each interface has its own address unless the gear shares them; one of the two was copied "
		"from the wrong row.",
		"read both interfaces again",
		"IEEE Std 802: an EUI-48 names one interface" },
	[PM_ADDRESS_ELSEWHERE] = { "address-elsewhere", PM_STOP, PM_STOP,
		"the address stands in another site's job too",
		"An address names one interface in the world.",
		"find out which site has the router, and take back the reading of the other",
		"IEEE Std 802: an EUI-48 names one interface" },
	[PM_INTERFACE_MISSING] = { "interface-missing", PM_WARN, PM_WARN,
		"an interface without a reading",
		"The sheet needs every interface of the roster.",
		"read the listing to its end; look past the pager",
		OURS },
	[PM_INTERFACE_UNKNOWN] = { "interface-unknown", PM_STOP, PM_STOP,
		"an interface that the gear does not have",
		"Either the wrong gear profile is in use or the log is of another router.",
		"compare the model on the label with the gear profile",
		OURS },
	[PM_INTERFACE_ORDER] = { "interface-order", PM_STOP, PM_STOP,
		"addresses in another order than the ports",
		"The addresses are right as a set, but two interfaces seem to have changed places.",
		"read the two interfaces again, one at a time",
		USUAL },
	[PM_PATTERN_BREAK] = { "pattern-break", PM_STOP, PM_STOP,
		"an address breaks the router's own numbering",
		"The other interfaces run from one base by one step; this one does not, as after a copying slip.",
		"read this interface again from the console",
		USUAL },
	[PM_READING_SINGLE] = { "reading-single", PM_NOTE, PM_NOTE,
		"read once only",
		"A single reading cannot show a slip; two that agree, taken separately, can.",
		"take a second reading from a separate capture",
		"Barchard and Pace 2011 on double entry" },
	[PM_READING_CONFLICT] = { "reading-conflict", PM_STOP, PM_STOP,
		"two readings that differ",
		"One of them is wrong, and whatever the rest favours, only the router tells which.",
		"read the value a third time and take back the wrong reading",
		"Barchard and Pace 2011 on double entry" },
	[PM_SERIAL_MALFORMED] = { "serial-malformed", PM_STOP, PM_STOP,
		"a serial number that does not fit the gear's form",
		"The desk looks the router up by its serial number.",
		"read the label again",
		OURS },
	[PM_SERIAL_CONFLICT] = { "serial-conflict", PM_STOP, PM_STOP,
		"two serial numbers for one router",
		"The label and the console, or two readings of the label, must name the same unit.",
		"read the label and the console again; take back the wrong reading",
		OURS },
	[PM_SERIAL_ELSEWHERE] = { "serial-elsewhere", PM_STOP, PM_STOP,
		"the serial number stands in another site's job too",
		"One router cannot be at two sites: a job file was copied and not cleared, or the units were mixed up.",
		"read the label at both sites",
		OURS },
	[PM_UNIT_CODE_MALFORMED] = { "unit-code-malformed", PM_STOP, PM_STOP,
		"a unit code that does not fit its form",
		"The desk rejects a sheet whose codes it does not know.",
		"read the code again from the site order",
		OURS },
	[PM_UNIT_CODE_CONFLICT] = { "unit-code-conflict", PM_STOP, PM_STOP,
		"two unit codes for one site",
		"The code on the site list and the one read at the site differ: it may be the wrong site.",
		"make sure where you are, then ask the lead which code is right",
		OURS },
	[PM_KIT_SHORT] = { "kit-short", PM_WARN, PM_WARN,
		"kit is missing",
		"A shortage found at the open cabinet costs the trip.",
		"get the item, or ask the lead to waive it with a reason",
		OURS },
	[PM_STEP_HALTED] = { "step-halted", PM_STOP, PM_STOP,
		"an answer that stops the job",
		"The plan says not to go on from here as things are.",
		"do what the step says, then answer it again",
		OURS },
	[PM_ANSWER_UNKNOWN] = { "answer-unknown", PM_STOP, PM_STOP,
		"an answer that the plan does not know",
		"The file was edited by hand, or the plan changed after the step was answered.",
		"answer the step again",
		OURS },
	[PM_MEASURE_OUTSIDE] = { "measure-outside", PM_STOP, PM_STOP,
		"a measurement outside its limits",
		"The step names the limits and where they come from.",
		"measure again; if it stands, stop and tell the lead",
		"the step's own limit-source" },
	[PM_SHEET_STRUCTURE] = { "sheet-structure", PM_STOP, PM_STOP,
		"the sheet's layout differs",
		"A shifted column registers every value under the wrong name.",
		"fetch the desk's current layout and write the sheet again",
		OURS },
	[PM_SHEET_CELL] = { "sheet-cell", PM_STOP, PM_STOP,
		"a cell of the sheet that differs from the job, or cannot be filled",
		"Spreadsheet programs change what they take for numbers or dates.",
		"write the sheet again; never correct it by hand",
		OURS },
	[PM_SEAL_CHANGED] = { "seal-changed", PM_STOP, PM_STOP,
		"a registered fact changed after the sheet was sent",
		"The desk holds other facts than the job does now.",
		"send the corrected sheet and have it accepted again",
		OURS },
	[PM_CLOCK_BEHIND] = { "clock-behind", PM_WARN, PM_WARN,
		"the clock runs behind the job's own log",
		"A reading bears a time that has not come yet: windows and waits would be judged wrongly.",
		"set the clock of this computer",
		OURS },
	[PM_TIME_MALFORMED] = { "time-malformed", PM_WARN, PM_WARN,
		"a time that cannot be read",
		"Without a time a reading has no place in the job's order of events.",
		"write it as RFC 3339 has it, such as 2026-03-02T09:30:00Z",
		"RFC 3339 section 5.6" },
	[PM_ZONE_UNKNOWN] = { "zone-unknown", PM_WARN, PM_WARN,
		"the site's time zone is none",
		"Without it an appointment is shown in the offset that somebody wrote, which nobody's clock may show.",
		"correct the zone at the head of the job file: an IANA name, such as Etc/UTC",
		"RFC 9636; the names are those of the IANA time zone database" },
	[PM_ZONE_UNCHECKED] = { "zone-unchecked", PM_NOTE, PM_NOTE,
		"the site's time zone was not looked up",
		"Times stay in the offset they were written with, and nobody has held that against the site's clocks.",
		"install the time zone data (Debian package tzdata), or set TZDIR to its folder",
		OURS },
	[PM_OFFSET_UNUSUAL] = { "offset-unusual", PM_WARN, PM_WARN,
		"an appointment in an offset that the site's clocks do not have then",
		"Who books for a day behind a change of the clocks easily writes the offset of today: then the crew "
		"comes an hour early or late. An offset of another place is a note only, and UTC is none where the clocks "
		"never show it.",
		"ask which hour was meant on the site's clocks; when another one, book it again",
		OURS },
	[PM_FACT_UNKNOWN] = { "fact-unknown", PM_WARN, PM_WARN,
		"a reading of nothing that the plan or gear knows",
		"A misspelt name makes a reading count for nothing.",
		"correct the name in the job file",
		OURS },
	[PM_KEY_UNKNOWN] = { "key-unknown", PM_WARN, PM_WARN,
		"a key that the format does not have",
		"Nothing reads what stands under it: of a misspelt key the value counts as not given.",
		"correct the key, or begin it with x- when it is your own",
		OURS },
	[PM_APPOINTMENT_CLASH] = { "appointment-clash", PM_WARN, PM_WARN,
		"two appointments of one crew overlap",
		"Nobody can be at two sites at once.",
		"book one of them again",
		OURS },
	[PM_PROFILE_CHANGED] = { "profile-changed", PM_WARN, PM_WARN,
		"the plan, gear profile or sheet layout is not the one the job began with",
		"Steps, limits, the roster or the sheet may have changed under answers already given.",
		"compare the two; take the new digest into the job when it is meant",
		OURS },
	[PM_JOB_STALLED] = { "job-stalled", PM_NOTE, PM_NOTE,
		"nothing has happened for long",
		"A site that waits for nobody in particular is a site that is forgotten.",
		"ask who holds the next move",
		OURS },
	[PM_JOB_OVERDUE] = { "job-overdue", PM_WARN, PM_WARN,
		"the day it was due has passed",
		"The fleet's deadline depends on each site's.",
		"agree on a new day, and ask who holds the next move",
		OURS },
	[PM_WAIVER_VOID] = { "waiver-void", PM_WARN, PM_WARN,
		"a waiver that waives nothing",
		"The plan does not let this condition be waived, or has no such condition.",
		"meet the condition instead",
		OURS },
	[PM_REGISTRY_ABSENT] = { "registry-absent", PM_WARN, PM_WARN,
		"assignment was not checked",
		"Without the registry a wrong digit in the first half of an address may pass.",
		"install the registry index (portmuster registry)",
		OURS },
	[PM_EVIDENCE_ELSEWHERE] = { "evidence-elsewhere", PM_STOP, PM_STOP,
		"one capture stands in two sites' jobs",
		"A console log comes from one router; at the other site nobody has read anything yet.",
		"find out where the log was taken, and take back the readings of the other site",
		OURS },
	[PM_JOB_CLONED] = { "job-cloned", PM_STOP, PM_STOP,
		"a job file that was copied and not cleared",
		"It bears readings that were taken at another site, and looks further on than it is.",
		"make the job anew (portmuster new), or take back what was read at the other site",
		OURS },
	[PM_SITE_CODE_REPEATED] = { "site-code-repeated", PM_STOP, PM_STOP,
		"two job files of one site",
		"Each of them holds a part of what was read, and nobody knows which one is worked on.",
		"keep the file that is worked on, and move the other out of the folder",
		OURS },
	[PM_DESK_FULL] = { "desk-full", PM_WARN, PM_WARN,
		"more appointments on one day than the desk takes",
		"The ones too many will be refused on the day, with a crew at the site.",
		"book some of them on another day",
		OURS },
	[PM_WINDOW_NEAR] = { "window-near", PM_WARN, PM_WARN,
		"a window is near and the site is not ready for it",
		"A missed window costs a trip and a new appointment.",
		"supply what is missing now, or book another window while there is time",
		OURS },
	[PM_WAY_UNKNOWN] = { "way-unknown", PM_NOTE, PM_NOTE,
		"a way to a site that no job is of",
		"The way counts for no crew: of a misspelt code two windows may lie too close and nobody is told.",
		"correct the code in fleet.yaml, or take the row out",
		OURS },
};

const struct pm_code_row *pm_code_row(enum pm_code code)
{
	return &rows[code < PM_CODES ? code : PM_ANSWER_UNKNOWN];
}

bool pm_code_find(const char *name, enum pm_code *code)
{
	for (int i = 0; i < PM_CODES; i++)
		if (pm_same(name, rows[i].name)) {
			*code = (enum pm_code)i;
			return true;
		}
	return false;
}

const char *pm_severity_word(enum pm_severity severity)
{
	switch (severity) {
	case PM_NOTE: return "note";
	case PM_WARN: return "warn";
	case PM_STOP: return "stop";
	}
	return "unknown";
}

void pm_findings_init(struct pm_findings *list, struct pm_arena *arena)
{
	*list = (struct pm_findings){ .arena = arena };
}

struct pm_finding *pm_findings_add(struct pm_findings *list, enum pm_code code, bool practice,
                                   struct pm_place place, const char *format, ...)
{
	void *items = list->item;
	struct pm_finding *finding = pm_arena_push(list->arena, &items, &list->count, &list->room, sizeof *finding);
	list->item = items;
	if (!finding)
		return NULL;
	struct pm_text raw, text;
	pm_text_grow(&raw, list->arena);
	va_list args;
	va_start(args, format);
	pm_text_addv(&raw, format, args);
	va_end(args);
	/* names from the plan and the gear are text from outside too */
	pm_text_grow(&text, list->arena);
	pm_text_visible(&text, raw.data, raw.length);
	finding->code = code;
	finding->severity = practice ? rows[code].practice : rows[code].severity;
	finding->place = place;
	finding->message = text.data;
	finding->remedy = rows[code].remedy;
	return finding;
}

size_t pm_findings_count(const struct pm_findings *list, enum pm_severity severity)
{
	size_t count = 0;
	for (size_t i = 0; i < list->count; i++)
		count += list->item[i].severity >= severity && !list->item[i].waived;
	return count;
}

static bool before(const struct pm_finding *a, const struct pm_finding *b)
{
	if (a->waived != b->waived)
		return b->waived;
	if (a->severity != b->severity)
		return a->severity > b->severity;
	if (a->place.line != b->place.line)
		return a->place.line < b->place.line;
	return false;
}

void pm_findings_sort(struct pm_findings *list)
{
	/* insertion keeps equal ones in their order; lists are short */
	for (size_t i = 1; i < list->count; i++) {
		struct pm_finding item = list->item[i];
		size_t at = i;
		for (; at && before(&item, &list->item[at - 1]); at--)
			list->item[at] = list->item[at - 1];
		list->item[at] = item;
	}
}
