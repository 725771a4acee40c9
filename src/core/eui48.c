#include "portmuster/eui48.h"

#include <string.h>

#include "portmuster/slip.h"
#include "portmuster/text.h"

/* Reading goes in two passes: a scan into runs of hex digits and the
 * separators between them, then a match of the run lengths against the
 * notations. The scan finds wrong characters, the match wrong shapes. */

#define MOST_RUNS 8

struct scan {
	unsigned digits;              /* hex digits in all */
	unsigned runs;
	unsigned length[MOST_RUNS];   /* digits of each run */
	unsigned column[MOST_RUNS];   /* where it starts */
	uint8_t nibble[16];
	char separator;               /* '-', ':', '.', ' ' or 0 */
	unsigned end_column;          /* one past the last digit */
};

static bool fail(struct pm_eui48_fault *fault, enum pm_eui48_reason reason, unsigned column)
{
	if (fault)
		*fault = (struct pm_eui48_fault){ reason, column };
	return false;
}

/* A dash of typography stands for a hyphen. */
static char as_separator(uint32_t point)
{
	if ((point >= 0x2010 && point <= 0x2015) || point == 0x2212)
		return '-';
	if (point == ':' || point == '.' || point == '-')
		return (char)point;
	return 0;
}

static bool is_blank_point(uint32_t point)
{
	return point == ' ' || point == '\t' || point == 0xA0;
}

/* Letters outside A-F that a hand writes for a digit. */
static bool copied_for_digit(uint32_t point)
{
	return point < 0x80 && pm_is_alpha((int)point) && pm_hex_value((int)point) < 0 &&
	       strchr("OQILZSGTHJ", pm_upper((int)point)) != NULL;
}

static bool scan_text(const char *text, size_t length, struct scan *scan, struct pm_eui48_fault *fault)
{
	*scan = (struct scan){ 0 };
	unsigned column = 0, blanks_at = 0, separator_at = 0;
	bool in_run = false;
	char pending = 0;    /* separator seen since the last digit */
	while (length) {
		uint32_t point;
		size_t used = 1;
		if ((unsigned char)*text < 0x80)
			point = (unsigned char)*text;
		else
			used = pm_utf8_next(text, length, &point);
		text += used;
		length -= used;
		column++;
		int value = point < 0x80 ? pm_hex_value((int)point) : -1;
		char separator = value < 0 ? as_separator(point) : 0;
		if (value >= 0) {
			bool starts = !in_run || pending || blanks_at;
			if (starts && scan->runs && !pending)
				pending = ' ';
			if (starts && scan->runs) {
				if (scan->separator && scan->separator != pending)
					return fail(fault, PM_EUI48_MIXED, separator_at ? separator_at : blanks_at);
				scan->separator = pending;
			}
			if (starts) {
				if (scan->runs == MOST_RUNS)
					return fail(fault, PM_EUI48_LONG, column);
				scan->column[scan->runs++] = column;
			}
			if (scan->digits == sizeof scan->nibble)
				return fail(fault, PM_EUI48_LONG, column);
			scan->nibble[scan->digits++] = (uint8_t)value;
			scan->length[scan->runs - 1]++;
			scan->end_column = column + 1;
			in_run = true;
			pending = 0;
			blanks_at = separator_at = 0;
		} else if (separator) {
			if (!scan->runs || pending)
				return fail(fault, PM_EUI48_OCTET_EMPTY, column);
			pending = separator;
			separator_at = column;
		} else if (is_blank_point(point)) {
			if (scan->runs && !blanks_at)
				blanks_at = column;
		} else {
			return fail(fault, copied_for_digit(point) ? PM_EUI48_LOOK_ALIKE : PM_EUI48_NOT_HEX, column);
		}
	}
	if (!scan->runs)
		return pending ? fail(fault, PM_EUI48_OCTET_EMPTY, column) : fail(fault, PM_EUI48_EMPTY, 1);
	if (pending)
		return fail(fault, PM_EUI48_OCTET_EMPTY, separator_at + 1);
	return true;
}

static bool all_runs(const struct scan *scan, unsigned length)
{
	for (unsigned i = 0; i < scan->runs; i++)
		if (scan->length[i] != length)
			return false;
	return true;
}

static bool match_bare(const struct scan *scan, struct pm_eui48_fault *fault)
{
	if (scan->digits == 12)
		return true;
	if (scan->digits == 16)
		return fail(fault, PM_EUI48_EUI64, scan->column[0]);
	if (scan->digits < 12)
		return fail(fault, PM_EUI48_SHORT, scan->end_column);
	return fail(fault, PM_EUI48_LONG, scan->column[0] + 12);
}

