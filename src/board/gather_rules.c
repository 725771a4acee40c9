/* What holds in which folder. A job's options are those of the nearest
 * STORE_FLEET_FILE: in its own folder, or in one above it up to a folder that was
 * given; of folders given that lie within each other, up to the outermost. So it does
 * not matter in which order they were given. */
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "board/gather_parts.h"
#include "portmuster/text.h"
#include "store/path.h"

#define HASH_START 14695981039346656037u   /* FNV-1a, 64 bits */

/* What was asked for: files given one by one are all the same. */
struct asked {
	const char *path;
	size_t length;
	uint32_t folder;
	bool named;
};

static uint32_t number_of(const struct asked *asked)
{
	return asked->named ? UINT32_MAX : asked->folder;
}

static size_t slot_of(const struct asked *asked)
{
	uint64_t hash = HASH_START ^ number_of(asked);
	for (size_t i = 0; i < asked->length; i++)
		hash = (hash ^ (unsigned char)asked->path[i]) * 1099511628211u;
	return (size_t)(hash ^ hash >> 32) % GATHER_FOLDERS;
}

static bool is_at(const struct gather_rules_at *at, const struct asked *asked)
{
	return at->folder == number_of(asked) && !strncmp(at->path, asked->path, asked->length) && !at->path[asked->length];
}

/* --- files --- */

/* The same file, reached in two ways. */
static uint32_t known(const struct gather_rules *rules, const struct kept_key *key)
{
	for (size_t i = 0; i < rules->count; i++)
		if (rules->rule[i].key.inode == key->inode && rules->rule[i].key.device == key->device)
			return (uint32_t)i + 1;
	return 0;
}

/* Load one; 0 when memory ran out. */
static uint32_t load(struct gather *gather, const char *path, uint32_t folder, const struct kept_key *key)
{
	struct gather_rules *rules = &gather->rules;
	void *items = rules->rule, *copies = rules->options;
	const char *kept = pm_arena_copy(&rules->arena, path, strlen(path));
	struct gather_rule *rule = kept ? pm_arena_push(&rules->arena, &items, &rules->count, &rules->room, sizeof *rule) : NULL;
	rules->rule = items;
	if (!rule)
		return 0;
	*rule = (struct gather_rule){ .path = kept, .key = *key, .folder = folder };
	rule->bad = !store_fleet_load(path, &rule->options, &rule->fault);
	if (rule->bad)
		pm_fleet_defaults(&rule->options.options);
	rules->lost = rules->lost || (rule->bad && rule->fault.kind == PM_FAULT_MEMORY);
	struct pm_fleet_options *options = pm_arena_push(&rules->arena, &copies, &rules->options_count, &rules->options_room,
	                                                 sizeof *options);
	rules->options = copies;
	if (!options) {
		store_fleet_free(&rule->options);
		rules->count--;
		return 0;
	}
	*options = rule->options.options;
	options->partial = true;
	if (gather->has_deadline) {
		options->has_deadline = true;
		options->deadline_day = gather->deadline_day;
	}
	gather->fleet.folder = rules->options;
	gather->fleet.folder_count = rules->options_count;
	return (uint32_t)rules->count;
}

/* --- folders --- */

/* Without the slashes at its end. */
static size_t bare_length(const char *path)
{
	size_t length = strlen(path);
	while (length > 1 && path[length - 1] == '/')
		length--;
	return length;
}

static bool base_of(const struct gather *gather, uint32_t folder, bool named, char out[static STORE_PATH_ROOM])
{
	const char *given = gather->folder[folder];
	struct pm_text text;
	if (named)
		return store_path_folder(given, out, STORE_PATH_ROOM);
	pm_text_fixed(&text, out, STORE_PATH_ROOM);
	pm_text_put(&text, given, bare_length(given));
	return !text.cut;
}

/* The folder around one that was given, inside another one that was. */
static bool outside(const struct gather *gather, const char *base, struct asked *up, char out[static STORE_PATH_ROOM])
{
	const char *const *given = gather->rules.real;
	char *real = gather->folder_count > 1 ? realpath(base, NULL) : NULL;
	size_t best = 0;
	struct pm_text text;
	for (size_t i = 0; real && given && i < gather->folder_count; i++) {
		size_t length = given[i] ? strlen(given[i]) : 0;
		if (length > best && strlen(real) > length && !strncmp(real, given[i], length) && (length == 1 || real[length] == '/'))
			best = length, up->folder = (uint32_t)i;
	}
	pm_text_fixed(&text, out, STORE_PATH_ROOM);
	if (best) {
		size_t above = (size_t)(strrchr(real, '/') - real);
		pm_text_put(&text, gather->folder[up->folder], bare_length(gather->folder[up->folder]));
		if (above > best)
			pm_text_put(&text, real + best, above - best);
	}
	free(real);
	up->named = false;
	return best && !text.cut;
}

/* The next folder up whose options would hold. */
static bool above(const struct gather *gather, const char *path, struct asked *up, char out[static STORE_PATH_ROOM])
{
	char base[STORE_PATH_ROOM];
	if (!base_of(gather, up->folder, up->named, base))
		return false;
	bool inside = !up->named && (strlen(path) > strlen(base) || (pm_same(base, ".") && !pm_same(path, base)));
	if (inside ? !store_path_folder(path, out, STORE_PATH_ROOM) : !outside(gather, path, up, out))
		return false;
	up->path = out;
	up->length = strlen(out);
	return true;
}

