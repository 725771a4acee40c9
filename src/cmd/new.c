/* new: a job file, many from a CSV site list, or a practice site. */
#include <limits.h>
#include <string.h>

#include "cmd/cmd.h"
#include "cmd/practice.h"
#include "portmuster/text.h"
#include "sheet/names.h"
#include "store/csv.h"
#include "store/document.h"
#include "store/find.h"
#include "store/path.h"
#include "store/save.h"
#include "store/zone_file.h"

#define DEFAULT_PLAN "router-swap"
#define MOST_LIST (16u << 20)

/* What a site list or the command line can say of a site: column or option
 * name, and where it lives in the job's head. */
static const struct site_column {
	const char *name;
	size_t offset;
} columns[] = {
	{ "code", offsetof(struct pm_job, code) },
	{ "name", offsetof(struct pm_job, name) },
	{ "zone", offsetof(struct pm_job, zone) },
	{ "unit", offsetof(struct pm_job, unit) },
	{ "parent", offsetof(struct pm_job, parent) },
	{ "crew", offsetof(struct pm_job, crew) },
	{ "old-serial", offsetof(struct pm_job, old_serial) },
	{ "due", offsetof(struct pm_job, due) },
	{ "plan", offsetof(struct pm_job, plan) },
	{ "gear", offsetof(struct pm_job, gear) },
	{ "layout", offsetof(struct pm_job, layout) },
};

#define COLUMNS (sizeof columns / sizeof *columns)

static struct pm_word *member(struct pm_job *head, size_t column)
{
	return (struct pm_word *)(void *)((char *)head + columns[column].offset);
}

static size_t column_of(const char *name)
{
	size_t i = 0;
	while (i < COLUMNS && strcmp(columns[i].name, name) != 0)
		i++;
	return i;
}

/* "yes" or "no" for a terminal in live service. */
static bool read_live(struct pm_word word, struct pm_job *head, const char *file, struct pm_fault *fault)
{
	if (!pm_given(word) || strcmp(word.text, "no") == 0)
		return true;
	head->live = true;
	if (strcmp(word.text, "yes") == 0)
		return true;
	pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ file, word.line, word.column }, "live is yes or no");
	return pm_fail_remedy(fault, "write yes where a terminal in live service stands");
}

/* Zones that were looked up: one list mostly names few, and of many rows in a row the same. */
struct zones {
	const char *last;   /* the last one that is none of the unknown; null: none yet */
	bool told;          /* that they could not be looked up */
};

/* An unknown time zone is refused; where it can't be looked up, that is said once. */
static bool known_zone(struct zones *zones, struct pm_word zone, const char *file, struct pm_fault *fault)
{
	struct store_zone found;
	if (!pm_given(zone) || pm_same(zone.text, zones->last))
		return true;
	store_zone_open(&found, zone.text, true);
	bool good = store_zone_may(&found, zone.text, (struct pm_place){ file, zone.line, zone.column }, fault);
	if (found.look.standing == PM_LOOK_UNCHECKED && !zones->told) {
		struct pm_text text;
		char shown[300];
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_quote(&text, zone.text);
		fprintf(stderr, "portmuster new: time zone %s was not looked up: %s\n", shown, found.look.why);
		zones->told = true;
	}
	store_zone_close(&found);
	zones->last = zone.text;
	return good;
}

/* The sheet layout that was named, or the only one there is; none is no fault. */
static bool add_layout(struct pm_job *head, const char *path, struct pm_arena *arena, struct pm_fault *fault)
{
	char found[PATH_MAX];
	struct store_layout layout;
	struct pm_fault none;
	if (!pm_given(head->layout)) {
		if (!store_find_only(STORE_SHEET, path, found, sizeof found, &none))
			return true;
		const char *name = store_path_name(found);
		head->layout.text = pm_arena_copy(arena, name, strlen(name) - strlen(".yaml"));
	} else if (!store_find(STORE_SHEET, head->layout.text, path, found, sizeof found, fault)) {
		return false;
	}
	if (!store_layout_load(found, &layout, fault))
		return false;
	const char *digest = store_layout_digest(&layout);
	head->layout_digest.text = digest ? pm_arena_copy(arena, digest, strlen(digest)) : NULL;
	store_layout_free(&layout);
	return head->layout.text && head->layout_digest.text;
}

/* Find plan, gear and layout, and record what they are now. */
static bool add_digests(struct pm_job *head, const char *path, struct pm_arena *arena, struct pm_fault *fault)
{
	char found[PATH_MAX];
	struct store_plan plan;
	struct store_gear gear;
	if (!store_find(STORE_PLAN, head->plan.text, path, found, sizeof found, fault) ||
	    !store_plan_load(found, &plan, fault))
		return false;
	const char *digest = store_plan_digest(&plan);
	head->plan_digest.text = digest ? pm_arena_copy(arena, digest, strlen(digest)) : NULL;
	store_plan_free(&plan);
	if (!store_find(STORE_GEAR, head->gear.text, path, found, sizeof found, fault) ||
	    !store_gear_load(found, &gear, fault))
		return false;
	digest = store_gear_digest(&gear);
	head->gear_digest.text = digest ? pm_arena_copy(arena, digest, strlen(digest)) : NULL;
	store_gear_free(&gear);
	return head->plan_digest.text && head->gear_digest.text && add_layout(head, path, arena, fault);
}

