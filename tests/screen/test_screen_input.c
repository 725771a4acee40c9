/* Bytes to events: keys, escapes, pastes, bursts, however the bytes are cut
 * into reads. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "screen/input.h"

/* Events as text, each followed by a blank: a key's name, 'x' for a character,
 * (text) for a paste, a ! behind what came in a burst. */
static void take_all(struct input *input, char *out, size_t room)
{
	static const char *const names[] = {
		[KEYS_NONE] = "none", [KEYS_ENTER] = "enter", [KEYS_ESCAPE] = "esc", [KEYS_TAB] = "tab",
		[KEYS_BACK_TAB] = "backtab", [KEYS_UP] = "up", [KEYS_DOWN] = "down", [KEYS_LEFT] = "left",
		[KEYS_RIGHT] = "right", [KEYS_HOME] = "home", [KEYS_END] = "end", [KEYS_PAGE_UP] = "pgup",
		[KEYS_PAGE_DOWN] = "pgdn", [KEYS_ERASE] = "erase", [KEYS_DELETE] = "delete", [KEYS_CTRL] = "ctrl",
	};
	struct screen_event event = { .kind = EVENT_TICK };
	size_t length = strlen(out);
	while (input_next(input, &event)) {
		const char *burst = event.burst ? "!" : "";
		char *at = out + length;
		size_t left = room - length;
		if (event.kind == EVENT_KEY && event.key == KEYS_CTRL)
			snprintf(at, left, "^%c%s ", (char)event.point, burst);
		else if (event.kind == EVENT_KEY)
			snprintf(at, left, "%s%s ", names[event.key], burst);
		else if (event.kind == EVENT_CHARACTER && event.point < 0x7F)
			snprintf(at, left, "'%c'%s ", (char)event.point, burst);
		else if (event.kind == EVENT_CHARACTER)
			snprintf(at, left, "U+%04X%s ", (unsigned)event.point, burst);
		else if (event.kind == EVENT_PASTE)
			snprintf(at, left, "(%.*s)%s ", (int)event.length, event.text, burst);
		else if (event.kind == EVENT_INTERRUPT)
			snprintf(at, left, "interrupt ");
		else
			snprintf(at, left, "? ");
		length += strlen(at);
	}
}

static void learn(struct input *input)
{
	input_init(input, 50);
	input_learn(input, "\033OA", KEYS_UP);
	input_learn(input, "\033[@x", KEYS_HOME);
	input_learn(input, "\033q1", KEYS_END);
	input_learn(input, "\b", KEYS_LEFT);   /* a lone control: not learned */
	input_learn(input, NULL, KEYS_LEFT);
}

struct input_case { const char *bytes; const char *events; };

static const struct input_case keys[] = {
	{ "a", "'a' " }, { "?", "'?' " }, { " ", "' ' " },
	{ "\r", "enter " }, { "\n", "enter " }, { "\t", "tab " }, { "\x7F", "erase " }, { "\b", "erase " },
	{ "\x01", "^a " }, { "\x12", "^r " }, { "\x13", "^s " }, { "\x1A", "^z " }, { "\x03", "interrupt " },
	{ "\x1C", "" }, { "\x1F", "" },
	{ "\033[A", "up " }, { "\033[B", "down " }, { "\033[C", "right " }, { "\033[D", "left " },
	{ "\033OA", "up " }, { "\033OB", "down " }, { "\033OH", "home " }, { "\033OF", "end " }, { "\033OM", "enter " },
	{ "\033[H", "home " }, { "\033[F", "end " }, { "\033[1~", "home " }, { "\033[4~", "end " }, { "\033[7~", "home " },
	{ "\033[8~", "end " }, { "\033[5~", "pgup " }, { "\033[6~", "pgdn " }, { "\033[3~", "delete " },
	{ "\033[Z", "backtab " }, { "\033[1;5C", "right " }, { "\033[3;2~", "delete " }, { "\033[3$", "delete " },
	/* keys that mean nothing here, whole sequences all the same */
	{ "\033[2~", "" }, { "\033[15~", "" }, { "\033OP", "" }, { "\033[[A", "" }, { "\033[1;2P", "" },
	{ "\033[200;1$~", "" }, { "\033[?1;2c", "" }, { "\033[24;80R", "" }, { "\033[I", "" },
	{ "\033Op\033Oy\033On\033OX", "'0'! '9'! '.'! '='! " },
	/* learned ones */
	{ "\033[@x", "home " }, { "\033q1", "end " },
	/* UTF-8, also broken */
	{ "\xC3\xA9", "U+00E9 " }, { "\xE6\xB0\xB4", "U+6C34 " }, { "\xF0\x9F\x92\xA7", "U+1F4A7 " },
	{ "\xFF", "U+FFFD " }, { "\x80", "U+FFFD " }, { "\xC3q", "U+FFFD! 'q'! " }, { "\xC2\x9B", "" },
	{ "\xE2\x80\xAE", "" },
	/* a sequence cut short by another, by a control, by text that cannot belong to it */
	{ "\033[1;\033[A", "up " }, { "\033[1\r", "enter " }, { "\033O\033[B", "down " },
};

