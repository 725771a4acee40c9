#include "capture/serials.h"

#include <string.h>

#include "capture/words.h"
#include "portmuster/text.h"

#define SERIAL_MOST 40

/* Do the tokens from `i` on spell the phrase? Returns how many it takes. */
static size_t spells(const char *text, const struct token *token, size_t count, size_t i, const char *phrase)
{
	size_t used = 0;
	while (*phrase) {
		size_t n = 0;
		while (pm_is_blank(*phrase) || *phrase == ':') phrase++;
		while (phrase[n] && !pm_is_blank(phrase[n]) && phrase[n] != ':') n++;
		if (n == 0) break;
		if (i + used >= count || token[i + used].length != n) return 0;
		const char *word = text + token[i + used].start;
		for (size_t k = 0; k < n; k++)
			if (pm_lower((unsigned char)word[k]) != pm_lower((unsigned char)phrase[k])) return 0;
		phrase += n;
		used++;
	}
	return used;
}

static bool is_value(const char *text, const struct token *t, bool said)
{
	if (!t->digit || t->width > SERIAL_MOST || t->width < (said ? 2 : 4)) return false;
	for (size_t i = 0; i < t->length; i++) {
		char c = text[t->start + i];
		if (!pm_is_alnum(c) && c != '-' && !(said && (c == '/' || c == '.' || c == '_'))) return false;
	}
	return true;
}

bool serial_find(const struct pm_gear *gear, const char *text, const struct token *token,
                 size_t count, size_t *found)
{
	for (size_t i = 0; i + 1 < count; i++) {
		size_t at = i;
		bool said = false;
		for (size_t k = 0; gear && k < gear->console.serials.count && at == i; k++) {
			const char *phrase = gear->console.serials.item[k].text;
			if (phrase) at = i + spells(text, token, count, i, phrase);
			said = at > i;
		}
		if (at == i && token[i].kind & WORD_SERIAL) at = i + 1;
		if (at == i) continue;
		if (i && token[i - 1].kind & (WORD_PART | WORD_OTHER) && token[i].gap <= 1 && !token[i].parted) continue;
		while (at < count && token[at].kind & WORD_NUMBER) at++, said = true;
		if (at < count && !token[at].digit && token[at].length == 2
		    && pm_lower((unsigned char)text[token[at].start]) == 'i'
		    && pm_lower((unsigned char)text[token[at].start + 1]) == 's') at++, said = true;
		if (at >= count) continue;
		said |= token[at].value;
		if (!said && token[at].kind & WORD_LINE) continue;
		if (!is_value(text, &token[at], said)) continue;
		/* "serial 9600 baud" is a speed. */
		const struct token *unit = at + 1 < count ? &token[at + 1] : NULL;
		if (unit && spells(text, token, count, at + 1, "baud") + spells(text, token, count, at + 1, "bps")
		    + spells(text, token, count, at + 1, "bit/s") + spells(text, token, count, at + 1, "8N1") > 0) continue;
		*found = at;
		return true;
	}
	return false;
}
