#include "capture/dialect.h"

#include <string.h>

#include "capture/reader.h"
#include "portmuster/text.h"

bool dialect_begin(struct dialect *dialect, const struct pm_gear *gear)
{
	dialect->any = dialect->current.active = false;
	for (size_t i = 0; i < DIALECT_LINES; i++) dialect->given[i] = false;
	if (!gear) return true;
	const struct pm_word words[DIALECT_LINES] = {
		[DIALECT_INTERFACE] = gear->console.interface_line,
		[DIALECT_ADDRESS] = gear->console.address_line,
		[DIALECT_SERIAL] = gear->console.serial_line,
	};
	for (size_t i = 0; i < DIALECT_LINES; i++) {
		if (!pm_given(words[i])) continue;
		int error = regcomp(&dialect->line[i], words[i].text, REG_EXTENDED);
		if (error == REG_ESPACE) {
			dialect_free(dialect);
			return false;
		}
		if (error) continue;
		dialect->given[i] = dialect->line[i].re_nsub > 0;
		if (!dialect->given[i]) regfree(&dialect->line[i]);
		dialect->any |= dialect->given[i];
	}
	return true;
}

void dialect_free(struct dialect *dialect)
{
	for (size_t i = 0; i < DIALECT_LINES; i++) {
		if (dialect->given[i]) regfree(&dialect->line[i]);
		dialect->given[i] = false;
	}
	dialect->any = false;
}

void dialect_prompt(struct dialect *dialect)
{
	dialect->current.active = false;
}

/* What the first group took, blanks around it left out; false when nothing. */
static bool match(const struct dialect *dialect, enum dialect_line line, const char *text, size_t *start, size_t *length)
{
	regmatch_t found[2];
	if (!dialect->given[line] || regexec(&dialect->line[line], text, 2, found, 0) != 0 || found[1].rm_so < 0) return false;
	size_t from = (size_t)found[1].rm_so, to = (size_t)found[1].rm_eo;
	while (from < to && pm_is_blank(text[from])) from++;
	while (to > from && pm_is_blank(text[to - 1])) to--;
	*start = from;
	*length = to - from;
	return to > from;
}

bool dialect_heads(const struct dialect *dialect, const char *text)
{
	size_t start, length;
	return match(dialect, DIALECT_INTERFACE, text, &start, &length);
}

/* "none" and "not set" try to be nothing. */
static bool tries(const char *text, size_t length)
{
	size_t marks = 0;
	for (size_t i = 0; i < length; i++) {
		if (pm_is_digit(text[i])) return true;
		marks += text[i] == '-' || text[i] == ':' || text[i] == '.';
	}
	return marks >= 3;
}

static bool same_interface(const struct stanza *a, const struct stanza *b)
{
	return a->port == b->port && a->name_length == b->name_length && memcmp(a->name, b->name, a->name_length) == 0;
}

static size_t indent_of(const struct row *row)
{
	size_t indent = 0;
	while (row->text[indent] == ' ') indent++;
	return indent;
}

/* The address goes to the interface that a pattern began: with a pattern for
 * that, what the usual rules take for one may be none. */
static void take_address(struct listing_reader *r, const struct row *row, size_t start, size_t length)
{
	const char *text = row->text + start;
	struct candidate c = { .rank = RANK_PATTERN, .start = start, .length = length };
	struct pm_eui48_fault fault;
	uint32_t line, column;
	if (r->dialect.current.active && !(r->stanza.active && same_interface(&r->stanza, &r->dialect.current))) {
		place_finish(r);
		r->stanza = r->dialect.current;
	}
	if (r->stanza.active && indent_of(row) > r->stanza.indent) r->stanza.indented = true;
	row_place(row, start, &line, &column);
	if (!pm_eui48_read(text, length, &c.address, NULL, &fault)) {
		if (tries(text, length))
			collect_problem(&r->collect, line, column + (fault.column ? fault.column - 1 : 0),
			                pm_eui48_reason_text(fault.reason), text, length);
	} else if (!r->stanza.active) {
		collect_problem(&r->collect, line, column, "an address of an interface without a name", text, length);
	} else {
		stanza_keep(&r->stanza, row, &c);
	}
}

enum dialect_found dialect_line(struct listing_reader *r, const struct row *row, struct name *name)
{
	size_t start, length;
	uint32_t line, column;
	enum dialect_found found = DIALECT_NOTHING;
	if (!r->dialect.any) return found;
	if (match(&r->dialect, DIALECT_INTERFACE, row->text, &start, &length)) {
		found = DIALECT_NAME;
		*name = (struct name){ .start = start, .length = length };
		name->port = r->names.gear ? pm_roster_find(r->names.gear, row->text + start, length) : PM_NO_PORT;
		place_finish(r);
		r->others.active = false;
		stanza_begin(&r->dialect.current, row->text, name, indent_of(row));
	} else if (r->blank_before && indent_of(row) <= r->dialect.current.indent) {
		/* Something else begins, such as what is said of the unit as a whole. */
		r->dialect.current.active = false;
	}
	if (match(&r->dialect, DIALECT_SERIAL, row->text, &start, &length)) {
		row_place(row, start, &line, &column);
		collect_serial(&r->collect, row->text + start, length, line, column);
		if (found == DIALECT_NOTHING) found = DIALECT_ALL;
	}
	if (match(&r->dialect, DIALECT_ADDRESS, row->text, &start, &length)) {
		take_address(r, row, start, length);
		found = DIALECT_ALL;
	}
	return found;
}
