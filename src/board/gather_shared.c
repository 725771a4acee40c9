/* Plans, gear profiles and layouts: each found once for every folder that asks, and
 * loaded once however many folders find it. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "board/gather_parts.h"
#include "portmuster/seal.h"
#include "portmuster/text.h"
#include "store/path.h"
#include "store/save.h"

#define HASH_START 14695981039346656037u   /* FNV-1a, 64 bits */
#define FAULTS_ASKED 16   /* places without a document that are tried again by a quick look */

/* A file, as it was loaded. */
struct gather_document {
	struct gather_document *next;      /* of all */
	struct gather_document *chain;     /* of one hash */
	struct gather_document *loaded_before;
	enum store_kind kind;
	const char *path;
	struct kept_key key;
	bool loaded;
	struct pm_fault *fault;            /* why not, or null */
	struct store_plan plan;            /* one of the three */
	struct store_gear gear;
	char layout_digest[65];
	struct gather_document *same;      /* another file of the same content, or null */
};

/* What a folder's jobs get when they ask for an id. */
struct gather_place {
	struct gather_place *next;
	enum store_kind kind;
	const char *id, *folder;
	const char *path;                  /* of the document; null: there is none */
	struct gather_document *document;  /* null: there is none */
	const struct pm_fault *fault;      /* then why */
};

/* --- documents --- */

static const char *digest_of(struct gather_document *d)
{
	switch (d->kind) {
	case STORE_PLAN: return store_plan_digest(&d->plan);
	case STORE_GEAR: return store_gear_digest(&d->gear);
	case STORE_SHEET: break;
	}
	return d->layout_digest;
}

static void document_free(struct gather_document *d)
{
	if (d->loaded && d->kind == STORE_PLAN)
		store_plan_free(&d->plan);
	else if (d->loaded && d->kind == STORE_GEAR)
		store_gear_free(&d->gear);
	d->loaded = false;
}

/* Of a layout only the digest is wanted, and one that can't be read has none. */
static void digest_layout(struct gather_document *d)
{
	struct pm_arena arena;
	struct pm_fault ignored;
	char *text;
	size_t length;
	pm_arena_init(&arena);
	if (store_read_file(d->path, STORE_MOST_BYTES, &arena, &text, &length, &ignored))
		pm_sha256_hex(text, length, d->layout_digest);
	pm_arena_free(&arena);
}

static bool document_load(struct gather_document *d, struct pm_fault *fault)
{
	switch (d->kind) {
	case STORE_PLAN: return store_plan_load(d->path, &d->plan, fault);
	case STORE_GEAR: return store_gear_load(d->path, &d->gear, fault);
	case STORE_SHEET: digest_layout(d); break;
	}
	return true;
}

/* A fleet in which every site folder has its own copy of the plan holds it once. */
static struct gather_document *twin_of(const struct gather_shared *shared, struct gather_document *fresh)
{
	const char *digest = digest_of(fresh);
	for (struct gather_document *d = shared->loaded; d && digest; d = d->loaded_before)
		if (d->kind == fresh->kind && pm_same(digest_of(d), digest))
			return d;
	return NULL;
}

static uint64_t hash_text(uint64_t hash, const char *text, size_t length)
{
	while (length--)
		hash = (hash ^ (unsigned char)*text++) * 1099511628211u;
	return hash ^ hash >> 32;
}

static struct gather_document *document_at(struct gather_shared *shared, enum store_kind kind, const char *path)
{
	struct gather_document **slot = &shared->by_path[hash_text(HASH_START + kind, path, strlen(path)) % GATHER_PATHS];
	for (struct gather_document *d = *slot; d; d = d->chain)
		if (d->kind == kind && pm_same(d->path, path))
			return d;
	struct gather_document *d = pm_arena_alloc(&shared->arena, sizeof *d);
	struct pm_fault fault = { 0 };
	if (!d || !(d->path = pm_arena_copy(&shared->arena, path, strlen(path))))
		return NULL;
	d->kind = kind;
	kept_look(path, &d->key);
	d->loaded = document_load(d, &fault);
	if (!d->loaded && fault.kind == PM_FAULT_MEMORY)
		return NULL;   /* the next job may have more luck */
	if (!d->loaded) {
		d->fault = pm_arena_alloc(&shared->arena, sizeof *d->fault);
		if (!d->fault)
			return NULL;
		*d->fault = fault;
	} else if ((d->same = twin_of(shared, d))) {
		document_free(d);
	} else {
		d->loaded_before = shared->loaded;
		shared->loaded = d;
	}
	d->next = shared->documents;
	shared->documents = d;
	d->chain = *slot;
	*slot = d;
	return d;
}

