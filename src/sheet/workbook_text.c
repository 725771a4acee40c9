#include <string.h>

#include "sheet/workbook_parts.h"
#include "store/document.h"

/* --- _xHHHH_ (ECMA-376 part 1, 22.9.2.19, ST_Xstring) --- */

#define ESCAPE 7u   /* characters of one */

static bool escape_at(const char *bytes, size_t length, uint32_t *unit)
{
	if (length < ESCAPE || bytes[0] != '_' || bytes[1] != 'x' || bytes[6] != '_')
		return false;
	*unit = 0;
	for (int i = 2; i < 6; i++) {
		int digit = pm_hex_value((unsigned char)bytes[i]);
		if (digit < 0)
			return false;
		*unit = *unit * 16 + (uint32_t)digit;
	}
	return true;
}

/* The character an escape (or a pair of them) stands for, and how many bytes
 * stand for it; 0 when it is to be left alone. */
static size_t decode_at(const char *bytes, size_t length, uint32_t *point)
{
	uint32_t unit, low;
	if (!escape_at(bytes, length, &unit) || unit == 0)
		return 0;
	*point = unit;
	if (unit < 0xD800 || unit > 0xDFFF)
		return ESCAPE;
	if (unit > 0xDBFF || !escape_at(bytes + ESCAPE, length - ESCAPE, &low) || low < 0xDC00 || low > 0xDFFF)
		return 0;
	*point = 0x10000 + ((unit - 0xD800) << 10) + (low - 0xDC00);
	return 2 * ESCAPE;
}

size_t book_text_decode(char *bytes, size_t length)
{
	size_t to = 0;
	for (size_t at = 0; at < length;) {
		uint32_t point = 0;
		size_t taken = bytes[at] == '_' ? decode_at(bytes + at, length - at, &point) : 0;
		if (!taken) {
			bytes[to++] = bytes[at++];
			continue;
		}
		char encoded[4];
		size_t wide = pm_utf8_put(point, encoded);
		memcpy(bytes + to, encoded, wide);   /* at most 4 bytes for 7 or more */
		to += wide;
		at += taken;
	}
	return to;
}

void book_text_put(struct pm_text *out, const char *text)
{
	size_t length = strlen(text), from = 0;
	uint32_t unit;
	for (size_t at = 0; at < length; at++) {
		const char *instead = NULL;
		switch (text[at]) {
		case '&': instead = "&amp;"; break;
		case '<': instead = "&lt;"; break;
		case '>': instead = "&gt;"; break;
		case '_':
			if (escape_at(text + at, length - at, &unit))
				instead = "_x005F_";
			break;
		default: break;
		}
		if (!instead)
			continue;
		pm_text_put(out, text + from, at - from);
		pm_text_str(out, instead);
		from = at + 1;
	}
	pm_text_put(out, text + from, length - from);
}

const char *book_text_problem(const char *text)
{
	const char *problem = store_value_problem(text);
	if (problem)
		return problem;
	size_t units = 0, length = strlen(text);
	for (size_t at = 0; at < length;) {
		uint32_t point;
		at += pm_utf8_next(text + at, length - at, &point);
		/* XML 1.0, 2.2: no character of a document */
		if (point == 0xFFFE || point == 0xFFFF)
			return "a code point that is no character";
		units += point > 0xFFFF ? 2 : 1;
	}
	return units > BOOK_MOST_TEXT ? "more than 32,767 characters" : NULL;
}

/* --- number formats --- */

bool book_format_dates(uint32_t id)
{
	/* ECMA-376 part 1, 18.8.30: 14 to 22 and 45 to 47 everywhere; 27 to 36 and
	 * 50 to 58 in the East Asian tables */
	return (id >= 14 && id <= 22) || (id >= 27 && id <= 36) || (id >= 45 && id <= 47) || (id >= 50 && id <= 58);
}

static bool is_one_of(char c, const char *set)
{
	return c && strchr(set, pm_lower((unsigned char)c));
}

/* [h], [mm], [ss] count time that went by; other brackets are colours, conditions
 * and languages. */
static bool elapsed(const char *inside, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if (!is_one_of(inside[i], "hms"))
			return false;
	return length > 0;
}

bool book_code_dates(const char *code)
{
	for (; *code; code++) {
		const char *close = NULL;
		switch (*code) {
		case '"':
			close = strchr(code + 1, '"');
			break;
		case '[':
			close = strchr(code + 1, ']');
			if (close && elapsed(code + 1, (size_t)(close - code - 1)))
				return true;
			break;
		case '\\': case '_': case '*':   /* the next character stands for itself */
			close = code[1] ? code + 1 : NULL;
			break;
		default:
			if (is_one_of(*code, "ymdhs"))
				return true;
			continue;
		}
		if (!close)
			return false;
		code = close;
	}
	return false;
}
