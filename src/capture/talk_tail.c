/* What the unfinished line at the cursor is: a prompt, a pager's, a question
 * for a name or a password, or only text on its way. */
#include <string.h>

#include "capture/talk_parts.h"
#include "portmuster/text.h"

#define PROMPT_MOST 64   /* of a prompt known by its shape only */
#define NEAR_MOST 80

/* Whole words that ask for what nobody but the person may give. */
static const char *const login_words[] = {
	"login", "username", "user", "userid", "password", "passwd", "passphrase", "passcode", "pin",
};

/* Pagers of the usual shapes, for the comparison of torn ones. */
static const char *const usual_pagers[] = { "--more--", "-- more --", "press any key to continue" };

bool tails_begin(struct tails *tails, const struct pm_gear *gear, char *why, size_t room)
{
	const struct pm_console *console = gear ? &gear->console : NULL;
	tails->pattern = false;
	pager_init(&tails->pager);
	if (!console) return true;
	for (size_t i = 0; i < console->pagers.count; i++)
		if (console->pagers.item[i].text) pager_add(&tails->pager, console->pagers.item[i].text);
	if (!pm_given(console->prompt)) return true;
	int error = regcomp(&tails->prompt, console->prompt.text, REG_EXTENDED);
	if (error) {
		struct pm_text text;
		char reason[100];
		regerror(error, &tails->prompt, reason, sizeof reason);
		pm_text_fixed(&text, why, room);
		pm_text_str(&text, "the gear profile's prompt ");
		pm_text_quote(&text, console->prompt.text);
		pm_text_add(&text, " is no POSIX extended regular expression: ");
		pm_text_visible(&text, reason, strlen(reason));
		return false;
	}
	tails->pattern = true;
	return true;
}

void tails_free(struct tails *tails)
{
	if (tails->pattern) regfree(&tails->prompt);
	tails->pattern = false;
}

/* Is one text made of the other by at most `most` characters lost, added or changed? */
static bool is_near(const char *a, size_t m, const char *b, size_t n, unsigned most)
{
	unsigned char row[NEAR_MOST + 1];
	if (n > NEAR_MOST || m > NEAR_MOST || m > n + most || n > m + most) return false;
	for (size_t j = 0; j <= n; j++) row[j] = (unsigned char)j;
	for (size_t i = 1; i <= m; i++) {
		unsigned diagonal = row[0];
		row[0] = (unsigned char)i;
		for (size_t j = 1; j <= n; j++) {
			bool same = pm_lower((unsigned char)a[i - 1]) == pm_lower((unsigned char)b[j - 1]);
			unsigned best = diagonal + !same;
			if (row[j] + 1u < best) best = row[j] + 1u;
			if (row[j - 1] + 1u < best) best = row[j - 1] + 1u;
			diagonal = row[j];
			row[j] = (unsigned char)best;
		}
	}
	return row[n] <= most;
}

/* Does the text end in something that is nearly `pager`? */
static bool ends_near(const char *text, size_t length, const char *pager)
{
	size_t n = strlen(pager);
	unsigned most = n >= 12 ? 2 : 1;
	if (n < 6) return false;
	for (size_t take = n - most; take <= n + most && take <= length; take++)
		if (is_near(text + length - take, take, pager, n, most)) return true;
	return false;
}

static bool is_torn(const struct tails *tails, const char *text, size_t length)
{
	for (size_t i = 0; i < tails->pager.count; i++)
		if (ends_near(text, length, tails->pager.text[i])) return true;
	for (size_t i = 0; i < sizeof usual_pagers / sizeof *usual_pagers; i++)
		if (ends_near(text, length, usual_pagers[i])) return true;
	return false;
}

/* A word for it, and then the end of the line or a mark: also with a character
 * gone wrong, as nothing must be typed there. */
static bool is_login(const char *text, size_t length)
{
	char last = text[length - 1];
	bool asks = last == ':' || last == '?', marked = last == '>' || last == '=';
	for (size_t i = 0; i < length;) {
		size_t n = 0;
		while (i + n < length && pm_is_alpha(text[i + n])) n++;
		for (size_t w = 0; n && w < sizeof login_words / sizeof *login_words; w++) {
			size_t word = strlen(login_words[w]);
			if (is_near(text + i, n, login_words[w], word, word >= 5 && asks ? 1 : 0)
			    && (asks || i + n + marked == length)) return true;
		}
		i += n ? n : 1;
	}
	return false;
}

static bool matches(const regex_t *prompt, const char *text, size_t length)
{
	regmatch_t all;
	return regexec(prompt, text, 1, &all, 0) == 0 && all.rm_so == 0 && (size_t)all.rm_eo == length;
}

/* A word and a mark, and nothing that only running text has. */
static bool is_likely(const char *text, size_t length, bool colon)
{
	char mark = text[length - 1];
	if (length < 2 || length > PROMPT_MOST) return false;
	if (mark != '>' && mark != '#' && mark != '$' && !(mark == ':' && colon)) return false;
	char before = text[length - 2], first = text[0];
	if (!pm_is_alnum(before) && !strchr(")]}~/_*", before)
	    && !(before == ' ' && length > 2 && (pm_is_alnum(text[length - 3]) || text[length - 3] == ']')))
		return false;
	if (!pm_is_alnum(first) && first != '[' && first != '(' && first != '<') return false;
	for (size_t i = 1; i < length; i++)
		if ((text[i] == ' ' && text[i - 1] == ' ') || (unsigned char)text[i] >= 0x80) return false;
	return true;
}

enum tail tail_of(const struct tails *tails, const char *text, size_t length)
{
	char line[TALK_TAIL_MOST + 1];
	size_t skip = 0, end = length;
	while (end && pm_is_blank(text[end - 1])) end--;
	if (end == 0) return TAIL_BLANK;
	/* Of a long line only the end can be a pager's. */
	if (length > TALK_TAIL_MOST) skip = length - TALK_TAIL_MOST;
	if (end <= skip) return TAIL_OTHER;
	memcpy(line, text + skip, length - skip);
	length -= skip, end -= skip;
	line[length] = '\0';
	if (tails->pattern && skip == 0) {
		if (matches(&tails->prompt, line, length)) return TAIL_PROMPT;
		line[end] = '\0';
		if (matches(&tails->prompt, line, end)) return TAIL_PROMPT;
		line[end] = length > end ? text[skip + end] : '\0';
	}
	if (pager_tail(&tails->pager, line, length) < length) return TAIL_PAGER;
	if (is_login(line, end)) return TAIL_LOGIN;
	/* With a pattern at hand, a colon is rather a line on its way. */
	if (skip == 0 && is_likely(line, end, !tails->pattern)) return TAIL_LIKELY;
	return is_torn(tails, line, end) ? TAIL_TORN : TAIL_OTHER;
}
