/* The timeline. Across, everything is in per cent of the page's width and texts keep
 * their size, so one drawing can be read on a telephone, on a desk and on paper. */
#include <stdlib.h>
#include <string.h>

#include "report/html.h"
#include "report/review_parts.h"

#define DAY 86400
#define PAST_MOST (60 * DAY)     /* a date typed wrongly must not squeeze all others: */
#define AHEAD_MOST (400 * DAY)   /* what lies farther off is drawn at the edge */
#define ROWS_MOST 150
#define TICKS_MOST 7             /* as month and day, */
#define DATES_MOST 5             /* as whole dates, from this many days apart on */
#define DATES_FROM 28
#define HEAD 50                  /* height of the axis, in pixels */
#define ROW 36
#define EDGE 900                 /* hundredths of a per cent in which a label turns inwards */
#define WHOLE 10000

struct entry {
	int64_t first;           /* the earliest date that stands in the row */
	uint32_t site;
};

struct timeline {
	const struct review *review;
	struct pm_text *out;
	int64_t from, until;     /* seconds at the two ends */
	struct entry *entry;
	size_t count;
	bool several;            /* deadlines */
};

static int64_t due_end(int64_t day)
{
	return (day + 1) * DAY;
}

/* Where a time stands, in hundredths of a per cent. */
static long long place(const struct timeline *t, int64_t second)
{
	second = second < t->from ? t->from : second > t->until ? t->until : second;
	return (long long)((second - t->from) * WHOLE / (t->until - t->from));
}

static void put_per_cent(struct pm_text *out, const char *name, long long hundredths)
{
	pm_text_add(out, " %s=\"%lld.%02lld%%\"", name, hundredths / 100, hundredths % 100);
}

/* A label at a time, turned inwards near the edges. */
static void put_label(const struct timeline *t, int64_t second, int y, const char *class, const char *said, const char *date)
{
	long long x = place(t, second);
	const char *anchor = x < WHOLE / 3 ? "start" : x > WHOLE * 2 / 3 ? "end" : "middle";
	pm_text_add(t->out, "<text class=\"%s\"", class);
	put_per_cent(t->out, "x", x);
	pm_text_add(t->out, " y=\"%d\" text-anchor=\"%s\">%s%s</text>\n", y, anchor, said, date);
}

static void put_line(const struct timeline *t, int64_t second, int y, int height, const char *class)
{
	long long x = place(t, second);
	pm_text_add(t->out, "<line class=\"%s\"", class);
	put_per_cent(t->out, "x1", x);
	put_per_cent(t->out, "x2", x);
	pm_text_add(t->out, " y1=\"%d\" y2=\"%d\"/>\n", y, height);
}

/* A line for each deadline. Where there are several, which of them is whose stands in the
 * rows: their labels could lie upon each other. */
static void put_deadlines(const struct timeline *t, int height)
{
	const struct pm_fleet *fleet = t->review->fleet;
	char date[PM_WHEN_TEXT];
	int64_t first, last;
	if (!pm_fleet_deadlines(fleet, &first, &last))
		return;
	for (size_t f = 0; f <= fleet->folder_count; f++) {
		const struct pm_fleet_options *o = pm_fleet_options_at(fleet, f);
		if (o->has_deadline && o->deadline_day >= first && o->deadline_day <= last)
			put_line(t, due_end(o->deadline_day), 30, height, "deadline");
	}
	put_label(t, due_end(first), 26, "deadline", first == last ? "deadline " : "first deadline ", pm_day_write(first, date));
}

