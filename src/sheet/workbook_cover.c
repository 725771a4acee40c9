/* Which cells lie in some of many ranges, found without going through them.
 *
 * Every range is filed under one of its own rows, the one whose number from 1 is
 * divisible by the highest power of two. A range that holds a row is filed under one
 * of 21 rows then, that follow from the number: each of the row's bits cleared
 * together with those below it, and set again. All ranges filed under a row hold it,
 * so that of those above each other only the topmost and the lowest reach count: for
 * every stretch of columns between two ends of ranges one number each. */
#include <stdlib.h>
#include <string.h>

#include "sheet/workbook_parts.h"

static uint32_t filed_under(const struct book_range *range)
{
	uint32_t differ = range->row ^ (range->last_row + 1), bit = 0;
	while (differ >> (bit + 1))
		bit++;
	return (range->last_row + 1) >> bit << bit;
}

static int by_file(const void *left, const void *right)
{
	uint32_t a = filed_under(left), b = filed_under(right);
	return (a > b) - (a < b);
}

static int by_top(const void *left, const void *right)
{
	const struct book_range *a = left, *b = right;
	return (a->row > b->row) - (a->row < b->row);
}

static int by_bottom(const void *left, const void *right)
{
	const struct book_range *a = left, *b = right;
	return (a->last_row < b->last_row) - (a->last_row > b->last_row);
}

static int by_column(const void *left, const void *right)
{
	const struct book_stretch *a = left, *b = right;
	return (a->column > b->column) - (a->column < b->column);
}

/* The stretch that a column lies in, `count` when it lies before all. */
static size_t stretch_at(const struct book_stretch *stretch, size_t count, uint32_t column)
{
	size_t low = 0, high = count;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		if (stretch[middle].column <= column)
			low = middle + 1;
		else
			high = middle;
	}
	return low ? low - 1 : count;
}

/* From `at` on the first stretch that no range has reached yet; those passed are
 * led past faster the next time. */
static uint32_t next_free(uint32_t *free_at, uint32_t at)
{
	while (free_at[at] != at) {
		free_at[at] = free_at[free_at[at]];
		at = free_at[at];
	}
	return at;
}

/* Give every stretch the top (or the bottom) of the first of the sorted ranges that
 * holds it. `free_at` has room for one more than there are stretches. */
static void reach(struct book_stretch *stretch, uint32_t count, const struct book_range *range, size_t ranges,
                  uint32_t *free_at, bool top)
{
	for (uint32_t i = 0; i <= count; i++)
		free_at[i] = i;
	for (size_t i = 0; i < ranges; i++) {
		uint32_t at = (uint32_t)stretch_at(stretch, count, range[i].column);
		while ((at = next_free(free_at, at)) < count && stretch[at].column <= range[i].last_column) {
			if (top)
				stretch[at].row = range[i].row;
			else
				stretch[at].last_row = range[i].last_row;
			free_at[at] = at + 1;
		}
	}
}

/* The stretches of the ranges that are filed under one row, appended to the cover's. */
static void add_file(struct book_cover *cover, struct book_range *range, size_t ranges, uint32_t *free_at)
{
	struct book_file *file = &cover->file[cover->files++];
	struct book_stretch *stretch = cover->stretch + cover->stretches;
	uint32_t count = 0;
	for (size_t i = 0; i < ranges; i++) {
		stretch[2 * i] = (struct book_stretch){ range[i].column, UINT32_MAX, 0 };
		stretch[2 * i + 1] = (struct book_stretch){ range[i].last_column + 1, UINT32_MAX, 0 };
	}
	qsort(stretch, 2 * ranges, sizeof *stretch, by_column);
	for (size_t i = 0; i < 2 * ranges; i++)
		if (!count || stretch[i].column != stretch[count - 1].column)
			stretch[count++] = stretch[i];
	*file = (struct book_file){ filed_under(range), (uint32_t)cover->stretches, count };
	cover->stretches += count;
	qsort(range, ranges, sizeof *range, by_top);
	reach(stretch, count, range, ranges, free_at, true);
	qsort(range, ranges, sizeof *range, by_bottom);
	reach(stretch, count, range, ranges, free_at, false);
}

bool book_cover_make(struct book_cover *cover, struct book_range *range, size_t count, struct pm_arena *arena)
{
	*cover = (struct book_cover){ .files = 0 };
	if (!count)
		return true;
	uint32_t *free_at = pm_arena_array(arena, 2 * count + 1, sizeof *free_at);
	cover->file = pm_arena_array(arena, count, sizeof *cover->file);
	cover->stretch = pm_arena_array(arena, 2 * count, sizeof *cover->stretch);
	if (!free_at || !cover->file || !cover->stretch)
		return false;
	qsort(range, count, sizeof *range, by_file);
	for (size_t from = 0, to; from < count; from = to) {
		uint32_t under = filed_under(&range[from]);
		for (to = from + 1; to < count && filed_under(&range[to]) == under;)
			to++;
		add_file(cover, range + from, to - from, free_at);
	}
	return true;
}

static const struct book_file *file_of(const struct book_cover *cover, uint32_t under)
{
	size_t low = 0, high = cover->files;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		if (cover->file[middle].under < under)
			low = middle + 1;
		else
			high = middle;
	}
	return low < cover->files && cover->file[low].under == under ? &cover->file[low] : NULL;
}

bool book_cover_holds(const struct book_cover *cover, uint32_t row, uint32_t column)
{
	for (uint32_t bit = 0; cover->files && bit <= 20; bit++) {
		const struct book_file *file = file_of(cover, ((row + 1) >> bit | 1) << bit);
		if (!file)
			continue;
		const struct book_stretch *stretch = cover->stretch + file->first;
		size_t at = stretch_at(stretch, file->count, column);
		if (at < file->count && stretch[at].row <= row && row <= stretch[at].last_row)
			return true;
	}
	return false;
}
