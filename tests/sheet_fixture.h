/* sheet_fixture.h - the core's fixture with attached devices and a layout of four
 * sections, for the tests of the sheet. */
#ifndef TESTS_SHEET_FIXTURE_H
#define TESTS_SHEET_FIXTURE_H

#include "fixture.h"
#include "sheet/csv_write.h"
#include "sheet/grid.h"

struct sheet_fixture {
	struct fixture core;
	struct pm_attached attached[2];
	struct pm_layout layout;
	struct pm_section sections[4];
	struct pm_column columns[4][6];
	struct pm_arena arena;
	struct grid grid;
};

static inline void sheet_column(struct sheet_fixture *f, size_t section, const char *title, const char *fill, const char *example)
{
	struct pm_section *s = &f->sections[section];
	s->columns[s->column_count++] = (struct pm_column){ .title = word(title), .fill = word(fill), .example = word(example) };
}

static inline void sheet_fixture_layout(struct sheet_fixture *f)
{
	static const struct { const char *id, *heading, *page, *first; enum pm_rows rows; } sections[] = {
		{ "site", "Part A", "Station", "A3", PM_ROWS_SITE }, { "router", NULL, "Station", "A8", PM_ROWS_ROUTER },
		{ "ports", "Part C", "Ports", "B2", PM_ROWS_PORT }, { "attached", "Part D", "Attached", "A2", PM_ROWS_ATTACHED },
	};
	f->layout = (struct pm_layout){ .file = "desk.yaml", .format = 1, .id = word("desk"), .title = word("Desk"),
	                                .apostrophe = true, .sections = f->sections, .section_count = COUNT(sections) };
	for (size_t i = 0; i < COUNT(sections); i++)
		f->sections[i] = (struct pm_section){ .id = word(sections[i].id), .rows = sections[i].rows, .heading = word(sections[i].heading),
		                                      .page = word(sections[i].page), .first = word(sections[i].first),
		                                      .columns = f->columns[i] };
	sheet_column(f, 0, "Site", "site/code", NULL);
	sheet_column(f, 0, "Name", "site/name", NULL);
	sheet_column(f, 0, "Unit", "site/unit", NULL);
	sheet_column(f, 0, "Parent", "site/parent", NULL);
	sheet_column(f, 0, "Desk", "empty", NULL);
	sheet_column(f, 1, "Site", "site/code", NULL);
	sheet_column(f, 1, "Serial", "router/serial", NULL);
	sheet_column(f, 2, "Site", "site/code", NULL);
	sheet_column(f, 2, "Interface", "row/name", NULL);
	sheet_column(f, 2, "Address", "row/address", "00-00-5E-00-53-01");
	sheet_column(f, 2, "Check", "row/check", NULL);
	sheet_column(f, 3, "Site", "site/code", NULL);
	sheet_column(f, 3, "Name", "row/name", NULL);
	sheet_column(f, 3, "Kind", "row/kind", NULL);
	sheet_column(f, 3, "Serial", "row/serial", NULL);
	sheet_column(f, 3, "Address", "row/address", "0000.5e00.5301");
}

/* A job with every fact, two attached devices. Not to be moved. */
static inline void sheet_fixture_init(struct sheet_fixture *f)
{
	memset(f, 0, sizeof *f);
	fixture_init(&f->core);
	fixture_reach(&f->core, REGISTER);
	pm_arena_init(&f->arena);
	f->core.job.name = word("Weir, \"upper\"");
	f->attached[0] = (struct pm_attached){ word("camera"), word("north camera"), word("K-1"), word("00-00-5E-00-53-A1") };
	f->attached[1] = (struct pm_attached){ word("telephone"), word("cabinet"), word(NULL), word(NULL) };
	f->core.job.attached = f->attached;
	f->core.job.attached_count = 2;
	sheet_fixture_layout(f);
}

static inline void sheet_fixture_free(struct sheet_fixture *f)
{
	pm_arena_free(&f->arena);
	fixture_forget(&f->core);
}

/* Pour the job; the grid lives until the fixture does. */
static inline struct grid *sheet_fixture_grid(struct sheet_fixture *f, enum grid_medium medium)
{
	const struct grid_job job = { .job = &f->core.job, .gear = &f->core.gear };
	if (!grid_build(&f->layout, medium, &job, 1, &f->arena, &f->grid))
		abort();
	return &f->grid;
}

/* A grid as CSV, in the arena. */
static inline const char *sheet_csv(struct grid *grid, struct pm_arena *arena)
{
	struct pm_text text;
	pm_text_grow(&text, arena);
	if (!csv_put(&text, grid))
		abort();
	return text.data;
}

#endif
