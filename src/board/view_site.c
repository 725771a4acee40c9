/* One site in full: gates, addresses, findings, what was taken back, waivers. */
#include "board/frame.h"

#include <string.h>

#include "portmuster/text.h"

#define LINE 1200

/* --- phases and gates --- */

static enum pm_phase_state state_of(const struct pm_result *result, size_t phase)
{
	if (result->gates.closed[phase])
		return PM_PHASE_CLOSED;
	if (phase != result->phase)
		return PM_PHASE_LATER;
	return result->gates.open[phase] ? PM_PHASE_OPEN : PM_PHASE_SHUT;
}

/* That an earlier phase is to be closed first need not be said of each. */
static bool only_order(const struct pm_gate_line *line)
{
	return strncmp(line->need->condition.text, "phase-closed", 12) == 0;
}

static void gate_line(struct page *page, const struct pm_gate_line *line, bool now)
{
	char shown[LINE];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "to %s, ", line->closing ? "close" : "open");
	pm_text_visible(&text, line->need->condition.text, strlen(line->need->condition.text));
	pm_text_add(&text, "%s: %s", line->waived ? " (waived)" : "", line->why);
	if (!line->met)
		pm_text_add(&text, " (%s)", line->who);
	page_text(page, 4, line->met ? STYLE_GOOD : now ? STYLE_WAIT : STYLE_DIM, shown);
}

static void phases(struct page *page, const struct board_model *model)
{
	const struct pm_case *c = &model->detail.the_case;
	const struct pm_result *r = &model->detail.result;
	page_heading(page, "Phases");
	for (size_t i = 0; i < c->plan->phase_count; i++) {
		const struct pm_phase *phase = &c->plan->phases[i];
		char shown[LINE];
		struct pm_text text;
		enum canvas_style style;
		enum pm_phase_state state = state_of(r, i);
		const char *mark = frame_phase_mark(state, &style);
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_visible(&text, phase->title.text, strlen(phase->title.text));
		pm_text_add(&text, ": %s", pm_phase_state_word(state));
		page_pair(page, 0, style, mark, 2, style, shown);
		for (size_t k = 0; k < r->gates.count; k++) {
			const struct pm_gate_line *line = &r->gates.line[k];
			if (line->phase == i && (line->waived || (!line->met && (i == r->phase || !only_order(line)))))
				gate_line(page, line, i == r->phase);
		}
	}
}

/* --- addresses --- */

/* The marks of the wizard's port map. */
static const char *call_mark(const struct pm_result *r, size_t i, const char **word, enum canvas_style *style)
{
	const struct pm_call *call = &r->roster.call[i];
	*style = STYLE_BAD;
	if (call->fact.first && !call->valid && call->fact.standing != PM_SKIPPED)
		return *word = "malformed", "?";
	if (call->fact.standing != PM_CONFLICT && r->pattern.expect[i].breaks)
		return *word = "breaks the numbering", "x";
	*word = pm_standing_word(call->fact.standing);
	switch (call->fact.standing) {
	case PM_OPEN: *style = STYLE_DIM; return ".";
	case PM_HELD: *style = STYLE_WAIT; return "-";
	case PM_CONFIRMED: *style = STYLE_GOOD; return "=";
	case PM_SKIPPED: *style = STYLE_DIM; return "/";
	case PM_CONFLICT: break;
	}
	return "!";
}

static void add_address(const struct pm_call *call, struct pm_text *text)
{
	char address[PM_EUI48_TEXT];
	if (call->valid)
		pm_text_str(text, pm_eui48_text(&call->address, address));
	else if (call->fact.first && call->fact.standing != PM_SKIPPED)
		pm_text_quote(text, call->fact.first->value.text);
	else
		pm_text_str(text, "--");
	if (call->fact.standing == PM_CONFLICT && call->fact.second) {
		pm_text_str(text, " and ");
		pm_text_quote(text, call->fact.second->value.text);
	}
}

