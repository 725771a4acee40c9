/* The threads: one searches and fills the queue, the others read, judge and
 * summarise what is in it, some files at a time. */
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "board/gather_child.h"
#include "board/gather_parts.h"
#include "portmuster/text.h"
#include "store/path.h"

#define FRESH 100000000   /* nanoseconds within which a file could change again unseen; clock ticks are shorter */

/* --- the queue --- */

void gather_queue_begin(struct gather_queue *queue)
{
	*queue = (struct gather_queue){ .wake = { -1, -1 } };
	pthread_mutex_init(&queue->lock, NULL);
	pthread_cond_init(&queue->filled, NULL);
	pthread_cond_init(&queue->drained, NULL);
}

bool gather_queue_pipe(struct gather_queue *queue)
{
	if (!gather_pipe(queue->wake))
		return false;
	for (int i = 0; i < 2; i++)
		fcntl(queue->wake[i], F_SETFL, O_NONBLOCK);
	return true;
}

void gather_queue_wake(const struct gather_queue *queue)
{
	/* a full pipe wakes as well */
	ssize_t ignored = write(queue->wake[1], "", 1);
	(void)ignored;
}

bool gather_queue_add(struct gather_queue *queue, struct gather_item *item)
{
	pthread_mutex_lock(&queue->lock);
	while (item->text && queue->bytes > GATHER_WAITING && !queue->stop && queue->readers)
		pthread_cond_wait(&queue->drained, &queue->lock);
	/* with no reader left there is no memory to read with: more of it would only lie there */
	bool good = !queue->stop && (!item->text || queue->bytes <= GATHER_WAITING || queue->readers);
	if (good) {
		item->next = NULL;
		if (queue->last)
			queue->last->next = item;
		else
			queue->first = item;
		queue->last = item;
		queue->waiting++;
		queue->bytes += item->text ? item->length : 0;
		queue->total += item->site == GATHER_NOWHERE;
		pthread_cond_signal(&queue->filled);
	}
	pthread_mutex_unlock(&queue->lock);
	return good;
}

static void complete(struct gather_queue *queue, bool lost)
{
	pthread_mutex_lock(&queue->lock);
	queue->complete = true;
	queue->lost = queue->lost || (lost && !queue->stop);
	pthread_cond_broadcast(&queue->filled);
	pthread_mutex_unlock(&queue->lock);
}

/* Take some items; false when there will be none. */
static bool take_some(struct gather_queue *queue, struct gather_done *done)
{
	done->count = 0;
	pthread_mutex_lock(&queue->lock);
	while (!queue->first && !queue->complete && !queue->stop)
		pthread_cond_wait(&queue->filled, &queue->lock);
	while (queue->first && !queue->stop && done->count < GATHER_BATCH) {
		struct gather_item *item = done->item[done->count++] = queue->first;
		queue->first = item->next;
		queue->waiting--;
		queue->bytes -= item->text ? item->length : 0;
	}
	if (!queue->first)
		queue->last = NULL;
	if (queue->bytes <= GATHER_WAITING)
		pthread_cond_signal(&queue->drained);
	pthread_mutex_unlock(&queue->lock);
	return done->count > 0;
}

static void post(struct gather_queue *queue, struct gather_done *done)
{
	pthread_mutex_lock(&queue->lock);
	bool first = !queue->done;
	done->next = queue->done;
	queue->done = done;
	pthread_mutex_unlock(&queue->lock);
	if (first)
		gather_queue_wake(queue);
}

/* --- one file --- */

bool gather_judge(struct gather *gather, struct gather_memo *memo, const struct store_job *job, struct pm_arena *arena,
                  struct pm_case *the_case, struct pm_result *result, struct pm_fault *fault)
{
	struct gather_case with;
	const struct pm_zone_look *zone;
	if (!gather_shared_find(gather->shared, memo, &job->job, &with, fault) ||
	    !gather_zone_find(gather->shared, memo, &job->job, &zone, fault))
		return false;
	*the_case = (struct pm_case){
		.job = &job->job, .plan = with.plan, .gear = with.gear, .layout_digest = with.layout_digest, .now = gather->now,
		.registry = gather->shared->has_map ? &gather->shared->map.registry : NULL,
		.zone = zone,
	};
	return pm_check(the_case, arena, result) || pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ job->path, 0, 0 }, "out of memory");
}

