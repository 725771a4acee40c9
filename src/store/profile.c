/* Plans, gear profiles and sheet layouts: documents that are loaded and never changed. */
#include <regex.h>
#include <string.h>

#include "portmuster/seal.h"
#include "portmuster/text.h"
#include "store/bind.h"
#include "store/document.h"
#include "store/find.h"
#include "store/kept.h"
#include "store/path.h"
#include "store/save.h"

#define MOST_REPEATS 1000   /* the counts of one expression, multiplied */

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
	struct pm_stray_keys *strays;
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
	       store_bind(&tree, l->table, l->base, l->strays, l->arena, fault);
}

static const char *digest_of(const struct store_source *source, struct pm_arena *arena)
{
	char hex[65];
	pm_sha256_hex(source->text, source->length, hex);
	return pm_arena_copy(arena, hex, 64);
}

/* `valid` is asked of either form. What was parsed is kept for the next time,
 * when the file is still the one that was read and every key of it was. */
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
	if (keyed && !l->strays->count && kept_key(path, &after) && kept_same(&before, &after)) {
		*l->digest = digest_of(l->source, l->arena);
		kept_save(&before, l->table, l->base, l->size, *l->digest);
	}
	return true;
}

static bool plan_valid(const struct loading *l, struct pm_fault *fault)
{
	return pm_plan_valid(l->base, fault);
}

/* What would make an expression take all memory or for ever, or null. Nested counts
 * multiply, and a back-reference (which POSIX does not have here) is searched for
 * by trying everything. */
static const char *costly(const char *expression)
{
	uint64_t product = 1;
	for (const char *at = expression; *at; at++) {
		if (*at == '\\' && at[1]) {
			at++;
			if (*at >= '1' && *at <= '9')
				return "has a back-reference";
		} else if (*at == '{') {
			uint64_t count = 0, most = 1;
			for (at++; *at && *at != '}'; at++) {
				count = !pm_is_digit(*at) ? 0 : count > MOST_REPEATS ? count : count * 10 + (uint64_t)(*at - '0');
				most = count > most ? count : most;
			}
			product *= most;
			if (product > MOST_REPEATS)
				return "repeats too often";
			if (!*at)
				break;
		}
	}
	return NULL;
}

/* An expression compiles, and has the group whose text is wanted. */
static bool expression_valid(const char *file, const char *key, struct pm_word word, const char *group,
                             struct pm_fault *fault)
{
	char quoted[160], reason[100];
	struct pm_place place = { file, word.line, word.column };
	struct pm_text text;
	regex_t compiled;
	if (!pm_given(word))
		return true;
	const char *cost = costly(word.text);
	if (cost) {
		pm_text_fixed(&text, quoted, sizeof quoted);
		pm_text_quote(&text, word.text);
		pm_fail(fault, PM_FAULT_VALUE, place, "%s %s %s", key, quoted, cost);
		return pm_fail_remedy(fault, "write it without back-references, and its counts so that they multiply to %d at most", MOST_REPEATS);
	}
	int error = regcomp(&compiled, word.text, REG_EXTENDED);
	bool grouped = !error && (!group || compiled.re_nsub > 0);
	if (error)
		regerror(error, &compiled, reason, sizeof reason);
	else
		regfree(&compiled);
	if (grouped)
		return true;
	if (error == REG_ESPACE)
		return pm_fail(fault, PM_FAULT_MEMORY, place, "out of memory");
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, word.text);
	if (error)
		return pm_fail(fault, PM_FAULT_VALUE, place, "%s %s is no POSIX extended regular expression: %s", key, quoted, reason);
	pm_fail(fault, PM_FAULT_VALUE, place, "%s %s has no group", key, quoted);
	return pm_fail_remedy(fault, "put round brackets around what stands for %s", group);
}

static bool gear_valid(const struct loading *l, struct pm_fault *fault)
{
	const struct pm_gear *gear = l->base;
	const struct pm_console *console = &gear->console;
	const char *file = gear->file;
	return pm_gear_valid(gear, fault) && expression_valid(file, "prompt", console->prompt, NULL, fault)
		&& expression_valid(file, "interface-line", console->interface_line, "the name", fault)
		&& expression_valid(file, "address-line", console->address_line, "the address", fault)
		&& expression_valid(file, "serial-line", console->serial_line, "the serial number", fault);
}

static bool layout_valid(const struct loading *l, struct pm_fault *fault)
{
	return pm_layout_valid(l->base, fault);
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

const char *store_layout_digest(struct store_layout *layout)
{
	if (!layout->layout.digest)
		layout->layout.digest = digest_of(&layout->source, &layout->arena);
	return layout->layout.digest;
}

bool store_plan_load(const char *path, struct store_plan *plan, struct pm_fault *fault)
{
	*plan = (struct store_plan){ 0 };
	const struct loading l = {
		&store_plan_table, &plan->plan, sizeof plan->plan, &plan->arena,
		&plan->plan.file, &plan->plan.digest, &plan->source, &plan->plan.strays,
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
		&gear->gear.file, &gear->gear.digest, &gear->source, &gear->gear.strays,
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

bool store_layout_load(const char *path, struct store_layout *layout, struct pm_fault *fault)
{
	*layout = (struct store_layout){ 0 };
	layout->layout.apostrophe = true;
	const struct loading l = {
		&store_layout_table, &layout->layout, sizeof layout->layout, &layout->arena,
		&layout->layout.file, &layout->layout.digest, &layout->source, &layout->layout.strays,
	};
	bool good = load(&l, path, layout_valid, fault);
	if (!good)
		store_layout_free(layout);
	return good;
}

void store_layout_free(struct store_layout *layout)
{
	pm_arena_free(&layout->arena);
	*layout = (struct store_layout){ 0 };
}

void store_layout_now(const struct pm_job *job, char digest[static 65])
{
	struct pm_arena arena;
	struct pm_fault none;
	char path[STORE_PATH_ROOM], *text;
	size_t length;
	digest[0] = '\0';
	if (!pm_given(job->layout) || !pm_given(job->layout_digest) ||
	    !store_find(STORE_SHEET, job->layout.text, job->file, path, sizeof path, &none))
		return;
	pm_arena_init(&arena);
	if (store_read_file(path, STORE_MOST_BYTES, &arena, &text, &length, &none))
		pm_sha256_hex(text, length, digest);
	pm_arena_free(&arena);
}
