/* The hand-over packet of a job built in C: what the sheets say at each stage,
 * how the text is laid out, and what becomes of text that would do harm. The
 * arena is compiled in with a malloc that can be told to fail. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static size_t asked, fail_at;

static void *failing_malloc(size_t size)
{
	return ++asked == fail_at ? NULL : malloc(size);
}

#define malloc failing_malloc
#include "core/arena.c"
#undef malloc

#include "fixture.h"
#include "report/packet.h"

struct sheets {
	struct pm_arena arena;
	struct pm_text text, html;
};

static void print(struct fixture *f, struct sheets *s)
{
	pm_arena_init(&s->arena);
	pm_text_grow(&s->text, &s->arena);
	pm_text_grow(&s->html, &s->arena);
	const struct packet *packet = packet_make(&f->the_case, fixture_check(f), &s->arena);
	assert_non_null(packet);
	packet_text(packet, &s->text);
	packet_html_begin(&s->html);
	packet_html(packet, &s->html);
	packet_html_end(&s->html);
	assert_false(s->text.cut || s->html.cut);
}

static void forget(struct fixture *f, struct sheets *s)
{
	pm_arena_free(&s->arena);
	fixture_forget(f);
}

static void says(const struct sheets *s, const char *text)
{
	if (!strstr(s->text.data, text))
		fail_msg("no \"%s\" in:\n%s", text, s->text.data);
}

static void shows(const struct sheets *s, const char *html)
{
	if (!strstr(s->html.data, html))
		fail_msg("no \"%s\" in:\n%s", html, s->html.data);
}

/* Characters of a line; the texts here have no wide ones. */
static size_t columns(const char *line, size_t bytes)
{
	size_t count = 0;
	for (size_t i = 0; i < bytes; i++)
		count += ((unsigned char)line[i] & 0xC0) != 0x80;
	return count;
}

static void is_laid_out(const char *text)
{
	size_t number = 0, on_page = 0;
	for (const char *at = text; *at; number++) {
		const char *end = strchr(at, '\n');
		assert_non_null(end);
		assert_in_range(columns(at, (size_t)(end - at)), 0, PACKET_COLUMNS);
		for (const char *c = at; c < end; c++)
			assert_true((unsigned char)*c >= 0x20 && *c != 0x7F);
		assert_true(end == at || end[-1] != ' ');
		/* a page's head begins a page, and nothing else does */
		if (strncmp(at, "portmuster ", 11) == 0 && strstr(at, "printed ") && strstr(at, "printed ") < end) {
			on_page++;
			assert_int_equal(number % PACKET_LINES, 1);
		}
		at = end + 1;
	}
	assert_int_equal(on_page, (number + PACKET_LINES - 1) / PACKET_LINES);
}

static void nothing_known_yet(void **state)
{
	(void)state;
	struct fixture f;
	struct sheets s;
	fixture_init(&f);
	print(&f, &s);
	is_laid_out(s.text.data);
	says(&s, "TB-01                                                  for the door, page 1 of 2\n");
	says(&s, "unit         GS-0417 (from the site list)");
	says(&s, "serial       not read");
	says(&s, "appointment  none");
	says(&s, "none: the facts are not complete");
	says(&s, "at the desk  nothing was sent yet");
	says(&s, "port12  port12                  open");
	says(&s, "|open    |");
	says(&s, "no console log was kept");
	says(&s, "printed 2026-01-01T09:00:00Z");
	shows(&s, "<td>nothing was sent yet</td>");
	/* no code of facts that nobody could register */
	assert_null(strstr(s.html.data, "QR code"));
	assert_null(strstr(s.html.data, "class=\"code\""));
	forget(&f, &s);
}

