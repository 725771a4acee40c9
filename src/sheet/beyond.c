#include "sheet/beyond.h"

#include <string.h>

#include "portmuster/eui48.h"
#include "portmuster/text.h"

static const char *text_at(const struct returned_page *page, const struct located *l, uint32_t row, size_t i)
{
	return returned_at(page, row, l->column[i])->text;
}

static bool is_own(const struct returned *own, const struct located *l, uint32_t row)
{
	const struct returned_page *page = NULL;
	for (size_t i = 0; own && !page && i < own->count; i++)
		if (pm_same_nocase(own->pages[i].name, l->page->name))
			page = &own->pages[i];
	bool all = page != NULL;
	for (size_t i = 0; all && i < l->section->column_count; i++)
		all = !locate_compared(l, i) || strcmp(text_at(page, l, row, i), text_at(l->page, l, row, i)) == 0;
	return all;
}

static bool has_address(const struct located *l, uint32_t row)
{
	struct pm_eui48 address;
	for (size_t i = 0; i < l->section->column_count; i++)
		if (locate_compared(l, i) && pm_fill_find(l->section->columns[i].fill.text, NULL)->kind == PM_FILL_ADDRESS &&
		    pm_eui48_parse(text_at(l->page, l, row, i), &address))
			return true;
	return false;
}

bool beyond_is_record(const struct returned *sheet, const struct located *l, uint32_t row, bool known)
{
	size_t held = 0, required = 0, lacking = 0;
	for (size_t i = 0; i < l->section->column_count; i++) {
		if (!locate_compared(l, i))
			continue;
		bool given = *text_at(l->page, l, row, i) != '\0';
		held += given;
		required += l->section->columns[i].required;
		lacking += l->section->columns[i].required && !given;
	}
	return ((known && held > 1) || (required > 1 && !lacking) || has_address(l, row)) && !is_own(sheet->own, l, row);
}
