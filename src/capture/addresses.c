#include "capture/addresses.h"

#include <string.h>

#include "capture/words.h"
#include "portmuster/text.h"

#define PHRASE_MOST 6

unsigned addresses_phrase(const struct token *token, size_t i)
{
	unsigned kinds = 0;
	for (size_t k = i; k > 0 && i - k < PHRASE_MOST; k--) {
		const struct token *before = &token[k - 1];
		/* A gap or a comma ends a phrase, but may stand before the address itself. */
		if (k < i && (token[k].parted || token[k].gap >= 2)) break;
		if (!before->kind && (before->digit || !before->alpha)) {
			/* "peer port7 mac": what is said of the peer's port */
			if (before->alpha && !before->value && !before->parted && before->gap < 2 && k > 1)
				kinds |= token[k - 2].kind & WORD_OTHER;
			break;
		}
		if (before->value && !(before->kind & (WORD_HARDWARE | WORD_ADDRESS | WORD_OTHER))) break;
		kinds |= before->kind;
	}
	return kinds;
}

bool addresses_spoken(const struct token *token, const struct candidate *candidate)
{
	return addresses_phrase(token, candidate->first) & (WORD_HARDWARE | WORD_ADDRESS);
}

static bool all_decimal(const char *text, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if (pm_is_alpha(text[i])) return false;
	return true;
}

/* "gateway 192.0.2.1 hardware address ...": the line is about somebody else
 * until a gap or a comma. */
static bool led_by_other(const struct token *token, size_t i)
{
	if (!(token[0].kind & WORD_OTHER)) return false;
	for (size_t k = 1; k < i; k++)
		if (token[k].parted || (token[k].gap >= 2 && !token[k].value)) return false;
	return i > 0;
}

static enum rank rank_of(const struct row *row, const struct token *token, const struct columns *columns,
                         const struct candidate *c, enum pm_notation notation)
{
	unsigned phrase = addresses_phrase(token, c->first);
	unsigned column = columns_kind(columns, &token[c->first]);
	bool unsure = notation == PM_BARE;
	if (column & WORD_OTHER) return RANK_NONE;
	if (column & WORD_HARDWARE) return RANK_HARDWARE;
	if (led_by_other(token, c->first)) return RANK_NONE;
	if (phrase & WORD_OTHER && !(column & WORD_ADDRESS)) return RANK_NONE;
	if (phrase & WORD_HARDWARE) return RANK_HARDWARE;
	if (unsure && (phrase | column) & WORD_IDENT) return RANK_NONE;
	if ((phrase | column) & WORD_ADDRESS) return RANK_ADDRESS;
	/* Counters and versions look the same when no letter tells. */
	if ((unsure || notation == PM_DOT_TWO || notation == PM_SPACED)
	    && all_decimal(row->text + c->start, c->length)) return RANK_NONE;
	/* All ones is the broadcast address: of no interface. */
	if (pm_eui48_number(&c->address) == 0xFFFFFFFFFFFFu) return RANK_NONE;
	return unsure ? RANK_BARE : RANK_PLAIN;
}

static bool is_octet(const struct token *token)
{
	return token->length == 2 && token->hex;
}

/* Octets parted by single blanks, exactly six. */
static size_t spaced_run(const struct token *token, size_t count, size_t i)
{
	size_t n = 0;
	while (i + n < count && is_octet(&token[i + n])
	       && (n == 0 || (token[i + n].gap == 1 && !token[i + n].parted))) n++;
	return n;
}

static bool read_tokens(const struct row *row, const struct token *first, const struct token *last,
                        struct candidate *c, enum pm_notation *notation)
{
	c->start = first->start;
	c->length = last->start + last->length - first->start;
	/* A prefix length may hang on: 00-00-5E-00-53-01/48. */
	const char *slash = memchr(row->text + c->start, '/', c->length);
	if (slash && first == last) {
		size_t rest = c->start + c->length - (size_t)(slash + 1 - row->text);
		if (rest > 0 && rest <= 2 && all_decimal(slash + 1, rest)) c->length -= rest + 1;
	}
	return pm_eui48_read(row->text + c->start, c->length, &c->address, notation, NULL);
}

