/* The terminal itself: keys, drawing, sizes, on a pseudo terminal. */
#include "echo.h"

/* --- keys --------------------------------------------------------------------------- */

static void shows_each_event(void **state)
{
	(void)state;
	static const struct { const char *sent, *shown; } cases[] = {
		{ "a", "<point 0061>" }, { "\r", "<enter>" }, { "\t", "<tab>" }, { "\033[Z", "<backtab>" },
		{ "\033", "<esc>" }, { PTY_UP, "<up>" }, { "\033[B", "<down>" }, { PTY_LEFT, "<left>" },
		{ PTY_RIGHT, "<right>" }, { "\033OH", "<home>" }, { "\033OF", "<end>" }, { "\033[5~", "<pgup>" },
		{ "\033[6~", "<pgdn>" }, { "\x7F", "<erase>" }, { "\033[3~", "<delete>" }, { "\x12", "<ctrl-r>" },
		{ "\x03", "<interrupt>" }, { "\xC3\xA9", "<point 00E9>" },
		{ "\x13", "<ctrl-s>" },          /* freezes nothing: */
		{ "x", "<point 0078>" },
		{ "ab\r", "<enter burst>" },
	};
	struct pty pty;
	struct echo echo = usual();
	start(&pty, &echo, 24, 80, xterm);
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		assert_true(pty_key(&pty, cases[i].sent));
		assert_true(pty_wait_text_cursor(&pty, cases[i].shown, 1, 6));
	}
	pty_signal(&pty, SIGINT);
	assert_true(pty_wait_text(&pty, "<interrupt>"));
	/* a Q among pasted text does not end the program */
	assert_true(pty_send(&pty, "aQ", 2));
	assert_true(pty_wait_text(&pty, "<point 0051 burst>"));
	finish(&pty);
}

static void waits_as_long_as_the_user_says_for_a_sequence(void **state)
{
	(void)state;
	static const char *const slow[] = { "TERM=xterm-256color", "LC_ALL=C.UTF-8", "ESCDELAY=9000", NULL };
	struct pty pty;
	struct echo echo = usual();
	start(&pty, &echo, 24, 80, slow);
	assert_true(pty_key(&pty, "\033"));   /* longer than the usual wait passes here */
	assert_true(pty_key(&pty, "[A"));
	assert_true(pty_wait_text(&pty, "<up>"));
	assert_true(pty_wait_text(&pty, "events 1"));
	finish(&pty);
}

static void watches_a_further_descriptor(void **state)
{
	(void)state;
	int line[2];
	assert_int_equal(pipe(line), 0);
	struct pty pty;
	struct echo echo = usual();
	echo.extra = line[0];
	start(&pty, &echo, 24, 80, xterm);
	assert_int_equal(write(line[1], "x", 1), 1);
	assert_true(pty_wait_text(&pty, "<extra>"));
	assert_true(pty_key(&pty, "a"));
	assert_true(pty_wait_text(&pty, "<point 0061>"));
	assert_true(pty_wait_text(&pty, "events 2"));
	finish(&pty);
	close(line[0]);
	close(line[1]);
}

static void a_paste_is_one_event(void **state)
{
	(void)state;
	size_t size = 200000;
	char *text = malloc(size);
	for (size_t i = 0; i < size; i++)
		text[i] = "Qq\r\x03\x1A 53-0A"[i % 11];
	struct pty pty;
	struct echo echo = usual();
	start(&pty, &echo, 24, 80, xterm);
	assert_true(pty_brackets(&pty));
	int64_t begun = pty_now_ms();
	assert_true(pty_paste(&pty, text, size));
	char shown[64];
	snprintf(shown, sizeof shown, "<paste 200000 sum %u>", sum(text, size));
	assert_true(pty_wait_text(&pty, shown));
	printf("# figure screen: paste of 200 kB taken in %d ms\n", (int)(pty_now_ms() - begun));
	assert_true(pty_wait_text(&pty, "events 1"));
	assert_true(pty_key(&pty, "a"));
	assert_true(pty_wait_text(&pty, "<point 0061>"));
	finish(&pty);
	free(text);
}

/* --- what is drawn -------------------------------------------------------------------- */

static void draws_unicode(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	start(&pty, &echo, 24, 80, xterm);
	assert_string_equal(pty_row(&pty, 5), "┌────────────┐");
	assert_string_equal(pty_row(&pty, 6), "│ 水 e\xCC\x81 → \\x1 │");
	assert_true(pty.alternate);
	finish(&pty);
}

static void draws_ascii_where_nothing_else_can_be_shown(void **state)
{
	(void)state;
	static const char *const plain[] = { "TERM=xterm-256color", "LC_ALL=C", NULL };
	for (int round = 0; round < 2; round++) {
		struct pty pty;
		struct echo echo = usual();
		echo.ascii = round == 1;
		start(&pty, &echo, 24, 80, round == 0 ? plain : xterm);
		assert_string_equal(pty_row(&pty, 5), "+------------+");
		assert_string_equal(pty_row(&pty, 6), "| ?? e > \\x1 |");
		assert_true(pty_key(&pty, "\xC3\xA9"));
		assert_true(pty_wait_text(&pty, "<point 00E9>"));
		for (size_t i = 0; i < pty.log_length; i++)
			assert_true((unsigned char)pty.log[i] < 0x80);
		finish(&pty);
	}
}

