/* What tells that a router has started again while it was listing: lines seen
 * before its first prompt, log times that run backwards, and words. */
#include <string.h>

#include "capture/names.h"
#include "capture/talk_parts.h"
#include "portmuster/roster.h"
#include "portmuster/text.h"

#define LETTERS_LEAST 8   /* a shorter line may come back by chance */

/* Whole words, in lines that begin at the margin. */
static const char *const words[] = {
	"boot", "booting", "bootloader", "reboot", "rebooting", "restarting", "selftest", "self-test",
	"uncompressing", "kernel",
};

static uint32_t hash_line(const char *text, size_t length, size_t *letters)
{
	uint32_t hash = 2166136261u;
	*letters = 0;
	for (size_t i = 0; i < length; i++) {
		if (!pm_is_alpha(text[i])) continue;   /* numbers change from start to start */
		hash = (hash ^ (uint32_t)pm_lower((unsigned char)text[i])) * 16777619u;
		++*letters;
	}
	return hash;
}

/* "[   12.345] ...": the time in milliseconds, or -1. */
static int64_t stamp_of(const char *text, size_t length)
{
	size_t i = 1;
	int64_t seconds = 0, parts = 0, scale = 100;
	if (length < 4 || text[0] != '[') return -1;
	while (i < length && text[i] == ' ') i++;
	size_t begin = i;
	for (; i < length && pm_is_digit(text[i]) && i - begin < 9; i++) seconds = seconds * 10 + (text[i] - '0');
	if (i == begin) return -1;
	if (i < length && text[i] == '.')
		for (i++; i < length && pm_is_digit(text[i]); i++, scale /= 10) parts += (text[i] - '0') * scale;
	return i < length && text[i] == ']' ? seconds * 1000 + parts : -1;
}

static bool names_port(const struct pm_gear *gear, const char *text, size_t length)
{
	for (size_t i = 0; gear && i < length;) {
		size_t n = 0;
		while (i + n < length && (pm_is_alnum(text[i + n]) || strchr("-_/.", text[i + n]))) n++;
		if (n && pm_roster_find(gear, text + i, n) != PM_NO_PORT) return true;
		i += n ? n : 1;
	}
	return false;
}

void signs_learn(struct signs *signs, const struct pm_gear *gear, const char *text, size_t length)
{
	size_t letters;
	uint32_t hash = hash_line(text, length, &letters);
	int64_t stamp = stamp_of(text, length);
	if (stamp >= 0) signs->stamp = stamp;
	/* Log lines come at any time, and prompts are what a listing stands between. */
	if (line_is_log(text, length) || line_is_prompt(text, length)) return;
	if (names_port(gear, text, length)) {
		signs->listing = true;
		signs->count = 0;
	}
	if (letters < LETTERS_LEAST || text[0] == ' ' || signs->listing) return;
	if (signs->count < SIGNS_SEEN) signs->seen[signs->count++] = hash;
}

static bool has_word(const char *text, size_t length)
{
	for (size_t i = 0; i < length;) {
		size_t n = 0;
		while (i + n < length && (pm_is_alnum(text[i + n]) || text[i + n] == '-')) n++;
		for (size_t w = 0; w < sizeof words / sizeof *words; w++) {
			size_t k = 0;
			while (k < n && pm_lower((unsigned char)text[i + k]) == words[w][k]) k++;
			if (n && k == n && words[w][k] == '\0') return true;
		}
		i += n ? n : 1;
	}
	return false;
}

bool signs_tell(struct signs *signs, const char *text, size_t length)
{
	int64_t stamp = stamp_of(text, length), before = signs->stamp;
	size_t letters;
	if (length == 0) return false;
	if (stamp >= 0) {
		signs->stamp = stamp;
		if (before >= 0 && stamp + 1000 < before) return true;
		text = strchr(text, ']') + 1;
		length = strlen(text);
		while (length && text[0] == ' ') text++, length--;
		return has_word(text, length);
	}
	if (text[0] == ' ' || line_is_prompt(text, length)) return false;
	uint32_t hash = hash_line(text, length, &letters);
	for (size_t i = 0; letters >= LETTERS_LEAST && i < signs->count; i++)
		if (signs->seen[i] == hash) return true;
	return has_word(text, length);
}