/* Three groups of four: the dotted form, and nothing else. */
static bool match_fours(const struct scan *scan, struct pm_eui48_fault *fault)
{
	for (unsigned i = 0; i < scan->runs; i++) {
		if (scan->length[i] > 4)
			return fail(fault, PM_EUI48_OCTET_LONG, scan->column[i] + 4);
		if (scan->length[i] < 4)
			return fail(fault, PM_EUI48_UNEVEN, scan->column[i] + scan->length[i]);
	}
	if (scan->runs == 4)
		return fail(fault, PM_EUI48_EUI64, scan->column[0]);
	if (scan->runs > 3)
		return fail(fault, PM_EUI48_LONG, scan->column[3]);
	if (scan->runs < 3)
		return fail(fault, PM_EUI48_SHORT, scan->end_column);
	return true;
}

/* Is some octet written with its leading zero? Then leading zeros are not
 * dropped in this text, and a lone digit has lost its neighbour. */
static bool keeps_zeros(const struct scan *scan)
{
	unsigned from = 0;
	for (unsigned i = 0; i < scan->runs; from += scan->length[i++])
		if (scan->length[i] == 2 && scan->nibble[from] == 0)
			return true;
	return false;
}

static bool match_octets(const struct scan *scan, struct pm_eui48_fault *fault)
{
	bool whole = scan->separator != ':' || keeps_zeros(scan);
	for (unsigned i = 0; i < scan->runs; i++) {
		if (scan->length[i] > 2)
			return fail(fault, PM_EUI48_OCTET_LONG, scan->column[i] + 2);
		/* a dropped leading zero is usual with colons only, and then for all */
		if (scan->length[i] < 2 && whole)
			return fail(fault, PM_EUI48_SHORT, scan->column[i] + 1);
	}
	if (scan->runs == 8)
		return fail(fault, PM_EUI48_EUI64, scan->column[0]);
	if (scan->runs > 6)
		return fail(fault, PM_EUI48_LONG, scan->column[6]);
	if (scan->runs < 6)
		return fail(fault, PM_EUI48_SHORT, scan->end_column);
	return true;
}

static bool match(const struct scan *scan, enum pm_notation *notation, struct pm_eui48_fault *fault)
{
	if (scan->runs == 1) {
		*notation = PM_BARE;
		return match_bare(scan, fault);
	}
	/* blanks alone may also split a bare number in groups of any even size */
	if (scan->separator == ' ' && scan->digits == 12 && scan->runs < 6 &&
	    (all_runs(scan, 4) || all_runs(scan, 6))) {
		*notation = PM_BARE;
		return true;
	}
	if (scan->separator == '.' && scan->length[0] > 2) {
		*notation = PM_DOT_FOUR;
		return match_fours(scan, fault);
	}
	switch (scan->separator) {
	case '-': *notation = PM_HYPHEN; break;
	case ':': *notation = all_runs(scan, 2) ? PM_COLON : PM_COLON_SHORT; break;
	case '.': *notation = PM_DOT_TWO; break;
	default: *notation = PM_SPACED; break;
	}
	return match_octets(scan, fault);
}

/* The shapes with every digit in its place, read without a scan: the digits'
 * places and where one and the same separator stands between them. */
static const struct shape {
	size_t length;
	uint8_t digit[12];
	uint8_t separators;
	uint8_t separator[5];
} shapes[] = {
	{ 17, { 0, 1, 3, 4, 6, 7, 9, 10, 12, 13, 15, 16 }, 5, { 2, 5, 8, 11, 14 } },
	{ 14, { 0, 1, 2, 3, 5, 6, 7, 8, 10, 11, 12, 13 }, 2, { 4, 9 } },
	{ 12, { 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 }, 0, { 0 } },
};

#define N 0x80
static const uint8_t hex_value[128] = {
	N, N, N, N, N, N, N, N, N, N, N, N, N, N, N, N,
	N, N, N, N, N, N, N, N, N, N, N, N, N, N, N, N,
	N, N, N, N, N, N, N, N, N, N, N, N, N, N, N, N,
	0, 1, 2, 3, 4, 5, 6, 7, 8, 9, N, N, N, N, N, N,
	N, 10, 11, 12, 13, 14, 15, N, N, N, N, N, N, N, N, N,
	N, N, N, N, N, N, N, N, N, N, N, N, N, N, N, N,
	N, 10, 11, 12, 13, 14, 15, N, N, N, N, N, N, N, N, N,
	N, N, N, N, N, N, N, N, N, N, N, N, N, N, N, N,
};
#undef N

