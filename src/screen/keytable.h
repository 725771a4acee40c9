/* keytable.h - one list of keys from which events become requests, the key bar
 * is drawn and the help screen is written.
 *
 * Rows that follow one another with the same request are alternatives: the
 * first one has the label and the help, the others leave both null.
 */
#ifndef SCREEN_KEYTABLE_H
#define SCREEN_KEYTABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "screen/canvas.h"
#include "screen/event.h"

#define KEYTABLE_NONE (-1)   /* no request: never the request of a row */

struct keytable_row {
	enum screen_key key;   /* KEYS_NONE: the character `point` */
	uint32_t point;        /* the character, or the letter of KEYS_CTRL */
	int request;
	const char *label;     /* a word or two for the bar; null: not on it */
	const char *help;      /* a sentence for the help screen; null: not there */
};

/* The request of a key or character, or KEYTABLE_NONE. What came in an
 * unbracketed burst was pasted, not pressed: of a burst only keys that move
 * are taken. */
int keytable_request(const struct keytable_row *row, size_t count, const struct screen_event *event);

/* The name of a row's key as a person reads it: Enter, Esc, Ctrl-R, Space, ?.
 * Writes at most `room` bytes (16 are enough), terminated. */
void keytable_name(const struct keytable_row *row, char *out, size_t room);

/* Draw the bar, as "[Enter] confirm  [?] help", in `width` cells. When not
 * everything fits, the first rows stay, and the row of `?` stays in any case.
 * Returns how many rows are shown. */
int keytable_bar(const struct keytable_row *row, size_t count, struct canvas *canvas, int at_row, int at_column,
                 int width);

/* The next entry of the help: the names of its keys ("Down or j") and its
 * sentence. Start with *index = 0; false at the end. */
bool keytable_entry(const struct keytable_row *row, size_t count, size_t *index, char *names, size_t room,
                    const char **help);

/* Draw the help in a box, names in a column, sentences wrapped beside them;
 * skips the first `skip` lines and returns how many there are. With a null
 * canvas it only counts. */
int keytable_help(const struct keytable_row *row, size_t count, struct canvas *canvas, int at_row, int at_column,
                  int rows, int width, int skip);

#endif