static void reads_keys(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
		struct input input;
		char events[256] = "";
		learn(&input);
		input_feed(&input, keys[i].bytes, strlen(keys[i].bytes), 1000);
		take_all(&input, events, sizeof events);
		assert_string_equal(events, keys[i].events);
		assert_int_equal(input_wait(&input, 1000), -1);
		input_free(&input);
	}
}

static void drop_burst_marks(char *events)
{
	char *to = events;
	for (; *events; events++)
		if (*events != '!')
			*to++ = *events;
	*to = '\0';
}

/* One byte a read, some milliseconds apart: the same events. */
static void reads_keys_a_byte_at_a_time(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
		struct input input;
		char events[256] = "", wanted[256] = "";
		drop_burst_marks(strcpy(wanted, keys[i].events));
		learn(&input);
		for (size_t at = 0; keys[i].bytes[at]; at++) {
			int64_t now = 1000 + (int64_t)at * 30;
			input_flush(&input, now);
			input_feed(&input, keys[i].bytes + at, 1, now);
			take_all(&input, events, sizeof events);
		}
		drop_burst_marks(events);
		assert_string_equal(events, wanted);
		input_free(&input);
	}
}

static void escape_waits_and_then_is_a_key(void **state)
{
	(void)state;
	static const struct { const char *bytes, *after; } cases[] = {
		{ "\033", "esc " },
		{ "\033[", "esc '[' " },
		{ "\033O", "esc 'O' " },
		{ "\033[1;", "" },          /* half a sequence is no text */
		{ "\xC3", "U+FFFD " },
		{ "\033q", "esc 'q' " },    /* the beginning of a learned one */
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct input input;
		char events[64] = "";
		learn(&input);
		input_feed(&input, cases[i].bytes, strlen(cases[i].bytes), 1000);
		assert_int_equal(input_wait(&input, 1000), 50);
		assert_int_equal(input_wait(&input, 1020), 30);
		input_flush(&input, 1049);
		take_all(&input, events, sizeof events);
		assert_string_equal(events, "");
		assert_int_equal(input_wait(&input, 1200), 0);
		input_flush(&input, 1050);
		take_all(&input, events, sizeof events);
		assert_string_equal(events, cases[i].after);
		assert_int_equal(input_wait(&input, 1050), -1);
		input_free(&input);
	}
}

static void escape_before_other_keys(void **state)
{
	(void)state;
	static const struct input_case cases[] = {
		{ "\033\033[A", "esc up " }, { "\033x", "esc 'x' " }, { "\033\r", "esc enter " }, { "\033\033", "esc " },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct input input;
		char events[64] = "";
		learn(&input);
		input_feed(&input, cases[i].bytes, strlen(cases[i].bytes), 1000);
		take_all(&input, events, sizeof events);
		assert_string_equal(events, cases[i].events);
		input_free(&input);
	}
}

static void bursts(void **state)
{
	(void)state;
	struct input input;
	char events[256] = "";
	learn(&input);
	/* one character and Enter in one read can be a slow line */
	input_feed(&input, "y\r", 2, 1000);
	/* more cannot be told from a paste, nor can two Enters */
	input_feed(&input, "53-0A\r", 6, 2000);
	input_feed(&input, "\r\n", 2, 3000);
	/* keys that move are no text */
	input_feed(&input, "\033[A\033[A\033[A", 9, 4000);
	take_all(&input, events, sizeof events);
	assert_string_equal(events, "'y' enter '5'! '3'! '-'! '0'! 'A'! enter! enter! enter! up up up ");

	/* a paste over a serial line comes a byte a read: its Enter is in the burst */
	events[0] = '\0';
	for (int i = 0; i < 4; i++)
		input_feed(&input, &"abc\r"[i], 1, 5000 + i);
	/* a person comes later */
	input_feed(&input, "\r", 1, 5000 + 4 + INPUT_BURST_MS);
	take_all(&input, events, sizeof events);
	assert_string_equal(events, "'a' 'b'! 'c'! enter! enter ");

	/* the last byte of a long paste in a read of its own */
	events[0] = '\0';
	input_feed(&input, "ab", 2, 6000);
	input_feed(&input, "\r", 1, 6005);
	take_all(&input, events, sizeof events);
	assert_string_equal(events, "'a'! 'b'! enter! ");
	input_free(&input);
}

