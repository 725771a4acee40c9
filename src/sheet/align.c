#include "sheet/align.h"

#include <string.h>

#include "portmuster/text.h"
#include "sheet/compose.h"
#include "sheet/fold.h"

const char *align_right(const struct aligned *a, size_t e, size_t i)
{
	return a->section->rows[e].cells[i].shown;
}

const struct returned_cell *align_seen(const struct aligned *a, size_t r, size_t i)
{
	return returned_at(a->located->page, a->row[r], a->located->column[i]);
}

bool align_compared(const struct aligned *a, size_t i)
{
	return locate_compared(a->located, i);
}

static bool collect(struct aligned *a, struct pm_arena *arena)
{
	const struct located *l = a->located;
	size_t most = l->end > l->first ? l->end - l->first : 0;
	a->row = pm_arena_array(arena, most + 1, sizeof *a->row);
	a->blank = LOCATE_NOWHERE;
	for (uint32_t row = l->first; a->row && row < l->end; row++) {
		bool blank = true;
		for (size_t i = 0; blank && i < l->section->column_count; i++)
			blank = !align_compared(a, i) || !*returned_at(l->page, row, l->column[i])->text;
		if (!blank)
			a->row[a->count++] = row;
		else if (a->blank == LOCATE_NOWHERE)
			a->blank = row;
	}
	return a->row != NULL;
}

/* The same value for pairing rows: notation, case, blanks and normal form do not matter. */
static bool alike(const char *right, const char *seen)
{
	struct pm_eui48 x, y;
	if (strcmp(right, seen) == 0 || fold_same(right, seen, fold_invisible))
		return true;
	if (pm_eui48_parse(right, &x) && pm_eui48_parse(seen, &y))
		return pm_eui48_compare(&x, &y) == 0;
	return pm_same_nocase(right, seen) || compose_same(right, seen);
}

static size_t agreement(const struct aligned *a, size_t e, size_t r)
{
	size_t agree = 0;
	for (size_t i = 0; i < a->section->section->column_count; i++) {
		const char *right = align_right(a, e, i);
		if (!align_compared(a, i))
			continue;
		/* cells that are empty on both sides say nothing of which row it is */
		const char *seen = align_seen(a, r, i)->text;
		agree += (*right || *seen) && alike(right, seen);
	}
	return agree;
}

static size_t given(const struct aligned *a, size_t e)
{
	size_t count = 0;
	for (size_t i = 0; i < a->section->section->column_count; i++)
		count += align_compared(a, i) && *align_right(a, e, i);
	return count;
}

static void pair(struct aligned *a, size_t e, size_t r)
{
	a->match[e] = r;
	a->source[r] = e;
}

/* The free row that agrees with `e` in at least `least` cells: the nearest to
 * where it belongs. */
static size_t find(const struct aligned *a, size_t e, size_t least)
{
	size_t after = e && a->match[e - 1] != ALIGN_NONE ? a->match[e - 1] + 1 : e;
	for (size_t distance = 0; distance < a->count + e + 1; distance++) {
		if (after + distance < a->count && a->source[after + distance] == ALIGN_NONE &&
		    agreement(a, e, after + distance) >= least)
			return after + distance;
		if (distance && distance <= after && after - distance < a->count && a->source[after - distance] == ALIGN_NONE &&
		    agreement(a, e, after - distance) >= least)
			return after - distance;
		if (after + distance >= a->count && distance > after)
			break;
	}
	return ALIGN_NONE;
}

bool align_rows(struct aligned *a, struct pm_arena *arena)
{
	size_t expected = a->section->count, columns = a->section->section->column_count;
	if (!collect(a, arena))
		return false;
	a->match = pm_arena_array(arena, expected + 1, sizeof *a->match);
	a->source = pm_arena_array(arena, a->count + 1, sizeof *a->source);
	if (!a->match || !a->source)
		return false;
	for (size_t e = 0; e < expected; e++)
		a->match[e] = ALIGN_NONE;
	for (size_t r = 0; r < a->count; r++)
		a->source[r] = ALIGN_NONE;
	for (size_t e = 0; e < expected && e < a->count; e++)
		if (agreement(a, e, e) >= given(a, e))
			pair(a, e, e);
	/* then with ever fewer cells in agreement, down to one */
	for (size_t missing = 0; missing < columns; missing++)
		for (size_t e = 0; e < expected; e++) {
			size_t all = given(a, e);
			if (a->match[e] != ALIGN_NONE || all <= missing)
				continue;
			size_t r = find(a, e, all - missing);
			if (r != ALIGN_NONE)
				pair(a, e, r);
		}
	return true;
}