/* What a thread works with from one file to the next. */
struct desk {
	struct gather_memo memo;
	struct store_job job;
	struct pm_arena scratch;
};

static bool load_text(const struct gather_item *item, struct store_job *job, struct pm_fault *fault)
{
	store_job_free(job);
	return store_job_parse(item->text, item->length, item->path, job, fault);
}

/* A file that had only just changed could change again, and its times would not show it. */
static bool fresh(const struct kept_key *key)
{
	struct timespec now;
	clock_gettime(CLOCK_REALTIME, &now);
	for (int i = 0; i < 4; i += 2) {
		int64_t seconds = now.tv_sec - key->changed[i];
		int64_t age = seconds * 1000000000 + now.tv_nsec - key->changed[i + 1];
		if (seconds >= 0 && seconds < 2 && age < FRESH)
			return true;
	}
	return false;
}

/* Load the file as it was at one moment: the same before and after. */
static bool load_steady(struct gather_item *item, struct store_job *job, struct pm_fault *fault)
{
	struct kept_key after;
	if (item->blob)
		return load_text(item, job, fault);
	for (int attempt = 0; attempt < 2; attempt++) {
		kept_look(item->path, &item->key);
		bool good = store_job_load_over(item->path, job, fault);
		kept_look(item->path, &after);
		if (kept_same(&item->key, &after)) {
			if (fresh(&item->key))
				item->key = (struct kept_key){ 0 };
			return good;
		}
	}
	item->key = (struct kept_key){ 0 };
	pm_fail(fault, PM_FAULT_CHANGED, (struct pm_place){ item->path, 0, 0 }, "changed again and again while it was being read");
	return pm_fail_remedy(fault, "look again when what writes it is done");
}

/* A row names its own file only: what is wrong in another one names that in its message. */
static void own_place(const struct gather_item *item, struct pm_fault *fault)
{
	struct pm_fault there = *fault;
	struct pm_text text;
	struct pm_fault here;
	pm_fail(&here, fault->kind, (struct pm_place){ item->path, 0, 0 }, " ");
	if (!fault->file[0] || pm_same(fault->file, here.file))
		return;
	pm_text_fixed(&text, fault->message, sizeof fault->message);
	pm_text_visible(&text, there.file, strlen(there.file));
	if (there.line)
		pm_text_add(&text, ":%u:%u", (unsigned)there.line, (unsigned)there.column);
	pm_text_add(&text, ": %s", there.message);
	fault->line = fault->column = 0;
}

struct pm_site_summary gather_row_lost(const char *path)
{
	return (struct pm_site_summary){
		.file = path, .fault = "out of memory", .code = "", .name = "", .crew = "", .zone = "", .plan = "", .gear = "",
		.worst_message = "", .waits_in = "", .waits_why = "", .waits_who = "",
	};
}

/* Make the row; false when the item has none, for it is no job file. */
static bool read_item(struct gather *gather, struct desk *desk, struct gather_item *item, struct pm_arena *arena,
                      struct pm_site_summary *row)
{
	struct pm_case the_case;
	struct pm_result result;
	struct pm_fault fault = { 0 };
	bool good = false, none = false;
	item->judged = gather->now.second;
	pm_arena_clear(&desk->scratch);
	if (item->fault) {
		fault = *item->fault;
	} else if (!load_steady(item, &desk->job, &fault)) {
		none = gather_no_job(item->path, item->blob ? item->text : desk->job.text, item->blob ? item->length : desk->job.length,
		                     &desk->scratch, &fault);
	} else {
		good = gather_judge(gather, &desk->memo, &desk->job, &desk->scratch, &the_case, &result, &fault);
		if (good && !pm_site_summarise(&the_case, &result, arena, row))
			good = pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ item->path, 0, 0 }, "out of memory");
	}
	free(item->text);
	item->text = NULL;
	if (good || (none && !item->named))
		return good;
	/* that is not the file's doing: it is to be read again */
	if (fault.kind == PM_FAULT_MEMORY)
		item->key = (struct kept_key){ 0 };
	own_place(item, &fault);
	if (!pm_site_unread(item->path, &fault, arena, row))
		*row = gather_row_lost(item->path);
	return true;
}

