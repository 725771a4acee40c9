#include "capture/listing.h"

#include <stdlib.h>
#include <string.h>

#include "capture/reader.h"
#include "capture/serials.h"
#include "capture/words.h"
#include "portmuster/text.h"

#define DOUBLED_LEAST 4   /* lines with a blank one behind each, before they are taken for doubled breaks */
#define CUT_REASON "the log ends in the middle of an address"

/* --- one row ------------------------------------------------------------ */

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

void reader_serial(struct listing_reader *r, const struct row *row, const struct token *token, size_t count, size_t from)
{
	size_t at;
	uint32_t line, column;
	/* Inside an interface of the gear it is a module's. */
	bool indented = row->inside ? r->pieces.indented : row->text[0] == ' ';
	if (r->stanza.active && r->stanza.port != PM_NO_PORT && indented) return;
	if (!serial_find(r->names.gear, row->text, token, count, &at) || token[at].start < from) return;
	row_place(row, token[at].start, &line, &column);
	collect_serial(&r->collect, row->text + token[at].start, token[at].length, line, column);
}

void reader_cut_short(struct listing_reader *r, struct row *row)
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
	bool placed = vouched || name_head(&r->names, row->text, r->token, count, &name)
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
	if (row->cut && !row->inside)
		collect_problem(&r->collect, row->line, CLEAN_MOST_COLUMNS + 1, "the line is too long and was read in pieces", "", 0);
	if (row->inside) {
		pieces_read(r, row);
		return;
	}
	if (row->goes_on) {
		pieces_trim(r, row);
		if (row->length == 0) {
			place_finish(r);
			r->pieces.dead = false;
			return;
		}
	}
	if (row->length == 0) {
		blank_line(r);
		return;
	}
	struct reading_line line = { .row = row, .token = r->token, .candidate = r->candidate };
	enum dialect_found said = dialect_line(r, row, &line.name);
	line.said = said == DIALECT_NAME;
	if (said == DIALECT_NOTHING && line_is_log(row->text, row->length)) return;
	line.blank_before = r->blank_before;
	r->blank_before = false;
	if (said == DIALECT_ALL) return;
	if (!line.said && line_is_prompt(row->text, row->length)) {
		place_finish(r);
		r->columns.count = 0;
		r->others.active = false;
		dialect_prompt(&r->dialect);
		return;
	}
	if (row->open_end) reader_cut_short(r, row);
	line.count = tokens_of(row->text, row->length, r->token, ROW_MOST_TOKENS);
	if (row->goes_on) r->pieces.dead = false;
	if (line.count == 0) return;
	reader_serial(r, row, r->token, line.count, 0);
	while (row->text[line.indent] == ' ') line.indent++;
	line.candidates = addresses_find(row, r->token, line.count, &r->columns, r->candidate, ROW_MOST_CANDIDATES);
	if (line.candidates == ROW_MOST_CANDIDATES)
		collect_problem(&r->collect, row->line, 1, "more addresses in one line than are read", "", 0);
	for (size_t i = 0; i < line.candidates; i++) {
		line.good += line.candidate[i].rank != RANK_NONE;
		if (line.candidate[i].rank > line.best) line.best = line.candidate[i].rank;
	}
	struct columns heading;
	if (!line.said && !row->cut && line.candidates == 0 && columns_read(row->text, r->token, line.count, &heading)) {
		place_finish(r);
		r->columns = heading;
		r->rows_seen = false;
		return;
	}
	if (about_others(r, &line)) {
		r->pieces.dead = true;
		return;
	}
	if (row->goes_on) pieces_begin(r, &line);
	else place_line(r, &line);
}

/* --- what the skim asks for ----------------------------------------------- */

static bool feed_clean(void *context, const void *bytes, size_t length)
{
	struct listing_reader *r = context;
	return clean_feed(r->clean, bytes, length);
}

static void pass_lines(void *context, size_t lines, size_t longest)
{
	struct listing_reader *r = context;
	if (r->holding) read_row(r, &r->held);
	r->holding = false;
	place_finish(r);
	r->columns.count = 0;
	r->others.active = false;
	r->blank_before = true;
	if (longest > r->longest) r->longest = longest;
	clean_pass(r->clean, lines);
}

