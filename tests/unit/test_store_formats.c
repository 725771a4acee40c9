#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "scratch.h"
#include "store/document.h"
#include "store/fields.h"

static char folder[200];

static int make_folder(void **state)
{
	(void)state;
	return scratch_make(folder, sizeof folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
	(void)state;
	scratch_remove(folder);
	return 0;
}

static const char *in_folder(const char *name)
{
	static char path[300];
	snprintf(path, sizeof path, "%s/%s", folder, name);
	return path;
}

#define GEAR \
	"format: 1\ngear: eg-12\ntitle: Example router\ntraining: yes\nserial-form: \"EG99-HHHH\"\nallocation: free\n" \
	"prefixes: [00-00-5E]\nboot: {least: 300, most: 420}\nports:\n" \
	"  - {name: port1, panel: \"1\", aliases: [p1, first], role: field network}\n  - {name: mgmt}\n"

static void test_gear(void **state)
{
	(void)state;
	struct store_gear gear;
	struct pm_fault fault = { 0 };
	const char *path = in_folder("eg-12.yaml");
	const char *text = GEAR "console: {listing: list ports, pagers: [\"more?\"], serials: [serial]}\n";
	assert_true(scratch_write(path, text, strlen(text)));
	if (!store_gear_load(path, &gear, &fault))
		fail_msg("%u:%u %s", fault.line, fault.column, fault.message);
	const struct pm_gear *g = &gear.gear;
	assert_string_equal(g->id.text, "eg-12");
	assert_true(g->training);
	assert_int_equal(g->allocation, PM_ALLOCATION_FREE);
	assert_int_equal(g->boot_least, 300);
	assert_int_equal(g->boot_most, 420);
	assert_int_equal(g->port_count, 2);
	assert_int_equal(g->ports[0].aliases.count, 2);
	assert_string_equal(g->ports[0].aliases.item[1].text, "first");
	assert_string_equal(g->ports[1].name.text, "mgmt");
	assert_int_equal(g->ports[1].name.line, 11);
	assert_int_equal(g->console.speed, 9600);
	assert_string_equal(g->console.framing.text, "8N1");
	assert_string_equal(g->console.pagers.item[0].text, "more?");
	assert_int_equal(strlen(store_gear_digest(&gear)), 64);
	assert_string_equal(g->file, path);
	store_gear_free(&gear);

	static const struct { const char *text; uint32_t line, column; } bad[] = {
		{ GEAR "console: {speed: 9600.5}\n", 12, 18 },
		{ GEAR "console: {pagers: more}\n", 12, 19 },
		{ "format: 1\ngear: g\ntitle: t\nallocation: random\nports: [{name: a}]\n", 4, 13 },
		{ "format: 1\ngear: g\ntitle: t\nports: [{name: a}, {panel: b}]\n", 4, 20 },
		{ "format: 1\ngear: g\ntitle: t\nboot: {least: 1}\nports: [{name: a}]\n", 4, 7 },
	};
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_true(scratch_write(path, bad[i].text, strlen(bad[i].text)));
		assert_false(store_gear_load(path, &gear, &fault));
		if (fault.kind != PM_FAULT_VALUE || fault.line != bad[i].line || fault.column != bad[i].column)
			fail_msg("%zu: %u:%u %s", i, fault.line, fault.column, fault.message);
	}
	/* The core's own judgement comes through: two ports of one name. */
	text = "format: 1\ngear: g\ntitle: t\nports:\n- name: a\n- name: a\n";
	assert_true(scratch_write(path, text, strlen(text)));
	assert_false(store_gear_load(path, &gear, &fault));
	assert_int_equal(fault.line, 5);
}