/* After a word for it even stray blanks are borne: the longest that reads. */
static size_t read_after_word(const struct row *row, const struct token *token, size_t count, size_t i,
                              struct candidate *c, enum pm_notation *notation)
{
	if (!(addresses_phrase(token, i) & (WORD_HARDWARE | WORD_ADDRESS))) return 0;
	size_t best = 0;
	for (size_t n = 1; n < 12 && i + n < count; n++) {
		const struct token *last = &token[i + n];
		if (last->gap > 2 || last->parted || last->value) break;
		if (!last->hex && !last->digit) break;
		struct candidate longer = *c;
		enum pm_notation found;
		if (read_tokens(row, &token[i], last, &longer, &found)) {
			*c = longer;
			*notation = found;
			best = n + 1;
		}
	}
	return best;
}

size_t addresses_find(const struct row *row, const struct token *token, size_t count,
                      const struct columns *columns, struct candidate *out, size_t room)
{
	size_t found = 0;
	for (size_t i = 0; i < count && found < room;) {
		struct candidate c = { .first = i };
		enum pm_notation notation;
		size_t used = 0, run = spaced_run(token, count, i);
		if (run > 1) {
			/* "port 10 00 00 5E ...": the number belongs to the name. */
			size_t skip = run == 7 && i && token[i - 1].kind & WORD_PAIR ? 1 : 0;
			c.first = i + skip;
			if (run - skip == 6
			    && read_tokens(row, &token[c.first], &token[i + run - 1], &c, &notation)) used = run;
		} else if (token[i].length >= 11 && pm_hex_value((unsigned char)row->text[token[i].start]) >= 0
		           && read_tokens(row, &token[i], &token[i], &c, &notation)) {
			used = 1;
		}
		if (!used && pm_hex_value((unsigned char)row->text[token[i].start]) >= 0 && token[i].digit)
			used = read_after_word(row, token, count, i, &c, &notation);
		if (!used) {
			i += run > 1 ? run : 1;
			continue;
		}
		c.after = i + used;
		c.rank = rank_of(row, token, columns, &c, notation);
		if (c.rank != RANK_NONE || notation != PM_BARE) out[found++] = c;
		i += used;
	}
	return found;
}

/* --- what is none ------------------------------------------------------------ */

struct shape {
	size_t groups, longest, shortest, digits, letters, looks, octet_groups;
	size_t hyphens, colons, dots, empty;
	bool strange;          /* a character that is in no address, nor in a slip of one */
};

static struct shape shape_of(const char *text, size_t length)
{
	struct shape s = { .shortest = SIZE_MAX };
	size_t group = 0;
	for (size_t i = 0; i <= length;) {
		uint32_t point = 0;
		size_t used = i < length ? pm_utf8_next(text + i, length - i, &point) : 1;
		bool dash = (point >= 0x2010 && point <= 0x2015) || point == 0x2212 || point == '-';
		if (i == length || dash || point == ':' || point == '.') {
			if (group == 0) s.empty++;
			else s.groups++;
			if (group > s.longest) s.longest = group;
			if (group < s.shortest) s.shortest = group;
			if (group == 2) s.octet_groups++;
			group = 0;
			if (i < length) {
				if (dash) s.hyphens++;
				else if (point == ':') s.colons++;
				else s.dots++;
			}
		} else if (point < 0x80 && pm_is_alnum((int)point)) {
			group++;
			int value = pm_hex_value((int)point);
			if (value >= 0 && value < 10) s.digits++;
			else if (value >= 0) s.letters++;
			else if (strchr("oqilzsgthjx", pm_lower((int)point))) s.looks++;
			else s.strange = true;
		} else {
			s.strange = true;
		}
		i += used;
	}
	return s;
}

/* What it takes to take it for an address gone wrong: 3 nothing more, 2 a word
 * such as "address", 1 a word such as "hardware", 0 it is none. */
static int likeness(const char *text, size_t length)
{
	struct shape s = shape_of(text, length);
	size_t characters = s.digits + s.letters + s.looks, marks = s.hyphens + s.colons + s.dots;
	if (length < 4 || characters < 4 || s.digits + s.letters < characters / 2 || s.digits == 0) return 0;
	if (marks == 0) {
		if (s.strange && characters < 10) return 0;
		return characters >= 8 && characters <= 18 ? 1 : 0;
	}
	if (s.strange) return s.octet_groups >= 4 && s.groups >= 5 && marks >= 4 && characters >= 8 ? 3 : 0;
	/* Network addresses, dates, times, identifiers. */
	if (s.dots == 3 && s.letters + s.looks == 0
	    && (s.groups == 4 || (s.groups == 5 && s.colons == 1 && s.hyphens == 0))) return 0;
	if (s.colons && s.empty && (s.longest > 2 || s.groups < 5)) return 0;
	if (s.colons >= 6 && s.longest > 3) return 0;
	if (s.longest > 5) return 0;
	if (s.dots == marks) {
		if (s.groups == 3 && s.longest >= 3 && characters >= 9 && characters <= 14)
			return s.letters + s.looks ? 2 : 1;
		if (s.groups == 4 && s.longest == 4 && s.shortest == 4) return 2;
		if (s.groups < 5 || s.groups > 8 || s.longest > 3) return 0;
		return s.letters + s.looks ? 3 : 1;
	}
	if (s.longest > 4 || s.groups > 9) return 0;
	if (s.groups >= 5 && s.octet_groups >= 3) return 3;
	if (s.groups >= 4) return 2;
	return s.groups == 3 && s.longest == 4 && s.letters + s.looks ? 2 : s.groups == 3 ? 0 : 1;
}

