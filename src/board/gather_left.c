/* What lies among the job files and is none: plans, gear profiles, layouts and the
 * like. It has no row and counts nowhere; it is known all the same, so that it is
 * told, and read again only when it has changed. */
#include <stdlib.h>

#include "board/gather_parts.h"

bool gather_no_job(const char *path, const char *text, size_t length, struct pm_arena *arena, struct pm_fault *fault)
{
	if (fault->kind != PM_FAULT_VALUE || !text || !store_no_job(text, length, path, arena, fault))
		return false;
	pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ path, 0, 0 }, "no job file: it has neither site nor readings");
	pm_fail_remedy(fault, "name job files, or the folder that they lie in");
	return true;
}

static bool make_room(struct gather *gather)
{
	if (gather->left_count < gather->left_room)
		return true;
	size_t room = gather->left_room * 2 + 16;
	const char **path = realloc(gather->left_path, room * sizeof *path);
	if (path)
		gather->fleet.left_out = gather->left_path = path;
	struct gather_item **left = path ? realloc(gather->left, room * sizeof *left) : NULL;
	if (!left)
		return false;
	gather->left = left;
	gather->left_room = room;
	return true;
}

void gather_leave_out(struct gather *gather, struct gather_item *item)
{
	if (item->left_out)
		return;
	if (!make_room(gather)) {
		gather->lost = true;
		item->key = (struct kept_key){ 0 };   /* it is to be read again */
		return;
	}
	item->left_out = true;
	gather->left[gather->left_count++] = item;
}

typedef bool keep_item(const struct gather_item *item);

/* Drop the rows of which `keep` says no; how many. */
static size_t keep_rows(struct gather *gather, keep_item *keep)
{
	size_t kept = 0, count = gather->fleet.count;
	for (size_t i = 0; i < count; i++) {
		struct gather_item *item = gather->item[i];
		if (!keep(item)) {
			gather_let_go(item->batch);
			item->batch = NULL;
			item->site = GATHER_NOWHERE;
			continue;
		}
		gather->site[kept] = gather->site[i];
		gather->item[kept] = item;
		item->site = kept++;
	}
	gather->fleet.count = kept;
	return count - kept;
}

static size_t keep_left(struct gather *gather, keep_item *keep)
{
	size_t kept = 0, count = gather->left_count;
	for (size_t i = 0; i < count; i++)
		if (keep(gather->left[i]))
			gather->left[kept++] = gather->left[i];
	gather->left_count = kept;
	return count - kept;
}

static bool is_job(const struct gather_item *item)
{
	return !item->left_out;
}

static bool is_none(const struct gather_item *item)
{
	return item->left_out;
}

static bool is_there(const struct gather_item *item)
{
	return item->seen;
}

size_t gather_take_out_gone(struct gather *gather, size_t *rows)
{
	*rows = keep_rows(gather, is_there);
	return *rows + keep_left(gather, is_there);
}

void gather_left_settle(struct gather *gather)
{
	keep_rows(gather, is_job);
	keep_left(gather, is_none);
	if (gather->left_count)
		qsort(gather->left, gather->left_count, sizeof *gather->left, gather_by_place);
	for (size_t i = 0; i < gather->left_count; i++)
		gather->left_path[i] = gather->left[i]->path;
	gather->fleet.left_out_count = gather->left_count;
}
