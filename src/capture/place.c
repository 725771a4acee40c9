#include "capture/reader.h"

#include "capture/words.h"
#include "portmuster/text.h"

#define BROAD 72   /* columns from which the longest line is likely the terminal's width */

void place_finish(struct listing_reader *r)
{
	stanza_finish(&r->stanza, &r->collect);
	r->nested.active = false;
}

/* Malformed addresses: those that a word vouches for are problems at once, the
 * others only when the interface turns out to have no good one. */
void place_slips(struct listing_reader *r, struct reading_line *line, bool report)
{
	struct malformed bad;
	size_t from = 0;
	while (addresses_malformed(line->row, line->token, line->count, &r->columns, line->candidate,
	                           line->candidates, &from, &bad)) {
		line->slipped = true;
		if (!report) return;
		if (bad.vouched) {
			uint32_t at, column;
			row_place(line->row, bad.start, &at, &column);
			collect_problem(&r->collect, at, column + bad.column, pm_eui48_reason_text(bad.reason),
			                line->row->text + bad.start, bad.length);
		} else if (r->stanza.active && !r->stanza.bare) {
			stanza_slip(&r->stanza, line->row, &bad);
		}
	}
}

static void keep(struct listing_reader *r, const struct reading_line *line)
{
	for (size_t i = 0; i < line->candidates; i++) {
		/* Two rows beside each other: a new name before the next address. */
		struct name name;
		bool again = false;
		for (size_t k = i ? line->candidate[i - 1].after : line->candidate[i].first;
		     k < line->candidate[i].first && !again && r->stanza.addresses; k++)
			again = name_at(&r->names, line->row->text, line->token, line->count, k, &name)
				&& line->candidate[i].rank != RANK_NONE;
		if (again) {
			bool row = r->stanza.row;
			place_finish(r);
			stanza_begin(&r->stanza, line->row->text, &name, line->indent);
			r->stanza.row = row;
		}
		stanza_keep(&r->stanza, line->row, &line->candidate[i]);
	}
}

static void begin(struct listing_reader *r, const struct reading_line *line, const struct name *name, bool bare)
{
	place_finish(r);
	stanza_begin(&r->stanza, line->row->text, name, line->indent);
	r->stanza.bare = bare;
	r->stanza.row = line->good > 0;
	r->stanza.after_blank = line->blank_before;
	r->rows_seen |= r->stanza.row;
}

/* --- what a line is for the stanza it stands in ---------------------------- */

static bool begins_others(const struct reading_line *line)
{
	unsigned first = line->token[0].kind | (line->count > 1 ? line->token[1].kind : 0);
	return line->good == 0 && first & WORD_OTHER;
}

/* Below the heading of a stanza, deeper than it. */
static void nested_line(struct listing_reader *r, struct reading_line *line)
{
	struct name beside;
	r->stanza.indented = true;
	if (line->named && !stanza_is(&r->stanza, line->row->text, &line->name)) {
		if (line->good || line->slipped) {
			begin(r, line, &line->name, false);
			keep(r, line);
			place_slips(r, line, true);
			return;
		}
		/* A stanza of its own when lines deeper still follow. */
		stanza_begin(&r->nested, line->row->text, &line->name, line->indent);
		r->nested.after_blank = line->blank_before;
		return;
	}
	if (line->good && !addresses_spoken(line->token, &line->candidate[0])
	    && name_beside(&r->names, line->row->text, line->token, line->count, &line->candidate[0], &beside)
	    && !stanza_is(&r->stanza, line->row->text, &beside)) {
		begin(r, line, &beside, false);
		keep(r, line);
		return;
	}
	if (begins_others(line)) {
		r->others = (struct others){ .active = true, .indent = line->indent };
		return;
	}
	/* A word that only may be a name needs more than the form of an address. */
	if (r->stanza.bare && !r->stanza.row && line->best < RANK_ADDRESS
	    && line->good && line->candidate[0].first > 0) return;
	keep(r, line);
	place_slips(r, line, true);
}

/* May a line that is not deeper belong to the stanza all the same? An address
 * must then stand alone or behind a word for it: else it is a row of its own
 * whose name was not seen. */
static bool is_flush(const struct listing_reader *r, const struct reading_line *line)
{
	const struct stanza *s = &r->stanza;
	if (!s->active || s->row || s->bare || s->indented || s->blank || line->indent != s->indent
	    || line->token[0].kind & WORD_BODY) return false;
	if (line->candidates == 0) return true;
	const struct candidate *c = &line->candidate[0];
	return addresses_phrase(line->token, c->first) & (WORD_HARDWARE | WORD_ADDRESS | WORD_OTHER)
		|| (c->first == 0 && c->after == line->count);
}