static void test_plan(void **state)
{
	(void)state;
	struct store_plan plan;
	struct pm_fault fault = { 0 };
	const char *path = in_folder("plan.yaml");
	const char *text =
		"format: 1\nplan: p\ntitle: A plan\nkit:\n  - {item: strap, name: Wrist strap, use: static, need: 2}\n"
		"phases:\n  - phase: one\n    title: First\n    who: technician\n    minutes: 20\n"
		"    open: []\n    close:\n      - needs: kit-complete\n        waiver: yes\n"
		"    steps:\n"
		"      - step: volts\n        title: Outlet\n        do: |\n          Measure.\n          Write it down.\n"
		"        critical: yes\n        ask: number\n        unit: V\n        least: 207\n        most: \"253.5\"\n"
		"        limit-source: house rule\n"
		"      - step: done\n        title: Done\n        ask: answer\n        proceed: [\"off\", \"NO\"]\n        halt: [on]\n"
		"        skippable: yes\n"
		"        note: who it was\n        sheet: yes\n        if-stopped: Wait.\n        show: [seal, step/volts]\n"
		"      - step: more\n        title: More\n        ask: text\n        only-if: {step: done, answer: \"NO\"}\n"
		"        words: yes\n        contact: yes\n"
		"      - {step: when, title: When, ask: appointment, least-minutes: 120}\n";
	assert_true(scratch_write(path, text, strlen(text)));
	if (!store_plan_load(path, &plan, &fault))
		fail_msg("%u:%u %s; %s", fault.line, fault.column, fault.message, fault.remedy);
	const struct pm_plan *p = &plan.plan;
	assert_int_equal(p->kit_count, 1);
	assert_int_equal(p->kit[0].need, 2);
	assert_int_equal(p->phase_count, 1);
	assert_int_equal(p->phases[0].minutes, 20);
	assert_int_equal(p->phases[0].open_count, 0);
	assert_int_equal(p->phases[0].close_count, 1);
	assert_true(p->phases[0].close[0].waiver);
	assert_int_equal(p->phases[0].step_count, 4);
	const struct pm_step *step = &p->phases[0].steps[0];
	assert_string_equal(step->text.text, "Measure.\nWrite it down.");
	assert_true(step->critical);
	assert_int_equal(step->ask, PM_ASK_NUMBER);
	assert_int_equal(step->least.millionths, 207000000);
	assert_int_equal(step->most.millionths, 253500000);
	assert_string_equal(step->most.word.text, "253.5");
	assert_string_equal(p->phases[0].steps[1].proceed.item[1].text, "NO");
	assert_true(p->phases[0].steps[1].skippable);
	step = &p->phases[0].steps[1];
	assert_string_equal(step->note.text, "who it was");
	assert_true(step->sheet && !step->words && !step->contact);
	assert_string_equal(step->stopped.text, "Wait.");
	assert_int_equal(step->show.count, 2);
	assert_string_equal(step->show.item[1].text, "step/volts");
	step = &p->phases[0].steps[2];
	assert_true(step->words && step->contact && !step->sheet);
	assert_int_equal(p->phases[0].steps[3].least_minutes, 120);
	assert_string_equal(p->phases[0].steps[2].only_step.text, "done");
	assert_string_equal(p->phases[0].steps[2].only_answer.text, "NO");
	store_plan_free(&plan);

	static const struct { const char *text; uint32_t line, column; } bad[] = {
		{ "format: 1\nplan: p\ntitle: t\nphases:\n- phase: a\n  title: A\n  steps:\n  - {step: s, title: S, ask: wish}\n", 8, 30 },
		{ "format: 1\nplan: p\ntitle: t\nphases:\n- phase: a\n  title: A\n  steps:\n  - {step: s, title: S, ask: number, unit: V, least: 1e3}\n", 8, 54 },
		{ "format: 1\nplan: p\ntitle: t\nkit: [{item: a, name: b, need: -1}]\nphases: []\n", 4, 32 },
		{ "format: 1\nplan: p\ntitle: t\nphases:\n- phase: a\n  title: A\n", 5, 3 },
	};
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_true(scratch_write(path, bad[i].text, strlen(bad[i].text)));
		assert_false(store_plan_load(path, &plan, &fault));
		if (fault.kind != PM_FAULT_VALUE || fault.line != bad[i].line || fault.column != bad[i].column)
			fail_msg("%zu: %u:%u %s", i, fault.line, fault.column, fault.message);
	}
}

/* --- a new job, and the format's page --- */

static void test_compose(void **state)
{
	(void)state;
	struct pm_arena arena;
	struct store_job job;
	struct pm_fault fault;
	struct pm_job head = {
		.plan = { .text = "flood" }, .gear = { .text = "eg-12" }, .code = { .text = "0123456" },
		.name = { .text = "Mill \"Old\" \\ #1: w\xC3\xA9ir" }, .zone = { .text = "" }, .live = true, .practice = true,
	};
	size_t length;
	pm_arena_init(&arena);
	char *text = store_job_compose(&head, &arena, &length);
	assert_non_null(text);
	assert_int_equal(text[0], '#');
	assert_non_null(strstr(text, "\nformat: 1\nplan: \"flood\"\n"));
	assert_null(strstr(text, "zone"));
	fault = (struct pm_fault){ 0 };
	if (!store_job_parse(text, length, "x.yaml", &job, &fault))
		fail_msg("%u:%u %s\n%s", fault.line, fault.column, fault.message, text);
	assert_string_equal(job.job.code.text, head.code.text);
	assert_string_equal(job.job.name.text, head.name.text);
	assert_true(job.job.live);
	assert_true(job.job.practice);
	assert_int_equal(job.job.reading_count, 0);
	store_job_free(&job);
	head.name.text = "a\nb";
	assert_null(store_job_compose(&head, &arena, &length));
	head.name.text = NULL;
	head.code.text = "";
	assert_null(store_job_compose(&head, &arena, &length));
	assert_false(arena.failed);
	pm_arena_free(&arena);
}

