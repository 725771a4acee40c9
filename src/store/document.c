#include "store/document.h"

#include <string.h>

#include "portmuster/fact.h"
#include "portmuster/seal.h"
#include "portmuster/text.h"
#include "store/bind.h"
#include "store/save.h"
#include "store/splice.h"

static struct pm_place file_place(const char *path)
{
	return (struct pm_place){ path, 0, 0 };
}

static bool out_of_memory(const char *path, struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, file_place(path), "out of memory");
}

/* --- jobs: loading --- */

/* Bind text that is in the job's arena already. */
static bool bind_job(struct store_job *job, struct store_tree *tree, struct pm_fault *fault)
{
	if (!store_tree_read(job->text, job->length, job->path, &job->arena, tree, fault) ||
	    !store_bind(tree, &store_job_table, &job->job, &job->job.strays, &job->arena, fault))
		return false;
	job->job.file = job->path;
	if (job->job.reading_count > STORE_MOST_READINGS) {
		pm_fail(fault, PM_FAULT_LIMIT, file_place(job->path), "more than %u readings", STORE_MOST_READINGS);
		return pm_fail_remedy(fault, "no site needs so many; look for what wrote them");
	}
	return pm_fact_index(&job->job, &job->arena) || out_of_memory(job->path, fault);
}

static bool parse_job(const char *text, size_t length, const char *path,
                      struct store_job *job, struct store_tree *tree, struct pm_fault *fault)
{
	*job = (struct store_job){ 0 };
	pm_arena_init(&job->arena);
	job->path = pm_arena_copy(&job->arena, path, strlen(path));
	job->text = pm_arena_copy(&job->arena, text, length);
	job->length = length;
	bool good = job->path && job->text ? bind_job(job, tree, fault) : out_of_memory(path, fault);
	if (!good)
		store_job_free(job);
	return good;
}

bool store_job_parse(const char *text, size_t length, const char *path,
                     struct store_job *job, struct pm_fault *fault)
{
	struct store_tree tree;
	return parse_job(text, length, path, job, &tree, fault);
}

bool store_job_load_over(const char *path, struct store_job *job, struct pm_fault *fault)
{
	struct store_tree tree;
	struct pm_arena arena = job->arena;
	pm_arena_clear(&arena);
	*job = (struct store_job){ .arena = arena };
	job->path = pm_arena_copy(&job->arena, path, strlen(path));
	job->from_disk = job->path ? store_read_file(path, STORE_MOST_BYTES, &job->arena, &job->text, &job->length, fault) &&
	                             bind_job(job, &tree, fault)
	                           : out_of_memory(path, fault);
	return job->from_disk;
}

bool store_job_load(const char *path, struct store_job *job, struct pm_fault *fault)
{
	*job = (struct store_job){ 0 };
	bool good = store_job_load_over(path, job, fault);
	if (!good)
		store_job_free(job);
	return good;
}

void store_job_free(struct store_job *job)
{
	pm_arena_free(&job->arena);
	*job = (struct store_job){ 0 };
}

bool store_no_job(const char *text, size_t length, const char *path, struct pm_arena *arena, struct pm_fault *fault)
{
	struct store_tree tree;
	return store_tree_read(text, length, path, arena, &tree, fault) && tree.root->kind == STORE_NODE_MAP && tree.root->count &&
	       !store_tree_value(tree.root, "site", 4) && !store_tree_value(tree.root, "readings", 8);
}

void store_job_digest(const struct store_job *job, char digest[static 65])
{
	memcpy(digest, job->disk_digest, sizeof job->disk_digest);
	/* no digest yet means no edit yet: the text is still the one on disk */
	if (job->from_disk && !job->disk_digest[0])
		pm_sha256_hex(job->text, job->length, digest);
}

/* --- jobs: editing --- */

/* Room for the making of one edit. */
struct draft {
	struct pm_arena arena;
	struct store_tree tree;    /* of the present text, then as it is expected to be */
	char *text;
	size_t length;
};

static bool draft_begin(struct draft *draft, const struct store_job *job, struct pm_fault *fault)
{
	*draft = (struct draft){ 0 };
	pm_arena_init(&draft->arena);
	return store_tree_read(job->text, job->length, job->path, &draft->arena, &draft->tree, fault);
}

static bool has_no_place(const struct store_job *job, struct pm_fault *fault)
{
	pm_fail(fault, PM_FAULT_SYNTAX, file_place(job->path), "this file's layout has no safe place for the change");
	return pm_fail_remedy(fault, "write its lists and mappings one key a line, then try again");
}

/* Read the draft's text; it takes the job's place when it says exactly what
 * was expected. */
static bool draft_take(struct draft *draft, struct store_job *job, struct pm_fault *fault)
{
	struct store_job fresh;
	struct store_tree tree;
	if (draft->arena.failed)
		return out_of_memory(job->path, fault);
	if (!draft->text)
		return has_no_place(job, fault);
	if (draft->length > STORE_MOST_BYTES)
		return pm_fail(fault, PM_FAULT_LIMIT, file_place(job->path), "would grow beyond %u bytes", STORE_MOST_BYTES);
	struct pm_fault why = { 0 };
	if (!parse_job(draft->text, draft->length, job->path, &fresh, &tree, &why)) {
		/* A value may be refused; broken YAML is the edit's doing. */
		if (why.kind == PM_FAULT_SYNTAX)
			return has_no_place(job, fault);
		if (fault)
			*fault = why;
		return false;
	}
	if (!store_tree_same(draft->tree.root, tree.root)) {
		store_job_free(&fresh);
		return has_no_place(job, fault);
	}
	store_job_digest(job, fresh.disk_digest);
	fresh.from_disk = job->from_disk;
	pm_arena_free(&job->arena);
	*job = fresh;
	return true;
}

