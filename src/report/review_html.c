/* The review as HTML that stands alone: no script, nothing fetched. A wide page has
 * tables; on a narrow one each row of the board becomes a card. */
#include <string.h>

#include "report/html.h"
#include "report/review_parts.h"

static const char head[] =
	"<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
	"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
	"<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
	"<title>Fleet review</title>\n<style>\n"
	"@page { margin: 12mm }\n"
	"body { font: 15px/1.4 sans-serif; color: #111; background: #fff; max-width: 1200px; margin: 0 auto; padding: 12px }\n"
	"h1 { font-size: 1.5em; margin: 0 }\n"
	"h2 { font-size: 1.2em; margin: 28px 0 8px; border-bottom: 2px solid #111; break-after: avoid }\n"
	"h3 { font-size: 1em; margin: 0; overflow-wrap: anywhere }\n"
	"p { margin: 4px 0; overflow-wrap: anywhere }\n"
	"a { color: #0b4f8a }\n"
	".counts { display: flex; flex-wrap: wrap; gap: 8px; margin: 12px 0 }\n"
	".counts div { border: 1px solid #777; border-radius: 4px; padding: 4px 10px }\n"
	".counts dt, .counts dd { display: inline; margin: 0 }\n"
	".counts dd { font-weight: bold }\n"
	"table { border-collapse: collapse; width: 100% }\n"
	"th, td { border: 1px solid #999; padding: 4px 8px; text-align: left; vertical-align: top; overflow-wrap: anywhere }\n"
	"thead th { background: #e8e8e8; overflow-wrap: normal }\n"
	"table.board th:first-child { width: 18% }\n"
	"tr, article, .legend { break-inside: avoid }\n"
	".legend { break-after: avoid }\n"
	"small { display: block; color: #444; font-weight: normal }\n"
	".marks { font: bold 17px/1.2 monospace; letter-spacing: 2px; white-space: nowrap }\n"
	".short { white-space: nowrap }\n"
	".weight { display: inline-block; border: 1px solid #111; border-radius: 3px; padding: 0 5px; font-weight: bold }\n"
	".stop { background: #9b1c1c; color: #fff; border-color: #9b1c1c }\n"
	".warn { background: #ffe08a }\n"
	"article { border: 1px solid #999; border-left: 5px solid #555; padding: 6px 10px; margin: 8px 0 }\n"
	"article ul { margin: 4px 0; padding-left: 20px; overflow-wrap: anywhere }\n"
	".legend { display: flex; flex-wrap: wrap; gap: 4px 16px; list-style: none; margin: 4px 0; padding: 0 }\n"
	".legend svg { vertical-align: -3px }\n"
	".timeline { padding: 0 8px; overflow: hidden }\n"
	".timeline > svg { display: block; overflow: visible; font: 12px sans-serif; fill: #111 }\n"
	"text.date { font-size: 10px }\n"
	"text.now, text.deadline, tspan.site { font-weight: bold }\n"
	"text { paint-order: stroke; stroke: #fff; stroke-width: 3px }\n"
	"line { stroke: #999 }\n"
	"line.tick { stroke: #ddd }\n"
	"line.now { stroke: #111; stroke-width: 2 }\n"
	"line.deadline { stroke: #9b1c1c; stroke-width: 2; stroke-dasharray: 6 3 }\n"
	"rect.window { fill: #0b4f8a; stroke: #0b4f8a; stroke-width: 3 }\n"
	"rect.over { fill: #fff }\n"
	"path.due { fill: #c77700; stroke: #111 }\n"
	"@media screen and (max-width: 760px) {\n"
	"table.board, table.board tbody, table.board tr, table.board td, table.board th { display: block; border: 0 }\n"
	"table.board th:first-child { width: auto }\n"
	"table.board thead { display: none }\n"
	".marks { white-space: normal; overflow-wrap: anywhere }\n"
	"table.board tr { border: 1px solid #777; border-radius: 4px; margin: 8px 0; padding: 4px 0 }\n"
	"table.board td { padding: 2px 8px 2px 104px; position: relative; min-height: 21px }\n"
	"table.board td::before { content: attr(data-label); position: absolute; left: 8px; width: 90px; color: #444 }\n"
	"}\n"
	"@media print {\n"
	"body { font-size: 9pt; max-width: none; padding: 0 }\n"
	"th, td { padding: 1px 4px }\n"
	"a { color: #111; text-decoration: none }\n"
	"* { print-color-adjust: exact; -webkit-print-color-adjust: exact }\n"
	"}\n"
	"</style>\n</head>\n<body>\n";

