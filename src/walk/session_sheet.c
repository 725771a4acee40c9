/* The registration sheet, written from the session's job. */
#include <limits.h>
#include <string.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "sheet/csv_write.h"
#include "sheet/template.h"
#include "store/find.h"
#include "walk/session.h"

/* The layout that the job names, else the only one there is. */
static bool load_layout(const struct session *s, struct store_layout *layout, struct pm_fault *fault)
{
	char found[PATH_MAX];
	const struct pm_word named = s->job.job.layout;
	bool there = pm_given(named) ? store_find(STORE_SHEET, named.text, s->job.path, found, sizeof found, fault)
	                             : store_find_only(STORE_SHEET, s->job.path, found, sizeof found, fault);
	if (!there && fault->kind == PM_FAULT_NONE) {
		pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ 0 }, "there is no sheet layout");
		pm_fail_remedy(fault, "put the desk's layout into the folder sheets/ beside the job");
	}
	return there && store_layout_load(found, layout, fault);
}

/* "gs-014-sheet.csv" beside "gs-014.yaml". */
static bool name_sheet(const struct session *s, const char *ending, char *out, size_t room, struct pm_fault *fault)
{
	const char *slash = strrchr(s->job.path, '/'), *dot = strrchr(s->job.path, '.');
	size_t stem = dot && (!slash || dot > slash) ? (size_t)(dot - s->job.path) : strlen(s->job.path);
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	pm_text_put(&text, s->job.path, stem);
	pm_text_add(&text, "-sheet%s", ending);
	return !text.cut || pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ .file = s->job.path }, "the path is too long");
}

/* The worst of what is wrong with the sheet, as a fault. */
static bool sound(const struct grid *grid, const char *file, struct pm_fault *fault)
{
	const struct pm_findings *list = &grid->trouble.list;
	for (size_t i = 0; i < list->count; i++)
		if (list->item[i].severity == PM_STOP) {
			pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ .file = file }, "%s", list->item[i].message);
			return pm_fail_remedy(fault, "%s", list->item[i].remedy);
		}
	return true;
}

static bool write_workbook(struct grid *grid, const char *template, const char *path, struct pm_arena *arena,
                           struct pm_fault *fault)
{
	struct workbook *workbook = workbook_open(template, fault);
	bool good = workbook && template_check(workbook, template, grid, arena, fault) && sound(grid, template, fault) &&
	            template_fill(workbook, grid, fault) && workbook_save(workbook, path, fault);
	workbook_close(workbook);
	return good;
}

/* What is no fault, and yet whoever sends the sheet should know. */
static void note(struct session *s, const struct pm_layout *layout, bool book, const struct grid *grid)
{
	const struct pm_findings *list = &grid->trouble.list;
	struct pm_text text;
	pm_text_fixed(&text, s->sheet_note, sizeof s->sheet_note);
	if (pm_given(layout->workbook) && !book) {
		pm_text_str(&text, "the desk's workbook ");
		pm_text_quote(&text, layout->workbook.text);
		pm_text_str(&text, " does not lie beside its layout, so this is CSV");
	}
	for (size_t i = 0; i < list->count && !text.length; i++)
		pm_text_str(&text, list->item[i].message);
}

bool session_write_sheet(struct session *s, char *path, size_t room, struct pm_fault *fault)
{
	struct store_layout layout;
	struct pm_arena arena;
	struct grid grid;
	struct grid_job job = { .job = &s->job.job, .gear = &s->gear.gear };
	char template[PATH_MAX];
	if (!s->seal.complete) {
		pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ 0 }, "not every registered fact has a value yet");
		return pm_fail_remedy(fault, "finish what the findings name, then write the sheet");
	}
	*fault = (struct pm_fault){ 0 };
	if (!load_layout(s, &layout, fault))
		return false;
	pm_arena_init(&arena);
	bool book = pm_given(layout.layout.workbook) && template_path(&layout.layout, template, sizeof template, fault) &&
	            access(template, F_OK) == 0;
	bool good = name_sheet(s, book ? ".xlsx" : ".csv", path, room, fault);
	if (good && !grid_build(&layout.layout, book ? GRID_WORKBOOK : GRID_CSV, &job, 1, &arena, &grid))
		good = pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	good = good && sound(&grid, path, fault);
	if (good)
		good = book ? write_workbook(&grid, template, path, &arena, fault) : csv_save(&grid, path, fault);
	s->sheet_note[0] = '\0';
	if (good)
		note(s, &layout.layout, book, &grid);
	s->sheet_there = s->sheet_there || good;
	pm_arena_free(&arena);
	store_layout_free(&layout);
	return good;
}

void session_look_for_sheet(struct session *s)
{
	static const char *const endings[] = { ".xlsx", ".csv" };
	char path[PATH_MAX];
	struct pm_fault none;
	s->sheet_there = false;
	for (size_t i = 0; i < sizeof endings / sizeof *endings; i++)
		if (name_sheet(s, endings[i], path, sizeof path, &none) && access(path, F_OK) == 0)
			s->sheet_there = true;
}
