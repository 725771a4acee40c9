/* The review of a fleet: what its forms say, that they say the same, and that nothing
 * of a file is markup, a formula or a control character in them. The arena is
 * compiled in with a malloc that can be told to fail. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>

static size_t asked, fail_at;

static void *failing_malloc(size_t size)
{
	return ++asked == fail_at ? NULL : malloc(size);
}

#define malloc failing_malloc
#include "core/arena.c"
#undef malloc

#include "fleet_fixture.h"
#include "report/review_parts.h"

struct written {
	struct fleet_fixture f;
	struct pm_forecast forecast;
	struct review review;
	struct pm_arena arena;        /* of the texts */
	const char *text, *csv, *html;
	char *json;                   /* of the end alone: no job is given */
};

static const char *const folders[] = { "fleet" };

static struct pm_text *fresh(struct pm_text *text, struct pm_arena *arena)
{
	pm_text_grow(text, arena);
	return text;
}

static void write_all(struct written *w)
{
	struct pm_text text, csv, html;
	struct pm_forecast_options options = { .seed = 1, .runs = 200 };
	struct review_json json;
	size_t length;
	fleet_check_at(&w->f, FIXTURE_NOW);
	assert_true(pm_forecast_make(&w->f.fleet, pm_when_utc(FIXTURE_NOW), &options, &w->f.arena, &w->forecast));
	w->review = (struct review){ .fleet = &w->f.fleet, .findings = &w->f.findings, .forecast = &w->forecast, .seed = 1,
	                             .now = pm_when_utc(FIXTURE_NOW), .folder = folders, .folder_count = 1 };
	review_count(&w->review);
	pm_arena_init(&w->arena);
	review_text(&w->review, fresh(&text, &w->arena));
	review_csv(&w->review, fresh(&csv, &w->arena));
	review_html(&w->review, fresh(&html, &w->arena));
	assert_false(text.cut || csv.cut || html.cut || w->arena.failed);
	w->text = text.data;
	w->csv = csv.data;
	w->html = html.data;
	FILE *out = open_memstream(&w->json, &length);
	assert_non_null(out);
	review_json_begin(&json, &w->review, out);
	assert_true(review_json_end(&json));
	fclose(out);
}

static void forget(struct written *w)
{
	pm_arena_free(&w->arena);
	fleet_forget(&w->f);
	free(w->json);
}

static size_t lines_with(const char *text, const char *part)
{
	size_t count = 0;
	for (const char *at = text; (at = strstr(at, part)); at += strlen(part))
		count++;
	return count;
}

/* Columns of the longest line; ASCII alone. */
static size_t widest(const char *text)
{
	size_t most = 0;
	while (*text) {
		size_t length = strcspn(text, "\n");
		most = length > most ? length : most;
		text += length + (text[length] == '\n');
	}
	return most;
}

/* A fleet of one site for each thing that a row can be. */
static void make_fleet(struct fleet_fixture *f)
{
	struct pm_fault fault;
	fleet_init(f);
	f->fleet.options.has_deadline = true;
	f->fleet.options.deadline_day = FIXTURE_NOW / 86400 + 30;
	fixture_reach(fleet_job(f, "TB-01", "north"), FIXTURE_PHASES);
	f->job.job.due = word("2026-01-20");
	fleet_add_job(f);
	fixture_reach(fleet_job(f, "TB-02", "south"), MUSTER);
	f->job.job.due = word("2025-12-30");
	fleet_address(f, "port1", "00-00-5E-00-53-11");
	fleet_add_job(f);
	fleet_booked(f, "TB-03", "south", "2026-01-08T09:00:00+02:00/2026-01-08T11:00:00+02:00");
	fixture_reach(fleet_job(f, "TB-04", "west"), REGISTER);
	fleet_add_job(f);
	pm_fail(&fault, PM_FAULT_SYNTAX, (struct pm_place){ "fleet/broken.yaml", 3, 7 }, "a tab where a key belongs");
	pm_fail_remedy(&fault, "write blanks");
	if (!pm_site_unread("fleet/broken.yaml", &fault, &f->arena, &f->site[f->fleet.count++]))
		abort();
	fleet_job(f, "TB-06", "north")->job.practice = true;
	fleet_add_job(f);
}

/* --- shared words ---------------------------------------------------------------- */

