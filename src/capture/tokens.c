#include "capture/tokens.h"

#include <string.h>

#include "capture/words.h"
#include "portmuster/eui48.h"
#include "portmuster/text.h"

enum kind { OTHER, BLANK, PART };

/* Every line goes through this: ASCII by table. */
static const unsigned char kinds[128] = {
	[' '] = BLANK, ['\t'] = BLANK, [','] = PART, [';'] = PART, ['|'] = PART, ['('] = PART, [')'] = PART,
	['['] = PART, [']'] = PART, ['{'] = PART, ['}'] = PART, ['<'] = PART, ['>'] = PART, ['"'] = PART,
	['\''] = PART, ['`'] = PART, ['='] = PART, ['*'] = PART, ['!'] = PART, ['?'] = PART,
};

bool token_parts(char c)
{
	unsigned char byte = (unsigned char)c;
	return byte < 0x20 || (byte < 0x80 && kinds[byte] != OTHER);
}

static enum kind class_of(const char *text, size_t length, size_t *used)
{
	unsigned char c = (unsigned char)text[0];
	*used = 1;
	if (c < 0x80) return kinds[c];
	uint32_t point;
	*used = pm_utf8_next(text, length, &point);
	if (point == 0xA0) return BLANK;
	return point >= 0x2500 && point <= 0x257F ? PART : OTHER;   /* drawn frames */
}

uint32_t token_columns(const char *text, size_t length)
{
	uint32_t columns = 0;
	for (size_t i = 0; i < length; i++)
		if (((unsigned char)text[i] & 0xC0) != 0x80) columns++;
	return columns;
}

static bool is_trim(char c)
{
	return c == ':' || c == '.' || c == '-' || c == '_' || c == '+' || c == '~' || c == '#';
}

static void describe(const char *text, struct token *token)
{
	token->digit = token->alpha = false;
	token->hex = true;
	for (size_t i = 0; i < token->length; i++) {
		char c = text[token->start + i];
		if (pm_is_digit(c)) token->digit = true;
		else if (pm_is_alpha(c)) token->alpha = true;
		if (pm_hex_value((unsigned char)c) < 0) token->hex = false;
	}
	token->width = token_columns(text + token->start, token->length);
	token->kind = token->alpha ? word_kind(text + token->start, token->length) : 0;
}

/* "mac:00-00-5E-00-53-01" is a word and its value: the bytes before the colon,
 * or 0. What is all hex digits may be an octet and is left alone. */
static size_t word_before(const char *text, size_t length)
{
	size_t colon = 0;
	bool word = false;
	while (colon < length && text[colon] != ':') {
		if (pm_is_alpha(text[colon]) && pm_hex_value((unsigned char)text[colon]) < 0) word = true;
		colon++;
	}
	if (!word || !pm_is_alpha(text[0]) || colon + 11 > length) return 0;
	/* Rather a slip in the first octet, when the rest would be five octets. */
	size_t colons = 0;
	for (size_t i = colon + 1; i < length; i++) colons += text[i] == ':';
	return colon <= 2 && colons == 4 ? 0 : colon;
}

size_t tokens_of(const char *text, size_t length, struct token *token, size_t room)
{
	size_t count = 0, i = 0;
	uint32_t column = 0, gap = 0, field = 0;
	bool parted = false, value = false;
	while (i < length && count + 1 < room) {
		size_t used;
		enum kind kind = class_of(text + i, length - i, &used);
		if (kind == BLANK || kind == PART) {
			/* A frame's rule is as good as the gap between two columns. */
			if (kind == BLANK) gap++;
			else if (text[i] == '=') value = true;
			else if (text[i] == '|' || used > 1) gap += 2;
			else if (strchr(",;)]}>", text[i])) parted = true;
			if (kind == PART && (text[i] == ',' || text[i] == ';' || text[i] == '|' || used > 1)) field++;
			i += used, column++;
			continue;
		}
		size_t start = i;
		uint32_t start_column = column;
		while (i < length && kind != BLANK && kind != PART) {
			i += used, column++;
			if (i < length) kind = class_of(text + i, length - i, &used);
		}
		size_t end = i, begin = start;
		/* What hangs on at the ends is punctuation; a lone run of it parts nothing. */
		while (begin < end && (text[begin] == ':' || text[begin] == '.' || text[begin] == '#'
		                       || text[begin] == '+' || text[begin] == '~')) begin++;
		if (begin < end && begin == start && text[begin] == '-'
		    && (begin + 1 == end || is_trim(text[begin + 1])))
			while (begin < end && is_trim(text[begin])) begin++;
		bool colon_before = false;
		for (size_t j = start; j < begin; j++) colon_before |= text[j] == ':';
		while (end > begin && (text[end - 1] == ':' || text[end - 1] == '.')) end--;
		if (begin == end) {
			gap = 0;
			value |= colon_before;
			continue;
		}
		uint32_t at_column = start_column + (uint32_t)(begin - start);
		value |= colon_before;
		while (count + 1 < room) {
			size_t word = word_before(text + begin, end - begin);
			struct token *t = &token[count++];
			*t = (struct token){
				.start = (uint32_t)begin, .length = (uint32_t)(word ? word : end - begin),
				.column = at_column, .gap = gap, .field = field, .parted = parted, .value = value,
			};
			describe(text, t);
			if (!word) break;
			begin += word + 1;
			at_column += (uint32_t)word + 1;
			gap = 0;
			parted = false;
			value = true;
		}
		gap = 0;
		parted = false;
		value = false;
		for (size_t j = end; j < i; j++) value |= text[j] == ':';
	}
	return count;
}