/* --- places --- */

static size_t slot_of(const struct gather_shared *shared, enum store_kind kind, const char *id, const char *folder)
{
	uint64_t hash = hash_text(HASH_START + kind, id, strlen(id) + 1);
	hash = hash_text(hash, folder, strlen(folder));
	return (size_t)hash & (shared->slot_count - 1);
}

static bool is_for(const struct gather_place *place, enum store_kind kind, const char *id, const char *folder)
{
	return place && place->kind == kind && pm_same(place->id, id) && pm_same(place->folder, folder);
}

static struct gather_place *place_of(const struct gather_shared *shared, enum store_kind kind, const char *id, const char *folder)
{
	struct gather_place *place = shared->slot[slot_of(shared, kind, id, folder)];
	while (place && !is_for(place, kind, id, folder))
		place = place->next;
	return place;
}

static void widen(struct gather_shared *shared)
{
	struct gather_shared wider = { .slot_count = shared->slot_count * 4 };
	wider.slot = pm_arena_array(&shared->arena, wider.slot_count, sizeof *wider.slot);
	for (size_t i = 0; wider.slot && i < shared->slot_count; i++)
		for (struct gather_place *place = shared->slot[i], *next; place; place = next) {
			struct gather_place **slot = &wider.slot[slot_of(&wider, place->kind, place->id, place->folder)];
			next = place->next;
			place->next = *slot;
			*slot = place;
		}
	if (wider.slot) {
		shared->slot = wider.slot;
		shared->slot_count = wider.slot_count;
	}
}

/* Where a job of this folder finds the document; a job is never its own plan, which
 * is for the caller to see to. */
static bool look_up(enum store_kind kind, const char *id, const char *folder, char out[static STORE_PATH_ROOM], struct pm_fault *fault)
{
	char inside[STORE_PATH_ROOM];
	/* stands for any job of the folder, and is none itself */
	return store_path_join(folder, ".", inside, sizeof inside)
		? store_find(kind, id, inside, out, STORE_PATH_ROOM, fault)
		: store_fail_system(fault, folder, ENAMETOOLONG, "use");
}

/* Fill a new place, under the lock. */
static bool fill(struct gather_shared *shared, struct gather_place *place, const char *path, const struct pm_fault *why)
{
	if (path) {
		place->path = pm_arena_copy(&shared->arena, path, strlen(path));
		place->document = place->path ? document_at(shared, place->kind, path) : NULL;
		if (!place->document)
			return false;
		place->fault = place->document->fault;
		return true;
	}
	struct pm_fault *fault = pm_arena_alloc(&shared->arena, sizeof *fault);
	if (fault)
		*fault = *why;
	place->fault = fault;
	return fault != NULL;
}

static const struct gather_place *place_add(struct gather_shared *shared, enum store_kind kind, const char *id, const char *folder,
                                            const char *path, const struct pm_fault *why)
{
	struct gather_place *place = place_of(shared, kind, id, folder);
	if (place)
		return place;   /* another thread was quicker */
	place = pm_arena_alloc(&shared->arena, sizeof *place);
	if (!place)
		return NULL;
	*place = (struct gather_place){ .kind = kind, .id = pm_arena_copy(&shared->arena, id, strlen(id)),
	                                .folder = pm_arena_copy(&shared->arena, folder, strlen(folder)) };
	if (!place->id || !place->folder || !fill(shared, place, path, why))
		return NULL;
	if (shared->place_count++ >= shared->slot_count)
		widen(shared);
	struct gather_place **slot = &shared->slot[slot_of(shared, kind, id, folder)];
	place->next = *slot;
	*slot = place;
	return place;
}

static const struct gather_place *place_find(struct gather_shared *shared, struct gather_memo *memo, enum store_kind kind,
                                             const char *id, const char *folder)
{
	char path[STORE_PATH_ROOM];
	struct pm_fault fault = { 0 };
	if (is_for(memo->last[kind], kind, id, folder))
		return memo->last[kind];
	pthread_mutex_lock(&shared->lock);
	const struct gather_place *place = place_of(shared, kind, id, folder);
	pthread_mutex_unlock(&shared->lock);
	if (!place) {
		/* many looks at the disk: not under the lock */
		bool there = look_up(kind, id, folder, path, &fault);
		pthread_mutex_lock(&shared->lock);
		place = place_add(shared, kind, id, folder, there ? path : NULL, &fault);
		pthread_mutex_unlock(&shared->lock);
	}
	return memo->last[kind] = place;
}

/* --- for one job --- */