/* What a `put` writes, escaped. */
static void put_made(struct pm_text *out, const struct review *review,
                     void (*put)(struct pm_text *out, const struct review *review))
{
	struct pm_arena arena;
	struct pm_text text;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	put(&text, review);
	html_put(out, text.data);
	out->cut = out->cut || arena.failed;
	pm_arena_free(&arena);
}

static void put_site_made(struct pm_text *out, const struct pm_site_summary *site,
                          void (*put)(struct pm_text *out, const struct pm_site_summary *site))
{
	struct pm_arena arena;
	struct pm_text text;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	put(&text, site);
	html_put(out, text.data);
	out->cut = out->cut || arena.failed;
	pm_arena_free(&arena);
}

static void put_weight(struct pm_text *out, enum pm_severity severity)
{
	const char *word = pm_severity_word(severity);
	pm_text_add(out, "<span class=\"weight %s\">%s</span> ", word, word);
}

/* "TITLE: what is missing (who)", each from a file. */
static void put_needs(struct pm_text *out, const struct pm_site_summary *site)
{
	html_put(out, site->waits_in);
	pm_text_str(out, ": ");
	html_put(out, site->waits_why);
}

/* --- head --- */

static void put_counts(struct pm_text *out, const struct review *review)
{
	const struct pm_fleet_counts *c = &review->counts;
	const struct { const char *word; size_t count; } rows[] = {
		{ "sites", c->sites }, { "done", c->done }, { "ready for the next move", c->ready },
		{ "stopped by a finding", c->stopped }, { "could not be read", c->unread }, { "for practice", c->practice },
	};
	pm_text_str(out, "<dl class=\"counts\">\n");
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		pm_text_add(out, "<div><dt>%s</dt> <dd>%zu</dd></div>\n", rows[i].word, rows[i].count);
	for (int i = PM_HOLDER_TECHNICIAN; i < PM_HOLDERS; i++)
		pm_text_add(out, "<div><dt>next move: %s</dt> <dd>%zu</dd></div>\n", pm_holder_word((enum pm_holder)i), c->holds[i]);
	pm_text_str(out, "</dl>\n");
}

/* --- the board --- */

static void put_phases(struct pm_text *out, const struct pm_site_summary *site)
{
	size_t closed = 0;
	pm_text_str(out, "<span class=\"marks\" aria-hidden=\"true\">");
	put_site_made(out, site, review_marks);
	pm_text_str(out, "</span><small>");
	for (size_t i = 0; i < site->phase_count; i++)
		closed += site->phases[i].state == PM_PHASE_CLOSED;
	pm_text_add(out, "%zu of %zu closed", closed, site->phase_count);
	if (!pm_site_done(site)) {
		pm_text_str(out, "; ");
		html_put(out, site->phases[site->phase].id);
		pm_text_add(out, " %s", pm_phase_state_word(site->phases[site->phase].state));
	}
	pm_text_str(out, "</small>");
}

static void put_window(struct pm_text *out, const struct pm_site_summary *site, struct pm_when now)
{
	char from[PM_WHEN_TEXT], until[PM_WHEN_TEXT];
	if (!site->has_window) {
		pm_text_str(out, "none");
		return;
	}
	pm_text_add(out, "<span class=\"short\">%s</span> to <span class=\"short\">%s</span>", pm_when_write(site->from, from),
	            pm_when_write(site->until, until));
	if (!pm_site_done(site) && site->until.second <= now.second)
		pm_text_str(out, "<small>over</small>");
}

static void put_due(struct pm_text *out, const struct review *review, size_t site)
{
	const struct pm_site_forecast *forecast = review_forecast(review, site);
	int64_t due = 0, until = 0, days;
	char day[PM_WHEN_TEXT];
	bool own, given = review_due(review, site, &due), open = pm_fleet_until(review->fleet, site, &until, &own);
	if (given || open)
		pm_text_add(out, "<span class=\"short\">%s</span>", pm_day_write(open ? until : due, day));
	else
		pm_text_str(out, "none");
	if (open && !own)
		pm_text_str(out, "<small>the deadline</small>");
	if (review_slack(review, site, &days))
		pm_text_add(out, days < 0 ? "<small>%lld d late</small>" : "<small>%lld d left</small>",
		            (long long)(days < 0 ? -days : days));
	if (open && due != until)
		pm_text_add(out, "<small>the job itself: due <span class=\"short\">%s</span></small>", pm_day_write(due, day));
	if (forecast) {
		pm_text_add(out, "<small>forecast: %s<span class=\"short\">%s</span>, ",
		            forecast->least ? "no earlier than " : "half by ", pm_day_write(review_day(forecast->median), day));
		pm_text_add(out, "nine tenths <span class=\"short\">%s</span></small>", pm_day_write(review_day(forecast->late), day));
	}
}

