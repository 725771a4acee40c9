#include "capture/skim_line.h"

#include <string.h>

#include "capture/addresses.h"
#include "capture/names.h"
#include "capture/serials.h"
#include "capture/vec.h"
#include "portmuster/text.h"

/* --- what a terminal makes of a line ------------------------------------------------ */

static void take_cleaned(void *context, const struct clean_line *line)
{
	struct skim_line *l = context;
	l->cleaned = *line;
	if (line->cut) l->cleaned.columns = CLEAN_MOST_COLUMNS;
	l->vanished = false;
}

bool skim_line_init(struct skim_line *l, const struct pm_gear *gear)
{
	memset(l, 0, sizeof *l);
	l->gear = gear;
	pager_init(&l->pager);
	if (!sieve_init(&l->sieve, gear) || !(l->probe = clean_new(take_cleaned, l))) return false;
	for (size_t i = 0; gear && i < gear->console.pagers.count; i++) {
		const char *text = gear->console.pagers.item[i].text;
		if (!text || !pager_add(&l->pager, text)) continue;
		clean_pager(l->probe, text);
		while (pm_is_blank(*text)) text++;
		/* It would hide where an address ends. */
		if (pm_hex_value((unsigned char)*text) >= 0) return false;
		l->given_first[(unsigned char)pm_lower((unsigned char)*text)] = true;
		l->given_first[(unsigned char)pm_upper((unsigned char)*text)] = true;
	}
	return clean_feed(l->probe, "\n", 1);   /* line feeds end lines from here on */
}

void skim_line_free(struct skim_line *l)
{
	clean_free(l->probe);
}

bool skim_line_clean(struct skim_line *l, const char *raw, size_t length)
{
	l->vanished = true;
	return clean_feed(l->probe, raw, length);
}

bool skim_line_has_prompt(const struct skim_line *l, const char *text, size_t length)
{
	return pager_head(&l->pager, text, length) > 0 || pager_tail(&l->pager, text, length) < length;
}

/* pager_head, asked only where its prompts can begin: "press", "hit", "type" and
 * "strike" are told from most words by two letters. */
static bool begins_prompt(const struct skim_line *l, const char *text, size_t length)
{
	size_t i = 0;
	while (i + 1 < length && text[i] == ' ') i++;
	if (i + 1 >= length || !l->pager.first[(unsigned char)text[i]]) return false;
	if (pm_is_alpha(text[i]) && !l->given_first[(unsigned char)text[i]] && !strchr("riytRIYT", text[i + 1])) return false;
	return pager_head(&l->pager, text, length) > 0;
}

bool skim_line_may_reach(const struct skim_line *l, const char *text, size_t length)
{
	return begins_prompt(l, text, length) || (length > 80 && begins_prompt(l, text + 80, length - 80))
		|| (length > 132 && begins_prompt(l, text + 132, length - 132));
}

/* The usual stamps before a log line: "2026-02-03 ", "2026-02-03T", "12:30:05 "
 * and "[  312.45]". line_is_log knows them too, and others; these are told at
 * once, as lines come in millions. Reads sixteen bytes. */
static bool has_stamp(const char *text, size_t length)
{
	if (length < VEC) return false;
	vec v = vec_load(text);
	uint32_t digits = vec_bits(vec_in(v, '0', 10)), blanks = vec_bits(vec_is(v, ' '));
	uint32_t dashes = vec_bits(vec_is(v, '-')), colons = vec_bits(vec_is(v, ':'));
	uint32_t close = vec_bits(vec_is(v, ']')), within = digits | blanks | vec_bits(vec_is(v, '.'));
	/* what lies before the bracket that closes, the one that opens left out */
	uint32_t before = (close & (0 - close)) - 2;
	/* No `&&`: which of them it is can't be foreseen. */
	bool date = ((digits & 0x36F) == 0x36F) & ((dashes & 0x90) == 0x90) & ((blanks >> 10 & 1) | (text[10] == 'T'));
	bool time = ((digits & 0x0DB) == 0x0DB) & ((colons & 0x24) == 0x24) & (blanks >> 8 & 1);
	bool bracket = (text[0] == '[') & (close != 0) & ((within & before) == before) & ((digits & before) != 0);
	return date | time | bracket;
}