static void put_axis(const struct timeline *t, int height)
{
	static const int steps[] = { 1, 2, 7, 14, 28, 56, 91, 182 };
	char date[PM_WHEN_TEXT];
	size_t chosen = 0;
	while (chosen + 1 < sizeof steps / sizeof *steps &&
	       (t->until - t->from) / DAY / steps[chosen] > (steps[chosen] < DATES_FROM ? TICKS_MOST : DATES_MOST))
		chosen++;
	int step = steps[chosen];
	size_t year = step < DATES_FROM ? strlen("2026-") : 0;
	/* steps of weeks begin on a Monday, as 1970-01-05 was */
	int64_t day = review_day(t->from) + 1, base = step >= 7 ? 4 : 0;
	day += (step - (day - base) % step) % step;
	for (; day * DAY < t->until; day += step) {
		long long x = place(t, day * DAY);
		put_line(t, day * DAY, HEAD - 6, height, "tick");
		if (x < EDGE || x > WHOLE - EDGE)
			continue;
		pm_text_str(t->out, "<text class=\"date\"");
		put_per_cent(t->out, "x", x);
		pm_text_add(t->out, " y=\"%d\" text-anchor=\"middle\">%s</text>\n", HEAD - 10, pm_day_write(day, date) + year);
	}
	put_line(t, t->review->now.second, 16, height, "now");
	put_label(t, t->review->now.second, 12, "now", "today ", pm_day_write(review_day(t->review->now.second), date));
	put_deadlines(t, height);
}

/* The row's own words: whatever the marks show stands here too. */
static void put_words(const struct timeline *t, size_t site, int y)
{
	const struct pm_site_summary *s = &t->review->fleet->site[site];
	int64_t now = t->review->now.second, due, deadline;
	char text[PM_WHEN_TEXT];
	struct pm_text *out = t->out, name;
	struct pm_arena arena;
	pm_arena_init(&arena);
	pm_text_grow(&name, &arena);
	review_put_site(&name, s);
	pm_text_add(out, "<text x=\"0\" y=\"%d\"><tspan class=\"site\">", y);
	html_put(out, name.data);
	pm_text_str(out, "</tspan>");
	if (s->has_window) {
		pm_text_str(out, " window ");
		review_put_window(out, s);
		pm_text_str(out, s->until.second <= now ? " (over)" : s->set ? "" : " (not ready for it)");
	}
	if (review_due(t->review, site, &due) && s->has_due)
		pm_text_add(out, "%s due %s%s", s->has_window ? "," : "", pm_day_write(due, text),
		            due_end(due) <= now ? " (overdue)" : "");
	/* what comes before its due day, or is not the same for all */
	if (pm_fleet_deadline(t->review->fleet, site, &deadline) && (t->several || (s->has_due && deadline < s->due)))
		pm_text_add(out, "%s deadline %s%s", s->has_window || s->has_due ? "," : "", pm_day_write(deadline, text),
		            due_end(deadline) <= now ? " (passed)" : "");
	pm_text_str(out, "</text>\n");
	out->cut = out->cut || arena.failed;
	pm_arena_free(&arena);
}

static void put_row(const struct timeline *t, size_t site, int y)
{
	const struct pm_site_summary *s = &t->review->fleet->site[site];
	struct pm_text *out = t->out;
	put_words(t, site, y + 13);
	pm_text_add(out, "<line class=\"base\" x1=\"0\" x2=\"100%%\" y1=\"%d\" y2=\"%d\"/>\n", y + 24, y + 24);
	if (s->has_window) {
		long long from = place(t, s->from.second), until = place(t, s->until.second);
		pm_text_add(out, "<rect class=\"%s\"", s->until.second <= t->review->now.second ? "window over" : "window");
		put_per_cent(out, "x", from);
		put_per_cent(out, "width", until - from);
		pm_text_add(out, " y=\"%d\" height=\"10\"/>\n", y + 19);
	}
	if (s->has_due) {
		pm_text_str(out, "<svg overflow=\"visible\"");
		put_per_cent(out, "x", place(t, due_end(s->due)));
		pm_text_add(out, " y=\"%d\"><path class=\"due\" d=\"M0-6L6 0L0 6L-6 0z\"/></svg>\n", y + 24);
	}
}

static int by_first(const void *a, const void *b)
{
	const struct entry *x = a, *y = b;
	if (x->first != y->first)
		return x->first < y->first ? -1 : 1;
	return x->site < y->site ? -1 : x->site > y->site;
}