/* Null when memory ran out. */
static const struct gather_rules_at *look_into(struct gather *gather, const struct asked *asked)
{
	struct gather_rules *rules = &gather->rules;
	size_t slot = slot_of(asked);
	for (const struct gather_rules_at *at = rules->by_path[slot]; at; at = at->next)
		if (is_at(at, asked))
			return at;
	struct gather_rules_at *at = pm_arena_alloc(&rules->arena, sizeof *at);
	const char *kept = at ? pm_arena_copy(&rules->arena, asked->path, asked->length) : NULL;
	char file[STORE_PATH_ROOM], higher[STORE_PATH_ROOM];
	struct asked up = *asked;
	if (!kept)
		return NULL;
	*at = (struct gather_rules_at){ .path = kept, .folder = number_of(asked) };
	if (store_path_join(kept, STORE_FLEET_FILE, file, sizeof file))
		kept_look(file, &at->key);
	if (at->key.inode) {
		at->rule = known(rules, &at->key);
		if (!at->rule && !(at->rule = load(gather, file, asked->folder, &at->key)))
			return NULL;
		/* a folder that is searched is in the fleet with all its jobs */
		if (!asked->named)
			rules->options[at->rule - 1].partial = false;
	} else if (above(gather, kept, &up, higher)) {
		const struct gather_rules_at *there = look_into(gather, &up);
		if (!there)
			return NULL;
		at->rule = there->rule;
	}
	at->next = rules->by_path[slot];
	return rules->by_path[slot] = at;
}

uint32_t gather_rules_of(struct gather *gather, const struct gather_item *item)
{
	struct gather_rules *rules = &gather->rules;
	struct asked asked = { item->path, (size_t)(store_path_name(item->path) - item->path), item->folder, item->named };
	while (asked.length > 1 && asked.path[asked.length - 1] == '/')
		asked.length--;
	if (!asked.length)
		asked.path = ".", asked.length = 1;
	if (!rules->last || !is_at(rules->last, &asked))
		rules->last = look_into(gather, &asked);
	if (!rules->last)
		gather->lost = rules->lost = true;
	return rules->last ? rules->last->rule : 0;
}

/* --- all of them --- */

void gather_rules_begin(struct gather *gather)
{
	struct gather_rules *rules = &gather->rules;
	char base[STORE_PATH_ROOM];
	gather_rules_free(gather);
	pm_fleet_defaults(&gather->fleet.options);
	gather->fleet.options.has_deadline = gather->has_deadline;
	gather->fleet.options.deadline_day = gather->deadline_day;
	rules->real = pm_arena_array(&rules->arena, gather->folder_count, sizeof *rules->real);
	for (size_t i = 0; i < gather->folder_count; i++) {
		struct stat about;
		bool there = stat(gather->folder[i], &about) == 0, named = there && !S_ISDIR(about.st_mode);
		char *real = there && !named && gather->folder_count > 1 ? realpath(gather->folder[i], NULL) : NULL;
		if (real && rules->real)
			rules->real[i] = pm_arena_copy(&rules->arena, real, strlen(real));
		free(real);
	}
	for (size_t i = 0; i < gather->folder_count; i++) {
		struct stat about;
		bool named = stat(gather->folder[i], &about) == 0 && !S_ISDIR(about.st_mode);
		struct asked asked = { base, 0, (uint32_t)i, named };
		if (!base_of(gather, (uint32_t)i, named, base))
			continue;
		asked.length = strlen(base);
		if (!look_into(gather, &asked))
			gather->lost = rules->lost = true;
	}
}

void gather_rules_free(struct gather *gather)
{
	struct gather_rules *rules = &gather->rules;
	for (size_t i = 0; i < rules->count; i++)
		store_fleet_free(&rules->rule[i].options);
	pm_arena_free(&rules->arena);
	*rules = (struct gather_rules){ 0 };
	gather->fleet.folder = NULL;
	gather->fleet.folder_count = 0;
}

bool gather_rules_changed(const struct gather *gather)
{
	const struct gather_rules *rules = &gather->rules;
	for (size_t i = 0; i < GATHER_FOLDERS; i++)
		for (const struct gather_rules_at *at = rules->by_path[i]; at; at = at->next) {
			char file[STORE_PATH_ROOM];
			struct kept_key key = { 0 };
			if (store_path_join(at->path, STORE_FLEET_FILE, file, sizeof file))
				kept_look(file, &key);
			if (!kept_same(&key, &at->key))
				return true;
		}
	return rules->lost || rules->arena.failed;
}

bool gather_rules_bad(struct gather *gather, bool all, gather_take *take, void *context)
{
	struct gather_rules *rules = &gather->rules;
	for (size_t i = 0; i < rules->count; i++) {
		struct gather_rule *rule = &rules->rule[i];
		if (!rule->bad || (!all && rule->told))
			continue;
		if (!take(context, &(struct gather_found){ .folder = rule->folder, .path = rule->path, .fault = &rule->fault }))
			return false;
		rule->told = true;
	}
	return true;
}