static bool value_allowed(const struct store_job *job, const char *key, const char *value, struct pm_fault *fault)
{
	const char *problem = store_value_problem(value);
	char quoted[280];
	struct pm_text text;
	if (!problem)
		return true;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, value);
	pm_fail(fault, PM_FAULT_VALUE, file_place(job->path), "%s in %s %s", problem, key, quoted);
	return pm_fail_remedy(fault, "enter it without");
}

static bool add_entry(struct store_job *job, const char *list, const struct store_table *table,
                      const void *entry, struct pm_fault *fault)
{
	struct draft draft;
	struct store_pair pairs[STORE_MOST_PAIRS];
	size_t count;
	bool good = draft_begin(&draft, job, fault) &&
	            store_pairs(table, entry, &draft.arena, pairs, &count, job->path, fault);
	for (size_t i = 0; good && i < count; i++)
		good = value_allowed(job, pairs[i].key, pairs[i].value, fault);
	if (good) {
		draft.text = store_splice_append(&draft.tree, list, pairs, count, &draft.arena, &draft.length);
		good = store_expect_append(&draft.tree, list, pairs, count, &draft.arena) ? draft_take(&draft, job, fault)
		                                                                          : out_of_memory(job->path, fault);
	}
	pm_arena_free(&draft.arena);
	return good;
}

bool store_job_add_reading(struct store_job *job, const struct pm_reading *reading, struct pm_fault *fault)
{
	return add_entry(job, "readings", &store_reading_table, reading, fault);
}

bool store_job_add_waiver(struct store_job *job, const struct pm_waiver *waiver, struct pm_fault *fault)
{
	return add_entry(job, "waivers", &store_waiver_table, waiver, fault);
}

/* The names that a dotted key is made of; null outer for a plain one. Null
 * when the job has no such text. */
static const struct store_field *field_of(const char *dotted, const char **outer)
{
	const char *dot = strchr(dotted, '.');
	const struct store_table *table = &store_job_table;
	*outer = NULL;
	if (dot) {
		const struct store_field *mapping = store_field_find(table, dotted, (size_t)(dot - dotted));
		if (!mapping || mapping->holds != STORE_MAPPING)
			return NULL;
		*outer = mapping->key;
		table = mapping->table;
		dotted = dot + 1;
	}
	const struct store_field *field = store_field_find(table, dotted, strlen(dotted));
	if (!field || field->holds == STORE_MAPPING || field->holds == STORE_MAPPINGS || field->holds == STORE_TEXTS)
		return NULL;
	return field;
}

bool store_job_set(struct store_job *job, const char *key, const char *value, struct pm_fault *fault)
{
	const char *outer;
	const struct store_field *field = field_of(key, &outer);
	if (!field)
		return pm_fail(fault, PM_FAULT_USAGE, file_place(job->path), "a job has no text called %s", key);
	struct draft draft;
	bool good = value_allowed(job, key, value, fault) && draft_begin(&draft, job, fault);
	if (!good)
		return false;
	draft.text = store_splice_set(&draft.tree, outer, field->key, value, &draft.arena, &draft.length);
	if (store_expect_set(&draft.tree, outer, field->key, value, &draft.arena) || draft.arena.failed)
		good = draft_take(&draft, job, fault);
	else
		good = has_no_place(job, fault);
	pm_arena_free(&draft.arena);
	return good;
}

/* --- jobs: a new one --- */

static bool put_mapping(struct pm_text *out, const struct store_table *table, const void *base,
                        const char *indent, struct pm_arena *arena, size_t *count)
{
	struct store_pair pairs[STORE_MOST_PAIRS];
	if (!store_pairs(table, base, arena, pairs, count, NULL, NULL))
		return false;
	for (size_t i = 0; i < *count; i++) {
		if (store_value_problem(pairs[i].value))
			return false;
		pm_text_add(out, "%s%s: ", indent, pairs[i].key);
		if (pm_same(pairs[i].key, "format"))
			pm_text_str(out, pairs[i].value);
		else
			store_put_quoted(out, pairs[i].value);
		pm_text_char(out, '\n');
	}
	return true;
}

char *store_job_compose(const struct pm_job *head, struct pm_arena *arena, size_t *length)
{
	struct pm_job copy = *head;
	struct pm_text out, inner;
	size_t count;
	if (copy.format == 0)
		copy.format = STORE_FORMAT;
	pm_text_grow(&out, arena);
	pm_text_str(&out, "# one site's router swap; readings are added below and never taken out\n");
	if (!put_mapping(&out, &store_job_table, &copy, "", arena, &count))
		return NULL;
	for (size_t i = 0; i < store_job_table.count; i++) {
		const struct store_field *field = &store_job_table.fields[i];
		const char *base = (const char *)&copy;
		if (field->holds != STORE_MAPPING)
			continue;
		if (field->also != STORE_NOWHERE && !*(const bool *)(const void *)(base + field->also))
			continue;
		pm_text_grow(&inner, arena);
		if (!put_mapping(&inner, field->table, base + field->offset, "  ", arena, &count))
			return NULL;
		pm_text_add(&out, "%s:%s%s", field->key, count ? "\n" : " {}\n", inner.data);
	}
	*length = out.length;
	return arena->failed ? NULL : out.data;
}
