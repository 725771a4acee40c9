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
	if (c->at >= MOST || c->lost) {
		c->cut = c->dropped = true;
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

void cells_go(struct cells *c, size_t column)
{
	if (c->pieces && (column < c->base || column >= c->base + MOST)) {
		cells_take_prompt(c);
		c->lost = true;
		return;
	}
	column -= c->base;
	cells_back(c, column < MOST ? column : MOST);
}

void cells_forward(struct cells *c, size_t count)
{
	if (count > MOST - c->at) c->lost |= c->pieces;
	c->at = count < MOST - c->at ? c->at + count : MOST;
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

/* The cells from `from` on as the line's text. Without trailing blanks, but in
 * `columns`; the byte behind it is overwritten. */
static void tell(struct cells *c, size_t from, size_t to, struct clean_line *line)
{
	line->columns = to - from;
	while (to > from && c->text[to - 1] == ' ') to--;
	char *text = c->text + from;
	size_t length = to - from;
	if (c->wide) {
		text = c->out;
		length = 0;
		for (size_t i = from; i < to; i++) {
			char bytes[4];
			size_t n = pm_utf8_put(c->point[i], bytes);
			memcpy(text + length, bytes, n);
			length += n;
		}
	}
	text[length] = '\0';
	line->text = text;
	line->length = length;
	if (length == 0) line->columns = 0;
	line->cut = c->cut;
	line->inside = c->inside;
	line->before = c->base;
}

bool cells_line(struct cells *c, struct clean_line *line)
{
	size_t skip = c->inside ? 0 : pager_head(&c->pager, c->text, c->length);
	size_t end = pager_tail(&c->pager, c->text, c->length);
	if (skip || end < c->length) c->vanished = true;
	if (end < skip) end = skip;
	tell(c, skip, end, line);
	line->goes_on = c->dropped;
	return line->length > 0 || !c->vanished;
}

bool cells_piece(struct cells *c, struct clean_line *line)
{
	cells_extend(c, MOST);
	c->cut = true;
	c->vanished = false;
	size_t skip = c->inside ? 0 : pager_head(&c->pager, c->text, MOST);
	if (!c->inside && all_blank(c)) return false;
	/* kept aside: the end of the text is still needed */
	memcpy(c->kept, c->text + MOST - CLEAN_OVERLAP, CLEAN_OVERLAP);
	tell(c, skip, MOST, line);
	line->before += skip;
	line->goes_on = true;
	c->inside = true;
	return true;
}

void cells_roll(struct cells *c)
{
	if (c->inside) memcpy(c->text, c->kept, CLEAN_OVERLAP);
	else memset(c->text, ' ', CLEAN_OVERLAP);
	if (c->wide) memmove(c->point, c->point + MOST - CLEAN_OVERLAP, CLEAN_OVERLAP * sizeof c->point[0]);
	c->base += MOST - CLEAN_OVERLAP;
	c->length = c->at = CLEAN_OVERLAP;
}

void cells_reset(struct cells *c)
{
	c->length = c->at = 0;
	c->wide = c->cut = c->vanished = c->inside = c->lost = c->dropped = false;
	c->base = 0;
}
