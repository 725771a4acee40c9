/* json_out.h - JSON on standard output, in ASCII. */
#ifndef CMD_JSON_OUT_H
#define CMD_JSON_OUT_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

/* Results are to be JSON. From here on the program ends, saying so, when there is no
 * memory for a value: a result that lacks a key without a word would be believed.
 * cmd_option_next calls it at --json. */
void cmd_json_begin(void);

/* Print `value` and give it up; false when it is null or memory ran out. Text
 * from outside reaches the terminal as \u escapes only. No line end follows. */
bool cmd_put_json(json_t *value, size_t indent);

/* A string of text from outside: as it is when it is UTF-8, else as
 * pm_text_visible writes it. Null when memory ran out. */
json_t *cmd_json_text(const char *bytes, size_t length);

#endif
