/* The terminal's truth decides: a carriage return goes back to column 0 and
 * what follows overwrites. The one exception is a log without any line feed in
 * its first 64 KiB (or at all) whose carriage returns part two or more full
 * lines: there they are the line ends, and are counted as such.
 *
 * A line lives as bytes while it is ASCII, as code points from the first
 * character that is not. Every code point takes one column. */
#include "capture/clean.h"

#include <stdlib.h>
#include <string.h>

#include "capture/pager.h"
#include "portmuster/text.h"

#define MOST CLEAN_MOST_COLUMNS
#define HEAD_MOST (64u << 10)
#define SEQUENCE_MOST 256    /* a longer control sequence is given up */
#define STRING_MOST 4096     /* and a longer control string */
#define REPLACEMENT 0xFFFDu

enum state { GROUND, ESCAPE, ESCAPE_MORE, SEQUENCE, STRING, STRING_ESCAPE };

struct clean {
	void (*line)(void *, const struct clean_line *);
	void *context;
	struct pager pager;

	/* The line as it stands on the screen. */
	char text[MOST + 1];          /* a byte a column; 0x80 for what is not ASCII */
	uint32_t point[MOST];         /* the code points, when `wide` */
	char out[4 * MOST + 1];
	size_t length, at;            /* columns in use, cursor */
	bool wide, cut, noise, begun, vanished;
	uint32_t number;

	enum state state;
	size_t seen;                  /* bytes of the sequence or string so far */
	uint32_t parameter;
	bool parameter_over, foreign; /* only the first number counts; "?" and the like */
	char pending[4];              /* of an unfinished UTF-8 character */
	size_t pending_count, pending_needed;

	/* Until it is known how lines end. */
	char *head;
	size_t head_count;
	bool settled, returns_end, after_return;
};

struct clean *clean_new(void (*line)(void *context, const struct clean_line *line), void *context)
{
	struct clean *clean = calloc(1, sizeof *clean);
	if (!clean) return NULL;
	clean->line = line, clean->context = context;
	clean->number = 1;
	pager_init(&clean->pager);
	return clean;
}

void clean_free(struct clean *clean)
{
	if (!clean) return;
	free(clean->head);
	free(clean);
}

bool clean_pager(struct clean *clean, const char *text)
{
	return pager_add(&clean->pager, text);
}

/* --- the line ---------------------------------------------------------- */

static void widen(struct clean *c)
{
	if (c->wide) return;
	for (size_t i = 0; i < c->length; i++) c->point[i] = (unsigned char)c->text[i];
	c->wide = true;
}

/* Blanks from the end of the line up to `column`. */
static void extend(struct clean *c, size_t column)
{
	for (; c->length < column; c->length++) {
		c->text[c->length] = ' ';
		if (c->wide) c->point[c->length] = ' ';
	}
}

static void put(struct clean *c, uint32_t point)
{
	if (c->at >= MOST) {
		c->cut = true;
		return;
	}
	extend(c, c->at);
	if (point >= 0x80) widen(c);
	c->text[c->at] = point < 0x80 ? (char)point : (char)0x80;
	if (c->wide) c->point[c->at] = point;
	if (++c->at > c->length) c->length = c->at;
}

static bool all_blank(const struct clean *c)
{
	for (size_t i = 0; i < c->length; i++)
		if (c->text[i] != ' ') return false;
	return true;
}

/* The cursor is about to go back: a prompt at the end has had its answer. */
static void take_prompt(struct clean *c)
{
	size_t left = pager_tail(&c->pager, c->text, c->length);
	if (left == c->length) return;
	c->length = left;
	c->vanished = true;
}

static void go_back(struct clean *c, size_t column)
{
	take_prompt(c);
	c->at = column;
	if (column == 0 && all_blank(c)) c->length = 0;
}