static void all_known(void **state)
{
	(void)state;
	struct fixture f;
	struct sheets s;
	struct pm_attached attached[] = { { word("camera"), word("weir"), word("C-1"), word("00:00:5e:00:53:f0") } };
	fixture_init(&f);
	fixture_reach(&f, CUTOVER);
	f.job.attached = attached, f.job.attached_count = 1;
	fixture_register(&f, "accepted");
	f.ports[1].panel = word("1"), f.ports[1].role = word("satellite terminal");
	print(&f, &s);
	is_laid_out(s.text.data);
	const char *seal = fixture_seal(&f);
	for (size_t i = 0; i < FIXTURE_PORTS; i++) {
		struct pm_eui48 address;
		char tail[16];
		assert_true(pm_eui48_parse(fixture_address(&f, i), &address));
		says(&s, fixture_text(&f, "%s  %c      confirmed", fixture_address(&f, i), pm_eui48_check(&address)));
		snprintf(tail, sizeof tail, "|53-%02X %c ", (unsigned)(0x10 + i), pm_eui48_check(&address));
		says(&s, tail);
		shows(&s, fixture_text(&f, "<td>%s</td><td>%c</td><td>confirmed</td>", fixture_address(&f, i),
		                       pm_eui48_check(&address)));
	}
	says(&s, "1       port1   00-00-5E-00-53-11");
	says(&s, "satellite terminal");
	says(&s, "weir  camera  C-1     00-00-5E-00-53-F0");
	says(&s, fixture_text(&f, "seal         %s", seal));
	says(&s, "the same, sent at 2026-01-01T09:00:00Z");
	says(&s, fixture_text(&f, "sent, seal %s", seal));
	shows(&s, "<td>decision: accepted (superseded)</td><td>ref 7</td>");
	shows(&s, "<td>decision: accepted</td><td>ref 7</td>");
	says(&s, "appointment  2026-01-08T09:00:00Z to 2026-01-08T11:00:00Z");
	says(&s, "Local code, the employer's\n  procedure and licensed practice govern.");
	shows(&s, "Local code, the employer&#39;s procedure and licensed practice govern.");
	shows(&s, "QR code of the sealed facts");
	/* notes of one code share a row: thirteen ports and the camera */
	shows(&s, "<tr><td>note</td><td>address-documentation</td><td>14 times: ");
	assert_null(strstr(strstr(s.text.data, "address-documentation") + 1, "address-documentation"));
	/* the seal in words: each character's word, in order */
	const char *at = strstr(s.text.data, "spoken ");
	assert_non_null(at);
	for (const char *c = seal; *c; c++)
		if (*c != '-') {
			at = strstr(at, pm_spell(*c));
			assert_non_null(at);
		}
	forget(&f, &s);
}

static void the_facts_changed(void **state)
{
	(void)state;
	struct fixture f;
	struct sheets s;
	fixture_init(&f);
	fixture_reach(&f, BOOK);
	const char *sent = fixture_seal(&f);
	f.job.code = word("TB-02");
	print(&f, &s);
	says(&s, fixture_text(&f, "ANOTHER one: %s, sent at 2026-01-01T09:00:00Z", sent));
	says(&s, "stop    seal-changed");
	says(&s, "; 1 finding stops it");
	forget(&f, &s);
}

/* One port in each standing: what the table and the panel make of it. */
static void standings(void **state)
{
	(void)state;
	struct fixture f;
	struct sheets s;
	fixture_init(&f);
	fixture_read(&f, "port/port1", "00-00-5E-00-53-01", PM_SOURCE_TYPED, "typed-1", FIXTURE_NOW);
	fixture_read(&f, "port/port2", "00-00-5E-00-53-12", PM_SOURCE_TYPED, "typed-1", FIXTURE_NOW);
	fixture_read(&f, "port/port2", "00-00-5E-00-53-21", PM_SOURCE_TYPED, "typed-2", FIXTURE_NOW);
	fixture_read(&f, "port/port3", "00-00-5E-00-53-1", PM_SOURCE_TYPED, "typed-1", FIXTURE_NOW);
	fixture_read(&f, "port/port4", "", PM_SOURCE_SKIPPED, NULL, FIXTURE_NOW)->note = word("blanked off");
	fixture_twice(&f, "port/port5", "0:0:5e:0:53:1");
	fixture_twice(&f, "router/serial", "EG12-26-00417");
	fixture_read(&f, "router/serial", "EG12-26-00471", PM_SOURCE_LABEL, "typed-3", FIXTURE_NOW);
	print(&f, &s);
	is_laid_out(s.text.data);
	/* the check character of this address: ISO/IEC 7064 MOD 37-2, computed outside */
	shows(&s, "<td>port1</td><td>00-00-5E-00-53-01</td><td>5</td><td>held</td>");
	shows(&s, "<td>port2</td><td>00-00-5E-00-53-12 or 00-00-5E-00-53-21</td><td></td><td>in conflict</td>");
	shows(&s, "<td>port3</td><td>00-00-5E-00-53-1</td><td></td><td>held, not an address</td>");
	shows(&s, "<td>port4</td><td></td><td></td><td>skipped</td>");
	shows(&s, "<td>port5</td><td>00-00-5E-00-53-01</td><td>5</td><td>confirmed</td>");
	says(&s, "|53-01 5?|in conf~|held    |skipped |53-01 5 |");
	says(&s, "in conflict: EG12-26-00417 or EG12-26-00471");
	shows(&s, "<td>passed over: port/port4</td><td>blanked off</td>");
	forget(&f, &s);
}

