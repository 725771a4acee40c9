#include "cmd/json_out.h"

#include <stdio.h>
#include <stdlib.h>

#include "portmuster/text.h"

bool cmd_put_json(json_t *value, size_t indent)
{
	char *text = value ? json_dumps(value, JSON_ENSURE_ASCII | JSON_ENCODE_ANY | JSON_INDENT(indent)) : NULL;
	json_decref(value);
	if (!text)
		return false;
	/* DEL is the one control character that JSON lets stand, and strings are
	 * the one place where it can */
	for (const char *at = text; *at; at++)
		if (*at == 0x7F)
			fputs("\\u007f", stdout);
		else
			putchar(*at);
	free(text);
	return true;
}

json_t *cmd_json_text(const char *bytes, size_t length)
{
	json_t *plain = json_stringn(bytes, length);
	if (plain)
		return plain;
	struct pm_arena arena;
	struct pm_text text;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	pm_text_visible(&text, bytes, length);
	json_t *visible = text.cut ? NULL : json_stringn(text.data, text.length);
	pm_arena_free(&arena);
	return visible;
}
