#include "sheet/decode.h"

#include <string.h>

#include "portmuster/text.h"
#include "sheet/fold.h"

/* --- encodings --- */

static bool is_utf8(const struct decoded *b)
{
	for (size_t at = 0; at < b->length;) {
		uint32_t point;
		at += pm_utf8_next(b->text + at, b->length - at, &point);
		if (point == UINT32_MAX)
			return false;
	}
	return true;
}

static void put_point(struct pm_text *out, uint32_t point)
{
	char bytes[4];
	size_t length = pm_utf8_put(point, bytes);
	if (length)
		pm_text_put(out, bytes, length);
	else
		put_point(out, 0xFFFD);
}

static void from_latin(const struct decoded *b, struct pm_text *out)
{
	for (size_t i = 0; i < b->length; i++)
		put_point(out, fold_latin((unsigned char)b->text[i]));
}

static void from_utf16(const struct decoded *b, size_t from, bool big, struct pm_text *out)
{
	for (size_t i = from; i + 1 < b->length; i += 2) {
		const unsigned char *at = (const unsigned char *)b->text + i;
		uint32_t unit = (uint32_t)at[!big] << 8 | at[big];
		if (unit >= 0xD800 && unit < 0xDC00 && i + 3 < b->length) {
			uint32_t low = (uint32_t)at[2 + !big] << 8 | at[2 + big];
			if (low >= 0xDC00 && low < 0xE000) {
				unit = 0x10000 + ((unit - 0xD800) << 10) + (low - 0xDC00);
				i += 2;
			}
		}
		put_point(out, unit);
	}
}

/* UTF-16 without its mark: most characters of a sheet are ASCII, so that one byte of
 * most pairs is zero, always on the same side. */
static bool is_utf16(const struct decoded *b, bool *big)
{
	size_t zeros[2] = { 0 }, looked = b->length < 4096 ? b->length : 4096;
	for (size_t i = 0; i < looked; i++)
		zeros[i % 2] += b->text[i] == '\0';
	*big = zeros[0] > zeros[1];
	return !zeros[*big] && zeros[!*big] * 4 > looked;
}

/* Bring the bytes into UTF-8, noting what they were. */
static bool to_utf8(struct decoded *b, struct returned *sheet, struct pm_arena *arena)
{
	struct pm_text text;
	bool big = b->length >= 2 && memcmp(b->text, "\xFE\xFF", 2) == 0;
	bool marked = big || (b->length >= 2 && memcmp(b->text, "\xFF\xFE", 2) == 0);
	pm_text_grow(&text, arena);
	if (marked || is_utf16(b, &big)) {
		sheet->wide = true;
		from_utf16(b, marked ? 2 : 0, big, &text);
	} else if (!is_utf8(b)) {
		sheet->latin = true;
		from_latin(b, &text);
	} else {
		sheet->mark = b->length >= 3 && memcmp(b->text, "\xEF\xBB\xBF", 3) == 0;
		return true;
	}
	*b = (struct decoded){ text.data, text.length };
	return !text.cut;
}

/* --- separators, line ends, quotes --- */

/* The separator of the first line: whichever gives the layout's width, else the
 * one that stands there most often. */
static char separator_of(const struct decoded *b, uint32_t width)
{
	static const char candidates[] = ",;\t";
	size_t count[3] = { 0 }, best = 0;
	bool quoted = false;
	for (size_t i = 0; i < b->length && (quoted || (b->text[i] != '\n' && b->text[i] != '\r')); i++) {
		const char *found = quoted || !b->text[i] ? NULL : strchr(candidates, b->text[i]);
		quoted ^= b->text[i] == '"';
		if (found)
			count[found - candidates]++;
	}
	for (size_t i = 0; i < 3; i++)
		if (count[i] + 1 == width && width > 1)
			return candidates[i];
	for (size_t i = 1; i < 3; i++)
		if (count[i] > count[best])
			best = i;
	return candidates[best];
}

static bool ends_field(const char *at, const char *end, char separator)
{
	return at == end || *at == separator || *at == '\n' || *at == '\r';
}

/* Behind the quote that closes the one at `at`; doubled ones stand for themselves.
 * Null when none does. */
static const char *close_quote(const char *at, const char *end)
{
	for (at++; at < end; at++) {
		if (*at != '"')
			continue;
		if (end - at < 2 || at[1] != '"')
			return at + 1;
		at++;
	}
	return NULL;
}

/* A field that does not begin with a quote, to its end. A separator may stand in the
 * text of a formula such as ="a,b". */
static const char *plain_end(const char *at, const char *end, char separator)
{
	if (end - at > 2 && at[0] == '=' && at[1] == '"') {
		const char *closed = close_quote(at + 1, end);
		if (closed && ends_field(closed, end, separator) && !memchr(at, '\n', (size_t)(closed - at)) &&
		    !memchr(at, '\r', (size_t)(closed - at)))
			return closed;
	}
	while (!ends_field(at, end, separator))
		at++;
	return at;
}

static void put_field(struct pm_text *out, const char *at, const char *stop)
{
	if (*at == '"' || !memchr(at, '"', (size_t)(stop - at))) {
		pm_text_put(out, at, (size_t)(stop - at));
		return;
	}
	pm_text_char(out, '"');
	for (; at < stop; at++) {
		if (*at == '"')
			pm_text_char(out, '"');
		pm_text_char(out, *at);
	}
	pm_text_char(out, '"');
}

/* One field and what ends it. */
static const char *mend_field(const char *at, const char *end, struct returned *sheet, struct pm_text *out)
{
	const char *stop = *at == '"' ? close_quote(at, end) : plain_end(at, end, sheet->separator);
	if (!stop)
		stop = end;   /* a quote that is not closed, */
	while (!ends_field(stop, end, sheet->separator))
		stop++;   /* or text behind a closing one: for the reader to complain of */
	if (stop > at)
		put_field(out, at, stop);
	if (stop == end)
		return end;
	if (*stop == '\r' && (end - stop < 2 || stop[1] != '\n')) {
		sheet->lone_returns = true;
		pm_text_char(out, '\n');
		return stop + 1;
	}
	sheet->bare_ends |= *stop == '\n';
	if (*stop == '\r')
		pm_text_char(out, *stop++);
	pm_text_char(out, *stop);
	return stop + 1;
}

bool decode_sheet(struct decoded *text, uint32_t width, struct pm_arena *arena, struct returned *sheet)
{
	struct pm_text out;
	if (!to_utf8(text, sheet, arena))
		return false;
	sheet->separator = separator_of(text, width);
	pm_text_grow(&out, arena);
	const char *at = text->text, *end = at + text->length;
	if (sheet->mark) {
		pm_text_put(&out, at, 3);
		at += 3;
	}
	while (at < end)
		at = mend_field(at, end, sheet, &out);
	*text = (struct decoded){ out.data, out.length };
	return !out.cut;
}