bool skim_line_dead(const struct skim_line *l, const char *text, size_t length)
{
	size_t i = 0;
	while (i < length && text[i] == ' ') i++;
	if (i == length || l->given_first[(unsigned char)text[i]]) return false;
	if (i == 0 && has_stamp(text, length)) return true;
	/* Only digits, brackets and the name of a month begin one. */
	char c = text[i];
	if (!pm_is_digit(c) && c != '[' && c != '<' && c != '(' && (i + 3 >= length || text[i + 3] != ' ')) return false;
	return line_is_log(text, length);
}

/* --- a closer look ------------------------------------------------------------------- */

/* As the reader itself sees it, with no heading above. */
bool skim_line_matters(struct skim_line *l, const char *text, size_t length)
{
	struct candidate candidate[CANDIDATES_MOST];
	struct columns heading;
	struct malformed bad;
	size_t at = pager_head(&l->pager, text, length);
	length = pager_tail(&l->pager, text, length);
	if (length <= at) return false;
	text += at, length -= at;
	if (line_is_prompt(text, length)) return false;
	memcpy(l->row.text, text, length);
	l->row.text[length] = '\0';
	l->row.length = length;
	size_t count = tokens_of(l->row.text, length, l->token, ROW_MOST_TOKENS);
	if (serial_find(l->gear, l->row.text, l->token, count, &at)) return true;
	size_t found = addresses_find(&l->row, l->token, count, &l->no_columns, candidate, CANDIDATES_MOST);
	if (found == CANDIDATES_MOST) return true;
	for (size_t i = 0; i < found; i++)
		if (candidate[i].rank != RANK_NONE) return true;
	at = 0;
	if (addresses_malformed(&l->row, l->token, count, &l->no_columns, candidate, found, &at, &bad)) return true;
	return found == 0 && count && columns_read(l->row.text, l->token, count, &heading);
}

static void note(void *context, size_t at)
{
	(void)at;
	*(bool *)context = true;
}

/* Does the sieve catch anything in the text? */
static bool is_caught(struct skim_line *l, const char *text, size_t length)
{
	char *at = l->space + SIEVE_MARGIN;
	bool caught = false;
	memset(l->space, '\n', SIEVE_MARGIN);
	memcpy(at, text, length);
	memset(at + length, '\n', 2 * SIEVE_MARGIN);
	/* What ends with the text is found one byte behind it. */
	sieve_run(&l->sieve, at, length / SIEVE_UNIT + 1, note, &caught);
	return caught;
}

/* Typographic dashes and blanks, which the sieve does not know. */
static bool has_dash(const char *text, size_t length)
{
	for (size_t i = 0; i + 1 < length; i++) {
		unsigned char a = (unsigned char)text[i], b = (unsigned char)text[i + 1];
		if ((a == 0xE2 && (b == 0x80 || b == 0x88)) || (a == 0xC2 && b == 0xA0)) return true;
	}
	return false;
}

bool skim_line_cleaned_matters(struct skim_line *l)
{
	const struct clean_line *c = &l->cleaned;
	return (has_dash(c->text, c->length) || is_caught(l, c->text, c->length))
		&& skim_line_matters(l, c->text, c->length);
}

/* --- the terminal's edge ----------------------------------------------------------------- */

void skim_line_keep_seam(struct skim_line *l)
{
	const struct clean_line *c = &l->cleaned;
	size_t pad = c->columns - token_columns(c->text, c->length);
	if (pad > SEAM_HALF) pad = SEAM_HALF;
	size_t take = SEAM_HALF - pad < c->length ? SEAM_HALF - pad : c->length;
	memcpy(l->seam, c->text + c->length - take, take);
	memset(l->seam + take, ' ', pad);
	l->seam_length = take + pad;
}

bool skim_line_seam_matters(struct skim_line *l)
{
	const struct clean_line *c = &l->cleaned;
	size_t take = c->length < SEAM_HALF ? c->length : SEAM_HALF;
	if (c->length == 0) return false;
	memcpy(l->seam + l->seam_length, c->text, take);
	return is_caught(l, l->seam, l->seam_length + take) || has_dash(l->seam, l->seam_length + take);
}
