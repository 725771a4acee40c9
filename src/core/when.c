#include "portmuster/when.h"

#include <string.h>

#include "portmuster/text.h"

#include "core/when_parts.h"

/* Days since 1970-01-01 of a date of the proleptic Gregorian calendar: counts
 * in years that begin in March, so that the leap day comes last. */
int64_t when_days(int64_t year, unsigned month, unsigned day)
{
	if (month <= 2) {
		year--;
		month += 12;
	}
	/* four centuries on, so that January of year 0 still divides downwards */
	year += 400;
	int64_t year_days = year * 365 + year / 4 - year / 100 + year / 400 - 146097;
	return year_days + (153 * (month - 3) + 2) / 5 + day - 1 - 719468;
}

void when_date(int64_t days, int64_t *year, unsigned *month, unsigned *day)
{
	days += 719468;
	int64_t era = (days >= 0 ? days : days - 146096) / 146097;
	int64_t in_era = days - era * 146097;
	int64_t y = (in_era - in_era / 1460 + in_era / 36524 - in_era / 146096) / 365;
	int64_t in_year = in_era - (365 * y + y / 4 - y / 100);
	unsigned m = (unsigned)((5 * in_year + 2) / 153);
	*day = (unsigned)(in_year - (153 * m + 2) / 5 + 1);
	*month = m < 10 ? m + 3 : m - 9;
	*year = y + era * 400 + (*month <= 2);
}

unsigned when_days_in(int64_t year, unsigned month)
{
	static const unsigned char days[] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
	bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
	return days[month - 1] + (month == 2 && leap);
}

/* Exactly `count` digits, advancing `*at`. */
static bool digits(const char **at, unsigned count, unsigned *value)
{
	*value = 0;
	for (; count; count--, (*at)++) {
		if (!pm_is_digit(**at))
			return false;
		*value = *value * 10 + (unsigned)(**at - '0');
	}
	return true;
}

static bool literal(const char **at, char wanted)
{
	if (pm_lower(**at) != pm_lower(wanted))
		return false;
	(*at)++;
	return true;
}

static bool say(const char **why, const char *reason)
{
	if (why)
		*why = reason;
	return false;
}

static bool read_offset(const char **at, struct pm_when *when, const char **why)
{
	when->offset = 0;
	when->offset_unknown = false;
	if (literal(at, 'z'))
		return true;
	bool west = **at == '-';
	unsigned hours, minutes;
	if (**at != '+' && !west)
		return say(why, "no offset at the end (Z, or one like +01:00)");
	(*at)++;
	if (!digits(at, 2, &hours) || !literal(at, ':') || !digits(at, 2, &minutes))
		return say(why, "an offset looks like +01:00");
	if (hours > 23 || minutes > 59)
		return say(why, "an offset beyond 23:59");
	when->offset = (int32_t)(hours * 60 + minutes) * (west ? -1 : 1);
	when->offset_unknown = west && when->offset == 0;
	return true;
}

static bool read_at(const char **at, struct pm_when *when, const char **why)
{
	unsigned year, month, day, hour, minute, second;
	struct pm_when result = { .known = true };
	if (!digits(at, 4, &year) || !literal(at, '-') || !digits(at, 2, &month) ||
	    !literal(at, '-') || !digits(at, 2, &day))
		return say(why, "a date looks like 2026-03-02");
	if (!literal(at, 'T') && !literal(at, ' '))
		return say(why, "a T belongs between date and time");
	if (!digits(at, 2, &hour) || !literal(at, ':') || !digits(at, 2, &minute) ||
	    !literal(at, ':') || !digits(at, 2, &second))
		return say(why, "a time looks like 09:30:00");
	if (**at == '.') {
		(*at)++;
		if (!pm_is_digit(**at))
			return say(why, "a fraction without digits");
		while (pm_is_digit(**at))
			(*at)++;
	}
	if (!read_offset(at, &result, why))
		return false;
	if (month < 1 || month > 12)
		return say(why, "no such month");
	if (day < 1 || day > when_days_in(year, month))
		return say(why, "no such day in that month");
	if (hour > 23 || minute > 59 || second > 60)
		return say(why, "no such time of day");
	result.second = when_days(year, month, day) * 86400 +
	                (int64_t)hour * 3600 + (int64_t)minute * 60 + second - (int64_t)result.offset * 60;
	if (second == 60) {
		/* already counted as the second after: midnight UTC of 1 January or July */
		int64_t y;
		unsigned m, d;
		when_date(result.second / 86400, &y, &m, &d);
		if (result.second % 86400 != 0 || d != 1 || (m != 1 && m != 7))
			return say(why, "second 60 where no leap second can stand");
	}
	*when = result;
	return true;
}

