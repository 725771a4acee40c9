/* seal: the seal of a job, or of a sheet alone; of both, whether they agree. */
#include <string.h>

#include "cmd/cmd.h"
#include "cmd/json_out.h"
#include "cmd/sheet_set.h"
#include "portmuster/text.h"
#include "sheet/sheet_seal.h"

/* A sheet by its name; everything else is taken for a job. */
static bool is_sheet(const char *path)
{
	static const char *const endings[] = { ".csv", ".xlsx", ".xlsm", ".xls", ".tsv", ".txt" };
	size_t length = strlen(path);
	for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
		size_t ending = strlen(endings[i]);
		if (length > ending && pm_same_nocase(path + length - ending, endings[i]))
			return true;
	}
	return false;
}

static json_t *json_seal(const char *site, const struct pm_seal *seal)
{
	json_t *item = json_object(), *words = json_array();
	for (const char *c = seal->text; *c; c++)
		if (*c != '-')
			json_array_append_new(words, json_string(pm_spell(*c)));
	json_object_set_new(item, "seal", json_string(seal->text));
	json_object_set_new(item, "words", words);
	json_object_set_new(item, "sha256", json_string(seal->sha256));
	json_object_set_new(item, "complete", json_boolean(seal->complete));
	json_object_set_new(item, "site", sheet_json_text(site));
	return item;
}

static void put_seal(const char *from, const char *site, const struct pm_seal *seal)
{
	sheet_put_visible(stdout, site ? site : "(no site code)");
	printf(", %s: %s%s\n  ", from, seal->text, seal->complete ? "" : "  not complete");
	for (const char *c = seal->text; *c; c++)
		if (*c == '-')
			printf(" -");
		else
			printf("%s%s", c == seal->text ? "" : " ", pm_spell(*c));
	printf("\n  SHA-256 %s\n", seal->sha256);
}

struct seals {
	const struct pm_job *job;   /* null: none was given */
	struct pm_seal of_job;
	struct sheet_seals of_sheet;
	bool has_sheet;
};

/* The sheet's seal for the job's site; null when the sheet does not have it. */
static const struct pm_seal *counterpart(const struct seals *s)
{
	for (size_t i = 0; i < s->of_sheet.count; i++)
		if (pm_same(s->of_sheet.item[i].site, s->job->code.text))
			return &s->of_sheet.item[i].seal;
	return s->of_sheet.count == 1 ? &s->of_sheet.item[0].seal : NULL;
}

static bool put_all_json(const struct seals *s, const struct pm_seal *other, bool match)
{
	json_t *all;
	if (s->job) {
		all = json_seal(s->job->code.text, &s->of_job);
		if (s->has_sheet) {
			json_object_set_new(all, "sheet", other ? json_seal(s->job->code.text, other) : json_null());
			json_object_set_new(all, "match", json_boolean(match));
		}
	} else if (s->of_sheet.count == 1) {
		all = json_seal(s->of_sheet.item[0].site, &s->of_sheet.item[0].seal);
	} else {
		json_t *list = json_array();
		for (size_t i = 0; i < s->of_sheet.count; i++)
			json_array_append_new(list, json_seal(s->of_sheet.item[i].site, &s->of_sheet.item[i].seal));
		all = json_object();
		json_object_set_new(all, "seals", list);
	}
	if (!cmd_put_json(all, 2))
		return false;
	putchar('\n');
	return true;
}

