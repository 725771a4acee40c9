/* fixture.h - a small plan, gear and job built in C, for the tests of the core.
 *
 * The plan has six phases that use every ask; the gear has a management port
 * and twelve more, numbered from one base. Nothing is allocated but by the
 * check itself. A fixture must not be moved after fixture_init.
 */
#ifndef TESTS_FIXTURE_H
#define TESTS_FIXTURE_H

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "portmuster/check.h"
#include "portmuster/seal.h"
#include "portmuster/text.h"

#define FIXTURE_NOW 1767258000   /* 2026-01-01T09:00:00Z */
#define FIXTURE_WINDOW "2026-01-08T09:00:00Z/2026-01-08T11:00:00Z"
#define FIXTURE_OPENS (FIXTURE_NOW + 7 * 86400)
#define FIXTURE_ENDS (FIXTURE_OPENS + 7200)
#define FIXTURE_PORTS 13
#define FIXTURE_READINGS 120
#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { PREPARE, MUSTER, REGISTER, BOOK, CUTOVER, CLOSE, FIXTURE_PHASES };

struct fixture {
	struct pm_job job;
	struct pm_plan plan;
	struct pm_gear gear;
	struct pm_case the_case;
	struct pm_reading readings[FIXTURE_READINGS];
	struct pm_waiver waivers[4];
	struct pm_phase phases[FIXTURE_PHASES];
	struct pm_step steps[FIXTURE_PHASES][8];
	struct pm_need open[FIXTURE_PHASES][4], close[FIXTURE_PHASES][4];
	struct pm_kit_item kit[2];
	struct pm_port ports[FIXTURE_PORTS];
	struct pm_word good[2], bad[2], prefix[1];
	char store[32768];       /* the texts of readings */
	size_t used;
	struct pm_arena arena;   /* of the last check */
	struct pm_result result;
};

static inline struct pm_word word(const char *text)
{
	return (struct pm_word){ text, 1, 1 };
}

/* A text of the fixture's own. */
__attribute__((format(printf, 2, 3))) static inline const char *fixture_text(struct fixture *f, const char *format, ...)
{
	char *at = f->store + f->used;
	va_list args;
	va_start(args, format);
	int length = vsnprintf(at, sizeof f->store - f->used, format, args);
	va_end(args);
	if (length < 0 || f->used + (size_t)length + 1 > sizeof f->store)
		abort();
	f->used += (size_t)length + 1;
	return at;
}

/* Add a reading; null `capture`: none. The place of its value is line 100 + index. */
static inline struct pm_reading *fixture_read(struct fixture *f, const char *of, const char *value,
                                              enum pm_source source, const char *capture, int64_t second)
{
	if (f->job.reading_count == FIXTURE_READINGS)
		abort();
	char text[PM_WHEN_TEXT];
	struct pm_reading *reading = &f->readings[f->job.reading_count];
	uint32_t line = 100 + (uint32_t)f->job.reading_count++;
	*reading = (struct pm_reading){
		.of = { fixture_text(f, "%s", of), line, 1 }, .value = { value ? fixture_text(f, "%s", value) : NULL, line, 9 },
		.source = source, .by = word("somebody"), .when = pm_when_utc(second), .capture = word(capture),
		.at = word(fixture_text(f, "%s", pm_when_write(pm_when_utc(second), text))),
	};
	return reading;
}

/* A typed reading now, of no capture. */
static inline struct pm_reading *fixture_say(struct fixture *f, const char *of, const char *value)
{
	return fixture_read(f, of, value, PM_SOURCE_TYPED, NULL, f->the_case.now.second);
}

/* Two agreeing readings from separate captures. */
static inline void fixture_twice(struct fixture *f, const char *of, const char *value)
{
	fixture_read(f, of, value, PM_SOURCE_CONSOLE, "listing-1", f->the_case.now.second - 60);
	fixture_read(f, of, value, PM_SOURCE_TYPED, "typed-1", f->the_case.now.second);
}

/* Take back what stands of a fact. */
static inline void fixture_withdraw(struct fixture *f, const char *of, const char *value)
{
	fixture_read(f, of, value, PM_SOURCE_WITHDRAWN, NULL, f->the_case.now.second);
}

static inline void fixture_forget(struct fixture *f)
{
	pm_arena_free(&f->arena);
}

/* Check the case as it stands; the result lives until the next check. */
static inline struct pm_result *fixture_check(struct fixture *f)
{
	fixture_forget(f);
	if (!pm_check(&f->the_case, &f->arena, &f->result))
		abort();
	return &f->result;
}

/* The first finding of a code (about one interface, when given), or null. */
static inline const struct pm_finding *fixture_finding(const struct fixture *f, enum pm_code code, const char *interface)
{
	for (size_t i = 0; i < f->result.findings.count; i++) {
		const struct pm_finding *item = &f->result.findings.item[i];
		if (item->code == code && (!interface || pm_same(item->interface, interface)))
			return item;
	}
	return NULL;
}

