#include "board/gather.h"

#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "board/gather_parts.h"
#include "portmuster/text.h"
#include "store/path.h"

static bool out_of_memory(struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
}

/* --- items --- */

struct gather_item *gather_item_make(struct gather *gather, const struct gather_found *found)
{
	struct gather_item *item = pm_arena_alloc(&gather->found, sizeof *item);
	struct pm_fault *fault = found->fault ? pm_arena_alloc(&gather->found, sizeof *fault) : NULL;
	if (!item || (found->fault && !fault))
		return NULL;
	*item = (struct gather_item){
		.path = pm_arena_copy(&gather->found, found->path, strlen(found->path)), .folder = found->folder, .named = found->named,
		.seen = true, .fault = fault, .text = found->text, .length = found->length, .site = GATHER_NOWHERE,
		.blob = found->blob ? pm_arena_copy(&gather->found, found->blob, strlen(found->blob)) : NULL,
	};
	if (fault)
		*fault = *found->fault;
	return item->path && (!found->blob || item->blob) ? item : NULL;
}

static bool search_revision(const struct gather *gather, gather_take *take, void *context)
{
	struct pm_arena arena;
	pm_arena_init(&arena);
	struct gather_seen *seen = gather_seen_begin(&arena);
	bool good = seen != NULL;
	for (size_t i = 0; good && i < gather->folder_count; i++) {
		struct pm_fault fault = { 0 };
		char commit[65];
		memcpy(commit, gather->commit[i], sizeof commit);
		if (commit[0] || gather_git_resolve(gather->folder[i], gather->revision, commit, &fault))
			good = gather_git_scan(gather->folder[i], (uint32_t)i, commit, seen, take, context);
		else
			good = take(context, &(struct gather_found){ .folder = (uint32_t)i, .path = gather->folder[i], .fault = &fault });
	}
	good = good && !arena.failed;
	pm_arena_free(&arena);
	return good;
}

bool gather_search(const struct gather *gather, gather_take *take, void *context)
{
	return gather->commit ? search_revision(gather, take, context)
	                      : gather_scan(gather->folder, gather->folder_count, take, context);
}

/* --- rows --- */

int gather_compare(const struct gather_item *item, uint32_t folder, const char *path)
{
	return item->folder != folder ? (item->folder > folder) - (item->folder < folder) : strcmp(item->path, path);
}

int gather_by_place(const void *a, const void *b)
{
	const struct gather_item *const *x = a, *const *y = b;
	return gather_compare(*x, (*y)->folder, (*y)->path);
}

void gather_let_go(struct gather_batch *batch)
{
	if (batch && --batch->live == 0) {
		pm_arena_free(&batch->arena);
		free(batch);
	}
}

static bool make_room(struct gather *gather)
{
	if (gather->fleet.count < gather->room)
		return true;
	size_t room = gather->room + gather->room / 2 + 64;
	struct pm_site_summary *site = realloc(gather->site, room * sizeof *site);
	if (site)
		gather->fleet.site = gather->site = site;
	struct gather_item **item = site ? realloc(gather->item, room * sizeof *item) : NULL;
	if (!item)
		return false;
	gather->item = item;
	gather->room = room;
	return true;
}

/* The new row of an item takes the place of its old one. */
static void put_row(struct gather *gather, struct gather_item *item, const struct pm_site_summary *row, struct gather_batch *batch)
{
	item->left_out = false;
	if (item->site == GATHER_NOWHERE) {
		if (!make_room(gather)) {
			gather->lost = true;
			return;
		}
		item->site = gather->fleet.count++;
		gather->item[item->site] = item;
	}
	gather_let_go(item->batch);
	item->batch = batch;
	if (batch)
		batch->live++;
	gather->site[item->site] = *row;
	gather->site[item->site].folder = gather_rules_of(gather, item);
}

static void take_in(struct gather *gather, struct gather_done *latest)
{
	struct gather_done *first = NULL;
	while (latest) {
		struct gather_done *next = latest->next;
		latest->next = first;
		first = latest;
		latest = next;
	}
	while (first) {
		struct gather_done *next = first->next;
		/* held until all its rows are placed */
		first->batch->live++;
		for (size_t i = 0; i < first->count; i++)
			if (first->left_out[i])
				gather_leave_out(gather, first->item[i]);
			else
				put_row(gather, first->item[i], &first->row[i], first->batch);
		gather_let_go(first->batch);
		free(first);
		first = next;
	}
}

