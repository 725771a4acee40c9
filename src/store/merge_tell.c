#include "store/merge_parts.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/fact.h"

void merge_conflict(struct merge *m, struct store_merge_conflict conflict)
{
	void *items = m->out->conflict;
	struct store_merge_conflict *fresh =
		pm_arena_push(m->arena, &items, &m->out->conflicts, &m->conflict_room, sizeof *fresh);
	m->out->conflict = items;
	if (fresh)
		*fresh = conflict;
}

void merge_note(struct merge *m, enum store_merge_remark remark, enum merge_side side,
                uint32_t line, const char *key)
{
	void *items = m->out->note;
	struct store_merge_note *fresh =
		pm_arena_push(m->arena, &items, &m->out->notes, &m->note_room, sizeof *fresh);
	m->out->note = items;
	if (fresh)
		*fresh = (struct store_merge_note){ remark, side == MERGE_THEIRS, line, key };
}

/* --- readings --- */

/* The items of one fact, in the order of the result. */
struct group {
	const struct merge *m;
	const struct merge_list *list;
	const uint32_t *item;
	size_t count;
};

static const struct pm_reading *reading_of(const struct group *g, const struct merge_item *item,
                                           enum merge_side side)
{
	return &g->m->doc[side].job.job.readings[item->at[side]];
}

static const struct merge_item *item_at(const struct group *g, size_t at)
{
	return &g->list->item[g->item[at]];
}

static enum merge_side other_side(enum merge_side side)
{
	return side == MERGE_MINE ? MERGE_THEIRS : MERGE_MINE;
}

/* The entry's own words: the jobs do not live as long as what is reported. */
static const struct store_node *entry_of(const struct group *g, const struct merge_item *item,
                                         enum merge_side side)
{
	return g->list->entry[side][item->at[side]];
}

static struct store_merge_said said(const struct group *g, const struct merge_item *item,
                                    enum merge_side side)
{
	const struct store_node *entry = entry_of(g, item, side);
	return (struct store_merge_said){ merge_text_of(entry, "value"), merge_text_of(entry, "source"),
	                                  merge_text_of(entry, "by"), reading_of(g, item, side)->of.line };
}

static void clash(struct merge *m, const struct group *g, enum store_merge_clash kind,
                  const struct merge_item *a, enum merge_side a_side, const struct merge_item *b)
{
	enum merge_side b_side = other_side(a_side);
	struct store_merge_said one = said(g, a, a_side), two = said(g, b, b_side);
	bool mine = a_side == MERGE_MINE;
	merge_conflict(m, (struct store_merge_conflict){
		kind, merge_text_of(entry_of(g, a, a_side), "of"), mine ? one : two, mine ? two : one });
}

static bool starts(const char *text, const char *with)
{
	return strncmp(text, with, strlen(with)) == 0;
}

/* Facts of which the latest reading counts, whatever came before. */
static bool last_counts(const char *of)
{
	return starts(of, "step/") || starts(of, "kit/") || starts(of, "desk/");
}

/* The last of a side's new readings that stand, before `before`. */
static const struct merge_item *last_new(const struct group *g, enum merge_side side, size_t *before)
{
	while (*before) {
		const struct merge_item *item = item_at(g, --*before);
		if (item->stands && merge_only(item, side))
			return item;
	}
	return NULL;
}

static bool is_skip(const struct group *g, const struct merge_item *item, enum merge_side side)
{
	return reading_of(g, item, side)->source == PM_SOURCE_SKIPPED;
}

/* A skip has no value that could differ. */
static bool differ(const struct group *g, const struct merge_item *mine, const struct merge_item *theirs)
{
	const struct pm_reading *a = reading_of(g, mine, MERGE_MINE), *b = reading_of(g, theirs, MERGE_THEIRS);
	return a->source != PM_SOURCE_SKIPPED && b->source != PM_SOURCE_SKIPPED &&
	       !pm_fact_same(a->value.text, b->value.text, starts(a->of.text, "port/") ? PM_AS_ADDRESS : PM_AS_TEXT);
}

/* The latest new readings of both sides that contradict each other. Of skips,
 * and where the last word counts, only the last ones are looked at. */
static bool tell_values(struct merge *m, const struct group *g)
{
	size_t i = g->count, k = g->count;
	const struct merge_item *mine = last_new(g, MERGE_MINE, &i), *theirs = last_new(g, MERGE_THEIRS, &k);
	if (!mine || !theirs)
		return false;
	bool last = last_counts(reading_of(g, mine, MERGE_MINE)->of.text);
	if (is_skip(g, mine, MERGE_MINE) != is_skip(g, theirs, MERGE_THEIRS) || (last && differ(g, mine, theirs))) {
		clash(m, g, STORE_CLASH_LAST, mine, MERGE_MINE, theirs);
		return true;
	}
	for (bool first = true; mine && !last; mine = last_new(g, MERGE_MINE, &i)) {
		/* a value that none of theirs differs from is the only one that they have: then
		 * the latest of theirs that has one speaks for all */
		if (is_skip(g, mine, MERGE_MINE))
			continue;
		for (k = g->count; (theirs = last_new(g, MERGE_THEIRS, &k));) {
			if (differ(g, mine, theirs)) {
				clash(m, g, STORE_CLASH_READING, mine, MERGE_MINE, theirs);
				return true;
			}
			if (!first && !is_skip(g, theirs, MERGE_THEIRS))
				break;
		}
		first = false;
	}
	return false;
}

