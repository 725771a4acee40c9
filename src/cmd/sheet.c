/* sheet: write the registration sheet of jobs, or hold a returned one against them. */
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "cmd/cmd.h"
#include "cmd/each.h"
#include "cmd/json_out.h"
#include "cmd/sheet_set.h"
#include "portmuster/text.h"
#include "sheet/csv_write.h"
#include "sheet/template.h"
#include "sheet/verify.h"

struct options {
	const char *layout, *out, *verify;
	bool json, draft;
	struct pm_when now;
};

/* One run over one set of jobs; everything it makes lives in the arena. */
struct sheet_run {
	const struct options *o;
	struct sheet_set set;
	struct pm_arena arena;
	struct grid grid;
	json_t *held;              /* null: plain text */
	size_t held_count;
};

static bool ends_in_xlsx(const char *path)
{
	size_t length = path ? strlen(path) : 0;
	return length >= 5 && pm_same_nocase(path + length - 5, ".xlsx");
}

static bool out_of_memory(struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
}

/* --- is the job ready to have its sheet written? --- */

static void hold(struct sheet_run *run, const struct pm_job *job, const char *phase, const char *what, const char *why,
                 const char *who)
{
	run->held_count++;
	if (run->held) {
		json_t *item = json_object();
		json_object_set_new(item, "site", sheet_json_text(job->code.text));
		json_object_set_new(item, "phase", sheet_json_text(phase));
		json_object_set_new(item, "condition", sheet_json_text(what));
		json_object_set_new(item, "why", sheet_json_text(why));
		json_object_set_new(item, "who", sheet_json_text(who));
		json_array_append_new(run->held, item);
		return;
	}
	fputs("held  ", stderr);
	sheet_put_visible(stderr, job->code.text);
	fputs(phase ? ": phase " : ": ", stderr);
	sheet_put_visible(stderr, phase);
	fputs(phase ? " needs: " : "", stderr);
	sheet_put_visible(stderr, what);
	fputs(": ", stderr);
	sheet_put_visible(stderr, why);
	if (who) {
		fputs(" (", stderr);
		sheet_put_visible(stderr, who);
		fputc(')', stderr);
	}
	fputc('\n', stderr);
}

/* The phase that sends the sheet; the plan's phase_count when none does. */
static size_t sending_phase(const struct pm_plan *plan)
{
	for (size_t p = 0; p < plan->phase_count; p++)
		for (size_t s = 0; s < plan->phases[p].step_count; s++)
			if (plan->phases[p].steps[s].ask == PM_ASK_SENT)
				return p;
	return plan->phase_count;
}

/* Does this line of a gate keep the sheet from being written? What the sending
 * phase itself has still to mend, such as facts changed since, does not: a new
 * sheet is how it is mended. So its "no-stops" is judged finding by finding. */
static bool line_holds(const struct pm_gate_line *line, size_t phase, size_t sending)
{
	if (line->met)
		return false;
	if (line->phase < sending)
		return line->phase == phase && line->closing;   /* the later ones wait for this one */
	return line->phase == sending && !line->closing && phase >= sending && !pm_same(line->need->condition.text, "no-stops");
}

/* Every phase before the one that sends the sheet must be closed, that one open,
 * and no stop finding stand that an earlier phase has to mend. */
static bool judge_ready(struct sheet_run *run, const struct loaded *loaded, struct pm_fault *fault)
{
	struct pm_arena arena;
	struct pm_result result;
	const struct pm_case c = load_case(loaded, run->o->now);
	size_t sending = sending_phase(c.plan);
	pm_arena_init(&arena);
	bool good = pm_check(&c, &arena, &result) || out_of_memory(fault);
	for (size_t i = 0; good && sending < c.plan->phase_count && i < result.gates.count; i++) {
		const struct pm_gate_line *line = &result.gates.line[i];
		if (line_holds(line, result.phase, sending))
			hold(run, c.job, c.plan->phases[line->phase].id.text, line->need->condition.text, line->why, line->who);
	}
	for (size_t i = 0; good && i < result.findings.count; i++) {
		const struct pm_finding *finding = &result.findings.item[i];
		if (finding->severity == PM_STOP && !finding->waived && finding->phase < sending && finding->code != PM_SEAL_CHANGED)
			hold(run, c.job, NULL, pm_code_row(finding->code)->name, finding->message, NULL);
	}
	pm_arena_free(&arena);
	return good;
}

/* --- output --- */

