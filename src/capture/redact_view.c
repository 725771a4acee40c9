#include "capture/redact_view.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"

enum { BACKSPACE = 0x08, ESCAPE = 0x1B, DELETE = 0x7F };

static bool make_room(struct view *view, size_t room)
{
	if (room <= view->room)
		return true;
	char *text = realloc(view->text, room);
	if (text)
		view->text = text;
	size_t *at = text && room <= SIZE_MAX / sizeof *at ? realloc(view->at, room * sizeof *at) : NULL;
	if (!at)
		return false;
	view->at = at;
	view->room = room;
	return true;
}

/* Behind the escape sequence at `i`. Only what steers is skipped: the text of a
 * window title could hide a word, so it counts as text. `*final` is the letter
 * of a control sequence or 0, `*number` its first number. */
static size_t behind_escape(const char *raw, size_t i, size_t length, char *final, size_t *number)
{
	*final = 0;
	*number = 0;
	if (++i < length && raw[i] == '[') {
		bool first = true;
		for (i++; i < length && raw[i] >= 0x20 && raw[i] < 0x40; i++) {
			if (pm_is_digit((unsigned char)raw[i]) && first && *number < VIEW_MOST_COLUMNS)
				*number = *number * 10 + (size_t)(raw[i] - '0');
			first = first && raw[i] != ';';
		}
		if (i < length && raw[i] >= 0x40 && raw[i] < 0x7F)
			*final = raw[i++];
		return i;
	}
	while (i < length && raw[i] >= 0x20 && raw[i] < 0x30)
		i++;
	return i < length && raw[i] >= 0x30 && raw[i] < 0x7F ? i + 1 : i;
}

static bool printable(char c)
{
	unsigned char byte = (unsigned char)c;
	return byte >= 0x20 && byte != DELETE;
}

bool view_of(struct view *view, const char *raw, size_t length)
{
	size_t number;
	char final;
	if (!make_room(view, length + 1))
		return false;
	view->length = 0;
	view->raw = length;
	view->edited = false;
	for (size_t i = 0; i < length;) {
		if (raw[i] == ESCAPE) {
			i = behind_escape(raw, i, length, &final, &number);
			view->edited |= final && final != 'm';
			continue;
		}
		view->edited |= raw[i] == BACKSPACE;
		if (printable(raw[i]) || raw[i] == '\t' || raw[i] == '\r') {
			view->text[view->length] = raw[i];
			view->at[view->length++] = i;
		}
		i++;
	}
	return true;
}

/* --- as on a screen --- */

static void put(struct view *view, size_t *cursor, char c, size_t raw)
{
	if (*cursor >= VIEW_MOST_COLUMNS)
		return;
	while (view->length <= *cursor) {
		view->text[view->length] = ' ';
		view->at[view->length++] = raw;
	}
	view->text[(*cursor)++] = c;
}

/* Blank from `from` up to `to`; the columns stay, for what stood there counts. */
static void blank(struct view *view, size_t from, size_t to)
{
	if (to > view->length)
		to = view->length;
	if (from < to)
		memset(view->text + from, ' ', to - from);
}

static void steer(struct view *view, size_t *cursor, char final, size_t number)
{
	size_t count = number ? number : 1;
	size_t left = *cursor < view->length ? view->length - *cursor : 0;
	size_t moved = count < left ? count : left;
	switch (final) {
	case 'D': *cursor -= count < *cursor ? count : *cursor; break;
	case 'C': *cursor += count; break;
	case 'G': *cursor = count - 1; break;
	case 'K':
		blank(view, number == 0 ? *cursor : 0, number == 1 ? *cursor + 1 : view->length);
		break;
	case 'P':   /* characters taken out: the rest moves up */
		memmove(view->text + *cursor, view->text + *cursor + moved, left - moved);
		blank(view, view->length - moved, view->length);
		break;
	case '@':   /* blanks put in; what falls off the end is no word to look for */
		memmove(view->text + *cursor + moved, view->text + *cursor, left - moved);
		blank(view, *cursor, *cursor + moved);
		break;
	}
	if (*cursor > VIEW_MOST_COLUMNS)
		*cursor = VIEW_MOST_COLUMNS;
}

bool view_screen(struct view *view, const char *raw, size_t from, size_t to)
{
	size_t cursor = 0, number;
	char final;
	if (!make_room(view, VIEW_MOST_COLUMNS + 1))
		return false;
	view->length = 0;
	view->raw = to;
	for (size_t i = from; i < to;) {
		if (raw[i] == ESCAPE) {
			i = behind_escape(raw, i, to, &final, &number);
			steer(view, &cursor, final, number);
			continue;
		}
		if (raw[i] == BACKSPACE)
			cursor -= cursor > 0;
		else if (printable(raw[i]) || raw[i] == '\t')
			put(view, &cursor, raw[i], i);
		i++;
	}
	return true;
}

size_t view_columns(const struct view *view)
{
	size_t columns = 0;
	for (size_t i = view->length; i-- && view->text[i] != '\r';)
		columns += ((unsigned char)view->text[i] & 0xC0) != 0x80;
	return columns;
}

size_t view_raw(const struct view *view, size_t i)
{
	return i < view->length ? view->at[i] : view->raw;
}

void view_free(struct view *view)
{
	free(view->text);
	free(view->at);
	*view = (struct view){ 0 };
}
