/* What follows for one site from the fleet around it, and how many are how far. */
#include "core/fleet_parts.h"

#define DAY 86400

/* --- days --- */

static const struct pm_fleet_options *options_of(const struct pm_fleet *fleet, size_t site)
{
	return pm_fleet_options_at(fleet, fleet->site[site].folder);
}

bool pm_fleet_deadline(const struct pm_fleet *fleet, size_t site, int64_t *day)
{
	const struct pm_fleet_options *options = options_of(fleet, site);
	if (!options->has_deadline || fleet->site[site].practice)
		return false;
	*day = options->deadline_day;
	return true;
}

bool pm_fleet_deadlines(const struct pm_fleet *fleet, int64_t *first, int64_t *last)
{
	bool any = !fleet->count && fleet->options.has_deadline;
	*first = *last = any ? fleet->options.deadline_day : 0;
	for (size_t i = 0; i < fleet->count; i++) {
		const struct pm_fleet_options *options = options_of(fleet, i);
		if (!options->has_deadline)
			continue;
		*first = !any || options->deadline_day < *first ? options->deadline_day : *first;
		*last = !any || options->deadline_day > *last ? options->deadline_day : *last;
		any = true;
	}
	return any;
}

bool pm_fleet_until(const struct pm_fleet *fleet, size_t site, int64_t *day, bool *own)
{
	const struct pm_site_summary *s = &fleet->site[site];
	int64_t deadline = 0;
	if (s->fault || pm_site_done(s))
		return false;
	bool common = pm_fleet_deadline(fleet, site, &deadline);
	if (!common && !s->has_due)
		return false;
	bool due = s->has_due && (!common || s->due <= deadline);
	*day = due ? s->due : deadline;
	if (own)
		*own = due;
	return true;
}

bool pm_fleet_slack(const struct pm_fleet *fleet, size_t site, struct pm_when now, int64_t *days)
{
	int64_t until;
	if (!pm_fleet_until(fleet, site, &until, NULL))
		return false;
	*days = until - (now.second / DAY - (now.second % DAY < 0));
	return true;
}

/* --- stopped and ready --- */

const struct pm_fleet_finding *pm_fleet_worst(const struct pm_fleet_findings *findings, size_t site)
{
	uint32_t worst = findings && findings->worst ? findings->worst[site] : 0;
	return worst ? &findings->item[worst - 1] : NULL;
}

bool pm_fleet_stopped(const struct pm_fleet *fleet, const struct pm_fleet_findings *findings, size_t site)
{
	const struct pm_site_summary *s = &fleet->site[site];
	const struct pm_fleet_finding *across = pm_fleet_worst(findings, site);
	return !s->fault && (s->stops || (across && across->severity == PM_STOP));
}

bool pm_fleet_ready(const struct pm_fleet *fleet, const struct pm_fleet_findings *findings, size_t site)
{
	const struct pm_site_summary *s = &fleet->site[site];
	return !s->fault && !pm_site_done(s) && s->ready && !pm_fleet_stopped(fleet, findings, site);
}

void pm_fleet_count(const struct pm_fleet *fleet, const struct pm_fleet_findings *findings,
                    struct pm_fleet_counts *counts)
{
	*counts = (struct pm_fleet_counts){ 0 };
	for (size_t i = 0; i < fleet->count; i++) {
		const struct pm_site_summary *site = &fleet->site[i];
		if (site->practice) {
			counts->practice++;
			continue;
		}
		counts->sites++;
		if (site->fault) {
			counts->unread++;
			continue;
		}
		counts->done += pm_site_done(site);
		counts->ready += pm_fleet_ready(fleet, findings, i);
		counts->stopped += pm_fleet_stopped(fleet, findings, i);
		counts->holds[site->holder]++;
	}
}