static json_t *json_sites(const struct grid *grid)
{
	json_t *list = json_array();
	for (size_t i = 0; i < grid->job_count; i++) {
		const struct grid_job *job = &grid->jobs[i];
		json_t *item = json_object();
		json_object_set_new(item, "site", sheet_json_text(job->job->code.text));
		json_object_set_new(item, "file", sheet_json_text(job->job->file));
		json_object_set_new(item, "seal", sheet_json_text(job->seal.text));
		json_object_set_new(item, "complete", json_boolean(job->seal.complete));
		json_array_append_new(list, item);
	}
	return list;
}

static bool put_json(const struct sheet_run *run, const char *file, const char *flag, bool value, const struct trouble *trouble)
{
	json_t *all = json_object();
	json_object_set_new(all, "layout", sheet_json_text(run->set.layout.layout.id.text));
	json_object_set_new(all, "medium", json_string(run->grid.medium == GRID_WORKBOOK ? "workbook" : "csv"));
	json_object_set_new(all, "file", sheet_json_text(file));
	json_object_set_new(all, flag, json_boolean(value));
	json_object_set_new(all, "sites", json_sites(&run->grid));
	if (run->held && run->held_count)
		json_object_set(all, "held", run->held);
	json_object_set_new(all, "findings", sheet_json_trouble(trouble));
	if (!cmd_put_json(all, 2))
		return false;
	putchar('\n');
	return true;
}

static void put_written(const struct sheet_run *run)
{
	printf("written: ");
	sheet_put_visible(stdout, run->o->out);
	printf(" (layout ");
	sheet_put_visible(stdout, run->set.layout.layout.id.text);
	printf(")\n");
	for (size_t i = 0; i < run->grid.job_count; i++) {
		const struct grid_job *job = &run->grid.jobs[i];
		printf("  ");
		sheet_put_visible(stdout, job->job->code.text);
		printf("  seal %s%s\n", job->seal.text, job->seal.complete ? "" : ", not complete");
	}
}

/* --- writing --- */

static bool write_csv(struct sheet_run *run, struct pm_fault *fault)
{
	struct pm_text text;
	if (run->o->out && strcmp(run->o->out, "-") != 0)
		return csv_save(&run->grid, run->o->out, fault);
	pm_text_grow(&text, &run->arena);
	if (!csv_put(&text, &run->grid))
		return out_of_memory(fault);
	fwrite(text.data, 1, text.length, stdout);
	return true;
}

/* A structure that differs is never written into, not even as a draft. */
static size_t structure_stops(const struct trouble *trouble)
{
	size_t stops = 0;
	for (size_t i = 0; i < trouble->list.count; i++)
		stops += trouble->list.item[i].code == PM_SHEET_STRUCTURE && trouble->list.item[i].severity == PM_STOP;
	return stops;
}

static int write_sheet(struct sheet_run *run, struct pm_fault *fault)
{
	const struct options *o = run->o;
	struct workbook *workbook = NULL;
	char path[PATH_MAX];
	enum grid_medium medium = ends_in_xlsx(o->out) ? GRID_WORKBOOK : GRID_CSV;
	if (!grid_build(&run->set.layout.layout, medium, run->set.jobs, run->set.count, &run->arena, &run->grid))
		return out_of_memory(fault), cmd_fault(fault);
	if (medium == GRID_WORKBOOK) {
		workbook = template_path(&run->set.layout.layout, path, sizeof path, fault) &&
		           each_may_write(o->out, &(char *){ path }, 1, fault) ? workbook_open(path, fault) : NULL;
		if (!workbook)
			return cmd_fault(fault);
		if (!template_check(workbook, path, &run->grid, &run->arena, fault)) {
			workbook_close(workbook);
			return cmd_fault(fault);
		}
	}
	bool good = true;
	for (size_t i = 0; good && i < run->set.count; i++)
		good = judge_ready(run, &run->set.loaded[i], fault);
	const struct trouble *trouble = &run->grid.trouble;
	size_t stops = pm_findings_count(&trouble->list, PM_STOP) + run->held_count;
	bool wanted = (!stops || o->draft) && !structure_stops(trouble);
	if (good && wanted && medium == GRID_WORKBOOK)
		good = template_fill(workbook, &run->grid, fault) && workbook_save(workbook, o->out, fault);
	else if (good && wanted)
		good = write_csv(run, fault);
	workbook_close(workbook);
	if (!good)
		return cmd_fault(fault);
	if (o->json && !put_json(run, o->out, "written", wanted, trouble))
		return out_of_memory(fault), cmd_fault(fault);
	if (!o->json) {
		sheet_put_trouble(stderr, trouble);
		if (!wanted)
			fprintf(stderr, "portmuster: no sheet is written; mend what is listed%s\n",
			        structure_stops(trouble) ? "" : ", or write it all the same with --draft");
		else if (o->out && strcmp(o->out, "-") != 0)
			put_written(run);
	}
	return stops ? EXIT_STOPPED : EXIT_CLEAR;
}

