#include "capture/listing.h"

#include <stdlib.h>
#include <string.h>

#include "capture/addresses.h"
#include "capture/clean.h"
#include "capture/collect.h"
#include "capture/columns.h"
#include "capture/names.h"
#include "capture/serials.h"
#include "capture/stanza.h"
#include "capture/words.h"
#include "capture/wrap.h"
#include "portmuster/text.h"

#define CUT_REASON "the log ends in the middle of an address"
#define BROAD 72   /* columns from which the longest line is likely the terminal's width */

/* A part of the listing that is about others: neighbours, learned addresses. */
struct others {
	bool active;
	bool titled;      /* begun by a title: lasts to the next blank line after content */
	bool content;
	size_t indent;
};

struct listing_reader {
	struct listing *listing;
	const struct pm_gear *gear;
	struct clean *clean;
	struct collect collect;
	struct wrap wrap;
	struct columns columns;
	bool rows_seen;           /* below the heading */
	struct stanza stanza, nested;
	struct others others;
	struct row held;          /* the line that the next one may go on with */
	bool holding;
	size_t before;            /* columns of the line before the held one, when full */
	size_t longest;
	bool blank_before, failed;
	bool ending;              /* what comes now has no line end */
	struct row scratch;
	struct token token[ROW_MOST_TOKENS], token_first[ROW_MOST_TOKENS], token_second[ROW_MOST_TOKENS];
};

/* One line on its way: what is known of it. */
struct reading_line {
	const struct row *row;
	const struct token *token;
	size_t count, indent;
	struct candidate candidate[CANDIDATES_MOST];
	size_t candidates, good;       /* good: those that may be an interface's own */
	enum rank best;
	struct name name;
	bool named, slipped;           /* slipped: something tried to be an address */
	bool blank_before;
};

static void finish(struct listing_reader *r)
{
	stanza_finish(&r->stanza, &r->collect);
	r->nested.active = false;
}

/* Malformed addresses: those that a word vouches for are problems at once, the
 * others only when the interface turns out to have no good one. */
static void look_for_slips(struct listing_reader *r, struct reading_line *line, bool report)
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
			again = name_at(r->gear, line->row->text, line->token, line->count, k, &name)
				&& line->candidate[i].rank != RANK_NONE;
		if (again) {
			bool row = r->stanza.row;
			finish(r);
			stanza_begin(&r->stanza, line->row->text, &name, line->indent);
			r->stanza.row = row;
		}
		stanza_keep(&r->stanza, line->row, &line->candidate[i]);
	}
}

static void begin(struct listing_reader *r, const struct reading_line *line, const struct name *name, bool bare)
{
	finish(r);
	stanza_begin(&r->stanza, line->row->text, name, line->indent);
	r->stanza.bare = bare;
	r->stanza.row = line->good > 0;
	r->stanza.after_blank = line->blank_before;
	r->rows_seen |= r->stanza.row;
}

/* --- what a line is for the stanza it stands in ------------------------------------- */

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
			look_for_slips(r, line, true);
			return;
		}
		/* A stanza of its own when lines deeper still follow. */
		stanza_begin(&r->nested, line->row->text, &line->name, line->indent);
		r->nested.after_blank = line->blank_before;
		return;
	}
	if (line->good && line->best <= RANK_PLAIN
	    && name_beside(r->gear, line->row->text, line->token, line->count, &line->candidate[0], &beside)
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
	look_for_slips(r, line, true);
}

/* May a line that is not deeper belong to the stanza all the same? */
static bool is_flush(const struct listing_reader *r, const struct reading_line *line)
{
	const struct stanza *s = &r->stanza;
	return s->active && !s->row && !s->bare && !s->indented && !s->blank && line->indent == s->indent
		&& !(line->token[0].kind & WORD_BODY);
}

static bool is_title_of_others(const struct reading_line *line)
{
	unsigned all = 0;
	for (size_t i = 0; i < line->count; i++) {
		if (line->token[i].digit) return false;
		all |= line->token[i].kind;
	}
	return all & WORD_OTHER && line->count <= 6
		&& (all & WORD_ADDRESS || line->row->text[line->row->length - 1] == ':');
}