/* Why a head could not be written down; `from` is where its values come from. */
static void name_problem(struct pm_job *head, const char *from, struct pm_fault *fault)
{
	for (size_t i = 0; i < COLUMNS; i++) {
		struct pm_word word = *member(head, i);
		const char *problem = word.text ? store_value_problem(word.text) : NULL;
		char quoted[200];
		struct pm_text text;
		if (!problem)
			continue;
		pm_text_fixed(&text, quoted, sizeof quoted);
		pm_text_quote(&text, word.text);
		pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ from, word.line, word.column }, "%s in %s %s", problem, columns[i].name, quoted);
		pm_fail_remedy(fault, "write it without");
		return;
	}
	pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ .file = from }, "out of memory");
}

/* The text of the job at `path`, checked by reading it back. */
static char *compose(struct pm_job *head, const char *path, const char *from, struct pm_arena *arena, size_t *length, struct pm_fault *fault)
{
	struct store_job job;
	if (!pm_given(head->code)) {
		pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ .file = path }, "a site needs a code");
		return NULL;
	}
	if (!pm_given(head->gear)) {
		pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ .file = path }, "which gear goes in is not said");
		pm_fail_remedy(fault, "give --gear NAME, a profile such as eg-12");
		return NULL;
	}
	if (!pm_given(head->plan))
		head->plan.text = DEFAULT_PLAN;
	head->format = 1;
	*fault = (struct pm_fault){ 0 };
	if (!add_digests(head, path, arena, fault)) {
		if (fault->kind == PM_FAULT_NONE)
			pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ .file = path }, "out of memory");
		return NULL;
	}
	char *text = store_job_compose(head, arena, length);
	if (!text) {
		name_problem(head, from, fault);
		return NULL;
	}
	if (!store_job_parse(text, *length, path, &job, fault))
		return NULL;
	store_job_free(&job);
	return text;
}

/* --- many, from a list --- */

struct made {
	char *path, *text;
	size_t length;
};

struct list {
	struct pm_arena arena;
	const char *file, *folder;
	struct made *made;
	size_t count, room;
	struct names paths;
	struct pm_words header;
	struct zones zones;
};

/* A file name from a site code: letters, digits, - and _; all else becomes -. */
static char *path_for(struct list *list, const char *code)
{
	struct pm_text text;
	pm_text_grow(&text, &list->arena);
	size_t length = strlen(list->folder);
	pm_text_add(&text, "%s%s", list->folder, length && list->folder[length - 1] == '/' ? "" : "/");
	for (; *code; code++)
		pm_text_char(&text, pm_is_alnum(*code) || *code == '_' ? (char)pm_lower(*code) : '-');
	pm_text_str(&text, ".yaml");
	return text.data;
}

static bool list_row(struct list *list, const struct pm_words *fields, const struct pm_job *common, struct pm_fault *fault)
{
	struct pm_job head = *common;
	struct pm_place place = { list->file, fields->item[0].line, 1 };
	if (fields->count != list->header.count)
		return pm_fail(fault, PM_FAULT_SYNTAX, place, "%zu fields where the header has %zu", fields->count, list->header.count);
	for (size_t i = 0; i < fields->count; i++) {
		const char *name = list->header.item[i].text;
		if (strcmp(name, "live") == 0) {
			if (!read_live(fields->item[i], &head, list->file, fault))
				return false;
		} else if (fields->item[i].text[0]) {
			*member(&head, column_of(name)) = fields->item[i];
		}
	}
	if (!pm_given(head.code))
		return pm_fail(fault, PM_FAULT_VALUE, place, "a row without a site code");
	/* one given as an option stands in no line of the list */
	if (!known_zone(&list->zones, head.zone, head.zone.line ? list->file : NULL, fault))
		return false;
	void *items = list->made;
	struct made *made = pm_arena_push(&list->arena, &items, &list->count, &list->room, sizeof *made);
	list->made = items;
	if (!made)
		return pm_fail(fault, PM_FAULT_MEMORY, place, "out of memory");
	made->path = path_for(list, head.code.text);
	if (!list->arena.failed && names_find(&list->paths, made->path) != NAMES_NONE)
		return pm_fail(fault, PM_FAULT_VALUE, place, "two rows would make the same file %s", made->path);
	if (list->arena.failed || !names_add(&list->paths, made->path))
		return pm_fail(fault, PM_FAULT_MEMORY, place, "out of memory");
	made->text = compose(&head, made->path, list->file, &list->arena, &made->length, fault);
	return made->text != NULL;
}

