/* A walk of the IF-MIB (RFC 2863) as text, a line a value: OID = TYPE: VALUE, as
 * net-snmp 5.9.3 prints it, with names or numbers in the OID.
 *
 * The columns are joined on the interface's index when the text is over, since
 * their lines may stand in any order.
 */
#include <stdlib.h>
#include <string.h>

#include "capture/names.h"
#include "capture/open_parts.h"
#include "portmuster/text.h"

#define LINE_MOST 1024
#define VALUE_MOST 256
#define LINES_MOST 16            /* that a text may go on for */
#define OCTETS 6
#define ROWS_MOST 65536          /* four columns of 16384 interfaces */
#define INDEX_MOST 2147483647u   /* InterfaceIndex, RFC 2863 */

enum value_of { COLUMN_NAME, COLUMN_DESCR, COLUMN_TYPE, COLUMN_ADDRESS, COLUMNS };

/* ifTable is 1.3.6.1.2.1.2.2, ifXTable 1.3.6.1.2.1.31.1.1. */
static const struct { const char *name, *number; } columns[COLUMNS] = {
	[COLUMN_NAME] = { "ifName", "1.3.6.1.2.1.31.1.1.1.1" },
	[COLUMN_DESCR] = { "ifDescr", "1.3.6.1.2.1.2.2.1.2" },
	[COLUMN_TYPE] = { "ifType", "1.3.6.1.2.1.2.2.1.3" },
	[COLUMN_ADDRESS] = { "ifPhysAddress", "1.3.6.1.2.1.2.2.1.6" },
};

struct row_kept {
	uint32_t index;
	enum value_of column;
	size_t order;
	struct open_place place;
	const char *text;
	size_t length;
};

struct walk {
	struct listing *listing;
	struct collect collect;
	struct pm_arena own;
	struct open_place place, begun;     /* of the next byte; of the line */
	char line[LINE_MOST];
	size_t length;
	bool cut, any, complained;          /* the line was longer; a line of a walk was seen */
	unsigned described;                 /* lines that sysDescr may still take */
	struct row_kept *row;
	size_t rows, room;
	bool full;

	/* A value that may go on in the next line: octets in hex, or between quotes. */
	enum { WHOLE, HEX, QUOTED } pending;
	uint32_t index;
	enum value_of column;
	char value[VALUE_MOST];
	size_t value_length;
	struct open_place value_place;
};

/* --- the OID ---------------------------------------------------------------------------- */

static bool read_index(struct open_text text, uint32_t *index)
{
	uint64_t value = 0;
	if (text.length == 0 || text.length > 10) return false;
	for (size_t i = 0; i < text.length; i++) {
		if (!pm_is_digit(text.at[i])) return false;
		value = value * 10 + (uint64_t)(text.at[i] - '0');
	}
	*index = (uint32_t)value;
	return value > 0 && value <= INDEX_MOST;
}

/* The parts of an OID, from its end: 1 is the last. */
static struct open_text after_dot(struct open_text text)
{
	size_t from = text.length;
	while (from && text.at[from - 1] != '.') from--;
	return (struct open_text){ text.at + from, text.length - from };
}

static bool same_number(struct open_text oid, const char *number)
{
	static const struct { const char *head, *stands_for; } heads[] = {
		{ ".1.", "1." }, { "1.", "1." }, { "iso.", "1." }, { ".iso.", "1." },
		{ "SNMPv2-SMI::mib-2.", "1.3.6.1.2.1." }, { "mib-2.", "1.3.6.1.2.1." },
	};
	for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++) {
		size_t head = strlen(heads[i].head), skip = strlen(heads[i].stands_for);
		if (!open_begins(oid, heads[i].head) || strncmp(number, heads[i].stands_for, skip) != 0) continue;
		if (open_is((struct open_text){ oid.at + head, oid.length - head }, number + skip)) return true;
	}
	return false;
}

/* "IF-MIB::ifPhysAddress.4", "ifPhysAddress.4", "...ifEntry.ifPhysAddress.4",
 * "iso.3.6.1.2.1.2.2.1.6.4", ".1.3.6.1.2.1.2.2.1.6.4" */
static bool read_oid(struct open_text oid, enum value_of *column, uint32_t *index)
{
	struct open_text last = after_dot(oid);
	if (last.length + 1 >= oid.length || !read_index(last, index)) return false;
	oid.length -= last.length + 1;
	struct open_text name = after_dot(oid);
	const char *colon = open_holds(name, "::") ? strstr(name.at, "::") : NULL;
	if (colon) name = (struct open_text){ colon + 2, name.length - (size_t)(colon + 2 - name.at) };
	for (size_t i = 0; i < COLUMNS; i++) {
		if (!open_is(name, columns[i].name) && !same_number(oid, columns[i].number)) continue;
		*column = (enum value_of)i;
		return true;
	}
	return false;
}

