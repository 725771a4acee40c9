#include "cmd/sheet_set.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "cmd/json_out.h"
#include "portmuster/text.h"
#include "store/find.h"

bool sheet_layout_load(const char *given, const char *job_path, struct store_layout *layout, struct pm_fault *fault)
{
	char found[PATH_MAX];
	if (given && (strchr(given, '/') || strchr(given, '.')))
		return store_layout_load(given, layout, fault);
	if (given)
		return store_find(STORE_SHEET, given, job_path, found, sizeof found, fault) &&
		       store_layout_load(found, layout, fault);
	if (store_find_only(STORE_SHEET, job_path, found, sizeof found, fault))
		return store_layout_load(found, layout, fault);
	if (fault->kind == PM_FAULT_NONE) {
		pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ 0 }, "there is no sheet layout");
		return pm_fail_remedy(fault, "put the desk's layout into the folder sheets/ beside the jobs; docs/sheet.md says how "
		                      "it is written");
	}
	char names[PM_FAULT_TEXT];
	memcpy(names, fault->remedy, sizeof names);
	return pm_fail_remedy(fault, "give --layout NAME; %s", names);
}

/* The layout that the jobs name; all that name one must name the same. */
static bool named_layout(const struct sheet_set *set, const char **name, struct pm_fault *fault)
{
	*name = NULL;
	for (size_t i = 0; i < set->count; i++) {
		const struct pm_job *job = set->jobs[i].job;
		if (!pm_given(job->layout))
			continue;
		if (!*name) {
			*name = job->layout.text;
		} else if (!pm_same(*name, job->layout.text)) {
			pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ job->file, job->layout.line, job->layout.column },
			        "this job's layout is not that of the others");
			return pm_fail_remedy(fault, "write one sheet for each layout, or name one with --layout");
		}
	}
	return true;
}

bool sheet_set_load(char *const *paths, size_t count, const char *given, struct sheet_set *set, struct pm_fault *fault)
{
	const char *name = given;
	*set = (struct sheet_set){ .loaded = calloc(count + 1, sizeof *set->loaded), .jobs = calloc(count + 1, sizeof *set->jobs) };
	bool good = set->loaded && set->jobs;
	if (!good)
		pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	for (size_t i = 0; good && i < count; i++) {
		good = load_job(paths[i], &set->loaded[i], fault);
		if (!good)
			break;
		set->jobs[i] = (struct grid_job){ .job = &set->loaded[i].job.job, .gear = &set->loaded[i].gear.gear };
		set->count++;
	}
	good = good && (given || named_layout(set, &name, fault));
	set->has_layout = good && sheet_layout_load(name, count ? paths[0] : NULL, &set->layout, fault);
	if (!set->has_layout)
		sheet_set_free(set);
	return set->has_layout;
}

void sheet_set_free(struct sheet_set *set)
{
	bool had = set->has_layout;
	if (had)
		store_layout_free(&set->layout);
	for (size_t i = 0; i < set->count; i++)
		load_free(&set->loaded[i]);
	free(set->loaded);
	free(set->jobs);
	*set = (struct sheet_set){ .has_layout = false };
}

/* --- findings --- */

void sheet_put_visible(FILE *out, const char *string)
{
	char shown[1024];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	if (string)
		pm_text_visible(&text, string, strlen(string));
	fputs(shown, out);
}

/* It may come from the sheet: "TB-11" with an odd blank behind it is another site. */
static void put_site(FILE *out, const char *site)
{
	char shown[1024];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	trouble_visible(&text, site, strlen(site));
	fprintf(out, "%s: ", shown);
}

void sheet_put_trouble(FILE *out, const struct trouble *trouble)
{
	for (size_t i = 0; i < trouble->list.count; i++) {
		const struct pm_finding *finding = &trouble->list.item[i];
		fprintf(out, "%-5s %s: ", pm_severity_word(finding->severity), pm_code_row(finding->code)->name);
		if (trouble->detail[i].site)
			put_site(out, trouble->detail[i].site);
		sheet_put_visible(out, finding->message);
		fputs("\n        do: ", out);
		sheet_put_visible(out, finding->remedy);
		fputc('\n', out);
	}
}

json_t *sheet_json_text(const char *string)
{
	return string ? cmd_json_text(string, strlen(string)) : json_null();
}

json_t *sheet_json_trouble(const struct trouble *trouble)
{
	json_t *list = json_array();
	for (size_t i = 0; i < trouble->list.count; i++) {
		const struct pm_finding *finding = &trouble->list.item[i];
		const struct trouble_detail *detail = &trouble->detail[i];
		json_t *item = json_object();
		json_object_set_new(item, "code", json_string(pm_code_row(finding->code)->name));
		json_object_set_new(item, "severity", json_string(pm_severity_word(finding->severity)));
		json_object_set_new(item, "site", sheet_json_text(detail->site));
		json_object_set_new(item, "interface", sheet_json_text(finding->interface));
		json_object_set_new(item, "page", sheet_json_text(detail->page));
		json_object_set_new(item, "cell", sheet_json_text(detail->cell));
		json_object_set_new(item, "column", sheet_json_text(detail->column));
		json_object_set_new(item, "seen", sheet_json_text(detail->seen));
		json_object_set_new(item, "expected", sheet_json_text(detail->expected));
		json_object_set_new(item, "cause", sheet_json_text(detail->cause));
		json_object_set_new(item, "message", sheet_json_text(finding->message));
		json_object_set_new(item, "remedy", sheet_json_text(finding->remedy));
		json_array_append_new(list, item);
	}
	return list;
}