/* A name at the head, and it may be no more than a word of a wrapped line. */
static bool goes_on(const struct listing_reader *r, const struct reading_line *line, bool *unsure)
{
	const struct stanza *s = &r->stanza;
	size_t before = line->row->before;
	if (!before || line->good || line->slipped || line->blank_before) return false;
	if (!s->active || !s->indented || line->indent || s->addresses) return false;
	if (before != 80 && before != 132 && before < BROAD) return false;
	if (s->after_blank) return true;
	*unsure = true;
	return false;
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
		look_for_slips(r, line, true);
		return;
	}
	if (line->good) {
		if (line->best <= RANK_PLAIN
		    && name_beside(r->gear, text, line->token, line->count, &line->candidate[0], &name)) {
			begin(r, line, &name, false);
			keep(r, line);
			return;
		}
		if (!name_bare(text, line->token, line->count, &name) || name.first >= line->candidate[0].first) {
			if (is_flush(r, line)) keep(r, line);
			else finish(r);
			look_for_slips(r, line, true);
			return;
		}
		begin(r, line, &name, true);
		keep(r, line);
		return;
	}
	look_for_slips(r, line, true);
	if (line->row->before && r->stanza.active && !line->blank_before) return;   /* the end of a wrapped line */
	if (is_flush(r, line)) return;
	finish(r);
	if (is_title_of_others(line))
		r->others = (struct others){ .active = true, .titled = true, .indent = line->indent };
	else if (begins_others(line) && !line->token[0].digit && (line->count == 1 || !line->token[1].digit))
		r->others = (struct others){ .active = true, .indent = line->indent };
	else if (name_bare(text, line->token, line->count, &name))
		begin(r, line, &name, true);
}

/* --- one row ---------------------------------------------------------------------------- */

static void blank_line(struct listing_reader *r)
{
	r->blank_before = true;
	r->stanza.blank = true;
	if (r->others.titled && r->others.content) r->others.active = false;
	if (r->rows_seen) r->columns.count = 0, r->rows_seen = false;
}

static bool about_others(struct listing_reader *r, const struct reading_line *line)
{
	struct others *others = &r->others;
	if (!others->active) return false;
	if (others->titled ? line->indent >= others->indent : line->indent > others->indent) {
		others->content = true;
		return true;
	}
	others->active = false;
	return false;
}

static void read_serial(struct listing_reader *r, const struct row *row, const struct token *token, size_t count)
{
	size_t at;
	uint32_t line, column;
	/* Inside an interface of the gear it is a module's. */
	if (r->stanza.active && r->stanza.port != PM_NO_PORT && row->text[0] == ' ') return;
	if (!serial_find(r->gear, row->text, token, count, &at)) return;
	row_place(row, token[at].start, &line, &column);
	collect_serial(&r->collect, row->text + token[at].start, token[at].length, line, column);
}

/* The log stops here: take an unfinished address off its end, as a problem. */
static void cut_short(struct listing_reader *r, struct row *row)
{
	size_t start = wrap_tail(row->text, row->length), count = tokens_of(row->text, row->length, r->token, ROW_MOST_TOKENS);
	const char *tail = row->text + start;
	size_t length = row->length - start, last = count ? count - 1 : 0;
	struct name name;
	uint32_t line, column;
	if (length == 0 || count == 0) return;
	unsigned words = addresses_phrase(r->token, last) | columns_kind(&r->columns, &r->token[last]);
	if (words & (WORD_OTHER | WORD_NETWORK)) return;
	bool vouched = words & (WORD_ADDRESS | WORD_HARDWARE);
	/* "mac:00-00-5E" is a word and its value. */
	if (count && r->token[last].start > start && r->token[last].value) {
		start = r->token[last].start;
		tail = row->text + start;
		length = row->length - start;
	}
	bool placed = vouched || name_head(r->gear, row->text, r->token, count, &name)
		|| (r->stanza.active && row->text[0] == ' ');
	size_t octets = 0;
	while (octets < count && r->token[last - octets].hex && r->token[last - octets].length <= 2
	       && (octets == 0 || r->token[last - octets + 1].gap == 1)) {
		octets++;
		if (octets > last) break;
	}
	if (octets && octets < count
	    && addresses_phrase(r->token, count - octets) & (WORD_ADDRESS | WORD_HARDWARE)
	    && (octets < 6 || r->token[last].length == 1)) {
		start = r->token[count - octets].start;
	} else if (!(placed && addresses_cut(tail, length, vouched))
	           && !(addresses_lacks_digit(tail, length) && length > 11)) {
		return;
	}
	row_place(row, start, &line, &column);
	collect_problem(&r->collect, line, column, CUT_REASON, row->text + start, row->length - start);
	row->length = start;
	while (row->length && row->text[row->length - 1] == ' ') row->length--;
	row->text[row->length] = '\0';
}