/* Does an OID of whatever object stand here? */
static bool is_oid(struct open_text oid)
{
	static const char *const head[] = { ".1.3.6.1.", "1.3.6.1.", "iso.3.6.1.", ".iso.", "SNMPv2-SMI::", "mib-2." };
	uint32_t index;
	enum value_of column;
	struct open_text last = after_dot(oid);
	if (last.length == 0 || last.length == oid.length) return false;
	for (size_t i = 0; i < last.length; i++)
		if (!pm_is_digit(last.at[i])) return false;
	for (size_t i = 0; i < sizeof head / sizeof head[0]; i++)
		if (open_begins(oid, head[i])) return true;
	if (read_oid(oid, &column, &index)) return true;
	/* SNMPv2-MIB::sysDescr.0, IF-MIB::ifMtu.1, ifMtu.1 */
	size_t n = 0;
	while (n < oid.length && (pm_is_alnum(oid.at[n]) || oid.at[n] == '-')) n++;
	bool module = n > 4 && n + 2 < oid.length && memcmp(oid.at + n - 4, "-MIB::", 6) == 0;
	return module || (open_begins(oid, "if") && oid.length > 2 && pm_is_upper(oid.at[2]) && n < oid.length && oid.at[n] == '.');
}

/* --- rows kept --------------------------------------------------------------------------- */

/* `closed`: a quoted value has its second quote. */
static void keep(struct walk *w, bool closed)
{
	struct pm_eui48 address;
	char hyphens[PM_EUI48_TEXT];
	struct open_text value = { w->value, w->value_length };
	char name[VALUE_MOST];
	if (w->pending == QUOTED && !closed && w->column == COLUMN_ADDRESS) {
		collect_problem(&w->collect, w->value_place.line, w->value_place.column, "a quote is missing behind the address",
		                value.at, value.length);
		w->pending = WHOLE;
		return;
	}
	if (w->pending == QUOTED && w->column == COLUMN_ADDRESS && value.length == 6) {
		/* Six octets that happen to be printable. */
		for (size_t i = 0; i < 6; i++) address.octet[i] = (uint8_t)value.at[i];
		value = (struct open_text){ pm_eui48_text(&address, hyphens), PM_EUI48_TEXT - 1 };
	} else if (w->pending == HEX && w->column != COLUMN_ADDRESS) {
		/* A name with a NUL or the like in it. */
		size_t length = 0;
		for (size_t i = 0; i + 1 < value.length; i++) {
			int high = pm_hex_value(value.at[i]), low = pm_hex_value(value.at[i + 1]);
			if (high < 0 || low < 0) continue;
			name[length++] = (char)(high * 16 + low);
			i++;
		}
		while (length && name[length - 1] == '\0') length--;
		value = (struct open_text){ name, length };
	}
	w->pending = WHOLE;
	if (w->full) return;
	if (w->rows == ROWS_MOST) {
		w->full = true;
		collect_problem(&w->collect, w->value_place.line, w->value_place.column, "more interfaces than are read", "", 0);
		return;
	}
	struct row_kept *row = pm_arena_push(&w->own, (void **)&w->row, &w->rows, &w->room, sizeof *row);
	const char *text = pm_arena_copy(&w->own, value.at, value.length);
	if (row && text) *row = (struct row_kept){ w->index, w->column, w->rows, w->value_place, text, value.length };
	else w->collect.failed = true;
}

static void add(struct walk *w, const char *text, size_t length)
{
	size_t room = VALUE_MOST - w->value_length;
	if (length > room) length = room;
	if (length) memcpy(w->value + w->value_length, text, length);
	w->value_length += length;
}

/* Up to the closing quote; false when it is not in this line. */
static bool add_quoted(struct walk *w, struct open_text text)
{
	for (size_t i = 0; i < text.length; i++) {
		if (text.at[i] == '"') return true;
		if (text.at[i] == '\\' && i + 1 < text.length) i++;
		add(w, text.at + i, 1);
	}
	return false;
}

/* --- a line --------------------------------------------------------------------------------- */

static bool all_hex(struct open_text text)
{
	for (size_t i = 0; i < text.length; i++)
		if (pm_hex_value(text.at[i]) < 0 && text.at[i] != ' ') return false;
	return text.length > 0;
}

/* Values that say that there is none. */
static bool is_nothing(struct open_text value)
{
	return value.length == 0 || open_begins(value, "No Such ") || open_begins(value, "No more variables") || open_is(value, "NULL");
}

