#include "sheet/csv_write.h"

#include "store/save.h"

/* One field, then as many empty ones as fill the record. */
static void put_record(struct pm_text *out, const struct grid *grid, size_t count,
                       const char *(*field)(const void *of, size_t at), const void *of)
{
	for (uint32_t i = 0; i < grid->width; i++) {
		if (i)
			pm_text_char(out, ',');
		const char *text = i < count ? field(of, i) : NULL;
		/* a record of one empty field would be a blank line, which means nothing */
		if (grid->width == 1 && !(text && *text))
			pm_text_str(out, "\"\"");
		else
			pm_text_csv(out, text ? text : "");
	}
	pm_text_str(out, "\r\n");
}

static const char *heading_field(const void *of, size_t at)
{
	(void)at;
	return ((const struct pm_section *)of)->heading.text;
}

static const char *title_field(const void *of, size_t at)
{
	return ((const struct pm_section *)of)->columns[at].title.text;
}

static const char *cell_field(const void *of, size_t at)
{
	return ((const struct grid_row *)of)->cells[at].shown;
}

bool csv_put(struct pm_text *out, const struct grid *grid)
{
	for (size_t i = 0; i < grid->layout->section_count; i++) {
		const struct grid_section *section = &grid->sections[i];
		const struct pm_section *of = section->section;
		if (section->heading_at != GRID_NOWHERE)
			put_record(out, grid, 1, heading_field, of);
		if (section->titles_at != GRID_NOWHERE)
			put_record(out, grid, of->column_count, title_field, of);
		for (size_t r = 0; r < section->count; r++)
			put_record(out, grid, of->column_count, cell_field, &section->rows[r]);
	}
	return !out->cut;
}

bool csv_save(const struct grid *grid, const char *path, struct pm_fault *fault)
{
	struct pm_arena arena;
	struct pm_text text;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	bool good = csv_put(&text, grid) ? store_write_file(path, text.data, text.length, fault)
	                                 : pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ path, 0, 0 }, "out of memory");
	pm_arena_free(&arena);
	return good;
}
