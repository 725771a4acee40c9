#include "sheet/numbers.h"

#include <string.h>

#include "portmuster/text.h"

static const char *digits(const char *at)
{
	while (pm_is_digit(*at))
		at++;
	return at;
}

/* Past a mantissa such as -12.5; null when there is none. */
static const char *mantissa(const char *at)
{
	at += *at == '-' || *at == '+';
	const char *whole = digits(at), *end = whole;
	if (*end == '.' || *end == ',')
		end = digits(end + 1);
	return whole > at || end > whole + 1 ? end : NULL;
}

bool numbers_alike(const char *text)
{
	const char *at = mantissa(text);
	if (at && (*at == 'E' || *at == 'e')) {
		at++;
		at += *at == '-' || *at == '+';
		const char *end = digits(at);
		at = end > at ? end : NULL;
	}
	return at && !*at;
}

bool numbers_scientific(const char *text)
{
	return numbers_alike(text) && strpbrk(text, "Ee");
}

/* A decimal number as its significant digits and where its point stands. */
struct decimal {
	char digit[48];
	size_t count;
	int point;       /* of 0.DIGITS times ten to this power */
	bool negative;
};

static bool read_decimal(const char *text, struct decimal *d)
{
	bool fraction = false, any = false;
	*d = (struct decimal){ .negative = *text == '-' };
	text += *text == '-' || *text == '+';
	for (; *text; text++) {
		if ((*text == '.' || *text == ',') && !fraction) {
			fraction = true;
			continue;
		}
		if (!pm_is_digit(*text) || d->count == sizeof d->digit)
			return false;
		any = true;
		if (d->count || *text != '0')
			d->digit[d->count++] = *text;
		d->point += fraction ? (d->count ? 0 : -1) : (d->count ? 1 : 0);
	}
	while (d->count && d->digit[d->count - 1] == '0')
		d->count--;
	return any;
}

bool numbers_same(const char *right, const char *seen)
{
	struct decimal a, b;
	if (!read_decimal(right, &a) || !read_decimal(seen, &b) || a.count != b.count)
		return false;
	if (!a.count)
		return true;
	return a.negative == b.negative && a.point == b.point && memcmp(a.digit, b.digit, a.count) == 0;
}

bool numbers_same_whole(const char *right, const char *seen)
{
	bool marked = false;
	if (!*right && strcmp(seen, "0") == 0)
		return true;   /* nothing but zeros */
	for (; *right && *seen; seen++) {
		if (*right == *seen && pm_is_digit(*seen)) {
			right++;
		} else if (strchr(",.' ", *seen)) {
			marked = true;
		} else if (seen[0] == '\xC2' && seen[1] == '\xA0') {
			marked = true;   /* a no-break blank */
			seen++;
		} else {
			return false;
		}
	}
	return marked && !*right && !*seen;
}

bool numbers_digits_lost(const char *right, const char *seen)
{
	right += strspn(right, "0");
	size_t length = strlen(right);
	return length > 15 && strlen(seen) == length && *digits(right) == '\0' && strcmp(right, seen) != 0 &&
	       memcmp(right, seen, 14) == 0 && pm_is_digit(seen[14]) && strspn(seen + 15, "0") == length - 15;
}

/* --- dates --- */

static bool month_word(const char *text, size_t length)
{
	static const char *const months[] = { "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec" };
	for (size_t i = 0; length >= 3 && i < 12; i++) {
		size_t same = 0;
		while (same < 3 && pm_lower(text[same]) == months[i][same])
			same++;
		if (same == 3)
			return true;
	}
	return false;
}

/* Two or three parts, numbers or at most one month's name, between - / . or
 * blanks. `shape` receives one letter a part, the separator between. */
static bool date_like(const char *text, char shape[static 8])
{
	size_t parts = 0, words = 0, used = 0;
	while (*text && parts < 3) {
		const char *end = digits(text);
		bool word = end == text;
		while (word && pm_is_alpha(*end))
			end++;
		size_t length = (size_t)(end - text);
		if (!length || (word ? !month_word(text, length) : length > 4))
			return false;
		words += word;
		parts++;
		shape[used++] = word ? 'w' : length > 2 ? 'y' : 'd';
		if (*end && !strchr("-/. ", *end))
			return false;
		if (*end)
			shape[used++] = *end++;
		text = end;
	}
	shape[used] = '\0';
	return !*text && parts >= 2 && words <= 1 && used == 2 * parts - 1;
}

bool numbers_became_date(const char *right, const char *seen)
{
	char a[8], b[8];
	return date_like(right, a) && date_like(seen, b) && strcmp(a, b) != 0;
}
