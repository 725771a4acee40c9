#include "capture/pager.h"

#include <string.h>

#include "portmuster/text.h"

static size_t blanks(const char *text, size_t length)
{
	size_t n = 0;
	while (n < length && pm_is_blank(text[n])) n++;
	return n;
}

static bool starts(const char *text, size_t length, const char *word)
{
	size_t n = strlen(word);
	if (n > length) return false;
	for (size_t i = 0; i < n; i++)
		if (pm_lower((unsigned char)text[i]) != pm_lower((unsigned char)word[i])) return false;
	return true;
}

static bool is_open(int c)
{
	return c == '-' || c == '<' || c == '(' || c == '[' || c == '{' || c == '*' || c == '=';
}

static bool is_close(int c)
{
	return c == '-' || c == '>' || c == ')' || c == ']' || c == '}' || c == '*' || c == '=';
}

/* "41%", "(41%)", "[41 %]": how far the pager has come; 0 when not there. */
static size_t progress(const char *text, size_t length)
{
	size_t at = 0, digits = 0;
	bool bracket = length > 0 && (text[0] == '(' || text[0] == '[');
	if (bracket) at++;
	while (at < length && pm_is_digit(text[at]) && digits < 3) at++, digits++;
	if (digits == 0) return 0;
	at += blanks(text + at, length - at);
	if (at >= length || text[at] != '%') return 0;
	at++;
	if (bracket) {
		if (at >= length || !is_close(text[at])) return 0;
		at++;
	}
	return at;
}

/* A run of marks and blanks that holds at least one mark. */
static size_t marks(const char *text, size_t length, bool (*is_mark)(int))
{
	size_t end = 0;
	for (size_t at = 0; at < length && (is_mark(text[at]) || pm_is_blank(text[at])); at++)
		if (is_mark(text[at])) end = at + 1;
	return end;
}

/* marks "more" [progress] marks [progress], or "(end)" */
static size_t match_more(const char *text, size_t length)
{
	size_t open = marks(text, length, is_open), at = open;
	if (open == 0) return 0;
	bool dashed = text[at - 1] == '-' || text[at - 1] == '=' || text[at - 1] == '*';
	at += blanks(text + at, length - at);
	if (!dashed && starts(text + at, length - at, "end)")) return at + 4;
	if (!starts(text + at, length - at, "more")) return 0;
	at += 4;
	size_t gap = blanks(text + at, length - at);
	size_t far = progress(text + at + gap, length - at - gap);
	if (far) at += gap + far;
	size_t close = marks(text + at, length - at, is_close);
	/* Two prompts on end: the second one's marks are its own. */
	if (close > open && starts(text + at + close, length - at - close, "more")) close = open;
	if (close) at += close;
	else if (!far) return 0;
	gap = blanks(text + at, length - at);
	size_t after = progress(text + at + gap, length - at - gap);
	return after ? at + gap + after : at;
}

/* "press", "hit", "type" or "strike", a key, "to continue" or "for more". */
static size_t match_press(const char *text, size_t length)
{
	static const char *const verb[] = { "press ", "hit ", "type ", "strike " };
	static const char *const goal[] = { "to continue", "for more", "for next page" };
	size_t at = marks(text, length, is_open);
	at += blanks(text + at, length - at);
	size_t v = 0;
	while (v < sizeof verb / sizeof verb[0] && !starts(text + at, length - at, verb[v])) v++;
	if (v == sizeof verb / sizeof verb[0]) return 0;
	size_t begin = at + strlen(verb[v]);
	/* No key has a long name: what lies between is short, and no sentence. */
	for (at = begin; at < length && at - begin < 40; at++) {
		if (text[at] == '.' || text[at] == ';') return 0;
		if (!pm_is_blank(text[at])) continue;
		for (size_t g = 0; g < sizeof goal / sizeof goal[0]; g++) {
			if (!starts(text + at + 1, length - at - 1, goal[g])) continue;
			at += 1 + strlen(goal[g]);
			while (at < length && (text[at] == '.' || text[at] == ':')) at++;
			return at + marks(text + at, length - at, is_close);
		}
	}
	return 0;
}

