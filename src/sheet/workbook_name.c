#include <string.h>

#include "portmuster/layout.h"
#include "sheet/workbook_parts.h"

/* --- places --- */

void workbook_name(uint32_t row, uint32_t column, char out[static 12])
{
	pm_cell_name(row, column, out);
}

static bool read_place(const char *bytes, size_t length, uint32_t *row, uint32_t *column)
{
	char name[PM_CELL_TEXT];
	if (length >= sizeof name || memchr(bytes, '\0', length))
		return false;
	memcpy(name, bytes, length);
	name[length] = '\0';
	return pm_cell_place(name, row, column);
}

bool workbook_place(const char *name, uint32_t *row, uint32_t *column)
{
	return name && read_place(name, strlen(name), row, column);
}

/* --- bits --- */

bool book_bit_is(struct book_bit bit, const char *string)
{
	return bit.bytes && bit.length == strlen(string) && !memcmp(bit.bytes, string, bit.length);
}

bool book_bit_number(struct book_bit bit, uint32_t most, uint32_t *value)
{
	char digits[16];
	uint64_t number;
	if (!bit.bytes || bit.length >= sizeof digits || memchr(bit.bytes, '\0', bit.length))
		return false;
	memcpy(digits, bit.bytes, bit.length);
	digits[bit.length] = '\0';
	if (!pm_read_number(digits, most, &number))
		return false;
	*value = (uint32_t)number;
	return true;
}

bool book_bit_true(struct book_bit bit)
{
	return book_bit_is(bit, "1") || book_bit_is(bit, "true");
}

/* --- ranges --- */

bool book_range_read(struct book_bit bit, struct book_range *range)
{
	struct book_range found;
	if (!bit.bytes)
		return false;
	const char *colon = memchr(bit.bytes, ':', bit.length);
	size_t first = colon ? (size_t)(colon - bit.bytes) : bit.length;
	if (!read_place(bit.bytes, first, &found.row, &found.column))
		return false;
	found.last_row = found.row;
	found.last_column = found.column;
	if (colon && !read_place(colon + 1, bit.length - first - 1, &found.last_row, &found.last_column))
		return false;
	if (found.last_row < found.row || found.last_column < found.column)
		return false;
	*range = found;
	return true;
}

void book_range_put(struct pm_text *out, const struct book_range *range)
{
	char name[12];
	workbook_name(range->row, range->column, name);
	pm_text_str(out, name);
	if (range->row == range->last_row && range->column == range->last_column)
		return;
	workbook_name(range->last_row, range->last_column, name);
	pm_text_add(out, ":%s", name);
}

/* --- tags: libxml2 has found them well formed --- */

static bool is_space(char c)
{
	return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

struct book_bit book_tag_name(const char *xml, size_t at)
{
	size_t end = ++at;
	while (!is_space(xml[end]) && xml[end] != '>' && xml[end] != '/')
		end++;
	return (struct book_bit){ xml + at, end - at };
}

struct book_bit book_tag_prefix(const char *xml, size_t at)
{
	struct book_bit name = book_tag_name(xml, at);
	const char *colon = memchr(name.bytes, ':', name.length);
	name.length = colon ? (size_t)(colon + 1 - name.bytes) : 0;
	return name;
}

bool book_tag_next(const char *xml, size_t *at, size_t end, struct book_raw *raw)
{
	size_t from = *at, name = from;
	while (name < end && is_space(xml[name]))
		name++;
	size_t equals = name;
	while (equals < end && xml[equals] != '=' && !is_space(xml[equals]) && xml[equals] != '>' && xml[equals] != '/')
		equals++;
	size_t quote = equals;
	while (quote < end && xml[quote] != '"' && xml[quote] != '\'') {
		if (xml[quote] == '>' || xml[quote] == '/')
			return false;
		quote++;
	}
	if (quote >= end)
		return false;
	const char *close = memchr(xml + quote + 1, xml[quote], end - quote - 1);
	if (!close)
		return false;
	size_t to = (size_t)(close - xml) + 1;
	*raw = (struct book_raw){ from, to, { xml + name, equals - name }, { xml + quote + 1, to - quote - 2 } };
	*at = to;
	return true;
}