static bool read_shape(const char *text, size_t length, struct pm_eui48 *address, enum pm_notation *notation)
{
	const struct shape *shape = shapes;
	while (shape->length != length)
		if (++shape == shapes + sizeof shapes / sizeof *shapes)
			return false;
	char separator = shape->separators ? text[shape->separator[0]] : 0;
	for (unsigned i = 1; i < shape->separators; i++)
		if (text[shape->separator[i]] != separator)
			return false;
	if (length == 14 ? separator != '.' : separator && separator != '-' && separator != ':' && separator != '.')
		return false;
	struct pm_eui48 read;
	uint8_t odd = 0;
	for (unsigned i = 0; i < 6; i++) {
		unsigned char a = (unsigned char)text[shape->digit[2 * i]], b = (unsigned char)text[shape->digit[2 * i + 1]];
		uint8_t high = hex_value[a & 127], low = hex_value[b & 127];
		odd |= (uint8_t)((a | b | high | low) & 0x80);
		read.octet[i] = (uint8_t)(high << 4 | low);
	}
	if (odd)
		return false;
	*address = read;
	if (notation)
		*notation = length == 12 ? PM_BARE : length == 14 ? PM_DOT_FOUR : separator == '-' ? PM_HYPHEN
		          : separator == ':' ? PM_COLON : PM_DOT_TWO;
	return true;
}

bool pm_eui48_read(const char *text, size_t length, struct pm_eui48 *address,
                   enum pm_notation *notation, struct pm_eui48_fault *fault)
{
	struct scan scan;
	enum pm_notation found;
	if (read_shape(text, length, address, notation)) {
		if (fault)
			*fault = (struct pm_eui48_fault){ PM_EUI48_OK, 0 };
		return true;
	}
	if (!scan_text(text, length, &scan, fault) || !match(&scan, &found, fault))
		return false;
	unsigned from = 0;
	if (scan.digits == 12) {
		for (unsigned i = 0; i < 6; i++)
			address->octet[i] = (uint8_t)(scan.nibble[2 * i] << 4 | scan.nibble[2 * i + 1]);
	} else {
		for (unsigned i = 0; i < 6; i++) {
			uint8_t value = scan.nibble[from++];
			if (scan.length[i] == 2)
				value = (uint8_t)(value << 4 | scan.nibble[from++]);
			address->octet[i] = value;
		}
	}
	if (notation)
		*notation = found;
	if (fault)
		*fault = (struct pm_eui48_fault){ PM_EUI48_OK, 0 };
	return true;
}

bool pm_eui48_parse(const char *string, struct pm_eui48 *address)
{
	return string && pm_eui48_read(string, strlen(string), address, NULL, NULL);
}

const char *pm_eui48_reason_text(enum pm_eui48_reason reason)
{
	switch (reason) {
	case PM_EUI48_OK: return "a valid address";
	case PM_EUI48_EMPTY: return "nothing there";
	case PM_EUI48_NOT_HEX: return "not a hex digit (0-9, A-F)";
	case PM_EUI48_LOOK_ALIKE: return "a letter that is no hex digit but looks like one";
	case PM_EUI48_MIXED: return "separators of two kinds";
	case PM_EUI48_UNEVEN: return "a separator where no notation has one";
	case PM_EUI48_OCTET_LONG: return "too many digits between separators";
	case PM_EUI48_OCTET_EMPTY: return "a separator without a digit beside it";
	case PM_EUI48_SHORT: return "digits are missing: an address has 12";
	case PM_EUI48_LONG: return "too many digits: an address has 12";
	case PM_EUI48_EUI64: return "eight octets: an EUI-64, not an EUI-48";
	case PM_EUI48_REASONS: break;
	}
	return "not an address";
}

struct writing { char separator; unsigned every; bool drop_zero; };

static const struct writing writings[PM_NOTATIONS] = {
	[PM_HYPHEN] = { '-', 1, false },   [PM_COLON] = { ':', 1, false },
	[PM_COLON_SHORT] = { ':', 1, true }, [PM_DOT_FOUR] = { '.', 2, false },
	[PM_DOT_TWO] = { '.', 1, false },  [PM_BARE] = { 0, 6, false },
	[PM_SPACED] = { ' ', 1, false },
};

