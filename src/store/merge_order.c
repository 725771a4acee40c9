#include "store/merge_parts.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/eui48.h"
#include "portmuster/fact.h"

bool merge_only(const struct merge_item *item, enum merge_side side)
{
	for (enum merge_side each = MERGE_BASE; each < MERGE_SIDES; each++)
		if ((item->at[each] != MERGE_NOWHERE) != (each == side))
			return false;
	return true;
}

/* --- what an entry is about --- */

/* A side that has the item. */
static enum merge_side holder(const struct merge_item *item)
{
	enum merge_side side = MERGE_BASE;
	while (item->at[side] == MERGE_NOWHERE)
		side++;
	return side;
}

struct label {
	const char *fact, *value;
	uint32_t item;
};

static int compare_facts(const struct label *a, const struct label *b)
{
	return strcmp(a->fact, b->fact);
}

static int compare_labels(const void *left, const void *right)
{
	const struct label *a = left, *b = right;
	int order = compare_facts(a, b);
	return order ? order : strcmp(a->value, b->value);
}

const char *merge_plain_value(struct merge *m, const char *value)
{
	struct pm_eui48 address;
	char text[PM_EUI48_TEXT];
	if (pm_eui48_parse(value, &address))
		return pm_arena_copy(m->arena, pm_eui48_text(&address, text), strlen(pm_eui48_text(&address, text)));
	size_t length = strlen(value);
	while (length && pm_is_blank(value[length - 1]))
		length--;
	for (; length && pm_is_blank(*value); length--)
		value++;
	return pm_arena_copy(m->arena, value, length);
}

/* Readings that are taken back on a side that has them do not stand. */
static bool stands(const struct merge *m, const struct merge_item *item)
{
	for (enum merge_side side = MERGE_MINE; side <= MERGE_THEIRS; side++) {
		const struct pm_job *job = &m->doc[side].job.job;
		if (item->at[side] != MERGE_NOWHERE && !pm_fact_stands(job, &job->readings[item->at[side]]))
			return false;
	}
	return true;
}

bool merge_mark_readings(struct merge *m, struct merge_list *list)
{
	struct label *label = pm_arena_array(m->arena, list->items, sizeof *label);
	if (!label)
		return false;
	for (uint32_t i = 0; i < list->items; i++) {
		struct merge_item *item = &list->item[i];
		enum merge_side side = holder(item);
		const struct pm_reading *reading = &m->doc[side].job.job.readings[item->at[side]];
		if (reading->when.known)
			item->second = reading->when.second;
		item->withdrawal = reading->source == PM_SOURCE_WITHDRAWN;
		item->any = item->withdrawal && !pm_given(reading->value);
		item->stands = !item->withdrawal && stands(m, item);
		label[i] = (struct label){ reading->of.text, merge_plain_value(m, reading->value.text), i };
		if (!label[i].value)
			return false;
	}
	if (list->items)
		qsort(label, list->items, sizeof *label, compare_labels);
	for (uint32_t i = 0, fact = 0, value = 0; i < list->items; i++) {
		fact += i && compare_facts(&label[i - 1], &label[i]) != 0;
		value += i && compare_labels(&label[i - 1], &label[i]) != 0;
		list->item[label[i].item].fact = fact;
		list->item[label[i].item].value = value;
	}
	return true;
}

void merge_mark_waivers(struct merge *m, struct merge_list *list)
{
	for (uint32_t i = 0; i < list->items; i++) {
		struct merge_item *item = &list->item[i];
		enum merge_side side = holder(item);
		const struct pm_waiver *waiver = &m->doc[side].job.job.waivers[item->at[side]];
		if (waiver->when.known)
			item->second = waiver->when.second;
	}
}

/* --- the order --- */

/* Each side's list is a chain; an entry comes when it is at the head of every
 * chain that it is in. A reading that stands and that one side alone has waits
 * until the other side's new withdrawals of its value have come: whoever
 * withdrew had not seen it. `open` counts those still to come. */
struct sorter {
	struct merge *m;
	struct merge_list *list;
	uint32_t head[MERGE_SIDES];
	uint32_t *open_value[MERGE_SIDES], *open_fact[MERGE_SIDES];
};

static struct merge_item *at_head(const struct sorter *s, enum merge_side side)
{
	if (s->head[side] == s->list->count[side])
		return NULL;
	return &s->list->item[s->list->item_of[side][s->head[side]]];
}

static void count_open(struct sorter *s, const struct merge_item *item, bool more)
{
	for (enum merge_side side = MERGE_MINE; side <= MERGE_THEIRS; side++) {
		if (!item->withdrawal || !merge_only(item, side))
			continue;
		uint32_t *count = item->any ? &s->open_fact[side][item->fact] : &s->open_value[side][item->value];
		*count = more ? *count + 1 : *count - 1;
	}
}