static void words(void **state)
{
	(void)state;
	struct written w;
	make_fleet(&w.f);
	write_all(&w);
	static const struct { size_t site; const char *marks, *read, *window, *slack, *site_cell; } rows[] = {
		{ 0, "======", "13/13", "2026-01-08", "-", "TB-01" },
		{ 1, "=>....", "0+1/13", "-", "-2 d", "TB-02" },
		{ 2, ">.....", "0/13", "2026-01-08", "30 d", "TB-03" },
		{ 3, "==>...", "13/13", "-", "30 d", "TB-04" },
		{ 4, "", "-", "-", "-", "broken.yaml" },
		{ 5, ">.....", "0/13", "-", "-", "TB-06 practice" },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		const struct pm_site_summary *site = &w.f.fleet.site[rows[i].site];
		char array[200];
		struct pm_text text;
		pm_text_fixed(&text, array, sizeof array);
		review_marks(&text, site);
		assert_string_equal(array, rows[i].marks);
		pm_text_fixed(&text, array, sizeof array);
		review_put_read(&text, site);
		assert_string_equal(array, rows[i].read);
		pm_text_fixed(&text, array, sizeof array);
		review_put_window(&text, site);
		assert_string_equal(array, rows[i].window);
		pm_text_fixed(&text, array, sizeof array);
		review_put_slack(&text, &w.review, rows[i].site);
		assert_string_equal(array, rows[i].slack);
		pm_text_fixed(&text, array, sizeof array);
		review_put_site(&text, site);
		assert_string_equal(array, rows[i].site_cell);
	}
	assert_true(review_stops(&w.review));
	forget(&w);
}

/* The earlier of due day and deadline counts, and the day is a UTC one. */
static void slack(void **state)
{
	(void)state;
	static const struct { const char *due, *deadline; int64_t now; bool known; int64_t days; } cases[] = {
		{ NULL, NULL, FIXTURE_NOW, false, 0 },
		{ "2026-01-05", NULL, FIXTURE_NOW, true, 4 },
		{ "2026-01-05", "2026-01-03", FIXTURE_NOW, true, 2 },
		{ "2026-01-05", "2026-01-09", FIXTURE_NOW, true, 4 },
		{ NULL, "2026-01-09", FIXTURE_NOW, true, 8 },
		{ "2026-01-01", NULL, FIXTURE_NOW + 14 * 3600, true, 0 },
		{ "2026-01-01", NULL, FIXTURE_NOW + 15 * 3600, true, -1 },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct fleet_fixture f;
		struct pm_fleet_findings findings = { 0 };
		struct pm_forecast forecast = { 0 };
		int64_t days = 99;
		fleet_init(&f);
		f.fleet.options.has_deadline = cases[i].deadline && pm_day_read(cases[i].deadline, &f.fleet.options.deadline_day, NULL);
		fleet_job(&f, "TB-01", "north")->job.due = word(cases[i].due);
		fleet_add_job(&f);
		struct review review = { .fleet = &f.fleet, .findings = &findings, .forecast = &forecast,
		                         .now = pm_when_utc(cases[i].now) };
		assert_int_equal(review_slack(&review, 0, &days), cases[i].known);
		if (cases[i].known)
			assert_int_equal(days, cases[i].days);
		fleet_forget(&f);
	}
}

/* The worse of a site's own finding and the fleet's; of two alike its own. */
static void worst(void **state)
{
	(void)state;
	struct pm_fleet_finding across = { .code = PM_SERIAL_ELSEWHERE, .message = "across" };
	uint32_t named = 0;
	struct pm_fleet_findings findings = { .item = &across, .count = 1, .worst = &named };
	struct pm_site_summary site = { .worst = PM_PATTERN_BREAK, .worst_message = "own" };
	struct pm_fleet fleet = { .site = &site, .count = 1 };
	struct review review = { .fleet = &fleet, .findings = &findings };
	struct review_worst found;
	assert_false(review_worst(&review, 0, &found));
	for (int own = -1; own <= PM_STOP; own++)
		for (int other = -1; other <= PM_STOP; other++) {
			site.has_worst = own >= 0;
			site.worst_severity = own >= 0 ? (enum pm_severity)own : PM_NOTE;
			named = other >= 0;
			across.severity = other >= 0 ? (enum pm_severity)other : PM_NOTE;
			if (own < 0 && other < 0)
				continue;
			assert_true(review_worst(&review, 0, &found));
			assert_int_equal(found.of_fleet, other > own);
			assert_int_equal(found.severity, other > own ? other : own);
			assert_string_equal(found.message, other > own ? "across" : "own");
		}
}

