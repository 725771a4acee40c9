/* fleet_fixture.h - a fleet built in C: each site is a job of fixture.h, checked
 * and summarised. */
#ifndef TESTS_FLEET_FIXTURE_H
#define TESTS_FLEET_FIXTURE_H

#include "fixture.h"
#include "portmuster/fleet.h"

#define FLEET_SITES 16

struct fleet_fixture {
	struct fixture job;                  /* the one that is being made */
	struct pm_site_summary site[FLEET_SITES];
	struct pm_fleet fleet;
	struct pm_arena arena;               /* of the summaries and the last check */
	struct pm_fleet_findings findings;
};

static inline void fleet_init(struct fleet_fixture *f)
{
	memset(f, 0, sizeof *f);
	pm_arena_init(&f->arena);
	f->fleet.site = f->site;
	pm_fleet_defaults(&f->fleet.options);
}

static inline void fleet_forget(struct fleet_fixture *f)
{
	pm_arena_free(&f->arena);
}

/* Begin a job as of FIXTURE_NOW: file "CODE.yaml", of a crew and live. Its
 * readings bear the code in their `by`, so that no two jobs look copied. */
static inline struct fixture *fleet_job(struct fleet_fixture *f, const char *code, const char *crew)
{
	fixture_init(&f->job);
	f->job.job.code = word(code);
	f->job.job.crew = word(crew);
	f->job.job.file = fixture_text(&f->job, "%s.yaml", code);
	return &f->job;
}

/* Read an address of an interface once. */
static inline void fleet_address(struct fleet_fixture *f, const char *port, const char *address)
{
	fixture_say(&f->job, fixture_text(&f->job, "port/%s", port), address);
}

/* Check and summarise the job in hand. */
static inline struct pm_site_summary *fleet_add_job(struct fleet_fixture *f)
{
	struct fixture *job = &f->job;
	if (f->fleet.count == FLEET_SITES)
		abort();
	for (size_t i = 0; i < job->job.reading_count; i++)
		if (pm_same(job->readings[i].by.text, "somebody"))
			job->readings[i].by = word(fixture_text(job, "crew of %s", job->job.code.text));
	struct pm_site_summary *site = &f->site[f->fleet.count++];
	if (!pm_site_summarise(&job->the_case, fixture_check(job), &f->arena, site))
		abort();
	fixture_forget(job);
	return site;
}

/* A job with a window, booked by the desk and else untouched. */
static inline struct pm_site_summary *fleet_booked(struct fleet_fixture *f, const char *code, const char *crew,
                                                   const char *window)
{
	fleet_job(f, code, crew);
	fixture_say(&f->job, "desk/appointment", window);
	return fleet_add_job(f);
}

static inline const struct pm_fleet_findings *fleet_check_at(struct fleet_fixture *f, int64_t now)
{
	if (!pm_fleet_check(&f->fleet, pm_when_utc(now), &f->arena, &f->findings))
		abort();
	return &f->findings;
}

static inline size_t fleet_codes(const struct fleet_fixture *f, enum pm_code code)
{
	size_t count = 0;
	for (size_t i = 0; i < f->findings.count; i++)
		count += f->findings.item[i].code == code;
	return count;
}

/* The first finding of a code, or null. */
static inline const struct pm_fleet_finding *fleet_finding(const struct fleet_fixture *f, enum pm_code code)
{
	for (size_t i = 0; i < f->findings.count; i++)
		if (f->findings.item[i].code == code)
			return &f->findings.item[i];
	return NULL;
}

#endif
