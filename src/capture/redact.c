#include "capture/redact.h"

#include <stdlib.h>
#include <string.h>

#include "capture/redact_rules.h"
#include "capture/redact_view.h"
#include "portmuster/text.h"

#define MOST_LINE 65536    /* a longer line is gone through in pieces */
#define MOST_ROUNDS 8      /* over one line */
#define MOST_EDITS 64      /* in one line: behind them all is cut off */

/* One place to be taken out: characters of the view, and whether their width
 * is to stay. */
struct edit {
	struct span span;
	bool keep_width;
};

struct buffer {
	char *data;
	size_t length, room;
};

struct redact {
	struct buffer line;        /* raw, from the start of the line that is not complete */
	struct buffer out;
	struct buffer again;       /* a redacted line on its way through once more */
	struct view view, screen;
	struct edit edit[MOST_EDITS];
	size_t edits;
	size_t count;              /* places taken out */
	bool key_block, key_seen;  /* inside a private key block; where it begins is left */
	bool asked;                /* the line before asked for a secret: this one may be it */
	bool wrapped;              /* the secret ran to the edge: the next line may have its end */
	bool dropping;             /* of an overlong line the rest goes */
	bool after_return;         /* the last byte was a carriage return */
	bool failed;
};

static void put(struct redact *r, struct buffer *buffer, const char *bytes, size_t length)
{
	if (length == 0)
		return;
	if (length > buffer->room - buffer->length) {
		size_t room = buffer->room ? buffer->room : 1024;
		while (room - buffer->length < length && room <= SIZE_MAX / 2)
			room *= 2;
		char *data = room - buffer->length < length ? NULL : realloc(buffer->data, room);
		if (!data) {
			r->failed = true;
			return;
		}
		buffer->data = data;
		buffer->room = room;
	}
	memcpy(buffer->data + buffer->length, bytes, length);
	buffer->length += length;
}

static void mark(struct redact *r)
{
	put(r, &r->out, REDACT_MARK, strlen(REDACT_MARK));
	r->count++;
}

/* Is the stretch redacted already? Where widths stay, the mark is filled up
 * with stars, and too short a place has nothing else. */
static bool is_mark(const char *text, struct span span, bool keep_width)
{
	const size_t length = strlen(REDACT_MARK);
	while (span.to > span.from && strchr(" \t\r", text[span.to - 1]))
		span.to--;
	bool marked = span.to - span.from >= length && memcmp(text + span.from, REDACT_MARK, length) == 0;
	size_t stars = span.from + (marked ? length : 0);
	while (stars < span.to && text[stars] == '*')
		stars++;
	return stars == span.to && (marked || keep_width);
}

static void add_edit(struct redact *r, struct span span, bool keep_width, size_t *cut)
{
	size_t at = r->edits;
	if (span.from >= span.to || is_mark(r->view.text, span, keep_width))
		return;
	for (size_t i = 0; i < r->edits; i++)
		if (span.from < r->edit[i].span.to && r->edit[i].span.from < span.to)
			return;
	if (r->edits == MOST_EDITS) {
		*cut = span.from < *cut ? span.from : *cut;
		return;
	}
	for (; at > 0 && r->edit[at - 1].span.from > span.from; at--)
		r->edit[at] = r->edit[at - 1];
	r->edit[at] = (struct edit){ span, keep_width };
	r->edits++;
}

/* Does the word stay? Behind a doubtful one interfaces' names do too. */
static bool keeps(const char *text, const struct hit *hit, struct span word)
{
	return rule_keeps_word(text, word) || (hit->rule->sense != REDACT_SURE && rule_is_interface(text, word));
}

/* The next word behind one that tells, and the one after a number or method: the
 * secret of "password 7 ABC" is not the 7. */
static size_t next_word(struct redact *r, const struct hit *hit, bool keep_width, size_t *cut)
{
	const char *text = r->view.text;
	size_t length = r->view.length;
	struct span word = rule_word(text, length, hit->value), second = rule_word(text, length, word.to);
	bool number = (word.to - word.from == 1 && pm_is_digit((unsigned char)text[word.from])) || rule_is_method(text, word);
	bool doubt = keep_width && hit->rule->sense != REDACT_SURE;
	bool last = keep_width && (second.from == second.to || keeps(text, hit, second) || (doubt && rule_tells(text, second)));
	if (keep_width && keeps(text, hit, word))
		return hit->word.to;
	/* another word that tells comes next, or a column's number */
	if (doubt && (rule_tells(text, word) || (number && last)))
		return hit->word.to;
	add_edit(r, word, keep_width, cut);
	if (number && !last)
		add_edit(r, second, keep_width, cut);
	if (number && !(doubt && last))
		return second.to;
	return word.to > hit->word.to ? word.to : hit->word.to;
}

