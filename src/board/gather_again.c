/* What is different from what was read, and reading that anew. */
#include <string.h>

#include "board/gather_parts.h"
#include "portmuster/text.h"

#define LOOK_AFTER 60   /* seconds after which time alone may have changed an open job */

/* The item of a place in a list that is in order; or null. */
static struct gather_item *find(struct gather_item *const *item, size_t count, uint32_t folder, const char *path)
{
	size_t from = 0, to = count;
	while (from < to) {
		size_t middle = from + (to - from) / 2;
		int order = gather_compare(item[middle], folder, path);
		if (order == 0)
			return item[middle];
		if (order < 0)
			from = middle + 1;
		else
			to = middle;
	}
	return NULL;
}

/* The same, be it a row or no job file. */
static struct gather_item *item_at(const struct gather *gather, uint32_t folder, const char *path)
{
	struct gather_item *item = find(gather->item, gather->fleet.count, folder, path);
	return item ? item : find(gather->left, gather->left_count, folder, path);
}

static bool same_fault(const struct pm_fault *a, const struct pm_fault *b)
{
	return !a || !b ? a == b : pm_same(a->message, b->message);
}

struct look {
	const struct gather *gather;
	size_t count;
	bool differs;
};

static bool look_at(void *context, const struct gather_found *found)
{
	struct look *look = context;
	struct kept_key key = { 0 };
	const struct gather_item *item = item_at(look->gather, found->folder, found->path);
	if (item && !found->fault)
		kept_look(found->path, &key);
	look->differs = !item || !same_fault(item->fault, found->fault) || !kept_same(&key, &item->key);
	look->count++;
	return !look->differs;
}

bool gather_changed(const struct gather *gather)
{
	struct look look = { gather, 0, false };
	if (gather->reading || gather->commit)
		return false;
	if (gather_rules_changed(gather) || gather_shared_changed(gather->shared, false))
		return true;
	/* none of those changed: their rows are as they were */
	for (size_t i = 0; i < gather->rules.count; i++)
		look.count += gather->rules.rule[i].bad;
	return gather_search(gather, look_at, &look) ? look.count != gather->fleet.count + gather->left_count : look.differs;
}

struct renew {
	struct gather *gather;
	bool all;
	size_t queued;
};

static bool time_tells(const struct gather *gather, const struct gather_item *item)
{
	if (item->left_out)
		return false;
	const struct pm_site_summary *site = &gather->site[item->site];
	int64_t since = gather->now.second - item->judged;
	return !site->fault && !pm_site_done(site) && (since >= LOOK_AFTER || since <= -LOOK_AFTER);
}

static bool renew_one(void *context, const struct gather_found *found)
{
	struct renew *renew = context;
	struct gather *gather = renew->gather;
	struct kept_key key = { 0 };
	struct gather_item *item = item_at(gather, found->folder, found->path);
	if (item) {
		item->seen = true;
		if (!found->fault)
			kept_look(found->path, &key);
		if (!same_fault(item->fault, found->fault)) {
			const struct gather_item *other = gather_item_make(gather, found);
			if (!other)
				return false;
			item->fault = other->fault;
		} else if (!renew->all && kept_same(&key, &item->key) && !time_tells(gather, item)) {
			return true;
		}
	} else {
		item = gather_item_make(gather, found);
	}
	renew->queued++;
	return item && gather_queue_add(&gather->queue, item);
}

/* What was loaded stays for what borrowed from it. */
static bool renew_shared(struct gather *gather)
{
	if (!gather_shared_changed(gather->shared, true))
		return false;
	struct gather_shared *fresh = gather_shared_begin();
	if (!fresh)
		return false;
	fresh->before = gather->shared;
	gather->shared = fresh;
	return true;
}

/* Other options hold at once, for what stays as well. */
static void begin_rules(struct gather *gather)
{
	gather_rules_begin(gather);
	for (size_t i = 0; i < gather->fleet.count; i++)
		gather->site[i].folder = gather_rules_of(gather, gather->item[i]);
}

bool gather_again(struct gather *gather, struct pm_when now)
{
	struct gather_queue *queue = &gather->queue;
	if (gather->reading || gather->commit)
		return false;
	gather->now = now;
	bool other_rules = gather_rules_changed(gather);
	if (other_rules)
		begin_rules(gather);
	struct renew renew = { gather, renew_shared(gather), 0 };
	for (size_t i = 0; i < gather->fleet.count; i++)
		gather->item[i]->seen = false;
	for (size_t i = 0; i < gather->left_count; i++)
		gather->left[i]->seen = false;
	queue->complete = false;
	queue->total = gather->fleet.count;
	bool whole = gather_rules_bad(gather, true, renew_one, &renew) && gather_search(gather, renew_one, &renew);
	size_t rows = 0, gone = whole ? gather_take_out_gone(gather, &rows) : 0;
	queue->total -= rows;
	gather->total = queue->total;
	gather->lost = gather->lost || !whole;
	gather->reading = renew.queued || gone || other_rules || !whole;
	if (renew.queued && !gather_work_begin(gather, false, renew.queued, NULL))
		gather_work_alone(gather);
	/* a poll has something to take in, be it that something is gone */
	if (gather->reading)
		gather_queue_wake(queue);
	return gather->reading;
}