/* --- the threads --- */

static bool read_some(struct gather *gather, struct desk *desk)
{
	struct gather_done *done = malloc(sizeof *done);
	struct gather_batch *batch = calloc(1, sizeof *batch);
	/* when memory runs out, what is left in the queue becomes rows that say so */
	if (!done || !batch || !take_some(&gather->queue, done)) {
		free(done);
		free(batch);
		return false;
	}
	done->batch = batch;
	for (size_t i = 0; i < done->count; i++)
		done->left_out[i] = !read_item(gather, desk, done->item[i], &batch->arena, &done->row[i]);
	post(&gather->queue, done);
	return true;
}

static void work(struct gather *gather)
{
	struct desk desk = { 0 };
	while (read_some(gather, &desk))
		continue;
	pm_arena_free(&desk.scratch);
	store_job_free(&desk.job);
}

static bool queue_found(void *context, const struct gather_found *found)
{
	struct gather *gather = context;
	struct gather_item *item = gather_item_make(gather, found);
	if (!item) {
		free(found->text);
		return false;
	}
	if (gather_queue_add(&gather->queue, item))
		return true;
	free(item->text);
	item->text = NULL;
	return false;
}

static void thread_ends(struct gather_queue *queue, bool reader)
{
	pthread_mutex_lock(&queue->lock);
	bool last = --queue->running == 0;
	queue->readers -= reader;
	/* whoever waits for room need not, when nobody is left to make some */
	if (!queue->readers)
		pthread_cond_broadcast(&queue->drained);
	pthread_mutex_unlock(&queue->lock);
	if (last)
		gather_queue_wake(queue);
}

static void *work_thread(void *context)
{
	struct gather *gather = context;
	work(gather);
	thread_ends(&gather->queue, true);
	return NULL;
}

static void *search_thread(void *context)
{
	struct gather *gather = context;
	complete(&gather->queue, !gather_search(gather, queue_found, gather));
	thread_ends(&gather->queue, false);
	return NULL;
}

static bool start(struct gather *gather, bool reader)
{
	struct gather_queue *queue = &gather->queue;
	pthread_mutex_lock(&queue->lock);
	queue->running++;
	queue->readers += reader;
	pthread_mutex_unlock(&queue->lock);
	if (pthread_create(&gather->thread[gather->thread_count], NULL, reader ? work_thread : search_thread, gather) != 0) {
		thread_ends(queue, reader);
		return false;
	}
	gather->thread_count++;
	return true;
}

bool gather_work_begin(struct gather *gather, bool search, size_t most, struct pm_fault *fault)
{
	sigset_t all, before;
	unsigned workers = 0, wanted = gather->threads;
	while (wanted > 1 && most <= (size_t)(wanted - 1) * GATHER_BATCH)
		wanted--;
	if (!search)
		complete(&gather->queue, false);
	/* signals are for the thread that waits for them */
	sigfillset(&all);
	pthread_sigmask(SIG_BLOCK, &all, &before);
	while (workers < wanted && start(gather, true))
		workers++;
	bool good = workers && (!search || start(gather, false));
	pthread_sigmask(SIG_SETMASK, &before, NULL);
	return good || store_fail_system(fault, gather->folder[0], EAGAIN, "start threads for");
}

void gather_work_alone(struct gather *gather)
{
	work(gather);
}

void gather_work_join(struct gather *gather)
{
	while (gather->thread_count)
		pthread_join(gather->thread[--gather->thread_count], NULL);
}
