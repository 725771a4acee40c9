#include "sheet/numbers.h"

#include <string.h>

#include "portmuster/text.h"

#define DIGITS_KEPT 15   /* common practice: spreadsheets show no more of a number */

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
	size_t count;    /* none: zero */
	long point;      /* of 0.DIGITS times ten to this power */
	bool negative;
	bool far;        /* an exponent of more than six digits: `point` is not to be relied on */
};

#define FAR 1000000L

/* False for what numbers_alike does not accept, and for more digits than anything
 * registered has: two such numbers must not pass for the same. */
static bool read_decimal(const char *text, struct decimal *d)
{
	bool fraction = false;
	*d = (struct decimal){ .negative = *text == '-' };
	if (!numbers_alike(text))
		return false;
	text += *text == '-' || *text == '+';
	for (; *text && *text != 'E' && *text != 'e'; text++) {
		if (!pm_is_digit(*text)) {
			fraction = true;
			continue;
		}
		if (d->count == sizeof d->digit)
			return false;
		if (d->count || *text != '0')
			d->digit[d->count++] = *text;
		d->point += fraction ? (d->count ? 0 : -1) : (d->count ? 1 : 0);
	}
	while (d->count && d->digit[d->count - 1] == '0')
		d->count--;
	if (!*text)
		return true;
	bool small = *++text == '-';
	long exponent = 0;
	for (text += *text == '-' || *text == '+'; *text && !d->far; text++) {
		exponent = exponent * 10 + (*text - '0');
		d->far = exponent >= FAR;
	}
	d->point += small ? -exponent : exponent;
	return true;
}

/* Keep `most` significant digits; half is rounded up, as spreadsheets do. */
static void shorten(struct decimal *d, size_t most)
{
	if (d->count <= most)
		return;
	bool up = d->digit[most] >= '5';
	for (d->count = most; up && d->count; ) {
		up = d->digit[d->count - 1] == '9';
		if (!up)
			d->digit[d->count - 1]++;
		else
			d->count--;
	}
	if (up) {
		d->digit[d->count++] = '1';
		d->point++;
	}
	while (d->count && d->digit[d->count - 1] == '0')
		d->count--;
}

static bool equal(const struct decimal *a, const struct decimal *b)
{
	if (!a->count || !b->count)
		return a->count == b->count;
	return a->negative == b->negative && !a->far && !b->far && a->point == b->point && a->count == b->count &&
	       memcmp(a->digit, b->digit, a->count) == 0;
}

/* Could a program have written this number? None puts zeros or a plus in front, nor
 * more than three digits before the point of scientific notation. */
static bool as_written(const char *text)
{
	text += *text == '-';
	const char *end = digits(text);
	if (!numbers_alike(text) || *text == '+' || (*text == '0' && end > text + 1))
		return false;
	return !strpbrk(text, "Ee") || (end > text && end - text <= 3);
}

bool numbers_same(const char *right, const char *seen)
{
	struct decimal a, b;
	return !strpbrk(right, "Ee") && as_written(seen) && !strpbrk(seen, "Ee") && read_decimal(right, &a) &&
	       read_decimal(seen, &b) && equal(&a, &b);
}

bool numbers_stored(const char *right, const char *seen)
{
	struct decimal a, b;
	if (!read_decimal(right, &a) || !read_decimal(seen, &b))
		return false;
	shorten(&a, DIGITS_KEPT);
	shorten(&b, DIGITS_KEPT);
	return equal(&a, &b);
}

