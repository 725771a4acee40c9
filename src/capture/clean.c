/* The terminal's truth decides: a carriage return goes back to column 0 and
 * what follows overwrites. The one exception is a log without any line feed in
 * its first 64 KiB (or at all) whose carriage returns part two or more full
 * lines: there they are the line ends, and are counted as such. */
#include "capture/clean.h"

#include <stdlib.h>
#include <string.h>

#include "capture/cells.h"
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
	struct cells cells;           /* the line at hand */
	bool begun;
	size_t noise;                 /* bytes of it that no text has */
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
	pager_init(&clean->cells.pager);
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
	return pager_add(&clean->cells.pager, text);
}

void clean_pieces(struct clean *clean)
{
	clean->cells.pieces = true;
}

/* Room for more of the line: what there is goes out as a piece. */
static void make_room(struct clean *c)
{
	struct clean_line line = { .line = c->number, .noise = c->noise, .unreadable = c->noise };
	if (!c->cells.pieces || c->cells.at < MOST || c->cells.lost) return;
	if (cells_piece(&c->cells, &line)) c->line(c->context, &line);
	cells_roll(&c->cells);
}

static void put(struct clean *c, uint32_t point)
{
	make_room(c);
	cells_put(&c->cells, point);
}

static void end_line(struct clean *c)
{
	struct clean_line line = { .line = c->number, .noise = c->noise, .unreadable = c->noise };
	if (cells_line(&c->cells, &line)) c->line(c->context, &line);
	c->number++;
	cells_reset(&c->cells);
	c->noise = 0;
	c->begun = false;
}

/* --- one byte ------------------------------------------------------------ */

static void sequence_end(struct clean *c, int final)
{
	c->state = GROUND;
	if (c->foreign) return;
	uint32_t count = c->parameter ? c->parameter : 1;
	switch (final) {
	case 'K': case 'J':
		cells_erase(&c->cells, c->parameter);
		break;
	case 'C': case 'a':
		cells_forward(&c->cells, count);
		break;
	case 'D':
		cells_go(&c->cells, c->cells.base + c->cells.at > count ? c->cells.base + c->cells.at - count : 0);
		break;
	case 'G': case '`':
		cells_go(&c->cells, count - 1);
		break;
	case 'X':
		cells_blank(&c->cells, count);
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
		c->noise++;
	}
}

static void control(struct clean *c, int byte)
{
	switch (byte) {
	case '\r':
		cells_go(&c->cells, 0);
		break;
	case '\b':
		cells_go(&c->cells, c->cells.base + c->cells.at ? c->cells.base + c->cells.at - 1 : 0);
		break;
	case '\t': {
		make_room(c);
		size_t stop = (c->cells.at / 8 + 1) * 8;
		c->cells.at = stop < MOST ? stop : MOST;
		cells_extend(&c->cells, c->cells.at);
		break;
	}
	case 0x1B:
		c->state = ESCAPE;
		break;
	case 0x07:
		break;
	default:
		c->noise++;
	}
}

static void ground(struct clean *c, int byte);

/* The bytes kept for a UTF-8 character were none: each stands alone. */
static void pending_broken(struct clean *c)
{
	size_t count = c->pending_count;
	c->pending_count = 0;
	c->noise += count;
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
	if (point >= 0x80 && point < 0xA0) c->noise++;   /* a C1 control */
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
				memcpy(c->cells.text, bytes + i, text);
				c->cells.length = text;
				if (text < all) cells_take_prompt(&c->cells);
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
		if (pager_tail(&c->cells.pager, text, length) < length) length = pager_tail(&c->cells.pager, text, length);
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

const char *clean_unfinished(const struct clean *clean, size_t *length)
{
	const struct cells *cells = &clean->cells;
	*length = cells->at < cells->length ? cells->at : cells->length;
	return cells->text;
}

bool clean_rests(const struct clean *clean)
{
	return clean->settled && !clean->returns_end && !clean->begun && !clean->pending_count;
}

uint32_t clean_number(const struct clean *clean)
{
	return clean->number;
}

void clean_pass(struct clean *clean, size_t lines)
{
	clean->number += (uint32_t)lines;
}

bool clean_end(struct clean *clean)
{
	if (!clean->settled) settle(clean, false);
	if (clean->pending_count) pending_broken(clean);
	clean->state = GROUND;
	if (clean->cells.length || clean->cells.cut) end_line(clean);
	return true;
}