static void explain(const struct row *row, struct malformed *out)
{
	struct pm_eui48 address;
	struct pm_eui48_fault fault = { PM_EUI48_OK, 1 };
	pm_eui48_read(row->text + out->start, out->length, &address, NULL, &fault);
	out->reason = fault.reason;
	out->column = fault.column ? fault.column - 1 : 0;
}

/* Groups parted by blanks after a word for a hardware address. */
static size_t spaced_slip(const struct row *row, const struct token *token, size_t count, size_t i)
{
	size_t n = 0;
	while (i + n < count && n < 9 && token[i + n].length <= 3 && token[i + n].length >= 1
	       && (n == 0 || (token[i + n].gap == 1 && !token[i + n].parted && !token[i + n].value))) {
		struct shape s = shape_of(row->text + token[i + n].start, token[i + n].length);
		if (s.strange || s.hyphens + s.colons + s.dots || s.looks > 1) break;
		n++;
	}
	return n >= 5 ? n : 0;
}

bool addresses_malformed(const struct row *row, const struct token *token, size_t count,
                         const struct columns *columns, const struct candidate *candidate,
                         size_t candidates, size_t *from, struct malformed *out)
{
	for (size_t i = *from; i < count; i++) {
		bool taken = false;
		for (size_t k = 0; k < candidates; k++)
			taken |= i >= candidate[k].first && i < candidate[k].after;
		if (taken || !(token[i].digit || token[i].hex)) continue;
		int like = likeness(row->text + token[i].start, token[i].length);
		bool may_run = token[i].length <= 3;
		if (!like && !may_run) continue;
		unsigned phrase = addresses_phrase(token, i), column = columns_kind(columns, &token[i]);
		if ((column | phrase) & WORD_OTHER) continue;
		if ((column | phrase) & WORD_NETWORK && !((column | phrase) & WORD_HARDWARE)) continue;
		bool hardware = (column | phrase) & WORD_HARDWARE, word = hardware || (column | phrase) & WORD_ADDRESS;
		size_t run = may_run && word ? spaced_slip(row, token, count, i) : 0;
		if (!run && like + (hardware || column & WORD_ADDRESS ? 2 : word ? 1 : 0) < 3) continue;
		const struct token *last = run ? &token[i + run - 1] : &token[i];
		*out = (struct malformed){
			.start = token[i].start, .length = last->start + last->length - token[i].start, .vouched = word,
		};
		explain(row, out);
		if (out->reason == PM_EUI48_OK) continue;
		*from = i + (run ? run : 1);
		return true;
	}
	*from = count;
	return false;
}

bool addresses_cut(const char *text, size_t length, bool bare)
{
	struct pm_eui48 address;
	if (length == 0 || pm_eui48_read(text, length, &address, NULL, NULL)) return false;
	struct shape s = shape_of(text, length);
	size_t characters = s.digits + s.letters, marks = s.hyphens + s.colons + s.dots;
	if (s.strange || s.looks || characters >= 12 || characters == 0 || s.digits == 0) return false;
	if (s.empty > 1 || (s.empty && pm_is_alnum(text[length - 1]))) return false;
	if (marks == 0) return bare;
	if ((s.hyphens > 0) + (s.colons > 0) + (s.dots > 0) > 1) return false;
	if (s.dots) return (bare || marks > 1 || s.letters) && s.longest <= 4 && s.groups <= 6;
	return (bare || marks > 1) && s.longest <= 2 && s.groups <= 6;
}

bool addresses_lacks_digit(const char *text, size_t length)
{
	if (length < 3 || !pm_is_alnum(text[length - 1]) || text[length - 2] != ':') return false;
	for (size_t i = 0; i + 1 < length; i++)
		if (text[i] == '0' && pm_is_alnum(text[i + 1]) && (i == 0 || text[i - 1] == ':')) return true;
	return false;
}
