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

/* A later withdrawal takes a reading back when it names its value, in
 * whatever notation, or no value at all. */
static bool taken_back(const struct pm_job *job, size_t index)
{
	const struct pm_reading *reading = &job->readings[index];
	for (size_t i = index + 1; i < job->reading_count; i++) {
		const struct pm_reading *later = &job->readings[i];
		if (later->source != PM_SOURCE_WITHDRAWN || !pm_same(later->of.text, reading->of.text))
			continue;
		if (!pm_given(later->value) || pm_fact_same(later->value.text, reading->value.text, PM_AS_ADDRESS))
			return true;
	}
	return false;
}

const struct pm_reading *pm_fact_next(const struct pm_job *job, const char *of, size_t *at)
{
	while (*at < job->reading_count) {
		size_t index = (*at)++;
		const struct pm_reading *reading = &job->readings[index];
		if (reading->source != PM_SOURCE_WITHDRAWN && pm_same(reading->of.text, of) && !taken_back(job, index))
			return reading;
	}
	return NULL;
}

const struct pm_reading *pm_fact_last(const struct pm_job *job, const char *of)
{
	const struct pm_reading *last = NULL, *next;
	size_t at = 0;
	while ((next = pm_fact_next(job, of, &at)))
		last = next;
	return last;
}

/* Without a capture name, only hand-made readings of different times are told
 * apart: nothing else proves that they were taken separately. */
static bool separate(const struct pm_reading *a, const struct pm_reading *b)
{
	if (pm_given(a->capture) && pm_given(b->capture))
		return !pm_same(a->capture.text, b->capture.text);
	if (a->source == PM_SOURCE_CONSOLE || b->source == PM_SOURCE_CONSOLE)
		return a->source != b->source;
	if (a->when.known && b->when.known)
		return a->when.second != b->when.second;
	return pm_given(a->at) && pm_given(b->at) && !pm_same(a->at.text, b->at.text);
}

/* Was this reading taken separately from every one that stands before it? */
static bool own_capture(const struct pm_job *job, const char *of, const struct pm_reading *reading)
{
	const struct pm_reading *before;
	size_t at = 0;
	while ((before = pm_fact_next(job, of, &at)) && before != reading)
		if (before->source != PM_SOURCE_SKIPPED && !separate(before, reading))
			return false;
	return true;
}

struct pm_fact pm_fact_find(const struct pm_job *job, const char *of, enum pm_compare compare)
{
	struct pm_fact fact = { PM_OPEN, NULL, NULL, NULL, 0, 0 };
	const struct pm_reading *next, *confirming = NULL, *differing = NULL;
	size_t at = 0;
	while ((next = pm_fact_next(job, of, &at))) {
		fact.last = next;
		if (next->source == PM_SOURCE_SKIPPED)
			continue;
		fact.readings++;
		fact.captures += own_capture(job, of, next);
		if (!fact.first)
			fact.first = next;
		else if (!pm_fact_same(fact.first->value.text, next->value.text, compare))
			differing = differing ? differing : next;
		else if (!confirming && separate(fact.first, next))
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