bool pm_when_read(const char *string, struct pm_when *when, const char **why)
{
	struct pm_when found;
	const char *at = string;
	if (!string || !*string)
		return say(why, "nothing there");
	if (!read_at(&at, &found, why))
		return false;
	if (*at)
		return say(why, "something after the time");
	*when = found;
	return true;
}

const char *pm_when_write(struct pm_when when, char out[static PM_WHEN_TEXT])
{
	struct pm_text text;
	pm_text_fixed(&text, out, PM_WHEN_TEXT);
	int64_t local = when.second + (int64_t)when.offset * 60;
	int64_t days = when_day_of(local), rest = local - days * 86400, year;
	unsigned month, day;
	when_date(days, &year, &month, &day);
	if (!when.known || year < 0 || year > 9999) {
		pm_text_char(&text, '-');
		return out;
	}
	pm_text_add(&text, "%04d-%02u-%02uT%02d:%02d:%02d", (int)year, month, day,
	            (int)(rest / 3600), (int)(rest / 60 % 60), (int)(rest % 60));
	unsigned offset = (unsigned)(when.offset < 0 ? -when.offset : when.offset);
	if (offset == 0 && !when.offset_unknown)
		pm_text_char(&text, 'Z');
	else
		pm_text_add(&text, "%c%02u:%02u", when.offset < 0 || when.offset_unknown ? '-' : '+',
		            offset / 60, offset % 60);
	return out;
}

struct pm_when pm_when_utc(int64_t second)
{
	return (struct pm_when){ .second = second, .known = true };
}

const char *pm_when_span(int64_t seconds, char out[static PM_WHEN_TEXT])
{
	struct pm_text text;
	pm_text_fixed(&text, out, PM_WHEN_TEXT);
	uint64_t left = seconds < 0 ? -(uint64_t)seconds : (uint64_t)seconds;
	if (left < 60)
		pm_text_add(&text, "%llu s", (unsigned long long)left);
	else if (left < 3600)
		pm_text_add(&text, "%llu min %02llu s", (unsigned long long)(left / 60), (unsigned long long)(left % 60));
	else if (left < 86400)
		pm_text_add(&text, "%llu h %02llu min", (unsigned long long)(left / 3600), (unsigned long long)(left / 60 % 60));
	else
		pm_text_add(&text, "%llu d %llu h", (unsigned long long)(left / 86400), (unsigned long long)(left / 3600 % 24));
	return out;
}

bool pm_day_read(const char *string, int64_t *day, const char **why)
{
	char whole[32];
	struct pm_text text;
	struct pm_when when;
	if (!string || !*string)
		return say(why, "nothing there");
	if (strlen(string) != 10)
		return say(why, "a date looks like 2026-03-02");
	pm_text_fixed(&text, whole, sizeof whole);
	pm_text_add(&text, "%sT00:00:00Z", string);
	if (!pm_when_read(whole, &when, why))
		return false;
	*day = when_day_of(when.second);
	return true;
}

const char *pm_day_write(int64_t day, char out[static PM_WHEN_TEXT])
{
	bool far = day > INT64_MAX / 86400 || day < INT64_MIN / 86400;
	pm_when_write(pm_when_utc(far ? INT64_MAX : day * 86400), out);
	if (out[0] != '-')
		out[10] = '\0';
	return out;
}

bool pm_window_read(const char *string, struct pm_when *from, struct pm_when *until, const char **why)
{
	const char *at = string;
	struct pm_when a, b;
	if (!string || !*string)
		return say(why, "nothing there");
	if (!read_at(&at, &a, why))
		return false;
	if (*at != '/')
		return say(why, "a window is two times joined by /");
	at++;
	if (!read_at(&at, &b, why))
		return false;
	if (*at)
		return say(why, "something after the window's end");
	if (b.second <= a.second)
		return say(why, "the window ends before it starts");
	*from = a;
	*until = b;
	return true;
}
