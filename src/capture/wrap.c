#include "capture/wrap.h"

#include <string.h>

#include "capture/addresses.h"
#include "capture/names.h"
#include "capture/words.h"
#include "portmuster/text.h"

#define NARROWEST 40     /* no terminal is narrower */
#define PIECE_MOST 80

bool wrap_full(size_t columns, size_t longest)
{
	return columns == 80 || columns == 132 || (columns >= NARROWEST && columns >= longest);
}

static bool in_token(char c)
{
	return c != ' ' && !strchr(",;|()[]{}<>\"'`=", c);
}

size_t wrap_tail(const char *text, size_t length)
{
	while (length && in_token(text[length - 1])) length--;
	return length;
}

static size_t head_of(const char *text, size_t length)
{
	size_t n = 0;
	while (n < length && in_token(text[n])) n++;
	return n;
}

/* Both sides of the seam, and what is on them. */
struct seam {
	const struct wrap *wrap;
	const struct row *row;
	const struct clean_line *next;
	char text[2 * PIECE_MOST];   /* the token across the seam */
	size_t a, whole;             /* bytes before the seam, in all */
	size_t first_count, second_count;
	struct candidate first[CANDIDATES_MOST], second[CANDIDATES_MOST];
	size_t firsts, seconds;      /* addresses that count */
	size_t second_all;           /* and with those of others */
	struct name first_name, second_name;
	bool first_named, second_named;
};

static size_t count_good(const struct candidate *c, size_t count)
{
	size_t good = 0;
	for (size_t i = 0; i < count; i++) good += c[i].rank != RANK_NONE;
	return good;
}

static bool is_address(const char *text, size_t length)
{
	struct pm_eui48 address;
	return length >= 11 && pm_eui48_read(text, length, &address, NULL, NULL)
		&& !addresses_lacks_digit(text, length);
}

static bool has_letter(const char *text, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if (pm_is_alpha(text[i])) return true;
	return false;
}

static bool is_bare(const char *text, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if (!pm_is_alnum(text[i])) return false;
	return true;
}

/* "00:00:5e:00:5" + "3:01" */
static bool cut_address(const struct seam *s)
{
	const char *b = s->text + s->a;
	size_t b_length = s->whole - s->a;
	if (s->a == 0 || b_length == 0) return false;
	/* 0:00:5e:00:53:01 may lack its first digit. */
	if (is_address(b, b_length))
		return s->a == 1 && b[1] == ':' && s->firsts == 0 && !s->second_named && is_address(s->text, s->whole);
	/* 0:0:5e:0:53:1 may lack a last digit: a lone one that heads a line with
	 * neither name nor address is that. */
	if (is_address(s->text, s->a))
		return b_length == 1 && s->text[s->a - 2] == ':' && !s->second_named && !s->seconds
			&& is_address(s->text, s->whole);
	if (is_address(s->text, s->whole)) {
		/* Digits without separators might be two numbers. */
		if (is_bare(s->text, s->whole))
			return has_letter(s->text, s->whole) && s->firsts == 0 && s->seconds == 0 && !s->second_named;
		return true;
	}
	/* A slip in the address does not undo the wrap: ask whether the first piece
	 * is the beginning of one and the second has only what may end it. */
	if (!addresses_cut(s->text, s->a, false) || s->second_named || s->seconds || s->whole < 14 || s->whole > 18)
		return false;
	for (size_t i = 0; i < b_length; i++)
		if (!pm_is_alnum(b[i]) && b[i] != ':' && b[i] != '-' && b[i] != '.') return false;
	return true;
}

/* Bytes of the groups of two hex digits, parted by single blanks, that a line
 * starts with; the first may be the rest of one, or come after a blank. */
static size_t groups_at(const char *text, bool blank)
{
	size_t at = blank && text[0] == ' ', n = 0;
	while (n < 2 && pm_hex_value((unsigned char)text[at + n]) >= 0) n++;
	if (n == 0 || (text[at + n] && text[at + n] != ' ')) return 0;
	at += n;
	for (n = 0; n < 5 && text[at] == ' ' && pm_hex_value((unsigned char)text[at + 1]) >= 0
	     && pm_hex_value((unsigned char)text[at + 2]) >= 0 && (!text[at + 3] || text[at + 3] == ' '); n++)
		at += 3;
	return at;
}

