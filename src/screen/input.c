#include "screen/input.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"
#include "screen/glyph.h"

#define ESC '\033'

struct input_item {
	enum screen_event_kind kind;
	enum screen_key key;
	uint32_t point;
	bool burst;
	char *text;
	size_t length;
};

static const char paste_end[] = "\033[201~";

void input_init(struct input *input, int escape_ms)
{
	*input = (struct input){ .escape_ms = escape_ms, .last_ms = INT64_MIN / 2 };
}

void input_free(struct input *input)
{
	for (size_t i = input->first; i < input->count; i++)
		free(input->item[i].text);
	free(input->item);
	free(input->paste);
	free(input->lent);
	*input = (struct input){ 0 };
}

void input_learn(struct input *input, const char *sequence, enum screen_key key)
{
	if (!sequence || sequence[0] != ESC || !sequence[1] || input->learned_count == INPUT_LEARNED)
		return;
	struct input_learned *learned = &input->learned[input->learned_count];
	size_t length = strlen(sequence);
	if (length >= sizeof learned->sequence)
		return;
	memcpy(learned->sequence, sequence, length + 1);
	learned->key = key;
	input->learned_count++;
}

static struct input_item *push(struct input *input, enum screen_event_kind kind)
{
	if (input->first == input->count)
		input->first = input->count = 0;
	if (input->count == input->room) {
		size_t room = input->room ? input->room * 2 : 64;
		struct input_item *item = realloc(input->item, room * sizeof *item);
		if (!item)
			return NULL;
		input->item = item;
		input->room = room;
	}
	struct input_item *item = &input->item[input->count++];
	*item = (struct input_item){ .kind = kind };
	return item;
}

static void push_key(struct input *input, enum screen_key key, uint32_t point)
{
	struct input_item *item = key == KEYS_NONE ? NULL : push(input, EVENT_KEY);
	if (!item)
		return;
	item->key = key;
	item->point = point;
	input->enters += key == KEYS_ENTER;
}

static void push_character(struct input *input, uint32_t point)
{
	struct input_item *item = glyph_printable(point) ? push(input, EVENT_CHARACTER) : NULL;
	if (!item)
		return;
	item->point = point;
	input->characters++;
}

static void push_control(struct input *input, unsigned char byte)
{
	switch (byte) {
	case '\r': case '\n':
		push_key(input, KEYS_ENTER, 0);
		break;
	case '\t':
		push_key(input, KEYS_TAB, 0);
		break;
	case 0x08: case 0x7F:
		push_key(input, KEYS_ERASE, 0);
		break;
	case 0x03:
		push(input, EVENT_INTERRUPT);
		break;
	case ESC:
		push_key(input, KEYS_ESCAPE, 0);
		break;
	default:
		if (byte >= 1 && byte <= 26)
			push_key(input, KEYS_CTRL, 'a' + byte - 1U);
		break;
	}
}

/* --- pastes ------------------------------------------------------------------ */

static void paste_finish(struct input *input)
{
	struct input_item *item = input->paste ? push(input, EVENT_PASTE) : NULL;
	if (item) {
		item->text = input->paste;
		item->length = input->paste_length;
		item->text[item->length] = '\0';
	} else {
		free(input->paste);
	}
	input->paste = NULL;
	input->paste_length = input->paste_room = 0;
	input->pasting = false;
}

static void paste_add(struct input *input, const char *bytes, size_t length)
{
	size_t free_room = INPUT_PASTE - input->paste_length;
	if (length > free_room)
		length = free_room;
	if (input->paste_length + length + 1 > input->paste_room) {
		size_t room = (input->paste_length + length + 1) * 2;
		char *paste = realloc(input->paste, room);
		if (!paste)
			return;
		input->paste = paste;
		input->paste_room = room;
	}
	memcpy(input->paste + input->paste_length, bytes, length);
	input->paste_length += length;
}

/* Take pasted bytes up to the end mark; returns how many were used. What may
 * be the beginning of the mark is left for the next read. */
static size_t paste_take(struct input *input, const char *bytes, size_t length)
{
	const size_t mark = sizeof paste_end - 1;
	size_t at = 0;
	while (at < length) {
		const char *escape = memchr(bytes + at, ESC, length - at);
		size_t plain = escape ? (size_t)(escape - bytes) - at : length - at;
		paste_add(input, bytes + at, plain);
		at += plain;
		if (!escape)
			break;
		size_t rest = length - at < mark ? length - at : mark;
		if (memcmp(escape, paste_end, rest) != 0) {
			paste_add(input, escape, 1);
			at++;
		} else if (rest < mark) {
			break;
		} else {
			paste_finish(input);
			return at + mark;
		}
	}
	return at;
}

