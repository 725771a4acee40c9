#include "store/merge_parts.h"

#include <string.h>

enum { MERGE_ATTACHED, MERGE_READINGS, MERGE_WAIVERS };

/* What is united. Devices are told apart by more than these keys. */
static const struct merge_kind kinds[MERGE_LISTS] = {
	[MERGE_ATTACHED] = { "attached", { "kind", "name" }, false },
	[MERGE_READINGS] = { "readings", { "of", "value", "source", "by", "at", "capture", "note" }, true },
	[MERGE_WAIVERS] = { "waivers", { "phase", "gate", "condition", "by", "reason", "at", "note" }, true },
};

const char *store_clash_word(enum store_merge_clash clash)
{
	switch (clash) {
	case STORE_CLASH_HEAD: return "head";
	case STORE_CLASH_READING: return "reading";
	case STORE_CLASH_LAST: return "last-word";
	case STORE_CLASH_WITHDRAWN: return "withdrawn";
	case STORE_CLASH_DEVICE: return "device";
	}
	return "unknown";
}

const char *store_remark_word(enum store_merge_remark remark)
{
	switch (remark) {
	case STORE_REMARK_KEPT: return "kept";
	case STORE_REMARK_MOVED: return "moved";
	case STORE_REMARK_COMMENT: return "comment";
	}
	return "unknown";
}

static bool out_of_memory(const struct store_merge_input *mine, struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ mine->name, 0, 0 }, "out of memory");
}

/* --- what comes in --- */

/* Nothing that a document could be made of. */
static bool is_blank(const struct store_merge_input *input)
{
	for (size_t i = 0; i < input->length; i++)
		if (!pm_is_blank(input->text[i]) && input->text[i] != '\n' && input->text[i] != '\r')
			return false;
	return true;
}

/* A merge of the text that was left half done shows as lines that begin with
 * seven of these; nothing at the margin of a job file looks like that. */
static bool no_markers(const struct store_merge_input *input, struct pm_fault *fault)
{
	static const char marks[] = "<>=|";
	uint32_t line = 1;
	for (size_t at = 0; at < input->length; line++) {
		size_t end = at, run = 0;
		while (end < input->length && input->text[end] != '\n')
			end++;
		while (at + run < end && strchr(marks, input->text[at]) && input->text[at + run] == input->text[at])
			run++;
		char after = at + run < end ? input->text[at + run] : ' ';
		if (run == 7 && (pm_is_blank(after) || after == '\r')) {
			pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ input->name, line, 1 },
			        "a conflict marker, left by a merge of the text");
			return pm_fail_remedy(fault, "settle that merge by hand first");
		}
		at = end + 1;
	}
	return true;
}

static bool read_side(struct merge *m, enum merge_side side, const struct store_merge_input *input,
                      struct pm_fault *fault)
{
	struct merge_doc *doc = &m->doc[side];
	return no_markers(input, fault) &&
	       store_job_parse(input->text, input->length, input->name, &doc->job, fault) &&
	       store_tree_read(input->text, input->length, input->name, m->arena, &doc->tree, fault);
}

/* --- is it one site? --- */

/* Whoever only changed the head still has every reading of the base; another
 * site's file has not. */
static bool keeps_readings(struct merge *m, enum merge_side side, bool *keeps)
{
	struct merge_list list;
	*keeps = true;
	if (!merge_match(m, &kinds[MERGE_READINGS], &list))
		return false;
	for (uint32_t i = 0; i < list.count[MERGE_BASE]; i++)
		*keeps = *keeps && list.item[list.item_of[MERGE_BASE][i]].at[side] != MERGE_NOWHERE;
	return true;
}

/* Both must agree, unless the base shows that only one side has changed it. */
static bool agree(struct merge *m, const char *what, size_t offset, struct pm_fault *fault)
{
	struct pm_word word[MERGE_SIDES];
	char quoted[2][200];
	bool keeps = false;
	for (enum merge_side side = MERGE_BASE; side < MERGE_SIDES; side++)
		memcpy(&word[side], (const char *)&m->doc[side].job.job + offset, sizeof *word);
	const char *base = word[MERGE_BASE].text, *mine = word[MERGE_MINE].text, *theirs = word[MERGE_THEIRS].text;
	if (pm_same(mine, theirs))
		return true;
	if ((pm_same(base, mine) && !keeps_readings(m, MERGE_THEIRS, &keeps)) ||
	    (pm_same(base, theirs) && !keeps_readings(m, MERGE_MINE, &keeps)))
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ m->doc[MERGE_MINE].tree.file, 0, 0 },
		               "out of memory");
	if (keeps)
		return true;
	for (size_t i = 0; i < 2; i++) {
		struct pm_text text;
		pm_text_fixed(&text, quoted[i], sizeof quoted[i]);
		pm_text_quote(&text, i ? mine : theirs);
	}
	struct pm_place place = {
		m->doc[MERGE_THEIRS].tree.file, word[MERGE_THEIRS].line, word[MERGE_THEIRS].column };
	pm_fail(fault, PM_FAULT_VALUE, place,
	        "%s %s here, %s in line %u of MINE: not two copies of one job", what, quoted[0], quoted[1],
	        word[MERGE_MINE].line);
	return pm_fail_remedy(fault, "merge copies of one site's job only");
}

static bool one_job(struct merge *m, struct pm_fault *fault)
{
	return agree(m, "site code", offsetof(struct pm_job, code), fault) &&
	       agree(m, "plan", offsetof(struct pm_job, plan), fault) &&
	       agree(m, "gear", offsetof(struct pm_job, gear), fault);
}

