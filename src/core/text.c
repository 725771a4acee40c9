#include "portmuster/text.h"

#include <string.h>

#define QUOTED_MOST 60   /* characters of a quoted value before it is cut */

void pm_text_fixed(struct pm_text *text, char *array, size_t room)
{
	*text = (struct pm_text){ .data = array, .room = room };
	array[0] = '\0';
}

void pm_text_grow(struct pm_text *text, struct pm_arena *arena)
{
	static char nothing[1];   /* never written: room is 0 until the first growth */
	*text = (struct pm_text){ .data = nothing, .arena = arena };
}

static bool make_room(struct pm_text *text, size_t more)
{
	if (text->room && more <= text->room - 1 - text->length)
		return true;
	if (!text->arena || more > SIZE_MAX / 4) {
		text->cut = true;
		return false;
	}
	size_t wider = (text->length + more + 1) * 2;
	if (wider < 64)
		wider = 64;
	char *grown = pm_arena_alloc(text->arena, wider);
	if (!grown) {
		text->cut = true;
		return false;
	}
	if (text->length)
		memcpy(grown, text->data, text->length);
	text->data = grown;
	text->room = wider;
	return true;
}

void pm_text_put(struct pm_text *text, const char *bytes, size_t length)
{
	/* what comes after a gap would read as if nothing were missing */
	if (text->cut)
		return;
	if (!make_room(text, length)) {
		if (text->arena || text->room <= text->length + 1)
			return;
		length = text->room - 1 - text->length;
		/* never cut in the middle of a character */
		while (length && ((unsigned char)bytes[length] & 0xC0) == 0x80)
			length--;
	}
	if (length)
		memcpy(text->data + text->length, bytes, length);
	text->length += length;
	if (text->room)
		text->data[text->length] = '\0';
}

void pm_text_str(struct pm_text *text, const char *string)
{
	if (string)
		pm_text_put(text, string, strlen(string));
}

void pm_text_char(struct pm_text *text, char character)
{
	pm_text_put(text, &character, 1);
}

static void pad(struct pm_text *text, unsigned width, size_t length)
{
	for (; width > length; width--)
		pm_text_char(text, ' ');
}

static void put_number(struct pm_text *text, unsigned long long value, bool negative,
                       unsigned base, bool upper, unsigned width, bool zeros)
{
	char digits[24];
	size_t at = sizeof digits;
	do {
		digits[--at] = (upper ? "0123456789ABCDEF" : "0123456789abcdef")[value % base];
		value /= base;
	} while (value);
	size_t length = sizeof digits - at + negative;
	if (negative && zeros)
		pm_text_char(text, '-');
	for (; width > length; width--)
		pm_text_char(text, zeros ? '0' : ' ');
	if (negative && !zeros)
		pm_text_char(text, '-');
	pm_text_put(text, digits + at, sizeof digits - at);
}

enum size { SIZE_INT, SIZE_LONG, SIZE_LONG_LONG, SIZE_SIZE };

static unsigned long long next_unsigned(va_list *args, enum size size)
{
	switch (size) {
	case SIZE_INT: return va_arg(*args, unsigned);
	case SIZE_LONG: return va_arg(*args, unsigned long);
	case SIZE_LONG_LONG: return va_arg(*args, unsigned long long);
	case SIZE_SIZE: return va_arg(*args, size_t);
	}
	return 0;
}

static long long next_signed(va_list *args, enum size size)
{
	switch (size) {
	case SIZE_INT: return va_arg(*args, int);
	case SIZE_LONG: return va_arg(*args, long);
	case SIZE_LONG_LONG: return va_arg(*args, long long);
	case SIZE_SIZE: return (long long)va_arg(*args, size_t);
	}
	return 0;
}