static void addresses(struct page *page, const struct pm_result *r)
{
	char shown[LINE];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "Addresses: %zu of %zu read, %zu confirmed", r->roster.held, r->roster.count, r->roster.confirmed);
	page_heading(page, shown);
	for (size_t i = 0; i < r->roster.count; i++) {
		const struct pm_call *call = &r->roster.call[i];
		enum canvas_style style;
		const char *word, *mark = call_mark(r, i, &word, &style);
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_visible(&text, call->port->name.text, strlen(call->port->name.text));
		for (int width = canvas_width(shown); width < 8; width++)
			pm_text_char(&text, ' ');
		add_address(call, &text);
		pm_text_add(&text, "  %s", word);
		page_pair(page, 0, style, mark, 2, style == STYLE_GOOD ? STYLE_PLAIN : style, shown);
	}
}

/* --- findings --- */

/* Several of one kind in a row have one remedy below them. */
static void finding_line(struct page *page, const struct pm_finding *finding, const struct pm_finding *next)
{
	char shown[LINE];
	struct pm_text text;
	enum canvas_style style = finding->waived ? STYLE_DIM : frame_severity(finding->severity);
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "%s%s: %s", finding->waived ? "(waived) " : "", pm_code_row(finding->code)->name, finding->message);
	if (finding->place.line)
		pm_text_add(&text, "  [line %lu]", (unsigned long)finding->place.line);
	page_pair(page, 0, style, pm_severity_word(finding->severity), 5, style, shown);
	if (next && next->code == finding->code && !finding->suggestion && pm_same(next->remedy, finding->remedy))
		return;
	page_add(page, 5, STYLE_PLAIN, "do: %s%s%s", finding->remedy, finding->suggestion ? "; look for " : "",
	         finding->suggestion ? finding->suggestion : "");
}

static void findings(struct page *page, const struct board_model *model)
{
	const struct pm_findings *list = &model->detail.result.findings;
	page_heading(page, "Findings");
	for (size_t i = 0; i < list->count; i++)
		finding_line(page, &list->item[i], i + 1 < list->count ? &list->item[i + 1] : NULL);
	if (!list->count)
		page_text(page, 0, STYLE_GOOD, "nothing wrong or doubtful was found in this file");
	size_t across = 0;
	for (size_t i = 0; i < model->findings.count; i++) {
		const struct pm_fleet_finding *finding = &model->findings.item[i];
		size_t k = 0;
		while (k < finding->count && finding->site[k] != model->site)
			k++;
		if (k == finding->count)
			continue;
		if (!across++)
			page_heading(page, "Findings across the fleet");
		enum canvas_style style = frame_severity(finding->severity);
		char shown[LINE];
		struct pm_text text;
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_add(&text, "%s: %s", pm_code_row(finding->code)->name, finding->message);
		page_pair(page, 0, style, pm_severity_word(finding->severity), 5, style, shown);
		page_add(page, 5, STYLE_PLAIN, "do: %s", finding->remedy);
	}
}

/* --- what was taken back, and waivers --- */

static void add_who(struct pm_text *text, struct pm_word by, struct pm_when when)
{
	char at[32];
	board_when(when, false, at);
	pm_text_str(text, " by ");
	pm_text_quote(text, by.text);
	pm_text_add(text, "%s%s", at[0] ? ", " : "", at);
}

static void taken_back(struct page *page, const struct pm_job *job)
{
	size_t count = 0;
	for (size_t i = 0; i < job->reading_count; i++) {
		const struct pm_reading *reading = &job->readings[i];
		char shown[LINE];
		struct pm_text text;
		if (reading->source != PM_SOURCE_WITHDRAWN)
			continue;
		if (!count++)
			page_heading(page, "Readings taken back");
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_visible(&text, reading->of.text, strlen(reading->of.text));
		pm_text_char(&text, ' ');
		if (pm_given(reading->value))
			pm_text_quote(&text, reading->value.text);
		else
			pm_text_str(&text, "(every reading)");
		add_who(&text, reading->by, reading->when);
		pm_text_str(&text, ": ");
		pm_text_quote(&text, reading->note.text);
		page_text(page, 0, STYLE_PLAIN, shown);
	}
}