/* "00 00 5E " + "00 53 01": the seam may fall on a blank. */
static bool cut_spaced(const struct seam *s)
{
	char text[64];
	const char *row = s->row->text;
	size_t length = s->row->length, begin = length, n = 0;
	size_t last = s->row->seams ? s->row->seam[s->row->seams - 1] : 0;
	size_t pad = s->row->columns - token_columns(row + last, length - last);
	/* "A2" alone has the shape of a name too. */
	bool octet = s->second_named && s->second_name.port == PM_NO_PORT && s->second_name.length <= 2;
	if (pad > 1 || (s->second_named && !octet)) return false;
	while (begin && length - begin < 18
	       && (pm_hex_value((unsigned char)row[begin - 1]) >= 0
	           || (row[begin - 1] == ' ' && begin > 1 && row[begin - 2] != ' '))) begin--;
	while (begin < length && row[begin] == ' ') begin++;
	/* A word may end in hex digits: only whole groups of two count. */
	while (begin < length && begin && row[begin - 1] != ' ') begin++;
	for (;;) {
		size_t group = 0;
		while (begin + group < length && row[begin + group] != ' ') group++;
		if (group <= 2 || begin >= length) break;
		begin += group;
		while (begin < length && row[begin] == ' ') begin++;
	}
	if (begin >= length) return false;
	memcpy(text, row + begin, length - begin);
	n = length - begin;
	for (size_t i = 0; i < pad; i++) text[n++] = ' ';
	size_t b = groups_at(s->next->text, pad == 0);
	if (b == 0) return false;
	memcpy(text + n, s->next->text, b);
	struct pm_eui48 address;
	enum pm_notation notation;
	if (!pm_eui48_read(text, n + b, &address, &notation, NULL) || notation != PM_SPACED) return false;
	return has_letter(text, n + b) || n >= 5;
}

/* Without a roster any word of a row that begins with its address may be the
 * name. */
static bool may_be_named(const struct seam *s, size_t count)
{
	for (size_t i = s->first[0].after; i < count; i++)
		if (name_possible(s->row->text, &s->wrap->first[i])) return true;
	return false;
}

static bool has_name(const struct seam *s, const char *text, const struct token *token, size_t count)
{
	struct name name;
	for (size_t i = 0; i < count; i++)
		if (name_at(s->wrap->names, text, token, count, i, &name)
		    && (!s->wrap->names->gear || name.port != PM_NO_PORT)) return true;
	return false;
}

/* "por" + "t7", or "port1" + "2" */
static bool cut_name(const struct seam *s)
{
	size_t port, a_port, b_port;
	const char *b = s->text + s->a;
	size_t b_length = s->whole - s->a;
	struct names *names = s->wrap->names;
	/* Under the heading of the names, without a roster to ask. */
	if (!names->gear && s->a && b_length && s->firsts && !s->seconds && s->first_count && is_bare(s->text, s->whole)
	    && columns_kind(s->wrap->columns, &s->wrap->first[s->first_count - 1]) & WORD_NAME) return true;
	if (s->a == 0 || b_length == 0 || !name_whole(names, s->text, s->whole, &port)) return false;
	/* Was the row named before its last token? */
	if (s->first_count && has_name(s, s->row->text, s->wrap->first, s->first_count - 1)) return false;
	if (s->firsts && s->seconds) return false;
	bool a_name = name_whole(names, s->text, s->a, &a_port), b_name = name_whole(names, b, b_length, &b_port);
	if (!names->gear && !a_name)
		return s->firsts == 1 && s->first[0].first == 0 && s->second_count == 1 && is_bare(s->text, s->a)
			&& !may_be_named(s, s->first_count - 1);
	if (!a_name) return !b_name && (s->firsts || s->seconds);
	/* The first piece is a name already: only a number can go on with it, and
	 * only where that number has no other sense. */
	if (!s->firsts || s->seconds || has_letter(b, b_length) || !is_bare(b, b_length)) return false;
	return s->second_count == 1 || (names->gear && collect_has(s->wrap->collect, a_port)
	                                && !collect_has(s->wrap->collect, port));
}

/* "hardware addr" + "ess" */
static bool cut_word(const struct seam *s)
{
	const unsigned kinds = WORD_ADDRESS | WORD_HARDWARE | WORD_NAME;
	if (s->a == 0 || s->whole == s->a || s->firsts || s->second_named) return false;
	return word_kind(s->text, s->whole) & kinds && !(word_kind(s->text, s->a) & kinds);
}

/* A heading too long for the terminal. */
static bool cut_heading(const struct seam *s)
{
	struct columns heading;
	if (s->second_all || s->second_named || s->next->text[0] == ' ') return false;
	if (!columns_read(s->row->text, s->wrap->first, s->first_count, &heading)) return false;
	for (size_t i = 0; i < s->second_count; i++)
		if (s->wrap->second[i].digit || s->wrap->second[i].value) return false;
	return s->wrap->second[0].kind & (WORD_NAME | WORD_ADDRESS | WORD_HARDWARE);
}

static size_t indent_of(const char *text)
{
	size_t n = 0;
	while (text[n] == ' ') n++;
	return n;
}

/* "hardware address" + "00-00-5E-00-53-01", "peer" + the same, or the break
 * somewhere before them in a line that belongs to a stanza. */
static bool word_and_value(const struct seam *s)
{
	struct columns heading;
	struct name bare;
	const struct token *t = s->wrap->second;
	if (s->firsts || s->second_named || !s->second_all) return false;
	/* A blank at the seam is no indentation of its own. */
	size_t deep = indent_of(s->next->text), before = indent_of(s->row->text);
	if (deep > 1 && deep >= before) return false;
	if (columns_read(s->row->text, s->wrap->first, s->first_count, &heading)) return false;
	if (s->second[0].first == 0
	    && addresses_phrase(s->wrap->first, s->first_count) & (WORD_HARDWARE | WORD_ADDRESS | WORD_OTHER))
		return true;
	return before && !(name_bare(s->next->text, t, s->second_count, &bare)
	                                   && bare.after < s->second_count && t[bare.after].gap >= 2);
}