/* One conversion after the '%'; returns the place after it. */
static const char *put_conversion(struct pm_text *text, const char *at, va_list *args)
{
	bool zeros = *at == '0';
	unsigned width = 0;
	enum size size = SIZE_INT;
	while (pm_is_digit(*at))
		width = width * 10 + (unsigned)(*at++ - '0');
	if (*at == 'z') {
		size = SIZE_SIZE;
		at++;
	}
	while (*at == 'l') {
		size = size == SIZE_INT ? SIZE_LONG : SIZE_LONG_LONG;
		at++;
	}
	switch (*at) {
	case 's': {
		const char *string = va_arg(*args, const char *);
		pad(text, width, string ? strlen(string) : 0);
		pm_text_str(text, string);
		break;
	}
	case 'c':
		pad(text, width, 1);
		pm_text_char(text, (char)va_arg(*args, int));
		break;
	case 'd': {
		long long value = next_signed(args, size);
		unsigned long long plain = value < 0 ? -(unsigned long long)value : (unsigned long long)value;
		put_number(text, plain, value < 0, 10, false, width, zeros);
		break;
	}
	case 'u':
		put_number(text, next_unsigned(args, size), false, 10, false, width, zeros);
		break;
	case 'x':
	case 'X':
		put_number(text, next_unsigned(args, size), false, 16, *at == 'X', width, zeros);
		break;
	case '%':
		pm_text_char(text, '%');
		break;
	default:
		return at;
	}
	return at + 1;
}

void pm_text_addv(struct pm_text *text, const char *format, va_list args)
{
	va_list rest;
	va_copy(rest, args);
	while (*format) {
		const char *stop = strchr(format, '%');
		if (!stop) {
			pm_text_str(text, format);
			break;
		}
		pm_text_put(text, format, (size_t)(stop - format));
		format = put_conversion(text, stop + 1, &rest);
	}
	va_end(rest);
}

void pm_text_add(struct pm_text *text, const char *format, ...)
{
	va_list args;
	va_start(args, format);
	pm_text_addv(text, format, args);
	va_end(args);
}

/* Characters that would steer a terminal or hide in a line: controls,
 * zero-width and bidirectional formatting, line and paragraph separators, the
 * byte order mark, tags and the Unicode noncharacters. */
static bool unsafe_point(uint32_t point)
{
	static const struct { uint32_t first, last; } unsafe[] = {
		{ 0x0000, 0x001F }, { 0x007F, 0x009F }, { 0x00AD, 0x00AD }, { 0x061C, 0x061C },
		{ 0x180E, 0x180E }, { 0x200B, 0x200F }, { 0x2028, 0x202E }, { 0x2060, 0x206F },
		{ 0xFEFF, 0xFEFF }, { 0xFFF9, 0xFFFB }, { 0x1BCA0, 0x1BCA3 }, { 0x1D173, 0x1D17A },
		{ 0xE0000, 0xE007F },
	};
	for (size_t i = 0; i < sizeof unsafe / sizeof *unsafe; i++)
		if (point >= unsafe[i].first && point <= unsafe[i].last)
			return true;
	return (point & 0xFFFE) == 0xFFFE;
}

static void put_visible(struct pm_text *text, const char *bytes, size_t length, size_t most)
{
	for (size_t shown = 0; length; shown++) {
		uint32_t point;
		/* printable ASCII goes over in one piece */
		size_t run = 0;
		while (run < length && shown + run < most && bytes[run] >= 0x20 && bytes[run] < 0x7F)
			run++;
		if (run) {
			pm_text_put(text, bytes, run);
			bytes += run;
			length -= run;
			shown += run - 1;
			continue;
		}
		size_t used = pm_utf8_next(bytes, length, &point);
		if (shown == most) {
			pm_text_str(text, "...");
			return;
		}
		if (point == UINT32_MAX)
			pm_text_add(text, "\\x%02X", (unsigned)(unsigned char)*bytes);
		else if (unsafe_point(point) && point < 0x80)
			pm_text_add(text, "\\x%02X", (unsigned)point);
		else if (unsafe_point(point))
			pm_text_add(text, "\\u{%X}", (unsigned)point);
		else
			pm_text_put(text, bytes, used);
		bytes += used;
		length -= used;
	}
}

void pm_text_visible(struct pm_text *text, const char *bytes, size_t length)
{
	put_visible(text, bytes, length, SIZE_MAX);
}

void pm_text_quote(struct pm_text *text, const char *string)
{
	if (!string) {
		pm_text_str(text, "nothing");
		return;
	}
	pm_text_char(text, '"');
	put_visible(text, string, strlen(string), QUOTED_MOST);
	pm_text_char(text, '"');
}