/* --- sequences --------------------------------------------------------------- */

enum match { MATCH_NONE, MATCH_PART, MATCH_WHOLE };

static enum match match_learned(const struct input *input, const char *bytes, size_t length, size_t *used,
                                enum screen_key *key)
{
	enum match best = MATCH_NONE;
	for (int i = 0; i < input->learned_count; i++) {
		const struct input_learned *learned = &input->learned[i];
		size_t whole = strlen(learned->sequence);
		if (memcmp(bytes, learned->sequence, length < whole ? length : whole) != 0)
			continue;
		if (length < whole) {
			best = best == MATCH_WHOLE ? best : MATCH_PART;
		} else if (best != MATCH_WHOLE || whole > *used) {
			best = MATCH_WHOLE;
			*used = whole;
			*key = learned->key;
		}
	}
	return best;
}

static enum screen_key key_of_letter(char letter)
{
	switch (letter) {
	case 'A': return KEYS_UP;
	case 'B': return KEYS_DOWN;
	case 'C': return KEYS_RIGHT;
	case 'D': return KEYS_LEFT;
	case 'F': return KEYS_END;
	case 'H': return KEYS_HOME;
	case 'M': return KEYS_ENTER;   /* the keypad's own */
	case 'Z': return KEYS_BACK_TAB;
	default: return KEYS_NONE;
	}
}

static enum screen_key key_of_number(unsigned number)
{
	switch (number) {
	case 1: case 7: return KEYS_HOME;
	case 4: case 8: return KEYS_END;
	case 3: return KEYS_DELETE;
	case 5: return KEYS_PAGE_UP;
	case 6: return KEYS_PAGE_DOWN;
	default: return KEYS_NONE;
	}
}

/* A whole CSI sequence: `digits` is its parameter text. */
static void act_csi(struct input *input, const char *digits, char final)
{
	unsigned number = 0;
	for (int i = 0; i < 4 && pm_is_digit(digits[i]); i++)
		number = number * 10 + (unsigned)(digits[i] - '0');
	if (strncmp(digits, "200~", 4) == 0)
		input->pasting = true;
	else if (final == '~')
		push_key(input, key_of_number(number), 0);
	else if (final != 'M')
		push_key(input, key_of_letter(final), 0);
}

/* CSI: parameter bytes, intermediate bytes, a final byte (ECMA-48 5.4).
 * Returns the bytes used, 0 when more are needed. A byte that has no place in
 * a sequence ends it, unused. */
static size_t take_csi(struct input *input, const char *bytes, size_t length)
{
	size_t at = 2;
	if (at < length && bytes[at] == '[')   /* function keys of some consoles: one more byte */
		return length > 3 ? 4 : 0;
	while (at < length && pm_is_digit(bytes[at]))
		at++;
	if (at < length && at > 2 && bytes[at] == '$') {   /* with shift, on some terminals */
		act_csi(input, bytes + 2, '~');
		return at + 1;
	}
	while (at < length && bytes[at] >= 0x30 && bytes[at] <= 0x3F)
		at++;
	while (at < length && bytes[at] >= 0x20 && bytes[at] <= 0x2F)
		at++;
	if (at == length)
		return length < INPUT_HELD ? 0 : at;
	if (bytes[at] < 0x40 || bytes[at] > 0x7E)
		return at;
	act_csi(input, bytes + 2, bytes[at]);
	return at + 1;
}

/* SS3: cursor keys, and the number pad in application mode (from memory of the
 * VT100 and VT220 manuals: p to y are the digits, j to o and X the signs). */
static size_t take_ss3(struct input *input, const char *bytes, size_t length)
{
	static const char pad[] = "*+,-./0123456789";
	size_t at = 2;
	while (at < length && (pm_is_digit(bytes[at]) || bytes[at] == ';'))
		at++;
	if (at == length)
		return length < INPUT_HELD ? 0 : at;
	char final = bytes[at];
	if (final < 0x40 || final > 0x7E)
		return at;
	if (final >= 'j' && final <= 'y')
		push_character(input, (unsigned char)pad[final - 'j']);
	else if (final == 'X')
		push_character(input, '=');
	else
		push_key(input, key_of_letter(final), 0);
	return at + 1;
}

