/* What every form of a review says alike. */
#include <string.h>

#include "report/review_parts.h"

#define DAY 86400

bool review_index(struct review *review, struct pm_arena *arena)
{
	const struct pm_fleet_findings *findings = review->findings;
	uint32_t *worst = pm_arena_array(arena, review->fleet->count, sizeof *worst);
	review->worst = worst;
	pm_fleet_count(review->fleet, &review->counts);
	/* the worst come first: whichever names a site first is its worst */
	for (size_t i = 0; worst && i < findings->count; i++)
		for (size_t k = 0; k < findings->item[i].count; k++)
			if (!worst[findings->item[i].site[k]])
				worst[findings->item[i].site[k]] = (uint32_t)i + 1;
	return worst != NULL;
}

bool review_stops(const struct review *review)
{
	for (size_t i = 0; i < review->fleet->count; i++)
		if (review->fleet->site[i].fault || review->fleet->site[i].stops)
			return true;
	/* the worst stand first */
	return review->findings->count && review->findings->item[0].severity == PM_STOP;
}

void review_put_left_out(struct pm_text *out, const struct pm_fleet *fleet)
{
	size_t count = fleet->left_out_count;
	for (size_t i = 0; i < count && i < REVIEW_LEFT_NAMED; i++) {
		pm_text_str(out, i ? ", " : "");
		pm_text_visible(out, fleet->left_out[i], strlen(fleet->left_out[i]));
	}
	if (count > REVIEW_LEFT_NAMED)
		pm_text_add(out, " and %zu more", count - REVIEW_LEFT_NAMED);
}

char review_mark(enum pm_phase_state state)
{
	switch (state) {
	case PM_PHASE_LATER: return '.';
	case PM_PHASE_SHUT: return '#';
	case PM_PHASE_OPEN: return '>';
	case PM_PHASE_CLOSED: return '=';
	}
	return '?';
}

void review_marks(struct pm_text *out, const struct pm_site_summary *site)
{
	for (size_t i = 0; i < site->phase_count; i++)
		pm_text_char(out, review_mark(site->phases[i].state));
}

bool review_worst(const struct review *review, size_t site, struct review_worst *worst)
{
	const struct pm_site_summary *s = &review->fleet->site[site];
	const struct pm_fleet_finding *fleet = NULL;
	if (review->worst[site])
		fleet = &review->findings->item[review->worst[site] - 1];
	if (fleet && (!s->has_worst || fleet->severity > s->worst_severity))
		*worst = (struct review_worst){ fleet->code, fleet->severity, fleet->message, true };
	else if (s->has_worst)
		*worst = (struct review_worst){ s->worst, s->worst_severity, s->worst_message, false };
	else
		return false;
	return true;
}

bool review_held(const struct pm_site_summary *site)
{
	return !site->fault && !pm_site_done(site) && !site->ready;
}

/* --- times --- */

const struct pm_site_forecast *review_forecast(const struct review *review, size_t site)
{
	const struct pm_forecast *forecast = review->forecast;
	size_t from = 0, to = forecast->count;
	while (from < to) {
		size_t middle = from + (to - from) / 2;
		if (forecast->site[middle].site < site)
			from = middle + 1;
		else
			to = middle;
	}
	return from < forecast->count && forecast->site[from].site == site ? &forecast->site[from] : NULL;
}

int64_t review_day(int64_t second)
{
	return second / DAY - (second % DAY < 0);
}

bool review_due(const struct review *review, size_t site, int64_t *day)
{
	const struct pm_site_summary *s = &review->fleet->site[site];
	const struct pm_fleet_options *options = &review->fleet->options;
	if (s->fault || (!s->has_due && (!options->has_deadline || s->practice)))
		return false;
	*day = s->has_due ? s->due : options->deadline_day;
	return true;
}

bool review_slack(const struct review *review, size_t site, int64_t *days)
{
	const struct pm_site_summary *s = &review->fleet->site[site];
	const struct pm_fleet_options *options = &review->fleet->options;
	int64_t day;
	if (!review_due(review, site, &day) || pm_site_done(s))
		return false;
	if (options->has_deadline && !s->practice && options->deadline_day < day)
		day = options->deadline_day;
	*days = day - review_day(review->now.second);
	return true;
}

/* --- words --- */

void review_put_slack(struct pm_text *out, const struct review *review, size_t site)
{
	int64_t days;
	if (review_slack(review, site, &days))
		pm_text_add(out, "%lld d", (long long)days);
	else
		pm_text_char(out, '-');
}