static void read_row(struct listing_reader *r, struct row *row)
{
	if (row->cut)
		collect_problem(&r->collect, row->line, CLEAN_MOST_COLUMNS + 1, "the line is too long and was cut", "", 0);
	if (row->length == 0) {
		blank_line(r);
		return;
	}
	if (line_is_log(row->text, row->length)) return;
	bool blank_before = r->blank_before;
	r->blank_before = false;
	if (line_is_prompt(row->text, row->length)) {
		finish(r);
		r->columns.count = 0;
		r->others.active = false;
		return;
	}
	if (row->open_end) cut_short(r, row);
	struct reading_line line = { .row = row, .token = r->token, .blank_before = blank_before };
	line.count = tokens_of(row->text, row->length, r->token, ROW_MOST_TOKENS);
	if (line.count == 0) return;
	read_serial(r, row, r->token, line.count);
	while (row->text[line.indent] == ' ') line.indent++;
	line.candidates = addresses_find(row, r->token, line.count, &r->columns, line.candidate, CANDIDATES_MOST);
	for (size_t i = 0; i < line.candidates; i++) {
		line.good += line.candidate[i].rank != RANK_NONE;
		if (line.candidate[i].rank > line.best) line.best = line.candidate[i].rank;
	}
	struct columns heading;
	if (line.candidates == 0 && columns_read(row->text, r->token, line.count, &heading)) {
		finish(r);
		r->columns = heading;
		r->rows_seen = false;
		return;
	}
	if (about_others(r, &line)) return;
	if (r->nested.active && line.indent > r->nested.indent) {
		struct stanza inner = r->nested;
		finish(r);
		r->stanza = inner;
	}
	r->nested.active = false;
	look_for_slips(r, &line, false);
	line.named = (line.good || line.slipped)
		&& name_column(r->gear, row->text, r->token, line.count, &r->columns, &line.name);
	if (!line.named) line.named = name_head(r->gear, row->text, r->token, line.count, &line.name);
	if (!line.named && (line.good || line.slipped))
		line.named = name_keyed(r->gear, row->text, r->token, line.count, &line.name);
	if (r->stanza.active && line.indent > r->stanza.indent) nested_line(r, &line);
	else outer_line(r, &line);
}

/* --- lines to rows ------------------------------------------------------------------------ */

static void take_line(void *context, const struct clean_line *line)
{
	struct listing_reader *r = context;
	r->listing->lines = line->line;
	if (line->columns > r->longest) r->longest = line->columns;
	bool full = false;
	if (r->holding) {
		full = wrap_full(r->held.columns, r->longest);
		if (full && wrap_joins(&r->wrap, &r->held, line) && wrap_append(&r->held, line)) {
			r->held.open_end = r->ending;
			return;
		}
		read_row(r, &r->held);
	}
	struct row *row = &r->held;
	row->before = full ? row->columns : 0;
	memcpy(row->text, line->text, line->length + 1);
	row->length = line->length;
	row->columns = line->columns;
	row->line = line->line;
	row->seams = 0;
	row->cut = line->cut;
	row->open_end = r->ending;
	r->holding = true;
}

struct listing_reader *listing_begin(struct listing *listing, const struct pm_gear *gear,
                                     struct pm_arena *arena)
{
	*listing = (struct listing){ .reading = NULL };
	struct listing_reader *r = calloc(1, sizeof *r);
	if (!r) return NULL;
	r->clean = clean_new(take_line, r);
	if (!r->clean) {
		free(r);
		return NULL;
	}
	r->listing = listing;
	r->gear = gear;
	r->blank_before = true;
	collect_init(&r->collect, listing, gear, arena);
	r->wrap = (struct wrap){
		.gear = gear, .collect = &r->collect, .columns = &r->columns,
		.first = r->token_first, .second = r->token_second, .scratch = &r->scratch,
	};
	for (size_t i = 0; gear && i < gear->console.pagers.count; i++)
		if (gear->console.pagers.item[i].text) clean_pager(r->clean, gear->console.pagers.item[i].text);
	return r;
}

bool listing_feed(struct listing_reader *reader, const void *bytes, size_t length)
{
	if (!clean_feed(reader->clean, bytes, length)) reader->failed = true;
	return !(reader->failed |= reader->collect.failed);
}

bool listing_end(struct listing_reader *reader)
{
	reader->ending = true;
	if (!clean_end(reader->clean)) reader->failed = true;
	if (reader->holding) read_row(reader, &reader->held);
	finish(reader);
	bool good = !reader->failed && !reader->collect.failed;
	clean_free(reader->clean);
	collect_free(&reader->collect);
	free(reader);
	return good;
}

bool listing_read(const void *bytes, size_t length, const struct pm_gear *gear,
                  struct pm_arena *arena, struct listing *listing)
{
	struct listing_reader *reader = listing_begin(listing, gear, arena);
	if (!reader) return false;
	listing_feed(reader, bytes, length);
	return listing_end(reader);
}