/* All that is to be taken out of the view; returns where everything is cut off. */
static size_t find_secrets(struct redact *r)
{
	const char *text = r->view.text;
	size_t length = r->view.length, cut = length, columns = view_columns(&r->view);
	struct span shape;
	struct hit hit;
	r->edits = 0;
	for (size_t at = 0; rule_find(text, length, at, &hit);) {
		if (rule_must_stay(text, length, &hit, columns)) {
			bool heading = hit.rule->sense != REDACT_SURE && rule_is_heading(text, length, &hit);
			at = heading ? hit.word.to : next_word(r, &hit, true, &cut);
		} else if (hit.rule->what == REDACT_NEXT_WORD || hit.rule->what == REDACT_METHOD) {
			at = next_word(r, &hit, false, &cut);
		} else {
			cut = hit.value < cut ? hit.value : cut;
			break;
		}
	}
	for (size_t at = 0; rule_shape(text, cut, at, &shape); at = shape.to)
		add_edit(r, shape, false, &cut);
	return cut;
}

/* Where a line is cut off, and what then still stands before the mark. */
struct cutoff {
	size_t raw;
	const char *words;
	size_t length;
};

/* A line editor paints over what was typed first, so the word that tells may
 * never have been sent in one piece, and what it told of lies anywhere behind:
 * everything goes from where the word's place was first written to. False when
 * there is no such word. */
static bool cut_edited(struct redact *r, const char *raw, size_t length, struct cutoff *cutoff)
{
	const struct view *s = &r->screen;
	for (size_t from = 0, to; from < length; from = to + 1) {
		const char *end = memchr(raw + from, '\r', length - from);
		struct hit hit;
		to = end ? (size_t)(end - raw) : length;
		if (!view_screen(&r->screen, raw, from, to)) {
			r->failed = true;
			return false;
		}
		size_t shown = s->length;
		while (shown && s->text[shown - 1] == ' ')
			shown--;
		if (!rule_find(s->text, shown, 0, &hit) || is_mark(s->text, (struct span){ hit.value, shown }, false))
			continue;
		cutoff->raw = to;
		for (size_t i = hit.word.from; i < s->length; i++)
			cutoff->raw = s->at[i] < cutoff->raw ? s->at[i] : cutoff->raw;
		cutoff->words = s->text + hit.word.from;
		cutoff->length = hit.value - hit.word.from;
		return true;
	}
	return false;
}

static void put_edit(struct redact *r, const struct edit *edit)
{
	static const char stars[] = "****************";
	size_t width = edit->span.to - edit->span.from, done = 0;
	if (!edit->keep_width) {
		mark(r);
		return;
	}
	if (width >= strlen(REDACT_MARK)) {
		put(r, &r->out, REDACT_MARK, strlen(REDACT_MARK));
		done = strlen(REDACT_MARK);
	}
	for (size_t more; done < width; done += more) {
		more = width - done < sizeof stars - 1 ? width - done : sizeof stars - 1;
		put(r, &r->out, stars, more);
	}
	r->count++;
}

/* A line or a piece of one, without its end, as it is in the view. True when
 * something was taken out; `*cut_off` when that was all the rest. */
static bool put_once(struct redact *r, const char *raw, size_t length, bool *cut_off)
{
	const struct view *view = &r->view;
	size_t at = 0, cut = find_secrets(r), taken_out = 0;
	struct cutoff cutoff = { .raw = length }, edited;
	bool taken = cut < view->length && !is_mark(view->text, (struct span){ cut, view->length }, false);
	if (taken)
		cutoff.raw = view_raw(view, cut);
	if (view->edited && !rule_has_address(view->text, view->length) && cut_edited(r, raw, length, &edited) &&
	    (!taken || edited.raw < cutoff.raw)) {
		cutoff = edited;
		taken = true;
	}
	for (; taken_out < r->edits && view_raw(view, r->edit[taken_out].span.from) < cutoff.raw; taken_out++) {
		size_t from = view_raw(view, r->edit[taken_out].span.from);
		put(r, &r->out, raw + at, from - at);
		put_edit(r, &r->edit[taken_out]);
		at = view_raw(view, r->edit[taken_out].span.to);
	}
	if (at < cutoff.raw)
		put(r, &r->out, raw + at, cutoff.raw - at);
	if (taken) {
		put(r, &r->out, cutoff.words, cutoff.length);
		mark(r);
	}
	*cut_off = taken;
	return taken || taken_out;
}