static void history(void **state)
{
	(void)state;
	struct fixture f;
	struct sheets s;
	fixture_init(&f);
	fixture_read(&f, "port/port1", "00-00-5E-00-53-11", PM_SOURCE_TYPED, "typed-1", FIXTURE_NOW);
	fixture_withdraw(&f, "port/port1", "00-00-5E-00-53-11");
	f.readings[1].note = word("read from the wrong unit"), f.readings[1].by = word("tech 9");
	fixture_withdraw(&f, "router/serial", NULL);
	fixture_register(&f, "rejected");
	fixture_read(&f, "desk/decision", "accepted", PM_SOURCE_DESK, NULL, FIXTURE_NOW);
	fixture_withdraw(&f, "desk/decision", "accepted");
	f.waivers[0] = (struct pm_waiver){ .phase = word("muster"), .gate = word("close"), .condition = word("free-of pattern-break"),
	                                   .by = word("lead 3"), .reason = word("numbered oddly by the maker"),
	                                   .at = word("2026-01-01T08:00:00Z"), .when = pm_when_utc(FIXTURE_NOW - 3600) };
	f.job.waiver_count = 1;
	print(&f, &s);
	is_laid_out(s.text.data);
	shows(&s, "<td>taken back: port/port1, 00-00-5E-00-53-11</td><td>read from the wrong unit</td><td>tech 9</td>");
	shows(&s, "<td>taken back: router/serial, all of it</td>");
	shows(&s, "<td>decision: rejected</td>");
	says(&s, "numbered oddly by the");
	shows(&s, "<td>decision: accepted (taken back)</td>");
	shows(&s, "<td>waived: free-of pattern-break, to close muster</td><td>numbered oddly by the maker</td><td>lead 3</td>");
	forget(&f, &s);
}

static void evidence_is_counted(void **state)
{
	(void)state;
	static const char one[] = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
	static const char two[] = "1123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
	struct fixture f;
	struct sheets s;
	fixture_init(&f);
	fixture_read(&f, "port/port1", "00-00-5E-00-53-11", PM_SOURCE_CONSOLE, one, FIXTURE_NOW);
	fixture_read(&f, "port/port1", "00-00-5E-00-53-11", PM_SOURCE_CONSOLE, two, FIXTURE_NOW);
	fixture_read(&f, "port/port2", "00-00-5E-00-53-12", PM_SOURCE_CONSOLE, one, FIXTURE_NOW);
	fixture_read(&f, "port/port3", "00-00-5E-00-53-13", PM_SOURCE_TYPED, "typed-1", FIXTURE_NOW);
	/* a digit short, a digit long, not hex: no digests */
	fixture_read(&f, "port/port4", "00-00-5E-00-53-14", PM_SOURCE_TYPED, one + 1, FIXTURE_NOW);
	fixture_read(&f, "port/port5", "00-00-5E-00-53-15", PM_SOURCE_TYPED, fixture_text(&f, "%s0", one), FIXTURE_NOW);
	fixture_read(&f, "port/port6", "00-00-5E-00-53-16", PM_SOURCE_TYPED, fixture_text(&f, "g%s", one + 1), FIXTURE_NOW);
	print(&f, &s);
	says(&s, fixture_text(&f, "\n  %s  2\n  %s  1\n", one, two));
	shows(&s, fixture_text(&f, "<tr><td>%s</td><td>2</td></tr>\n<tr><td>%s</td><td>1</td></tr>\n</tbody>", one, two));
	forget(&f, &s);
}

static void several_jobs_share_a_text(void **state)
{
	(void)state;
	struct fixture f;
	struct pm_arena arena;
	struct pm_text text, html;
	fixture_init(&f);
	fixture_reach(&f, BOOK);
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	pm_text_grow(&html, &arena);
	const struct packet *packet = packet_make(&f.the_case, fixture_check(&f), &arena);
	packet_html_begin(&html);
	for (int i = 0; i < 3; i++) {
		packet_text(packet, &text);
		packet_html(packet, &html);
	}
	packet_html_end(&html);
	is_laid_out(text.data);
	size_t doors = 0, sections = 0;
	for (const char *at = text.data; (at = strstr(at, "for the door, page 1 of")); at++)
		doors++;
	for (const char *at = html.data; (at = strstr(at, "<section>")); at++)
		sections++;
	assert_int_equal(doors, 3);
	assert_int_equal(sections, 6);
	pm_arena_free(&arena);
	fixture_forget(&f);
}

