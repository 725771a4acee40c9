/* Lines too long to be read whole, in pieces that overlap. Nothing is taken that
 * touches a cut: each piece ends, and the next one goes on, between two tokens
 * that belong to no address together. What stands before that in the overlap
 * only gives its sense to what stands behind it. */
#include "capture/reader.h"

#include <string.h>

#include "capture/words.h"
#include "portmuster/text.h"

#define MARGIN 64        /* columns before a cut in which nothing is taken */
#define BESIDE_MOST 6    /* words between a name and its address */

/* --- where to cut --------------------------------------------------------------- */

/* May the byte belong to a part of an address that blanks part from the rest? */
static bool in_part(char c)
{
	return pm_hex_value((unsigned char)c) >= 0 || c == '-' || c == ':' || c == '.';
}

/* The bytes of such a part that ends before `to`, or begins at `from`. */
static size_t part_before(const char *text, size_t to)
{
	size_t n = 0;
	while (n < to && in_part(text[to - 1 - n])) n++;
	return n < to && !token_parts(text[to - 1 - n]) ? 0 : n;
}

static size_t part_at(const char *text, size_t length, size_t from)
{
	size_t n = 0;
	while (from + n < length && in_part(text[from + n])) n++;
	return from + n < length && !token_parts(text[from + n]) ? 0 : n;
}

static size_t blanks_before(const char *text, size_t to)
{
	size_t n = 0;
	while (n < to && text[to - 1 - n] == ' ') n++;
	return n;
}

/* The last place up to `at` where no token and no row of octets goes on. */
static size_t seam_before(const char *text, size_t length, size_t at)
{
	while (at && !token_parts(text[at - 1])) at--;
	while (at) {
		size_t blanks = blanks_before(text, at), end = at - blanks, behind = at;
		while (behind < length && text[behind] == ' ') behind++;
		size_t before = blanks ? part_before(text, end) : 0;
		if (!before || behind - end > 2 || !part_at(text, length, behind)) break;
		at = end - before;
	}
	return at;
}

/* The byte at which `columns` columns are over. */
static size_t byte_of(const struct row *row, size_t columns)
{
	size_t at = 0;
	while (at < row->length) {
		columns -= ((unsigned char)row->text[at] & 0xC0) != 0x80;
		if (columns == SIZE_MAX) break;
		at++;
	}
	return at;
}

static void note_read(struct listing_reader *r, const struct row *row, size_t bytes)
{
	r->pieces.read = row->offset + token_columns(row->text, bytes);
}

static void trim(struct listing_reader *r, struct row *row)
{
	size_t at = row->length;
	if (token_columns(row->text, at) > CLEAN_MOST_COLUMNS - MARGIN)
		at = byte_of(row, CLEAN_MOST_COLUMNS - MARGIN);
	/* All that a lost cursor left. */
	else if (row->columns < CLEAN_MOST_COLUMNS - MARGIN) at = row->length > MARGIN ? row->length - MARGIN : 0;
	if (at < row->length) at = seam_before(row->text, row->length, at);
	note_read(r, row, at);
	while (at && row->text[at - 1] == ' ') at--;
	row->text[at] = '\0';
	row->length = at;
}

void pieces_trim(struct listing_reader *r, struct row *row)
{
	r->pieces.dead = true;
	r->pieces.indented = row->text[0] == ' ';
	r->pieces.owned = false;
	r->pieces.names = 0;
	trim(r, row);
}

/* Blank out what the cut before the piece touches. */
static void clear_head(struct row *row)
{
	size_t at = 0;
	while (at < row->length && !token_parts(row->text[at])) at++;
	bool part = part_at(row->text, row->length, 0) || at == 0;
	for (size_t next = at; part && at < row->length; at = next) {
		while (next < row->length && row->text[next] == ' ') next++;
		size_t more = next - at <= 2 ? part_at(row->text, row->length, next) : 0;
		if (!more) break;
		next += more;
	}
	memset(row->text, ' ', at);
}

/* --- names ----------------------------------------------------------------------------- */

/* With a roster only names on it count: in so much text others are but words. */
static bool names_one(struct listing_reader *r, const struct row *row, size_t count, size_t i, struct name *name)
{
	return name_at(&r->names, row->text, r->token, count, i, name) && (!r->names.gear || name->port != PM_NO_PORT);
}

static void note_names(struct listing_reader *r, const struct row *row, size_t count, size_t i, size_t to, size_t from)
{
	struct long_line *l = &r->pieces;
	struct name name;
	for (; i < to; i++) {
		if (!names_one(r, row, count, i, &name) || name.start + name.length <= from) continue;
		if (l->names == 0 && l->owned && stanza_is(&r->stanza, row->text, &name)) continue;
		if (l->names == 0) {
			stanza_begin(&l->next, row->text, &name, 0);
			l->names = 1;
		} else if (!stanza_is(&l->next, row->text, &name)) {
			l->names = 2;
		}
	}
}