static void read_value(struct walk *w, struct open_text value)
{
	w->value_length = 0;
	w->pending = WHOLE;
	w->value_place = w->begun;
	if (open_begins(value, "Hex-STRING:")) w->pending = HEX;
	static const char *const type[] = { "STRING:", "Hex-STRING:", "INTEGER:" };
	for (size_t i = 0; i < sizeof type / sizeof type[0]; i++) {
		if (!open_begins(value, type[i])) continue;
		value.at += strlen(type[i]), value.length -= strlen(type[i]);
		break;
	}
	struct open_text trimmed = open_trim(value);
	bool quoted = trimmed.length && trimmed.at[0] == '"';
	for (const char *c = w->line; c < trimmed.at + quoted; c++) open_advance(&w->value_place, *c);
	if (quoted) {
		w->pending = QUOTED;
		if (add_quoted(w, (struct open_text){ trimmed.at + 1, value.length - (size_t)(trimmed.at + 1 - value.at) })) keep(w, true);
		return;
	}
	if (is_nothing(trimmed)) {
		w->pending = WHOLE;
		return;
	}
	add(w, trimmed.at, trimmed.length);
	if (w->pending == WHOLE) keep(w, true);
}

/* May the last line have lost something that nobody sees? An octet may be of one
 * digit, and a name of any length. */
static bool may_lack(enum value_of column, struct open_text value)
{
	if (value.length && value.at[value.length - 1] == '"') return false;
	switch (column) {
	case COLUMN_NAME: case COLUMN_DESCR: return true;
	case COLUMN_ADDRESS: return value.length > 1 && value.at[value.length - 2] == ':';
	case COLUMN_TYPE: case COLUMNS: break;
	}
	return false;
}

static struct open_text first_word(struct open_text line)
{
	size_t n = 0;
	while (n < line.length && !pm_is_blank(line.at[n])) n++;
	return (struct open_text){ line.at, n };
}

static struct open_text without_return(struct open_text line)
{
	if (line.length && line.at[line.length - 1] == '\r') line.length--;
	return line;
}

/* May a line that is none of a walk go on with the value before it? The text
 * that describes a unit often takes several lines. */
static bool goes_on(const struct walk *w, struct open_text line)
{
	if (open_trim(line).length == 0) return true;
	if (w->described && !line_is_prompt(line.at, line.length) && !open_tells(line)) return true;
	switch (w->pending) {
	case WHOLE: break;
	case HEX: return all_hex(open_trim(line));
	case QUOTED:
		/* each octet may have a backslash; the line break is one, and the quote comes */
		if (w->column == COLUMN_ADDRESS) return w->value_length < OCTETS && line.length <= 2 * (OCTETS - 1 - w->value_length) + 1;
		return open_holds(line, "\"");
	}
	return false;
}

static bool owns(void *state, const char *text, size_t length)
{
	struct open_text line = without_return((struct open_text){ text, length });
	return is_oid(first_word(line)) || goes_on(state, line);
}

static bool is_description(struct open_text oid)
{
	static const char name[] = "sysDescr.0", number[] = ".1.1.1.0";
	size_t n = oid.length;
	return (n >= sizeof name - 1 && memcmp(oid.at + n - (sizeof name - 1), name, sizeof name - 1) == 0)
		|| (n >= sizeof number - 1 && memcmp(oid.at + n - (sizeof number - 1), number, sizeof number - 1) == 0);
}

/* True when the line was too long, which is said. */
static bool is_cut(struct walk *w)
{
	if (w->cut)
		collect_problem(&w->collect, w->begun.line, LINE_MOST + 1, "the line is too long and was cut", "", 0);
	if (w->cut) w->pending = WHOLE;
	return w->cut;
}

static void outside(struct walk *w, struct open_text line)
{
	if (!w->any || w->complained || open_line_idle(line)) return;
	w->complained = true;
	collect_problem(&w->collect, w->begun.line, 1, "text outside of the listing", line.at, line.length);
}

