#include "portmuster/forecast.h"

#include "core/forecast_parts.h"

#define RUNS_LEAST 200
#define RUNS_MOST 4000
#define WORK_MOST 4000000u   /* tasks in all runs, when the number of runs is left to us */

const char *pm_basis_word(enum pm_basis basis)
{
	switch (basis) {
	case PM_BASIS_OBSERVED: return "observed";
	case PM_BASIS_ESTIMATE: return "estimated";
	case PM_BASIS_NONE: return "not known";
	}
	return "unknown";
}

/* A site that becomes ready for its next task. */
struct ready {
	int64_t at;              /* seconds from now */
	uint32_t site;
};

struct simulation {
	const struct layout *l;
	uint64_t random;
	size_t runs, run;
	struct ready *heap;      /* the earliest on top; of two, the one that stands first */
	size_t waiting;
	size_t *next;            /* each site's next task */
	int64_t *crew_free;
	bool *least;             /* a flag a crew: something of its is not known */
	uint32_t *finish;        /* minutes from now, site by site, run by run */
	uint32_t *last;          /* of the whole fleet, run by run */
	bool *missed;            /* a flag a deadline: some site has missed it in this run */
};

/* --- the queue --- */

static bool sooner(const struct ready *a, const struct ready *b)
{
	return a->at != b->at ? a->at < b->at : a->site < b->site;
}

static void push(struct simulation *s, int64_t at, uint32_t site)
{
	size_t place = s->waiting++;
	struct ready item = { at, site };
	for (; place && sooner(&item, &s->heap[(place - 1) / 2]); place = (place - 1) / 2)
		s->heap[place] = s->heap[(place - 1) / 2];
	s->heap[place] = item;
}

static struct ready pop(struct simulation *s)
{
	struct ready top = s->heap[0], item = s->heap[--s->waiting];
	size_t place = 0, child;
	while ((child = 2 * place + 1) < s->waiting) {
		if (child + 1 < s->waiting && sooner(&s->heap[child + 1], &s->heap[child]))
			child++;
		if (!sooner(&s->heap[child], &item))
			break;
		s->heap[place] = s->heap[child];
		place = child;
	}
	s->heap[place] = item;
	return top;
}

/* --- one run --- */

static int64_t draw_from(struct simulation *s, const int64_t *list, size_t count)
{
	return list[pm_random_below(&s->random, (uint32_t)count)];
}

static int64_t draw_duration(struct simulation *s, const struct task *task)
{
	const struct layout *l = s->l;
	const struct pool *pool = &l->pool[task->pool];
	int64_t seconds = 0;
	if (task->basis == PM_BASIS_OBSERVED)
		seconds = draw_from(s, l->duration + pool->from, pool->count);
	else if (task->basis == PM_BASIS_ESTIMATE)
		seconds = pm_random_triangle(&s->random, task->estimate * PM_ESTIMATE_LEAST / 100,
		                             task->estimate * PM_ESTIMATE_LIKELY / 100,
		                             task->estimate * PM_ESTIMATE_MOST / 100);
	return task->hours < 24 ? seconds * 24 / task->hours : seconds;
}

/* When a site that came so far at `at` can begin its next task: one that opens
 * by a window waits for the booked one, or for one that is still to be booked. */
static int64_t ready_at(struct simulation *s, const struct open_site *open, int64_t at)
{
	const struct task *task = &s->l->task[s->next[open - s->l->open]];
	if (!task->by_window || (open->at_work && task == &s->l->task[open->from]))
		return at;
	if (open->booked && at <= open->ends)
		return at > open->opens ? at : open->opens;
	if (!task->wait_known) {
		s->least[open->crew] = true;
		return at;
	}
	const struct pool *pool = &s->l->pool[task->pool];
	return at + draw_from(s, s->l->wait + pool->waits_from, pool->waits_count);
}

static uint32_t in_minutes(int64_t seconds)
{
	int64_t minutes = (seconds + 59) / 60;
	return minutes > UINT32_MAX ? UINT32_MAX : (uint32_t)minutes;
}

