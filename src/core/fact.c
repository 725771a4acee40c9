#include "portmuster/fact.h"

#include <string.h>

#include "portmuster/eui48.h"
#include "portmuster/text.h"

static void trim(const char *text, size_t *from, size_t *to)
{
	*from = 0;
	*to = text ? strlen(text) : 0;
	while (*from < *to && pm_is_blank(text[*from]))
		(*from)++;
	while (*to > *from && pm_is_blank(text[*to - 1]))
		(*to)--;
}

static bool same_trimmed(const char *a, const char *b)
{
	size_t a_from, a_to, b_from, b_to;
	trim(a, &a_from, &a_to);
	trim(b, &b_from, &b_to);
	return a_to - a_from == b_to - b_from && (a_to == a_from || memcmp(a + a_from, b + b_from, a_to - a_from) == 0);
}

bool pm_fact_same(const char *a, const char *b, enum pm_compare compare)
{
	struct pm_eui48 x, y;
	if (compare == PM_AS_ADDRESS && pm_eui48_parse(a, &x) && pm_eui48_parse(b, &y))
		return pm_eui48_compare(&x, &y) == 0;
	return same_trimmed(a, b);
}

/* FNV-1a, 32 bits. */
static uint32_t hash_of(const char *of)
{
	uint32_t hash = 2166136261u;
	for (; of && *of; of++)
		hash = (hash ^ (unsigned char)*of) * 16777619u;
	return hash;
}

/* The slot of a fact in the table of first readings: its own, or an empty one. */
static uint32_t *slot_of(const struct pm_job *job, const char *of)
{
	uint32_t at = hash_of(of);
	for (;; at++) {
		uint32_t *slot = &job->first[at & job->first_mask];
		if (!*slot || pm_same(job->readings[*slot - 1].of.text, of))
			return slot;
	}
}

bool pm_fact_index(struct pm_job *job, struct pm_arena *arena)
{
	uint32_t slots = 16;
	while (slots / 2 < job->reading_count)
		slots *= 2;
	job->first = pm_arena_array(arena, slots, sizeof *job->first);
	job->first_mask = slots - 1;
	if (!job->first)
		return false;
	/* from the last to the first, so that each fact's chain runs in file order */
	for (size_t i = job->reading_count; i--;) {
		uint32_t *slot = slot_of(job, job->readings[i].of.text);
		job->readings[i].next = *slot;
		*slot = (uint32_t)i + 1;
	}
	return true;
}

/* 1 + index of the first reading at or after `at` that is of this fact, whether
 * it stands or not; 0: none. With an index, `at` lies just behind a reading of
 * the fact, or is 0. */
static size_t next_of(const struct pm_job *job, const char *of, size_t at)
{
	if (at == SIZE_MAX)
		return 0;
	if (job->first)
		return at ? job->readings[at - 1].next : *slot_of(job, of);
	for (; at < job->reading_count; at++)
		if (pm_same(job->readings[at].of.text, of))
			return at + 1;
	return 0;
}

/* A later withdrawal takes a reading back when it names its value, in
 * whatever notation, or no value at all. */
static bool taken_back(const struct pm_job *job, size_t index)
{
	const struct pm_reading *reading = &job->readings[index];
	size_t at = index + 1;
	while ((at = next_of(job, reading->of.text, at))) {
		const struct pm_reading *later = &job->readings[at - 1];
		if (later->source == PM_SOURCE_WITHDRAWN &&
		    (!pm_given(later->value) || pm_fact_same(later->value.text, reading->value.text, PM_AS_ADDRESS)))
			return true;
	}
	return false;
}

const struct pm_reading *pm_fact_next(const struct pm_job *job, const char *of, size_t *at)
{
	while ((*at = next_of(job, of, *at))) {
		const struct pm_reading *reading = &job->readings[*at - 1];
		if (reading->source != PM_SOURCE_WITHDRAWN && !taken_back(job, *at - 1))
			return reading;
	}
	*at = SIZE_MAX;
	return NULL;
}

bool pm_fact_stands(const struct pm_job *job, const struct pm_reading *reading)
{
	return reading->source != PM_SOURCE_WITHDRAWN && !taken_back(job, (size_t)(reading - job->readings));
}

const struct pm_reading *pm_fact_last(const struct pm_job *job, const char *of)
{
	const struct pm_reading *last = NULL, *next;
	size_t at = 0;
	while ((next = pm_fact_next(job, of, &at)))
		last = next;
	return last;
}

bool pm_fact_separate(const struct pm_reading *a, const struct pm_reading *b)
{
	if (pm_given(a->capture) && pm_given(b->capture))
		return !pm_same(a->capture.text, b->capture.text);
	if (a->source == PM_SOURCE_CONSOLE || b->source == PM_SOURCE_CONSOLE)
		return a->source != b->source;
	if (a->when.known && b->when.known)
		return a->when.second != b->when.second;
	return pm_given(a->at) && pm_given(b->at) && !pm_same(a->at.text, b->at.text);
}

struct pm_fact pm_fact_find(const struct pm_job *job, const char *of, enum pm_compare compare)
{
	struct pm_fact fact = { PM_OPEN, NULL, NULL, NULL, 0 };
	const struct pm_reading *next, *confirming = NULL, *differing = NULL;
	size_t at = 0;
	while ((next = pm_fact_next(job, of, &at))) {
		fact.last = next;
		if (next->source == PM_SOURCE_SKIPPED)
			continue;
		fact.readings++;
		if (!fact.first)
			fact.first = next;
		else if (!pm_fact_same(fact.first->value.text, next->value.text, compare))
			differing = differing ? differing : next;
		else if (!confirming && pm_fact_separate(fact.first, next))
			confirming = next;
	}
	if (!fact.last)
		return fact;
	fact.second = differing ? differing : confirming;
	fact.standing = differing ? PM_CONFLICT : confirming ? PM_CONFIRMED : PM_HELD;
	if (fact.last->source == PM_SOURCE_SKIPPED)
		fact.standing = PM_SKIPPED;
	return fact;
}

const char *pm_standing_word(enum pm_standing standing)
{
	switch (standing) {
	case PM_OPEN: return "open";
	case PM_HELD: return "held";
	case PM_CONFIRMED: return "confirmed";
	case PM_CONFLICT: return "in conflict";
	case PM_SKIPPED: return "skipped";
	}
	return "unknown";
}