static void reach(struct timeline *t, int64_t second)
{
	t->from = second < t->from ? second : t->from;
	t->until = second > t->until ? second : t->until;
}

/* The open sites with a date, earliest first, and the stretch of time they take. */
static bool collect(struct timeline *t, struct pm_arena *arena)
{
	const struct pm_fleet *fleet = t->review->fleet;
	int64_t now = t->review->now.second;
	t->entry = pm_arena_array(arena, fleet->count, sizeof *t->entry);
	t->from = t->until = now;
	int64_t earliest, latest;
	if (pm_fleet_deadlines(fleet, &earliest, &latest)) {
		reach(t, due_end(earliest));
		reach(t, due_end(latest));
		t->several = earliest != latest;
	}
	for (size_t i = 0; t->entry && i < fleet->count; i++) {
		const struct pm_site_summary *s = &fleet->site[i];
		if (s->fault || pm_site_done(s) || (!s->has_window && !s->has_due))
			continue;
		int64_t first = s->has_window ? s->from.second : due_end(s->due);
		if (s->has_due && due_end(s->due) < first)
			first = due_end(s->due);
		t->entry[t->count++] = (struct entry){ first, (uint32_t)i };
		if (s->has_window)
			reach(t, s->from.second), reach(t, s->until.second);
		if (s->has_due)
			reach(t, due_end(s->due));
	}
	if (!t->entry)
		return false;
	if (t->count)
		qsort(t->entry, t->count, sizeof *t->entry, by_first);
	t->from = t->from < now - PAST_MOST ? now - PAST_MOST : t->from;
	t->until = t->until > now + AHEAD_MOST ? now + AHEAD_MOST : t->until;
	t->from = (review_day(t->from) - 1) * DAY;
	t->until = (review_day(t->until) + 2) * DAY;
	return true;
}

static void put_legend(struct pm_text *out)
{
	static const struct { const char *mark, *said; } rows[] = {
		{ "<rect class=\"window\" x=\"1\" y=\"3\" width=\"16\" height=\"10\"/>", "appointment" },
		{ "<rect class=\"window over\" x=\"1\" y=\"3\" width=\"16\" height=\"10\"/>", "appointment that is over" },
		{ "<path class=\"due\" d=\"M9 2L15 8L9 14L3 8z\"/>", "end of the due day" },
		{ "<line class=\"now\" x1=\"9\" x2=\"9\" y1=\"0\" y2=\"16\"/>", "today" },
		{ "<line class=\"deadline\" x1=\"9\" x2=\"9\" y1=\"0\" y2=\"16\"/>", "end of the deadline's day" },
	};
	pm_text_str(out, "<ul class=\"legend\">");
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		pm_text_add(out, "<li><svg width=\"18\" height=\"16\" aria-hidden=\"true\">%s</svg> %s</li>", rows[i].mark, rows[i].said);
	pm_text_str(out, "</ul>\n");
}

void review_svg(const struct review *review, struct pm_text *out)
{
	struct timeline t = { .review = review, .out = out };
	struct pm_arena arena;
	pm_arena_init(&arena);
	if (!collect(&t, &arena)) {
		out->cut = true;
	} else if (!t.count) {
		pm_text_str(out, "<p>No open site has an appointment or a due day.</p>\n");
	} else {
		size_t rows = t.count < ROWS_MOST ? t.count : ROWS_MOST;
		int height = HEAD + (int)rows * ROW + 4;
		put_legend(out);
		pm_text_add(out, "<div class=\"timeline\"><svg role=\"img\" aria-label=\"timeline of %zu sites\" width=\"100%%\" "
		            "height=\"%d\">\n", rows, height);
		put_axis(&t, height);
		for (size_t i = 0; i < rows; i++)
			put_row(&t, t.entry[i].site, HEAD + (int)i * ROW);
		pm_text_str(out, "</svg></div>\n");
		if (rows < t.count)
			pm_text_add(out, "<p>The earliest %zu are drawn; %zu more stand in the table only.</p>\n", rows, t.count - rows);
	}
	pm_arena_free(&arena);
}