/* A job of the very name "ID.yaml" may stand where its own plan is looked for. */
static const struct gather_document *document_for(struct gather_shared *shared, struct gather_memo *memo, enum store_kind kind,
                                                  struct pm_word id, const struct pm_job *job, const char *folder,
                                                  struct pm_fault *fault)
{
	const struct gather_place *place = place_find(shared, memo, kind, id.text, folder);
	const struct gather_document *document = place ? place->document : NULL;
	const struct pm_fault *why = place ? place->fault : NULL;
	struct pm_fault other = { 0 };
	if (document && pm_same(store_path_name(job->file), store_path_name(place->path))) {
		char path[STORE_PATH_ROOM];
		document = NULL;
		why = &other;
		if (store_find(kind, id.text, job->file, path, sizeof path, &other)) {
			pthread_mutex_lock(&shared->lock);
			document = document_at(shared, kind, path);
			pthread_mutex_unlock(&shared->lock);
			why = document ? document->fault : NULL;
		}
	}
	if (document && !why)
		return document->same ? document->same : document;
	if (why)
		*fault = *why;
	else
		pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ job->file, 0, 0 }, "out of memory");
	return NULL;
}

bool gather_shared_find(struct gather_shared *shared, struct gather_memo *memo, const struct pm_job *job,
                        struct gather_case *found, struct pm_fault *fault)
{
	char folder[STORE_PATH_ROOM];
	if (!store_path_folder(job->file, folder, sizeof folder))
		return store_fail_system(fault, job->file, ENAMETOOLONG, "use");
	const struct gather_document *plan = document_for(shared, memo, STORE_PLAN, job->plan, job, folder, fault);
	const struct gather_document *gear = plan ? document_for(shared, memo, STORE_GEAR, job->gear, job, folder, fault) : NULL;
	if (!gear)
		return false;
	*found = (struct gather_case){ .plan = &plan->plan.plan, .gear = &gear->gear.gear };
	if (pm_given(job->layout) && pm_given(job->layout_digest)) {
		struct pm_fault ignored;
		const struct gather_document *layout = document_for(shared, memo, STORE_SHEET, job->layout, job, folder, &ignored);
		found->layout_digest = layout && layout->layout_digest[0] ? layout->layout_digest : NULL;
	}
	return true;
}

/* --- all of them --- */

struct gather_shared *gather_shared_begin(void)
{
	struct gather_shared *shared = calloc(1, sizeof *shared);
	struct pm_fault none;
	char path[STORE_PATH_ROOM];
	if (!shared)
		return NULL;
	pthread_mutex_init(&shared->lock, NULL);
	pm_arena_init(&shared->arena);
	shared->slot_count = 64;
	shared->slot = pm_arena_array(&shared->arena, shared->slot_count, sizeof *shared->slot);
	if (store_find_registry(path, sizeof path)) {
		kept_look(path, &shared->map_key);
		shared->has_map = store_map_open(&shared->map, path, &none);
	}
	if (!shared->slot) {
		gather_shared_free(shared);
		return NULL;
	}
	return shared;
}

void gather_shared_free(struct gather_shared *shared)
{
	while (shared) {
		struct gather_shared *before = shared->before;
		for (struct gather_document *d = shared->documents; d; d = d->next)
			document_free(d);
		if (shared->has_map)
			store_map_close(&shared->map);
		gather_zones_free(shared);
		pm_arena_free(&shared->arena);
		pthread_mutex_destroy(&shared->lock);
		free(shared);
		shared = before;
	}
}

static bool place_moved(const struct gather_place *place)
{
	char path[STORE_PATH_ROOM];
	struct pm_fault ignored;
	bool there = look_up(place->kind, place->id, place->folder, path, &ignored);
	return there != (place->path != NULL) || (there && !pm_same(path, place->path));
}

bool gather_shared_changed(struct gather_shared *shared, bool thorough)
{
	char path[STORE_PATH_ROOM];
	struct kept_key key = { 0 };
	if (store_find_registry(path, sizeof path))
		kept_look(path, &key);
	if (!kept_same(&key, &shared->map_key))
		return true;
	for (const struct gather_document *d = shared->documents; d; d = d->next) {
		kept_look(d->path, &key);
		if (!kept_same(&key, &d->key))
			return true;
	}
	size_t asked = 0;
	for (size_t i = 0; i < shared->slot_count; i++)
		for (const struct gather_place *place = shared->slot[i]; place; place = place->next)
			if ((thorough || (!place->path && asked++ < FAULTS_ASKED)) && place_moved(place))
				return true;
	return false;
}
