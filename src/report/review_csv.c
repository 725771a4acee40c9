/* The review as comma-separated values (RFC 4180), a row a site. */
#include <string.h>

#include "portmuster/layout.h"
#include "report/review_parts.h"

struct row {
	const struct review *review;
	size_t at;
	const struct pm_site_summary *site;
};

static void put_day(struct pm_text *cell, bool given, int64_t day)
{
	char text[PM_WHEN_TEXT];
	if (given)
		pm_text_str(cell, pm_day_write(day, text));
}

static void put_when(struct pm_text *cell, bool given, struct pm_when when)
{
	char text[PM_WHEN_TEXT];
	if (given)
		pm_text_str(cell, pm_when_write(when, text));
}

static void put_number(struct pm_text *cell, const struct row *row, size_t number)
{
	if (!row->site->fault)
		pm_text_add(cell, "%zu", number);
}

#define CELL(name) static void name(struct pm_text *cell, const struct row *row)

CELL(file) { pm_text_visible(cell, row->site->file, strlen(row->site->file)); }
CELL(site) { pm_text_str(cell, row->site->code); }
CELL(name) { pm_text_str(cell, row->site->name); }
CELL(crew) { pm_text_str(cell, row->site->crew); }
CELL(practice) { pm_text_str(cell, row->site->fault ? "" : row->site->practice ? "yes" : "no"); }

CELL(state)
{
	const struct pm_site_summary *s = row->site;
	pm_text_str(cell, s->fault ? "unread" : pm_site_done(s) ? "done" : review_held(row->review, row->at) ? "held" : "ready");
}

CELL(phase)
{
	const struct pm_site_summary *s = row->site;
	pm_text_str(cell, s->fault ? "" : pm_site_done(s) ? "closed" : s->phases[s->phase].id);
}

CELL(expected) { put_number(cell, row, row->site->expected); }
CELL(held) { put_number(cell, row, row->site->held); }
CELL(confirmed) { put_number(cell, row, row->site->confirmed); }
CELL(stops) { put_number(cell, row, row->site->stops); }
CELL(warns) { put_number(cell, row, row->site->warns); }
CELL(notes) { put_number(cell, row, row->site->notes); }

CELL(severity)
{
	struct review_worst worst;
	if (review_worst(row->review, row->at, &worst))
		pm_text_str(cell, pm_severity_word(worst.severity));
}

CELL(code)
{
	struct review_worst worst;
	if (review_worst(row->review, row->at, &worst))
		pm_text_str(cell, pm_code_row(worst.code)->name);
}

CELL(message)
{
	struct review_worst worst;
	if (row->site->fault)
		pm_text_str(cell, row->site->fault);
	else if (review_worst(row->review, row->at, &worst))
		pm_text_str(cell, worst.message);
}

CELL(next) { pm_text_str(cell, row->site->fault ? "" : pm_holder_word(row->site->holder)); }
CELL(waits_in) { pm_text_str(cell, row->site->waits_in); }
CELL(waits_for) { pm_text_str(cell, row->site->waits_why); }
CELL(from) { put_when(cell, row->site->has_window, row->site->from); }
CELL(until) { put_when(cell, row->site->has_window, row->site->until); }

CELL(due)
{
	int64_t day = 0;
	bool given = review_due(row->review, row->at, &day);
	put_day(cell, given, day);
}

CELL(slack)
{
	int64_t days;
	if (review_slack(row->review, row->at, &days))
		pm_text_add(cell, "%lld", (long long)days);
}

/* The day to which the slack is counted. */
CELL(slack_to)
{
	int64_t day = 0;
	bool given = pm_fleet_until(row->review->fleet, row->at, &day, NULL);
	put_day(cell, given, day);
}

CELL(median)
{
	const struct pm_site_forecast *forecast = review_forecast(row->review, row->at);
	put_day(cell, forecast != NULL, forecast ? review_day(forecast->median) : 0);
}

CELL(late)
{
	const struct pm_site_forecast *forecast = review_forecast(row->review, row->at);
	put_day(cell, forecast != NULL, forecast ? review_day(forecast->late) : 0);
}

CELL(least)
{
	const struct pm_site_forecast *forecast = review_forecast(row->review, row->at);
	pm_text_str(cell, !forecast ? "" : forecast->least ? "yes" : "no");
}

static const struct {
	const char *head;
	void (*put)(struct pm_text *cell, const struct row *row);
} columns[] = {
	{ "file", file }, { "site", site }, { "name", name }, { "crew", crew }, { "practice", practice }, { "state", state },
	{ "phase", phase }, { "expected", expected }, { "held", held }, { "confirmed", confirmed }, { "stops", stops },
	{ "warns", warns }, { "notes", notes }, { "severity", severity }, { "finding", code }, { "message", message },
	{ "next move", next }, { "waits in", waits_in }, { "waits for", waits_for }, { "from", from }, { "until", until },
	{ "due", due }, { "slack", slack }, { "half by", median }, { "nine tenths by", late }, { "no earlier than", least },
	{ "slack to", slack_to },
};

void review_csv(const struct review *review, struct pm_text *out)
{
	size_t count = sizeof columns / sizeof *columns;
	for (size_t c = 0; c < count; c++)
		pm_text_add(out, "%s%s", c ? "," : "", columns[c].head);
	pm_text_str(out, "\r\n");
	for (size_t i = 0; i < review->fleet->count; i++) {
		struct row row = { review, i, &review->fleet->site[i] };
		struct pm_arena arena;
		pm_arena_init(&arena);
		for (size_t c = 0; c < count; c++) {
			struct pm_text cell;
			pm_text_grow(&cell, &arena);
			pm_text_char(&cell, '\'');
			columns[c].put(&cell, &row);
			/* a spreadsheet must show it, not run it; a number of our own below zero is no formula */
			const char *text = cell.length && (columns[c].put == slack || !pm_cell_runs(cell.data + 1)) ? cell.data + 1 : cell.data;
			pm_text_str(out, c ? "," : "");
			pm_text_csv(out, text);
		}
		pm_text_str(out, "\r\n");
		out->cut = out->cut || arena.failed;
		pm_arena_free(&arena);
	}
}