static bool list_header(struct list *list, struct pm_fault *fault)
{
	for (size_t i = 0; i < list->header.count; i++) {
		struct pm_word name = list->header.item[i];
		if (strcmp(name.text, "live") == 0 || column_of(name.text) < COLUMNS)
			continue;
		pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ list->file, name.line, name.column }, "unknown column %s",
		        pm_quoted(&list->arena, name.text));
		return pm_fail_remedy(fault, "columns are code, name, zone, unit, parent, crew, old-serial, due, live, plan, gear, layout");
	}
	return true;
}

static bool list_read(struct list *list, const struct pm_job *common, struct pm_fault *fault)
{
	struct csv_reader reader;
	struct pm_words fields;
	char *text;
	size_t length;
	int got;
	if (!store_read_file(list->file, MOST_LIST, &list->arena, &text, &length, fault))
		return false;
	csv_open(&reader, text, length, list->file, &list->arena);
	got = csv_next(&reader, &list->header, fault);
	if (got == 0)
		return pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ .file = list->file }, "the site list is empty");
	if (got < 0 || !list_header(list, fault))
		return false;
	while ((got = csv_next(&reader, &fields, fault)) > 0)
		if (!list_row(list, &fields, common, fault))
			return false;
	return got == 0;
}

/* Every row is checked before the first file is written. */
static int from_list(const char *file, const char *folder, const struct pm_job *common)
{
	struct list list = { .file = file, .folder = folder };
	struct pm_fault fault;
	int status = EXIT_CLEAR;
	pm_arena_init(&list.arena);
	names_init(&list.paths, &list.arena);
	if (!list_read(&list, common, &fault) || !store_path_make(folder, &fault))
		status = cmd_fault(&fault);
	for (size_t i = 0; status == EXIT_CLEAR && i < list.count; i++) {
		if (!store_create_file(list.made[i].path, list.made[i].text, list.made[i].length, &fault))
			status = cmd_fault(&fault);
		else
			cmd_line(stdout, "%s", list.made[i].path);
	}
	pm_arena_free(&list.arena);
	return status;
}

static int one(struct pm_job *head, const char *path, const char *program)
{
	struct pm_arena arena;
	struct pm_fault fault;
	struct zones zones = { 0 };
	size_t length;
	int status = EXIT_CLEAR;
	if (!known_zone(&zones, head->zone, NULL, &fault))
		return cmd_fault(&fault);
	pm_arena_init(&arena);
	char *text = compose(head, path, path, &arena, &length, &fault);
	if (!text || !store_create_file(path, text, length, &fault))
		status = cmd_fault(&fault);
	else
		cmd_line(stdout, "%s: begin with: %s walk %s", path, program, path);
	pm_arena_free(&arena);
	return status;
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "code", true, 0 }, { "name", true, 1 }, { "zone", true, 2 }, { "unit", true, 3 }, { "parent", true, 4 },
		{ "crew", true, 5 }, { "old-serial", true, 6 }, { "due", true, 7 }, { "plan", true, 8 }, { "gear", true, 9 },
		{ "layout", true, 10 },
		{ "live", false, 'l' }, { "list", true, 'L' }, { "practice", true, 'p' }, { 0 },
	};
	struct pm_job head = { 0 };
	const char *list = NULL, *practice = NULL;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		switch (letter) {
		case 'l': head.live = true; break;
		case 'L': list = value; break;
		case 'p': practice = value; break;
		case -2: return EXIT_CLEAR;
		case '?': case ':': return EXIT_UNABLE;
		default: member(&head, (size_t)letter)->text = value; break;
		}
	}
	int operands = argc - cmd_operands();
	if (practice)
		return operands ? cmd_usage(cmd, "--practice takes no other file") : practice_make(practice, cmd_again(argv[-1]));
	if (operands != 1)
		return cmd_usage(cmd, list ? "a folder for the job files is needed" : "one file name for the job is needed");
	return list ? from_list(list, argv[cmd_operands()], &head) : one(&head, argv[cmd_operands()], cmd_again(argv[-1]));
}

const struct cmd cmd_new = {
	"new", "--code CODE --gear GEAR [OPTION...] FILE | --list CSV [OPTION...] FOLDER | --practice FOLDER",
	"a job file, many from a CSV site list, or a practice site",
	"  --code CODE        the site's code\n"
	"  --gear GEAR        the gear profile that goes in\n"
	"  --plan PLAN        the plan (router-swap)\n"
	"  --layout LAYOUT    the layout of the registration sheet (the only one there is)\n"
	"  --name, --zone, --unit, --parent, --crew, --old-serial, --due VALUE\n"
	"                     what the site list says; --due is a date such as 2026-03-02\n"
	"  --live             a terminal in live service stands there\n"
	"  --list CSV         one job a row, into FOLDER, made when it is not there; the header\n"
	"                     names the columns: code, name, zone, unit, parent, crew, old-serial,\n"
	"                     due, live (yes or no), plan, gear, layout\n"
	"  --practice FOLDER  the practice site with its console logs and answers\n",
	run,
};
