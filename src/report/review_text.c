/* The review as plain text: a row a site, then what needs words. */
#include <string.h>

#include "report/plain.h"
#include "report/review_parts.h"

#define GAP 2
#define INDENT "  "

enum column { SITE, PHASES, READ, WORST, NEXT, WINDOW, SLACK, COLUMNS };

/* The heading, and how narrow the column may become when the row is too wide: those
 * that say the least when they are cut give way first. */
static const struct {
	const char *head;
	size_t least;
	int order;        /* of giving way; 0: as a last resort only */
} columns[COLUMNS] = {
	[SITE] = { "site", 10, 2 },         [PHASES] = { "phases", 8, 0 },     [READ] = { "read", 6, 0 },
	[WORST] = { "worst finding", 16, 1 }, [NEXT] = { "next move", 10, 3 }, [WINDOW] = { "appointment", 10, 0 },
	[SLACK] = { "slack", 5, 0 },
};

static void put_cell(struct pm_text *out, const struct review *review, size_t site, enum column column)
{
	static const char *const mark[] = { [PM_NOTE] = "-", [PM_WARN] = "?", [PM_STOP] = "!" };
	const struct pm_site_summary *s = &review->fleet->site[site];
	struct review_worst worst;
	switch (column) {
	case SITE: review_put_site(out, s); break;
	case PHASES:
		if (s->fault)
			pm_text_str(out, "unread");
		else
			review_marks(out, s);
		break;
	case READ: review_put_read(out, s); break;
	case WORST:
		if (s->fault)
			pm_text_str(out, "! cannot be read");
		else if (review_worst(review, site, &worst))
			pm_text_add(out, "%s %s", mark[worst.severity], pm_code_row(worst.code)->name);
		else
			pm_text_str(out, "none");
		break;
	case NEXT: pm_text_str(out, s->fault ? "-" : pm_holder_word(s->holder)); break;
	case WINDOW: review_put_window(out, s); break;
	case SLACK: review_put_slack(out, review, site); break;
	case COLUMNS: break;
	}
}

/* Narrow the columns, in their order, until a row fits. */
static void narrow(size_t *width)
{
	size_t sum = GAP * (COLUMNS - 1);
	for (int c = 0; c < COLUMNS; c++)
		sum += width[c];
	for (int order = 1; order <= 3; order++)
		for (int c = 0; c < COLUMNS; c++)
			while (columns[c].order == order && width[c] > columns[c].least && sum > REVIEW_COLUMNS) {
				width[c]--;
				sum--;
			}
	for (; sum > REVIEW_COLUMNS; sum--) {
		int most = 0;
		for (int c = 1; c < COLUMNS; c++)
			if (width[c] > width[most])
				most = c;
		width[most]--;
	}
}

/* A text that does not fit its column ends in "~". */
static void put_padded(struct pm_text *out, size_t *at, const char *text, size_t width, bool last)
{
	size_t taken, bytes = plain_fitting(text, width, &taken), end = *at + width + GAP;
	bool cut = text[bytes] != '\0';
	if (cut)
		bytes = plain_fitting(text, width - 1, &taken);
	pm_text_put(out, text, bytes);
	if (cut)
		pm_text_char(out, '~');
	*at += taken + cut;
	if (!last)
		plain_pad(out, at, end);
}

static void put_table(struct pm_text *out, const struct review *review)
{
	char cell[512];
	struct pm_text text;
	size_t width[COLUMNS], taken, at = 0;
	for (int c = 0; c < COLUMNS; c++)
		width[c] = strlen(columns[c].head);
	for (size_t i = 0; i < review->fleet->count; i++)
		for (int c = 0; c < COLUMNS; c++) {
			pm_text_fixed(&text, cell, sizeof cell);
			put_cell(&text, review, i, (enum column)c);
			plain_fitting(cell, REVIEW_COLUMNS, &taken);
			width[c] = taken > width[c] ? taken : width[c];
		}
	narrow(width);
	for (int c = 0; c < COLUMNS; c++)
		put_padded(out, &at, columns[c].head, width[c], c + 1 == COLUMNS);
	pm_text_char(out, '\n');
	for (size_t i = 0; i < review->fleet->count; i++) {
		at = 0;
		for (int c = 0; c < COLUMNS; c++) {
			pm_text_fixed(&text, cell, sizeof cell);
			put_cell(&text, review, i, (enum column)c);
			put_padded(out, &at, cell, width[c], c + 1 == COLUMNS);
		}
		pm_text_char(out, '\n');
	}
}

/* --- in words --- */