static void put_in_order(struct gather *gather)
{
	size_t count = gather->fleet.count;
	struct pm_site_summary *site = malloc((count + !count) * sizeof *site);
	if (!site)
		return;   /* the order of arrival will have to do */
	if (count)
		qsort(gather->item, count, sizeof *gather->item, gather_by_place);
	for (size_t i = 0; i < count; i++) {
		site[i] = gather->site[gather->item[i]->site];
		gather->item[i]->site = i;
	}
	free(gather->site);
	gather->fleet.site = gather->site = site;
	gather->room = count;
}

/* A row of the main thread's own; what it says lives as long as the items do. */
static bool put_own(struct gather *gather, const struct gather_found *found)
{
	struct gather_item *item = gather_item_make(gather, found);
	struct pm_site_summary row = gather_row_lost(found->path);
	if (!item)
		return false;
	if (found->fault && !pm_site_unread(item->path, found->fault, &gather->found, &row))
		row = gather_row_lost(item->path);
	put_row(gather, item, &row, NULL);
	return true;
}

static bool take_bad(void *context, const struct gather_found *found)
{
	return put_own(context, found);
}

/* What memory did not suffice for. */
static void take_lost(struct gather *gather)
{
	struct gather_queue *queue = &gather->queue;
	for (struct gather_item *item = queue->first; item; item = item->next) {
		struct pm_site_summary row = gather_row_lost(item->path);
		free(item->text);
		item->text = NULL;
		put_row(gather, item, &row, NULL);
	}
	queue->first = queue->last = NULL;
	queue->waiting = queue->bytes = 0;
	if (!gather_rules_bad(gather, false, take_bad, gather))
		gather->lost = gather->rules.lost = true;
	if ((queue->lost || gather->lost) && make_room(gather))
		put_own(gather, &(struct gather_found){ .path = gather->folder[0] });
	queue->lost = gather->lost = false;
}

static void drain(const struct gather *gather)
{
	char bytes[64];
	while (read(gather->queue.wake[0], bytes, sizeof bytes) > 0)
		continue;
}

static void finish(struct gather *gather)
{
	gather_work_join(gather);
	drain(gather);
	take_lost(gather);
	gather_left_settle(gather);
	put_in_order(gather);
	gather->reading = false;
	gather->total = gather->fleet.count;
}

bool gather_poll(struct gather *gather, int milliseconds)
{
	struct gather_queue *queue = &gather->queue;
	if (!gather->reading)
		return true;
	struct pollfd wait = { .fd = queue->wake[0], .events = POLLIN };
	poll(&wait, 1, milliseconds);
	drain(gather);
	pthread_mutex_lock(&queue->lock);
	struct gather_done *done = queue->done;
	bool all = queue->running == 0;
	queue->done = NULL;
	gather->total = queue->total;
	pthread_mutex_unlock(&queue->lock);
	take_in(gather, done);
	if (all)
		finish(gather);
	return all;
}

int gather_fd(const struct gather *gather)
{
	return gather->queue.wake[0];
}

const struct pm_fleet *gather_fleet(const struct gather *gather)
{
	return &gather->fleet;
}

size_t gather_total(const struct gather *gather)
{
	return gather->total;
}

/* --- one in full --- */

static bool load_one(const struct gather_item *item, struct store_job *job, struct pm_fault *fault)
{
	struct pm_arena arena;
	size_t length = 0;
	char *text = NULL;
	bool good;
	if (item->fault) {
		*fault = *item->fault;
		return false;
	}
	*job = (struct store_job){ 0 };
	if (item->blob) {
		text = gather_git_text(item->path, item->blob, &length, fault);
		good = text && store_job_parse(text, length, item->path, job, fault);
	} else {
		good = store_job_load_over(item->path, job, fault);
	}
	if (!good) {
		pm_arena_init(&arena);
		gather_no_job(item->path, text ? text : job->text, text ? length : job->length, &arena, fault);
		pm_arena_free(&arena);
		store_job_free(job);
	}
	free(text);
	return good;
}

bool gather_open(struct gather *gather, size_t site, struct gather_detail *detail, struct pm_fault *fault)
{
	struct gather_memo memo = { 0 };
	struct pm_fault own = { 0 };
	*detail = (struct gather_detail){ 0 };
	pm_arena_init(&detail->arena);
	bool good = site < gather->fleet.count ? load_one(gather->item[site], &detail->job, &own)
	                                       : pm_fail(&own, PM_FAULT_USAGE, (struct pm_place){ 0 }, "there is no such site");
	if (good && !gather_judge(gather, &memo, &detail->job, &detail->arena, &detail->the_case, &detail->result, &own)) {
		gather_close(detail);
		good = false;
	}
	if (!good && fault)
		*fault = own;
	return good;
}

