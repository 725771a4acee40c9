#include "sheet/titles.h"

#include "portmuster/text.h"
#include "sheet/fold.h"

bool titles_hold(const struct returned_page *page, uint32_t row, const char *text)
{
	const struct returned_row *held = &page->rows[row];
	bool blank = fold_title_same(text, "");
	for (uint32_t c = 0; c < held->count; c++)
		if ((blank || *held->cells[c].text) && fold_title_same(text, held->cells[c].text))
			return true;
	return false;
}

size_t titles_texts(const struct returned_page *page, uint32_t row)
{
	size_t texts = 0;
	for (uint32_t c = 0; c < page->rows[row].count; c++)
		texts += *page->rows[row].cells[c].text != '\0';
	return texts;
}

static size_t titles_given(const struct pm_section *section)
{
	size_t given = 0;
	for (size_t i = 0; i < section->column_count; i++)
		given += pm_given(section->columns[i].title);
	return given;
}

static size_t titles_in(const struct pm_section *section, const struct returned_page *page, uint32_t row)
{
	size_t found = 0;
	for (size_t i = 0; i < section->column_count; i++)
		found += pm_given(section->columns[i].title) && titles_hold(page, row, section->columns[i].title.text);
	return found;
}

/* No section in `want` but `which` has its titles in this row and these columns. */
static bool is_free(const struct titles_want *want, size_t count, size_t which, uint32_t row)
{
	for (size_t i = 0; i < count; i++)
		if (i != which && want[i].at == row && want[i].left < want[which].right && want[which].left < want[i].right)
			return false;
	return true;
}

/* How well a row will do; the rows that do best are dealt out first. */
enum pass { JUST_THE_TITLES, ALL_TITLES, HALF_THE_TITLES, PASSES };

/* How many of the titles a row holds, and one more; 0 when they are too few for this pass. */
static size_t match(const struct titles_want *w, const struct returned_page *page, uint32_t row, enum pass pass)
{
	size_t given = titles_given(w->section), found = titles_in(w->section, page, row);
	switch (pass) {
	case JUST_THE_TITLES: return found == given && titles_texts(page, row) == given ? found + 1 : 0;
	case ALL_TITLES: return found == given ? found + 1 : 0;
	case HALF_THE_TITLES:
	case PASSES: break;
	}
	return found * 2 >= given ? found + 1 : 0;
}

/* The free row from `from` on that holds most of the titles; of equals the first, but
 * the one where they should be before all. */
static uint32_t most_titles(const struct returned_page *page, const struct titles_want *want, size_t count, size_t which,
                            uint32_t from, enum pass pass)
{
	const struct titles_want *w = &want[which];
	size_t given = titles_given(w->section), best = 0;
	uint32_t at = TITLES_NOWHERE;
	if (w->hint >= from && w->hint < page->count && is_free(want, count, which, w->hint) &&
	    (best = match(w, page, w->hint, pass)) != 0)
		at = w->hint;
	for (uint32_t row = from; row < page->count && best <= given; row++) {
		size_t found = match(w, page, row, pass);
		if (found > best && is_free(want, count, which, row)) {
			best = found;
			at = row;
		}
	}
	return at;
}

void titles_assign(const struct returned_page *page, struct titles_want *want, size_t count)
{
	for (size_t i = 0; i < count; i++)
		want[i].at = TITLES_NOWHERE;
	for (enum pass pass = JUST_THE_TITLES; pass < PASSES; pass++) {
		uint32_t from = 0;
		for (size_t i = 0; i < count; i++) {
			if (want[i].at == TITLES_NOWHERE)
				want[i].at = most_titles(page, want, count, i, from, pass);
			if (want[i].at == TITLES_NOWHERE && from)
				want[i].at = most_titles(page, want, count, i, 0, pass);
			if (want[i].at != TITLES_NOWHERE)
				from = want[i].at + 1;
		}
	}
}

struct returned_page *titles_page(const struct pm_section *section, const struct returned *sheet)
{
	struct returned_page *best = NULL;
	size_t most = 0, least = (titles_given(section) + 1) / 2;
	for (size_t i = 0; section->titles != PM_TITLES_NONE && i < sheet->count; i++)
		for (uint32_t row = 0; row < sheet->pages[i].count; row++) {
			size_t found = titles_in(section, &sheet->pages[i], row);
			if (found >= least && found > most) {
				most = found;
				best = &sheet->pages[i];
			}
		}
	return best;
}

struct returned_page *titles_poured(const struct pm_layout *layout, const struct returned *sheet)
{
	struct returned_page *best = NULL;
	size_t most = 0, titled = 0;
	for (size_t i = 0; i < sheet->count; i++) {
		size_t found = 0;
		bool placed = pm_given(layout->workbook);
		titled = 0;
		for (size_t k = 0; k < layout->section_count; k++) {
			const struct pm_section *section = &layout->sections[k];
			uint32_t row, column;
			if (section->titles == PM_TITLES_NONE)
				continue;
			bool known = pm_cell_place(section->first.text, &row, &column) && row;
			struct titles_want want = { .section = section, .hint = known ? row - 1 : TITLES_NOWHERE, .right = 1 };
			titles_assign(&sheet->pages[i], &want, 1);
			titled++;
			found += want.at != TITLES_NOWHERE;
			placed &= want.at == TITLES_NOWHERE || want.at == want.hint;
		}
		if (!placed && found > most) {
			most = found;
			best = &sheet->pages[i];
		}
	}
	return most * 2 >= titled ? best : NULL;
}