static bool is_title_of_others(const struct reading_line *line)
{
	unsigned all = 0;
	for (size_t i = 0; i < line->count; i++) {
		if (line->token[i].digit) return false;
		all |= line->token[i].kind;
	}
	return all & WORD_OTHER && line->count <= 6
		&& (line->count == 1 || all & (WORD_ADDRESS | WORD_TABLE)
		    || line->row->text[line->row->length - 1] == ':');
}

/* A name at the head, and it may be no more than a word of a wrapped line. */
static bool goes_on(const struct listing_reader *r, const struct reading_line *line, bool *unsure)
{
	const struct stanza *s = &r->stanza;
	size_t before = line->row->before;
	if (!before || line->good || line->slipped || line->blank_before) return false;
	if (!s->active || !s->indented || line->indent || s->addresses) return false;
	if (before != 80 && before != 132 && before < BROAD) return false;
	/* A word that the roster does not know is rather the end of a line. */
	if (s->after_blank || (!line->named && r->names.gear)) return true;
	*unsure = true;
	return false;
}

/* No name at the head, and the line before was as wide as the terminal may be. */
static bool is_remainder(const struct listing_reader *r, const struct reading_line *line)
{
	return line->row->before && r->stanza.active && !line->blank_before && line->indent == 0
		&& !(line->token[0].kind & (WORD_BODY | WORD_OTHER));
}

/* An address that is nobody's is not passed over in silence, when its line is made as
 * the lines below an interface's name are: words for an address and nothing else. With
 * others, as in "base address", it is the whole device's. */
static void orphan(struct listing_reader *r, const struct reading_line *line)
{
	char shown[PM_EUI48_TEXT];
	uint32_t at, column;
	place_finish(r);
	for (size_t i = 0; i < line->candidates; i++) {
		const struct candidate *c = &line->candidate[i];
		bool own = c->rank != RANK_NONE && c->first > 0;
		for (size_t k = 0; own && k < c->first; k++)
			own = line->token[k].kind & (WORD_ADDRESS | WORD_HARDWARE);
		if (!own) continue;
		row_place(line->row, c->start, &at, &column);
		collect_problem(&r->collect, at, column, "an address without an interface",
		                pm_eui48_text(&c->address, shown), PM_EUI48_TEXT - 1);
	}
}

static void outer_line(struct listing_reader *r, struct reading_line *line)
{
	const char *text = line->row->text;
	struct name name;
	bool unsure = false;
	if (line->named) {
		if (goes_on(r, line, &unsure)) return;
		begin(r, line, &line->name, false);
		r->stanza.unsure = unsure;
		keep(r, line);
		place_slips(r, line, true);
		return;
	}
	if (line->good) {
		if (!addresses_spoken(line->token, &line->candidate[0])
		    && name_beside(&r->names, text, line->token, line->count, &line->candidate[0], &name)) {
			begin(r, line, &name, false);
			keep(r, line);
			return;
		}
		if (!name_bare(text, line->token, line->count, &name) || name.first >= line->candidate[0].first) {
			if (is_flush(r, line)) keep(r, line);
			else orphan(r, line);
			place_slips(r, line, true);
			return;
		}
		begin(r, line, &name, true);
		keep(r, line);
		return;
	}
	place_slips(r, line, true);
	bool bare = name_bare(text, line->token, line->count, &name);
	/* The end of a wrapped line ends nothing. */
	if (bare ? goes_on(r, line, &unsure) : is_remainder(r, line)) return;
	if (is_flush(r, line)) return;
	place_finish(r);
	if (is_title_of_others(line))
		r->others = (struct others){ .active = true, .titled = true, .indent = line->indent };
	else if (begins_others(line) && !line->token[0].digit && (line->count == 1 || !line->token[1].digit))
		r->others = (struct others){ .active = true, .indent = line->indent };
	else if (bare) {
		begin(r, line, &name, true);
		r->stanza.unsure = unsure;
	}
}

void place_line(struct listing_reader *r, struct reading_line *line)
{
	if (line->said) {
		begin(r, line, &line->name, false);
		keep(r, line);
		place_slips(r, line, true);
		return;
	}
	if (r->nested.active && line->indent > r->nested.indent) {
		struct stanza inner = r->nested;
		place_finish(r);
		r->stanza = inner;
	}
	r->nested.active = false;
	place_slips(r, line, false);
	line->named = (line->good || line->slipped)
		&& name_column(&r->names, line->row->text, line->token, line->count, &r->columns, &line->name);
	if (!line->named) line->named = name_head(&r->names, line->row->text, line->token, line->count, &line->name);
	if (!line->named && (line->good || line->slipped))
		line->named = name_keyed(&r->names, line->row->text, line->token, line->count, &line->name);
	if (r->stanza.active && line->indent > r->stanza.indent) nested_line(r, line);
	else outer_line(r, line);
}
