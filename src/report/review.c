/* What every form of a review says alike. */
#include <string.h>

#include "report/review_parts.h"

#define DAY 86400

void review_count(struct review *review)
{
	pm_fleet_count(review->fleet, review->findings, &review->counts);
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
	const struct pm_fleet_finding *fleet = pm_fleet_worst(review->findings, site);
	if (fleet && (!s->has_worst || fleet->severity > s->worst_severity))
		*worst = (struct review_worst){ fleet->code, fleet->severity, fleet->message, true };
	else if (s->has_worst)
		*worst = (struct review_worst){ s->worst, s->worst_severity, s->worst_message, false };
	else
		return false;
	return true;
}

bool review_held(const struct review *review, size_t site)
{
	const struct pm_site_summary *s = &review->fleet->site[site];
	return !s->fault && !pm_site_done(s) && !pm_fleet_ready(review->fleet, review->findings, site);
}

bool review_stop(const struct review *review, size_t site, struct review_worst *stop)
{
	const struct pm_site_summary *s = &review->fleet->site[site];
	const struct pm_fleet_finding *fleet = pm_fleet_worst(review->findings, site);
	bool across = fleet && fleet->severity == PM_STOP;
	if (s->fault || (!s->stops && !across))
		return false;
	if (s->stops)
		*stop = (struct review_worst){ s->worst, PM_STOP, s->worst_message, false };
	else
		*stop = (struct review_worst){ fleet->code, PM_STOP, fleet->message, true };
	return true;
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
	if (s->fault)
		return false;
	if (!s->has_due)
		return pm_fleet_deadline(review->fleet, site, day);
	*day = s->due;
	return true;
}

bool review_slack(const struct review *review, size_t site, int64_t *days)
{
	return pm_fleet_slack(review->fleet, site, review->now, days);
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
	pm_text_add(out, "in %s%zu of %zu runs (%zu.%zu %%)", most && hits ? "at most " : "", hits, runs, tenths / 10, tenths % 10);
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

/* The chance of the one deadline; of several of all together, and of each by itself. */
static void put_deadlines(struct pm_text *out, const struct review *review)
{
	const struct pm_forecast *f = review->forecast;
	char day[PM_WHEN_TEXT];
	int64_t first, last;
	if (!f->has_deadline || !pm_fleet_deadlines(review->fleet, &first, &last))
		return;
	if (first == last)
		pm_text_add(out, "; deadline %s met ", pm_day_write(first, day));
	else
		pm_text_str(out, "; every deadline met ");
	put_chance(out, f->at_most, f->hits, f->runs);
	for (size_t i = 0; first != last && i < f->deadline_count; i++) {
		const struct pm_fleet_options *o = pm_fleet_options_at(review->fleet, f->deadline[i].folder);
		pm_text_add(out, "%s %s of ", i ? "," : ":", pm_day_write(o->deadline_day, day));
		pm_text_visible(out, o->file ? o->file : "", o->file ? strlen(o->file) : 0);
		pm_text_char(out, ' ');
		put_chance(out, f->at_most, f->deadline[i].hits, f->runs);
	}
}

void review_put_forecast(struct pm_text *out, const struct review *review)
{
	const struct pm_forecast *f = review->forecast;
	if (!f->count) {
		pm_text_str(out, "no open site");
	} else {
		pm_text_str(out, f->at_most ? "the last site is finished no earlier than " : "the last site is finished by ");
		put_day(out, f->median);
		pm_text_str(out, " in half of the runs, ");
		put_day(out, f->late);
		pm_text_str(out, " in nine tenths");
	}
	put_deadlines(out, review);
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
