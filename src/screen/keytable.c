#include "screen/keytable.h"

#include <string.h>

#include "portmuster/text.h"

#define NAMES_ROOM  64
#define NAMES_MOST  20   /* cells of the names' column before sentences move below */

static bool same_key(const struct keytable_row *row, const struct screen_event *event)
{
	switch (event->kind) {
	case EVENT_KEY:
		return row->key == event->key && row->key != KEYS_NONE &&
		       (row->key != KEYS_CTRL || row->point == event->point);
	case EVENT_CHARACTER:
		return row->key == KEYS_NONE && row->point == event->point;
	case EVENT_PASTE: case EVENT_RESIZE: case EVENT_TICK: case EVENT_STOP: case EVENT_INTERRUPT:
		return false;
	}
	return false;
}

/* Keys that only move may come in a burst; nothing else may act from one. */
static bool only_moves(const struct screen_event *event)
{
	if (event->kind != EVENT_KEY)
		return false;
	switch (event->key) {
	case KEYS_UP: case KEYS_DOWN: case KEYS_LEFT: case KEYS_RIGHT: case KEYS_HOME: case KEYS_END:
	case KEYS_PAGE_UP: case KEYS_PAGE_DOWN:
		return true;
	case KEYS_NONE: case KEYS_ENTER: case KEYS_ESCAPE: case KEYS_TAB: case KEYS_BACK_TAB:
	case KEYS_ERASE: case KEYS_DELETE: case KEYS_CTRL:
		return false;
	}
	return false;
}

int keytable_request(const struct keytable_row *row, size_t count, const struct screen_event *event)
{
	if (event->burst && !only_moves(event))
		return KEYTABLE_NONE;
	for (size_t i = 0; i < count; i++)
		if (same_key(&row[i], event))
			return row[i].request;
	return KEYTABLE_NONE;
}

static const char *key_word(enum screen_key key)
{
	switch (key) {
	case KEYS_ENTER: return "Enter";
	case KEYS_ESCAPE: return "Esc";
	case KEYS_TAB: return "Tab";
	case KEYS_BACK_TAB: return "Shift-Tab";
	case KEYS_UP: return "Up";
	case KEYS_DOWN: return "Down";
	case KEYS_LEFT: return "Left";
	case KEYS_RIGHT: return "Right";
	case KEYS_HOME: return "Home";
	case KEYS_END: return "End";
	case KEYS_PAGE_UP: return "PgUp";
	case KEYS_PAGE_DOWN: return "PgDn";
	case KEYS_ERASE: return "Backspace";
	case KEYS_DELETE: return "Del";
	case KEYS_CTRL: return "Ctrl-";
	case KEYS_NONE: break;
	}
	return "";
}

void keytable_name(const struct keytable_row *row, char *out, size_t room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	pm_text_str(&text, key_word(row->key));
	if (row->key == KEYS_CTRL) {
		pm_text_char(&text, (char)pm_upper((int)row->point));
	} else if (row->key == KEYS_NONE && row->point == ' ') {
		pm_text_str(&text, "Space");
	} else if (row->key == KEYS_NONE) {
		char bytes[4];
		pm_text_visible(&text, bytes, pm_utf8_put(row->point, bytes));
	}
}

/* One entry of the bar, such as "[Enter] confirm". */
static void bar_entry(const struct keytable_row *row, char *out, size_t room)
{
	char name[16];
	keytable_name(row, name, sizeof name);
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	pm_text_add(&text, "[%s] %s", name, row->label);
}

static const struct keytable_row *help_row(const struct keytable_row *row, size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (row[i].key == KEYS_NONE && row[i].point == '?' && row[i].label)
			return &row[i];
	return NULL;
}

int keytable_bar(const struct keytable_row *row, size_t count, struct canvas *canvas, int at_row, int at_column,
                 int width)
{
	static const char gap[] = "  ";
	const int gap_width = (int)sizeof gap - 1;
	char entry[96];
	int total = 0;
	for (size_t i = 0; i < count; i++) {
		if (!row[i].label)
			continue;
		bar_entry(&row[i], entry, sizeof entry);
		total += canvas_width(entry) + (total ? gap_width : 0);
	}
	/* what always stays is kept free at the end */
	const struct keytable_row *kept = total > width ? help_row(row, count) : NULL;
	int room = width;
	if (kept) {
		bar_entry(kept, entry, sizeof entry);
		room -= canvas_width(entry) + gap_width;
	}
	canvas_fill(canvas, at_row, at_column, 1, width, STYLE_BAR, ' ');
	int used = 0, shown = 0;
	for (size_t i = 0; i < count; i++) {
		if (!row[i].label || &row[i] == kept)
			continue;
		bar_entry(&row[i], entry, sizeof entry);
		int next = used + (used ? gap_width : 0);
		if (next + canvas_width(entry) > room)
			break;
		used = next + canvas_put(canvas, at_row, at_column + next, room - next, STYLE_BAR, entry);
		shown++;
	}
	if (kept) {
		bar_entry(kept, entry, sizeof entry);
		int next = used + (used ? gap_width : 0);
		canvas_put(canvas, at_row, at_column + next, width - next, STYLE_BAR, entry);
		shown++;
	}
	return shown;
}

bool keytable_entry(const struct keytable_row *row, size_t count, size_t *index, char *names, size_t room,
                    const char **help)
{
	size_t i = *index;
	while (i < count && !row[i].help)
		i++;
	if (i == count)
		return false;
	struct pm_text text;
	pm_text_fixed(&text, names, room);
	*help = row[i].help;
	const int request = row[i].request;
	for (bool first = true; i < count && row[i].request == request && (first || !row[i].help); i++) {
		char name[16];
		keytable_name(&row[i], name, sizeof name);
		pm_text_str(&text, first ? "" : " or ");
		pm_text_str(&text, name);
		first = false;
	}
	*index = i;
	return true;
}

/* How wide the names' column must be. */
static int names_width(const struct keytable_row *row, size_t count, int width)
{
	char names[NAMES_ROOM];
	const char *help;
	int widest = 0;
	for (size_t i = 0; keytable_entry(row, count, &i, names, sizeof names, &help);) {
		int wide = canvas_width(names);
		widest = wide > widest ? wide : widest;
	}
	widest = widest > NAMES_MOST ? NAMES_MOST : widest;
	return widest > width / 2 ? width / 2 : widest;
}

int keytable_help(const struct keytable_row *row, size_t count, struct canvas *canvas, int at_row, int at_column,
                  int rows, int width, int skip)
{
	const int column = names_width(row, count, width) + 2;
	char names[NAMES_ROOM];
	const char *help;
	int line = 0;
	for (size_t i = 0; keytable_entry(row, count, &i, names, sizeof names, &help);) {
		int shown = line - skip;
		if (canvas && shown >= 0 && shown < rows)
			canvas_put(canvas, at_row + shown, at_column, width, STYLE_STRONG, names);
		/* names that overrun their column have the sentence below them */
		if (canvas_width(names) > column - 2)
			line++;
		shown = line - skip;
		int hidden = shown < 0 ? -shown : 0;
		int first = shown < 0 ? 0 : shown;
		int lines = canvas_wrap(first < rows ? canvas : NULL, at_row + first, at_column + column, rows - first,
		                        width - column, STYLE_PLAIN, help, hidden);
		line += lines ? lines : 1;
	}
	return line;
}
