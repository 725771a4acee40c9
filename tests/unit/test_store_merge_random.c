/* What must hold of every merge, tried on random edits of both sides. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "merge_fixture.h"
#include "portmuster/fact.h"
#include "portmuster/text.h"

#define SEEDS 500
#define MOST 64

/* xorshift32 (Marsaglia 2003): the same edits on every machine. */
static uint32_t seed_state;
static bool dense;

static uint32_t below(uint32_t bound)
{
	seed_state ^= seed_state << 13;
	seed_state ^= seed_state >> 17;
	seed_state ^= seed_state << 5;
	return seed_state % bound;
}

struct entry {
	unsigned fact, value, source, who, minute, style;
};

struct list {
	struct entry entry[MOST];
	size_t count;
};

static const char *const facts[] = { "port/port1", "port/port2", "router/serial", "step/s", "kit/a" };
static const char *const values[] = { A1, A2, "0000.5e00.5301", "good", "" };
static const char *const sources[] = { "typed", "console", "stated", "withdrawn", "withdrawn", "skipped" };

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* `who` is another for every entry, so that each can be told from all others. */
static struct entry random_entry(unsigned who)
{
	/* half of the time all about one port, where the most can go wrong */
	return (struct entry){ dense ? 0 : below(COUNT(facts)), below(dense ? 2 : COUNT(values)), below(COUNT(sources)), who, below(60), below(4) };
}

static void append(struct list *list, size_t count, unsigned who)
{
	for (size_t i = 0; i < count && list->count < MOST; i++)
		list->entry[list->count++] = random_entry(who + (unsigned)i);
}

/* An entry on one line or several, with comments or an unknown key. */
static void put_entry(struct pm_text *out, const struct entry *e, const char *in)
{
	char core[200];
	bool lines = e->style & 1;
	const char *gap = lines ? "\n" : ", ", *blanks = lines ? in : "";
	struct pm_text text;
	pm_text_fixed(&text, core, sizeof core);
	pm_text_add(&text, "of: %s%s%s%svalue: \"%s\"%s%s%ssource: %s%s%s%sby: w%u%s%s%sat: \"2026-03-01T10:%02u:00Z\"",
	            facts[e->fact], gap, blanks, lines ? "  " : "", values[e->value], gap, blanks, lines ? "  " : "",
	            sources[e->source], gap, blanks, lines ? "  " : "", e->who, gap, blanks, lines ? "  " : "", e->minute);
	assert_false(text.cut);
	if (e->style & 2)
		pm_text_add(out, "%s# before w%u\n", in, e->who);
	if (lines)
		pm_text_add(out, "%s- %s%s%s  hue: w%u # behind\n", in, core, gap, blanks, e->who);
	else
		pm_text_add(out, "%s- {%s}\n", in, core);
}

static void put_flow(struct pm_text *out, const struct entry *e, bool first)
{
	pm_text_add(out, "%s{of: %s, value: \"%s\", source: %s, by: w%u, at: \"2026-03-01T10:%02u:00Z\"", first ? "" : ",\n  ",
	            facts[e->fact], values[e->value], sources[e->source], e->who, e->minute);
	pm_text_add(out, e->style & 1 ? ", hue: w%u}" : "}", e->who);
}

static const char *text_of(struct pm_arena *arena, const struct list *list, unsigned layout)
{
	struct pm_text out;
	pm_text_grow(&out, arena);
	pm_text_str(&out, HEAD);
	if (list->count)
		pm_text_str(&out, layout == 2 ? "readings: [" : READ);
	for (size_t i = 0; i < list->count; i++)
		if (layout == 2)
			put_flow(&out, &list->entry[i], i == 0);
		else
			put_entry(&out, &list->entry[i], layout ? "" : "    ");
	if (list->count && layout == 2)
		pm_text_str(&out, "]\n");
	assert_false(arena->failed);
	return out.data;
}

/* --- looking at results --- */

static unsigned who_of(const struct pm_reading *reading)
{
	uint64_t who = 0;
	assert_true(pm_read_number(reading->by.text + 1, 1000, &who));
	return (unsigned)who;
}

static const struct pm_reading *find(const struct pm_job *job, unsigned who)
{
	for (size_t i = 0; i < job->reading_count; i++)
		if (who_of(&job->readings[i]) == who)
			return &job->readings[i];
	return NULL;
}

struct case_of {
	uint32_t seed;
	const char *base, *mine, *theirs;
};

static void fail_case(const struct case_of *c, const char *what, const struct store_merged *merged)
{
	fprintf(stderr, "seed %u\n--- base\n%s\n--- mine\n%s\n--- theirs\n%s\n--- merged\n%s\n", (unsigned)c->seed,
	        c->base, c->mine, c->theirs, merged ? merged->text : "");
	fail_msg("seed %u: %s", (unsigned)c->seed, what);
}