/* A site has come to its end. */
static void finish(struct simulation *s, uint32_t site, int64_t ends, struct pm_forecast *forecast)
{
	const struct open_site *open = &s->l->open[site];
	s->finish[(size_t)site * s->runs + s->run] = in_minutes(ends);
	forecast->site[site].due_hits += open->has_due && ends <= open->due;
	if (open->deadline != NO_DEADLINE && ends > s->l->deadline[open->deadline].ends)
		s->missed[open->deadline] = true;
}

/* Sites go on side by side; what a crew does, it does for whoever was ready first. */
static void one_run(struct simulation *s, struct pm_forecast *forecast)
{
	const struct layout *l = s->l;
	int64_t last = 0;
	for (uint32_t i = 0; i < l->crews; i++)
		s->crew_free[i] = 0;
	for (size_t i = 0; i < l->sites; i++) {
		s->next[i] = l->open[i].from;
		push(s, ready_at(s, &l->open[i], 0), (uint32_t)i);
	}
	while (s->waiting) {
		struct ready item = pop(s);
		const struct open_site *open = &l->open[item.site];
		const struct task *task = &l->task[s->next[item.site]++];
		int64_t begins = item.at, ends;
		if (task->crew && s->crew_free[open->crew] > begins)
			begins = s->crew_free[open->crew];
		ends = begins + draw_duration(s, task);
		if (task->crew)
			s->crew_free[open->crew] = ends;
		if (s->next[item.site] < open->to) {
			push(s, ready_at(s, open, ends), item.site);
			continue;
		}
		finish(s, item.site, ends, forecast);
		if (ends > last)
			last = ends;
	}
	s->last[s->run] = in_minutes(last);
}

/* Which deadlines did this run make? */
static void count_hits(struct simulation *s, struct pm_forecast *forecast)
{
	bool all = forecast->has_deadline;
	for (size_t i = 0; i < forecast->deadline_count; i++) {
		forecast->deadline[i].hits += !s->missed[i];
		all = all && !s->missed[i];
		s->missed[i] = false;
	}
	forecast->hits += all;
}

/* --- what the runs come to --- */

/* The value that would stand at `want` if the list were sorted (Hoare's FIND). */
static uint32_t select_at(uint32_t *list, size_t count, size_t want)
{
	int64_t low = 0, high = (int64_t)count - 1, goal = (int64_t)want;
	while (low < high) {
		uint32_t pivot = list[goal];
		int64_t i = low, k = high;
		while (i <= k) {
			while (list[i] < pivot)
				i++;
			while (list[k] > pivot)
				k--;
			if (i > k)
				break;
			uint32_t swapped = list[i];
			list[i++] = list[k];
			list[k--] = swapped;
		}
		if (k < goal)
			low = i;
		if (goal < i)
			high = k;
	}
	return list[want];
}

/* Finished by then in at least `tenths` of ten runs. */
static int64_t quantile(const struct simulation *s, uint32_t *list, size_t tenths)
{
	size_t want = (s->runs * tenths + 9) / 10;
	return s->l->now + (int64_t)select_at(list, s->runs, want ? want - 1 : 0) * 60;
}

static bool list_phases(const struct layout *l, struct pm_arena *arena, struct pm_arena *scratch,
                        struct pm_forecast *forecast)
{
	bool *listed = pm_arena_array(scratch, l->pools, sizeof *listed);
	void *items = NULL;
	size_t room = 0;
	if (!listed)
		return false;
	for (size_t i = 0; i < l->sites; i++) {
		const struct pm_site_summary *site = &l->fleet->site[l->open[i].site];
		size_t phase = site->phase;
		for (size_t t = l->open[i].from; t < l->open[i].to; t++, phase++) {
			const struct task *task = &l->task[t];
			while (site->phases[phase].state == PM_PHASE_CLOSED)
				phase++;
			if (listed[task->pool])
				continue;
			listed[task->pool] = true;
			struct pm_phase_basis *basis = pm_arena_push(arena, &items, &forecast->phase_count, &room, sizeof *basis);
			if (!basis)
				return false;
			*basis = (struct pm_phase_basis){
				.plan = site->plan, .phase = site->phases[phase].id, .basis = task->basis,
				.observed = l->pool[task->pool].count, .by_window = task->by_window,
				.waits_observed = l->pool[task->pool].waits_count, .waits_known = task->wait_known,
			};
		}
	}
	forecast->phase = items;
	return true;
}