static bool other_half(const struct seam *s)
{
	bool indented = s->next->length && s->next->text[0] == ' ';
	struct name word;
	bool named = s->first_named
		|| (s->seconds && s->second[0].first == 0 && s->row->text[0] != ' '
		    && name_bare(s->row->text, s->wrap->first, s->first_count, &word));
	if (named && !s->firsts && s->seconds && !s->second_named && !indented) {
		/* A word and a gap at its head make the second line a row of its own. */
		struct name bare;
		const struct token *t = s->wrap->second;
		bool own = name_bare(s->next->text, t, s->second_count, &bare) && bare.after < s->second_count
			&& t[bare.after].gap >= 2;
		return s->wrap->names->gear || !own;
	}
	/* An address heads the line, and the name comes behind the seam. */
	bool heads = s->firsts == 1 && s->first[0].first == 0 && s->row->text[0] != ' ';
	if (!heads || s->seconds || has_name(s, s->row->text, s->wrap->first, s->first_count)) return false;
	if (!s->wrap->names->gear && may_be_named(s, s->first_count)) return false;
	return has_name(s, s->next->text, s->wrap->second, s->second_count);
}

bool wrap_joins(const struct wrap *wrap, const struct row *row, const struct clean_line *next)
{
	if (next->length == 0 || row->length == 0 || row->cut || row->seams == ROW_MOST_SEAMS) return false;
	struct seam s = { .wrap = wrap, .row = row, .next = next };
	struct row *second = wrap->scratch;
	size_t last = row->seams ? row->seam[row->seams - 1] : 0;
	bool to_the_edge = token_columns(row->text + last, row->length - last) == row->columns;
	size_t tail = to_the_edge ? wrap_tail(row->text, row->length) : row->length;
	size_t head = head_of(next->text, next->length);
	if (row->length - tail < PIECE_MOST && head < PIECE_MOST) {
		s.a = row->length - tail;
		memcpy(s.text, row->text + tail, s.a);
		memcpy(s.text + s.a, next->text, head);
		s.whole = s.a + head;
	}
	memcpy(second->text, next->text, next->length);
	second->length = next->length;
	s.second_count = tokens_of(second->text, second->length, wrap->second, ROW_MOST_TOKENS);
	if (s.second_count == 0) return false;
	s.second_named = name_head(wrap->names, second->text, wrap->second, s.second_count, &s.second_name);
	s.second_all = addresses_find(second, wrap->second, s.second_count, wrap->columns, s.second, CANDIDATES_MOST);
	s.seconds = count_good(s.second, s.second_all);
	/* What began as a prompt or a log line goes on as one; but such lines come
	 * in every length, and the next may well be a heading. */
	if (line_is_prompt(row->text, row->length) || line_is_log(row->text, row->length))
		return s.a && head && !s.second_named && (row->columns == 80 || row->columns == 132);
	s.first_count = tokens_of(row->text, row->length, wrap->first, ROW_MOST_TOKENS);
	s.first_named = name_head(wrap->names, row->text, wrap->first, s.first_count, &s.first_name);
	size_t firsts = addresses_find(row, wrap->first, s.first_count, wrap->columns, s.first, CANDIDATES_MOST);
	s.firsts = count_good(s.first, firsts);
	/* The end of an address may look like a time of day: 00:00:5e:0 + 0:53:01. */
	if (s.a && s.whole > s.a && addresses_cut(s.text, s.a, false) && is_address(s.text, s.whole)) return true;
	if (line_is_prompt(next->text, next->length) || line_is_log(next->text, next->length)) return false;
	/* A line that is whole by itself stays so. */
	struct name beside;
	if (s.seconds && (s.second_named
	                  || (!addresses_spoken(wrap->second, &s.second[0])
	                      && name_beside(wrap->names, next->text, wrap->second, s.second_count, &s.second[0], &beside))))
		return false;
	return cut_address(&s) || cut_spaced(&s) || cut_name(&s) || cut_word(&s) || cut_heading(&s) || word_and_value(&s)
		|| other_half(&s);
}

bool wrap_append(struct row *row, const struct clean_line *next)
{
	size_t last = row->seams ? row->seam[row->seams - 1] : 0;
	size_t pad = row->columns - token_columns(row->text + last, row->length - last);
	if (row->seams == ROW_MOST_SEAMS || row->length + pad + next->length > ROW_MOST_BYTES) return false;
	memset(row->text + row->length, ' ', pad);
	row->length += pad;
	row->seam[row->seams] = row->length;
	row->seam_line[row->seams++] = next->line;
	memcpy(row->text + row->length, next->text, next->length + 1);
	row->length += next->length;
	row->columns = next->columns;
	row->cut |= next->cut;
	return true;
}
