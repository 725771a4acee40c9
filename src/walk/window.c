/* A window as people write one: "2026-03-09 09:00 +01:00 to 11:00". */
#include <string.h>

#include "portmuster/text.h"
#include "walk/state.h"

#define WORDS 5

struct words {
	char word[WORDS][40];
	size_t count;
};

static bool split(const char *typed, struct words *words)
{
	words->count = 0;
	while (*typed) {
		while (pm_is_blank(*typed))
			typed++;
		if (!*typed)
			break;
		if (words->count == WORDS)
			return false;
		struct pm_text text;
		pm_text_fixed(&text, words->word[words->count++], sizeof words->word[0]);
		while (*typed && !pm_is_blank(*typed))
			pm_text_char(&text, *typed++);
		if (text.cut)
			return false;
	}
	return true;
}

static void put_time(struct pm_text *out, const char *date, const char *time, const char *offset)
{
	pm_text_add(out, "%sT%s%s%s", date, time, strlen(time) == 5 ? ":00" : "", offset);
}

bool walk_window(const char *typed, char out[static 80], const char **why)
{
	struct pm_when from, until;
	struct words w;
	struct pm_text text;
	pm_text_fixed(&text, out, 80);
	if (strchr(typed, '/')) {
		pm_text_str(&text, typed);
		return !text.cut && pm_window_read(out, &from, &until, why);
	}
	*why = "a window is a date, a time, an offset, and the end";
	if (!split(typed, &w) || w.count < 4)
		return false;
	/* date time offset [to] end; the end is a time of the same day */
	size_t end = w.count == 5 ? 4 : 3;
	if (w.count == 5 && strcmp(w.word[3], "to") != 0 && strcmp(w.word[3], "-") != 0)
		return false;
	put_time(&text, w.word[0], w.word[1], w.word[2]);
	pm_text_char(&text, '/');
	put_time(&text, w.word[0], w.word[end], w.word[2]);
	return !text.cut && pm_window_read(out, &from, &until, why);
}