void review_put_read(struct pm_text *out, const struct pm_site_summary *site)
{
	if (site->fault)
		pm_text_char(out, '-');
	else if (site->held > site->confirmed)
		pm_text_add(out, "%zu+%zu/%zu", site->confirmed, site->held - site->confirmed, site->expected);
	else
		pm_text_add(out, "%zu/%zu", site->confirmed, site->expected);
}

void review_put_window(struct pm_text *out, const struct pm_site_summary *site)
{
	char day[PM_WHEN_TEXT];
	if (site->has_window) {
		pm_when_write(site->from, day);
		day[10] = '\0';
		pm_text_str(out, day);
	} else {
		pm_text_char(out, '-');
	}
}

void review_put_site(struct pm_text *out, const struct pm_site_summary *site)
{
	const char *file = strrchr(site->file, '/');
	file = file ? file + 1 : site->file;
	if (site->fault || !*site->code)
		pm_text_visible(out, file, strlen(file));
	else
		pm_text_str(out, site->code);
	if (site->practice)
		pm_text_str(out, " practice");
}

void review_put_place(struct pm_text *out, const struct pm_site_summary *site)
{
	pm_text_visible(out, site->file, strlen(site->file));
	if (site->fault_line)
		pm_text_add(out, ":%lu", (unsigned long)site->fault_line);
	if (site->fault_line && site->fault_column)
		pm_text_add(out, ":%lu", (unsigned long)site->fault_column);
}

static void put_chance(struct pm_text *out, bool most, size_t hits, size_t runs)
{
	size_t tenths = runs ? hits * 1000 / runs : 0;
	pm_text_add(out, "in %s%zu of %zu runs (%zu.%zu %%)", most ? "at most " : "", hits, runs, tenths / 10, tenths % 10);
}

static void put_count(struct pm_text *out, const char *before, size_t count, const char *word)
{
	pm_text_add(out, "%s%zu %s", before, count, word);
}

void review_put_counts(struct pm_text *out, const struct review *review)
{
	const struct pm_fleet_counts *c = &review->counts;
	put_count(out, "", c->sites, c->sites == 1 ? "site: " : "sites: ");
	put_count(out, "", c->done, "done");
	put_count(out, ", ", c->ready, "ready for the next move");
	put_count(out, ", ", c->stopped, "stopped by a finding");
	put_count(out, ", ", c->unread, "could not be read");
	if (c->practice)
		put_count(out, "; ", c->practice, "for practice, not counted");
	pm_text_str(out, "; next move:");
	for (int i = PM_HOLDER_TECHNICIAN; i < PM_HOLDERS; i++)
		pm_text_add(out, "%s%s %zu", i == PM_HOLDER_TECHNICIAN ? " " : ", ", pm_holder_word((enum pm_holder)i),
		            c->holds[i]);
}

static void put_day(struct pm_text *out, int64_t second)
{
	char day[PM_WHEN_TEXT];
	pm_text_str(out, pm_day_write(review_day(second), day));
}

void review_put_forecast(struct pm_text *out, const struct review *review)
{
	const struct pm_forecast *f = review->forecast;
	char day[PM_WHEN_TEXT];
	if (!f->count) {
		pm_text_str(out, "no open site");
	} else {
		pm_text_str(out, f->at_most ? "the last site is finished no earlier than " : "the last site is finished by ");
		put_day(out, f->median);
		pm_text_str(out, " in half of the runs, ");
		put_day(out, f->late);
		pm_text_str(out, " in nine tenths");
	}
	if (f->has_deadline) {
		pm_text_add(out, "; deadline %s met ", pm_day_write(review->fleet->options.deadline_day, day));
		put_chance(out, f->at_most, f->hits, f->runs);
	}
	if (f->unread)
		pm_text_add(out, "; %zu file%s could not be read and %s not in it", f->unread, f->unread == 1 ? "" : "s",
		            f->unread == 1 ? "is" : "are");
}

void review_put_subject(struct pm_text *out, const struct review *review)
{
	char when[PM_WHEN_TEXT];
	for (size_t i = 0; i < review->folder_count; i++) {
		pm_text_str(out, i ? ", " : "");
		pm_text_visible(out, review->folder[i], strlen(review->folder[i]));
	}
	if (review->revision) {
		pm_text_str(out, " at revision ");
		pm_text_visible(out, review->revision, strlen(review->revision));
	}
	pm_text_add(out, " as of %s", pm_when_write(review->now, when));
}