static const struct input_case pasted[] = {
	{ "\033[200~q\r\n\x03\033[201~", "(q\r\n\x03) " },
	{ "\033[200~\033[201~", "() " },
	{ "x\033[200~one\033[201~\r", "'x' (one) enter " },
	{ "\033[200~a\033[A\033[20\033[201\033[201~\033[A", "(a\033[A\033[20\033[201) up " },
	{ "\033[200~one\033[201~\033[200~two\033[201~", "(one) (two) " },
	{ "\033[201~", "" },
	{ "\033[200~\033[200~x\033[201~", "(\033[200~x) " },
};

static void pastes_however_cut(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof pasted / sizeof *pasted; i++) {
		size_t length = strlen(pasted[i].bytes);
		for (size_t first = 0; first <= length; first++)
			for (size_t second = first; second <= length; second++) {
				struct input input;
				char events[256] = "";
				learn(&input);
				input_feed(&input, pasted[i].bytes, first, 1000);
				input_feed(&input, pasted[i].bytes + first, second - first, 1001);
				input_feed(&input, pasted[i].bytes + second, length - second, 1002);
				take_all(&input, events, sizeof events);
				assert_string_equal(events, pasted[i].events);
				input_free(&input);
			}
	}
}

static void a_big_paste_is_whole_and_a_huge_one_bounded(void **state)
{
	(void)state;
	static const size_t sizes[] = { 200000, INPUT_PASTE, INPUT_PASTE + 1, 3 * INPUT_PASTE };
	for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
		struct input input;
		learn(&input);
		char *bytes = malloc(sizes[i]);
		memset(bytes, 'q', sizes[i]);
		input_feed(&input, "\033[200~", 6, 0);
		for (size_t at = 0; at < sizes[i]; at += 4095)
			input_feed(&input, bytes + at, sizes[i] - at < 4095 ? sizes[i] - at : 4095, 1);
		input_feed(&input, "\033[201~z", 7, 2);
		struct screen_event event = { .kind = EVENT_TICK };
		assert_true(input_next(&input, &event));
		assert_int_equal(event.kind, EVENT_PASTE);
		assert_int_equal(event.length, sizes[i] < INPUT_PASTE ? sizes[i] : INPUT_PASTE);
		assert_memory_equal(event.text, bytes, event.length);
		assert_int_equal(event.text[event.length], '\0');
		assert_true(input_next(&input, &event));
		assert_int_equal(event.kind, EVENT_CHARACTER);
		assert_false(input_next(&input, &event));
		free(bytes);
		input_free(&input);
	}
}

/* A terminal that dies within a paste does not swallow the keys for ever. */
static void an_endless_paste_ends(void **state)
{
	(void)state;
	struct input input;
	char events[64] = "";
	learn(&input);
	input_feed(&input, "\033[200~abc\033[20", 13, 1000);
	assert_int_equal(input_wait(&input, 1000), INPUT_STALL_MS);
	input_flush(&input, 1000 + INPUT_STALL_MS - 1);
	take_all(&input, events, sizeof events);
	assert_string_equal(events, "");
	input_flush(&input, 1000 + INPUT_STALL_MS);
	input_feed(&input, "j", 1, 9000);
	take_all(&input, events, sizeof events);
	assert_string_equal(events, "(abc\033[20) 'j' ");
	input_free(&input);
}

/* Any bytes at all, cut anywhere: no crash, and the state comes to rest. */
static void survives_noise(void **state)
{
	(void)state;
	static const char alphabet[] = "\033\033\033[[O0123456789;?$~ABMZmq\r\n\t\x7F\xC3\xA9\xE6\xB0\xB4\xFF\x9B";
	uint32_t seed = 12345;
	for (int round = 0; round < 2000; round++) {
		struct input input;
		char events[16384] = "";
		learn(&input);
		int64_t now = 0;
		for (int part = 0; part < 12; part++) {
			char bytes[64];
			size_t length = 0;
			seed = seed * 1664525 + 1013904223;
			for (size_t most = seed >> 26; length < most; length++) {
				seed = seed * 1664525 + 1013904223;
				bytes[length] = alphabet[(seed >> 16) % (sizeof alphabet - 1)];
			}
			now += seed >> 28;
			input_flush(&input, now);
			input_feed(&input, bytes, length, now);
			assert_true(input.held_length < INPUT_HELD);
			take_all(&input, events, sizeof events);
		}
		input_flush(&input, now + INPUT_STALL_MS);
		assert_int_equal(input_wait(&input, now), -1);
		input_free(&input);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(reads_keys),
		cmocka_unit_test(reads_keys_a_byte_at_a_time),
		cmocka_unit_test(escape_waits_and_then_is_a_key),
		cmocka_unit_test(escape_before_other_keys),
		cmocka_unit_test(bursts),
		cmocka_unit_test(pastes_however_cut),
		cmocka_unit_test(a_big_paste_is_whole_and_a_huge_one_bounded),
		cmocka_unit_test(an_endless_paste_ends),
		cmocka_unit_test(survives_noise),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