/* Each alone makes a review stop; a warning does not. */
static void stops(void **state)
{
	(void)state;
	static const struct { const char *fault; size_t stops; bool across; enum pm_severity severity; bool expected; } cases[] = {
		{ NULL, 0, false, PM_NOTE, false }, { NULL, 0, true, PM_WARN, false }, { NULL, 0, true, PM_STOP, true },
		{ NULL, 1, false, PM_NOTE, true },  { "broken", 0, false, PM_NOTE, true },
	};
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_fleet_finding across = { .severity = cases[i].severity };
		struct pm_fleet_findings findings = { .item = &across, .count = cases[i].across };
		struct pm_site_summary site = { .fault = cases[i].fault, .stops = cases[i].stops };
		struct pm_fleet fleet = { .site = &site, .count = 1 };
		struct review review = { .fleet = &fleet, .findings = &findings };
		assert_int_equal(review_stops(&review), cases[i].expected);
	}
}

/* --- the forms -------------------------------------------------------------------- */

static void as_text(void **state)
{
	(void)state;
	struct written w;
	make_fleet(&w.f);
	write_all(&w);
	assert_true(widest(w.text) <= REVIEW_COLUMNS);
	static const char *const parts[] = {
		"fleet as of 2026-01-01T09:00:00Z\n", "\nTB-01 ", " =>....  0+1/13 ", "\nbroken.yaml ", "! cannot be read",
		"\nfleet/broken.yaml:3:7: could not be read\n  a tab where a key belongs\n  do: write blanks\n",
		"\n5 sites: 1 done, ", "; 1 for practice", "\nforecast: ",
	};
	for (size_t i = 0; i < COUNT(parts); i++)
		if (!strstr(w.text, parts[i]))
			fail_msg("no %s in:\n%s", parts[i], w.text);
	static const char *const rows[] = { "\nTB-01 ", "\nTB-02 ", "\nTB-03 ", "\nTB-04 ", "\nbroken.yaml ", "\nTB-06 practice " };
	for (size_t i = 0; i < COUNT(rows); i++)
		assert_int_equal(lines_with(w.text, rows[i]), 1);
	forget(&w);
}

static void as_csv(void **state)
{
	(void)state;
	struct written w;
	make_fleet(&w.f);
	write_all(&w);
	assert_int_equal(lines_with(w.csv, "\r\n"), 7);
	assert_memory_equal(w.csv, "file,site,", 10);
	static const char *const parts[] = {
		"\r\nTB-02.yaml,TB-02,,south,no,held,muster,13,1,0,", ",2025-12-30,-2,",
		"\r\nfleet/broken.yaml,,,,,unread,,,,,,,,,,a tab where a key belongs,,",
		",2026-01-08T09:00:00+02:00,2026-01-08T11:00:00+02:00,", "\r\nTB-06.yaml,TB-06,,north,yes,",
	};
	for (size_t i = 0; i < COUNT(parts); i++)
		if (!strstr(w.csv, parts[i]))
			fail_msg("no %s in:\n%s", parts[i], w.csv);
	forget(&w);
}

static void as_html(void **state)
{
	(void)state;
	struct written w;
	make_fleet(&w.f);
	write_all(&w);
	assert_int_equal(lines_with(w.html, "<tr id=\"site-"), 6);
	static const char *const parts[] = {
		"<dt>sites</dt> <dd>5</dd>", "<dt>could not be read</dt> <dd>1</dd>", "<dt>for practice</dt> <dd>1</dd>",
		"=&gt;....</span>", "1 of 6 closed; muster open", "2 d late", "a tab where a key belongs",
		">today 2026-01-01</text>", ">deadline 2026-01-31</text>", "window 2026-01-08 (not ready for it)",
		"due 2025-12-30 (overdue)",
	};
	for (size_t i = 0; i < COUNT(parts); i++)
		if (!strstr(w.html, parts[i]))
			fail_msg("no %s in:\n%s", parts[i], w.html);
	static const char *const never[] = { "<script", "http:", "https:", "src=", "url(", "@import", "<link" };
	for (size_t i = 0; i < COUNT(never); i++)
		assert_null(strstr(w.html, never[i]));
	forget(&w);
}

