#include "capture/columns.h"

#include <string.h>

#include "capture/words.h"
#include "portmuster/text.h"

bool columns_read(const char *text, const struct token *token, size_t count, struct columns *columns)
{
	struct columns found = { .count = 0 };
	unsigned all = 0;
	/* Where marks part the headings they part the rows too. */
	found.fields = count > 1 && token[count - 1].field > token[0].field;
	for (size_t i = 0; i < count; i++) {
		if (token[i].digit || token[i].value || !token[i].alpha) return false;
		if (i == 0 || (found.fields ? token[i].field != token[i - 1].field : token[i].gap >= 2)) {
			if (found.count == COLUMNS_MOST) return false;
			found.item[found.count].field = token[i].field;
			found.item[found.count++].from = token[i].column;
		}
		struct column *column = &found.item[found.count - 1];
		column->to = token[i].column + token[i].width;
		column->kind |= token[i].kind;
		all |= token[i].kind;
		if (token[i].kind & WORD_NAME && !found.name_word[0] && token[i].length < sizeof found.name_word)
			memcpy(found.name_word, text + token[i].start, token[i].length);
	}
	if (found.count < 2 || !(all & (WORD_ADDRESS | WORD_HARDWARE))) return false;
	bool addresses = false, names = false;
	for (size_t i = 0; i < found.count; i++) {
		unsigned kind = found.item[i].kind;
		if (kind & WORD_NETWORK && !(kind & WORD_HARDWARE)) continue;
		if (kind & (WORD_ADDRESS | WORD_HARDWARE)) addresses = true;
		else if (kind & WORD_NAME) names = true;
	}
	if (!addresses || (!names && found.count < 3)) return false;
	/* A table of others says so in its first column: their addresses are not ours. */
	if (found.item[0].kind & WORD_OTHER)
		for (size_t i = 0; i < found.count; i++)
			if (found.item[i].kind & WORD_ADDRESS) found.item[i].kind |= WORD_OTHER;
	*columns = found;
	return true;
}

unsigned columns_kind(const struct columns *columns, const struct token *token)
{
	uint32_t from = token->column, to = token->column + token->width, best = 0;
	unsigned kind = 0;
	for (size_t i = 0; i < columns->count; i++) {
		const struct column *c = &columns->item[i];
		if (columns->fields) {
			if (c->field == token->field) return c->kind;
			continue;
		}
		uint32_t left = from > c->from ? from : c->from, right = to < c->to ? to : c->to;
		if (right > left && right - left > best) {
			best = right - left;
			kind = c->kind;
		}
	}
	return kind;
}
