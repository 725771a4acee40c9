/* Which attached devices of the three copies are one. Nothing of a device is
 * sure to stay: a serial is corrected, a name is changed. So devices are matched
 * one to one by the best evidence there is, and in its order by their places. */
#include "store/merge_parts.h"

#include <stdlib.h>
#include <string.h>

/* What speaks for two devices being one; WHOLE is all that is written of them. */
enum { KIND = 1, NAME = 2, SERIAL = 4, ADDRESS = 8, WHOLE = 16, VALUES = 5 };

enum use {
	USE_ALWAYS,
	USE_FIRST,       /* not in the second try against the base */
	USE_FIRST_BASE,  /* in the first try against the base only */
	USE_BASE,        /* where the base knows one of them; two new devices that match so are reported */
};

struct evidence {
	unsigned same;                     /* given on both, and the same */
	unsigned left_lacks, right_lacks;  /* not given there, so that it contradicts nothing */
	enum use use;
};

static const struct evidence evidence[] = {
	{ WHOLE, 0, 0, USE_ALWAYS },
	{ KIND | NAME | SERIAL | ADDRESS, 0, 0, USE_ALWAYS },
	{ KIND | NAME | SERIAL, 0, 0, USE_ALWAYS },
	{ KIND | NAME | ADDRESS, 0, 0, USE_ALWAYS },
	{ SERIAL | ADDRESS, 0, 0, USE_ALWAYS },
	{ KIND | NAME, SERIAL | ADDRESS, 0, USE_FIRST },
	{ KIND | NAME, 0, SERIAL | ADDRESS, USE_FIRST },
	{ KIND | NAME, SERIAL, ADDRESS, USE_FIRST },
	{ KIND | NAME, ADDRESS, SERIAL, USE_FIRST },
	{ KIND | NAME, 0, 0, USE_FIRST_BASE },
	{ KIND | SERIAL, 0, 0, USE_ALWAYS },
	{ NAME | SERIAL, 0, 0, USE_ALWAYS },
	{ ADDRESS, SERIAL, 0, USE_ALWAYS },
	{ ADDRESS, 0, SERIAL, USE_ALWAYS },
	{ KIND | NAME, 0, 0, USE_BASE },
	{ ADDRESS, 0, 0, USE_BASE },
	{ SERIAL, 0, 0, USE_BASE },
};

struct device {
	const char *value[VALUES];   /* null: not given */
	uint32_t index;
	unsigned same;               /* by which values it is being sorted */
};

struct matcher {
	struct merge *m;
	struct merge_list *list;
	struct device *device[MERGE_SIDES];
	struct device *left, *right;       /* those that a match is sought for */
};

/* Devices of a side that are no item yet, or that are one which the other side
 * has no part in. */
struct group {
	enum merge_side side;
	bool items;
};

static int compare(const void *left, const void *right)
{
	const struct device *a = left, *b = right;
	int order = 0;
	for (unsigned i = 0; i < VALUES && order == 0; i++)
		if (a->same >> i & 1)
			order = strcmp(a->value[i], b->value[i]);
	return order;
}

static int compare_places(const void *left, const void *right)
{
	const struct device *a = left, *b = right;
	int order = compare(left, right);
	return order ? order : a->index < b->index ? -1 : a->index > b->index;
}

static uint32_t find(const struct matcher *match, struct group group, enum merge_side other,
                     unsigned same, unsigned lacks, struct device *out)
{
	const struct merge_list *list = match->list;
	uint32_t count = 0;
	for (uint32_t i = 0; i < list->count[group.side]; i++) {
		const struct device *device = &match->device[group.side][i];
		uint32_t item = list->item_of[group.side][i];
		bool fits = (item != MERGE_NOWHERE) == group.items &&
		            (!group.items || list->item[item].at[other] == MERGE_NOWHERE);
		for (unsigned k = 0; k < VALUES && fits; k++)
			fits = device->value[k] ? !(lacks >> k & 1) : !(same >> k & 1);
		if (!fits)
			continue;
		out[count] = *device;
		out[count++].same = same;
	}
	if (count)
		qsort(out, count, sizeof *out, compare_places);
	return count;
}

static void join(struct merge_list *list, enum merge_side one, uint32_t i, enum merge_side two, uint32_t k)
{
	uint32_t *a = &list->item_of[one][i], *b = &list->item_of[two][k];
	if (*b != MERGE_NOWHERE) {
		list->item[*b].at[one] = i;
		*a = *b;
		return;
	}
	struct merge_item *item = *a == MERGE_NOWHERE ? merge_item_make(list, one, i) : &list->item[*a];
	item->at[two] = k;
	*b = *a;
}

static struct store_merge_said said(const struct store_node *entry, const char *key)
{
	const struct store_node *value = store_tree_value(entry, key, strlen(key));
	return (struct store_merge_said){ .value = merge_text_of(entry, key), .line = value ? value->line : entry->line };
}

/* Both sides have a new device that looks like the other's but for its serial or
 * its address: one of them may be wrong, or there are two. */
static void tell_rivals(struct matcher *match, uint32_t mine, uint32_t theirs)
{
	const struct merge_list *list = match->list;
	const struct device *a = &match->device[MERGE_MINE][mine], *b = &match->device[MERGE_THEIRS][theirs];
	const struct store_node *one = list->entry[MERGE_MINE][mine], *two = list->entry[MERGE_THEIRS][theirs];
	bool serial = a->value[2] && b->value[2] && strcmp(a->value[2], b->value[2]) != 0;
	const char *key = serial ? "serial" : "address";
	const char *path = pm_say(match->m->arena, "%s.%s.%s", list->kind->key, merge_text_of(one, "name"), key);
	merge_conflict(match->m, (struct store_merge_conflict){
		STORE_CLASH_DEVICE, path ? path : key, said(one, key), said(two, key) });
}