static void read_line(struct walk *w, bool ended)
{
	struct open_text line = without_return((struct open_text){ w->line, w->length });
	if (w->begun.line == 1 && open_begins(line, "\xEF\xBB\xBF")) line.at += 3, line.length -= 3;
	struct open_text oid = first_word(line), value = { line.at + oid.length, line.length - oid.length };
	bool walked = is_oid(oid), more = !walked && goes_on(w, line);
	if (w->described) w->described--;
	if (w->pending != WHOLE && more) {
		if (is_cut(w)) return;
		if (w->pending == HEX && open_trim(line).length) {
			add(w, " ", 1);
			add(w, open_trim(line).at, open_trim(line).length);
		} else if (w->pending == HEX) {
			keep(w, true);
		} else {
			add(w, "\n", 1);
			if (add_quoted(w, line)) keep(w, true);
		}
		return;
	}
	if (w->pending != WHOLE) keep(w, w->pending == HEX);
	if (!walked) {
		if (!ended && !open_line_idle(line))
			collect_problem(&w->collect, w->begun.line, 1, "the text ends in the middle of a line", line.at, line.length);
		else if (!more) outside(w, line);
		return;
	}
	w->any = true;
	w->described = is_description(oid) ? LINES_MOST : 0;
	if (!read_oid(oid, &w->column, &w->index) || is_cut(w)) return;
	while (value.length && pm_is_blank(value.at[0])) value.at++, value.length--;
	if (open_begins(value, "=")) {
		value.at++, value.length--;
		while (value.length && pm_is_blank(value.at[0])) value.at++, value.length--;
	}
	if (!ended && may_lack(w->column, value)) {
		collect_problem(&w->collect, w->place.line, w->place.column,
		                "the text ends here without a line end, and something may be missing", value.at, value.length);
		return;
	}
	read_value(w, value);
}

/* --- the columns joined ------------------------------------------------------------------------ */

static int compare_rows(const void *left, const void *right)
{
	const struct row_kept *a = left, *b = right;
	if (a->index != b->index) return a->index < b->index ? -1 : 1;
	return a->order < b->order ? -1 : a->order > b->order;
}

/* The first value of a column; another one is a problem, as two units' walks
 * may have been put together. */
static struct open_text column_of(struct walk *w, const struct row_kept *row, size_t count, enum value_of column)
{
	const struct row_kept *first = NULL;
	for (size_t i = 0; i < count; i++) {
		if (row[i].column != column) continue;
		if (!first) first = &row[i];
		else if (first->length != row[i].length || memcmp(first->text, row[i].text, first->length) != 0) {
			const char *reason = pm_say(w->collect.arena, "another %s of index %u than on line %u",
			                            columns[column].name, first->index, first->place.line);
			collect_problem(&w->collect, row[i].place.line, row[i].place.column, reason, row[i].text, row[i].length);
		}
	}
	return first ? (struct open_text){ first->text, first->length } : (struct open_text){ "", 0 };
}

static void join(struct walk *w)
{
	if (w->rows) qsort(w->row, w->rows, sizeof *w->row, compare_rows);
	for (size_t i = 0, n; i < w->rows; i += n) {
		for (n = 1; i + n < w->rows && w->row[i + n].index == w->row[i].index;) n++;
		struct open_text names[] = {
			column_of(w, w->row + i, n, COLUMN_NAME), column_of(w, w->row + i, n, COLUMN_DESCR),
		};
		if (open_type_without(column_of(w, w->row + i, n, COLUMN_TYPE))) continue;
		for (size_t k = i; k < i + n; k++)
			if (w->row[k].column == COLUMN_ADDRESS)
				open_take(&w->collect, names, 2, (struct open_text){ w->row[k].text, w->row[k].length }, w->row[k].place, true);
	}
}

/* --- the reader -------------------------------------------------------------------------------- */

static bool recognise(const char *text, size_t length)
{
	size_t n = 0, next;
	while (n < length && !pm_is_blank(text[n]) && text[n] != '\n') n++;
	for (next = n; next < length && pm_is_blank(text[next]);) next++;
	return next + 1 < length && text[next] == '=' && pm_is_blank(text[next + 1]) && is_oid((struct open_text){ text, n });
}

static void *begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena)
{
	struct walk *w = calloc(1, sizeof *w);
	if (!w) return NULL;
	w->listing = listing;
	w->place = w->begun = (struct open_place){ 1, 1 };
	collect_init(&w->collect, listing, gear, arena);
	pm_arena_init(&w->own);
	return w;
}

static bool feed(void *state, const void *bytes, size_t length)
{
	struct walk *w = state;
	const char *at = bytes;
	for (size_t i = 0; i < length; i++) {
		if (at[i] == '\n') {
			read_line(w, true);
			w->length = 0;
			w->cut = false;
		} else if (w->length < LINE_MOST) {
			w->line[w->length++] = at[i];
		} else {
			w->cut = true;
		}
		open_advance(&w->place, at[i]);
		if (at[i] == '\n') w->begun = w->place;
	}
	return !w->collect.failed;
}

static bool end(void *state)
{
	struct walk *w = state;
	if (w->length) read_line(w, false);
	if (w->pending != WHOLE) keep(w, w->pending == HEX);
	if (!w->any) collect_problem(&w->collect, 1, 1, "no line of a walk", "", 0);
	join(w);
	w->listing->lines = open_lines(&w->place);
	bool good = !w->collect.failed;
	collect_free(&w->collect);
	pm_arena_free(&w->own);
	free(w);
	return good;
}

const struct source_reader open_ifmib = { recognise, begin, feed, end, owns };
