#include "sheet/fold.h"

#include <string.h>

#include "portmuster/text.h"

#define LONGEST 4   /* bytes of a character (RFC 3629 section 3) */

uint32_t fold_blanks(uint32_t point)
{
	return point == ' ' || point == '\t' || point == '\n' || point == '\r' ? 0 : point;
}

bool fold_hidden(uint32_t point)
{
	static const struct { uint32_t first, last; } hidden[] = {
		{ 0x00A0, 0x00A0 }, { 0x00AD, 0x00AD }, { 0x034F, 0x034F }, { 0x061C, 0x061C }, { 0x115F, 0x1160 },
		{ 0x1680, 0x1680 }, { 0x180E, 0x180E }, { 0x2000, 0x200F }, { 0x2028, 0x202F }, { 0x205F, 0x2064 },
		{ 0x2066, 0x206F }, { 0x2800, 0x2800 }, { 0x3000, 0x3000 }, { 0x3164, 0x3164 }, { 0xFE00, 0xFE0F },
		{ 0xFEFF, 0xFEFF }, { 0xFFA0, 0xFFA0 }, { 0xE0000, 0xE007F }, { 0xE0100, 0xE01EF },
	};
	for (size_t i = 0; point >= 0xA0 && i < sizeof hidden / sizeof *hidden; i++)
		if (point >= hidden[i].first && point <= hidden[i].last)
			return true;
	return false;
}

uint32_t fold_invisible(uint32_t point)
{
	return fold_hidden(point) ? 0 : fold_blanks(point);
}

uint32_t fold_typography(uint32_t point)
{
	if ((point >= 0x2010 && point <= 0x2015) || point == 0x2212 || point == 0xFE58 || point == 0xFE63)
		return '-';
	if ((point >= 0x2018 && point <= 0x201B) || point == 0x2032 || point == 0x00B4 || point == 0x02BC)
		return '\'';
	if ((point >= 0x201C && point <= 0x201F) || point == 0x2033 || point == 0x00AB || point == 0x00BB)
		return '"';
	return point;
}

/* Letters of other alphabets that look like a Latin letter or a digit; after the
 * confusables of Unicode UTS #39, from memory. */
static const struct { uint32_t point; char latin; } twins[] = {
	{ 0x0391, 'A' }, { 0x0392, 'B' }, { 0x0395, 'E' }, { 0x0396, 'Z' }, { 0x0397, 'H' }, { 0x0399, 'I' },
	{ 0x039A, 'K' }, { 0x039C, 'M' }, { 0x039D, 'N' }, { 0x039F, 'O' }, { 0x03A1, 'P' }, { 0x03A4, 'T' },
	{ 0x03A5, 'Y' }, { 0x03A7, 'X' }, { 0x03B1, 'a' }, { 0x03BD, 'v' }, { 0x03BF, 'o' }, { 0x03C1, 'p' },
	{ 0x0405, 'S' }, { 0x0406, 'I' }, { 0x0408, 'J' }, { 0x0410, 'A' }, { 0x0412, 'B' }, { 0x0415, 'E' },
	{ 0x0417, '3' }, { 0x041A, 'K' }, { 0x041C, 'M' }, { 0x041D, 'H' }, { 0x041E, 'O' }, { 0x0420, 'P' },
	{ 0x0421, 'C' }, { 0x0422, 'T' }, { 0x0423, 'Y' }, { 0x0425, 'X' }, { 0x0430, 'a' }, { 0x0432, 'B' },
	{ 0x0435, 'e' }, { 0x043A, 'k' }, { 0x043C, 'm' }, { 0x043E, 'o' }, { 0x0440, 'p' }, { 0x0441, 'c' },
	{ 0x0442, 'T' }, { 0x0443, 'y' }, { 0x0445, 'x' }, { 0x0455, 's' }, { 0x0456, 'i' }, { 0x0458, 'j' },
	{ 0x04AE, 'Y' }, { 0x0501, 'd' }, { 0x050C, 'G' },
};

uint32_t fold_alphabets(uint32_t point)
{
	/* the full-width forms run in the order of ASCII */
	if (point >= 0xFF01 && point <= 0xFF5E)
		return point - 0xFF01 + 0x21;
	for (size_t i = 0; i < sizeof twins / sizeof *twins; i++)
		if (twins[i].point == point)
			return (uint32_t)twins[i].latin;
	return point;
}

uint32_t fold_case(uint32_t point)
{
	return point < 0x80 ? (uint32_t)pm_lower((int)point) : point;
}

/* The next character that counts, 0 at the end. */
static uint32_t next(const char **text, fold *as)
{
	while (**text) {
		uint32_t point;
		size_t length = pm_utf8_next(*text, strnlen(*text, LONGEST), &point);
		if (point == UINT32_MAX)
			point = 0x110000u + (unsigned char)**text;   /* beyond every character */
		*text += length;
		point = as(point);
		if (point)
			return point;
	}
	return 0;
}

bool fold_same(const char *a, const char *b, fold *as)
{
	for (;;) {
		uint32_t x = next(&a, as), y = next(&b, as);
		if (x != y)
			return false;
		if (!x)
			return true;
	}
}

static const char *skip_blanks(const char *text)
{
	while (*text && strchr(" \t\r\n", *text))
		text++;
	return text;
}

bool fold_title_same(const char *a, const char *b)
{
	a = skip_blanks(a);
	b = skip_blanks(b);
	while (*a || *b) {
		const char *a_next = skip_blanks(a), *b_next = skip_blanks(b);
		bool gap = a_next != a || b_next != b;
		if (!*a_next && !*b_next)
			return true;
		if (gap ? a_next == a || b_next == b : *a != *b)
			return false;
		a = gap ? a_next : a + 1;
		b = gap ? b_next : b + 1;
	}
	return true;
}

size_t fold_first(const char *text, fold *as, uint32_t *point)
{
	size_t length = strlen(text), place = 1;
	for (size_t at = 0; at < length; place++) {
		at += pm_utf8_next(text + at, length - at, point);
		if (*point != UINT32_MAX && as(*point) != *point)
			return place;
	}
	return 0;
}

uint32_t fold_latin(unsigned char byte)
{
	static const uint16_t upper[32] = {
		0x20AC, 0x0081, 0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0x008D,
		0x017D, 0x008F, 0x0090, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014, 0x02DC, 0x2122, 0x0161, 0x203A,
		0x0153, 0x009D, 0x017E, 0x0178,
	};
	return byte >= 0x80 && byte < 0xA0 ? upper[byte - 0x80] : byte;
}

bool fold_misread(const char *right, const char *seen)
{
	const char *a = right, *b = seen;
	size_t changed = 0;
	for (; *a && *b; a++) {
		uint32_t point;
		b += pm_utf8_next(b, strnlen(b, LONGEST), &point);
		if (point != fold_latin((unsigned char)*a))
			break;
		changed += (unsigned char)*a >= 0x80;
	}
	if (!*a && !*b && changed)
		return true;
	for (a = right, b = seen, changed = 0; *a && *b;) {
		uint32_t x, y;
		a += pm_utf8_next(a, strnlen(a, LONGEST), &x);
		b += pm_utf8_next(b, strnlen(b, LONGEST), &y);
		if (x == y)
			continue;
		if (x < 0x80 || (y != '?' && y != 0xFFFD))
			return false;
		changed++;
	}
	return !*a && !*b && changed;
}