/* --- verifying --- */

/* What the job lacks is missing on a sheet that agrees with it, too. */
static void add_stops(struct trouble *to, const struct trouble *from)
{
	for (size_t i = 0; i < from->list.count; i++) {
		const struct pm_finding *finding = &from->list.item[i];
		if (finding->severity != PM_STOP)
			continue;
		struct trouble_detail *detail = trouble_add(to, finding->code, PM_STOP,
			&(struct trouble_at){ .file = finding->place.file, .interface = finding->interface, .row = TROUBLE_NO_CELL },
			"%s", finding->message);
		if (!detail)
			return;
		*detail = from->detail[i];
		trouble_last(to)->field = finding->field;
		trouble_last(to)->remedy = finding->remedy;
	}
}

static int verify(struct sheet_run *run, struct pm_fault *fault)
{
	struct returned sheet;
	struct trouble trouble;
	const char *path = run->o->verify;
	trouble_init(&trouble, &run->arena);
	if (!returned_read(path, &run->set.layout.layout, &run->arena, &sheet, fault))
		return cmd_fault(fault);
	if (!grid_build(&run->set.layout.layout, sheet.workbook ? GRID_WORKBOOK : GRID_CSV, run->set.jobs, run->set.count,
	                &run->arena, &run->grid) || !verify_sheet(&run->grid, &sheet, &run->arena, &trouble))
		return out_of_memory(fault), cmd_fault(fault);
	add_stops(&trouble, &run->grid.trouble);
	size_t stops = pm_findings_count(&trouble.list, PM_STOP);
	if (run->o->json) {
		if (!put_json(run, path, "agrees", !stops, &trouble))
			return out_of_memory(fault), cmd_fault(fault);
	} else {
		sheet_put_trouble(stdout, &trouble);
		sheet_put_visible(stdout, path);
		if (stops)
			printf(": %zu difference%s\n", stops, stops == 1 ? "" : "s");
		else
			printf(": agrees with the job%s\n", run->set.count == 1 ? "" : "s");
	}
	return stops ? EXIT_STOPPED : EXIT_CLEAR;
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "layout", true, 'l' }, { "out", true, 'o' }, { "verify", true, 'v' }, { "draft", false, 'd' },
		{ "now", true, 'n' }, { "json", false, 'j' }, { 0 },
	};
	struct options o = { 0 };
	struct sheet_run run = { .o = &o };
	struct pm_fault fault = { 0 };
	const char *now = NULL;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		switch (letter) {
		case 'l': o.layout = value; break;
		case 'o': o.out = value; break;
		case 'v': o.verify = value; break;
		case 'd': o.draft = true; break;
		case 'n': now = value; break;
		case 'j': o.json = true; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	}
	argc = each_jobs(argc, argv);
	int first = cmd_operands();
	if (first == argc)
		return cmd_usage(cmd, "no job file given");
	if (o.verify && (o.out || o.draft))
		return cmd_usage(cmd, "--verify writes no sheet: leave out --out and --draft");
	if (o.json && !o.verify && (!o.out || strcmp(o.out, "-") == 0))
		return cmd_usage(cmd, "--json needs --out FILE or --verify FILE: standard output would hold two things");
	if (!each_may_write(o.out, argv + first, argc - first, &fault) || !cmd_now(now, &o.now, &fault) || !sheet_set_load(argv + first, (size_t)(argc - first), o.layout, &run.set, &fault))
		return cmd_fault(&fault);
	pm_arena_init(&run.arena);
	run.held = o.json ? json_array() : NULL;
	int status = o.verify ? verify(&run, &fault) : write_sheet(&run, &fault);
	json_decref(run.held);
	pm_arena_free(&run.arena);
	sheet_set_free(&run.set);
	return status;
}

const struct cmd cmd_sheet = {
	"sheet", "[--layout NAME|FILE] [--out FILE] [--draft] [--now TIME] [--json] JOB... | --verify FILE [OPTION...] JOB...",
	"write the registration sheet, or hold a returned one against the job",
	"  --layout NAME|FILE  the desk's layout; otherwise the one that the job names, or the only one there is\n"
	"  --out FILE          where to; a name that ends in .xlsx fills the desk's own workbook; CSV on standard\n"
	"                      output otherwise\n"
	"  --draft             write it although a value is missing or the job is not so far; exit status 1 then\n"
	"  --verify FILE       a sheet that came back, CSV or .xlsx: every difference with its cell and likely cause\n"
	"  --now TIME          judge as of an RFC 3339 time instead of the clock\n"
	"  --json              the result as JSON; with --out or --verify\n",
	run,
};
