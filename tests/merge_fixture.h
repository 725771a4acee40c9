/* merge_fixture.h - job files in short form, for the tests of merging. <cmocka.h>
 * comes before it. */
#ifndef TESTS_MERGE_FIXTURE_H
#define TESTS_MERGE_FIXTURE_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store/document.h"
#include "store/merge.h"

#define HEAD "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-11\n"
#define READ "readings:\n"
/* One reading, at a minute past ten on one day. */
#define R(of, value, source, by, minute) \
	"  - {of: " of ", value: \"" value "\", source: " source ", by: " by ", at: \"2026-03-01T10:" minute ":00Z\"}\n"
#define A1 "00-00-5E-00-53-01"
#define A2 "00-00-5E-00-53-02"

static inline bool merge_texts(const char *base, const char *mine, const char *theirs,
                               struct store_merged *merged, struct pm_fault *fault)
{
	struct store_merge_input input[3] = {
		{ base, strlen(base), "base.yaml" }, { mine, strlen(mine), "mine.yaml" }, { theirs, strlen(theirs), "theirs.yaml" },
	};
	return store_merge(&input[0], &input[1], &input[2], merged, fault);
}

/* The conflicts and notes, a line each, into `out`. */
static inline void merge_report(const struct store_merged *merged, char *out, size_t room)
{
	size_t used = 0;
	out[0] = '\0';
	for (size_t i = 0; i < merged->conflicts && used < room; i++) {
		const struct store_merge_conflict *c = &merged->conflict[i];
		used += (size_t)snprintf(out + used, room - used, "%s %s: %s/%u %s/%u\n", store_clash_word(c->clash), c->key,
		                         c->mine.value, c->mine.line, c->theirs.value, c->theirs.line);
	}
	for (size_t i = 0; i < merged->notes && used < room; i++) {
		const struct store_merge_note *n = &merged->note[i];
		used += (size_t)snprintf(out + used, room - used, "%s %s %s/%u\n", store_remark_word(n->remark), n->key,
		                         n->theirs ? "theirs" : "mine", n->line);
	}
}

/* What is merged, the text that must come out, and what must be reported
 * (see merge_report). */
struct merge_join {
	const char *name, *base, *mine, *theirs, *text, *report;
};

static inline void merge_expect(const struct merge_join *row)
{
	struct store_merged merged, again;
	struct pm_fault fault = { 0 };
	char report[2000];
	if (!merge_texts(row->base, row->mine, row->theirs, &merged, &fault))
		fail_msg("%s: %s:%u: %s", row->name, fault.file, fault.line, fault.message);
	merge_report(&merged, report, sizeof report);
	if (strcmp(merged.text, row->text))
		fail_msg("%s:\n--- expected\n%s\n--- got\n%s", row->name, row->text, merged.text);
	if (merged.length != strlen(row->text) || strcmp(report, row->report))
		fail_msg("%s:\n--- expected\n%s\n--- got\n%s", row->name, row->report, report);
	/* what was merged already changes nothing more */
	if (!merge_texts(row->base, merged.text, row->theirs, &again, &fault))
		fail_msg("%s, again: %s:%u: %s", row->name, fault.file, fault.line, fault.message);
	if (strcmp(again.text, merged.text))
		fail_msg("%s, again:\n--- expected\n%s\n--- got\n%s", row->name, merged.text, again.text);
	store_merged_free(&again);
	store_merged_free(&merged);
}

#endif