/* The line of a gate, as of the last check; null when there is none. */
static inline const struct pm_gate_line *fixture_line(const struct fixture *f, size_t phase, bool closing, const char *condition)
{
	for (size_t i = 0; i < f->result.gates.count; i++) {
		const struct pm_gate_line *line = &f->result.gates.line[i];
		if (line->phase == phase && line->closing == closing && pm_same(line->need->condition.text, condition))
			return line;
	}
	return NULL;
}

static inline struct pm_step *fixture_step(struct fixture *f, size_t phase, const char *id, enum pm_ask ask)
{
	struct pm_step *step = &f->steps[phase][f->phases[phase].step_count++];
	*step = (struct pm_step){ .id = word(id), .title = word(id), .ask = ask };
	if (ask == PM_ASK_ANSWER) {
		step->proceed = (struct pm_words){ f->good, COUNT(f->good) };
		step->halt = (struct pm_words){ f->bad, COUNT(f->bad) };
	}
	return step;
}

static inline void fixture_need(struct fixture *f, size_t phase, bool closing, const char *condition, bool waiver)
{
	struct pm_phase *p = &f->phases[phase];
	struct pm_need *need = closing ? &p->close[p->close_count++] : &p->open[p->open_count++];
	*need = (struct pm_need){ word(condition), waiver };
}

static inline void fixture_plan(struct fixture *f)
{
	static const char *const ids[] = { "prepare", "muster", "register", "book", "cutover", "close" };
	static const struct { size_t phase; bool closing; const char *condition; bool waiver; } needs[] = {
		{ PREPARE, true, "steps-done", false },      { PREPARE, true, "kit-complete", true },
		{ MUSTER, false, "phase-closed prepare", false },
		{ MUSTER, true, "steps-done", false },       { MUSTER, true, "roster-confirmed", false },
		{ MUSTER, true, "free-of pattern-break", true }, { MUSTER, true, "no-stops", false },
		{ REGISTER, false, "phase-closed muster", false }, { REGISTER, false, "fact-confirmed router/serial", true },
		{ REGISTER, true, "steps-done", false },     { REGISTER, true, "sheet-sent", false },
		{ REGISTER, true, "registration-accepted", false },
		{ BOOK, false, "phase-closed register", false },
		{ BOOK, true, "steps-done", false },         { BOOK, true, "appointment-set", false },
		{ CUTOVER, false, "phase-closed book", false }, { CUTOVER, false, "registration-accepted", false },
		{ CUTOVER, false, "appointment-open", false },  { CUTOVER, false, "free-of clock-behind", false },
		{ CUTOVER, true, "outcome-known verdict", false },
		{ CLOSE, false, "outcome-known verdict", false },
		{ CLOSE, true, "steps-done", false },        { CLOSE, true, "answered verdict", false },
		{ CLOSE, true, "no-stops", false },
	};
	f->plan = (struct pm_plan){ .file = "plan.yaml", .digest = "p1", .format = 1, .id = word("plan"), .title = word("plan"),
	                            .kit = f->kit, .kit_count = 2, .phases = f->phases, .phase_count = FIXTURE_PHASES };
	f->kit[0] = (struct pm_kit_item){ word("lead"), word("console lead"), word(""), 1 };
	f->kit[1] = (struct pm_kit_item){ word("screws"), word("rack screws"), word(""), 4 };
	f->good[0] = word("whole"), f->good[1] = word("marked");
	f->bad[0] = word("damaged"), f->bad[1] = word("missing");
	for (size_t i = 0; i < FIXTURE_PHASES; i++)
		f->phases[i] = (struct pm_phase){ .id = word(ids[i]), .title = word(ids[i]), .steps = f->steps[i],
		                                  .open = f->open[i], .close = f->close[i] };
	for (size_t i = 0; i < COUNT(needs); i++)
		fixture_need(f, needs[i].phase, needs[i].closing, needs[i].condition, needs[i].waiver);
	fixture_step(f, PREPARE, "kit", PM_ASK_KIT);
	fixture_step(f, PREPARE, "look", PM_ASK_ANSWER);
	fixture_step(f, PREPARE, "contact", PM_ASK_TEXT)->skippable = true;
	fixture_step(f, PREPARE, "serial", PM_ASK_SERIAL)->fact = word("router/serial");
	struct pm_step *step = fixture_step(f, PREPARE, "unit", PM_ASK_CODE);
	step->fact = word("site/unit"), step->form = word("GS-9999");
	fixture_step(f, PREPARE, "parent", PM_ASK_CODE)->fact = word("site/parent");
	step = fixture_step(f, MUSTER, "volts", PM_ASK_NUMBER);
	step->unit = word("V"), step->limit_source = word("the outlet's label");
	step->least = (struct pm_number){ word("207"), 207000000 }, step->most = (struct pm_number){ word("253"), 253000000 };
	fixture_step(f, MUSTER, "boot", PM_ASK_WAIT)->wait = word("boot");
	fixture_step(f, MUSTER, "roll", PM_ASK_ADDRESSES);
	fixture_step(f, REGISTER, "sent", PM_ASK_SENT);
	fixture_step(f, REGISTER, "decision", PM_ASK_DECISION);
	fixture_step(f, BOOK, "window", PM_ASK_APPOINTMENT);
	fixture_step(f, BOOK, "told", PM_ASK_ANSWER);
	fixture_step(f, CUTOVER, "go", PM_ASK_ANSWER);
	fixture_step(f, CUTOVER, "verdict", PM_ASK_ANSWER);
	step = fixture_step(f, CUTOVER, "back", PM_ASK_TEXT);
	step->only_step = word("verdict"), step->only_answer = word("damaged");
	step = fixture_step(f, CLOSE, "old", PM_ASK_SERIAL);
	step->fact = word("old/serial"), step->only_step = word("verdict"), step->only_answer = word("whole");
	fixture_step(f, CLOSE, "records", PM_ASK_TEXT);
}

