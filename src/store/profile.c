/* Plans and gear profiles: documents that are loaded and never changed. */
#include <string.h>

#include "portmuster/seal.h"
#include "store/bind.h"
#include "store/document.h"
#include "store/kept.h"
#include "store/save.h"

static bool out_of_memory(const char *path, struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ path, 0, 0 }, "out of memory");
}

/* A document that is only ever loaded: how it is bound, and its members that
 * stand in no table. */
struct loading {
	const struct store_table *table;
	void *base;
	size_t size;
	struct pm_arena *arena;
	const char **file, **digest;
	struct store_source *source;
};

static bool load_kept(const struct loading *l, const struct kept_key *key, const char *file)
{
	char hex[65];
	if (!kept_load(key, l->table, l->base, l->size, l->arena, hex))
		return false;
	*l->file = file;
	*l->digest = pm_arena_copy(l->arena, hex, 64);
	return *l->digest != NULL;
}

static bool load_text(const struct loading *l, const char *path, struct pm_fault *fault)
{
	struct store_tree tree;
	return store_read_file(path, STORE_MOST_BYTES, l->arena, &l->source->text, &l->source->length, fault) &&
	       store_tree_read(l->source->text, l->source->length, *l->file, l->arena, &tree, fault) &&
	       store_bind(&tree, l->table, l->base, l->arena, fault);
}

static const char *digest_of(const struct store_source *source, struct pm_arena *arena)
{
	char hex[65];
	pm_sha256_hex(source->text, source->length, hex);
	return pm_arena_copy(arena, hex, 64);
}

/* `valid` is asked of either form. What was parsed is kept for the next time,
 * when the file is still the one that was read. */
static bool load(const struct loading *l, const char *path, bool (*valid)(const struct loading *, struct pm_fault *),
                 struct pm_fault *fault)
{
	struct kept_key before, after;
	pm_arena_init(l->arena);
	const char *file = *l->file = pm_arena_copy(l->arena, path, strlen(path));
	if (!file)
		return out_of_memory(path, fault);
	bool keyed = kept_key(path, &before);
	const char *empty = keyed ? pm_arena_copy(l->arena, l->base, l->size) : NULL;
	if (empty && load_kept(l, &before, file)) {
		if (valid(l, NULL))
			return true;
		memcpy(l->base, empty, l->size);
		*l->file = file;
	}
	if (!load_text(l, path, fault) || !valid(l, fault))
		return false;
	if (keyed && kept_key(path, &after) && kept_same(&before, &after)) {
		*l->digest = digest_of(l->source, l->arena);
		kept_save(&before, l->table, l->base, l->size, *l->digest);
	}
	return true;
}

static bool plan_valid(const struct loading *l, struct pm_fault *fault)
{
	return pm_plan_valid(l->base, fault);
}

static bool gear_valid(const struct loading *l, struct pm_fault *fault)
{
	return pm_gear_valid(l->base, fault);
}

const char *store_plan_digest(struct store_plan *plan)
{
	if (!plan->plan.digest)
		plan->plan.digest = digest_of(&plan->source, &plan->arena);
	return plan->plan.digest;
}

const char *store_gear_digest(struct store_gear *gear)
{
	if (!gear->gear.digest)
		gear->gear.digest = digest_of(&gear->source, &gear->arena);
	return gear->gear.digest;
}

bool store_plan_load(const char *path, struct store_plan *plan, struct pm_fault *fault)
{
	*plan = (struct store_plan){ 0 };
	const struct loading l = {
		&store_plan_table, &plan->plan, sizeof plan->plan, &plan->arena,
		&plan->plan.file, &plan->plan.digest, &plan->source,
	};
	bool good = load(&l, path, plan_valid, fault);
	if (!good)
		store_plan_free(plan);
	return good;
}

void store_plan_free(struct store_plan *plan)
{
	pm_arena_free(&plan->arena);
	*plan = (struct store_plan){ 0 };
}

bool store_gear_load(const char *path, struct store_gear *gear, struct pm_fault *fault)
{
	*gear = (struct store_gear){ 0 };
	gear->gear.console.speed = 9600;
	gear->gear.console.framing.text = "8N1";
	const struct loading l = {
		&store_gear_table, &gear->gear, sizeof gear->gear, &gear->arena,
		&gear->gear.file, &gear->gear.digest, &gear->source,
	};
	bool good = load(&l, path, gear_valid, fault);
	if (!good)
		store_gear_free(gear);
	return good;
}

void store_gear_free(struct store_gear *gear)
{
	pm_arena_free(&gear->arena);
	*gear = (struct store_gear){ 0 };
}