static void put_row(struct pm_text *out, const struct review *review, size_t i)
{
	const struct pm_site_summary *site = &review->fleet->site[i];
	struct review_worst worst;
	pm_text_add(out, "<tr id=\"site-%zu\"><th scope=\"row\">", i + 1);
	put_site_made(out, site, review_put_site);
	pm_text_str(out, "<small>");
	html_put(out, site->name);
	pm_text_str(out, "</small><small>");
	html_put(out, site->file);
	pm_text_str(out, "</small></th>");
	if (site->fault) {
		pm_text_str(out, "<td colspan=\"6\" data-label=\"unread\"><span class=\"weight stop\">unread</span> ");
		html_put(out, site->fault);
		pm_text_str(out, "</td></tr>\n");
		return;
	}
	pm_text_str(out, "<td data-label=\"phases\">");
	put_phases(out, site);
	pm_text_str(out, "</td><td data-label=\"addresses\"><span class=\"short\">");
	put_site_made(out, site, review_put_read);
	pm_text_str(out, "</span></td><td data-label=\"worst finding\">");
	if (review_worst(review, i, &worst)) {
		put_weight(out, worst.severity);
		pm_text_add(out, "<span class=\"short\">%s</span>", pm_code_row(worst.code)->name);
	} else {
		pm_text_str(out, "none");
	}
	pm_text_add(out, "</td><td data-label=\"next move\"><b>%s</b>", pm_holder_word(site->holder));
	if (!pm_site_done(site)) {
		pm_text_str(out, "<small>");
		put_needs(out, site);
		pm_text_str(out, "</small>");
	}
	pm_text_str(out, "</td><td data-label=\"appointment\">");
	put_window(out, site, review->now);
	pm_text_str(out, "</td><td data-label=\"due\">");
	put_due(out, review, i);
	pm_text_str(out, "</td></tr>\n");
}

static void put_left_out(struct pm_text *out, const struct review *review)
{
	review_put_left_out(out, review->fleet);
}

static void put_board(struct pm_text *out, const struct review *review)
{
	pm_text_str(out, "<h2>Board</h2>\n<p>Phases: <b>=</b> closed, <b>&gt;</b> open, <b>#</b> shut, <b>.</b> not yet. "
	            "Addresses: confirmed (+ read once) / expected.</p>\n<table class=\"board\">\n<thead><tr>");
	static const char *const heads[] = {
		"site", "phases", "addresses", "worst finding", "next move", "appointment", "due",
	};
	for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
		pm_text_add(out, "<th scope=\"col\">%s</th>", heads[i]);
	pm_text_str(out, "</tr></thead>\n<tbody>\n");
	for (size_t i = 0; i < review->fleet->count; i++)
		put_row(out, review, i);
	pm_text_str(out, "</tbody></table>\n");
	if (!review->fleet->left_out_count)
		return;
	pm_text_str(out, "<p>Left out, no job files: ");
	put_made(out, review, put_left_out);
	pm_text_str(out, "</p>\n");
}

/* --- what needs words --- */

static void put_link(struct pm_text *out, const struct review *review, size_t site)
{
	pm_text_add(out, "<a href=\"#site-%zu\">", site + 1);
	put_site_made(out, &review->fleet->site[site], review_put_site);
	pm_text_str(out, "</a> ");
	put_site_made(out, &review->fleet->site[site], review_put_place);
}

static void put_remedy(struct pm_text *out, const char *remedy)
{
	pm_text_str(out, "<p>Do: ");
	html_put(out, remedy);
	pm_text_str(out, "</p>\n");
}