#define MUST(what) do { if (!(what)) \
	fail_case(c, #what, merged); } while (0)

static void join(const struct case_of *c, const char *mine, const char *theirs, struct store_merged *out)
{
	struct pm_fault fault = { 0 };
	struct store_merged *merged = NULL;
	if (!merge_texts(c->base, mine, theirs, out, &fault)) {
		print_error("%s:%u: %s\n", fault.file, fault.line, fault.message);
		MUST(!"merged");
	}
}

static void load(const struct case_of *c, const char *text, size_t length, struct store_job *job, const struct store_merged *merged)
{
	struct pm_fault fault = { 0 };
	bool good = store_job_parse(text, length, "x.yaml", job, &fault);
	MUST(good);
}

static bool moved(const struct store_merged *merged)
{
	for (size_t i = 0; i < merged->notes; i++)
		if (merged->note[i].remark == STORE_REMARK_MOVED)
			return true;
	return false;
}

/* Every entry of a side is there once, and in that side's order. */
static void check_side(const struct case_of *c, const struct pm_job *side, const struct pm_job *all,
                       bool ordered, const struct store_merged *merged)
{
	const struct pm_reading *before = NULL;
	for (size_t i = 0; i < side->reading_count; i++) {
		const struct pm_reading *here = &side->readings[i], *there = find(all, who_of(here));
		MUST(there != NULL);
		MUST(pm_same(here->of.text, there->of.text) && pm_same(here->value.text, there->value.text));
		MUST(here->source == there->source && pm_same(here->at.text, there->at.text));
		MUST(!ordered || !before || before < there);
		before = there;
	}
}

/* A reading that one side alone has means there what it meant to that side;
 * one that a side took back, having it, is taken back. */
static void check_meaning(const struct case_of *c, const struct pm_job *one, const struct pm_job *other,
                          const struct pm_job *all, const struct store_merged *merged)
{
	for (size_t i = 0; i < one->reading_count; i++) {
		const struct pm_reading *here = &one->readings[i], *beside = find(other, who_of(here));
		bool stands = pm_fact_stands(one, here) && (!beside || pm_fact_stands(other, beside));
		MUST(pm_fact_stands(all, find(all, who_of(here))) == stands);
	}
}

/* The last word is one of the two sides' last words. */
static void check_last(const struct case_of *c, const struct pm_job *mine, const struct pm_job *theirs,
                       const struct pm_job *all, const struct store_merged *merged)
{
	for (size_t i = 0; i < COUNT(facts); i++) {
		const struct pm_reading *a = pm_fact_last(mine, facts[i]), *b = pm_fact_last(theirs, facts[i]);
		const struct pm_reading *last = pm_fact_last(all, facts[i]);
		if (!a || !b || !pm_fact_stands(all, find(all, who_of(a))) || !pm_fact_stands(all, find(all, who_of(b))))
			continue;
		MUST(last && (who_of(last) == who_of(a) || who_of(last) == who_of(b)));
	}
}

static void check_conflicts(const struct case_of *c, const struct pm_job *all, const struct store_merged *merged)
{
	for (size_t i = 0; i < merged->conflicts; i++) {
		const struct store_merge_conflict *conflict = &merged->conflict[i];
		bool port = strncmp(conflict->key, "port/", 5) == 0;
		struct pm_fact fact = pm_fact_find(all, conflict->key, port ? PM_AS_ADDRESS : PM_AS_TEXT);
		MUST(fact.last != NULL);
		if (conflict->clash == STORE_CLASH_READING)
			MUST(fact.standing == PM_CONFLICT || fact.standing == PM_SKIPPED);
		if (conflict->clash == STORE_CLASH_WITHDRAWN)
			MUST(fact.readings > 0 || fact.standing == PM_SKIPPED);
	}
}

/* `appended`: both sides only added to the base; `shared`: one had some of the
 * other's entries already. */
static void check(const struct case_of *c, bool appended, bool shared)
{
	struct store_merged first, other, again, *merged = &first;
	struct store_job base, mine, theirs, all, swapped;
	struct pm_fault fault = { 0 };
	join(c, c->mine, c->theirs, &first);
	load(c, *c->base ? c->base : HEAD, *c->base ? strlen(c->base) : strlen(HEAD), &base, merged);
	load(c, c->mine, strlen(c->mine), &mine, merged);
	load(c, c->theirs, strlen(c->theirs), &theirs, merged);
	load(c, first.text, first.length, &all, merged);
	check_side(c, &mine.job, &all.job, (appended && !shared) || !moved(merged), merged);
	check_side(c, &theirs.job, &all.job, appended && !moved(merged), merged);
	for (size_t i = 0; i < all.job.reading_count; i++)
		MUST(find(&mine.job, who_of(&all.job.readings[i])) || find(&theirs.job, who_of(&all.job.readings[i])));
	if (appended) {
		for (size_t i = 0; i < base.job.reading_count; i++)
			MUST(who_of(&all.job.readings[i]) == who_of(&base.job.readings[i]));
		check_meaning(c, &mine.job, &theirs.job, &all.job, merged);
		check_meaning(c, &theirs.job, &mine.job, &all.job, merged);
		check_last(c, &mine.job, &theirs.job, &all.job, merged);
		check_conflicts(c, &all.job, merged);
	}
	/* the other way round it is the same set, and as many conflicts */
	join(c, c->theirs, c->mine, &other);
	load(c, other.text, other.length, &swapped, merged);
	MUST(swapped.job.reading_count == all.job.reading_count);
	check_side(c, &swapped.job, &all.job, false, merged);
	MUST(other.conflicts == first.conflicts);
	store_merged_free(&other);
	/* nothing more comes of it */
	const char *const more[] = { c->theirs, c->mine, first.text, c->base };
	/* what both took out by hand would come back from the base */
	for (size_t i = 0; i < COUNT(more) - !appended; i++) {
		join(c, first.text, more[i], &again);
		merged = &again;
		MUST(strcmp(again.text, first.text) == 0 && again.taken == 0);
		merged = &first;
		store_merged_free(&again);
	}
	/* and it is a job like any other */
	struct pm_reading reading = { .of = { .text = "kit/b" }, .value = { .text = "1" }, .source = PM_SOURCE_STATED,
	                              .by = { .text = "w999" }, .at = { .text = "2026-03-02T00:00:00Z" } };
	size_t count = all.job.reading_count;
	MUST(store_job_add_reading(&all, &reading, &fault) && all.job.reading_count == count + 1);
	store_job_free(&swapped);
	store_job_free(&all);
	store_job_free(&theirs);
	store_job_free(&mine);
	store_job_free(&base);
	store_merged_free(&first);
}

/* --- the edits --- */

static void test_appended(void **state)
{
	(void)state;
	size_t conflicts = 0, moves = 0;
	for (uint32_t seed = 1; seed <= SEEDS; seed++) {
		struct list base = { .count = 0 }, mine, theirs;
		struct pm_arena arena;
		pm_arena_init(&arena);
		seed_state = seed * 2654435761u;
		dense = seed % 2;
		append(&base, below(8), 100);
		mine = theirs = base;
		append(&mine, below(8), 200);
		bool shared = below(3) == 0;
		append(&theirs, below(4), 300);
		for (size_t i = base.count; shared && i < mine.count && below(4); i++)
			theirs.entry[theirs.count++] = mine.entry[i];
		append(&theirs, below(5), 310);
		struct case_of c = { seed, text_of(&arena, &base, below(3)), text_of(&arena, &mine, below(3)), text_of(&arena, &theirs, below(3)) };
		check(&c, true, shared);
		struct store_merged merged;
		join(&c, c.mine, c.theirs, &merged);
		conflicts += merged.conflicts;
		moves += moved(&merged);
		store_merged_free(&merged);
		pm_arena_free(&arena);
	}
	/* the edits are of the kind that matters */
	assert_true(conflicts > SEEDS / 4);
	assert_true(moves > SEEDS / 50);
}

/* Entries taken out, put in the middle or swapped by hand, and entries that
 * came from the other side already. */
static void edit_by_hand(struct list *list, const struct list *from)
{
	for (unsigned edits = below(4); edits--;) {
		size_t at = list->count ? below((uint32_t)list->count) : 0;
		if (below(3) == 0 && list->count) {
			memmove(&list->entry[at], &list->entry[at + 1], (list->count - at - 1) * sizeof *list->entry);
			list->count--;
		} else if (below(2) == 0 && list->count > 1) {
			struct entry other = list->entry[at];
			list->entry[at] = list->entry[0];
			list->entry[0] = other;
		} else if (from->count && list->count < MOST) {
			const struct entry *entry = &from->entry[below((uint32_t)from->count)];
			bool there = false;
			for (size_t i = 0; i < list->count; i++)
				there = there || list->entry[i].who == entry->who;
			if (!there)
				list->entry[list->count++] = *entry;
		}
	}
}

static void test_by_hand(void **state)
{
	(void)state;
	for (uint32_t seed = 1; seed <= SEEDS; seed++) {
		struct list base = { .count = 0 }, mine, theirs;
		struct pm_arena arena;
		pm_arena_init(&arena);
		seed_state = seed * 2246822519u;
		dense = seed % 2;
		append(&base, below(6), 100);
		mine = theirs = base;
		append(&mine, below(6), 200);
		append(&theirs, below(6), 300);
		edit_by_hand(&mine, &theirs);
		edit_by_hand(&theirs, &mine);
		unsigned layout = below(3);
		/* and now and then without the common copy */
		struct case_of c = { seed, below(4) ? text_of(&arena, &base, below(3)) : "", text_of(&arena, &mine, layout),
		                     text_of(&arena, &theirs, below(3)) };
		check(&c, false, true);
		pm_arena_free(&arena);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_appended),
		cmocka_unit_test(test_by_hand),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