enum numbers_turn numbers_turned(const char *right, const char *seen)
{
	struct decimal a, b;
	const char *exponent = strpbrk(seen, "Ee");
	bool read = read_decimal(right, &a), was = numbers_scientific(right);
	if (!numbers_alike(right) || !as_written(seen) || (!exponent && !was) || !read_decimal(seen, &b))
		return NUMBERS_NOT_TURNED;
	/* what no double holds (IEEE 754 binary64) becomes zero, or whatever a program makes of it */
	bool large = a.point > 309 || (a.point == 309 && a.digit[0] > '1');
	bool beyond = !read || (a.count && (a.far || large || a.point < -323));
	bool plain_sign = exponent && (exponent[1] == '+' || exponent[1] == '-');
	if (read && equal(&a, &b))
		return NUMBERS_TURNED;
	if (beyond)
		return !b.count || plain_sign ? NUMBERS_TURNED : NUMBERS_NOT_TURNED;
	/* it shows as many digits as there was room for */
	size_t shown = exponent ? 0 : DIGITS_KEPT;
	for (const char *at = seen; exponent && at < exponent; at++)
		shown += pm_is_digit(*at);
	shorten(&a, shown);
	if (equal(&a, &b))
		return NUMBERS_TURNED;
	/* nothing but a number program writes a signed exponent */
	return plain_sign ? NUMBERS_TURNED_OTHERWISE : NUMBERS_NOT_TURNED;
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
	struct decimal a, b;
	right += strspn(right, "0");
	size_t length = strlen(right);
	if (length <= DIGITS_KEPT || *digits(right) || *digits(seen) || strlen(seen) < length || strcmp(right, seen) == 0 ||
	    !read_decimal(right, &a) || !read_decimal(seen, &b) || !as_written(seen))
		return false;
	bool cut = strlen(seen) == length && memcmp(right, seen, DIGITS_KEPT) == 0 &&
	           strspn(seen + DIGITS_KEPT, "0") == length - DIGITS_KEPT;
	shorten(&a, DIGITS_KEPT);
	return cut || equal(&a, &b);
}

/* --- dates --- */

/* The month whose name begins so, from 1; 0: none. */
static unsigned month_word(const char *text, size_t length)
{
	static const char *const months[] = { "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec" };
	for (unsigned i = 0; length >= 3 && i < 12; i++) {
		size_t same = 0;
		while (same < 3 && pm_lower(text[same]) == months[i][same])
			same++;
		if (same == 3)
			return i + 1;
	}
	return 0;
}

/* Two or three parts, numbers or at most one month's name, between - / . or
 * blanks. */
struct date {
	char shape[8];         /* one letter a part, the separator between */
	unsigned number[3];    /* of a month's name the month */
	size_t parts;
};

static bool read_date(const char *text, struct date *date)
{
	size_t words = 0, used = 0;
	*date = (struct date){ .parts = 0 };
	while (*text && date->parts < 3) {
		const char *end = digits(text);
		bool word = end == text;
		while (word && pm_is_alpha(*end))
			end++;
		size_t length = (size_t)(end - text);
		unsigned number = word ? month_word(text, length) : 0;
		if (!length || (word ? !number : length > 4))
			return false;
		for (const char *at = text; !word && at < end; at++)
			number = number * 10 + (unsigned)(*at - '0');
		words += word;
		date->number[date->parts++] = number;
		date->shape[used++] = word ? 'w' : length > 2 ? 'y' : 'd';
		if (*end && !strchr("-/. ", *end))
			return false;
		if (*end)
			date->shape[used++] = *end++;
		text = end;
	}
	date->shape[used] = '\0';
	return !*text && date->parts >= 2 && words <= 1 && used == 2 * date->parts - 1;
}

/* Does every part of `a` stand in `b`, each in a place of its own? Of a year the
 * last two digits will do. */
static bool holds_parts(const struct date *a, const struct date *b)
{
	bool used[3] = { false };
	for (size_t i = 0; i < a->parts; i++) {
		size_t k = 0;
		while (k < b->parts && (used[k] || (a->number[i] != b->number[k] && a->number[i] != b->number[k] % 100 &&
		                                    a->number[i] % 100 != b->number[k])))
			k++;
		if (k == b->parts)
			return false;
		used[k] = true;
	}
	return true;
}

bool numbers_became_date(const char *right, const char *seen)
{
	struct date a, b;
	if (!read_date(right, &a) || !read_date(seen, &b) || strcmp(a.shape, b.shape) == 0)
		return false;
	return a.parts <= b.parts ? holds_parts(&a, &b) : holds_parts(&b, &a);
}