/* A finding about more files than its message names lists them all. */
static void many_files(void **state)
{
	(void)state;
	struct written w;
	fleet_init(&w.f);
	for (int i = 0; i < 6; i++) {
		char code[] = "TB-0?";
		code[4] = (char)('1' + i);
		fleet_job(&w.f, code, code);
		fleet_address(&w.f, "port1", "00-00-5E-00-53-77");
		fleet_add_job(&w.f);
	}
	write_all(&w);
	for (int i = 0; i < 6; i++) {
		char listed[] = "TB-0?.yaml\n", linked[] = "<a href=\"#site-?\">TB-0?</a> TB-0?.yaml</li>";
		listed[4] = (char)('1' + i);
		strchr(linked, '?')[0] = listed[4], strchr(linked, '?')[0] = listed[4], strchr(linked, '?')[0] = listed[4];
		if (!strstr(w.text, listed) || !strstr(w.html, linked))
			fail_msg("no %s in:\n%s", listed, w.text);
	}
	assert_non_null(strstr(w.json, "address-elsewhere"));
	forget(&w);
}

/* Text of a file, wherever it ends up. */
static void hostile(void **state)
{
	(void)state;
	static const char *const texts[] = {
		"<script>alert(1)</script>", "\"><img src=x>", "' onload='x", "a & b", "=1+1", "@x", "-x", "+x", "a,b\"c", "two\nlines",
		"\x1B[2J", ("\xE2\x80\xAE" "right"), "\xFF", "\x7F",
	};
	for (size_t i = 0; i < COUNT(texts); i++) {
		struct written w;
		fleet_init(&w.f);
		for (int k = 0; k < 2; k++) {
			fleet_job(&w.f, texts[i], texts[i])->job.name = word(texts[i]);
			w.f.job.job.file = texts[i];
			fleet_address(&w.f, "port1", "00-00-5E-00-53-77");
			fleet_add_job(&w.f);
		}
		write_all(&w);
		const char *const forms[] = { w.text, w.csv, w.html, w.json };
		for (size_t k = 0; k < COUNT(forms); k++) {
			for (const char *at = forms[k]; *at; at++)
				if (((unsigned char)*at < 0x20 && *at != '\n' && *at != '\r') || *at == 0x7F)
					fail_msg("a control character in form %zu", k);
			assert_null(strstr(forms[k], "\xE2\x80\xAE"));
			assert_null(strchr(forms[k], '\xFF'));
		}
		assert_null(strstr(w.html, "<script"));
		assert_null(strstr(w.html, "<img"));
		assert_null(strstr(w.html, "' onload"));
		for (const char *at = w.csv; (at = strpbrk(at, ",\n")); ) {
			at++;
			at += *at == '"';
			assert_false(*at && strchr("=+@\t", *at));
			assert_false(*at == '-' && !pm_is_digit(at[1]));
		}
		assert_true(widest(w.text) <= REVIEW_COLUMNS);
		forget(&w);
	}
}

/* What is no job file is named in every form that has a place for it, and in no row. */
static void left_out(void **state)
{
	(void)state;
	static const char *const files[] = { "fleet/a.yaml", "fleet/<b>.yaml", "fleet/c\x1B[2J.yaml", "fleet/d\n.yaml",
		"fleet/e\xFF.yaml", "fleet/f.yaml", "fleet/g.yaml", "fleet/h.yaml", "fleet/i.yaml", "fleet/j.yaml" };
	static const struct { size_t count; const char *text, *html; } rows[] = {
		{ 0, NULL, NULL },
		{ 1, "\nleft out, no job files: fleet/a.yaml\n", "<p>Left out, no job files: fleet/a.yaml</p>" },
		{ 2, "\nleft out, no job files: fleet/a.yaml, fleet/<b>.yaml\n", ": fleet/a.yaml, fleet/&lt;b&gt;.yaml</p>" },
		{ 8, "\n                        fleet/g.yaml, fleet/h.yaml\n", "fleet/g.yaml, fleet/h.yaml</p>" },
		{ 10, "fleet/h.yaml and 2 more\n", "fleet/h.yaml and 2 more</p>" },
	};
	for (size_t i = 0; i < COUNT(rows); i++) {
		struct written w;
		make_fleet(&w.f);
		w.f.fleet.left_out = files;
		w.f.fleet.left_out_count = rows[i].count;
		write_all(&w);
		assert_int_equal(lines_with(w.text, "left out"), rows[i].count > 0);
		assert_int_equal(lines_with(w.html, "Left out"), rows[i].count > 0);
		if (rows[i].text && (!strstr(w.text, rows[i].text) || !strstr(w.html, rows[i].html)))
			fail_msg("%zu:\n%s", rows[i].count, strstr(w.text, "left out"));
		assert_true(widest(w.text) <= REVIEW_COLUMNS);
		for (const char *at = w.text; *at; at++)
			assert_true((unsigned char)*at >= 0x20 || *at == '\n');
		/* they count nowhere */
		assert_int_equal(lines_with(w.csv, "\r\n"), 7);
		assert_int_equal(lines_with(w.html, "<tr id=\"site-"), 6);
		assert_int_equal(w.review.counts.sites, 5);
		assert_int_equal(w.review.counts.unread, 1);
		/* and JSON has them all */
		json_t *root = json_loads(w.json, 0, NULL), *list = json_object_get(json_object_get(root, "fleet"), "left_out");
		assert_int_equal(json_array_size(list), rows[i].count);
		for (size_t k = 0; k < rows[i].count; k++)
			assert_string_equal(json_string_value(json_array_get(list, k)), k == 4 ? "fleet/e\\xFF.yaml" : files[k]);
		json_decref(root);
		forget(&w);
	}
}

