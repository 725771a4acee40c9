#include "store/splice.h"

#include <string.h>

#include "store/document.h"

/* Ranges that are written as escapes: readers disagree on the first (line
 * breaks to some), nobody sees the others. U+200D stays, emoji need it. */
static const struct { uint32_t from, to; } escaped[] = {
	{ 0x0085, 0x0085 }, { 0x2028, 0x2029 },
	{ 0x0000, 0x001F }, { 0x007F, 0x009F }, { 0x200B, 0x200B }, { 0x200E, 0x200F },
	{ 0x202A, 0x202E }, { 0x2060, 0x2069 }, { 0xFEFF, 0xFEFF }, { 0xFFF9, 0xFFFF },
};

static bool is_escaped(uint32_t point)
{
	for (size_t i = 0; i < sizeof escaped / sizeof *escaped; i++)
		if (point >= escaped[i].from && point <= escaped[i].to)
			return true;
	return false;
}

const char *store_value_problem(const char *value)
{
	size_t length = strlen(value);
	for (size_t at = 0; at < length;) {
		uint32_t point;
		at += pm_utf8_next(value + at, length - at, &point);
		if (point == UINT32_MAX)
			return "bytes that are not UTF-8";
		if (point < 0x20 || (point >= 0x7F && point < 0xA0))
			return "a control character";
	}
	return NULL;
}

void store_put_quoted(struct pm_text *out, const char *value)
{
	size_t length = strlen(value);
	pm_text_char(out, '"');
	for (size_t at = 0; at < length;) {
		uint32_t point;
		size_t wide = pm_utf8_next(value + at, length - at, &point);
		if (point == '"' || point == '\\') {
			pm_text_char(out, '\\');
			pm_text_char(out, (char)point);
		} else if (is_escaped(point)) {
			pm_text_add(out, "\\u%04X", (unsigned)point);
		} else {
			pm_text_put(out, value + at, wide);
		}
		at += wide;
	}
	pm_text_char(out, '"');
}
