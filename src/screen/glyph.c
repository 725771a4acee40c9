#include "screen/glyph.h"

#include <string.h>

#include "portmuster/text.h"

#define DOTTED_CIRCLE 0x25CC   /* carries a mark that has no character before it */

bool glyph_printable(uint32_t point)
{
	char bytes[4];
	size_t length = pm_utf8_put(point, bytes);
	if (!length)
		return false;
	char shown[24];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, bytes, length);
	return text.length == length && memcmp(shown, bytes, length) == 0;
}

static bool is_selector(uint32_t point)
{
	return (point >= 0xFE00 && point <= 0xFE0F) || (point >= 0xE0100 && point <= 0xE01EF);
}

/* Take the combining marks that follow. Variation selectors are dropped:
 * terminals disagree on whether they change the width. */
static size_t take_marks(const char *bytes, size_t length, struct glyph *glyph)
{
	size_t used = 0;
	int marks = 0;
	while (used < length) {
		uint32_t point;
		size_t step = pm_utf8_next(bytes + used, length - used, &point);
		if (point == UINT32_MAX || glyph_width(point) != 0)
			break;
		if (!is_selector(point) && marks < GLYPH_MARKS)
			glyph->mark[marks++] = point;
		used += step;
	}
	return used;
}

size_t glyph_next(const char *bytes, size_t length, struct glyph *glyph)
{
	*glyph = (struct glyph){ .points = 1, .width = 1 };
	uint32_t point;
	size_t used = pm_utf8_next(bytes, length, &point);
	if (point != UINT32_MAX && glyph_width(point) == 0) {
		glyph->point[0] = DOTTED_CIRCLE;
		return take_marks(bytes, length, glyph);
	}
	if ((point >= 0x20 && point < 0x7F) || (point != UINT32_MAX && glyph_printable(point))) {
		glyph->point[0] = point;
		glyph->width = glyph_width(point);
		return used + take_marks(bytes + used, length - used, glyph);
	}
	/* not to be shown as it is: its visible form, which is plain ASCII */
	char shown[24];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, bytes, used);
	glyph->points = 0;
	for (size_t i = 0; i < text.length && glyph->points < GLYPH_POINTS; i++)
		glyph->point[glyph->points++] = (unsigned char)shown[i];
	glyph->width = glyph->points;
	return used;
}

static uint32_t ascii_line(uint32_t point)
{
	switch (point) {
	case 0x2500: case 0x2501: case 0x2504: case 0x2505: case 0x2508: case 0x2509: case 0x254C:
	case 0x254D: case 0x2550: case 0x2574: case 0x2576: case 0x2578: case 0x257A: case 0x257C:
	case 0x257E:
		return '-';
	case 0x2502: case 0x2503: case 0x2506: case 0x2507: case 0x250A: case 0x250B: case 0x254E:
	case 0x254F: case 0x2551: case 0x2575: case 0x2577: case 0x2579: case 0x257B: case 0x257D:
	case 0x257F:
		return '|';
	case 0x2571:
		return '/';
	case 0x2572:
		return '\\';
	case 0x2573:
		return 'x';
	default:
		return '+';
	}
}

uint32_t glyph_ascii(uint32_t point)
{
	static const char letters[] =   /* U+00C0 to U+017F without their accents */
		"AAAAAA?CEEEEIIIIDNOOOOOxOUUUUY?s" "aaaaaa?ceeeeiiiidnooooo/ouuuuy?y"
		"AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGg" "GgGgHhHhIiIiIiIiIi??JjKkkLlLlLlL"
		"lLlNnNnNnn??OoOoOo??RrRrRrSsSsSs" "SsTtTtTtUuUuUuUuUuUuWwYyYZzZzZzs";
	static const struct { uint32_t point; char stand_in; } other[] = {
		{ 0x00A0, ' ' }, { 0x00A6, '|' }, { 0x00AB, '<' }, { 0x00B4, '\'' }, { 0x00B5, 'u' },
		{ 0x00B7, '.' }, { 0x00BB, '>' },
		/* hyphens, dashes, quotation marks, bullets, the ellipsis */
		{ 0x2010, '-' }, { 0x2011, '-' }, { 0x2012, '-' }, { 0x2013, '-' }, { 0x2014, '-' },
		{ 0x2015, '-' }, { 0x2018, '\'' }, { 0x2019, '\'' }, { 0x201A, '\'' }, { 0x201B, '\'' },
		{ 0x201C, '"' }, { 0x201D, '"' }, { 0x201E, '"' }, { 0x201F, '"' }, { 0x2022, '*' },
		{ 0x2023, '>' }, { 0x2026, '~' }, { 0x2032, '\'' }, { 0x2033, '"' }, { 0x2039, '<' },
		{ 0x203A, '>' }, { 0x2043, '-' }, { 0x2212, '-' }, { 0x2219, '.' },
		/* arrows */
		{ 0x2190, '<' }, { 0x2191, '^' }, { 0x2192, '>' }, { 0x2193, 'v' }, { 0x2194, '-' },
		{ 0x2195, '|' }, { 0x21B5, '<' }, { 0x21D0, '<' }, { 0x21D2, '>' },
		/* blocks, squares, triangles, circles */
		{ 0x2588, '#' }, { 0x2591, '.' }, { 0x2592, ':' }, { 0x2593, '%' }, { 0x25A0, '#' },
		{ 0x25A1, '_' }, { 0x25AA, '*' }, { 0x25AB, '_' }, { 0x25B2, '^' }, { 0x25B4, '^' },
		{ 0x25B6, '>' }, { 0x25B8, '>' }, { 0x25BA, '>' }, { 0x25BC, 'v' }, { 0x25BE, 'v' },
		{ 0x25C0, '<' }, { 0x25C2, '<' }, { 0x25C4, '<' }, { 0x25C6, '*' }, { 0x25C7, 'o' },
		{ 0x25CB, 'o' }, { 0x25CF, '*' }, { 0x25E6, 'o' },
		/* boxes to tick, check marks (told from crosses), the caution sign */
		{ 0x2610, '_' }, { 0x2611, '+' }, { 0x2612, 'x' }, { 0x26A0, '!' }, { 0x2713, '+' },
		{ 0x2714, '+' }, { 0x2717, 'x' }, { 0x2718, 'x' }, { 0x2715, 'x' }, { 0x2716, 'x' },
		{ 0x276F, '>' }, { 0x27F6, '>' },
	};
	if (point < 0x80)
		return point >= 0x20 && point < 0x7F ? point : '?';
	if (point >= 0xC0 && point < 0xC0 + sizeof letters - 1)
		return (unsigned char)letters[point - 0xC0];
	if (point >= 0x2500 && point <= 0x257F)
		return ascii_line(point);
	for (size_t i = 0; i < sizeof other / sizeof *other; i++)
		if (other[i].point == point)
			return (unsigned char)other[i].stand_in;
	return '?';
}