static size_t match_given(const struct pager *pager, const char *text, size_t length)
{
	size_t best = 0;
	for (size_t i = 0; i < pager->count; i++) {
		size_t n = strlen(pager->text[i]);
		if (n > best && starts(text, length, pager->text[i])) best = n;
	}
	return best;
}

static size_t match(const struct pager *pager, const char *text, size_t length)
{
	if (length == 0 || !pager->first[(unsigned char)text[0]]) return 0;
	size_t n = match_given(pager, text, length);
	if (n == 0) n = match_more(text, length);
	if (n == 0) n = match_press(text, length);
	return n;
}

void pager_init(struct pager *pager)
{
	memset(pager, 0, sizeof *pager);
	for (const char *c = "-<([{*=pPhHtTsS"; *c; c++) pager->first[(unsigned char)*c] = true;
	for (const char *c = "->)]}*=%eE.:qQ"; *c; c++) pager->last[(unsigned char)*c] = true;
}

bool pager_add(struct pager *pager, const char *text)
{
	size_t length = strlen(text), skip = blanks(text, length);
	text += skip, length -= skip;
	while (length && pm_is_blank(text[length - 1])) length--;
	if (length == 0 || length > PAGER_MOST_LENGTH || pager->count == PAGER_MOST_TEXTS) return false;
	memcpy(pager->text[pager->count++], text, length);
	pager->first[(unsigned char)pm_lower((unsigned char)text[0])] = true;
	pager->first[(unsigned char)pm_upper((unsigned char)text[0])] = true;
	pager->last[(unsigned char)pm_lower((unsigned char)text[length - 1])] = true;
	pager->last[(unsigned char)pm_upper((unsigned char)text[length - 1])] = true;
	return true;
}

size_t pager_head(const struct pager *pager, const char *text, size_t length)
{
	size_t taken = 0;
	for (;;) {
		size_t at = taken + blanks(text + taken, length - taken);
		size_t n = match(pager, text + at, length - at);
		if (n == 0) return taken;
		taken = at + n;
		/* The answer may have been echoed: one blank, or a "q" that ends it all. */
		if (taken < length && pm_is_blank(text[taken])) taken++;
		if (taken + 1 == length && pm_lower((unsigned char)text[taken]) == 'q') taken++;
	}
}

/* Most lines that end in "e" are not prompts: tell it by the last word. */
static bool ends_in_goal(const char *text, size_t length)
{
	static const char *const word[] = { "continue", "more", "page" };
	for (size_t i = 0; i < sizeof word / sizeof word[0]; i++) {
		size_t n = strlen(word[i]);
		if (length > n && starts(text + length - n, n, word[i])) return true;
	}
	return false;
}

size_t pager_tail(const struct pager *pager, const char *text, size_t length)
{
	size_t left = length;
	for (;;) {
		size_t end = left;
		while (end && pm_is_blank(text[end - 1])) end--;
		if (end == 0 || !pager->last[(unsigned char)text[end - 1]]) return left;
		if (pager->count == 0 && pm_lower((unsigned char)text[end - 1]) == 'e'
		    && !ends_in_goal(text, end)) return left;
		/* Look for a prompt that reaches exactly to the end. */
		size_t least = end > 2 * PAGER_MOST_LENGTH ? end - 2 * PAGER_MOST_LENGTH : 0, found = end;
		for (size_t at = least; at < end && found == end; at++) {
			if (!pager->first[(unsigned char)text[at]]) continue;
			/* A prompt of letters starts a word. */
			if (at && pm_is_alpha(text[at]) && pm_is_alnum(text[at - 1])) continue;
			size_t n = match(pager, text + at, end - at);
			if (n && (at + n == end
			          || (at + n + 1 == end && pm_lower((unsigned char)text[end - 1]) == 'q')))
				found = at;
		}
		if (found == end) return left;
		left = found;
	}
}