/* What is known of a value; the values of one fact are no other fact's. */
struct held {
	bool there;       /* a side holds a reading of it that stands */
	uint32_t latest;  /* 1 + place in the group of the other side's latest new reading of it, 0: none */
};

/* Has a side withdrawals that the other has not? */
static bool withdraws(const struct group *g, enum merge_side side)
{
	for (size_t i = 0; i < g->count; i++)
		if (item_at(g, i)->withdrawal && merge_only(item_at(g, i), side))
			return true;
	return false;
}

static void note_held(const struct group *g, enum merge_side side, struct held *held)
{
	for (size_t i = 0; i < g->count; i++)
		held[item_at(g, i)->value] = (struct held){ .there = false };
	for (size_t i = 0; i < g->count; i++) {
		const struct merge_item *item = item_at(g, i);
		struct held *of = &held[item->value];
		if (!of->there && item->at[side] != MERGE_NOWHERE && !item->withdrawal)
			of->there = pm_fact_stands(&g->m->doc[side].job.job, reading_of(g, item, side));
	}
}

/* Read on one side, taken back on the other and not read again there. */
static bool tell_withdrawn(struct merge *m, const struct group *g, enum merge_side reader, struct held *held)
{
	enum merge_side other = other_side(reader);
	uint32_t latest = 0;
	if (!withdraws(g, other))
		return false;
	note_held(g, other, held);
	for (size_t before = g->count; last_new(g, reader, &before);) {
		struct held *of = &held[item_at(g, before)->value];
		if (of->there)
			continue;
		of->latest = of->latest ? of->latest : (uint32_t)before + 1;
		latest = latest ? latest : (uint32_t)before + 1;
	}
	for (size_t i = 0; i < g->count; i++) {
		const struct merge_item *withdrawal = item_at(g, i);
		uint32_t reading = withdrawal->any ? latest : held[withdrawal->value].latest;
		if (!withdrawal->withdrawal || !merge_only(withdrawal, other) || !reading)
			continue;
		clash(m, g, STORE_CLASH_WITHDRAWN, item_at(g, reading - 1), reader, withdrawal);
		return true;
	}
	return false;
}

struct place {
	uint32_t fact, at, item;
};

static int compare_places(const void *left, const void *right)
{
	const struct place *a = left, *b = right;
	if (a->fact != b->fact)
		return a->fact < b->fact ? -1 : 1;
	return a->at < b->at ? -1 : a->at > b->at;
}

bool merge_tell_readings(struct merge *m, const struct merge_list *list)
{
	struct place *place = pm_arena_array(m->arena, list->ordered, sizeof *place);
	uint32_t *item = pm_arena_array(m->arena, list->ordered, sizeof *item);
	struct held *held = pm_arena_array(m->arena, list->items, sizeof *held);
	if (!place || !item || !held)
		return false;
	for (uint32_t i = 0; i < list->ordered; i++)
		place[i] = (struct place){ list->item[list->order[i]].fact, i, list->order[i] };
	if (list->ordered)
		qsort(place, list->ordered, sizeof *place, compare_places);
	for (uint32_t i = 0; i < list->ordered; i++)
		item[i] = place[i].item;
	for (uint32_t from = 0, to; from < list->ordered; from = to) {
		for (to = from + 1; to < list->ordered && place[to].fact == place[from].fact;)
			to++;
		struct group g = { m, list, item + from, to - from };
		if (!tell_values(m, &g) && !tell_withdrawn(m, &g, MERGE_MINE, held))
			tell_withdrawn(m, &g, MERGE_THEIRS, held);
	}
	return true;
}

/* --- what is gone --- */

static const char *name_of(struct merge *m, const struct merge_list *list, const struct store_node *entry)
{
	const char *const *name = list->kind->name;
	if (!list->kind->whole)
		return pm_say(m->arena, "%s/%s", list->kind->key, merge_text_of(entry, name[1]));
	if (pm_same(list->kind->key, "readings"))
		return merge_text_of(entry, name[0]);
	return pm_say(m->arena, "%s/%s", list->kind->key, merge_text_of(entry, name[2]));
}

void merge_tell_gone(struct merge *m, const struct merge_list *list)
{
	for (uint32_t i = 0; i < list->ordered; i++) {
		const struct merge_item *item = &list->item[list->order[i]];
		if (item->at[MERGE_BASE] == MERGE_NOWHERE)
			continue;
		enum merge_side side = item->at[MERGE_MINE] == MERGE_NOWHERE ? MERGE_THEIRS : MERGE_MINE;
		if (item->at[other_side(side)] != MERGE_NOWHERE)
			continue;
		const struct store_node *entry = list->entry[side][item->at[side]];
		merge_note(m, STORE_REMARK_KEPT, side, entry->line, name_of(m, list, entry));
	}
}
