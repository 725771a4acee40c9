#include "store/utf8_scan.h"

#include <string.h>

#include "portmuster/text.h"

#define EVERY 64u

enum verdict { FIT, NOT_UTF8, CONTROL, DISPUTED, LATE_MARK };

static enum verdict judge(uint32_t point)
{
	if (point == UINT32_MAX)
		return NOT_UTF8;
	if (point == '\t' || point == '\n' || point == '\r' || (point >= 0x20 && point <= 0x7E))
		return FIT;
	if (point == 0x85 || point == 0x2028 || point == 0x2029)
		return DISPUTED;
	if (point < 0xA0 || point == 0xFFFE || point == 0xFFFF)
		return CONTROL;
	return point == 0xFEFF ? LATE_MARK : FIT;
}

static bool refuse(struct pm_fault *fault, struct pm_place place, enum verdict verdict,
                   uint32_t point, unsigned char byte)
{
	switch (verdict) {
	case FIT:
		return true;
	case NOT_UTF8:
		pm_fail(fault, PM_FAULT_SYNTAX, place, "byte %02X does not belong to UTF-8 text", (unsigned)byte);
		return pm_fail_remedy(fault, "save the file as UTF-8");
	case CONTROL:
		pm_fail(fault, PM_FAULT_SYNTAX, place, "control character U+%04X", (unsigned)point);
		return pm_fail_remedy(fault, "take it out");
	case DISPUTED:
		pm_fail(fault, PM_FAULT_SYNTAX, place, "character U+%04X, which only some YAML readers take for a line break",
		        (unsigned)point);
		return pm_fail_remedy(fault, "take it out, or write \\u%04X between double quotes", (unsigned)point);
	case LATE_MARK:
		pm_fail(fault, PM_FAULT_SYNTAX, place, "byte order mark U+FEFF inside the text");
		return pm_fail_remedy(fault, "take it out");
	}
	return false;
}

static bool plain_byte(unsigned char byte)
{
	return (byte >= 0x20 && byte <= 0x7E) || byte == '\n' || byte == '\t';
}

/* Is it all printable ASCII, tabs and line feeds? Most files are, and that
 * is quickly told. */
static bool plain(const char *bytes, size_t length)
{
	/* eight bytes at a time: the high bit set where a byte is below a blank or
	 * above 0x7E; only words with such a byte are looked at closely */
	const uint64_t ones = 0x0101010101010101u, high = ones * 0x80;
	size_t at = 0;
	for (; at + 8 <= length; at += 8) {
		uint64_t word;
		memcpy(&word, bytes + at, 8);
		if (((word - ones * 0x20) | (word + ones) | word) & high) {
			for (size_t i = at; i < at + 8; i++)
				if (!plain_byte((unsigned char)bytes[i]))
					return false;
		}
	}
	for (; at < length; at++)
		if (!plain_byte((unsigned char)bytes[at]))
			return false;
	return true;
}

bool store_scan_text(struct store_scan *scan, const char *bytes, size_t length, const char *file,
                     struct pm_arena *arena, struct pm_fault *fault)
{
	*scan = (struct store_scan){ 0 };
	if (length >= 3 && !memcmp(bytes, "\xEF\xBB\xBF", 3))
		scan->skipped = 3;
	scan->text = bytes + scan->skipped;
	scan->length = length - scan->skipped;
	if (plain(scan->text, scan->length)) {
		scan->characters = scan->length;
		scan->plain = !scan->skipped;
		return true;
	}
	struct pm_place place = { file, 1, 1 };
	scan->every = pm_arena_array(arena, scan->length / EVERY + 1, sizeof *scan->every);
	if (!scan->every)
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ file, 0, 0 }, "out of memory");
	for (size_t at = 0; at < scan->length; scan->characters++) {
		if (scan->characters % EVERY == 0)
			scan->every[scan->characters / EVERY] = (uint32_t)at;
		uint32_t point = (unsigned char)scan->text[at];
		size_t wide = 1;
		if (point >= 0x80)
			wide = pm_utf8_next(scan->text + at, scan->length - at, &point);
		enum verdict verdict = judge(point);
		if (verdict != FIT)
			return refuse(fault, place, verdict, point, (unsigned char)scan->text[at]);
		at += wide;
		bool pair = point == '\r' && at < scan->length && scan->text[at] == '\n';
		if ((point == '\n' || point == '\r') && !pair) {
			place.line++;
			place.column = 1;
		} else {
			place.column++;
		}
	}
	if (scan->characters == scan->length)
		scan->every = NULL;
	return true;
}

size_t store_scan_offset(const struct store_scan *scan, size_t character)
{
	if (character >= scan->characters)
		return scan->skipped + scan->length;
	if (!scan->every)
		return scan->skipped + character;
	size_t at = scan->every[character / EVERY];
	for (size_t left = character % EVERY; left; left--) {
		at++;
		while (at < scan->length && ((unsigned char)scan->text[at] & 0xC0) == 0x80)
			at++;
	}
	return scan->skipped + at;
}