size_t pm_eui48_write(const struct pm_eui48 *address, enum pm_notation notation,
                      bool lower, char out[static PM_EUI48_TEXT])
{
	const char *digits = lower ? "0123456789abcdef" : "0123456789ABCDEF";
	struct writing form = writings[notation < PM_NOTATIONS ? notation : PM_HYPHEN];
	char *at = out;
	for (unsigned i = 0; i < 6; i++) {
		unsigned octet = address->octet[i];
		if (i && form.separator && i % form.every == 0)
			*at++ = form.separator;
		if (octet >> 4 || !form.drop_zero)
			*at++ = digits[octet >> 4];
		*at++ = digits[octet & 15];
	}
	*at = '\0';
	return (size_t)(at - out);
}

const char *pm_eui48_text(const struct pm_eui48 *address, char out[static PM_EUI48_TEXT])
{
	pm_eui48_write(address, PM_HYPHEN, false, out);
	return out;
}

static size_t add_near(struct pm_eui48 *near, size_t count, size_t room, struct pm_eui48 found)
{
	for (size_t i = 0; i < count; i++)
		if (pm_eui48_compare(&near[i], &found) == 0)
			return count;
	if (count < room)
		near[count++] = found;
	return count;
}

size_t pm_eui48_near(const char *text, size_t length, struct pm_eui48 *near, size_t room)
{
	/* what a letter outside the alphabet was probably meant to be */
	static const char meant[][3] = {
		{ 'O', '0', 'D' }, { 'Q', '0', 0 }, { 'I', '1', 0 }, { 'L', '1', 0 }, { 'Z', '2', 0 },
		{ 'S', '5', '8' }, { 'G', '6', 'C' }, { 'T', '7', 0 }, { 'H', '4', 0 }, { 'J', '1', 0 },
	};
	char copy[64];
	size_t count = 0;
	struct pm_eui48 found;
	if (length >= sizeof copy || pm_eui48_read(text, length, &found, NULL, NULL))
		return 0;
	/* first choice for every odd letter, then the second one */
	for (int choice = 1; choice <= 2; choice++) {
		bool changed = false;
		memcpy(copy, text, length);
		for (size_t i = 0; i < length; i++)
			for (size_t m = 0; m < sizeof meant / sizeof *meant; m++)
				if (pm_upper(copy[i]) == meant[m][0] && meant[m][choice]) {
					copy[i] = meant[m][choice];
					changed = true;
					break;
				}
		if (changed && pm_eui48_read(copy, length, &found, NULL, NULL))
			count = add_near(near, count, room, found);
	}
	/* one character too many: a doubled one first, then any */
	for (int doubled = 1; doubled >= 0 && length; doubled--)
		for (size_t i = 0; i < length; i++) {
			bool twin = i && pm_lower(text[i]) == pm_lower(text[i - 1]);
			if (twin != (doubled == 1))
				continue;
			memcpy(copy, text, i);
			memcpy(copy + i, text + i + 1, length - i - 1);
			if (pm_eui48_read(copy, length - 1, &found, NULL, NULL))
				count = add_near(near, count, room, found);
		}
	return count;
}

uint64_t pm_eui48_number(const struct pm_eui48 *address)
{
	uint64_t number = 0;
	for (unsigned i = 0; i < 6; i++)
		number = number << 8 | address->octet[i];
	return number;
}

struct pm_eui48 pm_eui48_from(uint64_t number)
{
	struct pm_eui48 address;
	for (unsigned i = 6; i--; number >>= 8)
		address.octet[i] = (uint8_t)number;
	return address;
}

int pm_eui48_compare(const struct pm_eui48 *a, const struct pm_eui48 *b)
{
	return memcmp(a->octet, b->octet, sizeof a->octet);
}

bool pm_eui48_is_group(const struct pm_eui48 *address)
{
	return address->octet[0] & 0x01;
}

bool pm_eui48_is_local(const struct pm_eui48 *address)
{
	return address->octet[0] & 0x02;
}

const char *pm_eui48_quadrant(const struct pm_eui48 *address)
{
	/* by Z then Y: bits 0x08 and 0x04 of the first octet */
	static const char *const quadrant[] = { "AAI", "reserved", "ELI", "SAI" };
	return pm_eui48_is_local(address) ? quadrant[address->octet[0] >> 2 & 3] : NULL;
}

void pm_eui48_modified_eui64(const struct pm_eui48 *address, uint8_t out[static 8])
{
	memcpy(out, address->octet, 3);
	out[3] = 0xFF;
	out[4] = 0xFE;
	memcpy(out + 5, address->octet + 3, 3);
	out[0] ^= 0x02;
}