/* --- the lists --- */

/* Keys of one entry that do not tell it apart are merged as the head is. */
static void merge_entries(struct merge *m, const struct merge_list *list)
{
	for (uint32_t i = 0; i < list->ordered; i++) {
		const uint32_t *at = list->item[list->order[i]].at;
		if (at[MERGE_MINE] == MERGE_NOWHERE || at[MERGE_THEIRS] == MERGE_NOWHERE)
			continue;
		const struct store_node *base =
			at[MERGE_BASE] == MERGE_NOWHERE ? NULL : list->entry[MERGE_BASE][at[MERGE_BASE]];
		struct store_node *mine = list->entry[MERGE_MINE][at[MERGE_MINE]];
		const char *name = merge_text_of(mine, list->kind->name[list->kind->whole ? 0 : 1]);
		const char *path = pm_say(m->arena, "%s.%s", list->kind->key, name);
		merge_map(m, path ? path : list->kind->key, base, mine, list->entry[MERGE_THEIRS][at[MERGE_THEIRS]], NULL, 0);
	}
}

static bool merge_one_list(struct merge *m, const struct merge_kind *kind)
{
	struct merge_list *list = pm_arena_alloc(m->arena, sizeof *list);
	bool readings = kind == &kinds[MERGE_READINGS];
	if (!list || !merge_match(m, kind, list) || (readings && !merge_mark_readings(m, list)))
		return false;
	if (kind == &kinds[MERGE_WAIVERS])
		merge_mark_waivers(m, list);
	if (!merge_order(m, list) || (readings && !merge_tell_readings(m, list)))
		return false;
	merge_tell_gone(m, list);
	merge_entries(m, list);
	return merge_place(m, list);
}

/* --- the whole --- */

/* Forget what an earlier try came to. */
static void begin(struct merge *m)
{
	struct store_merged *out = m->out;
	out->text = NULL;
	out->length = out->taken = out->conflicts = out->notes = 0;
	m->edits = m->regions = 0;
	m->no_place = false;
	pm_text_grow(&m->tail, m->arena);
}

/* One try. The result is read again and must say exactly what was meant. */
static bool try_merge(struct merge *m, const struct store_merge_input *mine, bool *said, struct pm_fault *fault)
{
	struct store_merged *out = m->out;
	struct store_tree *tree = &m->doc[MERGE_MINE].tree, result;
	struct store_job job;
	struct pm_fault why = { 0 };
	*said = false;
	begin(m);
	/* the tree of an earlier try is not what the file says any more */
	if (!store_tree_read(mine->text, mine->length, mine->name, m->arena, tree, fault))
		return false;
	m->line_break = store_splice_break(tree);
	merge_map(m, "", m->with_base ? m->doc[MERGE_BASE].tree.root : NULL, tree->root,
	          m->doc[MERGE_THEIRS].tree.root, kinds, MERGE_LISTS);
	for (size_t i = 0; i < MERGE_LISTS; i++)
		if (!merge_one_list(m, &kinds[i]))
			return out_of_memory(mine, fault);
	out->text = merge_compose(m, &out->length);
	if (!out->text)
		return out_of_memory(mine, fault);
	*said = !m->no_place && store_tree_read(out->text, out->length, mine->name, m->arena, &result, &why) &&
	        store_tree_same(tree->root, result.root);
	if (!*said && why.kind != PM_FAULT_LIMIT && why.kind != PM_FAULT_MEMORY)
		return true;
	if (why.kind == PM_FAULT_NONE && store_job_parse(out->text, out->length, mine->name, &job, &why)) {
		store_job_free(&job);
		return (merge_tell_comments(m, &result) && !m->arena->failed) || out_of_memory(mine, fault);
	}
	if (fault)
		*fault = why;
	return false;
}

static bool run(struct merge *m, const struct store_merge_input *const input[MERGE_SIDES],
                struct pm_fault *fault)
{
	bool said = false;
	m->with_base = !is_blank(input[MERGE_BASE]);
	for (enum merge_side side = m->with_base ? MERGE_BASE : MERGE_MINE; side < MERGE_SIDES; side++)
		if (!read_side(m, side, input[side], fault))
			return false;
	if (!one_job(m, fault))
		return false;
	for (int i = 0; i < 2 && !said; i++) {
		m->plain = i > 0;
		if (!try_merge(m, input[MERGE_MINE], &said, fault))
			return false;
	}
	if (said)
		return true;
	pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ input[MERGE_MINE]->name, 0, 0 },
	        "this file's layout has no safe place for the change");
	return pm_fail_remedy(fault, "write its lists and mappings one key a line, then merge again");
}

bool store_merge(const struct store_merge_input *base, const struct store_merge_input *mine,
                 const struct store_merge_input *theirs, struct store_merged *merged, struct pm_fault *fault)
{
	const struct store_merge_input *const input[MERGE_SIDES] = { base, mine, theirs };
	*merged = (struct store_merged){ 0 };
	pm_arena_init(&merged->arena);
	struct merge m = { .arena = &merged->arena, .out = merged };
	bool good = run(&m, input, fault);
	for (enum merge_side side = MERGE_BASE; side < MERGE_SIDES; side++)
		store_job_free(&m.doc[side].job);
	if (!good)
		store_merged_free(merged);
	return good;
}

void store_merged_free(struct store_merged *merged)
{
	pm_arena_free(&merged->arena);
	*merged = (struct store_merged){ 0 };
}