static inline void fixture_gear(struct fixture *f)
{
	f->prefix[0] = word("00-00-5E");
	f->gear = (struct pm_gear){ .file = "gear.yaml", .digest = "g1", .format = 1, .id = word("eg-12"), .training = true,
	                            .serial_form = word("EG12-99-99999"), .prefixes = { f->prefix, 1 }, .boot_least = 300,
	                            .boot_most = 420, .ports = f->ports, .port_count = FIXTURE_PORTS };
	f->ports[0].name = word("mgmt");
	for (int i = 1; i < FIXTURE_PORTS; i++)
		f->ports[i].name = word(fixture_text(f, "port%d", i));
}

static inline void fixture_init(struct fixture *f)
{
	memset(f, 0, sizeof *f);
	pm_arena_init(&f->arena);
	fixture_plan(f);
	fixture_gear(f);
	f->job = (struct pm_job){ .file = "site.yaml", .format = 1, .plan = word("plan"), .gear = word("eg-12"),
	                          .plan_digest = word("p1"), .gear_digest = word("g1"), .code = word("TB-01"),
	                          .unit = word("GS-0417"), .parent = word("GP-02"), .live = true, .readings = f->readings, .waivers = f->waivers };
	f->the_case = (struct pm_case){ .job = &f->job, .plan = &f->plan, .gear = &f->gear, .now = pm_when_utc(FIXTURE_NOW) };
}

/* The address of a port by the gear's numbering: base plus its place in the roster. */
static inline const char *fixture_address(struct fixture *f, size_t port)
{
	return fixture_text(f, "00-00-5E-00-53-%02X", (unsigned)(0x10 + port));
}

/* Call the roll with the addresses of the gear's own numbering, each confirmed. */
static inline void fixture_muster(struct fixture *f)
{
	for (size_t i = 0; i < FIXTURE_PORTS; i++)
		fixture_twice(f, fixture_text(f, "port/%s", f->ports[i].name.text), fixture_address(f, i));
}

static inline const char *fixture_seal(struct fixture *f)
{
	struct pm_arena arena;
	struct pm_seal seal;
	pm_arena_init(&arena);
	if (!pm_seal_job(&f->job, &f->gear, &arena, &seal))
		abort();
	pm_arena_free(&arena);
	return fixture_text(f, "%s", seal.text);
}

/* Send the sheet under the seal of the facts as they stand, and have it decided. */
static inline void fixture_register(struct fixture *f, const char *decision)
{
	fixture_read(f, "desk/sent", fixture_seal(f), PM_SOURCE_STATED, NULL, f->the_case.now.second);
	if (decision)
		fixture_read(f, "desk/decision", decision, PM_SOURCE_DESK, NULL, f->the_case.now.second)->note = word("ref 7");
}

/* Bring the job so far that `phase` is the one not closed yet. */
static inline void fixture_reach(struct fixture *f, size_t phase)
{
	if (phase > PREPARE) {
		fixture_say(f, "kit/lead", "1");
		fixture_say(f, "kit/screws", "4");
		fixture_say(f, "step/look", "whole");
		fixture_say(f, "step/contact", "duty desk");
		fixture_twice(f, "router/serial", "EG12-26-00417");
		fixture_twice(f, "site/unit", "GS-0417");
		fixture_twice(f, "site/parent", "GP-02");
	}
	if (phase > MUSTER) {
		fixture_say(f, "step/volts", "230.5");
		fixture_read(f, "step/boot", "begun", PM_SOURCE_STATED, NULL, f->the_case.now.second - 300);
		fixture_muster(f);
	}
	if (phase > REGISTER)
		fixture_register(f, "accepted");
	if (phase > BOOK) {
		fixture_say(f, "desk/appointment", FIXTURE_WINDOW);
		fixture_say(f, "step/told", "whole");
	}
	if (phase > CUTOVER) {
		f->the_case.now = pm_when_utc(FIXTURE_OPENS);
		fixture_say(f, "step/go", "whole");
		fixture_say(f, "step/verdict", "whole");
	}
	if (phase > CLOSE) {
		fixture_twice(f, "old/serial", "OLD-1");
		fixture_say(f, "step/records", "kept");
	}
}

#endif