/* What is left of a line may show a word that was painted over before: again,
 * until nothing more is found. */
static void put_text(struct redact *r, const char *raw, size_t length)
{
	const size_t start = r->out.length;
	size_t columns = view_columns(&r->view);
	bool taken, ignored;
	bool dangles = rule_dangles(r->view.text, r->view.length);
	bool more = put_once(r, raw, length, &taken);
	size_t count = r->count;
	for (int round = 0; more && !r->failed && round < MOST_ROUNDS; round++) {
		r->again.length = 0;
		put(r, &r->again, r->out.data + start, r->out.length - start);
		r->out.length = start;
		if (!view_of(&r->view, r->again.data, r->again.length)) {
			r->failed = true;
			return;
		}
		more = put_once(r, r->again.data, r->again.length, &ignored);
	}
	r->count = count;
	r->wrapped = taken && !r->key_block && (columns == 80 || columns == 132);
	r->dropping = taken || dangles;
}

/* The line without blanks around it. */
static struct span inner(const struct view *view)
{
	struct span all = { 0, view->length };
	while (all.to > all.from && strchr(" \t\r", view->text[all.to - 1]))
		all.to--;
	while (all.from < all.to && pm_is_blank(view->text[all.from]))
		all.from++;
	return all;
}

/* A line of one word that is no prompt: a secret on a line of its own, or the
 * end of one that a terminal broke at its edge. */
static bool is_one_word(const struct redact *r)
{
	const struct view *view = &r->view;
	struct span all = inner(view);
	if (all.to == all.from || strchr(">#$%:", view->text[all.to - 1]))
		return false;
	for (size_t i = all.from; i < all.to; i++)
		if (pm_is_blank(view->text[i]))
			return false;
	/* what is left of a longer line that was gone through already */
	const size_t mark_length = strlen(REDACT_MARK);
	if (all.to - all.from > mark_length && memcmp(view->text + all.to - mark_length, REDACT_MARK, mark_length) == 0)
		return false;
	return !is_mark(view->text, all, false) && !rule_keeps_word(view->text, all);
}

/* A line inside a private key block; false when it is not, or ends the block. */
static bool put_key(struct redact *r, const char *raw, size_t length)
{
	const struct view *view = &r->view;
	/* a line that is not of the key: the block was cut off */
	if (rule_key_ends(view->text, view->length) || !rule_key_body(view->text, view->length)) {
		r->key_block = false;
		return false;
	}
	struct span all = { 0, view->length };
	while (all.from < all.to && strchr(" \t\r", view->text[all.from]))
		all.from++;
	if (all.from == all.to || is_mark(view->text, all, false))
		put(r, &r->out, raw, length);
	else
		mark(r);
	return true;
}

static void put_line(struct redact *r, const char *raw, size_t length)
{
	/* in a key block the next line is the key's, whatever stood before it, unless
	 * its beginning was taken out */
	bool wrapped = r->wrapped, dropping = r->dropping, asked = r->asked && !(r->key_block && r->key_seen);
	r->wrapped = r->asked = false;
	if (!view_of(&r->view, raw, length)) {
		r->failed = true;
		return;
	}
	if (dropping && !rule_has_address(r->view.text, r->view.length))
		return;
	struct span all = inner(&r->view);
	if (r->key_block && put_key(r, raw, length)) {
		r->asked = asked && all.from == all.to;
		return;
	}
	bool asks = rule_asks(r->view.text, r->view.length);
	/* nothing yet: the answer may stand below */
	r->asked = asks || (asked && all.from == all.to);
	if ((asked || (wrapped && all.from == 0)) && is_one_word(r)) {
		size_t columns = view_columns(&r->view);
		r->wrapped = columns == 80 || columns == 132;
		mark(r);
		return;
	}
	/* a key begins in what came, or in what is left of it: then no more is seen
	 * of its end, neither now nor when this is read again */
	r->key_block = r->key_block || rule_key_begins(r->view.text, r->view.length);
	put_text(r, raw, length);
	r->key_seen = rule_key_begins(r->view.text, r->view.length);
	r->key_block = r->key_block || r->key_seen;
}