/* A date far off is drawn at the edge and squeezes nothing. */
static void far_dates(void **state)
{
	(void)state;
	static const char *const days[] = { "0000-01-01", "9999-12-31", "2026-01-01", "2026-02-28" };
	struct written w;
	fleet_init(&w.f);
	for (size_t i = 0; i < COUNT(days); i++) {
		char code[] = "TB-0?";
		code[4] = (char)('1' + i);
		fleet_job(&w.f, code, code)->job.due = word(days[i]);
		fleet_add_job(&w.f);
	}
	write_all(&w);
	assert_non_null(strstr(w.html, "due 9999-12-31"));
	assert_non_null(strstr(w.html, "due 0000-01-01 (overdue)"));
	for (const char *at = w.html; (at = strstr(at, "%\"")); at += 2) {
		const char *from = at;
		while (pm_is_digit(from[-1]) || from[-1] == '.')
			from--;
		assert_true(from[-1] == '"');
		int64_t value;
		char number[24];
		assert_in_range(at - from, 1, 6);
		memcpy(number, from, (size_t)(at - from));
		number[at - from] = '\0';
		assert_true(pm_read_decimal(number, &value));
		assert_in_range(value, 0, 100000000);
	}
	forget(&w);
}

static void none_open(void **state)
{
	(void)state;
	struct written w;
	fleet_init(&w.f);
	fixture_reach(fleet_job(&w.f, "TB-01", "north"), FIXTURE_PHASES);
	fleet_add_job(&w.f);
	write_all(&w);
	assert_non_null(strstr(w.text, "forecast: no open site"));
	assert_non_null(strstr(w.html, "No open site has an appointment or a due day."));
	assert_non_null(strstr(w.html, "<p>Nothing does.</p>"));
	assert_null(strstr(w.text, "what blocks"));
	forget(&w);
}

/* Whichever allocation fails: no crash, and it shows. */
static void memory_runs_out(void **state)
{
	(void)state;
	struct written w;
	size_t failures = 0;
	static const char *const files[] = { "fleet/a.yaml" };
	make_fleet(&w.f);
	w.f.fleet.left_out = files;
	w.f.fleet.left_out_count = 1;
	write_all(&w);
	for (fail_at = 1; fail_at < 400; fail_at++) {
		struct pm_arena arena;
		struct pm_text text, csv, html;
		asked = 0;
		pm_arena_init(&arena);
		struct review review = w.review;
		review_text(&review, fresh(&text, &arena));
		review_csv(&review, fresh(&csv, &arena));
		review_html(&review, fresh(&html, &arena));
		bool whole = !text.cut && !csv.cut && !html.cut;
		assert_int_equal(whole, asked < fail_at);
		failures += !whole;
		pm_arena_free(&arena);
	}
	fail_at = 0;
	assert_in_range(failures, 20, 398);
	forget(&w);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(words),      cmocka_unit_test(slack),   cmocka_unit_test(worst),     cmocka_unit_test(stops),
		cmocka_unit_test(as_text),    cmocka_unit_test(as_csv),  cmocka_unit_test(as_html),   cmocka_unit_test(many_files),
		cmocka_unit_test(hostile),    cmocka_unit_test(left_out), cmocka_unit_test(far_dates), cmocka_unit_test(none_open),
		cmocka_unit_test(memory_runs_out),
	};
	return cmocka_run_group_tests_name("review", tests, NULL, NULL);
}
