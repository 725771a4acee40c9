#include "capture/cells.h"

#include <string.h>

#include "portmuster/text.h"

#define MOST CLEAN_MOST_COLUMNS

static void widen(struct cells *c)
{
	if (c->wide) return;
	for (size_t i = 0; i < c->length; i++) c->point[i] = (unsigned char)c->text[i];
	c->wide = true;
}

void cells_extend(struct cells *c, size_t column)
{
	for (; c->length < column; c->length++) {
		c->text[c->length] = ' ';
		if (c->wide) c->point[c->length] = ' ';
	}
}

void cells_put(struct cells *c, uint32_t point)
{
	if (c->at >= MOST) {
		c->cut = true;
		return;
	}
	cells_extend(c, c->at);
	if (point >= 0x80) widen(c);
	c->text[c->at] = point < 0x80 ? (char)point : (char)0x80;
	if (c->wide) c->point[c->at] = point;
	if (++c->at > c->length) c->length = c->at;
}

static bool all_blank(const struct cells *c)
{
	for (size_t i = 0; i < c->length; i++)
		if (c->text[i] != ' ') return false;
	return true;
}

void cells_take_prompt(struct cells *c)
{
	size_t left = pager_tail(&c->pager, c->text, c->length);
	if (left == c->length) return;
	c->length = left;
	c->vanished = true;
}

void cells_back(struct cells *c, size_t column)
{
	cells_take_prompt(c);
	c->at = column;
	if (column == 0 && all_blank(c)) c->length = 0;
}

void cells_erase(struct cells *c, uint32_t how)
{
	cells_take_prompt(c);
	if (how == 0) {
		if (c->length > c->at) c->length = c->at;
	} else if (how == 1) {
		for (size_t i = 0; i <= c->at && i < c->length; i++) {
			c->text[i] = ' ';
			if (c->wide) c->point[i] = ' ';
		}
	} else if (how == 2) {
		c->length = 0;
	}
	if (all_blank(c)) c->length = 0;
}

void cells_blank(struct cells *c, size_t count)
{
	for (size_t i = c->at; i < c->length && i - c->at < count; i++) {
		c->text[i] = ' ';
		if (c->wide) c->point[i] = ' ';
	}
}

bool cells_line(struct cells *c, struct clean_line *line)
{
	size_t skip = pager_head(&c->pager, c->text, c->length);
	size_t end = pager_tail(&c->pager, c->text, c->length);
	if (skip || end < c->length) c->vanished = true;
	if (end < skip) end = skip;
	size_t columns = end - skip;
	while (end > skip && c->text[end - 1] == ' ') end--;
	if (end == skip) columns = 0;
	if (end == skip && c->vanished) return false;

	char *text = c->text;
	size_t length = end - skip;
	if (c->wide) {
		text = c->out;
		length = 0;
		for (size_t i = skip; i < end; i++) {
			char bytes[4];
			size_t n = pm_utf8_put(c->point[i], bytes);
			memcpy(text + length, bytes, n);
			length += n;
		}
	} else if (skip) {
		memmove(text, text + skip, length);
	}
	text[length] = '\0';
	line->text = text;
	line->length = length;
	line->columns = columns;
	line->cut = c->cut;
	return true;
}

void cells_reset(struct cells *c)
{
	c->length = c->at = 0;
	c->wide = c->cut = c->vanished = false;
}