/* A complete line: its end goes through as it is. */
static void end_line(struct redact *r)
{
	const char *raw = r->line.data;
	size_t length = r->line.length;
	while (length && (raw[length - 1] == '\n' || raw[length - 1] == '\r' || raw[length - 1] == '\0'))
		length--;
	put_line(r, raw, length);
	put(r, &r->out, raw + length, r->line.length - length);
	r->line.length = 0;
	r->dropping = false;
}

/* A line that takes no end: gone through up to its last blank, so that no word
 * falls apart. */
static void end_piece(struct redact *r)
{
	size_t length = r->line.length;
	while (length > MOST_LINE - 1024 && r->line.data[length - 1] != ' ')
		length--;
	if (length == MOST_LINE - 1024)
		length = r->line.length;
	put_line(r, r->line.data, length);
	memmove(r->line.data, r->line.data + length, r->line.length - length);
	r->line.length -= length;
}

struct redact *redact_begin(void)
{
	return calloc(1, sizeof(struct redact));
}

void redact_free(struct redact *r)
{
	if (!r)
		return;
	free(r->line.data);
	free(r->out.data);
	free(r->again.data);
	view_free(&r->view);
	view_free(&r->screen);
	free(r);
}

/* Where the line that `bytes` go on with ends, or where it has reached its limit. */
static size_t take(struct redact *r, const char *bytes, size_t length, bool *ended)
{
	size_t room = MOST_LINE - r->line.length, i = 0;
	*ended = false;
	while (i < length && i < room && !*ended) {
		/* a carriage return with a NUL is a line end too (RFC 854) */
		*ended = bytes[i] == '\n' || (bytes[i] == '\0' && r->after_return);
		r->after_return = bytes[i] == '\r';
		i++;
	}
	return i;
}

bool redact_feed(struct redact *r, const void *bytes, size_t length, const char **out, size_t *out_length)
{
	const char *from = bytes;
	r->out.length = 0;
	while (length && !r->failed) {
		bool ended;
		size_t taken = take(r, from, length, &ended);
		put(r, &r->line, from, taken);
		from += taken;
		length -= taken;
		if (r->failed)
			break;
		if (ended)
			end_line(r);
		else if (r->line.length == MOST_LINE)
			end_piece(r);
	}
	*out = r->out.data ? r->out.data : "";
	*out_length = r->out.length;
	return !r->failed;
}

bool redact_end(struct redact *r, struct pm_arena *arena, const char **out, size_t *out_length)
{
	r->out.length = 0;
	if (r->line.length)
		end_line(r);
	char *copy = r->failed ? NULL : pm_arena_copy(arena, r->out.data ? r->out.data : "", r->out.length);
	*out = copy;
	*out_length = copy ? r->out.length : 0;
	redact_free(r);
	return copy != NULL;
}

char *redact_all(const void *bytes, size_t length, struct pm_arena *arena, size_t *out_length, size_t *count)
{
	struct redact *r = redact_begin();
	const char *kept, *rest;
	size_t kept_length, rest_length;
	if (!r)
		return NULL;
	struct buffer all = { 0 };
	if (redact_feed(r, bytes, length, &kept, &kept_length)) {
		/* the end's line goes into a buffer of its own: the first part stays put */
		all = r->out;
		r->out = (struct buffer){ 0 };
		if (r->line.length)
			end_line(r);
	}
	rest = r->out.data;
	rest_length = r->failed ? 0 : r->out.length;
	char *result = r->failed ? NULL : pm_arena_alloc(arena, kept_length + rest_length + 1);
	if (result) {
		if (kept_length)
			memcpy(result, all.data, kept_length);
		if (rest_length)
			memcpy(result + kept_length, rest, rest_length);
		*out_length = kept_length + rest_length;
		if (count)
			*count = r->count;
	}
	free(all.data);
	redact_free(r);
	return result;
}