/* Text that would steer a terminal, forge markup, or burst the page. */
static void hostile_fields(void **state)
{
	(void)state;
	static const char *const nasty[] = {
		"<script>alert(\"1\")</script>&amp;'", "\x1B[31mred\x07\r\nline", "\" onload='x'", "\xE2\x80\xAE\xFF\xC2\x9B",
		"]]>--><!--", "averyveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryverylongword",
		"many words many words many words many words many words many words many words many words many words",
		"",
	};
	for (size_t i = 0; i < COUNT(nasty); i++) {
		struct fixture f;
		struct sheets s;
		struct pm_attached attached[] = { { word(nasty[i]), word(nasty[i]), word(nasty[i]), word(nasty[i]) } };
		fixture_init(&f);
		fixture_reach(&f, BOOK);
		f.job.code = f.job.name = f.job.crew = f.job.due = f.job.old_serial = word(nasty[i]);
		f.job.attached = attached, f.job.attached_count = 1;
		f.gear.title = f.gear.id = word(nasty[i]);
		f.ports[3].role = f.ports[3].panel = f.ports[4].name = word(nasty[i]);
		fixture_read(&f, "desk/sent", nasty[i], PM_SOURCE_DESK, NULL, FIXTURE_NOW)->note = word(nasty[i]);
		fixture_withdraw(&f, nasty[i], nasty[i]);
		f.readings[f.job.reading_count - 1].by = word(nasty[i]);
		f.readings[f.job.reading_count - 1].at = word(nasty[i]);
		f.waivers[0] = (struct pm_waiver){ .phase = word(nasty[i]), .gate = word("open"), .condition = word(nasty[i]),
		                                   .by = word(nasty[i]), .reason = word(nasty[i]), .at = word(nasty[i]) };
		f.job.waiver_count = 1;
		print(&f, &s);
		is_laid_out(s.text.data);
		for (const char *c = s.html.data; *c; c++)
			assert_true((unsigned char)*c >= 0x20 || *c == '\n');
		assert_null(strstr(s.html.data, "<script"));
		assert_null(strstr(s.html.data, "\" onload"));
		assert_null(strstr(s.html.data, "<!--"));
		assert_null(strstr(s.html.data, "\xE2\x80\xAE"));
		forget(&f, &s);
	}
}

/* A panel label or role with wide characters: two columns each are counted. */
static void wide_characters(void **state)
{
	(void)state;
	struct fixture f;
	struct sheets s;
	fixture_init(&f);
	f.ports[0].panel = word("\xE6\xB0\xB4\xE6\xB0\xB4\xE6\xB0\xB4\xE6\xB0\xB4\xE6\xB0\xB4");
	f.ports[1].panel = word("\xE6\xB0\xB4\xE6\xB0\xB4\xE6\xB0\xB4\xE6\xB0\xB4");
	f.job.name = word("\xC3\x89tang");
	print(&f, &s);
	says(&s, "|\xE6\xB0\xB4\xE6\xB0\xB4\xE6\xB0\xB4~ |\xE6\xB0\xB4\xE6\xB0\xB4\xE6\xB0\xB4\xE6\xB0\xB4|");
	says(&s, "TB-01 \xC3\x89tang                                            for the door, page 1 of 2\n");
	forget(&f, &s);
}

/* More findings and waivers than one page holds: more pages, none too long. */
static void long_files(void **state)
{
	(void)state;
	struct fixture f;
	struct sheets s;
	fixture_init(&f);
	for (size_t i = 0; i < 100; i++)
		fixture_withdraw(&f, fixture_text(&f, "step/number-%zu", i), "some answer that was wrong");
	print(&f, &s);
	is_laid_out(s.text.data);
	says(&s, "for the file, page 4 of");
	for (size_t i = 0; i < 100; i++)
		says(&s, fixture_text(&f, "step/number-%zu,", i));
	forget(&f, &s);
}

/* Whichever allocation fails: no crash, and it shows. */
static void memory_runs_out(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	fixture_reach(&f, CUTOVER);
	const struct pm_result *result = fixture_check(&f);
	size_t failures = 0;
	for (fail_at = 1; fail_at < 200; fail_at++) {
		struct pm_arena arena;
		struct pm_text text, html;
		asked = 0;
		pm_arena_init(&arena);
		pm_text_grow(&text, &arena);
		pm_text_grow(&html, &arena);
		const struct packet *packet = packet_make(&f.the_case, result, &arena);
		if (packet) {
			packet_text(packet, &text);
			packet_html_begin(&html);
			packet_html(packet, &html);
			packet_html_end(&html);
		}
		bool whole = packet && !text.cut && !html.cut;
		assert_int_equal(whole, asked < fail_at);
		failures += !whole;
		pm_arena_free(&arena);
	}
	fail_at = 0;
	assert_in_range(failures, 5, 198);
	fixture_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nothing_known_yet), cmocka_unit_test(all_known), cmocka_unit_test(the_facts_changed),
		cmocka_unit_test(standings), cmocka_unit_test(history), cmocka_unit_test(evidence_is_counted),
		cmocka_unit_test(several_jobs_share_a_text), cmocka_unit_test(hostile_fields), cmocka_unit_test(wide_characters),
		cmocka_unit_test(long_files), cmocka_unit_test(memory_runs_out),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