static void waivers(struct page *page, const struct pm_job *job)
{
	if (job->waiver_count)
		page_heading(page, "Waivers");
	for (size_t i = 0; i < job->waiver_count; i++) {
		const struct pm_waiver *waiver = &job->waivers[i];
		char shown[LINE];
		struct pm_text text;
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_str(&text, "to ");
		pm_text_visible(&text, waiver->gate.text, strlen(waiver->gate.text));
		pm_text_char(&text, ' ');
		pm_text_visible(&text, waiver->phase.text, strlen(waiver->phase.text));
		pm_text_str(&text, ", ");
		pm_text_visible(&text, waiver->condition.text, strlen(waiver->condition.text));
		add_who(&text, waiver->by, waiver->when);
		pm_text_str(&text, ": ");
		pm_text_quote(&text, waiver->reason.text);
		page_text(page, 0, STYLE_PLAIN, shown);
	}
}

/* --- the whole --- */

static void add_part(struct pm_text *text, const char *label, struct pm_word word)
{
	if (!pm_given(word))
		return;
	pm_text_add(text, "%s%s", text->length ? ", " : "", label);
	pm_text_visible(text, word.text, strlen(word.text));
}

static bool begins_with_word(const char *text, const char *word)
{
	while (*word && pm_lower((unsigned char)*text) == *word)
		text++, word++;
	return !*word && !pm_is_alnum((unsigned char)*text);
}

static void head(struct page *page, const struct board_model *model)
{
	const struct pm_job *job = model->detail.the_case.job;
	const struct pm_reading *booked = pm_fact_last(job, "desk/appointment");
	struct pm_when begin, end;
	char shown[LINE], from[32], until[32];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, model->detail.job.path, strlen(model->detail.job.path));
	page_text(page, 0, STYLE_PLAIN, shown);
	pm_text_fixed(&text, shown, sizeof shown);
	/* many a crew is named with the word */
	add_part(&text, pm_given(job->crew) && begins_with_word(job->crew.text, "crew") ? "" : "crew ", job->crew);
	add_part(&text, "plan ", job->plan);
	add_part(&text, "gear ", job->gear);
	add_part(&text, "due ", job->due);
	pm_text_add(&text, "%s%s", job->live ? ", live terminal" : "", job->practice ? ", practice site" : "");
	page_text(page, 0, STYLE_PLAIN, shown);
	const struct pm_zone *zone = pm_case_zone(&model->detail.the_case);
	if (!booked || !pm_window_read(booked->value.text, &begin, &end, NULL))
		return;
	if (!pm_zone_plain(zone, begin) || !pm_zone_plain(zone, end)) {
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_str(&text, "appointment ");
		pm_zone_say_window(&text, zone, begin, end);
		page_text(page, 0, STYLE_PLAIN, shown);
	} else {
		board_when(begin, false, from);
		board_when(end, false, until);
		page_add(page, 0, STYLE_PLAIN, "appointment %s to %s", from, until);
	}
}

static void draw(struct page *page, const struct board_model *model)
{
	const struct pm_case *c = &model->detail.the_case;
	head(page, model);
	phases(page, model);
	findings(page, model);
	addresses(page, &model->detail.result);
	taken_back(page, c->job);
	waivers(page, c->job);
}

int site_lines(const struct board_state *state, const struct board_model *model)
{
	struct page page = { .columns = state->columns - 2 };
	if (!model->opened)
		return 1;
	draw(&page, model);
	return page.line;
}

void board_site_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas)
{
	struct frame area = board_area(state);
	struct page page = { canvas, area.row, area.rows, 1, area.columns - 2, 0, 0 };
	frame_cursor(canvas, area.row, 1);
	if (!model->opened) {
		page_text(&page, 0, STYLE_DIM, "the files are being read again");
		return;
	}
	int most = page_most(site_lines(state, model), area.rows);
	page.skip = state->line > most ? most : state->line;
	draw(&page, model);
	frame_more(state, canvas, &page);
}