static bool has_colour(const struct pty *pty)
{
	for (const char *at = pty->log; (at = strstr(at, "\033[")) != NULL; at += 2) {
		size_t length = strspn(at + 2, "0123456789;");
		for (size_t i = 2; at[length + 2] == 'm' && i < length + 2; i++)
			if ((at[i] == '3' || at[i] == '4') && (at[i - 1] == '[' || at[i - 1] == ';') &&
			    at[i + 1] >= '0' && at[i + 1] <= '8')
				return true;
	}
	return false;
}

static void tells_styles_apart_without_colour(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	echo.colour = false;
	start(&pty, &echo, 24, 80, xterm);
	assert_true(pty_wait_text(&pty, "sty sty sty sty sty sty sty sty sty"));
	unsigned seen = 0;
	for (int style = 0; style < STYLES; style++) {
		if (style == STYLE_DIM)   /* the emulator does not know this one: see the log below */
			continue;
		VTermScreenCell cell = pty_cell(&pty, 4, style * 4);
		unsigned look = 1U << (cell.attrs.bold | (cell.attrs.reverse << 1) | ((cell.attrs.underline != 0) << 2));
		assert_int_equal(seen & look, 0);
		seen |= look;
	}
	assert_true(pty_log_has(&pty, "\033[2m") || pty_log_has(&pty, ";2m"));
	assert_false(has_colour(&pty));
	finish(&pty);

	echo.colour = true;
	start(&pty, &echo, 24, 80, xterm);
	assert_true(pty_wait_text(&pty, "sty sty sty sty sty sty sty sty sty"));
	assert_true(has_colour(&pty));
	finish(&pty);
}

static void places_the_cursor_shown_or_not(void **state)
{
	(void)state;
	for (int shown = 0; shown < 2; shown++) {
		struct pty pty;
		struct echo echo = usual();
		echo.cursor_shown = shown;
		start(&pty, &echo, 24, 80, xterm);
		assert_true(pty_key(&pty, "a"));
		assert_true(pty_wait_text_cursor(&pty, "<point 0061>", 1, 6));
		assert_int_equal(pty.cursor_visible, shown);
		assert_true(pty_key(&pty, "Q"));
		assert_int_equal(pty_wait_exit(&pty), 0);
		assert_true(pty.cursor_visible);
		pty_end(&pty);
	}
}

static void a_key_costs_few_bytes(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	start(&pty, &echo, 24, 80, xterm);
	assert_true(pty_key(&pty, "a"));
	assert_true(pty_wait_text(&pty, "<point 0061>"));
	size_t before = pty.bytes;
	size_t log_before = pty.log_length;
	for (int i = 0; i < 10; i++) {
		char shown[32];
		snprintf(shown, sizeof shown, "<point %04X>", 'b' + i);
		assert_true(pty_key(&pty, (char[]){ (char)('b' + i), '\0' }));
		assert_true(pty_wait_text_cursor(&pty, shown, 1, 6));
	}
	size_t each = (pty.bytes - before) / 10;
	printf("# figure screen: %zu bytes a key press\n", each);
	assert_in_range(each, 1, 80);
	/* the screen is never cleared again */
	assert_null(strstr(pty.log + log_before, "\033[2J"));
	assert_null(strstr(pty.log + log_before, "\033[J"));
	finish(&pty);
}

/* --- sizes ---------------------------------------------------------------------------- */

static void every_resize_lands(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	echo.restless = true;
	assert_true(pty_fork(&pty, 24, 80, xterm, run_echo, &echo));
	assert_true(pty_wait_text(&pty, "size 24x80"));
	for (int i = 0; i < 100; i++) {
		int rows = 6 + i * 37 % 50, columns = 30 + i * 53 % 120;
		char shown[32];
		snprintf(shown, sizeof shown, "size %dx%d", rows, columns);
		pty_pump(&pty, 3);   /* into the middle of a frame */
		pty_resize(&pty, rows, columns);
		assert_true(pty_wait_text_cursor(&pty, shown, 1, 6));
	}
	finish(&pty);
}

static void a_quiet_program_follows_a_resize(void **state)
{
	(void)state;
	struct pty pty;
	struct echo echo = usual();
	start(&pty, &echo, 24, 80, xterm);
	for (int i = 0; i < 20; i++) {
		int rows = 10 + i * 7 % 30, columns = 41 + i * 11 % 90;
		char shown[32];
		snprintf(shown, sizeof shown, "size %dx%d", rows, columns);
		pty_resize(&pty, rows, columns);
		assert_true(pty_wait_text_cursor(&pty, shown, 1, 6));
	}
	/* the smallest */
	pty_resize(&pty, 1, 1);
	assert_true(pty_wait_text(&pty, "s"));
	/* and one wider than any canvas */
	pty_resize(&pty, 24, 5000);
	assert_true(pty_wait_text_cursor(&pty, "size 24x4096", 1, 6));
	pty_resize(&pty, 24, 80);
	assert_true(pty_wait_text_cursor(&pty, "size 24x80", 1, 6));
	finish(&pty);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(shows_each_event),
		cmocka_unit_test(waits_as_long_as_the_user_says_for_a_sequence),
		cmocka_unit_test(watches_a_further_descriptor),
		cmocka_unit_test(a_paste_is_one_event),
		cmocka_unit_test(draws_unicode),
		cmocka_unit_test(draws_ascii_where_nothing_else_can_be_shown),
		cmocka_unit_test(tells_styles_apart_without_colour),
		cmocka_unit_test(places_the_cursor_shown_or_not),
		cmocka_unit_test(a_key_costs_few_bytes),
		cmocka_unit_test(every_resize_lands),
		cmocka_unit_test(a_quiet_program_follows_a_resize),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