static void pair_up(struct matcher *match, const struct evidence *by, struct group left, struct group right,
                    bool tell)
{
	uint32_t lefts = find(match, left, right.side, by->same, by->left_lacks, match->left);
	uint32_t rights = lefts ? find(match, right, left.side, by->same, by->right_lacks, match->right) : 0;
	for (uint32_t i = 0, k = 0; i < lefts && k < rights;) {
		int order = compare(&match->left[i], &match->right[k]);
		if (order == 0 && tell)
			tell_rivals(match, match->left[i].index, match->right[k].index);
		else if (order == 0)
			join(match->list, left.side, match->left[i].index, right.side, match->right[k].index);
		i += order <= 0;
		k += order >= 0;
	}
}

/* --- against the base --- */

static uint32_t try_base(struct matcher *match, enum merge_side side, bool first)
{
	struct merge_list *list = match->list;
	uint32_t matched = 0;
	for (uint32_t i = 0; i < list->count[side]; i++)
		list->item_of[side][i] = MERGE_NOWHERE;
	for (uint32_t i = 0; i < list->count[MERGE_BASE]; i++)
		list->item[list->item_of[MERGE_BASE][i]].at[side] = MERGE_NOWHERE;
	for (size_t i = 0; i < sizeof evidence / sizeof *evidence; i++)
		if (first || (evidence[i].use != USE_FIRST && evidence[i].use != USE_FIRST_BASE))
			pair_up(match, &evidence[i], (struct group){ MERGE_BASE, true }, (struct group){ side, false }, false);
	for (uint32_t i = 0; i < list->count[side]; i++)
		matched += list->item_of[side][i] != MERGE_NOWHERE;
	return matched;
}

/* Names come before serials, unless devices changed their names among each other:
 * then more of them are found the other way round. */
static void match_base(struct matcher *match, enum merge_side side)
{
	const uint32_t *count = match->list->count;
	uint32_t most = count[side] < count[MERGE_BASE] ? count[side] : count[MERGE_BASE];
	uint32_t matched = try_base(match, side, true);
	if (matched < most && try_base(match, side, false) <= matched)
		try_base(match, side, true);
}

/* --- between the sides --- */

static void match_sides(struct matcher *match)
{
	static const struct group mine = { MERGE_MINE, false }, theirs = { MERGE_THEIRS, false };
	static const struct group mine_known = { MERGE_MINE, true }, theirs_known = { MERGE_THEIRS, true };
	for (size_t i = 0; i < sizeof evidence / sizeof *evidence; i++) {
		const struct evidence *by = &evidence[i];
		if (by->use == USE_FIRST_BASE)
			continue;
		if (by->use != USE_BASE)
			pair_up(match, by, mine, theirs, false);
		/* changed beyond what the base could tell, but the other side knows it */
		pair_up(match, by, mine_known, theirs, false);
		pair_up(match, by, mine, theirs_known, false);
		/* one serial in two kinds of devices under two names is none of ours */
		if (by->use == USE_BASE && by->same != SERIAL)
			pair_up(match, by, mine, theirs, true);
	}
}

static bool gather(struct matcher *match, enum merge_side side)
{
	const struct merge_list *list = match->list;
	const struct pm_job *job = &match->m->doc[side].job.job;
	struct device *devices = pm_arena_array(match->m->arena, list->count[side], sizeof *devices);
	match->device[side] = devices;
	for (uint32_t i = 0; devices && i < list->count[side]; i++) {
		const struct pm_attached *from = &job->attached[i];
		const struct pm_word word[] = { from->kind, from->name, from->serial, from->address };
		devices[i].index = i;
		for (size_t k = 0; k < sizeof word / sizeof *word; k++) {
			devices[i].value[k] = pm_given(word[k]) ? merge_plain_value(match->m, word[k].text) : NULL;
			if (pm_given(word[k]) && !devices[i].value[k])
				return false;
		}
		devices[i].value[VALUES - 1] = merge_flow(match->m, list->entry[side][i]);
	}
	return devices && !match->m->arena->failed;
}

bool merge_match_devices(struct merge *m, struct merge_list *list)
{
	struct matcher match = { .m = m, .list = list };
	uint32_t most = 0;
	for (enum merge_side side = MERGE_BASE; side < MERGE_SIDES; side++) {
		if (!gather(&match, side))
			return false;
		most = list->count[side] > most ? list->count[side] : most;
	}
	match.left = pm_arena_array(m->arena, most, sizeof *match.left);
	match.right = pm_arena_array(m->arena, most, sizeof *match.right);
	if (!match.left || !match.right)
		return false;
	for (uint32_t i = 0; i < list->count[MERGE_BASE]; i++)
		merge_item_make(list, MERGE_BASE, i);
	match_base(&match, MERGE_MINE);
	match_base(&match, MERGE_THEIRS);
	match_sides(&match);
	for (enum merge_side side = MERGE_MINE; side < MERGE_SIDES; side++)
		for (uint32_t i = 0; i < list->count[side]; i++)
			if (list->item_of[side][i] == MERGE_NOWHERE)
				merge_item_make(list, side, i);
	return true;
}
