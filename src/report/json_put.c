#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"
#include "report/json_parts.h"

bool json_put(FILE *out, json_t *value, size_t indent)
{
	char *text = value ? json_dumps(value, JSON_ENSURE_ASCII | JSON_ENCODE_ANY | JSON_INDENT(indent)) : NULL;
	json_decref(value);
	if (!text)
		return false;
	/* DEL is the one control character that JSON lets stand, and strings are
	 * the one place where it can */
	for (const char *at = text; *at;) {
		size_t plain = strcspn(at, "\x7F");
		fwrite(at, 1, plain, out);
		at += plain;
		if (*at) {
			fputs("\\u007f", out);
			at++;
		}
	}
	free(text);
	return !ferror(out);
}

json_t *json_safe(const char *bytes, size_t length)
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

json_t *json_text(const char *string)
{
	return string ? json_safe(string, strlen(string)) : json_null();
}