#define SECTION "  - section: ports\n    rows: port\n    columns:\n" \
	"      - {title: Name, fill: row/name, required: yes, widest: 12}\n"
#define LAYOUT "format: 1\nlayout: desk\ntitle: A desk\nsections:\n" SECTION

static void test_layout(void **state)
{
	(void)state;
	struct store_layout layout;
	struct pm_fault fault = { 0 };
	if (!store_layout_load("data/sheets/tavrane-desk.yaml", &layout, &fault))
		fail_msg("%u:%u %s", fault.line, fault.column, fault.message);
	const struct pm_layout *l = &layout.layout;
	assert_string_equal(l->id.text, "tavrane-desk");
	assert_true(l->apostrophe);
	assert_int_equal(l->section_count, 4);
	assert_int_equal(l->sections[2].rows, PM_ROWS_PORT);
	assert_int_equal(l->sections[2].titles, PM_TITLES_ABOVE);
	assert_string_equal(l->sections[2].columns[3].form.text, "HH-HH-HH-HH-HH-HH");
	assert_true(l->sections[0].columns[2].fixed && l->sections[0].columns[2].required);
	assert_int_equal(strlen(store_layout_digest(&layout)), 64);
	store_layout_free(&layout);

	const char *path = in_folder("desk.yaml");
	const char *text = "apostrophe: no\n" LAYOUT "    titles: none\n";
	assert_true(scratch_write(path, text, strlen(text)));
	assert_true(store_layout_load(path, &layout, &fault));
	assert_false(layout.layout.apostrophe);
	assert_int_equal(layout.layout.sections[0].titles, PM_TITLES_NONE);
	assert_int_equal(layout.layout.sections[0].columns[0].widest, 12);
	assert_string_equal(layout.layout.file, path);
	store_layout_free(&layout);

	static const struct { const char *text; uint32_t line, column; } bad[] = {
		{ "format: 1\nlayout: desk\ntitle: t\n", 1, 1 },
		{ "format: 1\nlayout: desk\ntitle: t\nsections: []\n", 2, 9 },
		{ LAYOUT "    titles: below\n", 9, 13 },
		{ LAYOUT "  - {section: b, rows: rack, columns: [{title: T, fill: seal}]}\n", 9, 24 },
		{ LAYOUT "  - {section: b, rows: site, columns: [{title: T, fill: row/name}]}\n", 9, 57 },
		{ LAYOUT "  - {section: b, rows: site, columns: [{title: T, fill: seal, widest: wide}]}\n", 9, 71 },
		{ LAYOUT "  - {section: ports, rows: site, columns: [{title: T, fill: seal}]}\n", 9, 15 },
		{ LAYOUT "  - {section: b, rows: site, columns: [{fill: seal}]}\n", 9, 40 },
	};
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_true(scratch_write(path, bad[i].text, strlen(bad[i].text)));
		assert_false(store_layout_load(path, &layout, &fault));
		if (fault.kind != PM_FAULT_VALUE || fault.line != bad[i].line || fault.column != bad[i].column)
			fail_msg("%zu: %u:%u %s", i, fault.line, fault.column, fault.message);
	}
}

static void check_rows(const char *page, const struct store_table *table)
{
	for (size_t i = 0; i < table->count; i++) {
		char row[100];
		snprintf(row, sizeof row, "| `%s` | ", table->fields[i].key);
		if (!strstr(page, row) || !table->fields[i].meaning)
			fail_msg("%s.%s is not on the page", table->name, table->fields[i].key);
		if (table->fields[i].table)
			check_rows(page, table->fields[i].table);
	}
}

static void test_format_page(void **state)
{
	(void)state;
	struct pm_arena arena;
	pm_arena_init(&arena);
	const char *page = store_format_page(&arena);
	assert_non_null(page);
	check_rows(page, &store_job_table);
	check_rows(page, &store_plan_table);
	check_rows(page, &store_gear_table);
	check_rows(page, &store_layout_table);
	assert_non_null(strstr(page, "### `phases[].steps[].only-if`"));
	assert_non_null(strstr(page, "`console`, `typed`, `label`"));
	for (const char *line = page; line && *line; line = strchr(line, '\n'), line += line ? 1 : 0)
		if (*line == '|') {
			int bars = 0;
			for (const char *at = line; *at != '\n'; at++)
				bars += *at == '|';
			assert_int_equal(bars, 6);
		}
	pm_arena_free(&arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_gear),
		cmocka_unit_test(test_plan),
		cmocka_unit_test(test_layout),
		cmocka_unit_test(test_compose),
		cmocka_unit_test(test_format_page),
	};
	return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