static size_t take_escape(struct input *input, const char *bytes, size_t length, bool final)
{
	size_t used = 0;
	enum screen_key key = KEYS_NONE;
	enum match match = match_learned(input, bytes, length, &used, &key);
	if (match == MATCH_WHOLE) {
		push_key(input, key, 0);
		return used;
	}
	if (!final && (match == MATCH_PART || length == 1))
		return 0;
	if (length > 1 && (bytes[1] == '[' || bytes[1] == 'O')) {
		if (length > 2)
			used = bytes[1] == '[' ? take_csi(input, bytes, length) : take_ss3(input, bytes, length);
		if (used || !final)
			return used;
		if (length > 2)   /* the beginning of a sequence is no text */
			return length;
	}
	/* Escape by itself; what follows is read on its own */
	push_key(input, KEYS_ESCAPE, 0);
	return 1;
}

/* How many bytes the UTF-8 character that begins so would take. */
static size_t utf8_needs(unsigned char lead)
{
	return lead >= 0xF0 && lead < 0xF5 ? 4 : lead >= 0xE0 && lead < 0xF0 ? 3 : lead >= 0xC2 && lead < 0xE0 ? 2 : 1;
}

static size_t take_character(struct input *input, const char *bytes, size_t length, bool final)
{
	unsigned char byte = (unsigned char)*bytes;
	if (byte < 0x20 || byte == 0x7F) {
		push_control(input, byte);
		return 1;
	}
	uint32_t point;
	size_t used = pm_utf8_next(bytes, length, &point);
	if (point == UINT32_MAX && !final && length < utf8_needs(byte)) {
		size_t tail = 1;
		while (tail < length && ((unsigned char)bytes[tail] & 0xC0) == 0x80)
			tail++;
		if (tail == length)
			return 0;
	}
	/* a byte that is not UTF-8 still shows that something was typed */
	push_character(input, point == UINT32_MAX ? 0xFFFD : point);
	return used;
}

/* Decode as much as is whole; with `final`, everything. Returns bytes used. */
static size_t decode(struct input *input, const char *bytes, size_t length, bool final)
{
	size_t at = 0;
	while (at < length) {
		size_t used;
		if (input->pasting) {
			used = paste_take(input, bytes + at, length - at);
			if (input->pasting)
				return at + used;
		} else if (bytes[at] == ESC) {
			used = take_escape(input, bytes + at, length - at, final);
		} else {
			used = take_character(input, bytes + at, length - at, final);
		}
		if (!used)
			break;
		at += used;
	}
	return at;
}

static void keep(struct input *input, const char *bytes, size_t length)
{
	input->held_length = length < INPUT_HELD ? length : INPUT_HELD;
	memmove(input->held, bytes, input->held_length);
}

void input_feed(struct input *input, const char *bytes, size_t length, int64_t now)
{
	if (!length)
		return;
	if (now - input->last_ms > INPUT_BURST_MS)
		input->characters = input->enters = 0;
	input->last_ms = now;
	size_t before = input->count - input->first;

	/* a held beginning and enough of the new bytes to finish it, then the rest */
	while (input->held_length && length) {
		char joined[INPUT_HELD * 2];
		size_t held = input->held_length;
		size_t more = length < INPUT_HELD ? length : INPUT_HELD;
		memcpy(joined, input->held, held);
		memcpy(joined + held, bytes, more);
		size_t used = decode(input, joined, held + more, false);
		if (used < held) {
			keep(input, joined + used, held + more - used);
			bytes += more;
			length -= more;
			continue;
		}
		input->held_length = 0;
		bytes += used - held;
		length -= used - held;
	}
	size_t used = decode(input, bytes, length, false);
	if (used < length)
		keep(input, bytes + used, length - used);

	if (input->characters > 1 || input->enters > 1)
		for (size_t i = input->first + before; i < input->count; i++)
			input->item[i].burst = true;
}

int input_wait(const struct input *input, int64_t now)
{
	if (!input->held_length && !input->pasting)
		return -1;
	int64_t most = input->pasting ? INPUT_STALL_MS : input->escape_ms;
	int64_t left = input->last_ms + most - now;
	return left < 0 ? 0 : (int)left;
}

void input_flush(struct input *input, int64_t now)
{
	if (input_wait(input, now) != 0)
		return;
	char held[INPUT_HELD];
	size_t length = input->held_length;
	memcpy(held, input->held, length);
	input->held_length = 0;
	if (input->pasting) {
		paste_add(input, held, length);
		paste_finish(input);
	} else {
		decode(input, held, length, true);
	}
}

bool input_next(struct input *input, struct screen_event *event)
{
	free(input->lent);
	input->lent = NULL;
	if (input->first == input->count)
		return false;
	const struct input_item *item = &input->item[input->first++];
	event->kind = item->kind;
	event->key = item->key;
	event->point = item->point;
	event->burst = item->burst;
	event->text = input->lent = item->text;
	event->length = item->length;
	return true;
}