void pm_text_csv(struct pm_text *text, const char *field)
{
	if (!strchr(field, ',') && !strchr(field, '"') && !strchr(field, '\r') && !strchr(field, '\n')) {
		pm_text_str(text, field);
		return;
	}
	pm_text_char(text, '"');
	for (; *field; field++) {
		if (*field == '"')
			pm_text_char(text, '"');
		pm_text_char(text, *field);
	}
	pm_text_char(text, '"');
}

char *pm_say(struct pm_arena *arena, const char *format, ...)
{
	struct pm_text text;
	pm_text_grow(&text, arena);
	pm_text_str(&text, "");
	va_list args;
	va_start(args, format);
	pm_text_addv(&text, format, args);
	va_end(args);
	return text.cut ? NULL : text.data;
}

char *pm_quoted(struct pm_arena *arena, const char *string)
{
	struct pm_text text;
	pm_text_grow(&text, arena);
	pm_text_quote(&text, string);
	return text.cut ? NULL : text.data;
}

size_t pm_utf8_next(const char *bytes, size_t length, uint32_t *point)
{
	const unsigned char *b = (const unsigned char *)bytes;
	static const struct { unsigned char mask, lead; uint32_t least; } form[] = {
		{ 0x80, 0x00, 0 }, { 0xE0, 0xC0, 0x80 }, { 0xF0, 0xE0, 0x800 }, { 0xF8, 0xF0, 0x10000 },
	};
	for (size_t more = 0; more < 4; more++) {
		if ((b[0] & form[more].mask) != form[more].lead)
			continue;
		if (more >= length)
			break;
		uint32_t value = b[0] & (unsigned char)~form[more].mask;
		for (size_t i = 1; i <= more; i++) {
			if ((b[i] & 0xC0) != 0x80)
				goto invalid;
			value = value << 6 | (b[i] & 0x3F);
		}
		if (value < form[more].least || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF))
			break;
		*point = value;
		return more + 1;
	}
invalid:
	*point = UINT32_MAX;
	return 1;
}

size_t pm_utf8_put(uint32_t point, char out[static 4])
{
	if (point < 0x80) {
		out[0] = (char)point;
		return 1;
	}
	if (point > 0x10FFFF || (point >= 0xD800 && point <= 0xDFFF))
		return 0;
	size_t more = point < 0x800 ? 1 : point < 0x10000 ? 2 : 3;
	static const unsigned char lead[] = { 0, 0xC0, 0xE0, 0xF0 };
	for (size_t i = more; i; i--) {
		out[i] = (char)(0x80 | (point & 0x3F));
		point >>= 6;
	}
	out[0] = (char)(lead[more] | point);
	return more + 1;
}

bool pm_same(const char *a, const char *b)
{
	return a && b ? strcmp(a, b) == 0 : a == b;
}

bool pm_same_nocase(const char *a, const char *b)
{
	if (!a || !b)
		return a == b;
	for (; *a && pm_lower(*a) == pm_lower(*b); a++, b++)
		;
	return pm_lower(*a) == pm_lower(*b);
}

bool pm_read_number(const char *string, uint64_t most, uint64_t *value)
{
	uint64_t number = 0;
	if (!string || !*string)
		return false;
	for (; *string; string++) {
		if (!pm_is_digit(*string))
			return false;
		unsigned digit = (unsigned)(*string - '0');
		if (number > (UINT64_MAX - digit) / 10)
			return false;
		number = number * 10 + digit;
	}
	if (number > most)
		return false;
	*value = number;
	return true;
}

bool pm_read_decimal(const char *string, int64_t *millionths)
{
	if (!string)
		return false;
	bool negative = *string == '-';
	string += negative;
	int64_t whole = 0, part = 0, scale = 100000;
	size_t digits = 0;
	for (; pm_is_digit(*string); string++, digits++)
		if (digits < 9)
			whole = whole * 10 + (*string - '0');
	if (digits == 0 || digits > 9)
		return false;
	if (*string == '.') {
		string++;
		if (!pm_is_digit(*string))
			return false;
		for (; pm_is_digit(*string); string++, scale /= 10) {
			if (scale == 0)
				return false;
			part += (*string - '0') * scale;
		}
	}
	if (*string)
		return false;
	int64_t value = whole * 1000000 + part;
	*millionths = negative ? -value : value;
	return true;
}