/* The name right before token `i`, with nothing but known words between. */
static bool name_before(struct listing_reader *r, const struct row *row, size_t count, size_t i, struct name *name)
{
	for (size_t k = i; k > 0 && i - k < BESIDE_MOST; k--) {
		const struct token *t = &r->token[k - 1];
		if (names_one(r, row, count, k - 1, name) && name->after <= i) return true;
		if (k > 1 && t->digit && !t->alpha && names_one(r, row, count, k - 2, name) && name->after == k) return true;
		if (!t->kind || t->kind & WORD_OTHER) return false;
	}
	return false;
}

/* --- addresses ----------------------------------------------------------------------------- */

static void own(struct listing_reader *r, const struct stanza *stanza)
{
	struct stanza next = *stanza;
	place_finish(r);
	r->stanza = next;
	r->stanza.row = true;
	r->pieces.owned = true;
}

static void take(struct listing_reader *r, const struct row *row, size_t count, const struct candidate *c)
{
	struct long_line *l = &r->pieces;
	struct name name;
	struct stanza stanza;
	size_t may_be = l->names + (l->owned && r->stanza.addresses == 0);
	if (name_before(r, row, count, c->first, &name)) {
		stanza_begin(&stanza, row->text, &name, 0);
		if (!l->owned || !stanza_is(&r->stanza, row->text, &name)) own(r, &stanza);
	} else if (may_be > 1) {
		char text[PM_EUI48_TEXT];
		uint32_t line, column;
		row_place(row, c->start, &line, &column);
		collect_problem(&r->collect, line, column, "so long a line leaves open which interface has this address",
		                pm_eui48_text(&c->address, text), PM_EUI48_TEXT - 1);
		place_finish(r);
		l->owned = false;
	} else if (l->names) {
		own(r, &l->next);
	}
	if (l->owned) stanza_keep(&r->stanza, row, c);
	l->names = 0;
}

static void report_slips(struct listing_reader *r, const struct row *row, size_t count, size_t candidates, size_t from)
{
	struct malformed bad;
	size_t at = 0;
	while (addresses_malformed(row, r->token, count, &r->columns, r->candidate, candidates, &at, &bad)) {
		uint32_t line, column;
		if (!bad.vouched || bad.start < from) continue;
		row_place(row, bad.start, &line, &column);
		collect_problem(&r->collect, line, column + bad.column, pm_eui48_reason_text(bad.reason),
		                row->text + bad.start, bad.length);
	}
}

/* What stands at or behind byte `from`. */
static void scan(struct listing_reader *r, const struct row *row, size_t count, size_t candidates, size_t from)
{
	size_t at = 0;
	for (size_t i = 0; i < candidates; i++) {
		const struct candidate *c = &r->candidate[i];
		note_names(r, row, count, at, c->first, from);
		at = c->after;
		if (c->start >= from && c->rank != RANK_NONE) take(r, row, count, c);
	}
	note_names(r, row, count, at, count, from);
}

void pieces_begin(struct listing_reader *r, struct reading_line *line)
{
	struct name name;
	bool deeper = r->stanza.active && line->indent > r->stanza.indent;
	if (line->said || name_head(&r->names, line->row->text, line->token, line->count, &name)) {
		place_line(r, line);
		r->pieces.owned = r->stanza.active && !r->stanza.bare;
		note_names(r, line->row, line->count, line->candidates ? line->candidate[line->candidates - 1].after : 0, line->count, 0);
		return;
	}
	/* All of it is about others. */
	if ((line->token[0].kind | (line->count > 1 ? line->token[1].kind : 0)) & WORD_OTHER) {
		place_line(r, line);
		r->pieces.dead = true;
		return;
	}
	r->pieces.owned = deeper && !r->stanza.bare;
	if (!deeper) place_finish(r);
	scan(r, line->row, line->count, line->candidates, 0);
	report_slips(r, line->row, line->count, line->candidates, 0);
}

void pieces_read(struct listing_reader *r, struct row *row)
{
	size_t read = r->pieces.read > row->offset ? r->pieces.read - row->offset : 0;
	clear_head(row);
	if (row->goes_on) trim(r, row);
	if (r->pieces.dead || row->length == 0) return;
	size_t from = byte_of(row, read);
	if (row->open_end) reader_cut_short(r, row);
	size_t count = tokens_of(row->text, row->length, r->token, ROW_MOST_TOKENS);
	reader_serial(r, row, r->token, count, from);
	size_t found = addresses_find(row, r->token, count, &r->columns, r->candidate, ROW_MOST_CANDIDATES);
	scan(r, row, count, found, from);
	report_slips(r, row, count, found, from);
}