static void put_held(struct pm_text *out, const struct review *review, size_t index, struct pm_arena *arena)
{
	const struct pm_site_summary *site = &review->fleet->site[index];
	struct review_worst stop;
	struct pm_text line;
	pm_text_grow(&line, arena);
	review_put_place(&line, site);
	if (site->fault) {
		pm_text_str(&line, ": could not be read");
		plain_wrap(out, REVIEW_COLUMNS, "", line.data);
		plain_wrap(out, REVIEW_COLUMNS, INDENT, site->fault);
		if (site->fault_remedy)
			plain_wrap(out, REVIEW_COLUMNS, INDENT "do: ", site->fault_remedy);
		return;
	}
	pm_text_add(&line, " (%s%s%s)", site->code, *site->name ? ", " : "", site->name);
	plain_wrap(out, REVIEW_COLUMNS, "", line.data);
	pm_text_grow(&line, arena);
	pm_text_add(&line, "%s: %s (%s)", site->waits_in, site->waits_why, site->waits_who);
	plain_wrap(out, REVIEW_COLUMNS, INDENT "needs ", line.data);
	if (review_stop(review, index, &stop)) {
		pm_text_grow(&line, arena);
		pm_text_add(&line, "%s: %s", pm_code_row(stop.code)->name, stop.message);
		plain_wrap(out, REVIEW_COLUMNS, INDENT "stop  ", line.data);
		if (site->stops > 1)
			pm_text_add(out, INDENT "      and %zu more that stop\n", site->stops - 1);
		plain_wrap(out, REVIEW_COLUMNS, INDENT "do: ", pm_code_row(stop.code)->remedy);
	}
}

static void put_blocks(struct pm_text *out, const struct review *review, struct pm_arena *arena)
{
	bool first = true;
	for (size_t i = 0; i < review->fleet->count; i++) {
		const struct pm_site_summary *site = &review->fleet->site[i];
		if (!site->fault && !review_held(review, i))
			continue;
		pm_text_str(out, first ? "\nwhat blocks the sites that cannot go on\n" : "");
		first = false;
		put_held(out, review, i, arena);
	}
}

static void put_findings(struct pm_text *out, const struct review *review, struct pm_arena *arena)
{
	const struct pm_fleet_findings *findings = review->findings;
	pm_text_str(out, findings->count ? "\nfindings across the fleet\n" : "\nfindings across the fleet: none\n");
	for (size_t i = 0; i < findings->count; i++) {
		const struct pm_fleet_finding *finding = &findings->item[i];
		struct pm_text line;
		pm_text_grow(&line, arena);
		pm_text_add(&line, "%s %s: %s", pm_severity_word(finding->severity), pm_code_row(finding->code)->name,
		            finding->message);
		plain_wrap(out, REVIEW_COLUMNS, "", line.data);
		/* a message names the first few */
		for (size_t k = 0; finding->count > REVIEW_NAMED && k < finding->count; k++) {
			pm_text_grow(&line, arena);
			review_put_place(&line, &review->fleet->site[finding->site[k]]);
			plain_wrap(out, REVIEW_COLUMNS, k ? INDENT "    " : INDENT "in: ", line.data);
		}
		plain_wrap(out, REVIEW_COLUMNS, INDENT "do: ", finding->remedy);
	}
}

static void put_sentence(struct pm_text *out, const struct review *review, struct pm_arena *arena, const char *first,
                         void (*put)(struct pm_text *out, const struct review *review))
{
	struct pm_text line;
	pm_text_grow(&line, arena);
	put(&line, review);
	plain_wrap(out, REVIEW_COLUMNS, first, line.data);
}

static void put_left_out(struct pm_text *out, const struct review *review, struct pm_arena *arena)
{
	struct pm_text line;
	pm_text_grow(&line, arena);
	review_put_left_out(&line, review->fleet);
	if (line.length)
		plain_wrap(out, REVIEW_COLUMNS, REVIEW_LEFT_OUT, line.data);
}

void review_text(const struct review *review, struct pm_text *out)
{
	struct pm_arena arena;
	pm_arena_init(&arena);
	put_sentence(out, review, &arena, "", review_put_subject);
	pm_text_char(out, '\n');
	put_table(out, review);
	pm_text_str(out, "\nphases: = closed  > open  # shut  . not yet; findings: ! stop  ? warn  - note\n"
	            "read: addresses confirmed (+ read once) / expected; slack: days until it is due\n");
	put_blocks(out, review, &arena);
	put_findings(out, review, &arena);
	pm_text_char(out, '\n');
	put_sentence(out, review, &arena, "", review_put_counts);
	put_sentence(out, review, &arena, "forecast: ", review_put_forecast);
	put_left_out(out, review, &arena);
	out->cut = out->cut || arena.failed;
	pm_arena_free(&arena);
}