void gather_close(struct gather_detail *detail)
{
	pm_arena_free(&detail->arena);
	store_job_free(&detail->job);
}

/* --- the whole --- */

static bool copy_folders(struct gather *gather, const struct gather_options *options)
{
	gather->folder_count = options->folder_count;
	gather->folder = pm_arena_array(&gather->arena, options->folder_count, sizeof *gather->folder);
	for (size_t i = 0; gather->folder && i < options->folder_count; i++) {
		/* a lone "-" would be standard input to those who read files */
		const char *path = pm_same(options->folder[i], "-") ? "./-" : options->folder[i];
		gather->folder[i] = pm_arena_copy(&gather->arena, path, strlen(path));
	}
	if (options->revision) {
		gather->revision = pm_arena_copy(&gather->arena, options->revision, strlen(options->revision));
		gather->commit = pm_arena_array(&gather->arena, options->folder_count, sizeof *gather->commit);
	}
	return !gather->arena.failed;
}

/* Is there a folder, of those given, that can be looked into? Else the first fault. */
static bool any_reachable(struct gather *gather, struct pm_fault *fault)
{
	bool any = false;
	for (size_t i = 0; i < gather->folder_count; i++) {
		struct pm_fault own = { 0 };
		const char *path = gather->folder[i];
		bool there = gather->commit ? gather_git_resolve(path, gather->revision, gather->commit[i], &own) &&
		                              gather_git_has(path, gather->commit[i], &own)
		                            : gather_reachable(path, &own);
		/* that there is no repository around what is not there either says less */
		if (!there && own.kind == PM_FAULT_UNREADABLE)
			gather_reachable(path, &own);
		if (!there && i == 0 && fault)
			*fault = own;
		any = any || there;
	}
	return any;
}

static unsigned thread_count(unsigned wanted)
{
	long processors = wanted ? (long)wanted : sysconf(_SC_NPROCESSORS_ONLN);
	return processors < 1 ? 1 : processors > (long)GATHER_THREADS ? GATHER_THREADS : (unsigned)processors;
}

struct gather *gather_begin(const struct gather_options *options, struct pm_fault *fault)
{
	struct pm_fault own = { 0 };
	struct gather *gather = calloc(1, sizeof *gather);
	if (!gather) {
		out_of_memory(fault);
		return NULL;
	}
	gather->now = options->now;
	gather->has_deadline = options->has_deadline;
	gather->deadline_day = options->deadline_day;
	gather->threads = thread_count(options->threads);
	gather_queue_begin(&gather->queue);
	bool good = options->folder_count > 0 || pm_fail(&own, PM_FAULT_USAGE, (struct pm_place){ 0 }, "no folder is named");
	good = good && (copy_folders(gather, options) || out_of_memory(&own)) && any_reachable(gather, &own) &&
	       (gather_queue_pipe(&gather->queue) || store_fail_system(&own, gather->folder[0], errno, "start threads for"));
	if (good)
		gather_rules_begin(gather);
	good = good && ((gather->shared = gather_shared_begin()) || out_of_memory(&own));
	gather->reading = good;
	if (good && gather_work_begin(gather, true, SIZE_MAX, &own))
		return gather;
	gather_free(gather);
	if (fault)
		*fault = own;
	return NULL;
}

void gather_free(struct gather *gather)
{
	if (!gather)
		return;
	struct gather_queue *queue = &gather->queue;
	pthread_mutex_lock(&queue->lock);
	queue->stop = true;
	pthread_cond_broadcast(&queue->filled);
	pthread_cond_broadcast(&queue->drained);
	pthread_mutex_unlock(&queue->lock);
	gather_work_join(gather);
	take_in(gather, queue->done);
	for (struct gather_item *item = queue->first; item; item = item->next)
		free(item->text);
	for (size_t i = 0; i < gather->fleet.count; i++)
		gather_let_go(gather->item[i]->batch);
	for (int i = 0; i < 2; i++)
		if (queue->wake[i] >= 0)
			close(queue->wake[i]);
	pthread_mutex_destroy(&queue->lock);
	pthread_cond_destroy(&queue->filled);
	pthread_cond_destroy(&queue->drained);
	gather_shared_free(gather->shared);
	gather_rules_free(gather);
	free(gather->site);
	free(gather->item);
	free(gather->left);
	free(gather->left_path);
	pm_arena_free(&gather->found);
	pm_arena_free(&gather->arena);
	free(gather);
}
