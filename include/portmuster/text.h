/* text.h - building short texts without stdio or locale, and making text from
 * outside safe to show.
 *
 * A pm_text either fills a caller's array (and truncates, marking `cut`) or
 * grows in an arena. `data` is terminated after every call. Once something did
 * not fit, nothing more is added: a text has no gap in its middle.
 */
#ifndef PORTMUSTER_TEXT_H
#define PORTMUSTER_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "portmuster/arena.h"

struct pm_text {
	char *data;
	size_t length;
	size_t room;             /* bytes at `data`, terminator included */
	struct pm_arena *arena;  /* null: `data` is the caller's array */
	bool cut;                /* something did not fit */
};

/* Write into the caller's array of `room` bytes (at least 1). */
void pm_text_fixed(struct pm_text *text, char *array, size_t room);

/* Grow in `arena`; the text lives as long as the arena does. When memory runs
 * out the text stays as it was, and both `cut` and the arena's `failed` are set. */
void pm_text_grow(struct pm_text *text, struct pm_arena *arena);

void pm_text_put(struct pm_text *text, const char *bytes, size_t length);
void pm_text_str(struct pm_text *text, const char *string);   /* null adds nothing */
void pm_text_char(struct pm_text *text, char character);

/* A subset of printf, independent of locale: %s %c %d %u %zu %ld %lu %lld
 * %llu %x %X %%, each with an optional width, numbers also with the 0 flag. Nothing else. */
void pm_text_add(struct pm_text *text, const char *format, ...)
	__attribute__((format(printf, 2, 3)));
void pm_text_addv(struct pm_text *text, const char *format, va_list args);

/* Add text from outside so that it can be shown: control characters (C0, DEL,
 * C1), bidirectional and other invisible format controls, and bytes that are
 * not UTF-8 become \xNN or \u{N}; everything else is copied. */
void pm_text_visible(struct pm_text *text, const char *bytes, size_t length);

/* As pm_text_visible between double quotes, at most 60 characters, the rest
 * as "...". A null `string` gives `nothing`. */
void pm_text_quote(struct pm_text *text, const char *string);

/* Add one field of a comma-separated record, in double quotes when it holds a
 * comma, a quote or a line break (RFC 4180 section 2). What a spreadsheet would
 * run is the caller's to see to: pm_cell_runs. */
void pm_text_csv(struct pm_text *text, const char *field);

/* pm_text_add into an arena, as a string; null when memory ran out. */
char *pm_say(struct pm_arena *arena, const char *format, ...)
	__attribute__((format(printf, 2, 3)));
/* pm_text_quote into an arena; null when memory ran out. */
char *pm_quoted(struct pm_arena *arena, const char *string);

/* Decode one UTF-8 character at `bytes` (length > 0): returns how many bytes
 * it takes and stores the code point; an invalid sequence takes 1 byte and
 * stores UINT32_MAX. Overlong forms and surrogates are invalid (RFC 3629). */
size_t pm_utf8_next(const char *bytes, size_t length, uint32_t *point);

/* Encode `point` into `out` (4 bytes of room); returns the bytes used, 0 when
 * the point is not a Unicode scalar value. */
size_t pm_utf8_put(uint32_t point, char out[static 4]);

/* Locale-free character classes, ASCII only. */
static inline bool pm_is_digit(int c) { return c >= '0' && c <= '9'; }
static inline bool pm_is_upper(int c) { return c >= 'A' && c <= 'Z'; }
static inline bool pm_is_lower(int c) { return c >= 'a' && c <= 'z'; }
static inline bool pm_is_alpha(int c) { return pm_is_upper(c) || pm_is_lower(c); }
static inline bool pm_is_alnum(int c) { return pm_is_alpha(c) || pm_is_digit(c); }
static inline bool pm_is_blank(int c) { return c == ' ' || c == '\t'; }
static inline int pm_lower(int c) { return pm_is_upper(c) ? c + 32 : c; }
static inline int pm_upper(int c) { return pm_is_lower(c) ? c - 32 : c; }

/* The value of a hex digit of either case, or -1. */
static inline int pm_hex_value(int c)
{
	if (pm_is_digit(c)) return c - '0';
	c = pm_lower(c);
	return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/* Equality and equality without regard to ASCII case; null equals only null. */
bool pm_same(const char *a, const char *b);
bool pm_same_nocase(const char *a, const char *b);

/* Read an unsigned decimal number that fills the whole string and is at most
 * `most`; false (and `*value` unchanged) for anything else. */
bool pm_read_number(const char *string, uint64_t most, uint64_t *value);

/* Read a decimal fraction such as "-3.25" that fills the whole string, at most
 * 9 digits before and 6 after the point, as millionths; false for anything
 * else. "1e3", "+1", ".5", "5." and "0x1" are not accepted. */
bool pm_read_decimal(const char *string, int64_t *millionths);

#endif
