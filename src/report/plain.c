#include "report/plain.h"

#include <string.h>

/* Columns of a character, taken at the most that a terminal gives it: a line
 * may come out short, never long. */
static size_t columns_of(uint32_t point)
{
	static const struct { uint32_t first, last; } wide[] = {
		{ 0x1100, 0x115F }, { 0x2300, 0x23FF }, { 0x25A0, 0x27BF }, { 0x2B00, 0x2BFF }, { 0x2E80, 0xD7FF },
		{ 0xF900, 0xFAFF }, { 0xFE10, 0xFE6F }, { 0xFF00, 0xFFE6 }, { 0x16F00, 0x1BFFF }, { 0x1F000, 0x3FFFF },
	};
	for (size_t i = 0; i < sizeof wide / sizeof *wide; i++)
		if (point >= wide[i].first && point <= wide[i].last)
			return 2;
	return 1;
}

size_t plain_fitting(const char *text, size_t columns, size_t *taken)
{
	size_t bytes = 0, left = strlen(text);
	*taken = 0;
	while (bytes < left) {
		uint32_t point;
		size_t used = pm_utf8_next(text + bytes, left - bytes, &point), more = columns_of(point);
		if (*taken + more > columns)
			break;
		*taken += more;
		bytes += used;
	}
	return bytes;
}

size_t plain_piece(const char **text, size_t columns, const char **piece)
{
	size_t taken, bytes;
	while (**text == ' ')
		(*text)++;
	*piece = *text;
	bytes = plain_fitting(*text, columns, &taken);
	if ((*text)[bytes]) {
		size_t blank = bytes;
		while (blank && (*text)[blank] != ' ')
			blank--;
		if (blank)
			bytes = blank;
	}
	*text += bytes;
	return bytes;
}

void plain_pad(struct pm_text *text, size_t *at, size_t column)
{
	for (; *at < column; (*at)++)
		pm_text_char(text, ' ');
}

void plain_wrap(struct pm_text *out, size_t columns, const char *first, const char *shown)
{
	size_t indent, at = 0;
	plain_fitting(first, columns / 2, &indent);
	pm_text_str(out, first);
	do {
		const char *piece;
		size_t bytes = plain_piece(&shown, columns - indent, &piece);
		pm_text_put(out, piece, bytes);
		pm_text_char(out, '\n');
		shown += strspn(shown, " ");
		at = 0;
		if (*shown)
			plain_pad(out, &at, indent);
	} while (*shown);
}