static void erase(struct clean *c, uint32_t how)
{
	take_prompt(c);
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

static void blank_out(struct clean *c, size_t count)
{
	for (size_t i = c->at; i < c->length && i - c->at < count; i++) {
		c->text[i] = ' ';
		if (c->wide) c->point[i] = ' ';
	}
}

/* Hand the line over, whether its text stands in `text` alone or in `point`. */
static void emit(struct clean *c)
{
	size_t skip = pager_head(&c->pager, c->text, c->length);
	size_t end = pager_tail(&c->pager, c->text, c->length);
	if (skip || end < c->length) c->vanished = true;
	if (end < skip) end = skip;
	size_t columns = end - skip;
	while (end > skip && c->text[end - 1] == ' ') end--;
	if (end == skip) columns = 0;
	if (end == skip && c->vanished) return;

	size_t length = 0;
	if (c->wide) {
		for (size_t i = skip; i < end; i++) {
			char bytes[4];
			size_t n = pm_utf8_put(c->point[i], bytes);
			memcpy(c->out + length, bytes, n);
			length += n;
		}
	} else {
		length = end - skip;
		if (skip) memmove(c->text, c->text + skip, length);
	}
	char *text = c->wide ? c->out : c->text;
	text[length] = '\0';
	struct clean_line line = {
		.text = text, .length = length, .line = c->number, .columns = columns,
		.cut = c->cut, .noise = c->noise,
	};
	c->line(c->context, &line);
}

static void end_line(struct clean *c)
{
	emit(c);
	c->number++;
	c->length = c->at = 0;
	c->wide = c->cut = c->noise = c->begun = c->vanished = false;
}

/* --- one byte ------------------------------------------------------------ */

static void sequence_end(struct clean *c, int final)
{
	c->state = GROUND;
	if (c->foreign) return;
	uint32_t count = c->parameter ? c->parameter : 1;
	switch (final) {
	case 'K': case 'J':
		erase(c, c->parameter);
		break;
	case 'C': case 'a':
		c->at = c->at + count < MOST ? c->at + count : MOST;
		break;
	case 'D':
		go_back(c, c->at > count ? c->at - count : 0);
		break;
	case 'G': case '`':
		go_back(c, count - 1 < MOST ? count - 1 : MOST);
		break;
	case 'X':
		blank_out(c, count);
		break;
	}
}

static void sequence(struct clean *c, int byte)
{
	if (++c->seen > SEQUENCE_MOST) {
		c->state = GROUND;
	} else if (pm_is_digit(byte)) {
		if (!c->parameter_over && c->parameter < 100000)
			c->parameter = c->parameter * 10 + (uint32_t)(byte - '0');
	} else if (byte == ';' || byte == ':') {
		c->parameter_over = true;
	} else if (byte >= 0x40 && byte <= 0x7E) {
		sequence_end(c, byte);
	} else if (byte >= 0x20 && byte <= 0x3F) {
		c->foreign = true;
	} else {
		c->state = GROUND;
		c->noise = true;
	}
}

static void control(struct clean *c, int byte)
{
	switch (byte) {
	case '\r':
		go_back(c, 0);
		break;
	case '\b':
		go_back(c, c->at ? c->at - 1 : 0);
		break;
	case '\t': {
		size_t stop = (c->at / 8 + 1) * 8;
		c->at = stop < MOST ? stop : MOST;
		extend(c, c->at);
		break;
	}
	case 0x1B:
		c->state = ESCAPE;
		break;
	case 0x07:
		break;
	default:
		c->noise = true;
	}
}

static void ground(struct clean *c, int byte);

/* The bytes kept for a UTF-8 character were none: each stands alone. */
static void pending_broken(struct clean *c)
{
	size_t count = c->pending_count;
	c->pending_count = 0;
	c->noise = true;
	for (size_t i = 0; i < count; i++) put(c, REPLACEMENT);
}

static void not_ascii(struct clean *c, int byte)
{
	size_t needed = byte >= 0xF0 && byte <= 0xF4 ? 4 : byte >= 0xE0 && byte < 0xF0 ? 3
		: byte >= 0xC2 && byte < 0xE0 ? 2 : 1;
	if (c->pending_count == 0) c->pending_needed = needed;
	c->pending[c->pending_count++] = (char)byte;
	if (c->pending_count < c->pending_needed) return;
	uint32_t point;
	if (pm_utf8_next(c->pending, c->pending_count, &point) != c->pending_count || point == UINT32_MAX) {
		pending_broken(c);
		return;
	}
	c->pending_count = 0;
	if (point >= 0x80 && point < 0xA0) c->noise = true;   /* a C1 control */
	else put(c, point);
}

static void ground(struct clean *c, int byte)
{
	bool goes_on = byte >= 0x80 && byte < 0xC0;
	if (c->pending_count && !goes_on) pending_broken(c);
	if (byte >= 0x80) not_ascii(c, byte);
	else if (byte >= 0x20 && byte < 0x7F) put(c, (uint32_t)byte);
	else control(c, byte);
}

static void escape(struct clean *c, int byte)
{
	c->seen = 0, c->parameter = 0;
	c->parameter_over = c->foreign = false;
	if (byte == '[') c->state = SEQUENCE;
	else if (byte == ']' || byte == 'P' || byte == 'X' || byte == '^' || byte == '_') c->state = STRING;
	else if (byte >= 0x20 && byte <= 0x2F) c->state = ESCAPE_MORE;
	else c->state = byte == 0x1B ? ESCAPE : GROUND;
	if (byte < 0x20 && byte != 0x1B) control(c, byte);
	else if (byte >= 0x80) ground(c, byte);
}

static void feed_byte(struct clean *c, int byte)
{
	/* Nothing may swallow a line end. */
	if (byte == '\n' || (c->returns_end && byte == '\r')) {
		if (c->pending_count) pending_broken(c);
		c->state = GROUND;
		bool ended = c->after_return && byte == '\n';
		c->after_return = byte == '\r';
		if (byte == '\n') c->returns_end = false;
		if (!ended) end_line(c);
		return;
	}
	c->after_return = false;
	c->begun = true;
	switch (c->state) {
	case GROUND:
		ground(c, byte);
		break;
	case ESCAPE:
		escape(c, byte);
		break;
	case ESCAPE_MORE:
		if (byte >= 0x30) c->state = GROUND;
		break;
	case SEQUENCE:
		/* Terminals obey a return or a backspace inside a sequence. */
		if (byte == '\r' || byte == '\b') control(c, byte);
		else if (byte == 0x1B) c->state = ESCAPE;
		else sequence(c, byte);
		break;
	case STRING:
		if (byte == 0x07 || ++c->seen > STRING_MOST) c->state = GROUND;
		else if (byte == 0x1B) c->state = STRING_ESCAPE;
		break;
	case STRING_ESCAPE:
		if (byte == '\\') c->state = GROUND;
		else escape(c, byte);
		break;
	}
}

/* --- many bytes ------------------------------------------------------------ */

/* Eight bytes at once: are they all in 0x20..0x7E? */
static bool plain(const char *bytes, size_t length)
{
	const uint64_t ones = 0x0101010101010101u, high = 0x8080808080808080u;
	size_t i = 0;
	for (; i + 8 <= length; i += 8) {
		uint64_t v;
		memcpy(&v, bytes + i, 8);
		uint64_t below = v - 0x20 * ones;          /* borrows where a byte is below 0x20 */
		uint64_t above = v + ones;                 /* carries into the high bit at 0x7F */
		if ((below | above | v) & high) return false;
	}
	for (; i < length; i++)
		if (bytes[i] < 0x20 || bytes[i] > 0x7E) return false;
	return true;
}

static void process(struct clean *c, const char *bytes, size_t length)
{
	size_t i = 0;
	while (i < length) {
		/* Most lines are plain text: take them whole. */
		if (!c->begun && !c->returns_end && !c->after_return) {
			const char *feed = memchr(bytes + i, '\n', length - i);
			size_t all = feed ? (size_t)(feed - (bytes + i)) : 0, text = all;
			while (text && bytes[i + text - 1] == '\r') text--;
			if (feed && text <= MOST && plain(bytes + i, text)) {
				memcpy(c->text, bytes + i, text);
				c->length = text;
				if (text < all) take_prompt(c);
				end_line(c);
				i += all + 1;
				continue;
			}
		}
		bool ended;
		do {
			ended = bytes[i] == '\n';
			feed_byte(c, (unsigned char)bytes[i++]);
		} while (i < length && !ended);
	}
}

/* Do carriage returns part full lines in a text without a line feed? */
static bool returns_part(const struct clean *c)
{
	size_t full = 0, begin = 0;
	for (size_t i = 0; i <= c->head_count; i++) {
		if (i < c->head_count && c->head[i] != '\r') continue;
		const char *text = c->head + begin;
		size_t length = i - begin, blank = 0;
		if (pager_tail(&c->pager, text, length) < length) length = pager_tail(&c->pager, text, length);
		while (blank < length && text[blank] == ' ') blank++;
		if (blank < length) full++;
		begin = i + 1;
	}
	bool closed = c->head_count && c->head[c->head_count - 1] == '\r';
	return full >= 3 || (full == 2 && closed);
}

static void settle(struct clean *c, bool feed_seen)
{
	c->settled = true;
	c->returns_end = !feed_seen && c->head_count && returns_part(c);
	if (c->head_count) process(c, c->head, c->head_count);
	free(c->head);
	c->head = NULL;
}

bool clean_feed(struct clean *clean, const void *bytes, size_t length)
{
	const char *at = bytes;
	if (!clean->settled && length) {
		if (!clean->head && !(clean->head = malloc(HEAD_MOST))) return false;
		size_t room = HEAD_MOST - clean->head_count, take = length < room ? length : room;
		const char *feed = memchr(at, '\n', take);
		if (feed) take = (size_t)(feed - at) + 1;
		memcpy(clean->head + clean->head_count, at, take);
		clean->head_count += take;
		at += take, length -= take;
		if (feed || clean->head_count == HEAD_MOST) settle(clean, feed);
	}
	if (length) process(clean, at, length);
	return true;
}

bool clean_end(struct clean *clean)
{
	if (!clean->settled) settle(clean, false);
	if (clean->pending_count) pending_broken(clean);
	clean->state = GROUND;
	if (clean->length || clean->cut) end_line(clean);
	return true;
}