static int put_all(const struct seals *s, bool json)
{
	const struct pm_seal *other = s->job && s->has_sheet ? counterpart(s) : NULL;
	bool match = other && strcmp(other->sha256, s->of_job.sha256) == 0, complete = !s->job || s->of_job.complete;
	if (s->has_sheet && !s->job)
		complete = s->of_sheet.count > 0;
	for (size_t i = 0; !s->job && i < s->of_sheet.count; i++)
		complete &= s->of_sheet.item[i].seal.complete;
	if (json) {
		if (!put_all_json(s, other, match))
			return EXIT_UNABLE;
	} else {
		if (s->job)
			put_seal("job", s->job->code.text, &s->of_job);
		for (size_t i = 0; !s->job && i < s->of_sheet.count; i++)
			put_seal("sheet", s->of_sheet.item[i].site, &s->of_sheet.item[i].seal);
		if (other)
			put_seal("sheet", s->job->code.text, other);
		if (s->job && s->has_sheet)
			puts(match ? "the same facts" : other ? "NOT the same facts" : "the sheet does not have this site");
	}
	fflush(stdout);
	if (!complete)
		fputs(s->has_sheet && !s->job && !s->of_sheet.count ? "portmuster: the sheet holds no site\n"
		      : "portmuster: not complete: a registered fact has no value, or readings that differ\n", stderr);
	if (s->job && s->has_sheet && !match)
		fputs("portmuster: see which cell differs with: portmuster sheet --verify\n", stderr);
	return complete && (!s->job || !s->has_sheet || match) ? EXIT_CLEAR : EXIT_STOPPED;
}

static bool of_sheet(const char *path, const struct pm_layout *layout, struct pm_arena *arena, struct seals *s,
                     struct pm_fault *fault)
{
	struct returned sheet;
	struct trouble trouble;
	trouble_init(&trouble, arena);
	s->has_sheet = true;
	if (!returned_read(path, layout, arena, &sheet, fault) ||
	    !sheet_seals(layout, &sheet, arena, &trouble, &s->of_sheet, fault))
		return false;
	sheet_put_trouble(stderr, &trouble);
	return true;
}

static int seal(const char *job, const char *sheet, const char *layout_given, bool json)
{
	struct seals s = { .job = NULL };
	struct sheet_set set = { .has_layout = false };
	struct store_layout layout;
	struct loaded loaded;
	struct pm_fault fault = { 0 };
	struct pm_arena arena;
	char *paths[1] = { NULL };
	bool good = true, has_layout = false, has_job = false;
	pm_arena_init(&arena);
	if (job && sheet) {
		/* the job may say which layout it is */
		char *copy = pm_arena_copy(&arena, job, strlen(job));
		paths[0] = copy;
		good = copy && sheet_set_load(paths, 1, layout_given, &set, &fault);
		s.job = good ? set.jobs[0].job : NULL;
		good = good && pm_seal_job(s.job, set.jobs[0].gear, &arena, &s.of_job) &&
		       of_sheet(sheet, &set.layout.layout, &arena, &s, &fault);
	} else if (job) {
		good = has_job = load_job(job, &loaded, &fault);
		s.job = good ? &loaded.job.job : NULL;
		good = good && pm_seal_job(s.job, &loaded.gear.gear, &arena, &s.of_job);
	} else {
		good = has_layout = sheet_layout_load(layout_given, sheet, &layout, &fault);
		good = good && of_sheet(sheet, &layout.layout, &arena, &s, &fault);
	}
	if (!good && fault.kind == PM_FAULT_NONE)
		pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	int status = good ? put_all(&s, json) : cmd_fault(&fault);
	if (has_layout)
		store_layout_free(&layout);
	if (has_job)
		load_free(&loaded);
	sheet_set_free(&set);
	pm_arena_free(&arena);
	return status;
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = { { "json", false, 'j' }, { "layout", true, 'l' }, { 0 } };
	const char *layout = NULL, *job = NULL, *sheet = NULL;
	bool json = false;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		switch (letter) {
		case 'j': json = true; break;
		case 'l': layout = value; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	}
	for (int i = cmd_operands(); i < argc; i++) {
		const char **place = is_sheet(argv[i]) ? &sheet : &job;
		if (*place)
			return cmd_usage(cmd, "one job, one sheet, or one of each");
		*place = argv[i];
	}
	if (!job && !sheet)
		return cmd_usage(cmd, "no job file or sheet given");
	return seal(job, sheet, layout, json);
}

const struct cmd cmd_seal = {
	"seal", "[--json] [--layout NAME|FILE] JOB | SHEET | JOB SHEET",
	"the seal of a job or a sheet, in characters and in words",
	"  SHEET               a registration sheet: a name that ends in .csv or .xlsx; of both a job and a sheet\n"
	"                      the seals are compared\n"
	"  --layout NAME|FILE  the sheet's layout; otherwise the one that the job names, or the only one there is\n"
	"  --json              the result as JSON\n",
	run,
};