static bool prepare(struct simulation *s, struct pm_arena *scratch)
{
	const struct layout *l = s->l;
	s->heap = pm_arena_array(scratch, l->sites, sizeof *s->heap);
	s->next = pm_arena_array(scratch, l->sites, sizeof *s->next);
	s->crew_free = pm_arena_array(scratch, l->crews, sizeof *s->crew_free);
	s->least = pm_arena_array(scratch, l->crews, sizeof *s->least);
	s->last = pm_arena_array(scratch, s->runs, sizeof *s->last);
	s->missed = pm_arena_array(scratch, l->deadlines, sizeof *s->missed);
	s->finish = l->sites > SIZE_MAX / sizeof *s->finish / s->runs
	            ? NULL : pm_arena_array(scratch, l->sites * s->runs, sizeof *s->finish);
	if (!s->heap || !s->next || !s->crew_free || !s->least || !s->last || !s->missed || !s->finish)
		return false;
	for (size_t i = 0; i < l->sites; i++)
		for (size_t t = l->open[i].from; t < l->open[i].to; t++)
			if (l->task[t].basis == PM_BASIS_NONE)
				s->least[l->open[i].crew] = true;
	return true;
}

static void conclude(struct simulation *s, struct pm_forecast *forecast)
{
	const struct layout *l = s->l;
	for (size_t i = 0; i < l->sites; i++) {
		struct pm_site_forecast *site = &forecast->site[i];
		uint32_t *list = s->finish + i * s->runs;
		site->site = l->open[i].site;
		site->has_due = l->open[i].has_due;
		/* who waits behind a site of which something is not known is in the same case */
		site->least = s->least[l->open[i].crew];
		site->median = quantile(s, list, 5);
		site->late = quantile(s, list, 9);
		forecast->at_most = forecast->at_most || site->least;
	}
	if (l->sites) {
		forecast->median = quantile(s, s->last, 5);
		forecast->late = quantile(s, s->last, 9);
	}
}

static size_t runs_for(const struct layout *l, size_t wanted)
{
	if (wanted)
		return wanted;
	size_t runs = WORK_MOST / (l->tasks ? l->tasks : 1);
	return runs < RUNS_LEAST ? RUNS_LEAST : runs > RUNS_MOST ? RUNS_MOST : runs;
}

static bool simulate(struct simulation *s, const struct pm_forecast_options *options, struct pm_arena *arena,
                     struct pm_arena *scratch, struct pm_forecast *forecast)
{
	const struct layout *l = s->l;
	forecast->runs = s->runs = runs_for(l, options->runs);
	forecast->count = l->sites;
	forecast->site = pm_arena_array(arena, l->sites, sizeof *forecast->site);
	forecast->deadline = pm_arena_array(arena, l->deadlines, sizeof *forecast->deadline);
	if (!forecast->site || !forecast->deadline || !list_phases(l, arena, scratch, forecast) || !prepare(s, scratch))
		return false;
	s->random = options->seed;
	forecast->has_deadline = l->deadlines > 0;
	for (size_t i = 0; i < l->deadlines; i++)
		forecast->deadline[forecast->deadline_count++] =
			(struct pm_deadline_forecast){ .folder = l->deadline[i].folder, .open = l->deadline[i].open };
	/* with no site open there is nothing left that could miss one */
	for (s->run = 0; s->run < s->runs; s->run++) {
		one_run(s, forecast);
		count_hits(s, forecast);
	}
	conclude(s, forecast);
	return true;
}

bool pm_forecast_make(const struct pm_fleet *fleet, struct pm_when now, const struct pm_forecast_options *options,
                      struct pm_arena *arena, struct pm_forecast *forecast)
{
	struct pm_arena scratch;
	struct layout l = {
		.fleet = fleet, .now = now.second,
		.least_observed = options->least_observed ? options->least_observed : PM_LEAST_OBSERVED,
	};
	struct simulation s = { .l = &l };
	*forecast = (struct pm_forecast){ 0 };
	pm_arena_init(&scratch);
	for (size_t i = 0; i < fleet->count; i++)
		forecast->unread += fleet->site[i].fault != NULL;
	forecast->at_most = forecast->unread > 0;
	bool good = forecast_lay_out(&l, &scratch) && simulate(&s, options, arena, &scratch, forecast);
	good = good && !arena->failed;
	pm_arena_free(&scratch);
	return good;
}