static void put(struct sorter *s, struct merge_item *item)
{
	struct merge_list *list = s->list;
	item->placed = true;
	count_open(s, item, false);
	list->order[list->ordered++] = (uint32_t)(item - list->item);
	for (enum merge_side side = MERGE_BASE; side < MERGE_SIDES; side++)
		while (s->head[side] < list->count[side] && at_head(s, side)->placed)
			s->head[side]++;
}

/* The side whose withdrawals the item waits for, or MERGE_BASE. */
static enum merge_side waits_for(const struct sorter *s, const struct merge_item *item)
{
	for (enum merge_side side = MERGE_MINE; side <= MERGE_THEIRS; side++) {
		enum merge_side other = side == MERGE_MINE ? MERGE_THEIRS : MERGE_MINE;
		if (item->stands && merge_only(item, side) &&
		    (s->open_value[other][item->value] || s->open_fact[other][item->fact]))
			return other;
	}
	return MERGE_BASE;
}

static bool ready(const struct sorter *s, const struct merge_item *item)
{
	if (!item || waits_for(s, item) != MERGE_BASE)
		return false;
	for (enum merge_side side = MERGE_BASE; side < MERGE_SIDES; side++)
		if (item->at[side] != MERGE_NOWHERE && item->at[side] != s->head[side])
			return false;
	return true;
}

static bool takes_back(const struct merge_item *withdrawal, const struct merge_item *reading)
{
	return withdrawal->withdrawal && withdrawal->fact == reading->fact &&
	       (withdrawal->any || withdrawal->value == reading->value);
}

/* Two sides each withdrew what the other read anew, so that no order keeps both
 * lists as they were. One withdrawal comes early, behind all that it took back. */
static void pull(struct sorter *s, struct merge_item *reading, enum merge_side side)
{
	const struct merge_list *list = s->list;
	uint32_t at = s->head[side];
	struct merge_item *withdrawal = NULL;
	for (; at < list->count[side] && !withdrawal; at++) {
		struct merge_item *item = &list->item[list->item_of[side][at]];
		if (!item->placed && merge_only(item, side) && takes_back(item, reading))
			withdrawal = item;
	}
	if (!withdrawal)   /* it is counted as open, so it is there */
		return;
	for (uint32_t i = s->head[side]; i + 1 < at; i++) {
		struct merge_item *item = &list->item[list->item_of[side][i]];
		if (!item->placed && !item->withdrawal && takes_back(withdrawal, item))
			put(s, item);
	}
	put(s, withdrawal);
	const struct store_node *entry = list->entry[side][withdrawal->at[side]];
	merge_note(s->m, STORE_REMARK_MOVED, side, entry->line, merge_text_of(entry, "of"));
}

/* Nothing is at the head of all its chains. First a withdrawal is pulled that
 * something waits for: that leaves every last word the last. Else both sides
 * hold the same in another order, and MINE's counts. */
static void force(struct sorter *s)
{
	for (enum merge_side side = MERGE_MINE; side <= MERGE_THEIRS; side++) {
		struct merge_item *item = at_head(s, side);
		enum merge_side other = item ? waits_for(s, item) : MERGE_BASE;
		if (other != MERGE_BASE) {
			pull(s, item, other);
			return;
		}
	}
	struct merge_item *mine = at_head(s, MERGE_MINE);
	put(s, mine ? mine : at_head(s, MERGE_THEIRS));
}

bool merge_order(struct merge *m, struct merge_list *list)
{
	struct sorter s = { .m = m, .list = list };
	uint32_t left = 0;
	for (enum merge_side side = MERGE_MINE; side <= MERGE_THEIRS; side++) {
		s.open_value[side] = pm_arena_array(m->arena, list->items, sizeof **s.open_value);
		s.open_fact[side] = pm_arena_array(m->arena, list->items, sizeof **s.open_fact);
		if (!s.open_value[side] || !s.open_fact[side])
			return false;
	}
	for (uint32_t i = 0; i < list->items; i++) {
		struct merge_item *item = &list->item[i];
		/* what both took out stays out */
		item->placed = item->at[MERGE_MINE] == MERGE_NOWHERE && item->at[MERGE_THEIRS] == MERGE_NOWHERE;
		left += !item->placed;
		count_open(&s, item, true);
	}
	for (enum merge_side side = MERGE_BASE; side < MERGE_SIDES; side++)
		while (at_head(&s, side) && at_head(&s, side)->placed)
			s.head[side]++;
	while (list->ordered < left) {
		struct merge_item *base = at_head(&s, MERGE_BASE), *mine = at_head(&s, MERGE_MINE);
		struct merge_item *theirs = at_head(&s, MERGE_THEIRS);
		bool mine_ready = ready(&s, mine), theirs_ready = ready(&s, theirs);
		if (ready(&s, base))
			put(&s, base);
		else if (mine_ready && (!theirs_ready || mine->second <= theirs->second))
			put(&s, mine);
		else if (theirs_ready)
			put(&s, theirs);
		else
			force(&s);
	}
	return true;
}