/* Told of a line twice, by the skim and when it is read, it counts once. */
static void note_noise(struct listing_reader *r, uint32_t line, size_t bytes)
{
	struct listing *listing = r->listing;
	if (line < r->noise_line || bytes == 0) return;
	if (line > r->noise_line) r->noise = 0;
	if (!listing->noise_line) listing->noise_line = line;
	listing->noise += bytes > r->noise ? bytes - r->noise : 0;
	r->noise = bytes > r->noise ? bytes : r->noise;
	r->noise_line = line;
}

static void noise(void *context, size_t lines, size_t bytes)
{
	struct listing_reader *r = context;
	note_noise(r, clean_number(r->clean) + (uint32_t)lines, bytes);
}

static bool rests(void *context)
{
	struct listing_reader *r = context;
	return clean_rests(r->clean);
}

static bool in_table(void *context)
{
	struct listing_reader *r = context;
	return r->columns.count > 0;
}

static size_t longest(void *context)
{
	struct listing_reader *r = context;
	return r->longest;
}

/* --- lines to rows ------------------------------------------------------ */

/* Copying and joining programs double line breaks, and each line has a blank one
 * behind it. Once that has been so for some lines, such a one is passed over, as
 * long as it goes on: it would part what belongs together. */
static bool is_doubled(struct listing_reader *r, const struct clean_line *line)
{
	if (r->single || line->inside || line->goes_on) return false;
	if (line->length == 0) {
		r->blanks++;
		return r->blanks == 1 && r->texts >= DOUBLED_LEAST;
	}
	/* an even number of blank ones are not doubled breaks either */
	r->single = r->texts && r->blanks % 2 == 0;
	r->texts++;
	r->blanks = 0;
	return false;
}

static void take_line(void *context, const struct clean_line *line)
{
	struct listing_reader *r = context;
	r->listing->lines = line->line;
	note_noise(r, line->line, line->unreadable);
	if (is_doubled(r, line)) return;
	size_t columns = line->cut ? CLEAN_MOST_COLUMNS : line->columns;
	if (columns > r->longest) r->longest = columns;
	bool full = false;
	if (r->holding) {
		full = !r->held.cut && !line->cut && wrap_full(r->held.columns, r->longest);
		if (full && !dialect_heads(&r->dialect, line->text) && wrap_joins(&r->wrap, &r->held, line) && wrap_append(&r->held, line)) {
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
	row->inside = line->inside;
	row->goes_on = line->goes_on;
	row->offset = line->before;
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
	if (!r->clean || !dialect_begin(&r->dialect, gear)) {
		clean_free(r->clean);
		free(r);
		return NULL;
	}
	clean_pieces(r->clean);
	r->listing = listing;
	r->names.gear = gear;
	r->blank_before = true;
	/* The gear's own patterns are looked for in every line. */
	r->skims = !r->dialect.any;
	r->sizes = &skim_usual;
	collect_init(&r->collect, listing, gear, arena);
	r->wrap = (struct wrap){
		.names = &r->names, .collect = &r->collect, .columns = &r->columns,
		.first = r->token_first, .second = r->token_second, .scratch = &r->scratch,
	};
	for (size_t i = 0; gear && i < gear->console.pagers.count; i++)
		if (gear->console.pagers.item[i].text) clean_pager(r->clean, gear->console.pagers.item[i].text);
	return r;
}

bool listing_feed(struct listing_reader *reader, const void *bytes, size_t length)
{
	if (reader->skims && !reader->skim && length >= reader->sizes->least) {
		const struct skim_reader ask = { reader, feed_clean, pass_lines, rests, in_table, noise, longest };
		reader->skim = skim_new(reader->names.gear, reader->sizes, &ask);
		reader->skims = reader->skim != NULL;
	}
	bool good = reader->skim ? skim_feed(reader->skim, bytes, length) : clean_feed(reader->clean, bytes, length);
	if (!good) reader->failed = true;
	return !(reader->failed |= reader->collect.failed);
}

bool listing_line(struct listing_reader *reader, uint32_t *line)
{
	/* What the skim keeps back is not counted. */
	if (reader->skim && !skim_flush(reader->skim)) reader->failed = true;
	*line = clean_number(reader->clean);
	return !reader->failed;
}

bool listing_end(struct listing_reader *reader)
{
	if (reader->skim && !skim_flush(reader->skim)) reader->failed = true;
	skim_free(reader->skim);
	reader->ending = true;
	if (!clean_end(reader->clean)) reader->failed = true;
	if (reader->holding) read_row(reader, &reader->held);
	place_finish(reader);
	bool good = !reader->failed && !reader->collect.failed;
	clean_free(reader->clean);
	dialect_free(&reader->dialect);
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