static void put_findings(struct pm_text *out, const struct review *review)
{
	const struct pm_fleet_findings *findings = review->findings;
	pm_text_str(out, "<h2>Findings across the fleet</h2>\n");
	if (!findings->count)
		pm_text_str(out, "<p>None.</p>\n");
	for (size_t i = 0; i < findings->count; i++) {
		const struct pm_fleet_finding *finding = &findings->item[i];
		pm_text_str(out, "<article class=\"finding\"><h3>");
		put_weight(out, finding->severity);
		pm_text_add(out, "%s</h3>\n<p>", pm_code_row(finding->code)->name);
		html_put(out, finding->message);
		pm_text_str(out, finding->count ? "</p>\n<ul>" : "</p>\n");
		for (size_t k = 0; k < finding->count; k++) {
			pm_text_str(out, "<li>");
			put_link(out, review, finding->site[k]);
			pm_text_str(out, "</li>");
		}
		pm_text_str(out, finding->count ? "</ul>\n" : "");
		put_remedy(out, finding->remedy);
		pm_text_str(out, "</article>\n");
	}
}

static void put_blocks(struct pm_text *out, const struct review *review)
{
	bool none = true;
	pm_text_str(out, "<h2>What blocks the sites that cannot go on</h2>\n");
	for (size_t i = 0; i < review->fleet->count; i++) {
		const struct pm_site_summary *site = &review->fleet->site[i];
		struct review_worst stop;
		if (!site->fault && !review_held(review, i))
			continue;
		none = false;
		pm_text_str(out, "<article class=\"held\"><h3>");
		put_link(out, review, i);
		pm_text_str(out, "</h3>\n<p>");
		if (site->fault) {
			pm_text_str(out, "<span class=\"weight stop\">unread</span> ");
			html_put(out, site->fault);
			pm_text_str(out, "</p>\n");
			if (site->fault_remedy)
				put_remedy(out, site->fault_remedy);
		} else {
			pm_text_str(out, "Needs ");
			put_needs(out, site);
			pm_text_str(out, " (");
			html_put(out, site->waits_who);
			pm_text_str(out, ")</p>\n");
		}
		if (review_stop(review, i, &stop)) {
			pm_text_str(out, "<p>");
			put_weight(out, PM_STOP);
			pm_text_add(out, "%s: ", pm_code_row(stop.code)->name);
			html_put(out, stop.message);
			if (site->stops > 1)
				pm_text_add(out, "; and %zu more that stop", site->stops - 1);
			pm_text_str(out, "</p>\n");
			put_remedy(out, pm_code_row(stop.code)->remedy);
		}
		pm_text_str(out, "</article>\n");
	}
	if (none)
		pm_text_str(out, "<p>Nothing does.</p>\n");
}

static void put_basis(struct pm_text *out, const struct review *review)
{
	const struct pm_forecast *forecast = review->forecast;
	pm_text_str(out, "<h2>Forecast</h2>\n<p>Forecast: ");
	put_made(out, review, review_put_forecast);
	pm_text_str(out, ".</p>\n");
	if (!forecast->phase_count)
		return;
	pm_text_str(out, "<table>\n<thead><tr><th scope=\"col\">phase ahead</th><th scope=\"col\">how long it takes</th>"
	            "<th scope=\"col\">seen in closed jobs</th></tr></thead>\n<tbody>\n");
	for (size_t i = 0; i < forecast->phase_count; i++) {
		const struct pm_phase_basis *phase = &forecast->phase[i];
		pm_text_str(out, "<tr><th scope=\"row\">");
		html_put(out, phase->phase);
		pm_text_str(out, "<small>");
		html_put(out, phase->plan);
		pm_text_add(out, "</small></th><td>%s%s</td><td>%zu</td></tr>\n", pm_basis_word(phase->basis),
		            phase->by_window && !phase->waits_known ? "; the wait for an appointment is not known" : "", phase->observed);
	}
	pm_text_str(out, "</tbody></table>\n");
}

void review_html(const struct review *review, struct pm_text *out)
{
	pm_text_str(out, head);
	pm_text_str(out, "<header><h1>Fleet review</h1>\n<p>");
	put_made(out, review, review_put_subject);
	pm_text_str(out, "; portmuster " PM_VERSION "</p></header>\n");
	put_counts(out, review);
	put_board(out, review);
	put_findings(out, review);
	put_blocks(out, review);
	pm_text_str(out, "<h2>Timeline</h2>\n");
	review_svg(review, out);
	put_basis(out, review);
	pm_text_str(out, "</body>\n</html>\n");
}
